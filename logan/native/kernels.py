"""Calls into the compiled loops with every size checked, so that no file's content can make them leave their arrays.

Functions that may return None do so where there is no compiled code, and the caller takes the twin in numpy; the others
are called only where there is.
"""

from __future__ import annotations

import functools
from collections.abc import Callable, Sequence
from itertools import starmap
from typing import Any, Final

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from logan.native import engine

SPARE_BYTES: Final = 128
"""Bytes behind the last line that are read, though never used."""
LONGEST_LAYOUT: Final = 64
"""Bytes before a line's identifier."""
MOST_KINDS: Final = 4096
_STRETCH: Final = 2048
_MOST_STREAMS: Final = 64
_LONGEST_MESSAGE: Final = 4096 + 16
"""Bytes of a message that is not one of CAN FD, and of two words more."""
_LIGHT_ROWS: Final = 20_000
_HEAVY_ROWS: Final = 400_000
_MOST_OF_LAYOUT: Final = (LONGEST_LAYOUT, 18, 9)
"""Bytes, digits of seconds, digits of their parts."""
HEXADECIMAL: Final = np.full(256, 255, np.uint8)
"""Value of each character as a hex digit, 255 where it is none."""
for _digit in b"0123456789ABCDEFabcdef":
    HEXADECIMAL[_digit] = int(chr(_digit), 16)

_ARGUMENTS: Final = {
    "line_ends": "u1 n i8",
    "can_text": "u1 n i8 n n i8 i8 i8 i8 i8 u8 u1 u1 n b1 i8 u4 u1 u1 u1 u8 i8",
    "kinds": "u4 u1 u1 u1 i8 n u2 n u8 n n i8 i8 u2",
    "put_together": "u2 n i8 n n i8 u8 i8 u8",
    "seconds": "i8 n n f8",
    "rows_of_slots": "u2 n b1 n i8",
    "places_of_slots": "u2 n i8 n n u2 i8",
    "isotp": "u8 u1 u1 i8 n n n i8 i8 i8 i8 i8 i8 u1 n i8 i8 i8 i8 u1 n",
    "signals": "u8 n n i8 i8 i8 i8 f8 f8 f8",
    "extents": "u8 n n i8 i8 i8 i8 f8 f8 f8 f8 i8 i8 f8 f8",
    "between": "f8 n f8 i8 f8",
}
"""What each loop takes: ``n`` a whole number, all others arrays of numpy's kind of that name."""
_KINDS: Final = {kind: np.dtype(kind) for kind in ("b1", "u1", "u2", "u4", "u8", "i8", "f8")}


def at_hand() -> bool:
    """Whether there is compiled code."""
    return engine.library() is not None


def pays(rows: int) -> bool:
    """Whether there is compiled code, and so many rows of a log win back the time that it takes to load."""
    return (engine.is_loaded() or rows >= (_LIGHT_ROWS if engine.is_light() else _HEAVY_ROWS)) and at_hand()


def line_ends(buffer: NDArray[np.uint8], size: int, scratch: NDArray[np.int64]) -> NDArray[np.int64]:
    """Places of the line feeds in ``buffer[:size]``, ascending, in the beginning of ``scratch``.

    Parameters
    ----------
    scratch : room for one a byte and two more
    """
    _require(0 <= size <= min(len(buffer) - SPARE_BYTES, len(scratch) - 2))
    return scratch[: _run("line_ends", buffer, size, scratch)]


class Layouts(Struct, frozen=True):
    """Forms of a line's beginning as tables.

    Parameters
    ----------
    size, bus : (k,) int64: bytes, number of the bus
    whole, fraction, worth : (k,) int64: digits of seconds and of their parts, what the last of those is worth in ns
    seconds : (k, 2) uint64, FF in each byte of the seconds in the words from the first and from the ninth digit on
    form : (k, 2, 2, 32) uint8, for the first 32 bytes and the next: what stands there, how much more it may be
    """

    size: NDArray[np.int64]
    bus: NDArray[np.int64]
    whole: NDArray[np.int64]
    fraction: NDArray[np.int64]
    worth: NDArray[np.int64]
    seconds: NDArray[np.uint64]
    form: NDArray[np.uint8]


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
    buffer: NDArray[np.uint8], size: int, ends: NDArray[np.int64], layouts: Layouts, latest_ns: int, out: TextRows
) -> NDArray[np.int64]:
    """Read the lines that end at ``ends`` into rows; returns the numbers of those that are of none of the layouts."""
    n, count = len(ends), len(layouts.size)
    tables = [getattr(layouts, name) for name in Layouts.__struct_fields__]
    columns = [getattr(out, name) for name in TextRows.__struct_fields__]
    _require(0 <= size <= len(buffer) - SPARE_BYTES)
    _require(all(len(column) == n for column in columns))
    _require([table.size for table in tables] == [*5 * [count], 2 * count, 2 * LONGEST_LAYOUT * count])
    for table, most in zip((layouts.size, layouts.whole, layouts.fraction), _MOST_OF_LAYOUT, strict=True):
        _require(not count or 0 <= int(table.min()) <= int(table.max()) <= most)
    left = np.empty(n, np.int64)
    found = _run("can_text", buffer, size, ends, n, count, *tables, HEXADECIMAL, latest_ns, *columns, left)
    _require(found >= 0)
    return left[:found]


