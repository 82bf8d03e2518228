"""Rows of a long column put together by key, in order within each key."""

from __future__ import annotations

import weakref
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.model.frames import EXTENDED
from logan.native import kernels

LONG_ROWS = 400_000
"""From so many rows on the compiled loops win back the time that it takes to load them."""
_EXTENDED_KEY = np.uint32(1 << 31)
_LOW_BITS = 13
_TABLE_LIMIT = 1 << 22


class Groups(Struct, frozen=True):
    """Distinct keys of a column and which one each row has.

    Parameters
    ----------
    keys : (k,) the distinct keys, ascending
    slot : (n,) uint8, uint16 or int64, index into ``keys``
    counts : (k,) rows of each key, where the compiled loop counted them
    """

    keys: NDArray[np.uint32]
    slot: NDArray[Any]
    counts: NDArray[np.int64] | None = None

    def of_slots(self, wanted: NDArray[np.bool_]) -> NDArray[np.int64]:
        """Rows whose key is wanted, ascending; ``wanted`` is (k,)."""
        if not wanted.any():
            return np.empty(0, np.int64)
        return np.flatnonzero(wanted[self.slot])

    def rows_of(self, wanted: NDArray[np.bool_]) -> dict[int, NDArray[np.int64]]:
        """Rows of each wanted key, ascending, by index into ``keys``; ``wanted`` is (k,)."""
        counts = self.counts if self.counts is not None else np.bincount(self.slot, minlength=len(self.keys))
        rows = kernels.rows_by_slot(self.slot, counts) if self.counts is not None else None
        if rows is None:
            # all at once: a stable sort of 8- or 16-bit numbers is a radix sort, cheaper than to pick the wanted first
            rows = np.argsort(self.slot, kind="stable")
        ends = np.cumsum(counts)
        return {int(k): rows[ends[k - 1] if k else 0 : ends[k]] for k in np.flatnonzero(wanted)}


def identifiers(can_id: NDArray[np.uint32], flags: NDArray[np.uint8]) -> Groups:
    """Group frames by identifier; in the keys bit 31 is set on identifiers of 29 bits.

    The last answer is kept for as long as its columns live: several decoders ask in turn.
    """
    for held_id, held_flags, groups in _held:
        if held_id() is can_id and held_flags() is flags:
            return groups
    groups = _identifiers(can_id, flags)
    _held[:] = [(weakref.ref(can_id, lambda _: _held.clear()), weakref.ref(flags), groups)]
    return groups


_held: list[tuple[weakref.ref[NDArray[np.uint32]], weakref.ref[NDArray[np.uint8]], Groups]] = []


def _identifiers(can_id: NDArray[np.uint32], flags: NDArray[np.uint8]) -> Groups:
    found = kernels.slots(can_id, flags) if len(can_id) >= LONG_ROWS else None
    if found is None:
        return group(np.where(flags & EXTENDED, can_id | _EXTENDED_KEY, can_id))
    keys, counts, slot = found
    order = np.argsort(keys)
    rank = np.empty(len(keys), np.uint16)
    rank[order] = np.arange(len(keys))
    return Groups(keys[order], rank[slot], counts[order])


def group(key: NDArray[np.uint32]) -> Groups:
    """Group a column of numbers below 2**32; linear where they cluster, as CAN identifiers do."""
    high = key >> np.uint32(_LOW_BITS)
    high_seen = np.zeros(1 << (32 - _LOW_BITS), bool)
    high_seen[high] = True
    highs = np.flatnonzero(high_seen)
    if len(highs) << _LOW_BITS > _TABLE_LIMIT:
        keys, slot = np.unique(key, return_inverse=True)
        return Groups(keys, slot)
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
    return Groups(keys, slot_of[cell])
