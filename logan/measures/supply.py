"""Fuel supply pressure under load: the lowest value that lasted."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.robust import mad_sigma
from logan.measures.align import longest_gap_s, near, period_s, sources, step_of
from logan.measures.conditions import UNDER_LOAD_PERCENT
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

NAME: Final = "supply_pressure_min_kpa_gauge"
LASTS_S: Final = 1.0
MOST_MEMORY: Final = 0.5
"""Neighbours alike beyond this autocorrelation are alike because the pressure is (assumed)."""
SENSOR_SHARE: Final = 0.005
"""Standard uncertainty of a pressure sensor, share of its value (assumed)."""

Array = NDArray[np.float64]


@gives(NAME, needs=("fuel_supply_pressure", "calculated_load"))
def supply_pressure(record: Record) -> Results:
    """Lowest level that the pressure keeps to, or stays below, for a second while the load is high.

    Noise makes the lowest of many equal seconds low by chance: every second that noise does not tell from the lowest
    counts with it.
    """
    pressure, load = record.channels.best["fuel_supply_pressure"], record.channels.best["calculated_load"]
    runs = loaded_runs(pressure, load)
    seconds = [_seconds(t_s, value) for t_s, value in runs]
    level = np.concatenate([found[0] for found in seconds]) if seconds else np.zeros(0)
    if not len(level):
        highest = float(np.nanmax(load.value)) if np.isfinite(load.value).any() else 0.0
        why = (
            f"the load never stayed at {UNDER_LOAD_PERCENT:.0f} % for {LASTS_S:.0f} s while the supply pressure was "
            f"recorded (highest load {highest:.0f} %)"
        )
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    begin, end, highest_in, count, slope = (np.concatenate([found[k] for found in seconds]) for k in range(1, 6))
    lowest = int(np.argmin(level))
    white, remembering = _noise([value for _, value in runs])
    statistical = remembering / float(np.sqrt(count[lowest]))
    resolution = step_of(pressure) / np.sqrt(12.0)
    # between two values, and between two of the load, the pressure goes on
    unseen = abs(slope[lowest]) * np.hypot(period_s(pressure), period_s(load)) / np.sqrt(12.0)
    systematic = float(np.linalg.norm([resolution, unseen, SENSOR_SHARE * abs(level[lowest])]))
    alike = level <= level[lowest] + 3.0 * white / np.sqrt(count[lowest])
    value = float(np.mean(level[alike]))
    half = 1.96 * float(np.hypot(statistical, systematic))
    yield Measure(
        name=NAME, unit="kPa", value=value, low=min(float(level[lowest]), value - half),
        high=max(float(np.min(highest_in)), value + half), n=sum(len(value) for _, value in runs),
        provenance=sources([pressure, load], [(float(t_s[0]), float(t_s[-1])) for t_s, _ in runs],
                           f"lowest from {begin[lowest]:.1f} to {end[lowest]:.1f} s"),
        statistical=statistical, systematic=systematic,
    )  # fmt: skip


def loaded_runs(channel: Channel, load: Channel) -> list[tuple[Array, Array]]:
    """Unbroken stretches of a channel's values during which the load is high, times and values."""
    t_s, value = channel.finite()
    high = near(load, t_s) >= UNDER_LOAD_PERCENT
    if not len(t_s) or not high.any():
        return []
    cut = np.flatnonzero((np.diff(high.astype(int)) != 0) | (np.diff(t_s) > longest_gap_s(channel))) + 1
    pieces = zip(np.split(t_s, cut), np.split(value, cut), np.split(high, cut), strict=True)
    return [(t, v) for t, v, h in pieces if h[0]]


def _noise(runs: list[Array]) -> tuple[float, float]:
    """Standard deviation of the noise taken as independent, and of independent noise that scatters a mean as this does.

    For noise with autocorrelation r from value to value the variances of second and first differences stand as 3 - r.
    """
    once, twice = (np.concatenate([np.diff(value, k) for value in runs]) for k in (1, 2))
    if not len(twice):
        return 0.0, 0.0
    first, second = mad_sigma(once) ** 2, mad_sigma(twice) ** 2
    r = float(np.clip(3.0 - second / max(first, 1e-12), 0.0, MOST_MEMORY))
    return float(np.sqrt(0.5 * first)), float(np.sqrt(0.5 * first * (1.0 + r)) / (1.0 - r))


def _seconds(t_s: Array, value: Array) -> tuple[Array, Array, Array, Array, Array, Array]:
    """Level, begin, end, highest value, count and slope of each shortest stretch that lasts long enough, (w,) each.

    The level is the higher end of a straight line through the stretch: what a falling or rising pressure stays below.
    """
    last = np.searchsorted(t_s, t_s + LASTS_S - 1e-6)
    first = np.flatnonzero(last < len(t_s))
    last = last[first]
    count = (last - first + 1).astype(float)
    # maxima of pairs, of fours, of eights ..: two of them cover any stretch
    tables = [value]
    while 2 ** len(tables) <= count.max(initial=1.0):
        half = 2 ** (len(tables) - 1)
        tables.append(np.maximum(tables[-1][:-half], tables[-1][half:]))
    power = np.floor(np.log2(count)).astype(int)
    highest = np.zeros(len(first))
    for k in np.unique(power).tolist():
        at = power == k
        highest[at] = np.maximum(tables[k][first[at]], tables[k][last[at] - 2**k + 1])

    def total(x: Array) -> Array:
        sums: Array = np.concatenate([[0.0], np.cumsum(x)])
        out: Array = sums[last + 1] - sums[first]
        return out

    since = t_s - t_s[0] if len(t_s) else t_s
    mean, middle = total(value) / count, total(since) / count
    slope = (total(since * value) / count - middle * mean) / np.maximum(total(since**2) / count - middle**2, 1e-12)
    reach = np.where(slope > 0.0, since[last] - middle, middle - since[first])
    level = np.minimum(mean + np.abs(slope) * reach, highest)
    return level, t_s[first], t_s[last], highest, count, slope
