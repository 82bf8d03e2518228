"""Bytes of a K-line or of SAE J1850 in CSV, ``time_s,byte``; the reading is in ``kline_csv_read``."""

from __future__ import annotations

import re
from typing import Final

from logan.capture.csv_head import CsvHead, parse
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source

_NAMES: Final = ("byte", "byte_hex", "hex", "data", "value")
_BYTE: Final = re.compile(r"(?:0[xX])?[0-9A-Fa-f]{1,2}")


def byte_column(head: CsvHead) -> int | None:
    """The column of bytes: ``byte``, or another usual name where it holds nothing but bytes."""
    plain = [heading.plain for heading in head.headings or ()]
    return next((plain.index(name) for name in _NAMES if name in plain), None)


def looks(source: Source) -> Guess:
    """Such a capture has a time column, a column of bytes and one byte a row."""
    head = parse(source)
    if head is None or head.headings is None or head.time_column() is None or not head.rows:
        return NO
    column = byte_column(head)
    cells = [] if column is None else [cell for cell in head.column(column) if cell]
    good = sum(_BYTE.fullmatch(cell) is not None for cell in cells)
    named = head.headings[column or 0].plain in ("byte", "byte_hex")
    if not cells or good < (0.5 if named else 0.95) * len(cells) or (not named and head.width > 2):
        return NO
    return Guess(0.97 if named else 0.6, f"has the columns time and {head.headings[column or 0].name}, a byte a row")


READER: Final = Reader("serial bus bytes, CSV", looks, "logan.capture.kline_csv_read", (".csv",))
