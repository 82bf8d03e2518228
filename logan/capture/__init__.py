"""Capture files in: one module a format, each recognised by its content."""

from logan.capture.registry import read

__all__ = ["read"]
