"""A record in, measures out: each with its interval, or the reason why there is none."""

from __future__ import annotations

from logan.measures.compute import compute

__all__ = ["compute"]
