"""Injection timing: which part of actual minus commanded is fixed, and which goes with speed, load, time or direction.

``e = static - 0.006 N delay + load * q + drift * t + temperature * (T - T0) + hysteresis * side / 2 + lag``, fitted
jointly and robustly on steady plateaus. The static part is referred to zero speed, no load, the start of the record and
the record's median temperature. A term that this drive cannot separate is reported missing with the reason; its weak
physical prior then widens the others instead of poisoning them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import Decomposition, decompose, inflation
from logan.measures.align import FINEST_S, measure, pair, sources
from logan.measures.perhaps import lacking
from logan.measures.registry import Results, all_missing, gives
from logan.measures.timing_follower import Follower, follow
from logan.measures.timing_rows import FEW_ROWS, Rows, plateaus, running_mask, slow_terms, stuck, without_authority
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record
from logan.units import DEG_PER_RPM_S

PRIOR_DELAY_MS: Final = 0.5
PRIOR_LOAD_DEG: Final = 3.0
PRIOR_DRIFT_DEG_PER_MIN: Final = 2.0
PRIOR_TEMPERATURE_DEG_PER_K: Final = 0.03
PRIOR_HYSTERESIS_DEG: Final = 4.0
SPEED_RATIO: Final = 1.5  # from which a delay is reported
ONE_SPEED: Final = 1.15  # up to which a record holds one speed and its unrest
LOAD_SPAN_PERCENT: Final = 15.0
DRIFT_S: Final = 90.0
TEMPERATURE_SPAN_K: Final = 10.0
FEWEST_ROWS: Final = 5
TOLD: Final = 0.3  # a term is told apart where its uncertainty falls to this share of its prior
STATIC_LIMIT_DEG: Final = 3.0
UNKNOWN_LOAD: Final = 0.3  # usual load where none was recorded, share of full load
FLOOR: Final = {"static": 0.04, "delay": 0.003, "load": 0.03, "drift": 0.001, "hysteresis": 0.03}
"""What the model and the module's own angle are trusted to, in the unit of each term: the teeth that it measures with
are off by 0.02 to 0.1 deg (tooth pitch tolerance, from memory), and that does not average out."""
KIND_SHARE: Final = (0.08, 0.4)
"""How much of the step from the narrowest to the widest play tried stands for one standard uncertainty."""
SHAPE_SHARE: Final = 0.08
"""By how much a hysteresis told from the moves may be off for the shape of its turn, share (assumed)."""
FOLLOWS: Final = 0.5
"""Share of its command's travel below which actual timing may stand still in a wide play (assumed)."""
WIDE_PLAY: Final = (
    "not separable: a play as wide as the command's travel and an error that goes with speed or load look alike"
)
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
    """The fitted model: where each term stands among the columns (absent where the record gives no ground for it).

    ``shared`` is the standard uncertainty of each coefficient from what rows have in common: rounding, and the kind of
    hysteresis (backlash or friction), which is not known.
    """

    fit: Decomposition
    column: dict[str, int]
    mean: Array
    inflation: dict[str, float]
    used: Mask
    shared: Array
    notes: tuple[str, ...]

    def term(self, name: str) -> tuple[float, float, float]:
        """Value, noise and prior standard uncertainty of one term."""
        point = np.zeros(len(self.fit.value))
        point[self.column[name]] = 1.0
        return self.fit.at(point)

    def doubt(self, name: str) -> float:
        """Standard uncertainty of one term."""
        return float(np.hypot(*self.term(name)[1:]))


