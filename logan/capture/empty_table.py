"""What a table says that has a heading and no value under it: which headings were understood, and what to do."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

from logan.capture import csv_head
from logan.capture.csv_head import FRAME_HEADINGS, CsvHead, Heading
from logan.knowledge import channels, spelling, table_headers

NAMED: Final = 8
"""Headings that are named of a table."""
_MARKS: Final = 4
"""With more different words in its cells a table is no recording without values."""
_LONGEST_MARK: Final = 10
_NO_ROW: Final = "record again, or save the table again with its rows: only the heading was written"
_NO_VALUE: Final = (
    "record again, and see first that the recorder shows values: it wrote rows without any (ignition off, or nothing "
    "connected)"
)


def describe(head: CsvHead, rows: Callable[[], int]) -> tuple[str, str] | None:
    """Reason and next step where a heading is understood and no cell under it holds a number; None where one does.

    Parameters
    ----------
    rows : counts those of the whole file; the head holds the first of them
    """
    time = head.time_column()
    if head.headings is None or (time is None and not any(map(_quantity, head.headings))):
        return None
    if not head.rows:
        return f"is a table with a heading and no rows; {_understood(head)}", _NO_ROW
    cells = [cell for k in range(head.width) if k != time for cell in head.column(k) if cell]
    marks = list(dict.fromkeys(cells))
    is_sound = sum(map(_is_met, head.headings)) * 2 >= len(head.headings)
    if not is_sound or len(marks) > _MARKS or any(map(_may_be_value, marks)):
        return None
    only = f", only {' and '.join(repr(mark) for mark in marks)}" if marks else ""
    first = "" if rows() <= len(head.rows) else "first "
    return without_value(head, len(head.rows), first, only)


def without_value(head: CsvHead, rows: int, first: str = "", only: str = "") -> tuple[str, str]:
    """Reason and next step of a table whose cells are empty."""
    held = f"whose {first}{rows} rows hold no value{only}" if rows != 1 else f"whose one row holds no value{only}"
    return f"is a table {held}; {_understood(head)}", _NO_VALUE


def _may_be_value(cell: str) -> bool:
    return any(sign.isdigit() for sign in cell) or len(cell) > _LONGEST_MARK


def _understood(head: CsvHead) -> str:
    """Which headings were understood, and which were not."""
    headings = [heading for heading in head.headings or () if heading.name]
    time = head.time_column()
    of_time = head.headings[time] if head.headings is not None and time is not None else None
    met = [_as(heading, heading is of_time) for heading in headings if heading is of_time or _is_met(heading)]
    unmet = [heading.name for heading in headings if heading is not of_time and not _is_met(heading)]
    said = f"headings understood: {_some(met)}" if met else "none of its headings is understood"
    if of_time is None:
        said += "; none of them is known as time"
    return f"{said}; not understood: {_some(unmet)}" if unmet and met else said


def _some(names: list[str]) -> str:
    more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
    return ", ".join(names[:NAMED]) + more


def _as(heading: Heading, is_time: bool) -> str:
    """A heading as it stands in the file, with what it is taken as where that is another word."""
    met = heading.met or heading.name
    taken = "time" if is_time else _quantity(heading) or _sensor(heading)
    unit = f" [{csv_head.unit(heading.unit)}]" if heading.unit else ""
    return f"{met}{unit}" if taken in ("", spelling.joined(met)) else f"{met}{unit} as {taken}"


def _is_met(heading: Heading) -> bool:
    known = table_headers.load()
    others = heading.plain in FRAME_HEADINGS or heading.plain == "edge" or heading.plain in (*known.time, *known.date)
    return bool(others or _quantity(heading) or _sensor(heading))


def _quantity(heading: Heading) -> str:
    info = channels.owners().get(spelling.joined(heading.name)) or channels.owners().get(heading.plain)
    return info.name if info is not None else ""


def _sensor(heading: Heading) -> str:
    sensor = table_headers.load().sensor(heading.plain)
    return f"{sensor} sensor" if sensor else ""
