"""Cam and pump phase against the crank: fixed part, delay, drift, jitter and lost edges.

``phase = fixed + 0.006 N delay + drift (t - middle)``, fitted jointly and robustly over the cycles of the recording;
the fixed part is referred to zero speed. Where the speed span cannot tell a delay, the interval of the fixed part
allows for one; the phase at the speed seen is stated in any case. Every interval allows for sensors that switch at a
fixed voltage, which shifts their edges by an angle that falls with speed.
Without a sensor recording the phase that the control module broadcasts is taken.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import msgspec
import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.decompose import Decomposition, decompose, student_95
from logan.dsp.phase import Cycles, PhaseRows, by_cycle, phase_rows
from logan.dsp.sync import CYCLE_DEG, Sync, repetitions
from logan.measures.align import measure, near, sources, step_of
from logan.measures.registry import Results, all_missing
from logan.measures.wheel_reading import WheelReading, shift_deg, why_none
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
MOST_ROWS: Final = 500
EDGE_DEG: Final = 0.11  # of one cam edge against the teeth beside it, the same every turn (common practice, no source)
EDGE_FREEDOM: Final = 6.0  # how well that is known, as degrees of freedom (judgement)
THRESHOLD_DEG: Final = 0.08  # at the reference speed: a voltage that grows with speed meets a fixed one (assumption)
REFERENCE_RPM: Final = 800.0
STAMP_SHARE: Final = 5.0 / 3.0  # variance of a cam edge between two teeth, in that of one edge, mean over its place
OUTLIER_SD: Final = 4.0
DELAY_FLOOR_MS: Final = 0.003
TWIST_DEG: Final = 0.06  # sd: crank and drive twist otherwise at high speed (derived: first mode of 150 to 400 Hz)
DRIFT_FLOOR_DEG_PER_MIN: Final = 0.003
DEG_PER_RPM_MS: Final = DEG_PER_RPM_S * 1e-3
STOPPED_RPM: Final = 30.0

CAM: Final = (
    "cam_phase_error_deg", "cam_phase_delay_ms", "cam_phase_drift_deg_per_min", "cam_phase_jitter_deg",
    "cam_phase_at_speed_deg",
)  # fmt: skip
FROM_CAM: Final = (*CAM, "cam_dropouts_per_1000rev", "cam_edge_outlier_deg")
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


def cam_phase(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Cam against crank from a sensor recording."""
    wheel = record.profile.cam_wheel
    if wheel is None or not wheel.edges_deg:
        yield from all_missing(FROM_CAM, "the engine profile has no cam wheel")
        return
    target = np.sort(np.array(wheel.edges_deg, float))
    joined = _joined(record, readings, "cam", target)
    if isinstance(joined, str):
        yield from all_missing(FROM_CAM, joined)
        return
    yield _dropouts(joined)
    told = next((reading for reading in readings if reading.inverted_by_cam), None)
    for term in _phase(CAM, joined, target):
        if told is not None and isinstance(term, Measure) and term.name in (CAM[0], CAM[4]):
            yield Missing(measure=term.name, why=_either(told), capture_hint="")
        else:
            yield term


def _either(reading: WheelReading) -> str:
    """What the two flanks of the crank signal say of the cam."""
    return (
        f"by the crank's active flank the cam is {reading.other_shift_deg:+.1f} deg off, by the other one "
        f"{shift_deg(reading.sync):+.1f} deg: swapped flanks, or a cam that is off by just a tooth's width"
    )


