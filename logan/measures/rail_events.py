"""Rail pressure after the engine stops: how fast it falls; and when a record's engine starts and stops."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import student_95
from logan.dsp.robust import MAD_TO_SD
from logan.measures.align import measure, period_s, sources, step_of
from logan.measures.conditions import RUNNING_RPM
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Missing
from logan.model.record import Record

LEAK_S: Final = 5.0  # docs/conventions.md
LEAST_LEAK_S: Final = 2.5
STILL_RPM: Final = 10.0
PRIOR_MEMORY: Final = 0.3  # autocorrelation that a few values do not refute: an assumption
PRIOR_VALUES: Final = 10.0  # how many values it stands for
_TAUS_S: Final = (0.3, 100.0)  # time constants of a rail that empties
_TAUS: Final = 30  # so many are tried, then as many closer together about those that fit, and so on
_FINER: Final = 6
HELD_S: Final = 3.0  # before the stop: the most pressure then is the most that it stopped with
MOST_SHARE: Final = 1.05  # what a pulse of the pump may add to that, unseen by slow values: an assumption
BEFORE_S: Final = 12.0
SPINS_DOWN_S: Final = 1.5  # the noise is told on an engine that runs, not on one that spins down
FEWEST_BEFORE: Final = 5
MOST_FREEDOM: Final = 8.0  # the noise of a falling rail need not be quite that of a standing one: an assumption
REMEMBERS: Final = 2.0  # by how much noise of autocorrelation 0.7 is larger than second differences tell
_UNLIKELY: Final = 1e-4  # chance against the best fit from which a time constant counts

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant known to within a sampling interval: s, and its standard uncertainty."""

    t_s: float
    sd_s: float


@dataclass(frozen=True, slots=True)
class Before:
    """What is known of a rail before it empties.

    Parameters
    ----------
    sd_kpa, freedom : standard deviation of the noise of a value, worth so many values
    most_kpa : the pressure that it can have had at most when the pump stood
    """

    sd_kpa: float = 0.0
    freedom: float = 0.0
    most_kpa: float = np.inf


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
            before = _before(pressure, stop.t_s, p[inside], t[inside])
            values = [decay(since + shift, p[inside], before) for shift in (-stop.sd_s, 0.0, stop.sd_s)]
            early = 0.5 * abs(values[0][0] - values[2][0])
            found.append((*values[1], early, int(inside.sum()), stop.t_s, float(t[inside][-1]), before.most_kpa))
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
    if high > 0.0:  # a pump that stands adds no pressure, and no more is lost than there was
        most = max(f[7] for f in found) / LEAK_S
        value, low, high = max(value, 0.0), max(low, 0.0), min(high, max(most, value))
    yield msgspec.structs.replace(mean, value=value, low=float(low), high=float(high))


def decay(since_s: Array, pressure_kpa: Array, before: Before = Before()) -> tuple[float, float, float]:
    """Mean rate of loss over the first 5 s, its standard uncertainty and degrees of freedom.

    Fits ``p = a + b exp(-t / tau)`` (or a straight line) and averages over tau by likelihood. The time constants are
    as close together as the likelihood is narrow: what a coarse one leaves over is smooth, and would count as noise
    that remembers. Three constants leave few of a handful of values to tell the noise: what is known of it beforehand
    counts as so many values more (conjugate prior of a variance; Gelman et al., Bayesian Data Analysis, from memory).
    """
    n = len(since_s)
    freedom = max(n - 3, 1) + before.freedom

    def tried(low: float, high: float) -> tuple[Array, ...]:
        """Logarithm of time constants between two and of none; rates, spreads, rests and sums of squares of each."""
        taus_log = np.append(np.linspace(low, high, _TAUS), np.inf)
        taus = np.exp(taus_log[:-1])[:, None]
        gain = (1.0 - np.exp(-LEAK_S / taus[:, 0])) / LEAK_S
        curves = _fits(np.exp(-since_s / taus), 1.0, 0.0, gain, pressure_kpa)
        line = _fits(-since_s[None, :], 0.0, -LEAK_S, np.ones(1), pressure_kpa)
        rates, spreads, rests, starts, ends = (np.concatenate(both) for both in zip(curves, line, strict=True))
        squares = np.maximum(np.square(rests).sum(axis=1), 1e-9) + before.freedom * before.sd_kpa**2
        squares[~_possible(starts, ends, before)] = np.inf
        return taus_log, rates, spreads, rests, squares

    least, most = np.log(_TAUS_S)
    low, high = least, most
    for _ in range(_FINER):  # the best fit of all, whose rests tell what the noise remembers
        taus_log, _, _, rests, squares = tried(low, high)
        best = int(np.argmin(squares))
        if best == _TAUS:
            break
        low, high = float(taus_log[max(best - 1, 0)]), float(taus_log[min(best + 1, _TAUS - 1)])
    memory, lowest = _memory(rests[best]), float(squares[best])
    low, high = least, most
    for _ in range(_FINER):
        taus_log, rates, spreads, rests, squares = tried(low, high)
        lowest = min(lowest, float(squares.min()))
        chance = np.exp(-0.5 * (n + before.freedom) / memory * np.log(squares / lowest))
        close = np.flatnonzero((chance[:-1] > _UNLIKELY) | (squares[:-1] <= squares[:-1].min()))
        first, last = max(int(close[0]) - 1, 0), min(int(close[-1]) + 1, _TAUS - 1)
        if last - first > _TAUS // 2:
            break
        low, high = float(taus_log[first]), float(taus_log[last])
    chance[:-1] *= (taus_log[1] - taus_log[0]) / ((most - least) / (_TAUS - 1))
    chance /= chance.sum()
    mean = float(chance @ rates)
    s2 = np.where(chance > 0.0, squares, 0.0) / freedom
    variance = float(chance @ (spreads * s2) + chance @ np.square(rates - mean)) * memory
    return mean, float(np.sqrt(variance)), float(max(freedom / memory, 1.0))


