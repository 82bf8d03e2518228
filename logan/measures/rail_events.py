"""Rail pressure at the ends of a run: how fast it builds while cranking and falls after the engine stops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import student_95
from logan.measures.align import measure, period_s, sources
from logan.measures.conditions import RUNNING_RPM
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Missing
from logan.model.record import Record

LEAK_S: Final = 5.0  # docs/conventions.md
LEAST_LEAK_S: Final = 2.5
STILL_RPM: Final = 10.0
NEEDED_SHARE: Final = 0.9  # docs/conventions.md
FIRING_S: Final = (
    0.2  # from enough pressure to the first fire that speeds the crank up, about half a turn: an assumption
)
STANDS_SHARE: Final = 0.97  # a rail that rises by less before the first fire had its pressure: an assumption
LEAVES_SHARE: Final = 1.3  # of cranking speed: faster is fired (common practice, no source)
LEAST_NEEDED: Final = 0.7  # the engine may need less than the figure taken, down to this share: an assumption
PRIOR_MEMORY: Final = 0.3  # autocorrelation that a few values do not refute: an assumption
PRIOR_VALUES: Final = 10.0  # how many values it stands for
_TAUS_S: Final = np.geomspace(0.3, 100.0, 30)

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant known to within a sampling interval: s, and its standard uncertainty."""

    t_s: float
    sd_s: float


@gives("rail_leakdown_kpa_per_s", needs=("fuel_rail_pressure_actual", "engine_speed"))
def rail_leakdown(record: Record) -> Results:
    """Pressure lost a second over the first 5 s after the engine stops, from an exponential fitted to that time."""
    name = "rail_leakdown_kpa_per_s"
    pressure, speed = record.channels.best["fuel_rail_pressure_actual"], record.channels.best["engine_speed"]
    stops = stops_of(speed)
    if not stops:
        yield Missing(measure=name, why="the engine does not stop within the record", capture_hint="")
        return
    t, p = pressure.finite()
    again = starts_of(speed)
    found = []
    for stop in stops:
        end = min([stop.t_s + LEAK_S, *[start.t_s for start in again if start.t_s > stop.t_s]])
        inside = (t >= stop.t_s - 1e-9) & (t <= end + period_s(pressure))
        if np.count_nonzero(inside) >= 4 and np.ptp(t[inside]) >= LEAST_LEAK_S:
            since = t[inside] - stop.t_s
            values = [decay(since + shift, p[inside]) for shift in (-stop.sd_s, 0.0, stop.sd_s)]
            early = 0.5 * abs(values[0][0] - values[2][0])
            found.append((*values[1], early, int(inside.sum()), stop.t_s, float(t[inside][-1])))
    if not found:
        yield Missing(measure=name, why="the record ends too soon after the engine stops", capture_hint="")
        return
    rate = np.array([f[0] for f in found])
    value = float(np.mean(rate))
    own_2, early_2 = (float(np.mean([f[k] ** 2 for f in found])) for k in (1, 3))
    statistical = float(np.sqrt(own_2 / len(found)))
    df = sum(f[2] for f in found)
    spans = [(round(f[5], 3), round(f[6], 3)) for f in found]
    notes = ["some systems empty the rail on purpose after the stop: compare with an engine of the same kind"]
    if len(found) > 1:
        notes.append(f"mean of {len(found)} stops; the interval spans each of them")
    if min(f[6] - f[5] for f in found) < LEAK_S - period_s(pressure):
        notes.append("recorded for less than 5 s after the stop: the rest is the fitted curve")
    early, n = float(np.sqrt(early_2 / len(found))), sum(f[4] for f in found)
    origin = sources([pressure, speed], spans)
    mean = measure(name, "kPa/s", value, statistical, early, student_95(max(df, 1.0)), n, origin, notes)
    # stops differ (from another pressure, at another temperature): the engine's rate is any of theirs
    low, high = min(np.min(mean.low), rate.min()), max(np.max(mean.high), rate.max())
    yield msgspec.structs.replace(mean, low=float(low), high=float(high))


