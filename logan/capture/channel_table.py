"""Channel tables: CSV whose heading names quantities, ``name [unit]``, with one column of time."""

from __future__ import annotations

import re
from typing import Final

from logan.capture.csv_head import FRAME_HEADINGS, TIME_OF_DAY_OR_DATE, bare, is_number, parse
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source
from logan.knowledge import table_headers

_NUMBER_LIKE: Final = re.compile(r"[-+]?\d[^a-zA-Z]*")


def looks(source: Source) -> Guess:
    """A channel table has a heading with a time column and rows of numbers."""
    head = parse(source)
    if head is None or head.headings is None or not head.rows:
        return NO
    time = head.time_column()
    if time is None or any(heading.plain in FRAME_HEADINGS for heading in head.headings):
        return NO
    stamps = [cell for cell in head.column(time) if cell]
    timed = sum(is_number(bare(cell)) or bool(TIME_OF_DAY_OR_DATE.search(cell)) for cell in stamps)
    cells = [cell for k in range(head.width) if k != time for cell in head.column(k) if cell]
    numbers = sum(
        is_number(cell) or is_number(bare(cell)) or _NUMBER_LIKE.fullmatch(cell) is not None for cell in cells
    )
    if timed < len(stamps) / 2 or numbers < len(cells) / 2:
        return NO
    units = sum(bool(heading.unit) for k, heading in enumerate(head.headings) if k != time)
    if any(table_headers.load().sensor(heading.plain) for heading in head.headings):
        if not cells:
            return NO
        return Guess(0.3, "heading with a time column, but sensors beside it")
    if not cells:  # the values may begin behind the rows that are looked at
        return Guess(0.5, f"heading with a time column ({head.headings[time].name}) over empty cells") if stamps else NO
    score = 0.85 if units else 0.6
    return Guess(score, f"heading with a time column ({head.headings[time].name}), {units} units, rows of numbers")


READER: Final = Reader("channel table, CSV", looks, "logan.capture.channel_table_read", (".csv", ".txt"))
