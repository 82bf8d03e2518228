"""Calls into the compiled loops with every size checked, so that no file's content can make them leave their arrays.

Each function returns None where there is no compiled code, and its caller takes the twin in numpy.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from itertools import starmap
from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.native import engine

SPARE_BYTES: Final = 128
"""Bytes behind the last line that are read, though never used."""
MOST_PIECES: Final = 8
"""Words, and runs of digits, that a layout may have."""
_SINGLE: Final = 4
"""So many of a layout's columns have one entry a layout."""
_MOST_SLOTS: Final = 4096

_ARGUMENTS: Final = {
    "line_ends": "u1 n i8",
    "can_text": "u1 i8 n n i8 i8 i8 i8 u8 u8 u8 i8 u8 u8 i8 n b1 i8 u4 u1 u1 u1 u8 i8",
    "slots": "u4 u1 n u4 n n u4 i8 u2",
    "rows_by_slot": "u2 n i8 n i8",
    "signals": "u8 n n i8 i8 i8 i8 f8 f8 f8",
}
"""What each loop takes: ``n`` a whole number, all others arrays of numpy's kind of that name."""


def at_hand() -> bool:
    """Whether there is compiled code."""
    return engine.library() is not None


def line_ends(buffer: NDArray[np.uint8], size: int, scratch: NDArray[np.int64]) -> NDArray[np.int64] | None:
    """Places of the line feeds in ``buffer[:size]``, ascending; ``scratch`` has room for one a byte."""
    if not at_hand():
        return None
    _require(0 <= size <= min(len(buffer) - SPARE_BYTES, len(scratch)))
    return scratch[: _run("line_ends", buffer, size, scratch)].copy()


class Layouts(Struct, frozen=True):
    """Forms of a line's beginning as tables, eight entries a layout.

    Parameters
    ----------
    size, words, bus, runs : (k,) int64: bytes, words of eight bytes, number of the bus, runs of digits
    template, fixed, digit : (k, 8) uint64
    run_word, run_worth : (k, 8) int64
    run_shift, run_mask : (k, 8) uint64
    """

    size: NDArray[np.int64]
    words: NDArray[np.int64]
    bus: NDArray[np.int64]
    runs: NDArray[np.int64]
    template: NDArray[np.uint64]
    fixed: NDArray[np.uint64]
    digit: NDArray[np.uint64]
    run_word: NDArray[np.int64]
    run_shift: NDArray[np.uint64]
    run_mask: NDArray[np.uint64]
    run_worth: NDArray[np.int64]


class TextRows(Struct, frozen=True):
    """Where the frames of a block of lines go: columns of one length, see ``capture.can_columns.CanBlock``."""

    kept: NDArray[np.bool_]
    t_ns: NDArray[np.int64]
    can_id: NDArray[np.uint32]
    flags: NDArray[np.uint8]
    bus: NDArray[np.uint8]
    length: NDArray[np.uint8]
    data: NDArray[np.uint64]


def can_text(
    buffer: NDArray[np.uint8], ends: NDArray[np.int64], layouts: Layouts, latest_ns: int, out: TextRows
) -> NDArray[np.int64] | None:
    """Read the lines that end at ``ends`` into rows; returns the numbers of those that are of none of the layouts."""
    if not at_hand():
        return None
    n, count = len(ends), len(layouts.size)
    tables = [getattr(layouts, name) for name in Layouts.__struct_fields__]
    columns = [getattr(out, name) for name in TextRows.__struct_fields__]
    _require(not n or bool(ends[0] >= 0 and ends[-1] + SPARE_BYTES <= len(buffer) and (ends[1:] > ends[:-1]).all()))
    _require(all(len(column) == n for column in columns))
    _require(all(table.size == count * (1 if k < _SINGLE else MOST_PIECES) for k, table in enumerate(tables)))
    _require(not count or int(max(layouts.words.max(), layouts.runs.max(), layouts.size.max() // 8)) <= MOST_PIECES)
    _require(not count or 0 <= int(layouts.run_word.min()) <= int(layouts.run_word.max()) < MOST_PIECES)
    left = np.empty(n, np.int64)
    return left[: _run("can_text", buffer, ends, n, count, *tables, latest_ns, *columns, left)]


def slots(
    can_id: NDArray[np.uint32], flags: NDArray[np.uint8]
) -> tuple[NDArray[np.uint32], NDArray[np.int64], NDArray[np.uint16]] | None:
    """Number each frame by its identifier, bit 31 set on those of 29 bits.

    Returns
    -------
    the different identifiers in order of appearance, how often each stands there, and which one each frame has; None
    also where there are more than a few thousand
    """
    if not at_hand():
        return None
    _require(len(can_id) == len(flags))
    cells = 4 * _MOST_SLOTS
    table = np.zeros(2 * cells, np.uint32)
    keys, counts = np.empty(_MOST_SLOTS, np.uint32), np.empty(_MOST_SLOTS, np.int64)
    slot = np.empty(len(can_id), np.uint16)
    found = _run("slots", can_id, flags, len(can_id), table, cells - 1, _MOST_SLOTS, keys, counts, slot)
    return None if found < 0 else (keys[:found], counts[:found], slot)


def rows_by_slot(slot: NDArray[np.uint16], counts: NDArray[np.int64]) -> NDArray[np.int64] | None:
    """Rows put together by slot, in order within each; ``counts`` says how many rows each slot has."""
    if not at_hand():
        return None
    place = np.cumsum(counts) - counts
    rows = np.empty(len(slot), np.int64)
    _require(_run("rows_by_slot", slot, len(slot), place, len(place), rows) == len(slot))
    return rows


def signals(
    data: NDArray[np.uint8], shift: Sequence[int], length: Sequence[int], big: Sequence[bool], signed: Sequence[bool],
    scale: Sequence[float], offset: Sequence[float],
) -> NDArray[np.float64] | None:  # fmt: skip
    """Physical values of signals within eight bytes, (signals, n).

    Parameters
    ----------
    data : (n, 8) uint8
    shift : bits below the signal in the word of eight bytes, read in the signal's byte order
    """
    if not at_hand():
        return None
    n, count = len(data), len(shift)
    _require(data.shape == (n, 8))
    _require(all(below >= 0 and bits >= 1 and below + bits <= 64 for below, bits in zip(shift, length, strict=True)))
    tables = [np.array(column, np.int64) for column in (shift, length, big, signed)]
    tables += [np.array(column, np.float64) for column in (scale, offset)]
    _require(all(len(table) == count for table in tables))
    out = np.empty((count, n))
    _run("signals", data.view(np.uint64), n, count, *tables, out)
    return out


@functools.cache
def _function(name: str) -> Callable[..., int]:
    library = engine.library()
    assert library is not None
    return library.function(name, len(_ARGUMENTS[name].split()))


def _run(name: str, *given: NDArray[Any] | int) -> int:
    """Run a loop on arrays of the kinds that it takes."""
    return _function(name)(*starmap(_argument, zip(given, _ARGUMENTS[name].split(), strict=True)))


def _argument(given: NDArray[Any] | int, kind: str) -> int:
    """A number as it is, an array's address where its elements stand as the loop takes them."""
    if isinstance(given, int):
        _require(kind == "n")
        return given
    _require(given.dtype.isnative and given.dtype.str[1:] == kind)
    _require(given.flags.c_contiguous and given.flags.aligned)
    return given.ctypes.data


def _require(holds: bool) -> None:
    """Refuse a call that would leave its arrays."""
    if not holds:
        raise ValueError("sizes or kinds of a compiled loop's arrays do not fit")
