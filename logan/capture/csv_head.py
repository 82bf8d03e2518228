"""The head of a CSV file: comments, heading, separator, decimal sign and the first rows."""

from __future__ import annotations

import csv
import re
from typing import Final

from msgspec import Struct

from logan.capture.source import Source
from logan.knowledge import table_headers
from logan.knowledge.headings import key

_LINES_LOOKED_AT: Final = 300
_NUMBER: Final = re.compile(r"\s*[-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][-+]?\d+)?\s*", re.ASCII)
TIME_OF_DAY_OR_DATE: Final = re.compile(r"\d{1,2}:\d\d|\d{4}-\d\d-\d\d")
_BRACKETS: Final = ("[]", "()")
_OTHER: Final = re.compile(r"[^a-z0-9]+")


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
    """

    metadata: dict[str, str]
    headings: tuple[Heading, ...] | None
    rows: list[list[str]]
    separator: str
    decimal: str
    quoted: bool
    first_row_line: int

    @property
    def width(self) -> int:
        """Number of columns."""
        return len(self.headings) if self.headings is not None else len(self.rows[0]) if self.rows else 0

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
    """The head of a file if it may be CSV: several lines of equally many cells."""
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
    separator = max(",;\t", key=lambda mark: (_steady(mark, [line for _, line in lines]), mark == ","))
    quoted = any('"' in line for _, line in lines)
    cells = [_cells(line, separator, quoted) for _, line in lines]
    if len(cells[0]) < 2:
        return None
    decimal = (
        "," if separator != "," and any("," in cell and is_number(cell) for row in cells[1:] for cell in row) else "."
    )
    if all(is_number(cell) for cell in cells[0] if cell):
        headings, skipped = None, 0
    else:
        width = max((k for k, cell in enumerate(cells[0], 1) if cell), default=1)  # a trailing separator is no column
        headings, skipped = tuple(_own(heading(cell), source) for cell in cells[0][:width]), 1
    first_row_line = lines[skipped][0] if len(lines) > skipped else lines[0][0] + 1
    return CsvHead(metadata, headings, cells[skipped:], separator, decimal, quoted, first_row_line)


def heading(cell: str) -> Heading:
    """A heading taken apart: ``Coolant [degC]`` is name ``Coolant`` with unit ``degC``."""
    name, unit = mended(cell).strip(), ""
    for begin, end in _BRACKETS:
        at = name.find(begin, name.rfind(end, 0, -1) + 1) if name.endswith(end) else -1
        if at >= 0:
            name, unit = name[:at].rstrip(), name[at + 1 : -1].strip()
            break
    return Heading(name, unit, _OTHER.sub("_", name.lower()).strip("_"))


def _own(found: Heading, source: Source) -> Heading:
    """A heading as the workshop's own words have it."""
    own = source.headings.get(key(found.name))
    if own is None:
        return found
    return Heading(own.means, own.unit or found.unit, own.means, found.name, own.factor, own.offset)


def mended(text: str) -> str:
    """Text that was encoded to UTF-8 twice (``Â°C``) as it was meant."""
    while "Â" in text or "Ã" in text:
        try:
            again = text.encode("cp1252").decode("utf-8")
        except UnicodeError:
            break
        text = again
    return text


def is_number(cell: str) -> bool:
    """Whether a cell is a number with a point or a comma."""
    return _NUMBER.fullmatch(cell) is not None


def _cells(line: str, separator: str, quoted: bool) -> list[str]:
    cells = next(csv.reader([line], delimiter=separator, skipinitialspace=True)) if quoted else line.split(separator)
    return [cell.strip() for cell in cells]


def _steady(mark: str, lines: list[str]) -> int:
    """How many lines have as many of a separator as the second one, 0 where there is none of it."""
    counts = [line.count(mark) for line in lines]
    usual = counts[min(1, len(counts) - 1)]
    return sum(count == usual for count in counts) if usual else 0
