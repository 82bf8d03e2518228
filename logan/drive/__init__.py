"""Channels in, drive states out."""

from __future__ import annotations

from logan.drive.segment import segment

__all__ = ["segment"]
