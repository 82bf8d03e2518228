"""Where a crank recording stands on a log's time axis: engine speed of the log against the rate of crank edges.

The two are compared at the log's own samples, so that slow polling needs no interpolation; the edges of a turn need
not be known, since a common factor is fitted at each place. All places are judged at once on an even grid (sums of
products by FFT), the good ones once more exactly.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

STEP_S: Final = 0.25
FINE_STEP_S: Final = 0.01
WINDOW_S: Final = 0.4
"""Edges are counted over this long: some turns at idle."""
LONGEST_GAP_S: Final = 3.0
LEAST_OVERLAP_S: Final = 10.0
LEAST_MOVING_S: Final = 1.5
FEWEST_MOVING: Final = 4
FEWEST_SAMPLES: Final = 6
RPM_ERROR: Final = 8.0
SHARE_ERROR: Final = 0.01
"""How far the two speeds may be apart at one moment: resolution, filters, a gap of the wheel (judgement)."""
TIME_ERROR_S: Final = 0.05
INDEPENDENT_S: Final = 1.0
"""Samples closer than this share their errors (judgement)."""
REPORTED_LATE_S: Final = 0.3
"""Longest time from the crank to the value on the bus: averaging, cycle time, gateway (judgement)."""
HALF_LOG_95: Final = 1.92
CLEAR: Final = 6.0
"""Log likelihood by which the best place must lead, 400 to 1."""
WIDEST_S: Final = 1.0
WORST_FIT: Final = 4.0
WORST_SAMPLE: Final = 25.0
MOVING: Final = 5.0
MOST_PLACES: Final = 40
MOST_SAMPLES: Final = 4000
LONGEST_S: Final = 86_400.0
"""Longer is no drive but a clock that jumped: an even grid over it would fill memory."""


class Refusal(StrEnum):
    """Why no place is named."""

    SHORT = "too little of both was recorded"
    LONG = "the times of one of them span more than a day, as where its clock was set on the way"
    UNLIKE = "the two speeds fit nowhere"
    STEADY = "engine speed hardly moved where they fit"
    AMBIGUOUS = "the two speeds fit equally well at several places"


@dataclass(frozen=True, slots=True)
class Place:
    """Time of the log = time of the recording + ``offset_s``.

    Parameters
    ----------
    offset_s, low_s, high_s : s, with the 95 % interval
    rpm_per_rate : rpm of the log for one edge a second
    difference_rpm : root mean square of the difference of the two speeds
    overlap_s : how long both were recorded
    """

    offset_s: float
    low_s: float
    high_s: float
    rpm_per_rate: float
    difference_rpm: float
    overlap_s: float


@dataclass(frozen=True, slots=True)
class Refused:
    """No place, with the reason and the offsets that fit equally well, s."""

    why: Refusal
    offsets_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class _Pair:
    """Both recordings: speed of the log with the error that each sample may have, and the edges."""

    t_s: Array
    rpm: Array
    error: Array
    edge_s: Array
    spread: float
    step_s: float

    def rate(self, t_s: Array) -> Array:
        """Edges a second around times of the recording; NaN outside of it."""
        count = np.arange(len(self.edge_s), dtype=np.float64)
        late, early = (np.interp(t_s + half, self.edge_s, count) for half in (0.5 * WINDOW_S, -0.5 * WINDOW_S))
        inside = (t_s >= self.edge_s[0] + 0.5 * WINDOW_S) & (t_s <= self.edge_s[-1] - 0.5 * WINDOW_S)
        return np.where(inside, (late - early) / WINDOW_S, np.nan)

    def fit(self, offset_s: float) -> tuple[NDArray[np.int64], Array, float]:
        """Samples of the log that the recording covers, their differences, rpm, and the factor."""
        first, last = np.searchsorted(self.t_s, np.array([self.edge_s[0], self.edge_s[-1]]) + offset_s)
        rows = np.arange(first, last, max(1, (last - first) // MOST_SAMPLES))
        rate = self.rate(self.t_s[rows] - offset_s)
        rows, rate = rows[np.isfinite(rate)], rate[np.isfinite(rate)]
        weight = 1.0 / self.error[rows] ** 2
        power = float(np.sum(weight * rate**2))
        factor = float(np.sum(weight * rate * self.rpm[rows])) / power if power > 0 else 0.0
        return rows, self.rpm[rows] - factor * rate, factor

    def likelihood(self, offset_s: float) -> float:
        """Log likelihood that the recording stands there, over that it stands nowhere in the log."""
        rows, difference, factor = self.fit(offset_s)
        overlap_s = min(self.edge_s[-1] + offset_s, self.t_s[-1]) - max(self.edge_s[0] + offset_s, self.t_s[0])
        if len(rows) < FEWEST_SAMPLES or factor <= 0 or overlap_s < LEAST_OVERLAP_S:
            return -np.inf
        chi = float(np.mean(_square(difference / self.error[rows])))
        independent = min(len(rows), overlap_s / INDEPENDENT_S)
        return float(0.5 * independent * np.log((1.0 + self.spread) / (1.0 + chi)))


def match(t_s: Array, rpm: Array, edge_s: Array, half_width_s: float = 0.0) -> Place | Refused:
    """Place a crank recording on the axis of a log.

    Parameters
    ----------
    t_s, rpm : (n,) engine speed of the log, ascending times, finite values
    edge_s : (m,) edges of one flank of the crank sensor on the recording's own axis, s, ascending
    half_width_s : half of the time between request and answer of the log's values, s
    """
    if min(len(t_s), len(edge_s)) < FEWEST_SAMPLES or min(np.ptp(t_s), np.ptp(edge_s)) < LEAST_OVERLAP_S:
        return Refused(Refusal.SHORT)
    if max(np.ptp(t_s), np.ptp(edge_s)) > LONGEST_S:
        return Refused(Refusal.LONG)
    pair = _pair(t_s, rpm, edge_s, half_width_s)
    tried = [_refined(pair, at) for at in _candidates(pair)]
    if not tried:
        return Refused(Refusal.UNLIKE if pair.spread > 1.0 else Refusal.STEADY)
    best_s, best = max(tried, key=lambda one: one[1])
    fine_s = best_s + np.arange(-WIDEST_S, WIDEST_S + FINE_STEP_S / 2, FINE_STEP_S)
    behind = best - np.array([pair.likelihood(at) for at in fine_s])
    low_s, high_s = _around(fine_s, behind, best_s, CLEAR)
    why = _unfit(pair, best_s)
    if why is None and high_s - low_s > WIDEST_S:
        why = Refusal.STEADY
    rivals = {round(at, 1) for at, value in tried if value > best - CLEAR and not low_s <= at <= high_s}
    if why is None and rivals:
        why = Refusal.AMBIGUOUS
    if why is not None:
        return Refused(why, tuple(sorted({*rivals, round(best_s, 1)})) if why is Refusal.AMBIGUOUS else ())
    rows, difference, factor = pair.fit(best_s)
    low_s, high_s = _around(fine_s, behind, best_s, HALF_LOG_95)
    return Place(
        best_s, low_s - half_width_s - REPORTED_LATE_S, high_s + half_width_s, factor,
        float(np.sqrt(np.mean(difference**2))), float(np.ptp(pair.t_s[rows])),
    )  # fmt: skip


def unlike_at(t_s: Array, rpm: Array, edge_s: Array, offset_s: float, half_width_s: float = 0.0) -> bool:
    """Whether the speeds differ where a clock puts the recording, so that one of the two clocks must be wrong.

    Parameters
    ----------
    t_s, rpm, edge_s, half_width_s : as of ``match``
    """
    if min(len(t_s), len(edge_s)) < FEWEST_SAMPLES or max(np.ptp(t_s), np.ptp(edge_s)) > LONGEST_S:
        return False
    overlap_s = min(edge_s[-1] + offset_s, t_s[-1]) - max(edge_s[0] + offset_s, t_s[0])
    if overlap_s < LEAST_OVERLAP_S:
        return False
    pair = _pair(t_s, rpm, edge_s, half_width_s)
    around_s = np.arange(-half_width_s - 2 * TIME_ERROR_S, half_width_s + REPORTED_LATE_S + TIME_ERROR_S, TIME_ERROR_S)
    return all(_unfit(pair, offset_s + at) is Refusal.UNLIKE for at in around_s.tolist())


def _pair(t_s: Array, rpm: Array, edge_s: Array, half_width_s: float) -> _Pair:
    """Both recordings, with the error that each sample of the log may have."""
    t_s, first = np.unique(t_s, return_index=True)
    rpm = rpm[first]
    error = np.hypot(RPM_ERROR + SHARE_ERROR * rpm, np.gradient(rpm, t_s) * max(half_width_s, TIME_ERROR_S))
    spread = float(np.mean(_square((rpm - np.average(rpm, weights=error**-2)) / error)))
    return _Pair(t_s, rpm, error, edge_s, spread, float(np.median(np.diff(t_s))))


def _square(parts: Array) -> Array:
    """Squares of differences in parts of their errors; a lost edge counts only so much."""
    return np.minimum(parts**2, WORST_SAMPLE)


def _candidates(pair: _Pair) -> list[float]:
    """Offsets at which an even grid fits best, the best first."""
    begin_s, end_s = pair.t_s[0], pair.t_s[-1]
    grid_s = np.arange(begin_s, end_s, STEP_S)
    right = np.clip(np.searchsorted(pair.t_s, grid_s), 1, len(pair.t_s) - 1)
    known = pair.t_s[right] - pair.t_s[right - 1] <= LONGEST_GAP_S
    weight = np.where(known, 1.0, 0.0) / (np.interp(grid_s, pair.t_s, pair.error) ** 2)
    rpm = np.interp(grid_s, pair.t_s, pair.rpm)
    own_s = np.arange(pair.edge_s[0], pair.edge_s[-1], STEP_S)
    rate = pair.rate(own_s)
    there = np.isfinite(rate).astype(np.float64)
    rate = np.nan_to_num(rate)
    size = 1 << int(np.ceil(np.log2(len(grid_s) + len(own_s))))
    of_log = {name: np.fft.rfft(x, size) for name, x in
              (("n", known * 1.0), ("w", weight), ("wb", weight * rpm), ("wbb", weight * rpm**2))}  # fmt: skip
    of_own = [np.conj(np.fft.rfft(x, size)) for x in (there, rate, rate**2)]

    def products(name: str, power: int) -> Array:
        return np.fft.irfft(of_log[name] * of_own[power], size)

    number, own_power = products("n", 0), products("w", 2)
    with np.errstate(invalid="ignore", divide="ignore"):
        chi = (products("wbb", 0) - products("wb", 1) ** 2 / own_power) / number
        value = 0.5 * number * STEP_S / INDEPENDENT_S * np.log((1.0 + pair.spread) / (1.0 + np.maximum(chi, 0.0)))
    value[~np.isfinite(value) | (number * STEP_S < LEAST_OVERLAP_S)] = -np.inf
    around = np.maximum(np.roll(value, 1), np.roll(value, -1))
    top = np.flatnonzero((value >= around) & (value > 0.0))
    top = top[np.argsort(-value[top])][:MOST_PLACES]
    lag = np.where(top > size // 2, top - size, top)
    # a negative lag wraps only where the recording is the longer one: both readings of a wrapped lag are tried
    lags = np.unique(np.concatenate([top, lag]))
    lags = lags[(lags > -len(own_s)) & (lags < len(grid_s))]
    return list(begin_s - pair.edge_s[0] + lags * STEP_S)


def _refined(pair: _Pair, offset_s: float) -> tuple[float, float]:
    """The best offset within a step of a candidate and its likelihood."""
    at = offset_s + np.arange(-STEP_S, STEP_S + 0.001, 2 * FINE_STEP_S)
    values = [pair.likelihood(one) for one in at]
    best = int(np.argmax(values))
    return float(at[best]), values[best]


def _around(offset_s: Array, behind: Array, best_s: float, most: float) -> tuple[float, float]:
    """Ends of the unbroken stretch around the best offset that is at most so far behind it."""
    worse = np.flatnonzero(behind > most)
    at = int(np.argmin(np.abs(offset_s - best_s)))
    left, right = worse[worse < at], worse[worse > at]
    return (
        float(offset_s[left[-1]]) if len(left) else float(offset_s[0]),
        float(offset_s[right[0]]) if len(right) else float(offset_s[-1]),
    )


def _unfit(pair: _Pair, offset_s: float) -> Refusal | None:
    """Why the best place says nothing: no speed that moved, or speeds that differ."""
    rows, difference, _ = pair.fit(offset_s)
    if not len(rows):
        return Refusal.UNLIKE
    rpm, error = pair.rpm[rows], pair.error[rows]
    chi = _square(difference / error)
    if np.mean(chi) > WORST_FIT:
        return Refusal.UNLIKE
    moving = np.abs(rpm - np.median(rpm)) > MOVING * (RPM_ERROR + SHARE_ERROR * rpm)
    step_s = pair.step_s * max(1, (rows[-1] - rows[0]) // max(len(rows) - 1, 1))
    if np.count_nonzero(moving) < FEWEST_MOVING or np.count_nonzero(moving) * step_s < LEAST_MOVING_S:
        return Refusal.STEADY
    return Refusal.UNLIKE if np.mean(chi[moving]) > WORST_FIT else None
