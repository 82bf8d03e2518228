"""Decoded signals in, one set of named and checked channels out."""

from __future__ import annotations

from logan.channels.build import build, chosen, is_unknown_quantity

__all__ = ["build", "chosen", "is_unknown_quantity"]
