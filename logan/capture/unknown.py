"""What a file looks like that no reader knows, and what to do about it."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.capture import csv_head, empty_table
from logan.capture.csv_head import FRAME_HEADINGS, CsvHead
from logan.capture.empty_table import NAMED
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
_SAY_TIME: Final = (
    "say in headings.toml which column is time (docs/knowledge.md); without one, record it again with times"
)


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
    said = empty_table.describe(table, lambda: _rows(source, table)) if table is not None else None
    if said is not None:
        return said
    if table is not None and _is_untimed(table):
        names = [heading.name for heading in table.headings or () if heading.name]
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        seen = f"{', '.join(names[:NAMED])}{more}"
        return (
            f"a table of {_rows(source, table)} rows whose columns hold no time known by its heading: {seen}",
            _SAY_TIME,
        )
    lines = [line.strip() for line in source.lines if line.strip()]
    if not lines:
        return "holds only blank lines", "record again: the recorder wrote nothing"
    first = lines[0][:60]
    return f"not recognised as a capture: text without frames or a known header, it begins with '{first}'", _KINDS


def _is_untimed(table: CsvHead) -> bool:
    """Whether it is a table of numbers under names, none of them that of a column of time."""
    if table.headings is None or not table.rows or table.time_column() is not None:
        return False
    cells = [cell for row in table.rows for cell in row if cell]
    numbers = sum(csv_head.is_number(csv_head.bare(cell)) for cell in cells)
    frames = any(heading.plain in FRAME_HEADINGS for heading in table.headings)
    return not frames and numbers >= len(cells) / 2 > 0


def _rows(source: Source, table: CsvHead) -> int:
    """Lines from the first row on, blank ones at the end too."""
    lines = sum(int(np.count_nonzero(buffer[:size] == ord("\n"))) for buffer, size, _ in source.line_blocks())
    return lines - table.first_row_line + 1
