"""Cam and pump phase against the crank: fixed part, delay, drift, jitter and lost edges.

``phase = fixed + 0.006 N delay + drift (t - middle)``, fitted jointly and robustly over the cycles of the recording;
the fixed part is referred to zero speed. Where the speed span cannot tell a delay, its interval allows for one.
Without a sensor recording the phase that the control module broadcasts is taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import Decomposition, decompose
from logan.dsp.phase import Cycles, PhaseRows, by_cycle, phase_rows
from logan.measures.align import measure, near, sources, step_of
from logan.measures.registry import Results, gives
from logan.measures.wheel_reading import read, shift_deg, why_none
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record
from logan.units import DEG_PER_RPM_S

Array = NDArray[np.float64]

PRIOR_DELAY_MS: Final = 0.25
PRIOR_DRIFT_DEG_PER_MIN: Final = 1.0
SPEED_RATIO: Final = 1.3  # from which a delay is told from a fixed part
TOLD: Final = 0.3  # and where its uncertainty falls to this share of its prior
DRIFT_S: Final = 20.0
FEWEST_CYCLES: Final = 5
MOST_ROWS: Final = 1500
PITCH_TOLERANCE_DEG: Final = 0.05  # of one tooth of either wheel, the same every turn (common practice, no source)
DELAY_FLOOR_MS: Final = 0.003
DRIFT_FLOOR_DEG_PER_MIN: Final = 0.003
DEG_PER_RPM_MS: Final = DEG_PER_RPM_S * 1e-3
STOPPED_RPM: Final = 30.0

CAM: Final = ("cam_phase_error_deg", "cam_phase_delay_ms", "cam_phase_drift_deg_per_min", "cam_phase_jitter_deg")
PUMP: Final = tuple(name.replace("cam_", "pump_") for name in CAM)


@dataclass(frozen=True, slots=True)
class Series:
    """Phase over time: (n,) s, degrees, rpm; per-row uncertainty that rows share, degrees; count and origin."""

    t_s: Array
    error_deg: Array
    speed_rpm: Array
    systematic_deg: float
    n: int
    origin: Provenance
    notes: tuple[str, ...] = ()


@gives(*CAM, "cam_dropouts_per_1000rev", "cam_edge_outlier_deg", sensors=True)
def cam_phase(record: Record) -> Results:
    """Cam against crank from a sensor recording."""
    wheel = record.profile.cam_wheel
    names = (*CAM, "cam_dropouts_per_1000rev", "cam_edge_outlier_deg")
    if wheel is None or not wheel.edges_deg:
        yield from _all_missing(names, "the engine profile has no cam wheel")
        return
    target = np.sort(np.array(wheel.edges_deg, float))
    joined = _joined(record, "cam", target)
    if isinstance(joined, str):
        yield from _all_missing(names, joined)
        return
    yield _dropouts(joined)
    yield from _phase(CAM, joined, target)


@gives(*PUMP, sensors=True)
def pump_phase(record: Record) -> Results:
    """Pump against crank from a sensor recording; a pump set ahead gives early edges, a negative phase."""
    pump = record.profile.pump
    if pump is None or not pump.edges_deg:
        yield from _all_missing(PUMP, "the engine profile has no pump edges")
        return
    target = np.sort(np.array(pump.edges_deg, float))
    joined = _joined(record, "pump", target)
    if isinstance(joined, str):
        yield from _all_missing(PUMP, joined)
        return
    yield from _phase(PUMP, joined, target)


@gives(*CAM, needs=("crank_cam_phase", "engine_speed"))
def broadcast_phase(record: Record) -> Results:
    """Cam against crank as the control module broadcasts it."""
    channel, speed = record.channels.best["crank_cam_phase"], record.channels.best["engine_speed"]
    t_s, value = channel.finite()
    rpm = near(speed, t_s)
    turning = rpm > STOPPED_RPM
    if np.count_nonzero(turning) < FEWEST_CYCLES:
        yield from _all_missing(CAM, "fewer than five values with the engine turning")
        return
    t_s, value, rpm = t_s[turning], value[turning], rpm[turning]
    origin = sources([channel, speed], [(round(float(t_s[0]), 3), round(float(t_s[-1]), 3))])
    series = Series(
        t_s, value, rpm, float(np.hypot(step_of(channel) / np.sqrt(12.0), PITCH_TOLERANCE_DEG)), len(value), origin,
        ("as the control module broadcasts it",),
    )  # fmt: skip
    yield from _terms(CAM, series)
    steps = np.diff(value) / np.sqrt(2.0)
    yield _jitter(CAM[3], float(np.std(steps)), len(steps) / 1.5, step_of(channel) / np.sqrt(12.0), series)


@dataclass(frozen=True, slots=True)
class Joined:
    """Matched edges of all recordings, one after the other."""

    rows: PhaseRows
    origin: Provenance
    stamp_deg: float
    shift_known_to_deg: float
    inverted: bool


def _joined(record: Record, sensor: str, target: Array) -> Joined | str:
    """Matched edges of a sensor over all recordings, or why there are none."""
    readings = read(record)
    if not readings:
        return why_none(record)
    if not any(len(reading.active_s.get(sensor, ())) for reading in readings):
        return f"no {sensor} edges in the recording"
    parts, used = [], []
    for reading in readings:
        sync = reading.sync
        known = np.isfinite(sync.offset_deg)
        if sensor == "pump" and not known.any():
            sync = replace(sync, offset_deg=np.zeros(len(sync.offset_deg)))
        shift = shift_deg(sync) if sensor == "cam" and known.any() else 0.0
        rows = phase_rows(reading.train, sync, reading.active_s.get(sensor, np.empty(0)), target, shift)
        if len(rows.t_s):
            parts.append(rows)
            used.append(reading)
    if not parts:
        return f"the {sensor} edges fit none of the crank's places in the cycle, or several equally well"
    rows = _concatenated(parts)
    speed = float(np.median(rows.speed_rpm))
    stamp = max(reading.resolution_s for reading in used) / np.sqrt(12.0) * DEG_PER_RPM_S * speed
    repeats = max(reading.train.symmetry for reading in used)
    spans = [(round(float(part.t_s.min()), 3), round(float(part.t_s.max()), 3)) for part in parts]
    origin = Provenance(files=[reading.file for reading in used], channels=["crank", sensor], spans_s=spans)
    lost = 360.0 / repeats if repeats > 1 else np.inf
    return Joined(rows, origin, stamp, lost, any(reading.inverted for reading in used))


def _concatenated(parts: list[PhaseRows]) -> PhaseRows:
    """Rows of several recordings; cycles keep their own numbers, time goes on from one to the next."""
    if len(parts) == 1:
        return parts[0]
    t_s, cycle = [], []
    time, number = 0.0, 0
    for part in parts:
        t_s.append(part.t_s - part.t_s.min() + time)
        cycle.append(part.cycle + number)
        time, number = float(t_s[-1].max()) + 1.0, int(cycle[-1].max()) + 1
    return PhaseRows(
        np.concatenate(t_s), np.concatenate([part.error_deg for part in parts]),
        np.concatenate([part.edge for part in parts]), np.concatenate(cycle),
        np.concatenate([part.speed_rpm for part in parts]), sum(part.expected for part in parts),
        np.concatenate([part.lost_s for part in parts]), sum(part.extra for part in parts),
        sum(part.dropped for part in parts), sum(part.revolutions for part in parts),
    )  # fmt: skip


def _phase(names: tuple[str, ...], joined: Joined, target: Array) -> Iterator[Measure | Missing]:
    """All terms of one sensor's phase from its matched edges."""
    cycles = by_cycle(joined.rows, len(target))
    if len(cycles.t_s) < FEWEST_CYCLES:
        yield from _all_missing(names, f"only {len(cycles.t_s)} cycles with edges of known angle")
        return
    notes: list[str] = []
    if joined.rows.dropped:
        notes.append(f"{joined.rows.dropped} edges left out: the speed changed too fast beside them")
    if np.isfinite(joined.shift_known_to_deg):
        notes.append(
            f"the crank wheel has no mark: the phase is known only up to steps of {joined.shift_known_to_deg:g} deg"
        )
    if joined.inverted:
        notes.append("the crank signal is inverted; the flank that tells the teeth was used")
    apart = np.flatnonzero(cycles.outlier)
    if len(apart):
        which = ", ".join(f"{target[k]:g} deg ({cycles.edge_offset_deg[k]:+.1f})" for k in apart)
        notes.append(f"edges of the target that stand apart from the others, left out: {which}")
    # tolerances of the target's edges and of the teeth beside them do not average out over cycles
    own = cycles.edge_offset_deg[np.isfinite(cycles.edge_offset_deg) & ~cycles.outlier]
    scatter = float(np.std(own, ddof=1)) if len(own) > 1 else 0.0
    pitch = max(PITCH_TOLERANCE_DEG * float(np.sqrt(1.5)), scatter) / float(np.sqrt(max(len(own), 1)))
    series = Series(
        cycles.t_s, cycles.error_deg, cycles.speed_rpm, float(np.hypot(pitch, 0.5 * joined.stamp_deg)),
        len(cycles.t_s), joined.origin, tuple(notes),
    )  # fmt: skip
    delay_ms = 0.0
    for term in _terms(names, series):
        if isinstance(term, Measure) and term.name == names[1] and isinstance(term.value, float):
            delay_ms = term.value
        yield term
    # a delay makes the phase swing with the speed from cycle to cycle: that is no jitter
    freed = joined.rows.error_deg - DEG_PER_RPM_MS * delay_ms * joined.rows.speed_rpm
    jitter = by_cycle(replace(joined.rows, error_deg=freed), len(target))
    if np.isfinite(jitter.jitter_deg):
        yield _jitter(names[3], jitter.jitter_deg, jitter.jitter_freedom, joined.stamp_deg, series)
    else:
        yield Missing(measure=names[3], why="too few cycles in a row", capture_hint="")
    if names is CAM and np.count_nonzero(np.isfinite(cycles.edge_offset_deg)) >= 3:
        yield _outlier(cycles, joined)


