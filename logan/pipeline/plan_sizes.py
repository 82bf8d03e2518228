"""The smallest error of every measure, and the smallest size of every fault, that a planned recording would show.

Each measure has its formula in ``plan.toml``; what the measure itself allows for (floors, priors, chances) is taken
from the module that measures it, so that the plan promises what the report will state.
"""

from __future__ import annotations

import functools
import itertools
import math
from collections.abc import Callable, Mapping, Sequence, Set
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import runout, swing
from logan.dsp.decompose import student_95
from logan.knowledge import plan as plan_files
from logan.knowledge.faults import Fault
from logan.knowledge.measures import MeasureInfo
from logan.knowledge.plan import Manoeuvre, Noise, PlanData, Stretch
from logan.measures import phase, phase_terms, rail_events, registry, timing
from logan.model.plan import SmallestError, SmallestSize
from logan.model.profile import EngineProfile
from logan.planning import cylinders, precision
from logan.ranking.signs import Good, Sign, signs

Array = NDArray[np.float64]

PLATEAU_S: Final = 2.0
MOST_ROWS: Final = 80
"""Longer drives are planned in longer rows: the regression then costs little, and is no better than stated."""
USUAL_TEETH: Final = 58
USUAL_CYLINDERS: Final = 4
IDLE_RPM: Final = 800.0
BROADCAST_S: Final = 1.0
"""Taken where a control module only broadcasts a value: most come oftener (judgement)."""
QUANTILES: Final = 200
COUNTS: Final = "count"
TIMING_TERMS: Final = dict(zip(timing.NAMES, ("static", "delay", "load", "drift", "hysteresis"), strict=True))
METHODS: Final = {
    "level": "standard error of the mean of the planned readings",
    "rows": "the measure's own regression of one level on the planned rows, on fixed draws of noise",
    "spread": "standard error of a standard deviation, s / sqrt(2 (n - 1)); growth above the usual scatter",
    "extremes": "Gumbel's law of extremes; growth above the usual range",
    "swing": "false-alarm height of the periodogram (Baluev 2008), noncentral F, and the measure's search on draws",
    "count": "Poisson: Jeffreys' interval begins above what a good sensor may lose",
    "share": "binomial standard error",
    "interval": "each event is known to within a sampling period",
    "decay": "the measure's own fit of the fall on fixed draws of noise",
    "timing": "the measure's own joint regression of the planned rows, on fixed draws of noise",
    "lag": "Cramer-Rao bound for the time constant of a step response",
    "phase": "the measure's own joint regression of the planned cycles, on fixed draws of noise, with its floors",
    "ripple": "least squares of run-out and torque on the planned turns; size of a vector of two noisy parts",
    "cylinders": "the measure's own inversion of planned cycles, teeth off by the usual amount",
    "yes_or_no": "yes or no, it has no size: shown where cam edges or the slots of the wheel tell it",
}


@dataclass(frozen=True, slots=True)
class Planned:
    """What a measure would be computed on: steady stretches, seconds between readings, and the engine."""

    noise: Noise
    stretches: tuple[Stretch, ...]
    period_s: float
    profile: EngineProfile

    @property
    def seconds(self) -> float:
        """Time that counts."""
        return sum(part.seconds for part in self.stretches)

    @property
    def independent(self) -> float:
        """Readings that count as independent."""
        return self.seconds / max(self.period_s, self.noise.together_s, 1e-9)


def errors(
    every: Sequence[MeasureInfo], drive: Sequence[Manoeuvre],
    periods: Mapping[str, float], rate: float, data: PlanData, profile: EngineProfile, unseen: Set[str] = frozenset(),
) -> list[SmallestError]:  # fmt: skip
    """The smallest error of each measure.

    Parameters
    ----------
    periods : seconds between values of each channel that is asked for
    rate : requests a second, for steps in which nothing else is asked for
    data : formulas, and where channels are asked for
    unseen : channels that the interface cannot record; what needs one, and no tapped sensor tells, has no error
    """
    out = []
    for info in every:
        noise = data.noise.get(info.name)
        value, method = math.inf, "not worked out: it only tells faults apart"
        tapped = any(plan_files.named(info.name, tap) for tap in data.hookup)
        if not tapped and not unseen.isdisjoint(needed(info.name, data)):
            method = "this interface cannot see what it needs"
        elif noise is not None:
            serving = [step for step in drive if plan_files.named(info.name, step)]
            stretches = [part for step in serving for part in step.stretch if part.state in noise.during]
            alone = bool(serving) and all(step.alone for step in serving)
            planned = Planned(noise, tuple(stretches), _period(info.name, periods, rate, data, alone), profile)
            value = _FORMULAS[noise.formula](info.name, planned) if stretches else math.inf
            told = math.isfinite(value) or noise.formula == "yes_or_no"
            method = METHODS[noise.formula] if told else "these steps at this rate cannot tell it"
            method = f"{method} ({noise.source})"
        shown = float(f"{value:.3g}") if math.isfinite(value) else None
        out.append(SmallestError(measure=info.name, title=info.title, unit=info.unit, value=shown, method=method))
    return out


