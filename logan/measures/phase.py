"""Cam and pump phase against the crank: fixed part, delay, drift, jitter and lost edges.

Without a sensor recording the phase that the control module broadcasts is taken.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import student_95
from logan.dsp.lost_together import runs
from logan.dsp.phase import Cycles, PhaseRows, by_cycle, lateness, phase_rows
from logan.dsp.sync import CYCLE_DEG, Sync, repetitions
from logan.dsp.wheel import ToothTrain
from logan.measures.align import measure, near, sources, step_of
from logan.measures.flanks import NO_ROUNDING, drowned
from logan.measures.phase_parts import together, told_parts, without_part_medians
from logan.measures.phase_terms import DEG_PER_RPM_MS, LONGEST_DELAY_MS, OTHER_INPUT_MS, Series, jitter, terms
from logan.measures.rates import in_one_go, poisson_rate
from logan.measures.registry import Results, all_missing
from logan.measures.unread import in_file, turns
from logan.measures.wheel_reading import WheelReading, cam_of_another, lacking, shift_deg, why_none
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record
from logan.model.sensor import sensors_of
from logan.units import DEG_PER_RPM_S

Array = NDArray[np.float64]

FEWEST_CYCLES: Final = 5
EDGE_DEG: Final = 0.11  # of one cam edge against the teeth beside it, the same every turn (common practice, no source)
EDGE_FREEDOM: Final = 6.0  # how well that is known, as degrees of freedom (judgement)
TEETH_SHARE: Final = 2.0 / 3.0  # variance of a place between two teeth, in that of one tooth, mean over the place
MOST_STRAY: Final = 1.0
"""Edges beside the target for one on it, up to which a phase is told: of strays at any angle some three in ten come to
lie near enough to a target of seven edges to be taken for its own (15 deg to either side), and draw it to zero."""
STOPPED_RPM: Final = 30.0
MOST_DELAYS: Final = 3  # each shows edges of a higher speed, which show the delay better

CAM: Final = (
    "cam_phase_error_deg", "cam_phase_delay_ms", "cam_phase_drift_deg_per_min", "cam_phase_jitter_deg",
    "cam_phase_at_speed_deg",
)  # fmt: skip
BROADCAST: Final = ("crank_cam_phase", "engine_speed")
FROM_CAM: Final = (*CAM, "cam_dropouts_per_1000rev", "cam_edge_outlier_deg")
PUMP: Final = tuple(name.replace("cam_", "pump_") for name in CAM)


def cam_phase(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Cam against crank from a sensor recording."""
    wheel = record.profile.cam_wheel
    if wheel is None or not wheel.edges_deg:
        yield from all_missing(FROM_CAM, lacking(record, "cam", "the engine profile has no cam wheel"))
        return
    target = np.sort(np.array(wheel.edges_deg, float))
    joined = _joined(record, readings, "cam", target)
    if isinstance(joined, str):
        yield from all_missing(FROM_CAM, joined)
        return
    yield _dropouts(joined)
    told = next((reading for reading in readings if reading.inverted_by_cam), None)
    found = list(_phase(CAM, joined, target, _broadcast_delay(record, joined.rows)))
    late_ms = 0.0 if told is None or _named(found, CAM[1]) else _late_ms(told, joined)
    for term in found:
        if told is not None and isinstance(term, Measure) and term.name in (CAM[0], CAM[4]):
            yield Missing(measure=term.name, why=either_flank(told, late_ms), capture_hint="")
        else:
            yield term


def late_at_one_speed(record: Record, readings: tuple[WheelReading, ...]) -> tuple[WheelReading, float] | None:
    """A reading whose cam only the crank's other flank has in place, and the delay, ms, that would explain it as well.

    None where no reading is of that kind, where the cam is early or too late for a delay, or where the delay is told.
    """
    told = next((reading for reading in readings if reading.inverted_by_cam), None)
    wheel = record.profile.cam_wheel
    if told is None or wheel is None:
        return None
    target = np.sort(np.array(wheel.edges_deg, float))
    joined = _joined(record, readings, "cam", target)
    if isinstance(joined, str) or _named(_phase(CAM, joined, target, _broadcast_delay(record, joined.rows)), CAM[1]):
        return None
    late_ms = _late_ms(told, joined)
    return (told, late_ms) if late_ms > 0.0 else None


def _named(found: Iterable[Measure | Missing], name: str) -> bool:
    return any(isinstance(term, Measure) and term.name == name for term in found)


