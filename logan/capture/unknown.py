"""What a file looks like that no reader knows, and what to do about it."""

from __future__ import annotations

from typing import Final

from logan.capture import csv_head
from logan.capture.source import Source

_MAGIC: Final[tuple[tuple[bytes, str, str], ...]] = (
    (b"PK\x03\x04", "a ZIP archive or a spreadsheet", "unpack it, or save the sheet as CSV"),
    (b"\xd0\xcf\x11\xe0", "an office document", "save the sheet as CSV"),
    (b"\x1f\x8b", "gzip inside gzip", "unpack it once"),
    (b"BZh", "bzip2-compressed", "unpack it first"),
    (b"\xfd7zXZ", "xz-compressed", "unpack it first"),
    (b"7z\xbc\xaf", "a 7z archive", "unpack it first"),
    (b"%PDF", "a PDF document", "give the recording itself"),
    (b"\x89PNG", "a picture", "give the recording itself"),
    (b"\xff\xd8\xff", "a picture", "give the recording itself"),
    (b"\xff\xfe", "text in UTF-16 inside gzip", "unpack it first"),
    (b"\xfe\xff", "text in UTF-16 inside gzip", "unpack it first"),
    (b"MDF     2", "a measurement file of ASAM MDF before version 4", "save it as MDF 4 or as CSV"),
    (b"MDF     3", "a measurement file of ASAM MDF before version 4", "save it as MDF 4 or as CSV"),
)
_KINDS = "CAN logs, serial transcripts, channel tables, and crank / cam recordings are read"


def describe(source: Source) -> tuple[str, str]:
    """Reason and next step for a file that is not recognised."""
    head = source.head
    if not head:
        return "is empty (0 bytes)", "record again: the recorder wrote nothing"
    for magic, what, do in _MAGIC:
        if head.startswith(magic):
            return f"not recognised as a capture: it is {what}", do
    if not head.strip(b"\0"):
        return "holds only zero bytes", "record again: the file was never written"
    odd = sum(head.count(bytes((k,))) for k in (*range(9), *range(14, 32)))
    if odd > len(head) // 100:
        return "not recognised as a capture: binary content of no known format", _KINDS
    table = csv_head.parse(source)
    if table is not None and not table.rows and table.time_column() is not None:
        return "is a table with a heading and no rows", "record again: the recorder wrote the heading only"
    lines = [line.strip() for line in source.lines if line.strip()]
    first = lines[0][:60] if lines else ""
    return f"not recognised as a capture: text without frames or a known header, it begins with '{first}'", _KINDS
