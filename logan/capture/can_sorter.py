"""Frames put together by kind while a long log is read: each goes to its last place as soon as its block is read."""

from __future__ import annotations

import functools
import threading
from collections.abc import Callable
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan import parallel
from logan.model.frames import FramesByKind, Kinds
from logan.native import kernels

_LEAST_ROOM: Final = 64
_SPARE: Final = 1.03
_ZERO: Final = np.zeros(kernels.MOST_KINDS, np.int64)

Columns = dict[str, NDArray[Any]]


class CanSorter:
    """Times and data by kind, as long as times ascend and there are not too many kinds.

    Parameters
    ----------
    expected : frames that the file may hold; a wrong number only costs time
    """

    def __init__(self, expected: int) -> None:
        self._expected = expected
        room = int(expected * _SPARE * _SPARE) + kernels.MOST_KINDS * _LEAST_ROOM
        self._t_ns, self._data = np.empty(room, np.int64), np.empty(room, np.uint64)
        self._slot = np.empty(expected, np.uint16)
        self._table = kernels.KindTable()
        self._begin, self._count, self._room = _ZERO.copy(), _ZERO.copy(), _ZERO.copy()
        self._taken = 0
        self._open: list[_Once] = []
        self.rows = 0

    def add(self, some: Columns) -> Callable[[], None] | None:
        """Take the next frames of the file; None where all is to be kept in file order.

        Returns
        -------
        puts them where they go, in whatever thread; until then they must stay
        """
        t_ns, n = some["t_ns"], len(some["t_ns"])
        if not n:
            return lambda: None
        if not self.rows:
            self._table.span[0] = t_ns[0]
        if self.rows + n > len(self._slot):
            self._slot = _longer(self._slot, self.rows, self.rows + 2 * n)
        slot = self._slot[self.rows : self.rows + n]
        more = kernels.kinds(some["can_id"], some["flags"], some["bus"], some["length"], t_ns, self._table, slot)
        if more is None:
            return None
        self._make_room(more)
        known = len(more)
        place = (self._begin + self._count)[:known]
        self._count[:known] += more
        self.rows += n
        put = _Once(functools.partial(kernels.put_together, slot, place, t_ns, some["data"], self._t_ns, self._data))
        self._open = [*(one for one in self._open if not one.done), put]
        return put

    def _put_all(self) -> None:
        for put in self._open:
            put()

    def _make_room(self, more: NDArray[np.int64]) -> None:
        """Move kinds that have no room for so many rows more, each to a place for all that may still come."""
        known = len(more)
        needed = self._count[:known] + more
        growth = max(self._expected / (self.rows + int(more.sum())), 1.25) * _SPARE
        short = np.flatnonzero(needed > self._room[:known]).tolist()
        if short:
            self._put_all()
        for kind in short:
            room = int(needed[kind] * growth) + _LEAST_ROOM
            if self._taken + room > len(self._data):
                size = 2 * self._taken + room
                self._t_ns = _longer(self._t_ns, self._taken, size)
                self._data = _longer(self._data, self._taken, size)
            begin, count = int(self._begin[kind]), int(self._count[kind])
            for column in (self._t_ns, self._data):
                column[self._taken : self._taken + count] = column[begin : begin + count]
            self._begin[kind], self._room[kind] = self._taken, room
            self._taken += room

    def frames(self, absolute_from_ns: int, buses: tuple[str, ...]) -> FramesByKind:
        """All of them; their times are from the first one on where it is a time of day. Takes the columns over."""
        self._put_all()
        found = self._by_kind(buses)
        first_ns = found.of(np.arange(min(1000, self.rows))).t_s.view(np.int64)
        absolute = int(np.median(first_ns)) >= absolute_from_ns
        found.absolute, found.origin_ns = absolute, int(first_ns[0]) if absolute else 0
        parallel.each(
            lambda kind: kernels.to_seconds(self._t_ns[found.kinds.rows(kind)], found.origin_ns),
            range(self._table.known),
            pays=self.rows >= parallel.MANY,
        )
        return found

    def columns(self) -> Columns:
        """All of them in file order, times in ns."""
        self._put_all()
        whole = self._by_kind(("",)).of(np.arange(self.rows))
        out: Columns = {name: getattr(whole, name) for name in ("can_id", "flags", "bus", "length")}
        return {"t_ns": whole.t_s.view(np.int64), "data": whole.data.view("<u8")[:, 0].astype(np.uint64), **out}

    def _by_kind(self, buses: tuple[str, ...]) -> FramesByKind:
        """As frames, but with times still in ns."""
        known = self._table.known
        key = self._table.keys[:known]
        flags, bus, length = ((key >> np.uint64(shift)).astype(np.uint8) for shift in (32, 40, 48))
        kinds = Kinds(key.astype(np.uint32), flags, bus, length, self._begin[:known], self._count[:known])
        return FramesByKind(
            kinds, self._slot[: self.rows], self._t_ns.view(np.float64), self._data, 0, False, buses,
            longest_step_s=int(self._table.span[1]) / 1e9,
        )  # fmt: skip


class _Once:
    """Something that is to be done once, by whoever comes first; the others wait until it is done."""

    def __init__(self, what: Callable[[], None]) -> None:
        self._what, self._doing, self.done = what, threading.Lock(), False

    def __call__(self) -> None:
        with self._doing:
            if not self.done:
                self._what()
                self.done = True


def _longer(column: NDArray[Any], used: int, size: int) -> NDArray[Any]:
    out = np.empty(size, column.dtype)
    out[:used] = column[:used]
    return out
