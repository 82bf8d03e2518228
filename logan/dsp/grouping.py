"""Rows of a long column put together by key, in order within each key."""

from __future__ import annotations

import threading
import weakref
from collections.abc import Sequence
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan import parallel
from logan.model.frames import EXTENDED
from logan.native import kernels

_EXTENDED_KEY = np.uint32(1 << 31)
_HELD_FROM_ROWS = 1_000
"""A shorter column is grouped again sooner than it is worth that a longer one's answer is forgotten."""
_LOW_BITS = 13
_TABLE_LIMIT = 1 << 22


class Groups(Struct, frozen=True):
    """Distinct keys of a column and which one each row has.

    Parameters
    ----------
    keys : (k,) the distinct keys, ascending
    slot : (n,) uint8, uint16 or int64, index into ``keys``
    counts : (k,) rows of each key
    by_loop : whether the compiled loops are to do the rest; ``slot`` is of 16 bits then
    """

    keys: NDArray[np.uint32]
    slot: NDArray[Any]
    counts: NDArray[np.int64]
    by_loop: bool = False

    def of_slots(self, wanted: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Rows whose key is wanted, ascending; ``wanted`` is (k,)."""
        if not wanted.any():
            return np.empty(0, np.int64)
        rows = kernels.rows_of_slots(self.slot, wanted) if self.by_loop else None
        return np.flatnonzero(wanted[self.slot]) if rows is None else rows

    def rows_of(self, wanted: NDArray[np.bool_]) -> dict[int, NDArray[np.int64]]:
        """Rows of each wanted key, ascending, by index into ``keys``; ``wanted`` is (k,)."""
        if not wanted.any():
            return {}
        rows = kernels.rows_by_slot(self.slot, self.counts) if self.by_loop else None
        if rows is None:
            # all at once: a stable sort of 8- or 16-bit numbers is a radix sort, cheaper than to pick the wanted first
            rows = np.argsort(self.slot, kind="stable")
        return {int(k): rows[self.span(int(k))] for k in np.flatnonzero(wanted)}

    def span(self, k: int) -> slice:
        """Where the rows of a key stand once rows are put together by key."""
        end = int(self.counts[: k + 1].sum())
        return slice(end - int(self.counts[k]), end)

    def put_together(self, columns: Sequence[NDArray[Any]]) -> list[NDArray[Any]]:
        """Columns with their rows put together by key, in order within each."""
        if self.by_loop:
            out = [np.empty_like(column) for column in columns]
            parallel.each(
                lambda k: kernels.by_slot(self.slot, self.counts, columns[k], out[k]),
                range(len(columns)),
                pays=len(self.slot) >= parallel.MANY,
            )
            return out
        order = np.argsort(self.slot, kind="stable")
        return [column[order] for column in columns]


def identifiers(can_id: NDArray[np.uint32], flags: NDArray[np.uint8]) -> Groups:
    """Group frames by identifier; in the keys bit 31 is set on identifiers of 29 bits.

    The last answer is kept for as long as its columns live: several decoders ask in turn.
    """
    with _holding:
        for held_id, held_flags, groups in _held:
            if held_id() is can_id and held_flags() is flags:
                return groups
        groups = _identifiers(can_id, flags)
        if len(can_id) >= _HELD_FROM_ROWS:
            _held[:] = [(weakref.ref(can_id, lambda _: _held.clear()), weakref.ref(flags), groups)]
        return groups


_holding = threading.Lock()
_held: list[tuple[weakref.ref[NDArray[np.uint32]], weakref.ref[NDArray[np.uint8]], Groups]] = []


def _identifiers(can_id: NDArray[np.uint32], flags: NDArray[np.uint8]) -> Groups:
    found = kernels.slots(can_id, flags) if kernels.pays(len(can_id)) else None
    if found is None:
        return group(np.where(flags & EXTENDED, can_id | _EXTENDED_KEY, can_id))
    keys, counts, slot = found
    return Groups(keys, slot, counts, by_loop=True)


def distinct(values: NDArray[Any]) -> NDArray[Any]:
    """The different values, ascending; as ``np.unique``, which would import ``numpy.ma`` for it, a tenth of a start."""
    ordered = np.sort(values, axis=None)
    is_new = np.ones(len(ordered), bool)
    is_new[1:] = ordered[1:] != ordered[:-1]
    return ordered[is_new]


def group(key: NDArray[np.uint32]) -> Groups:
    """Group a column of numbers below 2**32; linear where they cluster, as CAN identifiers do."""
    high = key >> np.uint32(_LOW_BITS)
    high_seen = np.zeros(1 << (32 - _LOW_BITS), bool)
    high_seen[high] = True
    highs = np.flatnonzero(high_seen)
    if len(highs) << _LOW_BITS > _TABLE_LIMIT:
        keys, slot = np.unique(key, return_inverse=True)
        return Groups(keys, slot, np.bincount(slot, minlength=len(keys)))
    number = np.zeros(len(high_seen), np.uint32)
    number[highs] = np.arange(len(highs)) << _LOW_BITS
    cell = number[high] | (key & np.uint32((1 << _LOW_BITS) - 1))
    seen = np.zeros(len(highs) << _LOW_BITS, bool)
    seen[cell] = True
    cells = np.flatnonzero(seen)
    keys = (highs[cells >> _LOW_BITS] << _LOW_BITS | (cells & ((1 << _LOW_BITS) - 1))).astype(np.uint32)
    kind = np.uint8 if len(cells) <= 256 else np.uint16 if len(cells) <= 65536 else np.int64
    slot_of = np.zeros(len(seen), kind)
    slot_of[cells] = np.arange(len(cells))
    slot = slot_of[cell]
    return Groups(keys, slot, np.bincount(slot, minlength=len(keys)))
