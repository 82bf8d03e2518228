"""Coolant temperature at which the warm-up ends."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import stats
from logan.dsp.trend import trend
from logan.measures.align import sources, step_of
from logan.measures.electrical import RUNNING
from logan.measures.estimate import from_estimate
from logan.measures.heat import heat_made
from logan.measures.registry import Results, gives
from logan.measures.settled import joined, settled_spans, stretches
from logan.model.measure import Measure, Missing
from logan.model.record import Record

NAME: Final = "warmup_plateau_degc"
LEVEL_DEGC_PER_MIN: Final = 0.4
"""A temperature that changes by less has levelled off (common practice, no source)."""
LEVEL_S: Final = (480.0, 300.0, 180.0, 120.0)
"""How long the temperature must be level, longest first."""
SHORTEST_FIT_S: Final = 240.0
WIDEST_DEGC: Final = 15.0
"""An extrapolated plateau that may be off by more is not given."""
SENSOR_DEGC: Final = 0.5
"""Standard uncertainty beyond the steps of the value: what level means (assumed)."""

UNSEEN_SHARE: Final = 0.2
"""Of the rise seen: an extrapolated plateau that may lie further beyond was not seen to come (e^-1.6, judgement)."""
BALANCE_S: Final = 300.0
"""A temperature shows the heat of so long before (assumed)."""
FADES_SHARE: Final = 0.8
"""An engine that made less than this share of its earlier heat towards the end levels off for that (assumed)."""

WARMS_BY_DEGC: Final = 10.0
"""A record that warms up by less shows no time constant."""
AT_WORK: Final = ("tip_in", "cruise", "pull", "overrun")
WORK_SHARE: Final = 0.2
"""An idling diesel sheds more heat than it makes (common practice, no source): share of the record it must do more."""

Array = NDArray[np.float64]


@gives(NAME, needs=("coolant_temperature", "engine_speed"))
def warmup_plateau(record: Record) -> Results:
    """Mean over the last stretch in which the temperature is level; extrapolated where it still rises slowly.

    A temperature below the thermostat's counts only where the engine made the heat to go beyond. An extrapolation says
    nothing of a thermostat that has yet to open: it counts where nearly all of the rise was seen, or where it ends too
    cold whatever its interval.
    """
    channel = record.channels.best["coolant_temperature"]
    spans = settled_spans(record, *RUNNING, settle_s=0.0, trim=False)
    parts = stretches(channel, spans)
    if sum(len(part.t_s) for part in parts) < 3:
        yield Missing(measure=NAME, why="no coolant temperature while the engine runs", capture_hint="")
        return
    t_s, value = np.concatenate([part.t_s for part in parts]), joined(parts)
    if np.mean(record.states.mask(t_s, *AT_WORK)) < WORK_SHARE:
        why = "the engine hardly did more than idle, and an idling engine may stay colder than its thermostat"
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    step, open_degc = step_of(channel), record.profile.limits.thermostat_open_degc
    for length_s in LEVEL_S:
        last = t_s >= t_s[-1] - length_s
        if t_s[-1] - t_s[0] < 0.95 * length_s or np.count_nonzero(last) < 3:
            continue
        if abs(_slope(t_s[last], value[last])) * 60.0 > LEVEL_DEGC_PER_MIN:
            continue
        begin = float(t_s[last][0])
        found, (rise, most) = stats.mean(value[last]), _still_rising(t_s, value, last)
        if most - rise > WIDEST_DEGC:
            continue
        heat = heat_made(record, min(begin, float(t_s[-1]) - BALANCE_S), float(t_s[-1]))
        if found.value + rise < open_degc and not heat.enough:
            yield Missing(measure=NAME, why=heat.why(), capture_hint="")
            return
        systematic = float(np.linalg.norm([SENSOR_DEGC, step / np.sqrt(12.0), 0.5 * rise, 0.5 * (most - rise)]))
        found = replace(found, value=found.value + rise, low=found.low + rise, high=found.high + rise)
        origin = sources([channel], [(begin, float(t_s[-1]))], f"level over the last {t_s[-1] - begin:.0f} s")
        notes = [f"{rise:.1f} K added: it still rose by a little"] if rise > 0.5 else []
        yield from_estimate(NAME, "degC", found, systematic, int(np.count_nonzero(last)), origin, notes)
        return
    extrapolated = _extrapolate(t_s, value, step)
    if extrapolated is not None:
        plateau, low, high = extrapolated
        seen = high - value[-1] <= UNSEEN_SHARE * (value[-1] - value[0])
        heat = heat_made(record, float(t_s[-1]) - BALANCE_S, float(t_s[-1]))
        if plateau < open_degc and not heat.enough:
            yield Missing(measure=NAME, why=heat.why(), capture_hint="")
            return
        if not seen and (high >= open_degc or heat.made < FADES_SHARE * heat.overall):
            extrapolated = None
    if extrapolated is None:
        rate = 60.0 * _slope(t_s[-len(t_s) // 3 :], value[-len(t_s) // 3 :])
        why = (
            f"the coolant has not levelled off: {value[-1]:.0f} degC, {rate:+.1f} K a minute, after "
            f"{(t_s[-1] - t_s[0]) / 60.0:.1f} min with the engine running"
        )
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    yield Measure(
        name=NAME, unit="degC", value=plateau, low=low, high=high, n=len(value),
        provenance=sources([channel], spans, "extrapolated"), systematic=(high - low) / 3.92,
        notes=["the temperature still rises at the end of the record: the plateau is extrapolated"],
    )  # fmt: skip


def _still_rising(t_s: Array, value: Array, last: NDArray[np.bool_]) -> tuple[float, float]:
    """What an exponential approach lacks at the mean of its last stretch, and at most: mean slope times time constant.

    The time constant is how long the warm-up took until 37 % (1 / e) of its rise were left.
    """
    rising = trend(t_s[last], value[last])
    level = float(np.mean(value[last]))
    lack = level - value
    before = np.flatnonzero(lack[~last] > 0.37 * lack[0]) if lack[0] > WARMS_BY_DEGC else np.zeros(0, int)
    time_s = float(t_s[before[-1]] - t_s[0]) if len(before) else 0.0
    steepest = min(rising.high, 2.0 * LEVEL_DEGC_PER_MIN / 60.0)
    return max(rising.slope, 0.0) * time_s, max(steepest, 0.0) * time_s


def _slope(t_s: Array, value: Array) -> float:
    """Robust slope, degC/s."""
    return trend(t_s, value).slope if len(t_s) >= 3 else 0.0


def _extrapolate(t_s: Array, value: Array, step: float) -> tuple[float, float, float] | None:
    """Plateau of an exponential approach with its interval over all time constants that fit nearly as well."""
    length_s = float(t_s[-1] - t_s[0])
    if length_s < SHORTEST_FIT_S or value[-1] <= value[0]:
        return None
    n_eff = min(length_s / 20.0, float(len(value)))  # the temperature says something new every 20 s or so
    times = np.geomspace(30.0, 3.0 * length_s, 60)
    plateau, rest = np.zeros(len(times)), np.zeros(len(times))
    for k, time in enumerate(times):
        columns = np.column_stack([np.ones(len(t_s)), np.exp(-(t_s - t_s[0]) / time)])
        fit = np.linalg.lstsq(columns, value, rcond=None)[0]
        plateau[k] = fit[0]
        rest[k] = np.mean((value - columns @ fit) ** 2) + step**2 / 12.0 + SENSOR_DEGC**2
    likely = n_eff * np.log(rest / rest.min()) <= float(scipy.special.chdtri(1, 0.05))
    k = int(np.argmin(rest))
    low, high = max(float(plateau[likely].min()), float(value[-1])), float(plateau[likely].max())
    if likely[-1] or high - low > 2.0 * WIDEST_DEGC or not low <= plateau[k] <= high:
        return None
    return float(plateau[k]), low - 2.0, high + 2.0