@gives(*NAMES, "timing_error_mean_deg", "timing_response_lag_s", needs=NEEDS)
def timing_error(record: Record) -> Results:
    """All parts of the timing error."""
    every = (*NAMES, "timing_error_mean_deg", "timing_response_lag_s")
    joined = pair(record.channels.best[NEEDS[0]], record.channels.best[NEEDS[1]], finest_s=FINEST_S)
    if joined is None:
        yield from all_missing(every, "commanded and actual timing were not recorded at the same time")
        return
    follower = follow(joined, running_mask(record, joined.t_s), slow_terms(record, joined.t_s))
    rows = plateaus(record, joined, follower)
    used = rows.running & rows.steady if rows is not None else np.zeros(0, bool)
    if rows is None or np.count_nonzero(used) < FEWEST_ROWS:
        yield from all_missing(every, f"only {np.count_nonzero(used)} steady stretches of 2 s with the engine running")
        return
    channels = [record.channels.get(name) for name in (*NEEDS, "calculated_load", "timing_actuator_duty")]
    if stuck(rows, used):
        yield from all_missing(every, "actual timing stands still while its command moves: no error to split up")
        return
    model = fit_model(rows, used, follower)
    provenance = sources(channels, rows.windows.spans(model.used), "steady plateaus of about 2 s")
    yield _mean(model, provenance)
    yield _lag(follower, sources(channels[:2], rows.windows.spans(rows.running & ~rows.steady)), joined.period_s)
    yield from _terms(model, rows, follower, provenance, lacking(["calculated_load"], record.channels))


def fit_model(rows: Rows, used: Mask, follower: Follower) -> Model:
    """Fit the model to the steady rows that still have authority."""
    ended = without_authority(rows, used)
    free = used & ~ended
    if ended.any() and np.count_nonzero(free) >= max(FEW_ROWS, np.count_nonzero(ended) / 2):
        trial = _fit(rows, free, follower)
        apart = float(np.median(rows.error[ended])) - float(np.median(rows.error[free] - trial.fit.residual))
        if abs(apart) > max(0.5, 3.0 * trial.fit.noise_sd):
            note = (
                f"{np.count_nonzero(ended)} of {np.count_nonzero(used)} plateaus stand at the end of the actuator's "
                f"reach and are left out; there the error differs by {apart:+.1f} deg"
            )
            return replace(trial, notes=(*trial.notes, note))
    return _fit(rows, used, follower)


def _fit(rows: Rows, used: Mask, follower: Follower) -> Model:
    """The joint fit on some rows; the delay is left out where these rows cannot tell it from the fixed part."""
    terms = _columns(rows, used, follower)
    model = _fit_columns(rows, used, terms, follower=follower)
    slow, fast = _span(rows.speed[used])
    if model.doubt("delay") > TOLD * PRIOR_DELAY_MS or fast < ONE_SPEED * slow:
        del terms["delay"]
        return _fit_columns(rows, used, terms, follower=follower)
    return model


def _columns(rows: Rows, used: Mask, follower: Follower) -> dict[str, tuple[Array, float]]:
    """Terms that the record gives ground for: column and prior standard deviation of each."""
    t_min = (rows.t_s[used] - rows.t_s[0]) / 60.0
    terms: dict[str, tuple[Array, float]] = {
        "static": (np.ones(len(t_min)), np.inf),
        "delay": (-DEG_PER_RPM_S * 1e-3 * rows.speed[used], PRIOR_DELAY_MS),
        "drift": (t_min, PRIOR_DRIFT_DEG_PER_MIN),
    }
    if rows.load is not None:
        terms["load"] = (rows.load[used] / 100.0, PRIOR_LOAD_DEG)
    if rows.temperature is not None:
        warmth = rows.temperature[used]
        if np.ptp(np.percentile(warmth, [5.0, 95.0])) >= TEMPERATURE_SPAN_K:
            terms["temperature"] = (warmth - np.median(warmth), PRIOR_TEMPERATURE_DEG_PER_K)
    if np.isfinite(follower.lag_sd_s):
        terms["lag"] = (rows.by_lag[used], max(3.0 * follower.lag_sd_s, 0.1, 0.2 * follower.lag_s))
    side = rows.sides[0][used]
    if follower.size_deg > 0.0:
        terms["hysteresis"] = (0.5 * side, float(np.hypot(follower.size_sd_deg, SHAPE_SHARE * follower.size_deg)))
    elif min(np.count_nonzero(side > 0.6), np.count_nonzero(side < -0.6)) >= 3:
        terms["hysteresis"] = (0.5 * side, PRIOR_HYSTERESIS_DEG)
    return terms