class KindTable(Struct):
    """Which kinds of frames are known: what a frame has beside its time and data.

    Parameters
    ----------
    known : how many
    keys : (MOST_KINDS,) uint64, of which the first are known: identifier, from bit 32 on flags, bus and length, 8 each
    cells : where a key is to be looked for
    span : (2,) int64, time of the last frame and longest step from one to the next, ns
    """

    known: int = 0
    keys: NDArray[np.uint64] = field(default_factory=lambda: np.empty(MOST_KINDS, np.uint64))
    cells: NDArray[np.uint16] = field(default_factory=lambda: np.zeros(4 * MOST_KINDS, np.uint16))
    span: NDArray[np.int64] = field(default_factory=lambda: np.zeros(2, np.int64))


def kinds(
    can_id: NDArray[np.uint32], flags: NDArray[np.uint8], bus: NDArray[np.uint8], length: NDArray[np.uint8],
    t_ns: NDArray[np.int64], table: KindTable, slot: NDArray[np.uint16],
) -> NDArray[np.int64] | None:  # fmt: skip
    """Number frames by their kind; new ones go into the table.

    Parameters
    ----------
    slot : (n,) where the numbers go

    Returns
    -------
    how many there are of each known kind, (known,); None also where there would be more than a few thousand, or
    times do not ascend
    """
    if not at_hand():
        return None
    n, counts = len(can_id), np.zeros(MOST_KINDS, np.int64)
    _require(len(flags) == len(bus) == len(length) == len(t_ns) == len(slot) == n)
    _require(len(table.keys) == MOST_KINDS and len(table.cells) == 4 * MOST_KINDS and 0 <= table.known <= MOST_KINDS)
    _require(len(table.span) == 2)
    given = (can_id, flags, bus, length, t_ns, n, table.cells, 4 * MOST_KINDS - 1, table.keys, MOST_KINDS, table.known)
    known = _run("kinds", *given, table.span, counts, slot)
    if known < 0:
        return None
    table.known = known
    return counts[:known]


def put_together(
    slot: NDArray[np.uint16], place: NDArray[np.int64], t_ns: NDArray[np.int64], data: NDArray[np.uint64],
    out_t_ns: NDArray[np.int64], out_data: NDArray[np.uint64],
) -> None:  # fmt: skip
    """Times and data put together by slot, in order within each; only where there is compiled code.

    Parameters
    ----------
    place : where the next row of each slot goes
    """
    _require(len(slot) == len(t_ns) == len(data) and len(out_t_ns) == len(out_data))
    given = (slot, len(slot), place.copy(), len(place), len(out_data), t_ns, data, out_t_ns, out_data)
    _require(_run("put_together", *given) == len(slot))


def to_seconds(t_ns: NDArray[np.int64], origin_ns: int) -> None:
    """Times in s after an origin into the place of those in ns; only where there is compiled code."""
    _run("seconds", t_ns, len(t_ns), origin_ns, t_ns.view(np.float64))


def rows_of_slots(slot: NDArray[np.uint16], wanted: NDArray[np.bool_]) -> NDArray[np.int64] | None:
    """Rows whose slot is wanted, ascending; ``wanted`` has an entry a slot."""
    if not at_hand():
        return None
    rows = np.empty(len(slot), np.int64)
    found = _run("rows_of_slots", slot, len(slot), wanted, len(wanted), rows)
    _require(found >= 0)
    return rows[:found].copy()


def places_of_slots(
    slot: NDArray[np.uint16], place: NDArray[np.int64], count: int
) -> tuple[NDArray[np.uint16], NDArray[np.int64]] | None:
    """Slots of the rows whose slot has a place, ascending by row, and the place of each, (count,) both.

    Parameters
    ----------
    place : where the first row of each slot stands, and the next behind it; -1 for a slot that is not wanted
    count : rows of all slots that have a place
    """
    if not at_hand():
        return None
    out_slot, out_place = np.empty(count, np.uint16), np.empty(count, np.int64)
    found = _run("places_of_slots", slot, len(slot), place.copy(), len(place), count, out_slot, out_place)
    _require(found == count)
    return out_slot, out_place


class IsotpMessages(Struct, frozen=True):
    """Messages as rows of frames, in order of completion.

    Parameters
    ----------
    first, last : (m,) int64, rows of their first and last frames
    start, length : (m,) int64, bytes in ``blob``
    blob : (b,) uint8
    """

    first: NDArray[np.int64]
    last: NDArray[np.int64]
    start: NDArray[np.int64]
    length: NDArray[np.int64]
    blob: NDArray[np.uint8]


