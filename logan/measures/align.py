"""Actual against commanded: two channels brought onto common instants, and steady plateaus taken from them.

A command and its actual value may be polled one after the other or broadcast together. The difference is formed at the
instants of the actual value against the interpolated command; what a lag of the follower or of the polling can feign
is kept beside it, so that steady rows can be told from transients.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.hysteresis import lagged
from logan.dsp.robust import MAD_TO_SD
from logan.model.channel import Channel
from logan.model.measure import Measure, Provenance

PLATEAU_S: Final = 2.0
"""Rows are averaged over this time so that they are nearly independent."""
GRID_S: Final = 0.1
FINEST_S: Final = 0.04
"""No follower or swing looked for is faster than what values every so many seconds show (25 Hz)."""
TOGETHER: Final = 0.9
"""Share of actual values with a command of the same instant from which both count as recorded together."""

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


def period_s(channel: Channel) -> float:
    """Median time between values, s; 1 for a single value."""
    t, _ = channel.finite()
    step = np.diff(t)
    step = step[step > 0]
    return float(np.median(step)) if len(step) else 1.0


def longest_gap_s(channel: Channel) -> float:
    """Up to which gap a channel may be interpolated: three usual periods, at least one second."""
    return max(1.0, 3.0 * period_s(channel))


def near(channel: Channel, t_s: Array) -> Array:
    """Values of a channel at other times, NaN inside gaps, (len(t_s),)."""
    return channel.at(t_s, longest_gap_s(channel))


def step_of(channel: Channel) -> float:
    """Smallest step between different values: the resolution of the numbers, 0 for a constant."""
    _, v = channel.finite()
    steps = np.diff(np.unique(np.round(v[:20000], 9)))
    return float(steps.min()) if len(steps) else 0.0


def rounding(step: float, variance: float) -> float:
    """Standard uncertainty that rounding leaves in a mean of values that scatter with a variance.

    Scatter of half a step and more averages the steps out: what stays falls off as a Gaussian of scatter over step
    (dither; Widrow 1956, from memory).
    """
    return float(step / np.sqrt(12.0) * np.exp(-(np.pi**2) * max(variance, 0.0) / step**2)) if step > 0.0 else 0.0


@dataclass(frozen=True, slots=True)
class Pair:
    """Actual and commanded values at common instants.

    Parameters
    ----------
    t_s : (n,) instants of the actual value inside the command's record, s
    actual, commanded : (n,) values there
    skew_s : by how much their times may be off against each other (half-widths of polling), standard uncertainty in s
    period_s : the longer of both sampling times, s
    apart_s : by how much a command that moves between its values may be off, s; 0 where both come at one instant
    grid_s, grid : (g,) the command on an even grid, s and value
    resolution : standard uncertainty of one difference that comes from the steps of both numbers
    """

    t_s: Array
    actual: Array
    commanded: Array
    skew_s: float
    period_s: float
    apart_s: float
    grid_s: Array
    grid: Array
    resolution: float

    @property
    def error(self) -> Array:
        """Actual minus commanded, (n,)."""
        return self.actual - self.commanded

    def off_grid(self, on_grid: Array) -> Array:
        """A series on the grid at the instants of the pair, (n,)."""
        out: Array = np.interp(self.t_s, self.grid_s, on_grid)
        return out

    def trailing(self, lag_s: float, command: Array | None = None) -> Array:
        """How far a follower with that lag is off a command (on the grid; the recorded one by default), (n,)."""
        grid = self.grid if command is None else command
        return self.off_grid(lagged(grid, GRID_S, lag_s)) - self.commanded


def pair(actual: Channel, commanded: Channel, *, finest_s: float = 0.0) -> Pair | None:
    """Bring both onto the instants of the actual value; None where they do not overlap.

    Parameters
    ----------
    finest_s : values that come faster than this are averaged to blocks of about so long
    """
    t_all, value = actual.finite()
    command = near(commanded, t_all)
    good = np.isfinite(command)
    if np.count_nonzero(good) < 2:
        return None
    t_s, value, command = t_all[good], value[good], command[good]
    # two values of one answer share their instant, whatever its half-width
    together = bool(np.mean(np.isin(t_s, commanded.finite()[0])) > TOGETHER)
    size = int(finest_s / max(float(np.median(np.diff(t_s))), 1e-6) + 0.01)
    if size > 1 and len(t_s) > 2 * size:
        starts = np.arange(0, len(t_s) - size + 1, size)
        starts = starts[t_s[starts + size - 1] - t_s[starts] < 2.0 * finest_s]
        t_s, value, command = (np.mean([x[starts + k] for k in range(size)], axis=0) for x in (t_s, value, command))
    grid_s = np.arange(t_s[0], t_s[-1] + GRID_S, GRID_S)
    steps = (step_of(actual), step_of(commanded))
    period = max(period_s(actual), period_s(commanded), size * period_s(actual))
    return Pair(
        t_s=t_s,
        actual=value,
        commanded=command,
        skew_s=0.0 if together else float(np.hypot(actual.half_width_s, commanded.half_width_s)) / np.sqrt(3.0),
        period_s=period,
        apart_s=0.0 if together else 0.5 * period,
        grid_s=grid_s,
        grid=np.interp(grid_s, *commanded.finite()),
        resolution=float(np.hypot(*steps)) / np.sqrt(12.0),
    )


@dataclass(frozen=True, slots=True)
class Windows:
    """Consecutive stretches of about two seconds: which instants fall into which.

    Parameters
    ----------
    start : (w,) first row of each window
    count : (w,) rows in it
    t_s : (w,) middle of each window, s
    width_s : length, s
    """

    start: NDArray[np.int64]
    count: NDArray[np.int64]
    t_s: Array
    width_s: float

    def mean(self, value: Array) -> Array:
        """Mean in each window, (w,)."""
        out: Array = np.add.reduceat(value, self.start) / self.count
        return out

    def middle(self, value: Array) -> Array:
        """Mean in each window after values far off its median are pulled in, (w,): robust and fine."""
        owner = np.repeat(np.arange(len(self.start)), self.count)
        order = np.lexsort((value, owner))
        median = 0.5 * (value[order][self.start + (self.count - 1) // 2] + value[order][self.start + self.count // 2])
        off = value - median[owner]
        # the mean deviation keeps coarse steps alive, of which more than half may sit on the median
        reach = max(3.0 * float(np.median(np.abs(off))) / MAD_TO_SD, 5.0 * float(np.mean(np.abs(off))))
        pulled: Array = median + self.mean(np.clip(off, -reach, reach))
        return pulled

    def spread(self, value: Array) -> Array:
        """Largest minus smallest in each window, (w,)."""
        out: Array = np.maximum.reduceat(value, self.start) - np.minimum.reduceat(value, self.start)
        return out

    def spans(self, used: Mask) -> list[tuple[float, float]]:
        """Time spans of the used windows, neighbours joined."""
        t = self.t_s[used]
        if not len(t):
            return []
        cut = np.flatnonzero(np.diff(t) > 1.6 * self.width_s)
        first, last = np.concatenate([[0], cut + 1]), np.concatenate([cut, [len(t) - 1]])
        half = 0.5 * self.width_s
        return [(round(float(t[a] - half), 3), round(float(t[b] + half), 3)) for a, b in zip(first, last, strict=True)]


def windows(t_s: Array, width_s: float) -> Windows:
    """Cut ascending instants into windows; windows with less than half of the usual number of rows are still given."""
    number = np.floor((t_s - t_s[0]) / width_s).astype(np.int64)
    start = np.concatenate([[0], np.flatnonzero(np.diff(number)) + 1])
    count = np.diff(np.concatenate([start, [len(t_s)]]))
    return Windows(start, count, np.add.reduceat(t_s, start) / count, width_s)


def measure(
    name: str, unit: str, value: float, statistical: float, systematic: float, quantile: float, n: int,
    provenance: Provenance, notes: list[str] | None = None, floor: float = -np.inf,
) -> Measure:  # fmt: skip
    """A measure with the 95 % interval of its two parts (statistical times Student's factor, systematic times 1.96)."""
    half = float(np.hypot(quantile * statistical, 1.96 * systematic))
    return Measure(
        name=name, unit=unit, value=max(value, floor), low=max(value - half, floor), high=max(value + half, floor), n=n,
        provenance=provenance, statistical=statistical, systematic=systematic, notes=notes or [],
    )  # fmt: skip


def sources(channels: list[Channel | None], spans: list[tuple[float, float]], note: str = "") -> Provenance:
    """Provenance of a measure."""
    present = [channel for channel in channels if channel is not None]
    files = list(dict.fromkeys(channel.file for channel in present if channel.file))
    return Provenance(files=files, channels=[channel.name for channel in present], spans_s=spans, note=note)
