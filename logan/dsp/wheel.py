"""Which tooth of a wheel each edge is: any pattern of teeth, damaged edges counted, clean stretches in columns.

A stretch of one turn is clean where the logarithm of its periods, freed of the wheel's own spacing, has no kinks: the
second difference cancels a steady change of speed as the share test of three periods does (US patent 6 498 980), so a
crank that swings by half its speed while cranking still fits. Clean turns are found for all edges at once; what lies
between them is bridged by a search over dropped and extra edges. Where hardly a turn is clean the course of the speed
is learnt (``tooth_track``).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.dsp.tooth_bridge import Bridge, bridge, extend
from logan.dsp.tooth_track import LEAD, MOST_EDGES, MOST_TEETH, lead_over, track
from logan.dsp.usual_course import usual_course
from logan.dsp.wheel_pattern import pitches, slot_centres, symmetry, tells_slots
from logan.dsp.wheel_polarity import plainly_slots

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Count = NDArray[np.int32]

FEWEST_PERIODS: Final = 8
KINK: Final = 0.8  # between the kink of a smooth swing (0.2) and that of a dropped edge, 2 ln 2
LEAST_KINK: Final = 0.36  # a gap under a swing by half of the speed makes 0.3
TOLERANCE: Final = 0.7
SHARE_OF_WRONG: Final = 0.3  # of the roughness that the next best rotation of the wheel would have
MARGIN: Final = 2
WALK_TURNS: Final = 4
SHORT_BRIDGE: Final = 16  # edges; a longer one is first shortened from both ends
DEEP_SWING_KINK: Final = 0.08  # root mean square while cranking with deep swings
LEAST_UNREST: Final = 0.3
MOST_UNREST: Final = 2.0
SMOOTH_KINK: Final = 0.3  # below that of an edge dropped beside a gap of two teeth, 2 ln 4/3
EVEN_SWING: Final = 0.5
FINE_WHEEL: Final = 32  # teeth
MOST_NOISE: Final = 0.25  # of the kinks at the narrowest tooth of a fine wheel
BLOCK: Final = 1 << 20
LONGEST_BRIDGE_TURNS: Final = 12
INVERTED_ADVANTAGE: Final = 1.5
TRACKED_BELOW: Final = 0.9  # share of placed edges below which a search over all of them may do better


@dataclass(frozen=True, slots=True)
class ToothTrain:
    """Edges with their place on the wheel.

    Parameters
    ----------
    t_s : (m,) s, ascending
    angle_deg : (m,) crank angle, 360 a turn, continuous within a segment; which turn of the cycle is not known here
    tooth : (m,) index into the wheel's ascending angles
    turn : (m,) turns since the first edge
    segment : (m,) number of the run between losses of synchronism
    missing_s, missing_deg : (d,) edges that the wheel should have given: time by interpolation, angle
    extra_s : (x,) edges that no tooth explains
    unplaced : edges outside all segments
    inverted : the train has the pattern of the slots, not of the teeth (angles are then those of the slot centres)
    symmetry : the wheel looks the same after this part of a turn, so that its angle is known only modulo 360 / symmetry
    angles_deg : (k,) angles of the wheel that the train was decoded with
    """

    t_s: Array
    angle_deg: Array
    tooth: Count
    turn: Count
    segment: Count
    missing_s: Array
    missing_deg: Array
    extra_s: Array
    unplaced: int
    inverted: bool
    symmetry: int
    angles_deg: Array

    def __len__(self) -> int:
        return len(self.t_s)

    def span(self, number: int) -> tuple[int, int]:
        """First edge of a segment and the one after its last."""
        ends = np.array([number, number + 1], self.segment.dtype)  # of one type: else all numbers would be copied
        first, last = np.searchsorted(self.segment, ends)
        return int(first), int(last)

    @property
    def revolutions(self) -> float:
        """Turns covered by all segments."""
        if not len(self):
            return 0.0
        first = np.flatnonzero(np.diff(self.segment, prepend=self.segment[0] - 1))
        last = np.append(first[1:] - 1, len(self) - 1)
        return float(np.sum(self.angle_deg[last] - self.angle_deg[first])) / 360.0


def decode(edge_s: Array, angles_deg: Array, thorough: bool = True) -> ToothTrain:
    """Place every edge on the wheel; where the slots fit better than the teeth, the train is called inverted.

    Parameters
    ----------
    edge_s : (n,) times of the active edges, s, ascending
    angles_deg : (k,) angles of the active edges in one turn, crank degrees
    thorough : follow a train that has hardly a turn without damage edge by edge, which may take seconds
    """
    edge_s = np.asarray(edge_s, float)
    teeth = np.sort(np.asarray(angles_deg, float) % 360.0)
    direct = _clean(edge_s, teeth)
    slots = slot_centres(teeth)
    reverse = _clean(edge_s, slots) if len(teeth) and tells_slots(teeth) else direct
    inverted = reverse.covered > INVERTED_ADVANTAGE * direct.covered
    plain = inverted and plainly_slots(edge_s, reverse.first, reverse.last, reverse.tooth, teeth, slots)
    if inverted and not plain and thorough and len(teeth) < FINE_WHEEL:
        # a deep swing makes the teeth of a coarse wheel look like its slots, and the other way round
        lead = lead_over(edge_s, teeth, slots)
        if abs(lead) < LEAD:
            return _train(edge_s, teeth, _NONE, False)
        inverted = lead < 0.0
    if inverted:
        return _train(edge_s, slots, reverse, True)
    train = _train(edge_s, teeth, direct, False)
    if thorough and len(train) < TRACKED_BELOW * len(edge_s) and len(edge_s) <= MOST_EDGES:
        followed = _followed(edge_s, teeth, direct)
        if len(followed) > len(train):
            return followed
    return train


def speed_rpm(train: ToothTrain) -> Array:
    """Speed over the interval that ends at each edge, rpm, (m,); NaN at the first edge of a segment."""
    out = np.full(len(train), np.nan)
    same = np.diff(train.segment) == 0
    step = np.diff(train.angle_deg) / np.maximum(np.diff(train.t_s), 1e-12) / 6.0
    out[1:][same] = step[same]
    return out


@dataclass(frozen=True, slots=True)
class _Clean:
    """Runs of clean edges: first and last edge (inclusive), and the tooth of every first one within its part."""

    first: Index
    last: Index
    tooth: int

    @property
    def covered(self) -> int:
        return int(np.sum(self.last - self.first))


_NONE: Final = _Clean(np.empty(0, np.int64), np.empty(0, np.int64), 0)


def _clean(t: Array, angles: Array) -> _Clean:
    """All stretches of one turn (or of eight periods) without a kink, joined to runs."""
    part = len(angles) // symmetry(angles) if len(angles) else 0
    if not part or len(t) < FEWEST_PERIODS + 2:
        return _NONE
    pitch = pitches(angles)[:part]
    gap = int(np.argmax(pitch))
    # from two periods before the largest gap to two after it: both gaps are seen, so the teeth between are counted
    length = part * -(-FEWEST_PERIODS // part) + 2 * MARGIN + 1
    pitch = np.roll(pitch, MARGIN - gap)
    log_pitch = np.log(pitch)
    template = np.diff(np.resize(log_pitch, length), 2)
    tolerance = np.resize(_tolerance(pitch), length)[1:-1]
    if part == 1:
        tolerance[[0, -1]] *= 0.5  # an end sees a dropped edge's first kink only, and no gap counts the teeth
    limit = SHARE_OF_WRONG * _next_best(log_pitch, length) if part > 1 else float("inf")
    if len(angles) > MOST_TEETH:
        noise = _noise(t)
        if noise * median(pitch) > MOST_NOISE * float(pitch.min()):
            return _NONE  # an edge lost or extra is not told from the scatter of so fine teeth
        limit += length * noise**2
    blocks = range(0, len(t), BLOCK)
    each = (_windows(t[at : at + BLOCK + length], template, tolerance, limit) for at in blocks)
    start = np.concatenate([(at + found).astype(np.int32) for at, found in zip(blocks, each, strict=True)])
    if not len(start):
        return _NONE
    # windows that overlap must agree on the tooth; a run ends where they do not touch or disagree
    apart = np.diff(start)
    cut = np.flatnonzero((apart > length) | (apart % part != 0)) + 1
    # only the teeth between two gaps are counted: leave the outer gaps to the bridge
    first = start[np.append(0, cut)] + MARGIN + 1
    last = start[np.append(cut - 1, len(start) - 1)] + length - MARGIN - 1
    last[:-1] = np.minimum(last[:-1], first[1:] - 1)
    long = last - first > 2 * MARGIN
    return _Clean(first[long], last[long], (gap + 1) % part)


def _noise(t: Array) -> float:
    """Scatter of the kinks in the middle of a train, freed of lost edges and gaps."""
    middle = t[max(len(t) - MOST_EDGES, 0) // 2 :][:MOST_EDGES]
    return 1.4826 * median(np.abs(np.diff(np.log(np.maximum(np.diff(middle), 1e-9)), 2)))


def _tolerance(pitch: Array) -> Array:
    """Kink up to which a period passes as this one, (p,): well below what a dropped edge beside it would make of it.

    A gap may be off by half of its own kink: an edge dropped beside it shows in the number of teeth to the next gap,
    and under the first fires the periods before and after a gap may differ by two to one.
    """
    neighbour = np.minimum(np.roll(pitch, 1), np.roll(pitch, -1))
    usual = np.clip(TOLERANCE * 2.0 * np.log1p(neighbour / pitch), LEAST_KINK, KINK)
    gap = np.log(pitch / np.maximum(np.roll(pitch, 1), np.roll(pitch, -1)))
    out: Array = np.maximum(gap, usual)
    return out


def _windows(t: Array, template: Array, tolerance: Array, limit: float) -> Index:
    """First edges of the clean windows: the sum of squared kinks is small and none is large."""
    width = len(template)
    if len(t) < width + 3:
        return np.empty(0, np.int64)
    kink = np.diff(np.log(np.maximum(np.diff(t), 1e-9)), 2)
    n = len(kink) - width + 1
    total = np.concatenate([[0.0], np.cumsum(np.minimum(np.square(kink), 1e3))])
    rough = total[width:] - total[:-width] + float(template @ template)
    for tap in np.flatnonzero(np.abs(template) > 1e-9):
        rough -= 2.0 * template[tap] * kink[tap : tap + n]
    found = np.flatnonzero(rough < min(limit, KINK**2 * width))
    good = np.ones(len(found), bool)
    for place in range(width):
        good &= np.abs(kink[found + place] - template[place]) < tolerance[place]
    return found[good]


def _next_best(log_pitch: Array, length: int) -> float:
    """Roughness that the best wrong rotation of the wheel would show at constant speed."""
    right = np.diff(np.resize(log_pitch, length), 2)
    wrong = (np.diff(np.resize(np.roll(log_pitch, -k), length), 2) for k in range(1, len(log_pitch)))
    return min(float(np.sum(np.square(other - right))) for other in wrong)


def _train(t: Array, angles: Array, clean: _Clean, inverted: bool) -> ToothTrain:
    """Join the clean runs over what lies between them."""
    repeats = symmetry(angles) if len(angles) else 1
    part = len(angles) // repeats
    count = np.full(len(t), -1, np.int32)  # teeth since the first edge of the train, -1 = not placed
    segment = np.zeros(len(t), np.int32)
    missing: list[tuple[float, int]] = []
    extra: list[int] = []
    number = 0
    offset = len(angles) * (WALK_TURNS + 2) + clean.tooth  # room for edges before the first clean turn
    before = -1
    for run in range(len(clean.first)):
        a, b = int(clean.first[run]), int(clean.last[run])
        joined = None
        if run:
            course = usual_course(t, angles, clean.first, clean.last, clean.tooth, run) if repeats == 1 else angles
            joined = _join(t, angles, course, clean.tooth, part, before, a, int(count[before]))
        if joined is not None:
            for step, c in joined.placed:
                count[before + step] = c
            missing += joined.missing
            extra += [before + step for step in joined.extra]
            offset = joined.placed[-1][1]
            segment[before + 1 : a] = number
        else:
            free, astray = before + 1, False
            if run:
                free = _walk(t, angles, count, before, a, 1)
                astray = free == a and (count[a - 1] + 1 - clean.tooth) % part != 0
                if astray:  # it has come to another tooth than the clean run
                    count[before + 1 : a], free = -1, before + 1
                segment[before + 1 : free] = number
                offset = _resume(t, angles, clean.tooth, before, a, int(count[before]))
                number += 1
            count[a] = offset
            segment[free : a + 1] = number
            if not astray:
                _walk(t, angles, count, a, free - 1, -1)
        count[a : b + 1] = offset + np.arange(b - a + 1)
        segment[a : b + 1] = number
        before = b
    if before >= 0:
        _walk(t, angles, count, before, len(t), 1)
        segment[before:] = number
    return _assembled(t, angles, count, segment, missing, extra, inverted)


def _followed(t: Array, angles: Array, clean: _Clean) -> ToothTrain:
    """The train by a search over all edges, for one that has hardly a turn without damage.

    Where it passes a clean turn on another tooth it has lost its way, and nothing is placed from the clean turn before
    to the one after.
    """
    count = np.full(len(t), -1, np.int32)
    segment = np.zeros(len(t), np.int32)
    missing: list[tuple[float, int]] = []
    extra: list[int] = []
    part = len(angles) // symmetry(angles) if len(angles) else 0
    if part > 1:
        offset = 0
        for number, way in enumerate(track(t, angles, part)):
            first = -(-max(offset - way.placed[0][1], 0) // len(angles)) * len(angles)
            for edge, serial in way.placed:
                count[edge] = serial + first
            missing += [(at, serial + first) for at, serial in way.missing]
            extra += way.extra
            segment[way.placed[0][0] :] = number
            offset = way.placed[-1][1] + first + len(angles)
        middle = (clean.first + clean.last) // 2
        known = middle[count[middle] >= 0]
        serial = clean.tooth + known - clean.first[count[middle] >= 0]
        astray = (count[known] - serial) % part != 0
        bounds = np.concatenate([[-1], known, [len(t)]])
        for k in np.flatnonzero(astray):
            count[bounds[k] + 1 : bounds[k + 2]] = -1
    return _assembled(t, angles, count, segment, missing, extra, False)


def _assembled(
    t: Array, angles: Array, count: Count, segment: Count, missing: list[tuple[float, int]], extra: list[int],
    inverted: bool,
) -> ToothTrain:  # fmt: skip
    """The train of edges with their tooth counts, -1 = not placed."""
    repeats = symmetry(angles) if len(angles) else 1
    placed = count >= 0
    base = (int(count[placed].min()) // len(angles)) * len(angles) if placed.any() else 0
    if placed.all():
        placed_s = t
    else:
        placed_s, count, segment = t[placed], count[placed], segment[placed]
    turn, tooth = np.divmod(count - np.int32(base), np.int32(max(len(angles), 1)))
    angle_deg = 360.0 * turn
    angle_deg += angles[tooth]
    lost = np.array([c - base for _, c in missing], np.int64)
    lost_turn, lost_tooth = np.divmod(lost, max(len(angles), 1))
    return ToothTrain(
        t_s=placed_s, angle_deg=angle_deg, tooth=tooth, turn=turn, segment=segment,
        missing_s=np.array([s for s, _ in missing]), missing_deg=360.0 * lost_turn + angles[lost_tooth],
        extra_s=t[np.array(extra, np.int64)], unplaced=int(np.count_nonzero(~placed)) - len(extra),
        inverted=inverted, symmetry=repeats, angles_deg=angles,
    )  # fmt: skip


def _walk(t: Array, angles: Array, count: Count, start: int, stop: int, direction: int) -> int:
    """Place edges tooth by tooth from ``start`` towards ``stop`` (not included); the first edge not placed."""
    reach = direction * min(abs(stop - start), WALK_TURNS * len(angles))
    at = np.arange(start, start + reach, direction)
    # an edge lost beside the gap shows a turn later only, in the number of teeth
    placed = extend(t[at], angles, int(count[start]), direction, MARGIN + len(angles)).placed
    for step, serial in placed:
        count[start + direction * step] = serial
    return start + direction * (len(placed) + 1)


def _join(
    t: Array, angles: Array, course: Array, tooth: int, part: int, before: int, after: int, count: int
) -> Bridge | None:
    """Bridge from the last edge of a clean run to the first one of the next; None where the way is lost.

    ``course`` is the wheel as the usual course of the speed moves it.
    """
    if after - before > LONGEST_BRIDGE_TURNS * len(angles) + 200:
        return None
    turn = t[max(before - max(part, FEWEST_PERIODS), 0) : before + 1]
    swing, unrest = (_unevenness(turn, wheel, count - len(turn) + 1) for wheel in (angles, course))
    if len(angles) > MOST_TEETH and unrest > LEAST_UNREST:
        # scatter alone makes kinks here and there; where the number of edges is right none was lost
        right = (count + after - before - tooth) % part == 0
        return Bridge([(k, count + k) for k in range(1, after - before + 1)]) if right else None
    hard = len(angles) < FINE_WHEEL or after - before > 2 * part
    follow = t[after : after + max(part, FEWEST_PERIODS) + 1]
    deepest = max(_swing(turn, course, count - len(turn) + 1), _swing(follow, course, tooth))
    if hard and part > 1 and deepest > EVEN_SWING:
        return None  # the speed may go any way: what is found between would be a tooth off now and then
    ahead = back = 0
    if after - before > SHORT_BRIDGE:
        # beside the gap a deep swing hides a lost edge, which then shows a turn later in the number of teeth
        unsure = 2 * MARGIN + (len(angles) if swing > EVEN_SWING else 0)
        ahead = max(_smooth(t[before - 2 : after], course, count - 2, 1) - unsure, 0)
        back = max(_smooth(t[after + 2 : before : -1], course, tooth + 2, -1) - unsure, 0)
        if ahead + back >= after - before:
            ahead = back = 0
    first, last = before + ahead, after - back
    middle = bridge(
        t[first - 2 : first + 1], t[first : last + 1], t[last : last + 3],
        course, count + ahead, tooth - back, part, min(max(unrest, LEAST_UNREST), MOST_UNREST),
    )  # fmt: skip
    return None if middle is None else middle.widened(ahead, count, back)


def _unevenness(t: Array, angles: Array, count: int) -> float:
    """Kinks of the speed over clean edges from a tooth count on, root mean square in those of deep cranking swings."""
    return float(np.sqrt(np.mean(np.square(_kinks(t, angles, count, 1))))) / DEEP_SWING_KINK


def _swing(t: Array, angles: Array, count: int) -> float:
    """The same of the speed alone: noise of the edges has kinks that alternate."""
    kink = _kinks(t, angles, count, 1)
    return float(np.sqrt(np.mean(np.square(0.5 * (kink[1:] + kink[:-1]))))) / DEEP_SWING_KINK


def _kinks(t: Array, angles: Array, count: int, direction: int) -> Array:
    """Second differences of log speed if every edge is the next tooth, (n - 3,)."""
    turn, tooth = np.divmod(count + direction * np.arange(len(t)), len(angles))
    pitch = np.abs(np.diff(360.0 * turn + angles[tooth]))
    out: Array = np.diff(np.log(pitch / np.maximum(np.abs(np.diff(t)), 1e-9)), 2)
    return out


def _smooth(t: Array, angles: Array, count: int, direction: int) -> int:
    """Edges beyond the third one that go on tooth by tooth without a kink."""
    kink = np.abs(_kinks(t, angles, count, direction))
    rough = np.flatnonzero(kink > SMOOTH_KINK)
    return int(rough[0]) if len(rough) else len(kink)


def _local_speed(t: Array, angles: Array, edge: int, count: int) -> float:
    """Mean speed over three periods, degrees a second."""
    turn_0, tooth_0 = divmod(count, len(angles))
    turn_1, tooth_1 = divmod(count + 3, len(angles))
    way = 360.0 * (turn_1 - turn_0) + angles[tooth_1] - angles[tooth_0]
    return float(way / max(t[edge + 3] - t[edge], 1e-9))


def _resume(t: Array, angles: Array, tooth: int, before: int, after: int, count: int) -> int:
    """Tooth count after a loss of synchronism: by time and speed, so that the angle goes on about right."""
    speed = np.sqrt(_local_speed(t, angles, before - 3, count - 3) * _local_speed(t, angles, after, tooth))
    turns = speed * (t[after] - t[before]) / 360.0
    reached = count + turns * len(angles)
    part = len(angles) // symmetry(angles)
    return int(np.ceil((max(reached, count + after - before) - tooth) / part)) * part + tooth
