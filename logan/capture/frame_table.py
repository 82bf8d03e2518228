"""Tables of CAN frames, one frame a row under a heading; the reading is in ``frame_table_read``."""

from __future__ import annotations

import re
from typing import Final

from logan.capture.csv_head import CsvHead, parse
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source
from logan.knowledge import frame_headers

_BYTES: Final = re.compile(r"(?:0[xX])?[0-9A-Fa-f]{2}(?:[\s-]?[0-9A-Fa-f]{2})*|")
_OCTET: Final = re.compile(r"(?:0[xX])?[0-9A-Fa-f]{1,2}|\d{3}|")
_NUMBER: Final = re.compile(r"(?:0[xX])?[0-9A-Fa-f]{1,8}[hH]?|\d{9}|")


def roles(head: CsvHead) -> dict[str, int]:
    """Role of a column -> its number; empty where the heading is not that of a table of frames."""
    if head.headings is None:
        return {}
    found = frame_headers.load().columns([heading.plain for heading in head.headings])
    apart = bytes_apart(head)
    if "data" not in found and apart:
        found["data"] = apart[0]
    named = "id" in found or {"pgn", "source"} <= found.keys()
    return found if named and "data" in found else {}


def bytes_apart(head: CsvHead) -> list[int]:
    """Columns that hold one byte each, none where the bytes stand together in one."""
    return frame_headers.load().bytes_apart([heading.plain for heading in head.headings or ()])


def looks(source: Source) -> Guess:
    """A table of frames has columns of identifiers (or parameter groups and addresses) and of bytes."""
    head = parse(source)
    found = roles(head) if head is not None else {}
    if head is None or not found or not head.rows:
        return NO
    octets = _OCTET if found["data"] in bytes_apart(head) else _BYTES
    identifier = found["id"] if "id" in found else found["pgn"]
    fits = [
        octets.fullmatch(row[found["data"]]) is not None and _NUMBER.fullmatch(row[identifier]) is not None
        for row in head.rows
        if len(row) > max(found["data"], identifier)
    ]
    if not fits or sum(fits) < 0.8 * len(fits):
        return NO
    names = [head.headings[k].name for k in (identifier, found["data"])] if head.headings else []
    return Guess(0.95, f"has the columns {' and '.join(names)}, a frame a row")


READER: Final = Reader("table of CAN frames", looks, "logan.capture.frame_table_read", (".csv", ".txt"))
