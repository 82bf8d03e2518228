"""Injection timing: which part of actual minus commanded is fixed, and which goes with speed, load, time or direction.

``e = static - 0.006 N delay + load * q + drift * t + temperature * (T - T0) + hysteresis * side / 2 + lag``, fitted
jointly and robustly on steady plateaus. The static part is referred to zero speed, no load, the start of the record and the
record's median temperature. A term that this drive cannot separate is reported missing with the reason; its weak
physical prior then widens the others instead of poisoning them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import Decomposition, decompose, inflation
from logan.measures.align import measure, sources
from logan.measures.registry import Results, gives
from logan.measures.timing_rows import (
    FEW_ROWS,
    Follower,
    Rows,
    follow,
    plateaus,
    running_pair,
    stuck,
    without_authority,
)
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record
from logan.units import DEG_PER_RPM_S

PRIOR_DELAY_MS: Final = 0.5
PRIOR_LOAD_DEG: Final = 3.0
PRIOR_DRIFT_DEG_PER_MIN: Final = 1.0
PRIOR_TEMPERATURE_DEG_PER_K: Final = 0.03
PRIOR_HYSTERESIS_DEG: Final = 4.0
PRIOR_TRAILING: Final = 0.5
SPEED_RATIO: Final = 1.5
LOAD_SPAN_PERCENT: Final = 15.0
DRIFT_S: Final = 180.0
TEMPERATURE_SPAN_K: Final = 10.0
FEWEST_ROWS: Final = 5
TOLD: Final = 0.3  # a term is told apart where its uncertainty falls to this share of its prior
STATIC_LIMIT_DEG: Final = 3.0
_KNEES: Final = ((0.0, 0.7), (0.3, 0.1), (0.5, 0.1), (0.7, 0.1))  # load from which the error starts, prior weight

NAMES: Final = (
    "timing_error_static_deg", "timing_error_delay_ms", "timing_error_load_deg", "timing_error_drift_deg_per_min",
    "timing_hysteresis_deg",
)  # fmt: skip
NEEDS: Final = ("injection_timing_actual", "injection_timing_commanded", "engine_speed")

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Model:
    """The fitted model: where each term stands among the columns (absent where the record gives no ground for it)."""

    fit: Decomposition
    column: dict[str, int]
    mean: Array
    inflation: dict[str, float]
    used: Mask
    quantisation: float
    notes: tuple[str, ...]


@gives(*NAMES, "timing_error_mean_deg", "timing_response_lag_s", needs=NEEDS)
def timing_error(record: Record) -> Results:
    """All parts of the timing error."""
    every = (*NAMES, "timing_error_mean_deg", "timing_response_lag_s")
    joined = running_pair(record)
    if joined is None:
        yield from _all_missing(every, "commanded and actual timing were not recorded at the same time")
        return
    follower = follow(record, joined)
    rows = plateaus(record, joined, follower)
    used = rows.running & rows.steady if rows is not None else np.zeros(0, bool)
    if rows is None or np.count_nonzero(used) < FEWEST_ROWS:
        yield from _all_missing(every, f"only {np.count_nonzero(used)} steady stretches of 2 s with the engine running")
        return
    channels = [record.channels.get(name) for name in (*NEEDS, "calculated_load", "timing_actuator_duty")]
    if stuck(rows, used):
        yield from _all_missing(
            every, "actual timing stands still while its command moves: there is no error to split up"
        )
        return
    model = fit_model(rows, used, follower)
    provenance = sources(channels, rows.windows.spans(model.used), "steady plateaus of about 2 s")
    yield _mean(model, provenance)
    yield _lag(follower, sources(channels[:2], rows.windows.spans(rows.running & ~rows.steady)), joined.period_s)
    yield from _terms(model, rows, provenance)


def fit_model(rows: Rows, used: Mask, follower: Follower) -> Model:
    """Fit the model to the steady rows that still have authority."""
    notes: list[str] = []
    ended = without_authority(rows, used)
    free = used & ~ended
    if ended.any() and np.count_nonzero(free) >= max(FEW_ROWS, np.count_nonzero(ended) / 2):
        trial = _fit(rows, free, follower)
        apart = float(np.median(rows.error[ended])) - float(np.median(rows.error[free] - trial.fit.residual))
        if abs(apart) > max(0.5, 3.0 * trial.fit.noise_sd):
            notes.append(
                f"{np.count_nonzero(ended)} of {np.count_nonzero(used)} plateaus stand at the end of the actuator's "
                f"reach and are left out; there the error differs by {apart:+.1f} deg"
            )
            return _with_notes(trial, notes)
    return _with_notes(_fit(rows, used, follower), notes)


def _with_notes(model: Model, notes: list[str]) -> Model:
    return Model(
        model.fit, model.column, model.mean, model.inflation, model.used, model.quantisation, (*model.notes, *notes)
    )


def _fit(rows: Rows, used: Mask, follower: Follower) -> Model:
    """The joint fit on some rows."""
    t = rows.t_s[used]
    columns: list[Array] = [np.ones(len(t)), -DEG_PER_RPM_S * 1e-3 * rows.speed[used], (t - rows.t_s[0]) / 60.0]
    prior = [np.inf, PRIOR_DELAY_MS, PRIOR_DRIFT_DEG_PER_MIN]
    column = {"static": 0, "delay": 1, "drift": 2}
    notes: list[str] = []

    def add(name: str, values: Array, sd: float) -> None:
        column[name] = len(columns)
        columns.append(values)
        prior.append(sd)

    if rows.load is None:
        notes.append("load was not recorded: a part that grows with load stays in the others")
    else:
        add("load", rows.load[used] / 100.0, PRIOR_LOAD_DEG)
    if rows.temperature is not None:
        warmth = rows.temperature[used]
        if np.ptp(np.percentile(warmth, [5.0, 95.0])) >= TEMPERATURE_SPAN_K:
            add("temperature", warmth - np.median(warmth), PRIOR_TEMPERATURE_DEG_PER_K)
    if np.isfinite(follower.lag_sd_s):
        add("trailing", rows.trailing[used], PRIOR_TRAILING if follower.lag_s < 0.1 else 1.0)
    both = min(np.count_nonzero(rows.side[0][used] > 0.6), np.count_nonzero(rows.side[0][used] < -0.6)) >= 3
    if both:
        add("hysteresis", 0.5 * rows.side[0][used], PRIOR_HYSTERESIS_DEG)
    base = np.column_stack(columns)
    shapes = []
    for knee, weight in _KNEES if rows.load is not None else _KNEES[:1]:
        if knee and (rows.load is None or np.count_nonzero(rows.load[used] > 100.0 * knee + 15.0) < 5):
            continue
        for side in rows.side if both else rows.side[:1]:
            design = base.copy()
            if rows.load is not None:
                design[:, column["load"]] = np.clip((rows.load[used] / 100.0 - knee) / (1.0 - knee), 0.0, None)
            if both:
                design[:, column["hysteresis"]] = 0.5 * side[used]
            shapes.append((weight, design))
    fit = decompose(rows.error[used], t, shapes, np.array(prior))
    vif = inflation(base[:, 1:])
    levels = len(np.unique(np.round(rows.commanded[used], 1)))
    return Model(
        fit, column, base.mean(axis=0), {name: float(vif[k - 1]) for name, k in column.items() if k}, used,
        rows.resolution / np.sqrt(levels), tuple(notes),
    )  # fmt: skip


def _terms(model: Model, rows: Rows, provenance: Provenance) -> Iterator[Measure | Missing]:
    """The contract's terms, each as a measure or as not separable."""
    used = model.used
    slow, fast = np.percentile(rows.speed[used], [3.0, 97.0])
    vif = model.inflation
    told: dict[str, str] = {}
    if fast < SPEED_RATIO * slow:
        told["delay"] = f"not separable: offset or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    elif _sd(model, "delay") > TOLD * PRIOR_DELAY_MS:
        told["delay"] = (
            f"not separable: offset or delay (variance inflation {vif['delay']:.0f}, {len(model.fit.residual)} rows)"
        )
    if rows.load is None:
        told["load"] = "not in the capture: calculated_load"
    else:
        low, high = np.percentile(rows.load[used], [3.0, 97.0])
        if high - low < LOAD_SPAN_PERCENT:
            told["load"] = f"not separable: load only from {low:.0f} to {high:.0f} %"
        elif _sd(model, "load") > TOLD * PRIOR_LOAD_DEG:
            told["load"] = f"not separable: load goes with speed or time here (variance inflation {vif['load']:.0f})"
    span_s = float(np.ptp(rows.t_s[used]))
    if span_s < DRIFT_S:
        told["drift"] = f"not separable: only {span_s:.0f} s of steady running, a drift needs {DRIFT_S:.0f} s and more"
    elif _sd(model, "drift") > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        told["drift"] = (
            f"not separable: time goes with speed, load or warm-up here (variance inflation {vif['drift']:.0f})"
        )
    if "hysteresis" not in model.column:
        told["hysteresis"] = "not separable: the command was not held steady after moves in both directions"
    elif _sd(model, "hysteresis") > TOLD * PRIOR_HYSTERESIS_DEG:
        told["hysteresis"] = "not separable: too few steady holds after moves in both directions"

    for term, name in zip(("static", "delay", "load", "drift", "hysteresis"), NAMES, strict=True):
        if term in told:
            yield Missing(measure=name, why=told[term], capture_hint="")
            continue
        point = np.zeros(len(model.fit.value))
        point[model.column[term]] = 1.0
        value, noise, prior = model.fit.at(point)
        if term == "static" and np.hypot(noise, prior) > STATIC_LIMIT_DEG:
            yield Missing(measure=name, why=told.get("delay", "not separable: too few steady rows"), capture_hint="")
            continue
        notes = list(model.notes)
        if term == "static" and "delay" in told:
            notes.append(
                f"{told['delay']}: the interval allows for a delay of 0 +- {2 * PRIOR_DELAY_MS:g} ms, an assumption"
            )
        systematic = float(np.hypot(prior, model.quantisation if term == "static" else 0.0))
        unit = "ms" if term == "delay" else "deg/min" if term == "drift" else "deg"
        yield measure(name, unit, value, noise, systematic, model.fit.quantile(), int(used.sum()), provenance, notes)


