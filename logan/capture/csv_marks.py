"""Decimal sign and marks between thousands of a table by all of its rows, where its first ones leave them open."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

from msgspec import structs

from logan import units
from logan.capture import csv_columns, csv_head
from logan.capture.csv_head import CsvHead
from logan.capture.reader import Tally
from logan.capture.source import Source
from logan.knowledge import channels

_SMALL: Final = re.compile(r"[-+]?\d{1,3}")
_LARGE_SMALL: Final = 100
_FEWEST_MARKED: Final = 10
"""With so many numbers of three decimals, of which none lost a zero, one would have (judgement)."""
_SLOWEST_RPM: Final = 20.0
"""No engine turns more slowly all the time: such speeds are thousands (judgement)."""


def settled(source: Source, head: CsvHead, columns: Sequence[int], tally: Tally) -> CsvHead:
    """A head whose signs fit all rows of some columns; what may be read in two ways is said.

    ``1.234`` is 1234 where the column has whole numbers below 1000 beside it and none with other decimals.
    """
    if head.separator == "," and head.decimal == ".":  # a comma between cells and in cells: told by the quotation marks
        return head
    told = csv_head.told_decimal([cell for row in head.rows for cell in row])
    cells = _cells(source, head, [k for k in columns if not _decimals(head.column(k), head.decimal)])
    late = csv_head.told_decimal([cell for column in cells.values() for cell in column])
    decimal = told or late or head.decimal
    if decimal != head.decimal:
        return structs.replace(head, decimal=decimal, grouped=())
    grouped = tuple(k for k, column in cells.items() if _is_grouped(head, k, column, bool(told or late), tally))
    return structs.replace(head, grouped=grouped)


def _cells(source: Source, head: CsvHead, columns: list[int]) -> dict[int, set[str]]:
    """What stands in each of some columns, without those that turn out to hold decimals."""
    found: dict[int, set[str]] = {k: set() for k in columns}
    if not columns:
        return found
    for block in csv_columns.blocks(source, head, columns, Tally(), dict.fromkeys(columns, "str")):
        for k, cells in zip(columns, block, strict=True):
            found[k].update(csv_head.bare(str(cell).strip()) for cell in cells.dropna().unique())
    return found


def _decimals(cells: Sequence[str] | set[str], mark: str) -> bool:
    """Whether a mark cannot stand between thousands: in another place, or beside whole numbers of four digits."""
    whole = _whole(mark)
    bare = (csv_head.bare(cell) for cell in cells)
    return any(csv_head.is_number(cell) and not _SMALL.fullmatch(cell) and not whole.fullmatch(cell) for cell in bare)


def _whole(mark: str) -> re.Pattern[str]:
    return re.compile(rf"[-+]?[1-9]\d{{0,2}}(?:{re.escape(mark)}\d{{3}})+")


def _is_grouped(head: CsvHead, column: int, cells: set[str], is_told: bool, tally: Tally) -> bool:
    """Whether the decimal sign stands between the thousands of a column.

    Parameters
    ----------
    is_told : other cells of the file show it as a decimal sign
    """
    mark, whole = head.decimal, _whole(head.decimal)
    marked = sorted(cell for cell in cells if whole.fullmatch(cell))
    if not marked or _decimals(cells, mark):
        return False
    name = head.headings[column].name if head.headings else f"column {column + 1}"
    small = [abs(int(cell)) for cell in cells if _SMALL.fullmatch(cell)]
    has_zero = any(cell.endswith("0") for cell in marked)
    if small and (max(small) >= _LARGE_SMALL or has_zero or len(marked) >= _FEWEST_MARKED):
        return True
    is_speed = not small and _is_speed(head, column) and all(cell.count(mark) == 1 for cell in marked)
    if is_speed and max(abs(float(cell.replace(mark, "."))) for cell in marked) < _SLOWEST_RPM:
        text = f"{marked[0]} in column {name} is taken with a mark between thousands: no engine turns so slowly"
        tally.add("number_marks", text, name)
        return True
    if small or not is_told:
        text = (
            f"{marked[0]} in column {name} is taken as a number with decimals; if its mark stands between thousands, "
        )
        tally.add("number_marks", text + "save the table without such marks", name)
    return False


def _is_speed(head: CsvHead, column: int) -> bool:
    """Whether a column is the engine's speed by its unit or its name."""
    heading = head.headings[column] if head.headings else None
    if heading is None:
        return False
    speed = channels.load()["engine_speed"]
    return heading.plain in (speed.name, *speed.names) or units.to_inside(csv_head.unit(heading.unit))[0] == speed.unit
