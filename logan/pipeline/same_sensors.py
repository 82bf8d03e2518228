"""Sensor recordings given twice: one file's edges are all among another's, to within the steps of their times.

It may be the same recording in another format, packed, cut, or under another name. Its time 0 may be another one. No
engine turns twice in the same way, so that thousands of intervals are equal to the microsecond only where they are the
same ones. Of a signal that is as even as its times show (a generator's) nothing of the kind can be told.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
from msgspec import Struct, structs
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.measures.flanks import flanks
from logan.model.capture import Remark
from logan.model.sensor import Edges, SensorCapture, Waveform

FEWEST: Final = 50
"""Fewer edges of the sensor that has most tell nothing."""
_EXACT_S: Final = 2e-9
"""Times are whole nanoseconds before they are seconds."""
SAMPLED_SHARE: Final = 0.99
"""Noise moves an edge of sampled voltages by a sample and more on a shallow flank, but hardly ever (judgement)."""
LONGER_S: Final = 1.0
"""Sampled voltages whose length differs by more are not looked at: to find their edges takes long."""
_EVEN: Final = 4.0
"""A signal differs from itself some edges later by more than so many steps, else any piece of it is like any other."""
_MOST_LATER: Final = 1000
_LOOKED_AT: Final = 20_000
_FINE: Final = 0.25
"""Share of the usual interval: with coarser times any edge lies near another."""
_ANCHOR: Final = 16
"""Intervals in a row by which the place of one recording in another is looked for."""
_LONGEST_ANCHOR: Final = 4000
"""So many where times are coarse."""
_MOST_PLACES: Final = 16

_MOVED_S: Final = 1e-3

Times = NDArray[np.float64]
Key = tuple[str, str]


class Trains(Struct, frozen=True):
    """Edges of a recording.

    Parameters
    ----------
    t_s : sensor and flank -> (k,) s, ascending
    step_s : the same -> step to which they are known, s
    share : of the edges that are known to a step at the least
    """

    t_s: dict[Key, Times]
    step_s: dict[Key, float]
    share: float


def each_once(sensors: Sequence[SensorCapture]) -> tuple[list[SensorCapture], list[Remark]]:
    """The recordings without those whose edges another one holds, and what is said of each that was left out.

    Of two that hold the same the one on the session's axis stays, then the one of the finer steps, then the first. One
    that stays takes over the clock of the one that goes.
    """
    kept = dict(enumerate(sensors))
    remarks: list[Remark] = []
    pairs = [(a, b) for a, b in combinations(kept, 2) if _may_be_same(sensors[a].content, sensors[b].content)]
    found = {k: _trains(sensors[k]) for k in sorted({k for pair in pairs for k in pair})}
    rank = {k: (sensors[k].offset_s is None, max(one.step_s.values(), default=0.0), k) for k, one in found.items()}
    for pair in pairs:
        if any(k not in kept for k in pair):
            continue
        used, other = sorted(pair, key=lambda k: rank[k])
        shift_s = shift_within(found[other], found[used])
        if shift_s is None:
            used, other = other, used
            shift_s = shift_within(found[other], found[used])
        if shift_s is None:
            continue
        offset_s = kept[other].offset_s
        if kept[used].offset_s is None and offset_s is not None:
            kept[used] = structs.replace(kept[used], offset_s=offset_s - shift_s)
        remarks.append(_said(kept.pop(other), kept[used].file, found[other], shift_s))
    return list(kept.values()), remarks


def shift_within(part: Trains, whole: Trains) -> float | None:
    """What to add to the times of one recording so that all its edges are edges of another, s; None where they are not.

    Edges of the other that it lacks (a sensor, a flank, a piece, damaged rows) do not count against it.
    """
    keys = [key for key, t_s in part.t_s.items() if len(t_s)]
    if not keys or any(not len(whole.t_s.get(key, ())) for key in keys):
        return None
    most = max(keys, key=lambda key: len(part.t_s[key]))
    t_s, its_s = part.t_s[most], whole.t_s[most]
    steps = {key: part.step_s[key] + whole.step_s[key] + _EXACT_S for key in keys}
    if min(len(t_s), len(its_s)) < FEWEST or steps[most] > _FINE * median(np.diff(its_s)):
        return None
    for begin in (0, len(t_s) // 3, 2 * len(t_s) // 3):  # where there was damage, elsewhere there was none
        for at in _places(t_s[begin:], its_s, steps[most]):
            shift_s = float(its_s[at] - t_s[begin])
            off = {key: _off(part.t_s[key] + shift_s, whole.t_s[key]) for key in keys}
            middle_s = median(off[most])
            near = [np.mean(np.abs(off[key] - middle_s) <= steps[key]) for key in keys]
            if min(near) >= min(part.share, whole.share):
                return None if _is_even(t_s, steps[most]) else shift_s + middle_s
    return None


def _off(t_s: Times, its_s: Times) -> Times:
    """How far the nearest of some ascending times lies after each of others, s."""
    at = np.searchsorted(its_s, t_s)
    before, after = its_s[np.maximum(at - 1, 0)] - t_s, its_s[np.minimum(at, len(its_s) - 1)] - t_s
    out: Times = np.where(np.abs(before) < np.abs(after), before, after)
    return out


def _places(some_s: Times, its_s: Times, step_s: float) -> list[int]:
    """Where the first of some times stands among others, by the intervals after it; none where they fit many places."""
    own, its = np.diff(some_s[: _LONGEST_ANCHOR + 1]), np.diff(its_s)
    at = np.arange(len(its))
    for k, interval in enumerate(own.tolist()):
        if k >= _ANCHOR and len(at) <= _MOST_PLACES:
            break
        at = at[at + k < len(its)]
        at = at[np.abs(its[at + k] - interval) <= step_s]
    return at.tolist() if len(at) <= _MOST_PLACES else []


def _is_even(t_s: Times, step_s: float) -> bool:
    """Whether a train is the same, as far as its steps show, some edges later."""
    some_s = t_s[:_LOOKED_AT]
    later = range(1, min(_MOST_LATER, len(some_s) // 2) + 1)
    return any(float(np.ptp(some_s[k:] - some_s[:-k])) <= _EVEN * step_s for k in later)


def _trains(capture: SensorCapture) -> Trains:
    found = flanks(capture)
    t_s = {(name, flank): every for flank, by_name in (("rising", found.rising), ("falling", found.falling))
           for name, every in by_name.items()}  # fmt: skip
    if not isinstance(capture.content, Waveform):
        return Trains(t_s, {key: found.rounding[key[0]].most_s for key in t_s}, 1.0)
    sample_s = _length_s(capture.content) / max(len(capture.content.t_s) - 1, 1)
    return Trains(t_s, dict.fromkeys(t_s, sample_s), SAMPLED_SHARE)


def _may_be_same(one: Edges | Waveform, other: Edges | Waveform) -> bool:
    """Whether it is worth to find the edges of both: those of sampled voltages take long."""
    if isinstance(one, Edges) and isinstance(other, Edges):
        return True
    return abs(_length_s(one) - _length_s(other)) <= LONGER_S


def _length_s(content: Edges | Waveform) -> float:
    if isinstance(content, Waveform):
        return float(content.t_s[-1] - content.t_s[0]) if len(content.t_s) else 0.0
    ends = [t_s[[0, -1]] for by_name in (content.rising_s, content.falling_s) for t_s in by_name.values() if len(t_s)]
    return float(max(last for _, last in ends) - min(first for first, _ in ends)) if ends else 0.0


def _said(left_out: SensorCapture, used: str, trains: Trains, shift_s: float) -> Remark:
    moved = f", where its time 0 is {shift_s:.6f} s" if abs(shift_s) > _MOVED_S else ""
    text = f"is the same recording as {used} (its edges are among those there{moved}): counts once, {used} is used"
    count = sum(map(len, trains.t_s.values()))
    return Remark("recorded_twice", text, count, file=left_out.file)
