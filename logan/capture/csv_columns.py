"""Columns of numbers from CSV text, in blocks; cells that are no numbers are counted and located."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan import units
from logan.capture import csv_end, csv_head
from logan.capture.csv_head import CsvHead
from logan.capture.reader import Tally
from logan.capture.source import Source

_BLOCK_BYTES: Final = 8 << 20
_SPARE_COLUMNS: Final = 8
_TAIL_BYTES: Final = 1 << 16
_GLUED: Final = f"^{csv_head.GLUED}$"


def read(
    source: Source, head: CsvHead, columns: Sequence[int], tally: Tally, text: Sequence[int] = (), ragged: bool = False,
    spoilt: list[int] | None = None,
) -> list[pd.Series]:  # fmt: skip
    """Some columns of a file, each (n,): float64 with NaN where a cell is empty or bad, or text as it stands.

    Parameters
    ----------
    columns : which ones, by number
    text : those of them that stay text
    ragged : rows may have more cells than the heading; else such a row is left out
    spoilt : see ``blocks``
    """
    parts = list(blocks(source, head, columns, tally, dict.fromkeys(text, "str"), ragged, spoilt))
    if not parts:
        return [pd.Series(dtype=str if k in text else np.float64) for k in columns]
    return [pd.concat([part[k] for part in parts], ignore_index=True) for k in range(len(columns))]


def blocks(
    source: Source, head: CsvHead, columns: Sequence[int], tally: Tally, text: Mapping[int, str], ragged: bool = False,
    spoilt: list[int] | None = None,
) -> Iterator[list[pd.Series]]:  # fmt: skip
    """The same, a block of rows at a time, for files that are longer than memory.

    Parameters
    ----------
    text : those of the columns that stay text, as ``str``, or as ``category`` where few words come again and again
    spoilt : takes, for each row that is left out or has a cell that is no number, how many given rows precede it
    """
    given = 0
    width = max(head.width, max(columns) + 1) + _SPARE_COLUMNS
    above: list[str] = []
    for buffer, size, first_line in source.line_blocks(_BLOCK_BYTES):
        skip = max(0, head.first_row_line - first_line)
        ends = np.flatnonzero(buffer[:size] == 10)
        if skip >= len(ends):
            continue
        begin = int(ends[skip - 1]) + 1 if skip else 0
        line = first_line + skip
        _join_lines(buffer[begin:size])
        if source.unended and len(ends) == 1:
            _without_cut_cell(buffer[begin:size], above, head, line, source.encoding, tally)
        else:
            above = _last_lines(buffer[begin:size], source.encoding)
        refused = _check(buffer[begin:size], head, ragged, line, tally)
        wide = head.separator.encode() * (width - 1) + b"\n"  # a first row as wide as any: shorter rows are filled up
        table = pd.read_csv(
            io.BytesIO(wide + buffer[begin:size].tobytes()),
            header=None,
            names=list(range(width)),
            usecols=list(columns),
            sep=head.separator,
            decimal=head.decimal,
            skipinitialspace=True,
            skip_blank_lines=False,
            encoding=source.encoding,
            encoding_errors="replace",
            quoting=csv.QUOTE_MINIMAL if head.quoted else csv.QUOTE_NONE,
            na_values=["-"],
            dtype=dict.fromkeys(head.grouped, "str") | dict(text),
            on_bad_lines="skip",
            low_memory=False,
        ).iloc[1:]
        lost = len(ends) - skip - len(table)
        if lost > 0:
            tally.add("bad_line", "row with far too many cells", f"near line {line}", lost)
        other, changed = _headings_again(table[columns[0]], buffer[begin:size], head, line, tally)
        if other.size:
            table.iloc[other] = np.nan
        if changed is not None:
            table = table.iloc[:changed]
        blank = table.isna().all(axis=1).to_numpy()
        values = [table[k] if k in text else _numbers(table[k], head, k, line, tally) for k in columns]
        if spoilt is not None:
            bad = _bad_cells(table, columns, values)
            bad[refused[refused < len(bad)]] = True
            spoilt += (given + np.cumsum(~blank) - ~blank)[bad].tolist()
        given += int(np.count_nonzero(~blank))
        yield [column[~blank] for column in values]
        if changed is not None:
            return


def _bad_cells(table: pd.DataFrame, columns: Sequence[int], values: list[pd.Series]) -> NDArray[np.bool_]:
    """Rows in which a cell that should hold a number holds something else."""
    bad = np.zeros(len(table), np.bool_)
    for k, value in zip(columns, values, strict=True):
        if value.dtype.kind == "f" and not value.notna().all():
            bad |= (table[k].notna() & value.isna()).to_numpy()
    return bad


def _headings_again(
    cells: pd.Series, block: NDArray[np.uint8], head: CsvHead, first_line: int, tally: Tally
) -> tuple[NDArray[np.int64], int | None]:
    """Rows that repeat the heading, and the first one from which on the columns are others, None where they stay.

    Parameters
    ----------
    cells : one column of the block
    """
    if not head.cells or cells.dtype.kind in "fiub":
        return np.empty(0, np.int64), None
    again = np.flatnonzero(cells.astype(str).str.strip().isin(set(head.cells) - {""}).to_numpy())
    if not len(again):
        return again, None
    lines = block.tobytes().split(b"\n")
    heading = list(head.cells)
    for row in again.tolist():
        found = csv_head.cells_of(lines[row].decode("utf-8", "replace"), head.separator, head.quoted)
        if found != heading:
            text = "from here on the columns are others: left out, save them as a file of their own"
            tally.add("columns_change", text, f"line {first_line + row}", len(lines) - row - 1)
            return again[again < row], row
    text = "heading repeated between the rows: passed over"
    tally.add_rows("heading_again", text, again, lambda row: f"line {first_line + row}")
    return again, None


def _last_lines(block: NDArray[np.uint8], encoding: str) -> list[str]:
    """The last lines of a block, as many as the end of a file is compared with."""
    tail = block[-_TAIL_BYTES:].tobytes().decode(encoding, "replace").split("\n")
    return tail[len(block) > _TAIL_BYTES : -1][-csv_end.ROWS_LOOKED_AT :]


def _without_cut_cell(
    line: NDArray[np.uint8], above: Sequence[str], head: CsvHead, number: int, encoding: str, tally: Tally
) -> None:
    """Blank the last cell of a last line without its end, where it may be cut."""
    text = line.tobytes()
    if not csv_end.is_cut(text.decode(encoding, "replace"), above, head):
        return
    line[text.rfind(head.separator.encode()) + 1 : len(text) - 1] = ord(" ")
    reason = "the file ends within its last line: the last value, which may be cut, is left out"
    tally.add("cut_value", reason, f"line {number}")


def _join_lines(block: NDArray[np.uint8]) -> None:
    """Blank carriage returns within lines, at which pandas would begin another row."""
    at = np.flatnonzero(block == ord("\r"))
    block[at[block[np.minimum(at + 1, len(block) - 1)] != ord("\n")]] = ord(" ")


def _check(
    block: NDArray[np.uint8], head: CsvHead, ragged: bool, first_line: int, tally: Tally
) -> NDArray[np.int64]:  # fmt: skip
    """Count the rows that end before the last column, a cut last line above all.

    Those with half a quotation, or with more cells than rows have (two lines ran together), are blanked.

    Returns
    -------
    (k,) int64, the blanked rows
    """
    ends = np.flatnonzero(block == ord("\n"))
    quotes = np.flatnonzero(block == ord('"')) if head.quoted else np.empty(0, np.int64)
    odd = np.flatnonzero(_count(quotes, ends) & 1)
    _blank(block, ends, odd)
    tally.add_rows("bad_line", "quotation mark without its partner", odd, lambda row: f"line {first_line + row}")
    marks = np.flatnonzero(block == ord(head.separator))
    if head.quoted:
        quotes = np.flatnonzero(block == ord('"'))
        marks = marks[np.searchsorted(quotes, marks) & 1 == 0]
    cells = _count(marks, ends) + 1
    if not head.quoted:
        short = np.flatnonzero((cells > 1) & (cells < head.width))
        text = "row with fewer cells than the heading"
        tally.add_rows("short_row", text, short, lambda row: f"line {first_line + row}")
    if ragged:
        return odd
    most = head.usual_width
    wide = [
        row
        for row in np.flatnonzero(cells > most).tolist()
        if block[marks[np.searchsorted(marks, ends[row]) - cells[row] + most] + 1 : ends[row]]
        .tobytes()
        .strip(b' \t\r"' + head.separator.encode())  # separators behind the last cell make none
    ]
    _blank(block, ends, wide)
    text = "row with more cells than the heading: left out"
    tally.add_rows("bad_line", text, np.array(wide, np.int64), lambda row: f"line {first_line + row}")
    return np.append(odd, np.array(wide, np.int64))


def _blank(block: NDArray[np.uint8], ends: NDArray[np.int64], rows: Iterable[int]) -> None:
    """Take the text out of some lines."""
    for row in rows:
        block[ends[row - 1] + 1 if row else 0 : ends[row]] = ord(" ")


def _count(places: NDArray[np.int64], ends: NDArray[np.int64]) -> NDArray[np.int64]:
    """How many of some places, ascending, stand in each line."""
    return np.diff(np.searchsorted(places, ends), prepend=0)


def _numbers(cells: pd.Series, head: CsvHead, column: int, first_line: int, tally: Tally) -> pd.Series:
    """Cells as float64; units glued to the values are taken off, what still is no number is counted."""
    name = head.headings[column].name if head.headings else f"column {column + 1}"
    if cells.dtype.kind in "fiub":
        return _finite(cells.astype(np.float64), name, first_line, tally)
    words = cells.astype(str).where(cells.notna(), "").str.strip()
    words = _without_groups(words, head, column, name, first_line, tally)
    if head.decimal == ",":
        words = words.str.replace(",", ".", regex=False)
    values = pd.to_numeric(words, errors="coerce").astype(np.float64)
    if not values.notna().any():
        values = words.str.lower().map(_SWITCH).astype(np.float64)
    apart = words[values.isna() & (words != "")].str.extract(_GLUED).dropna()
    if len(apart):
        values = values.fillna(_with_units(apart, head.headings[column].unit if head.headings else ""))
    bad = np.flatnonzero((values.isna() & (words != "") & ~words.str.lower().isin(_ABSENT)).to_numpy())
    tally.add_rows("bad_value", f"no number in column {name}", bad, lambda row: f"line {first_line + row}")
    return _finite(values, name, first_line, tally)


def _without_groups(
    words: pd.Series, head: CsvHead, column: int, name: str, first_line: int, tally: Tally
) -> pd.Series:  # fmt: skip
    """Cells without the marks between thousands; a point or a comma is one only where all of the column fit."""
    decimal, other = (",", ".") if (head.decimal == ",") != (column in head.grouped) else (".", ",")
    marked = words.str.fullmatch(csv_head.grouped(decimal, other))
    marks = csv_head.SPACES + other
    if (words.str.contains(other, regex=False) & ~marked).any():
        marks = csv_head.SPACES
        marked = words.str.fullmatch(csv_head.grouped(decimal, ""))
    if not marked.any():
        return words
    text = f"marks between thousands taken out of column {name}"
    tally.add_rows("thousands", text, np.flatnonzero(marked.to_numpy()), lambda row: f"line {first_line + row}")
    return words.where(~marked, words.str.replace(rf"(?<=\d)[{marks}](?=\d{{3}}(?!\d))", "", regex=True))


def _with_units(apart: pd.DataFrame, of_column: str) -> pd.Series:
    """Numbers with a unit of their own in the unit of their column; NaN where that is one of another quantity."""
    values = pd.to_numeric(apart[0], errors="coerce").astype(np.float64)
    inside, factor, offset = units.to_inside(csv_head.unit(of_column))
    for met in apart[1].unique():
        spelled = csv_head.unit(met)
        if not units.is_known(spelled) or spelled.lower() == csv_head.unit(of_column).lower():
            continue
        own, own_factor, own_offset = units.to_inside(spelled)
        rows = apart[1] == met
        if of_column and own != inside:
            values[rows] = np.nan
        else:
            values[rows] = (values[rows] * own_factor + own_offset - offset) / factor
    return values


def _finite(values: pd.Series, name: str, first_line: int, tally: Tally) -> pd.Series:
    """Without infinite values; they are counted."""
    endless = np.isinf(values.to_numpy())
    if not endless.any():
        return values
    text = f"no finite number in column {name}"
    tally.add_rows("bad_value", text, np.flatnonzero(endless), lambda row: f"line {first_line + row}")
    return values.mask(endless)


_ABSENT: Final = frozenset(("nan", "na", "n/a", "null", "none", "no data", "nodata", "-", "--"))


_SWITCH: Final = {"on": 1, "off": 0, "true": 1, "false": 0, "yes": 1, "no": 0, "active": 1, "inactive": 0}
"""States of a switch, in a column that holds no number."""


def array(series: pd.Series) -> NDArray[np.float64]:
    """A column of numbers as (n,) float64."""
    return series.to_numpy(dtype=np.float64, na_value=np.nan)
