"""Where the data files stand: in a checkout and in an installed package."""

from __future__ import annotations

from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent
DATA = PACKAGE / "knowledge" / "data"


def dbc_open() -> Path:
    """Folder of the open signal data bases: beside the package in a checkout, inside it once installed."""
    inside = PACKAGE / "dbc_open"
    return inside if inside.is_dir() else PACKAGE.parent / "dbc_open"
