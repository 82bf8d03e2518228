"""Fuel supply pressure under load: the lowest value that lasted."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.robust import mad_sigma
from logan.measures.align import longest_gap_s, near, sources, step_of
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

NAME: Final = "supply_pressure_min_kpa_gauge"
LOAD_PERCENT: Final = 60.0
LASTS_S: Final = 1.0
SENSOR_SHARE: Final = 0.005
"""Standard uncertainty of a pressure sensor, share of its value (assumed)."""

Array = NDArray[np.float64]


@gives(NAME, needs=("fuel_supply_pressure", "calculated_load"))
def supply_pressure(record: Record) -> Results:
    """Lowest mean over a second while the load is high; at most the highest value within such a second."""
    pressure, load = record.channels.best["fuel_supply_pressure"], record.channels.best["calculated_load"]
    runs = loaded_runs(pressure, load)
    windows = [window for t_s, value in runs for window in _windows(t_s, value)]
    if not windows:
        highest = float(np.nanmax(load.value)) if np.isfinite(load.value).any() else 0.0
        why = (
            f"the load never stayed at {LOAD_PERCENT:.0f} % for {LASTS_S:.0f} s while the supply pressure was recorded "
            f"(highest load {highest:.0f} %)"
        )
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    lowest, _, count, begin, end = min(windows)
    noise = mad_sigma(np.concatenate([np.diff(value) for _, value in runs])) / np.sqrt(2.0)
    statistical = float(noise / np.sqrt(count))
    systematic = float(np.hypot(step_of(pressure) / np.sqrt(12.0), SENSOR_SHARE * abs(lowest)))
    # the lowest of many equal seconds is low by chance: what noise does not tell from it counts with it
    alike = [window[0] for window in windows if window[0] <= lowest + 3.0 * statistical]
    value = float(np.mean(alike))
    half = 1.96 * float(np.hypot(statistical, systematic))
    yield Measure(
        name=NAME, unit="kPa", value=value, low=min(lowest, value - half),
        high=max(min(window[1] for window in windows), value + half), n=sum(len(value) for _, value in runs),
        provenance=sources([pressure, load], [(float(t_s[0]), float(t_s[-1])) for t_s, _ in runs],
                           f"lowest from {begin:.1f} to {end:.1f} s"),
        statistical=statistical, systematic=systematic,
    )  # fmt: skip


def loaded_runs(channel: Channel, load: Channel) -> list[tuple[Array, Array]]:
    """Unbroken stretches of a channel's values during which the load is high, times and values."""
    t_s, value = channel.finite()
    high = near(load, t_s) >= LOAD_PERCENT
    if not len(t_s) or not high.any():
        return []
    cut = np.flatnonzero((np.diff(high.astype(int)) != 0) | (np.diff(t_s) > longest_gap_s(channel))) + 1
    pieces = zip(np.split(t_s, cut), np.split(value, cut), np.split(high, cut), strict=True)
    return [(t, v) for t, v, h in pieces if h[0]]


def _windows(t_s: Array, value: Array) -> list[tuple[float, float, int, float, float]]:
    """Mean, highest value, count, begin and end of each shortest stretch that lasts long enough."""
    end = np.searchsorted(t_s, t_s + LASTS_S - 1e-6)
    out = []
    for a in np.flatnonzero(end < len(t_s)).tolist():
        part = value[a : end[a] + 1]
        out.append((float(part.mean()), float(part.max()), len(part), float(t_s[a]), float(t_s[end[a]])))
    return out