def isotp(
    data: NDArray[np.uint8], length: NDArray[np.uint8], offset: NDArray[np.uint8], stream: NDArray[np.int64]
) -> IsotpMessages | None:
    """All messages of ISO 15765-2; None also where any frame is not what its place in its stream asks for.

    Parameters
    ----------
    data : (n, 8) uint8
    offset : (n,) bytes in front of the control information
    stream : (n,) any number for each sender and receiver
    """
    if not at_hand():
        return None
    n = len(data)
    _require(data.shape == (n, 8) and len(length) == len(offset) == len(stream) == n)
    of_streams = [np.zeros(_MOST_STREAMS, np.int64) for _ in range(6)]
    held = np.empty(_MOST_STREAMS * _LONGEST_MESSAGE, np.uint8)
    rows = [np.empty(n, np.int64) for _ in range(4)]
    blob = np.empty(8 * n + 8, np.uint8)
    found = _run(
        "isotp", data.view(np.uint64), length, offset, stream, n, _MOST_STREAMS, 0, *of_streams, held,
        _LONGEST_MESSAGE, *rows, blob, len(blob),
    )  # fmt: skip
    if found < 0:
        return None
    first, last, start, size = (column[:found] for column in rows)
    return IsotpMessages(first, last, start, size, blob[: int(size.sum())])


def between(x: NDArray[np.float64], low: float, high: float) -> tuple[int, NDArray[np.float64]] | None:
    """How many numbers are less than ``low``, and those from there to ``high``, in order."""
    if not at_hand():
        return None
    below, room = np.empty(1, np.int64), np.empty(len(x))
    found = _run("between", np.ascontiguousarray(x), len(x), np.array([low, high]), below, room)
    return int(below[0]), room[:found]


class SignalTables(Struct, frozen=True):
    """Where signals stand within eight bytes and what they are worth, as the compiled loops take it.

    Parameters
    ----------
    count : how many signals
    columns : bits below the signal in the word of eight bytes, its bits, whether the word is big-endian, whether the
        highest bit is a sign (int64); what to multiply by and to add (float64)
    """

    count: int
    columns: tuple[NDArray[Any], ...]


def signal_tables(
    shift: Sequence[int], length: Sequence[int], big: Sequence[bool], signed: Sequence[bool], scale: Sequence[float],
    offset: Sequence[float],
) -> SignalTables:  # fmt: skip
    """Tables of signals, each within eight bytes read in the signal's byte order."""
    _require(all(low >= 0 and bits >= 1 and low + bits <= 64 for low, bits in zip(shift, length, strict=True)))
    columns: list[NDArray[Any]] = [np.array(column, np.int64) for column in (shift, length, big, signed)]
    columns += [np.array(column, np.float64) for column in (scale, offset)]
    _require(all(len(column) == len(shift) for column in columns))
    return SignalTables(len(shift), tuple(columns))


def signals(data: NDArray[np.uint8], tables: SignalTables) -> NDArray[np.float64] | None:
    """Physical values of signals within eight bytes, (signals, n).

    Parameters
    ----------
    data : (n, 8) uint8
    """
    if not at_hand():
        return None
    n = len(data)
    _require(data.shape == (n, 8))
    out = np.empty((tables.count, n))
    _run("signals", data.view(np.uint64), n, tables.count, *tables.columns, out)
    return out


class Extents(Struct, frozen=True):
    """What one look at the values of some signals found.

    Parameters
    ----------
    lowest, highest : (signals,) float64
    below : (signals,) int64, how many values are less than the first of two given numbers
    between : those from there to the second, in order, of each signal
    """

    lowest: NDArray[np.float64]
    highest: NDArray[np.float64]
    below: NDArray[np.int64]
    between: list[NDArray[np.float64]]


def extents(
    data: NDArray[np.uint8], tables: SignalTables, low: NDArray[np.float64], high: NDArray[np.float64]
) -> Extents | None:
    """One look at the physical values of signals, all of which are finite.

    Parameters
    ----------
    data : (n, 8) uint8, at least one row
    low, high : (signals,) two numbers for each
    """
    if not at_hand():
        return None
    n, count, ends = len(data), tables.count, (low.copy(), high.copy())
    _require(data.shape == (n, 8) and n > 0 and len(low) == len(high) == count)
    below, found, room = np.empty(count, np.int64), np.empty(count, np.int64), np.empty((count, n))
    _run("extents", data.view(np.uint64), n, count, *tables.columns, *ends, below, found, np.empty(_STRETCH), room)
    return Extents(*ends, below, [room[k, :some] for k, some in enumerate(found.tolist())])


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
    flags = given.flags
    _require(given.dtype == _KINDS[kind] and flags.c_contiguous and flags.aligned)
    return int(given.__array_interface__["data"][0])  # as given.ctypes.data, in a third of the time


def _require(holds: bool) -> None:
    """Refuse a call that would leave its arrays."""
    if not holds:
        raise ValueError("sizes or kinds of a compiled loop's arrays do not fit")