def _fit_columns(rows: Rows, used: Mask, terms: dict[str, tuple[Array, float]], *, follower: Follower) -> Model:
    """The joint fit with these terms; the prior of the hysteresis stands about what the moves told."""
    column = {name: k for k, name in enumerate(terms)}
    base = np.column_stack([values for values, _ in terms.values()])
    told = np.array([follower.size_deg if name == "hysteresis" else 0.0 for name in terms])
    shapes = [(1.0, base)]
    notes: tuple[str, ...] = ()
    if rows.load is None:
        notes = ("load was not recorded: a part that grows with load stays in the others",)
    else:
        load = rows.load[used] / 100.0
        seen = [(k, b) for k, b in _KNEES if np.count_nonzero(load > k + 0.15) >= FEWEST_ROWS or k == 0.0]
        shapes = [
            (belief, _replaced(design, column["load"], np.clip((load - knee) / (1.0 - knee), 0.0, None)))
            for knee, belief in seen
            for _, design in shapes
        ]
    fit = decompose(rows.error[used] - base @ told, rows.t_s[used], shapes, np.array([sd for _, sd in terms.values()]))
    fit = replace(fit, value=fit.value + told)
    vif = inflation(base[:, 1:])
    # rows at one commanded value share their rounding
    shared = fit.shared(rows.commanded[used], max(0.1, 3.5 * rows.rounding), rows.rounding)
    if "hysteresis" in column:
        _, sooner, later = rows.sides
        other_kind = 0.5 * fit.value[column["hysteresis"]] * (later - sooner)[used]
        share = float(np.clip(1.5 * follower.width_sd_share, *KIND_SHARE)) if follower.size_deg > 0.0 else KIND_SHARE[1]
        shared = np.hypot(shared, share * np.abs(fit.hat @ other_kind))
    inflated = {name: float(vif[k - 1]) for name, k in column.items() if k}
    return Model(fit, column, base.mean(axis=0), inflated, used, shared, notes)


def _replaced(design: Array, at: int, column: Array) -> Array:
    """A design with one column changed."""
    out = design.copy()
    out[:, at] = column
    return out


def _not_separable(model: Model, rows: Rows, follower: Follower, no_load: str) -> dict[str, str]:
    """Terms that this drive cannot tell, and why; ``no_load`` is why where load was not recorded."""
    used = model.used
    out: dict[str, str] = {}
    slow, fast = _span(rows.speed[used])
    if "delay" not in model.column or fast < SPEED_RATIO * slow:
        out["delay"] = f"not separable: offset or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    if rows.load is None:
        out["load"] = no_load
    else:
        low, high = _span(rows.load[used])
        if high - low < LOAD_SPAN_PERCENT:
            out["load"] = f"not separable: load only from {low:.0f} to {high:.0f} %"
        elif model.doubt("load") > TOLD * PRIOR_LOAD_DEG:
            inflated = model.inflation["load"]
            out["load"] = f"not separable: load goes with speed or time here (variance inflation {inflated:.0f})"
    span_s = float(np.ptp(rows.t_s[used]))
    if span_s < DRIFT_S:
        out["drift"] = f"not separable: only {span_s:.0f} s of steady running, a drift needs {DRIFT_S:.0f} s and more"
    elif model.doubt("drift") > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        inflated = model.inflation["drift"]
        out["drift"] = f"not separable: time goes with speed, load or warm-up here (variance inflation {inflated:.0f})"
    if "hysteresis" not in model.column:
        out["hysteresis"] = "not separable: the command was not held steady after moves in both directions"
    elif _may_stand_still(rows, used, follower):
        out["hysteresis"] = WIDE_PLAY
    elif model.doubt("hysteresis") > TOLD * PRIOR_HYSTERESIS_DEG:
        out["hysteresis"] = "not separable: too few steady holds after moves in both directions"
    return out


