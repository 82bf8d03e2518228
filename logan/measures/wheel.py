"""Health of the crank wheel and its sensor: missing edges, run-out, polarity."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import scipy

from logan.dsp.lost_together import losses
from logan.dsp.recording_holes import fell_silent_too
from logan.dsp.runout import runout
from logan.dsp.runout import turns as turns_of
from logan.dsp.wheel import ToothTrain
from logan.dsp.wheel_pattern import slot_centres, tells_slots
from logan.measures.conditions import RUNNING_RPM
from logan.measures.phase import either_flank, late_at_one_speed
from logan.measures.rates import in_one_go, poisson_rate
from logan.measures.registry import Results
from logan.measures.unread import in_file, places, turns, without
from logan.measures.wheel_reading import CLEARS, SUSPECT_DEG, WheelReading, shift_deg, why_none
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record

NAMES: Final = (
    "crank_dropouts_per_1000rev",
    "crank_wheel_runout_percent",
    "crank_polarity_inverted",
    "crank_same_tooth_percent",
    "cam_in_place_by_other_flank",
)
COARSE: Final = 0.1  # of a period
FEWEST_MISSING: Final = 5
PAUSE_TURNS: Final = 0.5
HOLES_LISTED: Final = 3
LEAST_RECORDED: Final = 0.1  # of the turns over which rows could not be read


def crank_wheel(record: Record, readings: tuple[WheelReading, ...]) -> Results:
    """Missing edges, run-out and polarity of the crank signal."""
    if not readings:
        why = why_none(record)
        for name in NAMES:
            yield Missing(measure=name, why=why, capture_hint="")
        return
    spans = [(round(float(r.train.t_s[0]), 3), round(float(r.train.t_s[-1]), 3)) for r in readings]
    origin = Provenance(files=[r.file for r in readings], channels=["crank"], spans_s=spans)
    seen = [without(r.train, r.not_recorded) for r in readings]
    whole = tuple(replace(r, train=train) for r, (train, _) in zip(readings, seen, strict=True))
    yield _dropouts(whole, origin, _refused(readings), sum(left_out for _, left_out in seen))
    yield _runout(readings, origin)
    late = late_at_one_speed(record, readings)
    if late is None:
        yield _polarity(readings, origin)
        n = round(sum(r.train.revolutions for r in readings))
        yield Measure(name=NAMES[4], value=0.0, unit="", low=0.0, high=0.0, n=n, provenance=origin)
    else:
        why = either_flank(*late)
        yield Missing(measure=NAMES[2], why=why, capture_hint="")
        n = round(late[0].train.revolutions)
        yield Measure(name=NAMES[4], value=1.0, unit="", low=1.0, high=1.0, n=n, provenance=origin, notes=[why])
    yield _same_tooth(whole, origin)


def _refused(readings: tuple[WheelReading, ...]) -> list[str]:
    """What is said of rows that were refused and of joined recordings."""
    notes = []
    if any(len(r.unread_s) for r in readings):
        there = [places(r.unread_s) for r in readings]
        edges = sum(in_file(r.train, at, r.train.missing_s).sum() for r, at in zip(readings, there, strict=True))
        left_out = sum(turns(r.train, at) for r, at in zip(readings, there, strict=True))
        notes.append(
            f"rows of the recording that could not be read: edges missing there are not counted ({edges}), and the "
            f"{left_out:.0f} turns there are left out"
        )
    seams = [float(begin) for r in readings for begin, _ in r.seams_s]
    if seams:
        listed = ", ".join(f"{begin:.2f} s" for begin in seams[:HOLES_LISTED])
        more = f" and {len(seams) - HOLES_LISTED} more" if len(seams) > HOLES_LISTED else ""
        notes.append(f"the clock was set back at {listed}{more}: edges there tell nothing of a sensor")
    return notes


def _dropouts(
    readings: tuple[WheelReading, ...], origin: Provenance, said: list[str], left_out_turns: float
) -> Measure | Missing:
    """Missing crank edges per 1000 turns; what was lost with synchronism widens the interval.

    Edges that the file lacks, of which notes are ``said``, are not among the readings' missing, over so many turns.
    """
    trains = [r.train for r in readings]
    count = sum(len(train.missing_s) for train in trains)
    extra, unplaced = sum(len(train.extra_s) for train in trains), sum(train.unplaced for train in trains)
    pauses = [_between_segments(r) for r in readings]
    events = [event for reading in readings for event in _events(reading.train)]
    holes_s = sorted(hole for r, p in zip(readings, pauses, strict=True) for hole in (*p.holes_s, *_holes(r)))
    doubtful = sum(p.doubtful for p in pauses)
    if holes_s and not any(r.alone for r in readings):
        # where nothing shows that the crank alone loses several edges at once, the recorder may have lost these too
        doubtful += sum(edges for _, edges in events if edges > 1)
    events += [event for pause in pauses for event in pause.dark]
    dark, lost_places = sum(edges for p in pauses for _, edges in p.dark), sum(p.losses for p in pauses)
    notes = list(said)
    if holes_s:
        listed = ", ".join(f"{end - begin:.3f} s from {begin:.2f} s on" for begin, end in holes_s[:HOLES_LISTED])
        more = f" and {len(holes_s) - HOLES_LISTED} more" if len(holes_s) > HOLES_LISTED else ""
        notes.append(
            f"the recording has a hole of {listed}{more}: all sensors fell silent at once, which is the recorder, its "
            "plug or a common supply and not counted here"
        )
    if doubtful:
        notes.append(
            f"of the edges lost in one go {doubtful} may be the recorder's: no other sensor's edge was due there"
        )
    notes += in_one_go([begin for begin, _ in events], [edges for _, edges in events])
    if dark:
        notes.append(f"missing edges that fell into pauses of the signal while the engine ran: {dark}")
    if extra:
        notes.append(f"extra edges that no tooth explains: {extra}")
    if lost_places:
        notes.append(f"losses of the place on the wheel, where missing edges are not counted: {lost_places}")
    if unplaced:
        notes.append(f"edges that could not be placed on the wheel (start, stop or loss): {unplaced}")
    slow = sum(_slow_on_an_unmarked_wheel(train) for train in trains)
    sure = count + dark - doubtful - slow
    if slow:
        notes.append(
            f"missing edges while cranking on a wheel without a mark: {slow}; a slow compression looks the same"
        )
    if any(r.noise for r in readings) and extra:
        # a sensor that loses edges makes none beside them; noise, which a recorder has on all its inputs, does both
        sure -= min(extra, sure)
        notes.append("the recording is noisy: as many missing edges as there are extra ones may be the noise's")
    elif any(r.resolution_s > COARSE * _short_period_s(r.train) for r in readings if r.resolution_s > 0.0):
        # rounded times look like an edge lost beside an extra one
        sure -= min(extra, sure)
        notes.append("the recording's time steps are coarse against the teeth at high speed")
    recorded = sum(train.revolutions for train in trains) - left_out_turns
    if recorded < LEAST_RECORDED * left_out_turns:
        return Missing(measure=NAMES[0], why="most rows of the recording could not be read", capture_hint="")
    revolutions = recorded + dark / max(len(trains[0].angles_deg), 1)
    sizes = [edges for _, edges in events]
    return poisson_rate(NAMES[0], count + dark, lost_places, revolutions, origin, notes, max(sure, 0), sizes)


def _holes(reading: WheelReading) -> list[tuple[float, float]]:
    """Losses of all sensors at once where no row was refused."""
    begin_s, end_s = reading.holes_s.T
    good = ~places(reading.unread_s).hold(begin_s, end_s)
    return list(zip(begin_s[good].tolist(), end_s[good].tolist(), strict=True))


def _events(train: ToothTrain) -> list[tuple[float, int]]:
    """Where edges were lost and how many in one go: time before, s, and edges."""
    lost = losses(train)
    return list(zip(train.t_s[lost.before].tolist(), lost.count.tolist(), strict=True))


def _slow_on_an_unmarked_wheel(train: ToothTrain) -> int:
    """Missing edges that a crank nearly at rest would feign, since no mark shows that the turn lacks a tooth."""
    teeth = len(train.angles_deg)
    if train.symmetry < teeth or not len(train.missing_s):
        return 0
    at = np.searchsorted(train.t_s, train.missing_s)
    beside = ((max(k - teeth, 0), k, min(k + teeth, len(train))) for k in at.tolist())
    rpm = [
        min(_median_rpm(train, slice(a, k)), _median_rpm(train, slice(k, b))) if k - a > 1 and b - k > 1 else 0.0
        for a, k, b in beside
    ]
    return int(np.count_nonzero(np.array(rpm) < RUNNING_RPM))


def _short_period_s(train: ToothTrain) -> float:
    """Period that only one in twenty undercuts, s."""
    some = np.arange(0, len(train) - 1, max(len(train) // 100_000, 1))
    return float(np.percentile(train.t_s[some + 1] - train.t_s[some], 5.0))


@dataclass(frozen=True, slots=True)
class _Pauses:
    """What lies between the segments of a reading.

    Parameters
    ----------
    dark : pauses of the crank signal at running speed: time before, s, and edges lost
    losses : of the place on the wheel, without a pause
    doubtful : those of the dark ones that may as well be the recorder's
    holes_s : pauses of all sensors at once, first and last time, s
    """

    dark: list[tuple[float, int]]
    losses: int
    doubtful: int
    holes_s: list[tuple[float, float]]


def _between_segments(reading: WheelReading) -> _Pauses:
    """Pauses and losses of the place, but where rows of the file were refused; a stop is neither."""
    train, every = reading.train, reading.active_s["crank"]
    others = [edge_s for name, edge_s in reading.active_s.items() if name != "crank" and len(edge_s)]
    there = places(reading.unread_s, reading.seams_s)
    lost_places = doubtful = 0
    dark, holes_s = [], []
    for k in np.flatnonzero(np.diff(train.segment)):
        first, last = np.searchsorted(every, train.t_s[[k, k + 1]])
        between = every[first : last + 1]
        before, after = (_median_rpm(train, part) for part in (slice(max(k - 10, 0), k + 1), slice(k + 1, k + 12)))
        pause = int(np.argmax(np.diff(between)))
        begin, end = float(between[pause]), float(between[pause + 1])
        turns = 0.5 * (before + after) / 60.0 * (end - begin - there.seconds(begin, end))
        if turns < PAUSE_TURNS:
            lost_places += not there.hold(between[:1], between[-1:])[0]
        elif min(before, after) > RUNNING_RPM:  # a pause is no stop of the engine
            together = fell_silent_too(begin, end, others)
            if together:
                holes_s.append((begin, end))
                continue
            lost = round(turns * len(train.angles_deg))
            dark.append((begin, lost))
            doubtful += lost if together is None and others else 0
    return _Pauses(dark, lost_places, doubtful, holes_s)


def _median_rpm(train: ToothTrain, part: slice) -> float:
    """Median speed over a few periods, rpm."""
    return float(np.median(np.diff(train.angle_deg[part]) / np.maximum(np.diff(train.t_s[part]), 1e-12) / 6.0))


def _runout(readings: tuple[WheelReading, ...], origin: Provenance) -> Measure | Missing:
    """Once-a-turn ripple of spacing, freed of the share that scatter alone would give."""
    seen = [turns_of(r.train) for r in readings]
    found = runout(
        *(np.concatenate(c) for c in zip(*((turn.ripple, turn.half, turn.speed_rpm) for turn in seen), strict=True))
    )
    if found is None:
        why = "too few whole turns without a missing edge, or fewer than six teeth"
        return Missing(measure=NAMES[1], why=why, capture_hint="")
    size = 100.0 * abs(found.ripple)
    noise, torque = 100.0 * found.noise_sd, 100.0 * found.torque_sd
    teeth = 100.0 * max(turn.teeth_sd for turn in seen)
    systematic = float(np.hypot(torque, teeth))
    # the square of a vector of two noisy parts is too large by the squares of both
    value = float(np.sqrt(max(size**2 - 2.0 * (noise**2 + systematic**2), 0.0)))
    half = 1.96 * float(np.hypot(noise, systematic))
    notes = []
    if not found.separated:
        notes.append(
            "one speed only: a torque that comes once a turn looks the same; the interval allows for a usual one"
        )
    return Measure(
        name=NAMES[1], value=value, unit="%", low=max(value - half, 0.0), high=value + half, n=found.turns,
        provenance=origin, statistical=noise, systematic=systematic, notes=notes,
    )  # fmt: skip


def _polarity(readings: tuple[WheelReading, ...], origin: Provenance) -> Measure | Missing:
    """1 where the active flank carries the pattern of the slots or the other one alone has the cam in place, else 0."""
    longest = max(readings, key=lambda r: r.train.revolutions)
    turns, teeth = round(longest.train.revolutions), longest.train.angles_deg
    shift, other = shift_deg(longest.sync), longest.other_shift_deg
    if longest.inverted_by_cam:
        notes = [
            f"by the flank that should be active the cam is {other:+.1f} deg off, by the other one {shift:+.1f} deg; "
            "a cam shifted by just the width of a tooth would look the same"
        ]
        return Measure(name=NAMES[2], value=1.0, unit="", low=1.0, high=1.0, n=turns, provenance=origin, notes=notes)
    if not np.isfinite(other) and not (tells_slots(teeth) and tells_slots(slot_centres(teeth))):
        why = "the slots of this wheel are spaced as its teeth: the edges do not tell the polarity"
        return Missing(measure=NAMES[2], why=why, capture_hint="")
    if abs(shift) > SUSPECT_DEG and abs(other) < CLEARS * abs(shift):
        why = (
            f"both flanks carry the pattern of the teeth: by the active one the cam is {shift:+.1f} deg off, by the "
            f"other one {other:+.1f} deg; swapped flanks and a cam that is off are not told apart"
        )
        return Missing(measure=NAMES[2], why=why, capture_hint="")
    value = float(longest.inverted)
    return Measure(name=NAMES[2], value=value, unit="", low=value, high=value, n=turns, provenance=origin)


def _same_tooth(readings: tuple[WheelReading, ...], origin: Provenance) -> Measure | Missing:
    """Share of the missing edges at one and the same tooth: a broken tooth loses every turn's, a bad wire any.

    Of edges lost in one go the first one counts: that they fall on several teeth tells nothing.
    """
    where = np.concatenate([losses(r.train).first_deg for r in readings]) % 360.0
    if len(where) < FEWEST_MISSING:
        why = f"{len(where)} losses; {FEWEST_MISSING} are needed to see whether they fall on one tooth"
        return Missing(measure=NAMES[3], why=why, capture_hint="")
    at, count = np.unique(np.round(where, 3), return_counts=True)
    most, n = int(count.max()), len(where)
    low, high = (float(scipy.special.betaincinv(most + 0.5, n - most + 0.5, p)) for p in (0.025, 0.975))
    notes = [f"the tooth at {at[np.argmax(count)]:g} deg of the crank"]
    return Measure(
        name=NAMES[3], value=100.0 * most / n, unit="%", low=100.0 * low, high=100.0 * high if most < n else 100.0, n=n,
        provenance=origin, statistical=100.0 * float(np.sqrt(most * (n - most) / n**3)), systematic=0.0, notes=notes,
    )  # fmt: skip