def decay(since_s: Array, pressure_kpa: Array) -> tuple[float, float, float]:
    """Mean rate of loss over the first 5 s, its standard uncertainty and degrees of freedom.

    Fits ``p = a + b exp(-t / tau)`` (or a straight line) and averages over tau by likelihood.
    """
    n = len(since_s)
    rates, variances, squares, memories = [], [], [], []
    for tau in [*_TAUS_S.tolist(), np.inf]:
        shape = np.exp(-since_s / tau) if np.isfinite(tau) else -since_s
        gain = (1.0 - np.exp(-LEAK_S / tau)) / LEAK_S if np.isfinite(tau) else 1.0
        design = np.column_stack([np.ones(n), shape])
        b, *_ = np.linalg.lstsq(design, pressure_kpa, rcond=None)
        rest = pressure_kpa - design @ b
        s2 = float(rest @ rest) / max(n - 3, 1)
        rates.append(gain * b[1])
        variances.append(gain**2 * s2 * np.linalg.pinv(design.T @ design)[1, 1])
        squares.append(max(float(rest @ rest), 1e-9))
        memories.append(_memory(rest))
    memory = memories[int(np.argmin(squares))]
    chance = np.exp(-0.5 * n / memory * np.log(np.array(squares) / min(squares)))
    chance /= chance.sum()
    mean = float(chance @ rates)
    variance = float(chance @ variances + chance @ np.square(np.array(rates) - mean)) * memory
    return mean, float(np.sqrt(variance)), float(max((n - 3) / memory, 1.0))


def _memory(rest: Array) -> float:
    """By how much noise that remembers the value before multiplies the variance of a mean: (1 + r) / (1 - r).

    A line fitted to n values lowers their autocorrelation r by (2 + 4 r) / n on average (Kendall 1954, from memory).
    """
    n = len(rest)
    seen = float(rest[1:] @ rest[:-1]) / max(float(rest @ rest), 1e-9)
    r = float(np.clip((n * seen + 2.0 + PRIOR_VALUES * PRIOR_MEMORY) / (n - 4.0 + PRIOR_VALUES), 0.0, 0.95))
    return (1.0 + r) / (1.0 - r)


@gives("rail_build_time_s", needs=("fuel_rail_pressure_actual", "engine_speed"))
def rail_build_time(record: Record) -> Results:
    """Time from first crank motion until the rail holds 90 % of the pressure needed to start; of several, the longest.

    No channel says what the engine needs, but it fires once it has it: taken is the pressure a moment before the speed
    leaves cranking speed. Where the rail rose until then it needed about that much; where it had stood still it may
    have needed less, and the interval says so.
    """
    name = "rail_build_time_s"
    pressure, speed = record.channels.best["fuel_rail_pressure_actual"], record.channels.best["engine_speed"]
    t, p = pressure.finite()
    starts = [start for start in starts_of(speed) if len(t) and t[0] <= start.t_s + 0.2 and t[-1] > start.t_s]
    if not starts:
        yield Missing(measure=name, why="no start from standstill in the record", capture_hint="")
        return
    ends = [_fired(speed, start) for start in starts]
    found = [
        (_build_up(t, p, start.t_s, fired_s, 0.3 * period_s(speed)), start, fired_s)
        for start, (fired_s, fired) in zip(starts, ends, strict=True) if fired
    ]  # fmt: skip
    if not found:
        cranked_s = max(end_s - start.t_s for start, (end_s, _) in zip(starts, ends, strict=True))
        yield Missing(measure=name, why=f"the engine did not start in {cranked_s:.1f} s of cranking", capture_hint="")
        return
    (value, doubt, needed), start, fired_s = max(found, key=lambda each: each[0][0])
    step = period_s(pressure)
    sampling = float(np.hypot(0.5 * step / np.sqrt(12.0) if value > 0.0 else 0.0, pressure.half_width_s / np.sqrt(3.0)))
    n = int(np.count_nonzero((t >= start.t_s) & (t <= fired_s)))
    notes = [f"needed to start, an assumption: pressure when the engine fired, {needed:.0f} kPa"]
    if value == 0.0:
        notes.append("the rail held that pressure already when cranking began")
    if len(found) > 1:
        notes.append(f"the longest of {len(found)} starts")
    origin = sources([pressure, speed], [(round(start.t_s, 3), round(fired_s, 3))])
    systematic = float(np.hypot(doubt, start.sd_s))
    yield measure(name, "s", value, sampling, systematic, 1.96, n, origin, notes, floor=0.0)