def _sd(model: Model, term: str) -> float:
    point = np.zeros(len(model.fit.value))
    point[model.column[term]] = 1.0
    return float(np.hypot(*model.fit.at(point)[1:]))


def _mean(model: Model, provenance: Provenance) -> Measure:
    """Error at the mean of all conditions met: told even where its parts are not."""
    value, noise, prior = model.fit.at(model.mean)
    systematic = float(np.hypot(prior, model.quantisation))
    n = int(model.used.sum())
    return measure("timing_error_mean_deg", "deg", value, noise, systematic, model.fit.quantile(), n, provenance)


def _lag(follower: Follower, provenance: Provenance, period_s: float) -> Measure | Missing:
    """Time constant with which actual timing follows its command."""
    name = "timing_response_lag_s"
    if not np.isfinite(follower.lag_sd_s) or follower.moves < 2:
        return Missing(
            measure=name, why="the command did not move enough: steady running carries no delay", capture_hint=""
        )
    if follower.lag_sd_s > 0.5:
        return Missing(measure=name, why="too few quick moves of the command to tell a delay", capture_hint="")
    systematic = 0.1 * period_s / np.sqrt(follower.moves) + 0.01
    return measure(
        name, "s", follower.lag_s, follower.lag_sd_s, systematic, 1.96, follower.moves, provenance, floor=0.0
    )


def _all_missing(names: tuple[str, ...], why: str) -> Iterator[Missing]:
    for name in names:
        yield Missing(measure=name, why=why, capture_hint="")
