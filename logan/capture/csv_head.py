"""The head of a CSV file: comments, heading, separator, decimal sign and the first rows."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import zip_longest
from typing import Final, cast

from msgspec import Struct, structs

from logan import units
from logan.capture.source import Source
from logan.knowledge import channels, spelling, table_headers
from logan.knowledge.headings import key

_LINES_LOOKED_AT: Final = 300
_KEPT: Final = "csv_head"
_MOST_LINES_BEFORE: Final = 60
_NAMED_SEPARATOR: Final = re.compile(r'"?sep=([,;|\t])"?', re.I)
"""How spreadsheets are told the separator in a line of its own (common practice, no source)."""
_SAID: Final = re.compile(r"\s*[:=;,\t|]\s*")
"""Between a word and what a line before the heading says of it."""
_NUMBER: Final = re.compile(r"\s*[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?\s*", re.ASCII)
TIME_OF_DAY_OR_DATE: Final = re.compile(r"\d{1,2}:\d\d|\d{4}-\d\d-\d\d|^\d{8}[T ]\d{6}")
_BRACKETS: Final = ("[]", "()")
GLUED: Final = r"\s*([-+]?(?!0\d)\d+(?:[.,]\d+)?(?:[eE][-+]?\d+)?)\s*([^\d\s.,][^\d]*?)\s*"
"""A number and the unit glued to it; with a zero in front it is a code, as 010C is."""
_GLUED: Final = re.compile(GLUED)
_GROUPS: Final = r"[-+]?[1-9]\d{{0,2}}(?:[{marks}]\d{{3}})+(?:[{decimal}]\d+)?(?:\s*[^\d\s.,][^\d]*)?"
SPACES: Final = "'\u2019 \u00a0\u2009\u202f"
"""Marks between thousands that can be nothing else."""
_DECIMALS: Final = re.compile(r"[-+]?(?:0|\d{4,})?([.,])\d+|[-+]?\d+([.,])(?:\d\d?|\d{4,})")
_MARKS: Final = re.compile(r"[\s,;:/_]+")
"""Between a name and the unit behind it."""
FRAME_HEADINGS: Final = {"id", "data", "dlc", "pgn", "data_bytes", "arbitration_id", "can_id", "byte", "channel"}
"""Headings of tables that hold one bus frame, byte or edge a row: those are no quantities."""
_FROM_100: Final = re.compile(r"[-+]?[1-9]\d\d")


class Heading(Struct, frozen=True):
    """One column's heading: its name, the unit in brackets, and the name as ``table_headers.toml`` spells it.

    ``met`` is the heading as it stands in the file where the workshop says what it means, and value in the unit =
    ``factor`` * number in the file + ``offset``.
    """

    name: str
    unit: str
    plain: str
    met: str = ""
    factor: float = 1.0
    offset: float = 0.0


class CsvHead(Struct, frozen=True):
    """What the first lines of a CSV file say.

    Parameters
    ----------
    metadata : ``# key: value`` comments before the heading
    headings : one a column, None where the file begins with numbers
    rows : cells of the first rows
    separator : between the cells
    decimal : decimal sign
    quoted : cells stand in quotes
    first_row_line : number of the line with the first row
    cells : the heading's cells as they stand, empty where the file begins with numbers
    grouped : columns in which the decimal sign stands between thousands
    """

    metadata: dict[str, str]
    headings: tuple[Heading, ...] | None
    rows: list[list[str]]
    separator: str
    decimal: str
    quoted: bool
    first_row_line: int
    cells: tuple[str, ...] = ()
    grouped: tuple[int, ...] = ()

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.headings) if self.headings is not None else len(self.rows[0]) if self.rows else 0

    @property
    def usual_width(self) -> int:
        """Number of cells that most rows have, that of columns at least."""
        (usual, _), *_ = Counter(map(len, self.rows)).most_common(1) or [(0, 0)]
        return max(self.width, usual)

    def time_column(self) -> int | None:
        """The column that holds time: the best spelling of the heading; the first one where there is no heading."""
        if self.headings is None:
            return 0
        spellings = table_headers.load().time
        found = [(spellings.index(h.plain), k) for k, h in enumerate(self.headings) if h.plain in spellings]
        return min(found)[1] if found else None

    def column(self, k: int) -> list[str]:
        """The first cells of a column."""
        return [row[k] for row in self.rows if k < len(row)]


def parse(source: Source) -> CsvHead | None:
    """The head of a file if it may be CSV: several lines of equally many cells; kept with the file, as many ask."""
    kept = vars(source)
    if _KEPT not in kept:
        kept[_KEPT] = _parse(source)
    return cast("CsvHead | None", kept[_KEPT])


def _parse(source: Source) -> CsvHead | None:
    metadata: dict[str, str] = {}
    lines: list[tuple[int, str]] = []
    for number, line in enumerate(source.lines[:_LINES_LOOKED_AT], 1):
        if not line.strip():
            continue
        if line.lstrip().startswith("#"):
            key, colon, value = line.strip().lstrip("# \t").partition(":")
            if colon and not lines:
                metadata.setdefault(key.strip(), value.strip())
            continue
        lines.append((number, line))
    if not lines:
        return None
    named = _NAMED_SEPARATOR.fullmatch(lines[0][1].strip())
    if named and len(lines) > 1:
        lines = lines[1:]
    separator = (
        named[1] if named else max(",;\t|", key=lambda mark: (_steady(mark, [line for _, line in lines]), mark == ","))
    )
    quoted = any('"' in line for _, line in lines)
    cells = [cells_of(line, separator, quoted) for _, line in lines]
    begin = _begin(cells, source)
    for _, line in lines[:begin]:
        parts = _SAID.split(line.strip(), maxsplit=1)
        if len(parts) == 2:
            metadata.setdefault(*parts)
    lines, cells = lines[begin:], cells[begin:]
    if len(cells[0]) < 2:
        return None
    decimal = _decimal([cell for row in cells[1:] for cell in row], separator)
    if all(is_number(cell) for cell in cells[0] if cell):
        headings, skipped = None, 0
    else:
        width = max((k for k, cell in enumerate(cells[0], 1) if cell), default=1)  # a trailing separator is no column
        headings, skipped = tuple(_own(heading(cell), source) for cell in cells[0][:width]), 1
        if len(cells) > 1 and _are_units(headings, cells[1]):
            headings, skipped = tuple(map(_with_unit, headings, cells[1])), 2
    first_row_line = lines[skipped][0] if len(lines) > skipped else lines[-1][0] + 1
    rows = cells[skipped:]
    columns = list(zip_longest(*rows, fillvalue=""))
    if headings is not None:
        headings = tuple(
            _with_unit(one, _glued(columns[k])) if k < len(columns) else one for k, one in enumerate(headings)
        )
    grouped = () if decimal == "," else tuple(k for k, column in enumerate(columns) if _is_grouped(column))
    return CsvHead(
        metadata,
        headings,
        rows,
        separator,
        decimal,
        quoted,
        first_row_line,
        tuple(cells[0]) if headings else (),
        grouped,
    )


def _begin(cells: Sequence[Sequence[str]], source: Source) -> int:
    """The row of the heading: the first one, or behind lines of another width the one that names a column of time."""
    width = Counter(map(len, cells)).most_common(1)[0][0]
    if len(cells[0]) == width:
        return 0
    spellings = table_headers.load().time
    for k, row in enumerate(cells[:_MOST_LINES_BEFORE]):
        if len(row) == width and any(_own(heading(cell), source).plain in spellings for cell in row):
            return k
    return 0


def unit(text: str) -> str:
    """A unit as it is spelled in the program, itself where that does not know it."""
    text = text.strip().strip("[]()").strip()
    return table_headers.load().units.get(text.lower(), text)


def grouped(decimal: str, point: str) -> str:
    """Pattern of numbers with marks between thousands: spaces and apostrophes, and ``point`` where that is one."""
    return _GROUPS.format(marks=SPACES + point, decimal=decimal)


_POINTS: Final = re.compile(grouped(",", "."))


def _decimal(cells: list[str], separator: str) -> str:
    """Point or comma, by the cells in which it cannot stand between thousands; a comma wins over points."""
    if separator == "," and not any("," in cell for cell in cells):
        return "."
    cells = [bare(cell) for cell in cells]
    told = told_decimal(cells)
    if told is None and separator != "," and any("," in cell and is_number(cell) for cell in cells):
        return ","
    return told or "."


def told_decimal(cells: Iterable[str]) -> str | None:
    """The decimal sign that cells show, None where every one may stand between thousands."""
    found = {match[1] or match[2] for cell in cells if (match := _DECIMALS.fullmatch(cell))}
    return "," if "," in found else "." if found else None


def _is_grouped(cells: Sequence[str]) -> bool:
    """Whether points stand between thousands: every number below 1000 has three digits, every other one a point."""
    points = small = False
    for cell in cells:
        if cell and _FROM_100.fullmatch(cell):
            small = True
        elif cell and _POINTS.fullmatch(cell):
            points = True
        elif cell:
            return False
    return points and small


def _are_units(headings: Sequence[Heading], cells: Sequence[str]) -> bool:
    """Whether the row below a heading without units holds units."""
    filled = [cell for cell in cells if cell]
    if not filled or any(one.unit for one in headings) or any(is_number(cell) for cell in filled):
        return False
    of_time = table_headers.load().time_units
    known = sum(units.is_known(unit(cell)) or unit(cell).lower() in of_time for cell in filled)
    return known >= max(2, len(filled) / 2)


def _with_unit(found: Heading, text: str) -> Heading:
    """A heading with the unit that was met elsewhere, where it has none of its own."""
    return found if found.unit or not text else structs.replace(found, unit=unit(text))


def _glued(cells: Sequence[str]) -> str:
    """The unit that is glued to most values of a column, empty where there is none."""
    found = [match[2] for cell in cells if not cell[-1:].isdigit() and (match := _GLUED.fullmatch(cell))]
    most = max(found, key=found.count, default="")
    of_time = table_headers.load().time_units
    return most if units.is_known(unit(most)) or unit(most).lower() in of_time else ""


def heading(cell: str) -> Heading:
    """A heading taken apart: ``Coolant [degC]`` is name ``Coolant`` with unit ``degC``."""
    name, unit = mended(cell).strip(), ""
    for begin, end in _BRACKETS:
        at = name.find(begin, name.rfind(end, 0, -1) + 1) if name.endswith(end) else -1
        if at >= 0:
            name, unit = name[:at].rstrip(), name[at + 1 : -1].strip()
            break
    return Heading(name, unit, spelling.plain(name))


def _own(found: Heading, source: Source) -> Heading:
    """A heading as the workshop's own words have it."""
    own = source.headings.get(key(found.name))
    if own is None:
        return found if found.unit else _unit_behind(found)
    return Heading(own.means, own.unit or found.unit, own.means, found.name, own.factor, own.offset)