def _build_up(t: Array, p: Array, start_s: float, fired_s: float, fired_sd_s: float) -> tuple[float, float, float]:
    """Time until 90 % of the pressure needed, its standard uncertainty, and that pressure, kPa."""
    end_s = fired_s + fired_sd_s

    def held(at_s: float) -> float:
        return float(np.interp(max(at_s, start_s), t, p))

    needed, most, least = (held(at_s) for at_s in (fired_s - FIRING_S, end_s, fired_s - 2.0 * FIRING_S - fired_sd_s))
    if least > STANDS_SHARE * most:  # it had stood still: how much of it was needed is open
        least = LEAST_NEEDED * needed
    first, last = _crossing(t, p, start_s, end_s, NEEDED_SHARE * needed)
    earliest = _crossing(t, p, start_s, end_s, NEEDED_SHARE * min(least, needed))[0]
    latest = _crossing(t, p, start_s, end_s, NEEDED_SHARE * max(most, needed))[1]
    middle = 0.5 * (first + last)
    doubt = max(middle - earliest, latest - middle) / 1.96
    return middle - start_s, doubt, needed


def stops_of(speed: Channel) -> list[Moment]:
    """When the engine came to a standstill after it ran."""
    return _changes(speed, to_rest=True)


def starts_of(speed: Channel) -> list[Moment]:
    """When the crank began to turn from a standstill."""
    return _changes(speed, to_rest=False)


def _changes(speed: Channel, *, to_rest: bool) -> list[Moment]:
    t, v = speed.finite()
    turning = v >= STILL_RPM
    out = []
    for k in np.flatnonzero(turning[:-1] == to_rest) if len(t) > 1 else []:
        if turning[k + 1] != to_rest and t[k + 1] - t[k] <= max(2.0, 4.0 * period_s(speed)):
            before = v[(t >= t[k] - 60.0) & (t <= t[k])]
            if not to_rest or before.max() >= RUNNING_RPM:
                gap = float(t[k + 1] - t[k])
                out.append(
                    Moment(float(t[k]) + 0.5 * gap, float(np.hypot(gap / np.sqrt(12.0), speed.half_width_s / 1.732)))
                )
    return out


def _fired(speed: Channel, start: Moment) -> tuple[float, bool]:
    """When the speed left cranking speed for good, or the end of cranking; and whether it fired."""
    t, v = speed.finite()
    after = t > start.t_s
    ran = np.flatnonzero(after & (v >= RUNNING_RPM))
    still = np.flatnonzero(after & (v < STILL_RPM))
    if not len(ran) or (len(still) and still[0] < ran[0]):
        return float(t[still[0]] if len(still) else t[-1]), False
    k = int(ran[0])
    cranking = v[:k][after[:k]]
    leaves = min(LEAVES_SHARE * float(np.median(cranking)), RUNNING_RPM) if len(cranking) else RUNNING_RPM
    below = np.flatnonzero((t[:k] > start.t_s) & (v[:k] < leaves))
    before = int(below[-1]) if len(below) else k - 1
    share = (leaves - v[before]) / max(v[before + 1] - v[before], 1e-9)
    return float(max(t[before] + np.clip(share, 0.0, 1.0) * (t[before + 1] - t[before]), start.t_s)), True


def _crossing(t: Array, p: Array, start_s: float, end_s: float, level: float) -> tuple[float, float]:
    """When the pressure was first at a level, and when last below it, between two instants; noise lies between them."""
    grid = np.concatenate([[start_s], t[(t > start_s) & (t < end_s)], [end_s]])
    above = np.interp(grid, t, p) - level
    if above[0] >= 0.0:
        return start_s, start_s
    up = np.flatnonzero((above[:-1] < 0.0) & (above[1:] >= 0.0))
    if not len(up):
        return end_s, end_s
    first, last = (grid[k] + above[k] / (above[k] - above[k + 1]) * (grid[k + 1] - grid[k]) for k in (up[0], up[-1]))
    return float(first), float(last)
