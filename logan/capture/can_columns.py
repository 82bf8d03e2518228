"""CAN frames on their way into columns: blocks are appended, the end result is one ``Frames``."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import clock
from logan.capture.can_text_plain import Row
from logan.capture.reader import Tally
from logan.model.frames import FD_WIDTH, Frames

MOST_BUSES: Final = 255
ABSOLUTE_FROM_NS: Final = 10**17
"""A first time stamp above this (1e8 s, March 1973) is a time of day, below it counts from the recorder's start."""


class CanBlock:
    """Columns for up to n frames, ``kept`` marks the rows in use.

    Parameters
    ----------
    n : rows
    """

    def __init__(self, n: int) -> None:
        self.kept = np.zeros(n, np.bool_)
        self.t_ns = np.zeros(n, np.int64)
        self.can_id = np.zeros(n, np.uint32)
        self.flags = np.zeros(n, np.uint8)
        self.bus = np.zeros(n, np.uint8)
        self.length = np.zeros(n, np.uint8)
        self.data = np.zeros(n, np.uint64)
        self.long_row: list[NDArray[np.int64]] = []
        self.long_data: list[NDArray[np.uint8]] = []

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
    """All frames of one file."""

    def __init__(self) -> None:
        self._parts: list[CanBlock] = []
        self._buses: dict[bytes, int] = {}
        self.rows = 0

    def bus(self, name: bytes) -> int | None:
        """Index of a bus by name, in order of appearance; None where there are too many."""
        if name not in self._buses and len(self._buses) == MOST_BUSES:
            return None
        return self._buses.setdefault(name, len(self._buses))

    def append(self, block: CanBlock) -> None:
        """Take over the kept rows of a block."""
        order = np.arange(0)
        if block.long_row:
            row = np.concatenate(block.long_row)
            order = np.argsort(row, kind="stable")
            block.long_row = [(np.cumsum(block.kept) - 1 + self.rows)[row[order]]]
            block.long_data = [np.concatenate(block.long_data)[order]]
        if not block.kept.all():
            for name in ("t_ns", "can_id", "flags", "bus", "length", "data"):
                setattr(block, name, getattr(block, name)[block.kept])
        self.rows += len(block.t_ns)
        self._parts.append(block)

    def undo_differences(self, share: float, tally: Tally) -> None:
        """Sum up times that count from the frame before: those that step back more often than in a share of steps."""
        if self.rows < 3:
            return
        t_ns = np.concatenate([part.t_ns for part in self._parts])
        if np.mean(np.diff(t_ns) < 0) <= share:
            return
        tally.add("time_differences", "times count from the frame before: summed up", "whole file")
        first = 0
        for part in self._parts:
            part.t_ns = np.cumsum(part.t_ns) + first
            first = int(part.t_ns[-1]) if len(part.t_ns) else first

    def frames(self, tally: Tally) -> Frames:
        """The columns in one piece, in order of time, with the clock's trouble counted."""
        parts = self._parts

        def joined(name: str, kind: type) -> NDArray:  # type: ignore[type-arg]
            out = np.concatenate([getattr(part, name) for part in parts]) if parts else np.empty(0, kind)
            for part in parts:
                setattr(part, name, None)  # each column is let go as soon as it stands in one piece
            return out

        t_ns = joined("t_ns", np.int64)
        absolute = bool(len(t_ns)) and int(np.median(t_ns[:1000])) >= ABSOLUTE_FROM_NS
        rows = clock.settle(t_ns, tally)
        origin_ns = int(t_ns[rows[0] if rows is not None else 0]) if absolute else 0
        t_ns -= origin_ns
        t_s = t_ns / 1e9
        del t_ns
        columns = [joined(name, kind) for name, kind in
                   (("can_id", np.uint32), ("flags", np.uint8), ("bus", np.uint8), ("length", np.uint8))]  # fmt: skip
        data = joined("data", np.uint64).astype("<u8", copy=False).view(np.uint8).reshape(-1, 8)
        long_row = np.concatenate([np.empty(0, np.int64), *(a for part in parts for a in part.long_row)])
        long_data = np.concatenate([np.empty((0, FD_WIDTH), np.uint8), *(a for part in parts for a in part.long_data)])
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
            origin_ns=origin_ns, absolute=absolute,
            buses=tuple(name.decode("utf-8", "replace") for name in self._buses) or ("",),
        )  # fmt: skip
