"""CAN frames on their way into columns: blocks are appended, the end result is one ``Frames``."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan import parallel
from logan.capture import clock
from logan.capture.can_sorter import CanSorter
from logan.capture.can_text_plain import Row
from logan.capture.reader import Tally
from logan.model.frames import FD_WIDTH, Frames
from logan.native.kernels import TextRows

MOST_BUSES: Final = 255
ABSOLUTE_FROM_NS: Final = 10**17
"""A first time stamp above this (1e8 s, March 1973) is a time of day, below it counts from the recorder's start."""


_KINDS: Final = {"t_ns": np.int64, "can_id": np.uint32, "flags": np.uint8, "bus": np.uint8, "length": np.uint8,
                 "data": np.uint64}  # fmt: skip
_AT_ONCE: Final = 1 << 15

Columns = dict[str, NDArray[Any]]


def room_for(n: int) -> Columns:
    """Columns of n rows with any content."""
    return {name: np.empty(n, kind) for name, kind in _KINDS.items()}


class CanBlock:
    """Columns for up to n frames, ``kept`` marks the rows in use.

    Parameters
    ----------
    n : rows
    room : columns of n rows to use, any content; their own ones, all zero, where it is None
    """

    def __init__(self, n: int, room: Columns | None = None) -> None:
        room = {name: np.zeros(n, kind) for name, kind in _KINDS.items()} if room is None else room
        self.kept = np.zeros(n, np.bool_)
        self.t_ns: NDArray[np.int64] = room["t_ns"]
        self.can_id: NDArray[np.uint32] = room["can_id"]
        self.flags: NDArray[np.uint8] = room["flags"]
        self.bus: NDArray[np.uint8] = room["bus"]
        self.length: NDArray[np.uint8] = room["length"]
        self.data: NDArray[np.uint64] = room["data"]
        self.long_row: list[NDArray[np.int64]] = []
        self.long_data: list[NDArray[np.uint8]] = []

    def rows(self) -> TextRows:
        """The columns that a compiled loop fills."""
        return TextRows(self.kept, self.t_ns, self.can_id, self.flags, self.bus, self.length, self.data)

    def put(self, row: int, frame: Row, bus: int) -> None:
        """One frame into its row."""
        self.kept[row] = True
        self.t_ns[row], self.can_id[row], self.flags[row] = frame.t_ns, frame.can_id, frame.flags
        self.bus[row], self.length[row] = bus, frame.length
        self.put_data(row, frame.data)

    def put_data(self, row: int, data: bytes) -> None:
        """The data bytes of one row."""
        self.data[row] = int.from_bytes(data[:8], "little")
        if len(data) > 8:
            self.long_row.append(np.array([row], np.int64))
            self.long_data.append(np.frombuffer(data.ljust(FD_WIDTH, b"\0"), np.uint8)[None, :])