def _late_ms(reading: WheelReading, joined: Joined) -> float:
    """Delay that would put the cam where the crank's active flank sees it, ms; 0 where no delay would."""
    late_ms = reading.other_shift_deg / (DEG_PER_RPM_MS * float(np.mean(joined.rows.speed_rpm)))
    return late_ms if 0.0 < late_ms <= LONGEST_DELAY_MS else 0.0


def either_flank(reading: WheelReading, late_ms: float) -> str:
    """What the two flanks of the crank signal say of the cam."""
    seen = (
        f"by the crank's active flank the cam is {reading.other_shift_deg:+.1f} deg off, by the other one "
        f"{shift_deg(reading.sync):+.1f} deg: swapped flanks, "
    )
    if not late_ms:
        return f"{seen}or a cam that is off by just a tooth's width"
    return (
        f"{seen}a cam that is off by just a tooth's width, or one whose edges are {late_ms:.1f} ms late; one speed "
        "does not tell them apart, two do"
    )


def pump_phase(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Pump against crank from a sensor recording; a pump set ahead gives early edges, a negative phase."""
    pump = record.profile.pump
    if pump is None or not pump.edges_deg:
        yield from all_missing(PUMP, lacking(record, "pump", "the engine profile has no pump edges"))
        return
    target = np.sort(np.array(pump.edges_deg, float))
    joined = _joined(record, readings, "pump", target)
    if isinstance(joined, str):
        yield from all_missing(PUMP, joined)
        return
    other = None if pump.active_edge is not None else _by_other_flank(record, readings, target)
    if other is None:
        yield from _phase(PUMP, joined, target)
        return
    there = {m.name: m for m in _phase(PUMP, other, target) if isinstance(m, Measure)}
    other_deg = float(np.median(other.rows.error_deg))
    note = (
        "the profile does not say which flank of the pump's signal counts ([pump] active_edge): taken as at the cam; "
        f"by the other one the phase is {other_deg:+.1f} deg"
    )
    found = list(_phase(PUMP, replace(joined, notes=(note,)), target))
    here = next((m for m in found if isinstance(m, Measure) and m.name == PUMP[4]), None)
    doubt = here is not None and PUMP[4] in there and _other_in_place(here, there[PUMP[4]], pump.timing_tolerance_deg)
    for term in found:
        other_term = there.get(term.name) if doubt and isinstance(term, Measure) else None
        yield term if other_term is None or not isinstance(term, Measure) else _either_flank(term, other_term)


def _by_other_flank(record: Record, readings: tuple[WheelReading, ...], target: Array) -> Joined | None:
    """The pump's edges by the flank that was not taken, where that was recorded too."""
    others = tuple(
        replace(reading, active_s={**reading.active_s, "pump": reading.pump_other_s}) for reading in readings
    )
    joined = _joined(record, others, "pump", target)
    return None if isinstance(joined, str) else joined


def _other_in_place(here: Measure, there: Measure, tolerance_deg: float) -> bool:
    """Whether a pump is off by one flank and within its tolerance, as far as that is read, by the other one."""
    taken, value, low, high = (float(np.mean(v)) for v in (here.value, there.value, there.low, there.high))
    taken = abs(taken)
    return taken > tolerance_deg and abs(value) <= min(tolerance_deg + 0.5 * (high - low), taken)


def _either_flank(term: Measure, other: Measure) -> Measure:
    """A phase that holds both flanks, where only by the flank that was not taken the pump is where it should be.

    A pump that is off by just a mark's width is then not told from a sound one whose other flank counts. The latter is
    the likelier, so its value stands; the interval reaches from one to the other.
    """
    if term.name not in (PUMP[0], PUMP[4]):
        return term
    here, there = (np.array([m.value, m.low, m.high], float) for m in (term, other))
    low, high = float(min(here[1], there[1])), float(max(here[2], there[2]))
    said = (
        f"by the flank that was taken the pump is {here[0]:+.1f} deg off, by the other one {there[0]:+.1f} deg: "
        "either the other flank counts, or the pump is off by just the width of a mark; the interval holds both"
    )
    return msgspec.structs.replace(
        term, value=float(there[0]), low=low, high=high, systematic=0.5 * (high - low) / 1.96, notes=[*term.notes, said]
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
    yield from terms(CAM, series, longest_ms=LONGEST_DELAY_MS)
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
    step = step_of(channel) / float(np.sqrt(12.0))
    yield jitter(CAM[3], float(np.std(steps)), len(steps) / 1.5, (step, step), series)


@dataclass(frozen=True, slots=True)
class Joined:
    """Matched edges of all recordings, one after the other; how many are missing where the file lacks them.

    ``rounded_deg``: standard deviation that rounded times bring into the phase, at most and most likely.
    ``begins_s``: (p,) times at which parts without a common clock begin.
    ``noisy``: whether noise of the voltages may have made or hidden edges.
    ``events``: time of each loss, s, and the edges lost there in one go; each edge by itself where it is not given.
    """

    rows: PhaseRows
    origin: Provenance
    stamp_deg: float
    rounded_deg: tuple[float, float]
    shift_known_to_deg: float
    inverted: bool
    notes: tuple[str, ...] = ()
    unread: int = 0
    begins_s: Array = field(default_factory=lambda: np.zeros(1))
    noisy: bool = False
    events: tuple[tuple[float, int], ...] | None = None


def _joined(record: Record, readings: tuple[WheelReading, ...], sensor: str, target: Array) -> Joined | str:
    """Matched edges of a sensor over all recordings, or why there are none."""
    if not readings:
        return why_none(record)
    if of_another := cam_of_another(readings):
        return of_another
    if not any(len(reading.active_s.get(sensor, ())) for reading in readings):
        noisy = next((words for reading in readings if (words := drowned(sensor, reading.noise))), "")
        apart = sensor in sensors_of(record.sensors)
        return noisy or f"no {sensor} edges in the recording{' of the crank, only in another one' if apart else ''}"
    parts, used, unread = [], [], 0
    events: list[tuple[float, int]] = []
    for reading in readings:
        sync = _pump_sync(reading) if sensor == "pump" else _cam_sync(reading)
        shift = shift_deg(sync) if sensor == "cam" and np.isfinite(sync.offset_deg).any() else 0.0
        edge_s = reading.active_s.get(sensor, np.empty(0))
        rows = _matched(reading.train, sync, edge_s, target, shift)
        there = reading.not_recorded
        missing = ~in_file(reading.train, there, rows.lost_s)
        unread += len(missing) - int(np.count_nonzero(missing))
        recorded = max(rows.revolutions - turns(reading.train, there), 0.0)
        rows = replace(rows, lost_s=rows.lost_s[missing], revolutions=recorded)
        if len(rows.t_s):
            lost_s = np.sort(rows.lost_s)
            first, count = runs(lost_s, edge_s)
            events += zip(lost_s[first].tolist(), count.tolist(), strict=True)
            parts.append(rows)
            used.append(reading)
    if not parts:
        return f"the {sensor} edges fit none of the crank's places in the cycle, or several equally well"
    rows, begins_s = together(parts, used)
    speed = float(np.sqrt(np.mean(np.square(rows.speed_rpm))))
    stamp = max(reading.resolution_s for reading in used) / np.sqrt(12.0) * DEG_PER_RPM_S * speed
    steps = [(r.rounding.get(sensor, NO_ROUNDING), r.rounding.get("crank", NO_ROUNDING)) for r in used]
    per_s = DEG_PER_RPM_S * speed / float(np.sqrt(12.0))
    most = per_s * max(np.sqrt(own.most_s**2 + TEETH_SHARE * teeth.most_s**2) for own, teeth in steps)
    likely = per_s * max(np.sqrt(own.likely_s**2 + TEETH_SHARE * teeth.likely_s**2) for own, teeth in steps)
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
    rounded = (float(most), float(likely))
    turned = any(reading.inverted for reading in used)
    in_noise = any(name in reading.noise for reading in used for name in (sensor, "crank"))
    return Joined(rows, origin, stamp, rounded, lost, turned, tuple(notes), unread, begins_s, in_noise, tuple(events))


def _matched(train: ToothTrain, sync: Sync, edge_s: Array, target: Array, shift: float) -> PhaseRows:
    """Every edge at its place; where edges miss at theirs and stand elsewhere, by the delay that the others show.

    An edge that is late by a fixed time stands the further from its place the faster the crank turns.
    """
    rows = phase_rows(train, sync, edge_s, target, shift)
    for _ in range(MOST_DELAYS):
        found = lateness(rows) if len(rows.lost_s) and rows.extra else None
        if found is None:
            break
        again = phase_rows(train, sync, edge_s, target, *found)
        if len(again.lost_s) + again.extra >= len(rows.lost_s) + rows.extra:
            break
        rows = again
    return rows


def _broadcast_delay(record: Record, rows: PhaseRows) -> Measure | None:
    """Delay of the cam as the control module's broadcast shows it, where its speeds tell one.

    None where the broadcast gives another phase at the recording's speed than the recording: the module then does not
    see what delays the recording (its own filter, an input of the recorder), or takes it off before it sends.
    """
    if any(name not in record.channels for name in BROADCAST):
        return None
    told = {m.name: m for m in broadcast_phase(record) if isinstance(m, Measure)}
    fixed, delay = told.get(CAM[0]), told.get(CAM[1])
    if fixed is None or delay is None:
        return None
    per_ms = DEG_PER_RPM_MS * float(np.mean(rows.speed_rpm))
    phase_deg, low_deg, high_deg, delay_ms = (
        float(np.mean(v)) for v in (fixed.value, fixed.low, fixed.high, delay.value)
    )
    apart_deg = float(np.median(rows.error_deg)) - (phase_deg + per_ms * delay_ms)
    return delay if abs(apart_deg) <= np.hypot(1.96 * per_ms * OTHER_INPUT_MS, 0.5 * (high_deg - low_deg)) else None


def _phase(
    names: tuple[str, ...], joined: Joined, target: Array, delay: Measure | None = None
) -> Iterator[Measure | Missing]:
    """All terms of one sensor's phase from its matched edges, and its delay where another record shows it."""
    matched = len(joined.rows.t_s) + joined.rows.dropped
    if joined.rows.extra > MOST_STRAY * matched:
        why = (
            f"{joined.rows.extra} edges stand where the target has none and {matched} where it has one: the signal is "
            "noisy, or it is of another target"
        )
        yield from all_missing(names, why)
        return
    cycles = by_cycle(joined.rows, len(target))
    told, part = told_parts(cycles, joined.begins_s, FEWEST_CYCLES)
    if not told.any():
        one = " in any one of the recordings or parts without a common clock" if len(joined.begins_s) > 1 else ""
        yield from all_missing(names, f"only {len(cycles.t_s)} cycles with edges of known angle{one}")
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
        cycles.t_s[told], cycles.error_deg[told], cycles.speed_rpm[told],
        float(np.hypot(pitch, 0.5 * joined.stamp_deg)), len(part), joined.origin, tuple(notes), part,
    )  # fmt: skip
    delay_ms = 0.0
    for term in terms(names, series, delay, LONGEST_DELAY_MS if names is CAM else 0.0):
        if isinstance(term, Measure) and term.name == names[1] and isinstance(term.value, float):
            delay_ms = term.value
        yield term
    # a delay makes the phase swing with the speed from cycle to cycle: that is no jitter
    freed = without_part_medians(joined.rows, joined.begins_s) - DEG_PER_RPM_MS * delay_ms * joined.rows.speed_rpm
    freed_cycles = by_cycle(replace(joined.rows, error_deg=freed), len(target))
    if np.isfinite(freed_cycles.jitter_deg):
        yield jitter(names[3], freed_cycles.jitter_deg, freed_cycles.jitter_freedom, joined.rounded_deg, series)
    else:
        yield Missing(measure=names[3], why="too few cycles in a row", capture_hint="")
    if names is CAM and np.count_nonzero(np.isfinite(cycles.edge_offset_deg)) >= 3:
        yield _outlier(cycles, joined)


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
    if joined.unread:
        notes.append(
            f"missing where rows of the recording could not be read or all sensors paused, not counted: {joined.unread}"
        )
    count, sure = len(rows.lost_s), None
    if rows.extra and np.isfinite(joined.shift_known_to_deg):
        # without a mark the count of teeth may slip: an edge then misses at its place and stands at another one
        sure = max(count - rows.extra, 0)
        notes.append("the crank wheel has no mark: those may be the missing ones, after a tooth that was not counted")
    elif rows.extra and joined.noisy:
        sure = max(count - rows.extra, 0)
        notes.append("the signal is noisy: as many missing edges as there are extra ones may be the noise's")
    events = joined.events if joined.events is not None else [(0.0, 1)] * count
    sizes = [edges for _, edges in events]
    notes += in_one_go([begin for begin, _ in events], sizes)
    return poisson_rate("cam_dropouts_per_1000rev", count, 0, rows.revolutions, joined.origin, notes, sure, sizes)