def _period(name: str, periods: Mapping[str, float], rate: float, data: PlanData, alone: bool) -> float:
    """Seconds between readings: of the slowest channel that is asked for; 0 for what only a sensor recording tells."""
    asked = [channel for channel in needed(name, data) if channel in periods]
    if alone:
        return max(len({data.pid[channel] for channel in asked}), 1) / rate
    recorded = any(rule.sensors and name in rule.gives for rule in registry.rules())
    return max((periods[channel] for channel in asked), default=0.0 if recorded else BROADCAST_S)


def needed(name: str, data: PlanData) -> list[str]:
    """Channels that a measure needs: as its rules declare, else as the plan's data say."""
    rules = [rule for rule in registry.rules() if not rule.sensors and name in rule.gives]
    return list(dict.fromkeys([*data.needs.get(name, []), *(c for rule in rules for c in rule.needs)]))


def sizes(
    wanted: Sequence[Fault], profile: EngineProfile, good: Mapping[str, Good], found: Sequence[SmallestError],
    noises: Mapping[str, Noise],
) -> list[SmallestSize]:  # fmt: skip
    """The smallest size of each fault, by the main sign that shows most of its usual sizes."""
    by_name = {one.measure: one for one in found}
    out = []
    for fault in wanted:
        bound = {name: sign for name, sign in signs(fault, profile)[0].items() if sign.main}
        names = list(dict.fromkeys(e.measure for e in fault.expect if e.main and e.measure in by_name))
        shown = [_size(fault, by_name[n], bound.get(n), good.get(n), noises[n].formula) for n in names if n in noises]
        if shown:
            out.append(max(shown, key=lambda one: (one.share or 0.0, one.value is not None)))
    return out


def _size(fault: Fault, error: SmallestError, sign: Sign | None, good: Good | None, formula: str) -> SmallestSize:
    """The true value that lies past the limit by the smallest error, and how many of the usual sizes reach it."""
    value, limit, share, either = error.value, None, None, False
    if formula == "yes_or_no":
        share = sign.share if sign is not None else None
    elif value is None:
        share = 0.0
    elif sign is not None and good is not None and good.zone is not None:
        usual = sign.expect.quantiles((np.arange(QUANTILES) + 0.5) / QUANTILES)
        low, high = (float(np.square(edge)) if good.count else edge for edge in good.zone)
        either = bool(np.mean(usual < low) > 0.2 and np.mean(usual > high) > 0.2)
        upwards = either or float(np.median(usual)) > 0.5 * (low + high)
        limit = float(f"{high if upwards else low:.6g}")
        # a rate of lost edges is set against the usual one already
        value = value if formula == COUNTS else limit + value if upwards else limit - value
        past = np.abs(usual) >= value if either else usual >= value if upwards else usual <= value
        share = round(float(np.mean(past)), 3)
        value = float(f"{value:.3g}")
    return SmallestSize(
        fault=fault.id, title=fault.title, measure=error.measure, measure_title=error.title, unit=error.unit,
        value=value, limit=limit, either_way=either, share=share, method=error.method,
    )  # fmt: skip


def _level(_: str, planned: Planned) -> float:
    n = planned.independent
    return precision.level(planned.noise.reading, n, planned.noise.fixed) if n >= 2.0 else math.inf


def _rows(_: str, planned: Planned) -> float:
    step_s = max(PLATEAU_S, 2.0 * planned.period_s)
    n = int(planned.seconds / step_s)
    if n < 4:
        return _level("", planned)
    row_sd = planned.noise.reading / math.sqrt(max(step_s / max(planned.period_s, planned.noise.together_s), 1.0))
    t_s = step_s * np.arange(n, dtype=np.float64)
    found = precision.joint(t_s, np.ones((n, 1)), row_sd, np.array([np.inf]), np.array([planned.noise.fixed]))
    return float(found[0])