def _possible(starts: Array, ends: Array, before: Before) -> NDArray[np.bool_]:
    """Which curves start at no more pressure than there was, and end at no less than none, (k,); all if none does."""
    reach = 3.0 * before.sd_kpa
    possible: NDArray[np.bool_] = (starts <= before.most_kpa + reach) & ((ends >= -reach) | np.isinf(before.most_kpa))
    return possible | ~possible.any()


def _fits(shapes: Array, first_at: float, last_at: float, gain: Array, p: Array) -> tuple[Array, ...]:
    """Least squares of ``p = a + b shape`` for k shapes, (k, n), of which first and last value are given.

    Rates of loss (k,), what multiplies the variance of a value to that of a rate (k,), rests (k, n), first and last
    pressure (k,).
    """
    apart = shapes - shapes.mean(axis=1, keepdims=True)
    square = np.maximum(np.square(apart).sum(axis=1), 1e-30)
    off = p - p.mean()
    slope = apart @ off / square
    rest = off - slope[:, None] * apart
    first, last = (p.mean() + slope * (at - shapes.mean(axis=1)) for at in (first_at, last_at))
    return gain * slope, gain**2 / square, rest, first, last


def _before(pressure: Channel, stop_s: float, fall_kpa: Array, every_s: Array) -> Before:
    """Noise of the values after a stop, told before it, and the most pressure that the rail had then.

    Neither a level nor a steady change makes a second difference. What is asked for within a half-width is off by as
    much of the fall as that lasts.
    """
    t, p = pressure.finite()
    most = float(p[(t >= stop_s - HELD_S) & (t <= every_s[-1])].max())
    before = p[(t >= stop_s - BEFORE_S) & (t <= stop_s - SPINS_DOWN_S)]
    if len(before) < FEWEST_BEFORE:
        return Before(most_kpa=MOST_SHARE * most)
    second = np.diff(before, 2)
    own = REMEMBERS * float(np.median(np.abs(second))) / MAD_TO_SD / np.sqrt(6.0)
    slope = float(np.sqrt(np.mean(np.square(np.diff(fall_kpa) / np.maximum(np.diff(every_s), 1e-3)))))
    late = slope * pressure.half_width_s / np.sqrt(3.0)
    sd = float(np.linalg.norm([own, late, step_of(pressure) / np.sqrt(12.0)]))
    return Before(sd, min(len(second) / 2.0, MOST_FREEDOM), MOST_SHARE * most)


def _memory(rest: Array) -> float:
    """By how much noise that remembers the value before multiplies the variance of a mean: (1 + r) / (1 - r).

    A line fitted to n values lowers their autocorrelation r by (2 + 4 r) / n on average (Kendall 1954, from memory).
    """
    n = len(rest)
    seen = float(rest[1:] @ rest[:-1]) / max(float(rest @ rest), 1e-9)
    r = float(np.clip((n * seen + 2.0 + PRIOR_VALUES * PRIOR_MEMORY) / (n - 4.0 + PRIOR_VALUES), 0.0, 0.95))
    return (1.0 + r) / (1.0 - r)


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
