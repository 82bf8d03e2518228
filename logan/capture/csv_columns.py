"""Columns of numbers from CSV text, in blocks; cells that are no numbers are counted and located."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture.csv_head import CsvHead
from logan.capture.reader import Tally
from logan.capture.source import Source

_BLOCK_BYTES: Final = 8 << 20
_SPARE_COLUMNS: Final = 8
_GLUED: Final = r"^\s*([-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?)\s*[^\d\s.,][^\d]*$"


def read(
    source: Source, head: CsvHead, columns: Sequence[int], tally: Tally, text: Sequence[int] = ()
) -> list[pd.Series]:
    """Some columns of a file, each (n,): float64 with NaN where a cell is empty or bad, or text as it stands.

    Parameters
    ----------
    columns : which ones, by number
    text : those of them that stay text
    """
    parts = list(blocks(source, head, columns, tally, dict.fromkeys(text, "str")))
    if not parts:
        return [pd.Series(dtype=str if k in text else np.float64) for k in columns]
    return [pd.concat([part[k] for part in parts], ignore_index=True) for k in range(len(columns))]


def blocks(
    source: Source, head: CsvHead, columns: Sequence[int], tally: Tally, text: Mapping[int, str]
) -> Iterator[list[pd.Series]]:
    """The same, a block of rows at a time, for files that are longer than memory.

    Parameters
    ----------
    text : those of the columns that stay text, as ``str``, or as ``category`` where few words come again and again
    """
    width = max(head.width, max(columns) + 1) + _SPARE_COLUMNS
    for buffer, size, first_line in source.line_blocks(_BLOCK_BYTES):
        skip = max(0, head.first_row_line - first_line)
        ends = np.flatnonzero(buffer[:size] == 10)
        if skip >= len(ends):
            continue
        begin = int(ends[skip - 1]) + 1 if skip else 0
        line = first_line + skip
        _check(buffer[begin:size], head, line, tally)
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
            encoding="utf-8",
            encoding_errors="replace",
            quoting=csv.QUOTE_MINIMAL if head.quoted else csv.QUOTE_NONE,
            na_values=["-"],
            dtype=dict(text),
            on_bad_lines="skip",
            low_memory=False,
        ).iloc[1:]
        lost = len(ends) - skip - len(table)
        if lost > 0:
            tally.add("bad_line", "row with far too many cells", f"near line {line}", lost)
        blank = table.isna().all(axis=1).to_numpy()
        yield [(table[k] if k in text else _numbers(table[k], head, k, line, tally))[~blank] for k in columns]


def _check(block: NDArray[np.uint8], head: CsvHead, first_line: int, tally: Tally) -> None:
    """Count the rows that end before the last column, a cut last line above all; blank those with half a quotation."""
    ends = np.flatnonzero(block == ord("\n"))
    if head.quoted:
        odd = np.flatnonzero(_count(block, '"', ends) & 1)
        for row in odd.tolist():
            block[ends[row - 1] + 1 if row else 0 : ends[row]] = ord(" ")
        tally.add_rows("bad_line", "quotation mark without its partner", odd, lambda row: f"line {first_line + row}")
        return
    cells = _count(block, head.separator, ends) + 1
    short = np.flatnonzero((cells > 1) & (cells < head.width))
    text = "row with fewer cells than the heading"
    tally.add_rows("short_row", text, short, lambda row: f"line {first_line + row}")


def _count(block: NDArray[np.uint8], mark: str, ends: NDArray[np.int64]) -> NDArray[np.int64]:
    """How often a character stands in each line."""
    return np.diff(np.searchsorted(np.flatnonzero(block == ord(mark)), ends), prepend=0)


def _numbers(cells: pd.Series, head: CsvHead, column: int, first_line: int, tally: Tally) -> pd.Series:
    """Cells as float64; units glued to the values are taken off, what still is no number is counted."""
    name = head.headings[column].name if head.headings else f"column {column + 1}"
    if cells.dtype.kind in "fiub":
        return _finite(cells.astype(np.float64), name, first_line, tally)
    words = cells.astype(str).where(cells.notna(), "").str.strip()
    if head.decimal == ",":
        words = words.str.replace(",", ".", regex=False)
    values = pd.to_numeric(words, errors="coerce").astype(np.float64)
    bare = words.str.extract(_GLUED, expand=False)
    values = values.fillna(pd.to_numeric(bare, errors="coerce").astype(np.float64))
    bad = np.flatnonzero((values.isna() & (words != "") & ~words.str.lower().isin(_ABSENT)).to_numpy())
    tally.add_rows("bad_value", f"no number in column {name}", bad, lambda row: f"line {first_line + row}")
    return _finite(values, name, first_line, tally)


def _finite(values: pd.Series, name: str, first_line: int, tally: Tally) -> pd.Series:
    """Without infinite values; they are counted."""
    endless = np.isinf(values.to_numpy())
    if not endless.any():
        return values
    text = f"no finite number in column {name}"
    tally.add_rows("bad_value", text, np.flatnonzero(endless), lambda row: f"line {first_line + row}")
    return values.mask(endless)


_ABSENT: Final = frozenset(("nan", "na", "n/a", "null", "none", "no data", "nodata", "-", "--"))


def array(series: pd.Series) -> NDArray[np.float64]:
    """A column of numbers as (n,) float64."""
    return series.to_numpy(dtype=np.float64, na_value=np.nan)
