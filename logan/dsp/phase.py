"""Angle of cam (or pump) edges against the crank: per edge and cycle, observed minus expected."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.dsp.sync import CYCLE_DEG, Sync
from logan.dsp.wheel import ToothTrain
from logan.units import DEG_PER_RPM_S

Array = NDArray[np.float64]
Index = NDArray[np.int64]
Mask = NDArray[np.bool_]

UNSURE_DEG: Final = 1.0  # straight and curved interpolation differ by more: the angle is not known well enough
MATCH_SHARE: Final = 0.45  # of the spacing to the next target edge
WIDEST_DEG: Final = 15.0
SPEED_GROUPS: Final = 12
FEWEST_IN_GROUP: Final = 5
LEAST_SPEED_RATIO: Final = 1.3
LEAST_APART: Final = 0.2  # of the speeds' span, from which two groups tell a slope


@dataclass(frozen=True, slots=True)
class PhaseRows:
    """One row a matched edge.

    Parameters
    ----------
    t_s : (n,) s
    error_deg : (n,) observed minus expected, positive = late
    edge : (n,) index into the target's ascending edges
    cycle : (n,) number of the cycle, unique over segments
    speed_rpm : (n,) crank speed there
    expected : edges that the target should have given over the segments
    lost_s : (d,) times at which edges were missing
    extra : observed edges that no target edge explains
    dropped : matched edges left out because the angle was not known well enough
    revolutions : crank turns over which edges were expected
    """

    t_s: Array
    error_deg: Array
    edge: Index
    cycle: Index
    speed_rpm: Array
    expected: int
    lost_s: Array
    extra: int
    dropped: int
    revolutions: float


def angle_at(t: Array, angle: Array, when: Array) -> tuple[Array, Array]:
    """Crank angle at other times by the cubic through the two teeth before and the two after, (n,), degrees.

    Returns also by how much it is off the straight line between the two nearest teeth, (n,), degrees. A straight line
    errs by up to acceleration * dt^2 / 8.

    Parameters
    ----------
    t, angle : (m,) edges of one segment, s and degrees
    when : (n,) times within them, s
    """
    straight = np.interp(when, t, angle)
    if len(t) < 4:
        return straight, np.zeros(len(when))
    right = np.clip(np.searchsorted(t, when), 2, len(t) - 2)
    nodes = right[:, None] + np.arange(-2, 2)
    x, y = t[nodes] - when[:, None], angle[nodes] - straight[:, None]
    bent = np.zeros(len(when))
    for k in range(4):
        others = [j for j in range(4) if j != k]
        bent += y[:, k] * np.prod([x[:, j] / (x[:, j] - x[:, k]) for j in others], axis=0)
    return straight + bent, bent


def phase_rows(
    train: ToothTrain, sync: Sync, edge_s: Array, target_deg: Array, shift_deg: float = 0.0, delay_s: float = 0.0
) -> PhaseRows:
    """Every observed edge against the target edge that it belongs to.

    Parameters
    ----------
    train : crank edges on their teeth
    sync : place of its segments in the cycle
    edge_s : (c,) times of the observed active edges, s, ascending
    target_deg : (e,) expected angles, 0..720 crank degrees
    shift_deg : common shift of the edges that the matching allows for, degrees
    delay_s : lateness of all edges that it allows for beside the shift, s
    """
    target = np.sort(np.asarray(target_deg, float))
    spacing = np.diff(np.append(target, target[0] + CYCLE_DEG))
    tolerance = min(WIDEST_DEG, MATCH_SHARE * float(spacing.min()))
    parts: list[tuple[Array, ...]] = []
    lost: list[Array] = [np.empty(0)]
    expected = extra = dropped = 0
    revolutions = 0.0
    cycle_0 = 0
    for number in np.flatnonzero(np.isfinite(sync.offset_deg)):
        first, last = train.span(int(number))
        t, angle = train.t_s[first:last], train.angle_deg[first:last] + sync.offset_deg[number]
        if len(t) < 4:
            continue
        seen = edge_s[(edge_s >= t[0]) & (edge_s <= t[-1])]
        seen_deg, bent = angle_at(t, angle, seen)
        ideal = np.arange(
            int(np.floor((angle[0] - shift_deg) / CYCLE_DEG) * len(target)) - 1,
            int(np.ceil((angle[-1] - shift_deg) / CYCLE_DEG) * len(target)) + 2,
        )
        ideal_deg = target[ideal % len(target)] + CYCLE_DEG * (ideal // len(target)) + shift_deg
        due_deg = _earlier(t, angle, seen, delay_s) if delay_s else seen_deg
        after = np.clip(np.searchsorted(ideal_deg, due_deg), 1, len(ideal) - 1)
        nearer = after - (due_deg - ideal_deg[after - 1] < ideal_deg[after] - due_deg)
        serial, error = ideal[nearer], seen_deg - ideal_deg[nearer] + shift_deg
        off = np.abs(due_deg - ideal_deg[nearer])
        # of several edges at one place the nearest holds
        order = np.lexsort((off, serial)) if np.any(np.diff(serial) == 0) else np.arange(len(serial))
        best = order[np.diff(serial[order], prepend=ideal[0] - 1) > 0]
        best = best[off[best] <= tolerance]
        extra += len(seen) - len(best)
        from_deg, to_deg = (angle[0], angle[-1]) if not delay_s else _recorded(t, angle, delay_s)
        within = (ideal_deg > from_deg + tolerance) & (ideal_deg < to_deg - tolerance)
        found = np.zeros(len(ideal), bool)
        found[serial[best] - ideal[0]] = True
        expected += int(np.count_nonzero(within))
        lost.append(np.interp(ideal_deg[within & ~found], angle, t))
        revolutions += float(angle[-1] - angle[0]) / 360.0
        sure = best[np.abs(bent[best]) <= UNSURE_DEG]
        dropped += len(best) - len(sure)
        cycle = serial[sure] // len(target)
        at = np.clip(np.searchsorted(t, seen[sure]), 2, len(t) - 2)
        speed = (angle[at + 1] - angle[at - 2]) / (t[at + 1] - t[at - 2]) / 6.0
        parts.append(
            (seen[sure], error[sure], serial[sure] % len(target), cycle - cycle.min(initial=0) + cycle_0, speed)
        )
        cycle_0 += int(cycle.max(initial=0) - cycle.min(initial=0)) + 2
    columns = [np.concatenate(column) for column in zip(*parts, strict=True)] if parts else [np.empty(0)] * 5
    return PhaseRows(
        columns[0], columns[1], columns[2].astype(np.int64), columns[3].astype(np.int64), columns[4],
        expected, np.concatenate(lost), extra, dropped, revolutions,
    )  # fmt: skip


def _earlier(t: Array, angle: Array, when: Array, by_s: float) -> Array:
    """Crank angle a while before (or, by a negative time, after) some moments, (n,), degrees."""
    begin = (angle[3] - angle[0]) / max(t[3] - t[0], 1e-12)
    end = (angle[-1] - angle[-4]) / max(t[-1] - t[-4], 1e-12)
    then = when - by_s
    beyond = np.minimum(then - t[0], 0.0) * begin + np.maximum(then - t[-1], 0.0) * end
    out: Array = np.interp(then, t, angle) + beyond
    return out


def _recorded(t: Array, angle: Array, delay_s: float) -> tuple[float, float]:
    """Angles between which an edge that comes so much later still lies in the recording."""
    first, last = _earlier(t, angle, t[[0, -1]], delay_s)
    return max(float(angle[0]), float(first)), min(float(angle[-1]), float(last))


def lateness(rows: PhaseRows) -> tuple[float, float] | None:
    """Fixed part, degrees, and delay, s, of most matched edges; None where their speeds do not tell them apart.

    The slope of Theil and Sen over medians of groups of like speed (from memory): edges that were matched to the wrong
    place of the target do not move it.
    """
    order = np.argsort(rows.speed_rpm, kind="stable")
    groups = [group for group in np.array_split(order, SPEED_GROUPS) if len(group) >= FEWEST_IN_GROUP]
    if len(groups) < SPEED_GROUPS:
        return None
    speed, error = (np.array([median(column[g]) for g in groups]) for column in (rows.speed_rpm, rows.error_deg))
    if speed[-1] < LEAST_SPEED_RATIO * speed[0]:
        return None
    one, other = np.triu_indices(len(groups), 1)
    apart = speed[other] - speed[one] > LEAST_APART * (speed[-1] - speed[0])
    slope = median((error[other] - error[one])[apart] / (speed[other] - speed[one])[apart])
    return median(error - slope * speed), slope / DEG_PER_RPM_S


@dataclass(frozen=True, slots=True)
class Cycles:
    """Phase cycle by cycle, freed of what is particular to each edge of the target.

    Parameters
    ----------
    t_s, error_deg, speed_rpm : (c,) means over the edges of a cycle
    edge_offset_deg : (e,) of each target edge against the middle of all; NaN for one that was never seen
    outlier : (e,) edges that stand apart from all others and are left out
    jitter_deg : standard deviation from cycle to cycle of single edges, slow changes removed
    jitter_freedom : degrees of freedom of it
    """

    t_s: Array
    error_deg: Array
    speed_rpm: Array
    edge_offset_deg: Array
    outlier: Mask
    jitter_deg: float
    jitter_freedom: float


OUTLIER_DEG: Final = 1.5
OUTLIER_FACTOR: Final = 6.0
FEWEST_EDGES_FOR_OUTLIER: Final = 3
SLOW_CYCLES: Final = 25


def by_cycle(rows: PhaseRows, edges: int) -> Cycles:
    """Means per cycle, offsets per edge and jitter.

    Parameters
    ----------
    rows : matched edges
    edges : edges on the target
    """
    cycle_of, label = np.unique(rows.cycle, return_inverse=True)
    count = np.bincount(label)
    middle = _grouped_median(rows.error_deg, label, len(cycle_of))
    deviation = rows.error_deg - middle[label]
    offset = _grouped_median(deviation, rows.edge, edges)
    seen = np.isfinite(offset)
    centre = float(np.median(offset[seen]))
    apart = np.abs(offset - centre)
    usual = float(np.median(apart[seen])) / 0.6745
    outlier = seen & (apart > max(OUTLIER_DEG, OUTLIER_FACTOR * usual))
    if np.count_nonzero(seen) < FEWEST_EDGES_FOR_OUTLIER:
        outlier[:] = False
    good = ~outlier[rows.edge]
    # the mean offset of the edges that stay is kept: it is part of the phase
    kept = seen & ~outlier
    own = offset - float(np.mean(offset[kept]))
    freed = np.where(good, rows.error_deg - own[rows.edge], 0.0)
    count = np.bincount(label, good, len(cycle_of))
    full = count >= max(0.5 * np.median(count), 1.0)  # half a cycle has not the speed of a whole one
    mean = np.bincount(label, freed, len(cycle_of))[full] / count[full]
    t_s = np.bincount(label, rows.t_s * good, len(cycle_of))[full] / count[full]
    speed = np.bincount(label, rows.speed_rpm * good, len(cycle_of))[full] / count[full]
    jitter, freedom = _jitter(freed[good], rows.edge[good], rows.t_s[good])
    return Cycles(t_s, mean, speed, offset - centre, outlier, jitter, freedom)


def _jitter(value: Array, edge: Index, t_s: Array) -> tuple[float, float]:
    """Pooled standard deviation of each edge's series about its running mean, far outliers pulled in."""
    squares, freedom, series_seen = 0.0, 0.0, 0
    for number in np.unique(edge):
        series = value[edge == number]
        width = min(SLOW_CYCLES, len(series) // 4 * 2 + 1)
        if width < 3:
            continue
        total = np.concatenate([[0.0], np.cumsum(series)])
        slow = (total[width:] - total[:-width]) / width
        rest = series[width // 2 : len(series) - width // 2] - slow
        spread = float(np.median(np.abs(rest))) / 0.6745
        rest = np.clip(rest, -6.0 * spread, 6.0 * spread) if spread > 0.0 else rest
        # about a running mean of w values a share 1 / w of the variance is lost
        squares += float(rest @ rest) / (1.0 - 1.0 / width)
        freedom += len(rest)
        series_seen += 1
    # the edges of one cycle may move together: only cycles count
    return (float(np.sqrt(squares / freedom)), freedom / series_seen) if freedom else (np.nan, 0.0)


def _grouped_median(value: Array, label: Index, groups: int) -> Array:
    """Median of each group, NaN for an empty one, (groups,)."""
    order = np.lexsort((value, label))
    count = np.bincount(label, minlength=groups)
    start = np.cumsum(count) - count
    out = np.full(groups, np.nan)
    full = count > 0
    low, high = start[full] + (count[full] - 1) // 2, start[full] + count[full] // 2
    out[full] = 0.5 * (value[order][low] + value[order][high])
    return out
