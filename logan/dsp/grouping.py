"""Rows of a long column put together by key, in order within each key."""

from __future__ import annotations

import threading
import weakref
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.model.frames import EXTENDED, Frames, FramesByKind
from logan.native import kernels

_EXTENDED_KEY = np.uint32(1 << 31)
_LOW_BITS = 13
_TABLE_LIMIT = 1 << 22


class Groups(Struct, frozen=True):
    """Distinct keys of a column and which one each row has.

    Parameters
    ----------
    keys : (k,) the distinct keys, ascending
    slot : (n,) uint8, uint16 or int64, index into ``keys``; of frames by kind the kind
    counts : (slots,) rows of each slot
    number : (slots,) int64, index of each slot into ``keys``
    """

    keys: NDArray[np.uint32]
    slot: NDArray[Any]
    counts: NDArray[np.int64]
    number: NDArray[np.int64]

    def rows_of(self, wanted: NDArray[np.bool_]) -> dict[int, NDArray[np.int64]]:
        """Rows of each wanted slot, ascending, by its number; ``wanted`` is (slots,)."""
        if not wanted.any():
            return {}
        # all at once: a stable sort of 8- or 16-bit numbers is a radix sort, cheaper than to pick the wanted first
        rows = np.argsort(self.slot, kind="stable")
        end = np.cumsum(self.counts)
        return {int(k): rows[end[k] - self.counts[k] : end[k]] for k in np.flatnonzero(wanted)}

    def pick(self, frames: Frames, wanted: NDArray[np.bool_]) -> tuple[Frames, NDArray[np.int64]]:
        """Those of the grouped frames whose key is wanted, in their order, and the index of the key of each."""
        wanted = wanted[self.number]
        if isinstance(frames, FramesByKind) and kernels.pays(len(frames)):
            place = np.where(wanted, frames.kinds.begin, -1)
            found = kernels.places_of_slots(self.slot, place, int(frames.kinds.count[wanted].sum()))
            if found is not None:
                return frames.at(*found), self.number[found[0]]
        return self._whole(frames, rows_of_slots(self.slot, wanted))

    def first(self, frames: Frames, count: int) -> tuple[Frames, NDArray[np.int64]]:
        """The first so many of the grouped frames, and the index of the key of each."""
        return self._whole(frames, np.arange(min(count, len(frames))))

    def _whole(self, frames: Frames, rows: NDArray[np.int64]) -> tuple[Frames, NDArray[np.int64]]:
        some = frames.of(rows) if isinstance(frames, FramesByKind) else frames.take(rows)
        return some, self.number[self.slot[rows]]


def rows_of_slots(slot: NDArray[Any], wanted: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Rows whose slot is wanted, ascending; ``wanted`` has an entry a slot."""
    if not wanted.any():
        return np.empty(0, np.int64)
    by_loop = slot.dtype == np.uint16 and kernels.pays(len(slot))
    rows = kernels.rows_of_slots(slot, wanted) if by_loop else None
    return np.flatnonzero(wanted[slot]) if rows is None else rows


def identifiers(frames: Frames) -> Groups:
    """Group frames by identifier; in the keys bit 31 is set on identifiers of 29 bits.

    The answer is kept for as long as the frames live: several decoders ask in turn.
    """
    with _holding:
        groups = _held.get(frames)
        if groups is None:
            groups = _held[frames] = _identifiers(frames)
        return groups


_holding = threading.Lock()
_held: weakref.WeakKeyDictionary[Frames, Groups] = weakref.WeakKeyDictionary()


def _identifiers(frames: Frames) -> Groups:
    if isinstance(frames, FramesByKind):
        kinds = frames.kinds
        return _of_slots(_keys(kinds.can_id, kinds.flags), frames.slot, kinds.count)
    if kernels.pays(len(frames)):
        table, slot = kernels.KindTable(), np.empty(len(frames), np.uint16)
        whole, no_times = np.ascontiguousarray, np.zeros(len(frames), np.int64)
        columns = whole(frames.can_id), whole(frames.flags), whole(frames.bus), whole(frames.length)
        counts = kernels.kinds(*columns, no_times, table, slot)
        if counts is not None:
            keys = table.keys[: table.known]
            return _of_slots(_keys(keys.astype(np.uint32), (keys >> np.uint64(32)).astype(np.uint8)), slot, counts)
    return group(_keys(frames.can_id, frames.flags))


def _of_slots(key: NDArray[np.uint32], slot: NDArray[np.uint16], counts: NDArray[np.int64]) -> Groups:
    """Groups by the key that each slot has, of which several may have the same."""
    keys = distinct(key)
    return Groups(keys, slot, counts, np.searchsorted(keys, key))


def _keys(can_id: NDArray[np.uint32], flags: NDArray[np.uint8]) -> NDArray[np.uint32]:
    return np.where(flags & EXTENDED, can_id | _EXTENDED_KEY, can_id)


def distinct(values: NDArray[Any]) -> NDArray[Any]:
    """The different values, ascending; as ``np.unique``, which would import ``numpy.ma`` for it, a tenth of a start."""
    if values.dtype == np.uint8:
        return np.flatnonzero(np.bincount(values.ravel(), minlength=1)).astype(np.uint8)
    ordered = np.sort(values, axis=None)
    is_new = np.ones(len(ordered), bool)
    is_new[1:] = ordered[1:] != ordered[:-1]
    return ordered[is_new]


def among(values: NDArray[Any], some: NDArray[Any]) -> NDArray[np.bool_]:
    """Whether each value is one of some others, of one type; as ``np.isin``, which as a rule imports ``numpy.ma``."""
    ordered = np.sort(some)
    if not len(ordered):
        return np.zeros(len(values), bool)
    found: NDArray[np.bool_] = ordered[np.minimum(np.searchsorted(ordered, values), len(ordered) - 1)] == values
    return found


def group(key: NDArray[np.uint32]) -> Groups:
    """Group a column of numbers below 2**32; linear where they cluster, as CAN identifiers do."""
    high = key >> np.uint32(_LOW_BITS)
    high_seen = np.zeros(1 << (32 - _LOW_BITS), bool)
    high_seen[high] = True
    highs = np.flatnonzero(high_seen)
    if len(highs) << _LOW_BITS > _TABLE_LIMIT:
        keys, slot = np.unique(key, return_inverse=True)
        return _grouped(keys, slot)
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
    return _grouped(keys, slot)


def _grouped(keys: NDArray[np.uint32], slot: NDArray[Any]) -> Groups:
    return Groups(keys, slot, np.bincount(slot, minlength=len(keys)), np.arange(len(keys)))