def _may_stand_still(rows: Rows, used: Mask, follower: Follower) -> bool:
    """Whether a play that the command hardly takes up would explain the record as well."""
    commanded, actual = (float(np.ptp(np.percentile(x[used], [5.0, 95.0]))) for x in (rows.commanded, rows.actual))
    return follower.wide or (follower.size_deg == 0.0 and actual < FOLLOWS * commanded)


def _terms(
    model: Model, rows: Rows, follower: Follower, provenance: Provenance, no_load: str
) -> Iterator[Measure | Missing]:
    """The terms, each as a measure or as not separable."""
    unseen = _not_separable(model, rows, follower, no_load)
    n = int(model.used.sum())
    for term, name in zip(("static", "delay", "load", "drift", "hysteresis"), NAMES, strict=True):
        if term in unseen:
            yield Missing(measure=name, why=unseen[term], capture_hint="")
            continue
        value, noise, prior = model.term(term)
        notes = list(model.notes)
        systematic = [prior, model.shared[model.column[term]], FLOOR[term]]
        if term == "static":
            if "delay" not in model.column:
                systematic.append(DEG_PER_RPM_S * 1e-3 * PRIOR_DELAY_MS * float(np.mean(rows.speed[model.used])))
                allowed = f"the interval allows for a delay of 0 +- {2 * PRIOR_DELAY_MS:g} ms, an assumption"
                notes.append(f"{unseen['delay']}: {allowed}")
            if rows.load is None:
                systematic.append(PRIOR_LOAD_DEG * UNKNOWN_LOAD)
            if np.hypot(noise, np.linalg.norm(systematic)) > STATIC_LIMIT_DEG:
                why = unseen.get("delay", "not separable: too few steady rows")
                yield Missing(measure=name, why=why, capture_hint="")
                continue
        if term == "hysteresis":
            systematic.append(0.05 * abs(value))
        unit = "ms" if term == "delay" else "deg/min" if term == "drift" else "deg"
        total = float(np.linalg.norm(systematic))
        yield measure(name, unit, value, noise, total, model.fit.quantile(), n, provenance, notes)


def _span(value: Array) -> tuple[float, float]:
    """Range that a record holds, but for its rarest values."""
    low, high = np.percentile(value, [3.0, 97.0])
    return float(low), float(high)


def _mean(model: Model, provenance: Provenance) -> Measure:
    """Error at the mean of all conditions met: told even where its parts are not."""
    value, noise, prior = model.fit.at(model.mean)
    systematic = float(np.linalg.norm([prior, model.shared[0], FLOOR["static"]]))
    n = int(model.used.sum())
    return measure("timing_error_mean_deg", "deg", value, noise, systematic, model.fit.quantile(), n, provenance)


def _lag(follower: Follower, provenance: Provenance, period_s: float) -> Measure | Missing:
    """Time constant with which actual timing follows its command."""
    name = "timing_response_lag_s"
    if not np.isfinite(follower.lag_sd_s) or follower.moves < 2:
        why = "the command did not move enough: steady running carries no delay"
        return Missing(measure=name, why=why, capture_hint="")
    if follower.wide:
        return Missing(measure=name, why=WIDE_PLAY, capture_hint="")
    if follower.lag_sd_s > 0.5:
        return Missing(measure=name, why="too few quick moves of the command to tell a delay", capture_hint="")
    systematic = float(np.linalg.norm([0.1 * period_s / np.sqrt(follower.moves), 0.1 * follower.lag_s, 0.015]))
    noise, moves = follower.lag_sd_s, follower.moves
    return measure(name, "s", follower.lag_s, noise, systematic, 1.96, moves, provenance, floor=0.0)
