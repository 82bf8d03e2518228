"""Whether a last line without its end was cut inside its last cell.

A file may end without a line end and be whole (RFC 4180, 2: "the last record in the file may or may not have an ending
line break"), so the cell is left out only where it lacks what those above it have: columns, decimals, a unit, digits.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from logan.capture import csv_head
from logan.capture.csv_head import CsvHead

ROWS_LOOKED_AT: Final = 200
_FEWEST_ROWS: Final = 2
_MANY_ROWS: Final = 30
"""So many numbers of equally many decimals are written so on purpose, even if none ends in zero (judgement)."""
_NUMBER: Final = re.compile(r"\s*[-+]?(?=[.,]?\d)\d*(?:([.,])(\d*))?(?:[eE][-+]?\d+)?\s*([^\d\s.,+-].*)?", re.ASCII)


def is_cut(line: str, before: Sequence[str], head: CsvHead) -> bool:
    """Whether the last cell of a line may be a part of what it was to be.

    Parameters
    ----------
    line : the last one of a file, which has no line end
    before : lines above it
    """
    *others, last = csv_head.cells_of(line, head.separator, head.quoted) or [""]
    rows = [csv_head.cells_of(one, head.separator, head.quoted) for one in before[-ROWS_LOOKED_AT:] if one.strip()]
    column = [row[len(others)] for row in rows if len(row) > len(others) and row[len(others)]]
    if not last or len(column) < _FEWEST_ROWS:
        return False
    is_short = len(others) + 1 < min(map(len, rows))
    found, forms = _NUMBER.fullmatch(last), [_NUMBER.fullmatch(cell) for cell in column]
    if found is None or not all(forms):
        return _lacks_letters(last, column)
    units = {form[3] or "" for form in forms if form}
    if (found[3] or "") not in units:
        return True
    if found[3]:
        return False
    decimals = {len(form[2] or "") for form in forms if form}
    if len(decimals) == 1 and _is_fixed(forms):
        return len(found[2] or "") < max(decimals)
    if is_short or (found[1] and not found[2] and all(form[2] or not form[1] for form in forms if form)):
        return True
    return len(column) >= _MANY_ROWS and min(map(len, column)) > len(last) and _leaps([*forms, found])


def _leaps(forms: Sequence[re.Match[str] | None]) -> bool:
    """Whether the last number is further from the one above it than any two neighbours above are from each other."""
    numbers = [float(form[0][: form.start(3) if form[3] else None].replace(",", ".")) for form in forms if form]
    steps = [abs(after - before) for before, after in pairwise(numbers)]
    return steps[-1] > max(steps[:-1])


def _is_fixed(forms: Sequence[re.Match[str] | None]) -> bool:
    """Whether numbers of equally many decimals are written so on purpose: zeros at their ends are not left out."""
    decimals = [form[2] for form in forms if form and form[2]]
    return bool(decimals) and (len(forms) >= _MANY_ROWS or any(digits.endswith("0") for digits in decimals))


def _lacks_letters(last: str, column: Sequence[str]) -> bool:
    """Whether a word, a date or a time of day is shorter than all above it, or the beginning of one of them alone."""
    if last in column:
        return False
    lengths = set(map(len, column))
    return (len(lengths) == 1 and len(last) < min(lengths)) or any(cell.startswith(last) for cell in column)