def _spread(_: str, planned: Planned) -> float:
    n = planned.independent
    return precision.spread(planned.noise.reading, n, planned.noise.fixed) if n >= 5.0 else math.inf


def _extremes(_: str, planned: Planned) -> float:
    n = planned.independent
    return precision.extremes(planned.noise.reading, n, planned.noise.fixed) if n >= 5.0 else math.inf


def _swing(_: str, planned: Planned) -> float:
    longest = max(part.seconds for part in planned.stretches)
    if longest < swing.SHORTEST_S or planned.period_s <= 0.0:
        return math.inf
    noise, seconds = planned.noise, min(planned.seconds, 20.0 * planned.noise.size)
    found = _hunting(
        noise.reading, max(planned.period_s, 1.0 / swing.ENOUGH_HZ), seconds, noise.size,
    )  # fmt: skip
    return math.hypot(found, (precision.Z_95 + precision.Z_POWER) * noise.fixed)


@functools.lru_cache(maxsize=32)
def _hunting(sd: float, period_s: float, seconds: float, piece_s: float) -> float:
    band_hz = swing.LOW_HZ, swing.HIGH_HZ
    return precision.hunting(sd, period_s, seconds, piece_s, band_hz, swing.SIGNIFICANT)


def _count(_: str, planned: Planned) -> float:
    turns = sum(part.speed_rpm / 60.0 * part.seconds for part in planned.stretches)
    return precision.count(planned.noise.reading, turns)


def _share(_: str, planned: Planned) -> float:
    return 100.0 * precision.share(planned.independent)


def _interval(_: str, planned: Planned) -> float:
    return precision.interval(planned.period_s, planned.noise.fixed)


def _decay(_: str, planned: Planned) -> float:
    """The fall over the first 5 s on a rail that holds its pressure, by the measure's own fit."""
    since_s = np.arange(0.0, rail_events.LEAK_S + 1e-9, planned.period_s)
    if len(since_s) < 5:
        return math.inf
    random = np.random.default_rng(1)
    draws = [planned.noise.size + random.normal(0.0, planned.noise.reading, len(since_s)) for _ in range(8)]
    before = rail_events.Before(planned.noise.reading, rail_events.MOST_FREEDOM)
    fits = [rail_events.decay(since_s, pressure, before) for pressure in draws]
    sd = float(np.sqrt(np.mean([fit[1] ** 2 for fit in fits])))
    freedom = float(np.median([fit[2] for fit in fits]))
    return (student_95(freedom) + precision.Z_POWER) * sd


def _timing(name: str, planned: Planned) -> float:
    noise = planned.noise
    stretches = tuple((part.speed_rpm, part.load_percent, part.seconds) for part in planned.stretches)
    found = _timing_terms(stretches, round(planned.period_s, 3), noise.reading, noise.together_s)
    return found[TIMING_TERMS[name]]


@functools.lru_cache(maxsize=64)
def _timing_terms(
    stretches: tuple[tuple[float, float, float], ...], period_s: float, reading: float, together_s: float
) -> dict[str, float]:
    """All terms of the timing error, fitted at once."""
    total_s = sum(seconds for _, _, seconds in stretches)
    step_s = max(PLATEAU_S, period_s, total_s / MOST_ROWS)
    t_s, columns = precision.rows(stretches, step_s)
    if len(t_s) < timing.FEWEST_ROWS + columns.shape[1]:
        return dict.fromkeys(precision.TERMS, math.inf)
    prior = {
        "static": np.inf, "delay": timing.PRIOR_DELAY_MS, "drift": timing.PRIOR_DRIFT_DEG_PER_MIN,
        "load": timing.PRIOR_LOAD_DEG, "hysteresis": timing.PRIOR_HYSTERESIS_DEG,
    }  # fmt: skip
    row_sd = reading / math.sqrt(max(step_s / max(period_s, together_s), 1.0))
    widths = np.array([prior[term] for term in precision.TERMS])
    floors = np.array([timing.FLOOR[term] for term in precision.TERMS])
    found = precision.joint(t_s, columns, row_sd, widths, floors)
    return dict(zip(precision.TERMS, found.tolist(), strict=True))