def _terms(names: tuple[str, ...], series: Series) -> Iterator[Measure | Missing]:
    """Fixed part, delay and drift."""
    t, y, speed = _averaged(series)
    middle = 0.5 * (t[0] + t[-1])
    slow, fast = (float(v) for v in np.percentile(speed, [3.0, 97.0]))
    columns = {
        "fixed": (np.ones(len(t)), np.inf),
        "drift": ((t - middle) / 60.0, PRIOR_DRIFT_DEG_PER_MIN),
        "delay": (DEG_PER_RPM_MS * speed, PRIOR_DELAY_MS),
    }
    fit = _fit(t, y, columns)
    separable = fast >= SPEED_RATIO * slow and float(np.hypot(*fit.at(np.eye(3)[2])[1:])) <= TOLD * PRIOR_DELAY_MS
    notes = list(series.notes)
    systematic = [series.systematic_deg]
    why = f"not separable: fixed part or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    if not separable:
        del columns["delay"]
        fit = _fit(t, y, columns)
        systematic.append(DEG_PER_RPM_MS * PRIOR_DELAY_MS * float(np.mean(speed)))
        notes.append(f"{why}: the interval allows for a delay of 0 +- {2 * PRIOR_DELAY_MS:g} ms, an assumption")
    unit = np.eye(len(columns))
    quantile = fit.quantile()
    value, noise, prior = fit.at(unit[0])
    total = float(np.linalg.norm([prior, *systematic]))
    yield measure(names[0], "deg", value, noise, total, quantile, series.n, series.origin, notes)
    if separable:
        value, noise, prior = fit.at(unit[2])
        total = float(np.hypot(prior, DELAY_FLOOR_MS))
        yield measure(names[1], "ms", value, noise, total, quantile, series.n, series.origin, list(series.notes))
    else:
        yield Missing(measure=names[1], why=why, capture_hint="")
    value, noise, prior = fit.at(unit[1])
    span_s = float(t[-1] - t[0])
    if span_s < DRIFT_S or np.hypot(noise, prior) > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        yield Missing(measure=names[2], why=f"not separable: a drift does not show in {span_s:.0f} s", capture_hint="")
    else:
        total = float(np.hypot(prior, DRIFT_FLOOR_DEG_PER_MIN))
        yield measure(names[2], "deg/min", value, noise, total, quantile, series.n, series.origin, list(series.notes))