class CanColumns:
    """All frames of one file.

    Parameters
    ----------
    expected : frames that the file may hold; more of them only cost time
    sorter : puts frames together by kind, as long as it can
    """

    def __init__(self, expected: int = 0, sorter: CanSorter | None = None) -> None:
        self._columns = room_for(expected)
        self._sorter = sorter
        self._long_row: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
        self._long_data: list[NDArray[np.uint8]] = [np.empty((0, FD_WIDTH), np.uint8)]
        self._buses: dict[bytes, int] = {}
        self.rows = 0

    def bus(self, name: bytes) -> int | None:
        """Index of a bus by name, in order of appearance; None where there are too many."""
        if name not in self._buses and len(self._buses) == MOST_BUSES:
            return None
        return self._buses.setdefault(name, len(self._buses))

    def append(self, block: CanBlock) -> Callable[[], None]:
        """Take over the kept rows of a block.

        Returns
        -------
        what is still to be called before the block may be used again, in whatever thread; of the only block nothing is
        """
        if block.long_row:
            row = np.concatenate(block.long_row)
            order = np.argsort(row, kind="stable")
            self._long_row.append((np.cumsum(block.kept) - 1 + self.rows)[row[order]])
            self._long_data.append(np.concatenate(block.long_data)[order])
        some: Columns = {name: getattr(block, name) for name in _KINDS}
        if not block.kept.all():
            some = {name: column[block.kept] for name, column in some.items()}
        if self._sorter is not None:
            put = None if block.long_row else self._sorter.add(some)
            if put is not None:
                self.rows = self._sorter.rows
                return put
            self._put(self._sorter.columns(), 0)
            self._sorter = None
        self._put(some, self.rows)
        return lambda: None

    def _put(self, some: Columns, first: int) -> None:
        """Rows to where they stay."""
        self.rows, room = first + len(some["t_ns"]), len(self._columns["t_ns"])
        if not room:
            self._columns = some
            return
        if self.rows > room:
            self._columns = {
                name: np.concatenate([column[:first], np.empty(2 * self.rows - first, column.dtype)])
                for name, column in self._columns.items()
            }
        for name, column in self._columns.items():
            column[first : self.rows] = some[name]

    def undo_differences(self, share: float, tally: Tally) -> None:
        """Sum up times that count from the frame before: those that step back more often than in a share of steps."""
        if self.rows < 3:
            return
        t_ns = self._columns["t_ns"][: self.rows]
        if np.mean(np.diff(t_ns) < 0) <= share:
            return
        tally.add("time_differences", "times count from the frame before: summed up", "whole file")
        np.cumsum(t_ns, out=t_ns)

    def frames(self, tally: Tally) -> Frames:
        """The columns in order of time, with the clock's trouble counted; takes the columns over."""
        buses = tuple(name.decode("utf-8", "replace") for name in self._buses) or ("",)
        if self._sorter is not None and self.rows:
            return self._sorter.frames(ABSOLUTE_FROM_NS, buses)
        t_ns, can_id, flags, bus, length, words = (self._columns.pop(name)[: self.rows] for name in _KINDS)
        absolute = bool(len(t_ns)) and int(np.median(t_ns[:1000])) >= ABSOLUTE_FROM_NS
        rows = clock.settle(t_ns, tally)
        origin_ns = int(t_ns[rows[0] if rows is not None else 0]) if absolute else 0
        t_s = _in_seconds(t_ns, origin_ns)
        columns = [can_id, flags, bus, length]
        data = words.astype("<u8", copy=False).view(np.uint8).reshape(-1, 8)
        long_row, long_data = np.concatenate(self._long_row), np.concatenate(self._long_data)
        if rows is not None:
            t_s, data = t_s[rows], data[rows]
            columns = [column[rows] for column in columns]
            place = np.full(self.rows, -1, np.int64)
            place[rows] = np.arange(len(rows))
            long_row = place[long_row]
            order = np.argsort(long_row, kind="stable")
            order = order[long_row[order] >= 0]
            long_row, long_data = long_row[order], long_data[order]
        can_id, flags, bus, length = columns
        return Frames(
            t_s=t_s, can_id=can_id, flags=flags, bus=bus, length=length, data=data, fd_row=long_row, fd_data=long_data,
            origin_ns=origin_ns, absolute=absolute, buses=buses,
        )  # fmt: skip


def nanoseconds(seconds: NDArray[np.float64]) -> NDArray[np.int64]:
    """Times in ns of those in s, to the last digit that they have."""
    whole = np.floor(seconds)
    out: NDArray[np.int64] = whole.astype(np.int64) * 10**9 + np.rint((seconds - whole) * 1e9).astype(np.int64)
    return out


def _in_seconds(t_ns: NDArray[np.int64], origin_ns: int) -> NDArray[np.float64]:
    """Times in s after an origin, in the place of those in ns."""
    t_s = t_ns.view(np.float64)

    def convert(at: int) -> None:
        some = slice(at, at + _AT_ONCE)
        t_s[some] = (t_ns[some] - origin_ns) / 1e9

    parallel.each(convert, range(0, len(t_ns), _AT_ONCE), pays=len(t_ns) >= parallel.MANY)
    return t_s