def _unit_behind(found: Heading) -> Heading:
    """A heading whose unit stands at its end without brackets, where what stands in front of it names a quantity."""
    known = channels.names()
    if found.plain not in known or found.name.endswith("%"):  # that sign is no letter, and not in the plain name
        for mark in _MARKS.finditer(found.name):
            rest, last = found.name[: mark.start()], found.name[mark.end() :]
            if units.is_known(unit(last)) and spelling.plain(rest) in known:
                return Heading(rest, last, spelling.plain(rest))
    return found


def mended(text: str) -> str:
    """Text that was encoded to UTF-8 twice (``Â°C``) as it was meant."""
    while "Â" in text or "Ã" in text:
        try:
            again = text.encode("cp1252").decode("utf-8")
        except UnicodeError:
            break
        text = again
    return text


def bare(cell: str) -> str:
    """A cell without a unit glued to it."""
    match = _GLUED.fullmatch(cell)
    return match[1] if match else cell


def is_number(cell: str) -> bool:
    """Whether a cell is a number with a point or a comma."""
    return _NUMBER.fullmatch(cell) is not None


def cells_of(line: str, separator: str, quoted: bool) -> list[str]:
    """The cells of a line."""
    cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True)) if quoted else line.split(separator)
    return [cell.strip() for cell in cells]


def _steady(mark: str, lines: list[str]) -> int:
    """How many lines have the same number of a separator, 0 where there is none of it."""
    counts = Counter(line.count(mark) for line in lines)
    return max((times for count, times in counts.items() if count), default=0)
