"""Decoded signals in, one set of named and checked channels out."""

from __future__ import annotations

from logan.channels.build import build, chosen

__all__ = ["build", "chosen"]