def _lag(_: str, planned: Planned) -> float:
    parts, noise = planned.stretches, planned.noise
    moves = sum(a.load_percent != b.load_percent for a, b in itertools.pairwise(parts))
    return precision.lag(noise.reading, planned.period_s, moves, noise.size, noise.fixed)


def _phase(name: str, planned: Planned) -> float:
    parts = tuple((part.speed_rpm, part.seconds) for part in planned.stretches)
    term = "drift" if "drift" in name else "delay" if "delay" in name else "fixed"
    return _phase_terms(parts, planned.noise.reading)[term]


@functools.lru_cache(maxsize=64)
def _phase_terms(parts: tuple[tuple[float, float], ...], reading: float) -> dict[str, float]:
    """Cam or pump against the crank: as ``measures.phase``, a row a few cycles."""
    cycles = [speed / 120.0 * seconds for speed, seconds in parts]
    block = max(sum(cycles) / MOST_ROWS, 1.0)
    speed = np.repeat([speed for speed, _ in parts], [int(c / block) for c in cycles])
    if len(speed) < phase.FEWEST_CYCLES:
        return {"fixed": math.inf, "drift": math.inf, "delay": math.inf}
    t_s = np.cumsum(block * 120.0 / speed)
    columns = np.column_stack([np.ones(len(speed)), (t_s - t_s.mean()) / 60.0, phase_terms.DEG_PER_RPM_MS * speed])
    prior = np.array([np.inf, phase_terms.PRIOR_DRIFT_DEG_PER_MIN, phase_terms.PRIOR_DELAY_MS])
    fixed = np.array([phase.EDGE_DEG, phase_terms.DRIFT_FLOOR_DEG_PER_MIN, phase_terms.DELAY_FLOOR_MS])
    fixed = np.hypot(fixed, np.linalg.pinv(columns) @ (phase_terms.THRESHOLD_DEG * phase_terms.REFERENCE_RPM / speed))
    found = precision.joint(t_s, columns, reading / math.sqrt(block), prior, fixed)
    return dict(zip(("fixed", "drift", "delay"), found.tolist(), strict=True))


def _ripple(_: str, planned: Planned) -> float:
    speed = np.array([part.speed_rpm for part in planned.stretches])
    turns = np.array([part.speed_rpm / 60.0 * part.seconds for part in planned.stretches])
    # one tooth off its place lengthens a period and shortens the next: pi / 90 / sqrt(2 k) of its error in degrees
    teeth_sd = 100.0 * math.pi / 90.0 * runout.TOOTH_DEG / math.sqrt(2.0 * _teeth(planned.profile))
    if speed.max() <= runout.SPEED_RATIO * speed.min():
        teeth_sd = math.hypot(teeth_sd, 100.0 * runout.TORQUE_RIPPLE)
        speed = np.full(len(speed), np.inf)
    return precision.ripple(speed, turns, planned.noise.reading, teeth_sd)


def _cylinders(_: str, planned: Planned) -> float:
    profile, noise = planned.profile, planned.noise
    speed = profile.idle.target_rpm or IDLE_RPM
    engine = cylinders.Idle(
        cylinders=len(profile.firing_order) or profile.cylinders or USUAL_CYLINDERS, teeth=_teeth(profile),
        speed_rpm=speed, cycles=int(planned.seconds * speed / 120.0), ignition=profile.ignition or "compression",
        scatter=noise.reading / 100.0,
    )  # fmt: skip
    return 100.0 * cylinders.smallest(engine, noise.fixed / 100.0)


def _teeth(profile: EngineProfile) -> int:
    wheel = profile.crank_wheel
    return len(wheel.angles_deg()) if wheel is not None and wheel.angles_deg() else USUAL_TEETH


def _yes_or_no(_: str, __: Planned) -> float:
    return math.inf


_FORMULAS: Final[dict[str, Callable[[str, Planned], float]]] = {
    "level": _level, "rows": _rows, "spread": _spread, "extremes": _extremes, "swing": _swing, "count": _count,
    "share": _share, "interval": _interval, "decay": _decay, "timing": _timing, "lag": _lag, "phase": _phase,
    "ripple": _ripple, "cylinders": _cylinders, "yes_or_no": _yes_or_no,
}  # fmt: skip