def _fit(t: Array, y: Array, columns: dict[str, tuple[Array, float]]) -> Decomposition:
    design = np.column_stack([values for values, _ in columns.values()])
    return decompose(y, t, [(1.0, design)], np.array([sd for _, sd in columns.values()]))


def _averaged(series: Series) -> tuple[Array, Array, Array]:
    """Means over so many neighbours that at most ``MOST_ROWS`` rows remain; the model is linear, so nothing is lost."""
    n = len(series.t_s)
    order = np.argsort(series.t_s, kind="stable")
    start = np.arange(0, n, -(-n // MOST_ROWS))
    size = np.diff(np.append(start, n))
    t, y, speed = (np.add.reduceat(c[order], start) / size for c in (series.t_s, series.error_deg, series.speed_rpm))
    return t, y, speed


def _jitter(name: str, value: float, freedom: float, stamp_deg: float, series: Series) -> Measure:
    """Standard deviation with the interval of chi-square, wider below by what time stamps may have made."""
    low = value * np.sqrt(freedom / float(scipy.special.chdtri(freedom, 0.025)))
    high = value * np.sqrt(freedom / float(scipy.special.chdtri(freedom, 0.975)))
    low = np.sqrt(max(low**2 - 2.0 * stamp_deg**2, 0.0))
    return Measure(
        name=name, value=value, unit="deg", low=float(low), high=float(high), n=series.n, provenance=series.origin,
        statistical=float(value / np.sqrt(2.0 * freedom)), systematic=stamp_deg, notes=list(series.notes),
    )  # fmt: skip


def _outlier(cycles: Cycles, joined: Joined) -> Measure:
    """How far the worst edge of the cam target stands off the middle of all."""
    worst = int(np.nanargmax(np.abs(cycles.edge_offset_deg)))
    value = float(cycles.edge_offset_deg[worst])
    sd = PITCH_TOLERANCE_DEG * 1.5 + cycles.jitter_deg / np.sqrt(max(len(cycles.t_s), 1)) if cycles.jitter_deg else 0.1
    return measure("cam_edge_outlier_deg", "deg", value, 0.0, float(sd), 1.96, len(joined.rows.t_s), joined.origin)


def _dropouts(joined: Joined) -> Measure:
    """Missing cam edges per 1000 turns with the exact Poisson interval."""
    rows = joined.rows
    notes = [f"{rows.extra} cam edges that no target edge explains"] if rows.extra else []
    return poisson_rate("cam_dropouts_per_1000rev", len(rows.lost_s), 0, rows.revolutions, joined.origin, notes)


def poisson_rate(
    name: str, count: int, doubtful: int, revolutions: float, origin: Provenance, notes: list[str],
    sure: int | None = None,
) -> Measure:  # fmt: skip
    """Events per 1000 turns with the exact Poisson interval (Garwood 1936, from memory).

    ``doubtful`` further ones widen it upwards; where only ``sure`` ones of the count are beyond doubt, downwards.
    """
    per = 1000.0 / max(revolutions, 1e-9)
    least = count if sure is None else sure
    low = float(scipy.special.gammaincinv(least, 0.025)) if least else 0.0
    high = float(scipy.special.gammaincinv(count + doubtful + 1, 0.975))
    return Measure(
        name=name, value=count * per, unit="1/1000 rev", low=low * per, high=high * per, n=round(revolutions),
        provenance=origin, statistical=float(np.sqrt(max(count, 1))) * per,
        systematic=(doubtful + count - least) * per, notes=notes,
    )  # fmt: skip


def _all_missing(names: tuple[str, ...], why: str) -> Iterator[Missing]:
    for name in names:
        yield Missing(measure=name, why=why, capture_hint="")