def pump_phase(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Pump against crank from a sensor recording; a pump set ahead gives early edges, a negative phase."""
    pump = record.profile.pump
    if pump is None or not pump.edges_deg:
        yield from all_missing(PUMP, "the engine profile has no pump edges")
        return
    target = np.sort(np.array(pump.edges_deg, float))
    joined = _joined(record, readings, "pump", target)
    if isinstance(joined, str):
        yield from all_missing(PUMP, joined)
        return
    yield from _phase(PUMP, replace(joined, notes=_other_flank(readings, target)), target)


def _other_flank(readings: tuple[WheelReading, ...], target: Array) -> tuple[str, ...]:
    """What the pump's phase would be by its other flank, where that was recorded too."""
    errors = [
        phase_rows(reading.train, _pump_sync(reading), reading.pump_other_s, target).error_deg for reading in readings
    ]
    every = np.concatenate(errors)
    if not len(every) or not any(len(reading.active_s.get("pump", ())) for reading in readings):
        return ()
    return (
        "the profile does not say which flank of the pump's signal counts: taken as at the cam; by the other one the "
        f"phase is {float(np.median(every)):+.1f} deg",
    )


def _cam_sync(reading: WheelReading) -> Sync:
    """Place of the segments in the cycle; for a cam target that repeats itself any of its equal places does."""
    return replace(reading.sync, offset_deg=reading.sync.either_deg)


def _pump_sync(reading: WheelReading) -> Sync:
    """Place of the segments in the cycle; the first turn of a pump whose cam was not recorded may be either."""
    known = np.isfinite(reading.sync.offset_deg)
    return reading.sync if known.any() else replace(reading.sync, offset_deg=np.zeros(len(known)))


def broadcast_phase(record: Record) -> Results:
    """Cam against crank as the control module broadcasts it."""
    channel, speed = record.channels.best["crank_cam_phase"], record.channels.best["engine_speed"]
    t_s, value = channel.finite()
    rpm = near(speed, t_s)
    turning = rpm > STOPPED_RPM
    if np.count_nonzero(turning) < FEWEST_CYCLES:
        yield from all_missing(CAM, "fewer than five values with the engine turning")
        return
    t_s, value, rpm = t_s[turning], value[turning], rpm[turning]
    origin = sources([channel, speed], [(round(float(t_s[0]), 3), round(float(t_s[-1]), 3))])
    series = Series(
        t_s, value, rpm, float(np.hypot(step_of(channel) / np.sqrt(12.0), EDGE_DEG)), len(value), origin,
        ("as the control module broadcasts it",),
    )  # fmt: skip
    yield from _terms(CAM, series)
    if step_of(channel) == 0.0:
        yield Missing(
            measure=CAM[3], why="the broadcast value never changes: its step hides the scatter", capture_hint=""
        )
        return
    # a value may be sent several times a cycle: one each counts
    cycle = np.floor(np.concatenate([[0.0], np.cumsum(0.5 * np.diff(t_s) * (rpm[1:] + rpm[:-1]) / 120.0)]))
    each = value[np.flatnonzero(np.diff(cycle, prepend=-1.0))]
    if len(each) < FEWEST_CYCLES:
        yield Missing(measure=CAM[3], why="fewer than five cycles", capture_hint="")
        return
    steps = np.diff(each) / np.sqrt(2.0)
    yield _jitter(CAM[3], float(np.std(steps)), len(steps) / 1.5, step_of(channel) / np.sqrt(12.0), series)


@dataclass(frozen=True, slots=True)
class Joined:
    """Matched edges of all recordings, one after the other."""

    rows: PhaseRows
    origin: Provenance
    stamp_deg: float
    shift_known_to_deg: float
    inverted: bool
    notes: tuple[str, ...] = ()


def _joined(record: Record, readings: tuple[WheelReading, ...], sensor: str, target: Array) -> Joined | str:
    """Matched edges of a sensor over all recordings, or why there are none."""
    if not readings:
        return why_none(record)
    if not any(len(reading.active_s.get(sensor, ())) for reading in readings):
        return f"no {sensor} edges in the recording"
    parts, used = [], []
    for reading in readings:
        sync = _pump_sync(reading) if sensor == "pump" else _cam_sync(reading)
        shift = shift_deg(sync) if sensor == "cam" and np.isfinite(sync.offset_deg).any() else 0.0
        rows = phase_rows(reading.train, sync, reading.active_s.get(sensor, np.empty(0)), target, shift)
        if len(rows.t_s):
            parts.append(rows)
            used.append(reading)
    if not parts:
        return f"the {sensor} edges fit none of the crank's places in the cycle, or several equally well"
    rows = _concatenated(parts)
    speed = float(np.sqrt(np.mean(np.square(rows.speed_rpm))))
    stamp = max(reading.resolution_s for reading in used) / np.sqrt(12.0) * DEG_PER_RPM_S * speed
    repeats = max(reading.train.symmetry for reading in used)
    spans = [(round(float(part.t_s.min()), 3), round(float(part.t_s.max()), 3)) for part in parts]
    origin = Provenance(files=[reading.file for reading in used], channels=["crank", sensor], spans_s=spans)
    lost = 360.0 / repeats if repeats > 1 else np.inf
    notes = []
    open_place = any((np.isnan(r.sync.offset_deg) & np.isfinite(r.sync.either_deg)).any() for r in used)
    if sensor == "cam" and open_place:
        again = CYCLE_DEG / repetitions(target)
        notes.append(
            f"the cam target looks the same every {again:g} deg: the phase is that against the nearest of its places; "
            f"a cam that is {again:g} deg off would look the same, and which turn of the cycle it is stays open"
        )
    return Joined(rows, origin, stamp, lost, any(reading.inverted for reading in used), tuple(notes))


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
        yield from all_missing(names, f"only {len(cycles.t_s)} cycles with edges of known angle")
        return
    notes = list(joined.notes)
    if joined.rows.dropped:
        notes.append(f"edges left out because the speed changed too fast beside them: {joined.rows.dropped}")
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
    freedom = EDGE_FREEDOM + max(len(own) - 1, 0)
    scatter = float(np.sqrt((EDGE_FREEDOM * EDGE_DEG**2 + np.sum(np.square(own - np.mean(own)))) / freedom))
    pitch = scatter / float(np.sqrt(max(len(own), 1))) * student_95(freedom) / 1.96
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
        stamp = float(np.sqrt(STAMP_SHARE)) * joined.stamp_deg
        yield _jitter(names[3], jitter.jitter_deg, jitter.jitter_freedom, stamp, series)
    else:
        yield Missing(measure=names[3], why="too few cycles in a row", capture_hint="")
    if names is CAM and np.count_nonzero(np.isfinite(cycles.edge_offset_deg)) >= 3:
        yield _outlier(cycles, joined)


def _terms(names: tuple[str, ...], series: Series) -> Iterator[Measure | Missing]:
    """Fixed part, delay, drift, and the phase at the mean speed."""
    t, y, speed = _averaged(series)
    mean = float(np.mean(speed))
    slow, fast = (float(v) for v in np.percentile(speed, [3.0, 97.0]))
    columns = {
        "fixed": (np.ones(len(t)), np.inf),
        "drift": ((t - 0.5 * (t[0] + t[-1])) / 60.0, PRIOR_DRIFT_DEG_PER_MIN),
        "delay": (DEG_PER_RPM_MS * speed, PRIOR_DELAY_MS),
    }
    fit, threshold = _fit(t, y, speed, columns)
    separable = fast >= SPEED_RATIO * slow and float(np.hypot(*fit.at(np.eye(3)[2])[1:])) <= TOLD * PRIOR_DELAY_MS
    notes = list(series.notes)
    systematic = [series.systematic_deg]
    why = f"not separable: fixed part or delay (speed only from {slow:.0f} to {fast:.0f} rpm)"
    here = np.array([1.0, 0.0, DEG_PER_RPM_MS * mean])
    if not separable:
        del columns["delay"]
        fit, threshold = _fit(t, y, speed, columns)
        here = here[:2]
        systematic.append(DEG_PER_RPM_MS * PRIOR_DELAY_MS * mean)
        notes.append(f"{why}: the interval allows for a delay of 0 +- {2 * PRIOR_DELAY_MS:g} ms, an assumption")

    def give(name: str, unit: str, point: Array, *shared: float, notes: list[str]) -> Measure:
        value, noise, prior = fit.at(point)
        total = float(np.linalg.norm([prior, float(point @ threshold), *shared]))
        return measure(name, unit, value, noise, total, fit.quantile(), series.n, series.origin, notes)

    unit, plain = np.eye(len(columns)), list(series.notes)
    yield give(names[0], "deg", unit[0], *systematic, notes=notes)
    yield give(names[4], "deg", here, series.systematic_deg, notes=[*plain, f"at {mean:.0f} rpm, the mean speed"])
    if separable:
        twist_ms = TWIST_DEG / (DEG_PER_RPM_MS * (fast - slow))
        yield give(names[1], "ms", unit[2], DELAY_FLOOR_MS, twist_ms, notes=plain)
    else:
        yield Missing(measure=names[1], why=why, capture_hint="")
    span_s = float(t[-1] - t[0])
    if span_s < DRIFT_S or np.hypot(*fit.at(unit[1])[1:]) > TOLD * PRIOR_DRIFT_DEG_PER_MIN:
        yield Missing(measure=names[2], why=f"not separable: a drift does not show in {span_s:.0f} s", capture_hint="")
    else:
        yield give(names[2], "deg/min", unit[1], DRIFT_FLOOR_DEG_PER_MIN, notes=plain)


def _fit(t: Array, y: Array, speed: Array, columns: dict[str, tuple[Array, float]]) -> tuple[Decomposition, Array]:
    """Joint fit with the rows weighed by how much scatter their speed brings.

    Also by how much a switching threshold of the usual size would move each coefficient, (p,).
    """
    design = np.column_stack([values for values, _ in columns.values()])
    scale = _scatter(design, y, speed)
    fit = decompose(y / scale, t, [(1.0, design / scale[:, None])], np.array([sd for _, sd in columns.values()]))
    return fit, fit.hat @ (THRESHOLD_DEG * REFERENCE_RPM / speed / scale)


def _scatter(design: Array, y: Array, speed: Array) -> Array:
    """Standard deviation of each row against the usual one, (n,): a fixed angle and a fixed time, squared and added."""
    off = np.square(y - design @ np.linalg.lstsq(design, y, rcond=None)[0])
    off = np.minimum(off, OUTLIER_SD**2 * float(np.median(off)) / 0.455)  # the median of chi-square of one
    share = np.square(speed / np.mean(speed))
    parts = scipy.optimize.nnls(np.column_stack([np.ones(len(y)), share]), off)[0]
    usual = float(parts.sum())
    return np.sqrt((parts[0] + parts[1] * share) / usual) if usual > 0.0 else np.ones(len(y))


def _averaged(series: Series) -> tuple[Array, Array, Array]:
    """Means over so many neighbours that at most ``MOST_ROWS`` rows remain; the model is linear, so nothing is lost."""
    n = len(series.t_s)
    order = np.argsort(series.t_s, kind="stable")
    start = np.arange(0, n, -(-n // MOST_ROWS))
    size = np.diff(np.append(start, n))
    t, y, speed = (np.add.reduceat(c[order], start) / size for c in (series.t_s, series.error_deg, series.speed_rpm))
    return t, y, speed


def _jitter(name: str, value: float, freedom: float, stamp_deg: float, series: Series) -> Measure:
    """Standard deviation with the interval of chi-square, freed of what rounded times add to it."""
    low, high = (value**2 * freedom / float(scipy.special.chdtri(freedom, p)) for p in (0.025, 0.975))
    # rounding is not quite as random as its variance says: a third of it is left open
    freed = [float(np.sqrt(max(square - share * stamp_deg**2, 0.0))) for square, share in
             ((low, 4 / 3), (value**2, 1.0), (high, 2 / 3))]  # fmt: skip
    return Measure(
        name=name, value=freed[1], unit="deg", low=freed[0], high=freed[2], n=series.n, provenance=series.origin,
        statistical=float(value / np.sqrt(2.0 * freedom)), systematic=stamp_deg / 3.0, notes=list(series.notes),
    )  # fmt: skip


def _outlier(cycles: Cycles, joined: Joined) -> Measure:
    """How far the worst edge of the cam target stands off the middle of all."""
    worst = int(np.nanargmax(np.abs(cycles.edge_offset_deg)))
    value = float(cycles.edge_offset_deg[worst])
    noise = cycles.jitter_deg / float(np.sqrt(max(len(cycles.t_s), 1))) if np.isfinite(cycles.jitter_deg) else EDGE_DEG
    found = measure("cam_edge_outlier_deg", "deg", value, noise, EDGE_DEG, 1.96, len(joined.rows.t_s), joined.origin)
    parts = [float(off) if np.isfinite(off) else None for off in cycles.edge_offset_deg]
    return msgspec.structs.replace(found, parts=parts)


def _dropouts(joined: Joined) -> Measure:
    """Missing cam edges per 1000 turns."""
    rows = joined.rows
    notes = [f"cam edges that no target edge explains: {rows.extra}"] if rows.extra else []
    count, sure = len(rows.lost_s), None
    if rows.extra and np.isfinite(joined.shift_known_to_deg):
        # without a mark the count of teeth may slip: an edge then misses at its place and stands at another one
        sure = max(count - rows.extra, 0)
        notes.append("the crank wheel has no mark: those may be the missing ones, after a tooth that was not counted")
    return poisson_rate("cam_dropouts_per_1000rev", count, 0, rows.revolutions, joined.origin, notes, sure)


def poisson_rate(
    name: str, count: int, doubtful: int, revolutions: float, origin: Provenance, notes: list[str],
    sure: int | None = None,
) -> Measure:  # fmt: skip
    """Events per 1000 turns with the interval of Jeffreys, which covers 95 % on average over rates.

    The exact interval (Garwood 1936) covers 98 % and more at small counts (Brown, Cai, DasGupta 2003, from memory).
    ``doubtful`` further ones widen it upwards; where only ``sure`` ones of the count are beyond doubt, downwards.
    """
    per = 1000.0 / max(revolutions, 1e-9)
    least = count if sure is None else sure
    low = float(scipy.special.gammaincinv(least + 0.5, 0.025)) if least else 0.0
    high = float(scipy.special.gammaincinv(count + doubtful + 0.5, 0.975))
    return Measure(
        name=name, value=count * per, unit="1/1000 rev", low=low * per, high=high * per, n=round(revolutions),
        provenance=origin, statistical=float(np.sqrt(max(count, 1))) * per,
        systematic=(doubtful + count - least) * per, notes=notes,
    )  # fmt: skip
