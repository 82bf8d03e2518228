"""Idle hunting: the strongest periodic swing of idle speed, and whether it may be a faster one folded down.

An idle that only scatters has a strongest frequency too. It counts as a swing where it stands out of white noise and
out of noise that remembers. A swing found in sparse values may be a faster one folded down by the sampling: the half
order of a weak cylinder above all (science of sampling: ``|f - round(f / rate) rate|``).
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import spectrum
from logan.dsp.swing import (
    AS_STRONG,
    HIGH_HZ,
    SHORTEST_PIECE_S,
    SHORTEST_S,
    SIGNIFICANT,
    Stretch,
    Swing,
    pieces_of,
    power_of,
    rate_of,
    strongest_swing,
)  # fmt: skip
from logan.measures.align import sources
from logan.measures.registry import Results, all_missing, gives
from logan.measures.settled import (
    Spans,
    idle_notes,
    idle_words,
    seconds,
    settled_spans,
    stretches,
    until_departure,
    why_no_idle,
)
from logan.model.channel import FROM_CRANK
from logan.model.measure import Measure, Missing, Provenance
from logan.model.record import Record

FREQUENCY: Final = "idle_hunt_frequency_hz"
AMPLITUDE: Final = "idle_hunt_amplitude_rpm"
LEAST_PASSED: Final = 0.6
"""Share of a swing that the mean of a turn lets through at least: 3 Hz at 350 rpm."""
FEWEST_BEATS: Final = 8
SIGNIFICANT_IF_SHORT: Final = 0.001
SPEED_RPM: Final = 0.3
"""By how much the mean of the recorded speed may be off, for its steps and its own averaging (assumed)."""
GOVERNOR: Final = ("fuel_quantity", "fuel_rate", "torque_actual", "calculated_load", "intake_manifold_pressure")
"""What answers to a governor that hunts, best witness first."""

Array = NDArray[np.float64]


@gives(FREQUENCY, AMPLITUDE, needs=("engine_speed",))
def idle_hunting(record: Record) -> Results:
    """Strongest swing of idle speed in 0.1 to 3 Hz; an amplitude whose interval begins at 0 is not told from noise."""
    channel = record.channels.best["engine_speed"]
    spans = settled_spans(record, "idle_warm")
    pieces = pieces_of([until_departure(part) for part in stretches(channel, spans)])
    total_s = seconds([(float(p.t_s[0]), float(p.t_s[-1])) for p in pieces])
    found = strongest_swing(pieces) if pieces else None
    if found is not None and channel.source == FROM_CRANK:
        found = _unsmoothed(found, float(np.mean(np.concatenate([piece.value for piece in pieces]))))
    # a short record may show a fast swing, which beats often in it; that there is none it does not show
    beats = found.frequency_hz * total_s if found is not None and found.chance <= SIGNIFICANT_IF_SHORT else 0.0
    if found is None or (total_s < SHORTEST_S and beats < FEWEST_BEATS):
        why = why_no_idle(record)
        if spans:
            had = (
                f"{total_s:.1f} s"
                if pieces
                else f"{seconds(spans):.1f} s in pieces of less than {SHORTEST_PIECE_S:.0f} s"
            )
            why = (
                f"{had} of {idle_words(record)} without departure; a swing needs {SHORTEST_S:.0f} s and more, or "
                f"{FEWEST_BEATS} beats that stand out"
            )
        yield from all_missing((FREQUENCY, AMPLITUDE), why)
        return
    n = sum(len(p.t_s) for p in pieces)
    origin = sources([channel], [(float(p.t_s[0]), float(p.t_s[-1])) for p in pieces])
    rate = rate_of(pieces)
    if found.chance > SIGNIFICANT:
        high = found.as_one_sine + 1.96 * found.noise_amplitude
        why = "no periodic swing stands out of the scatter of the speed"
        notes = [why, *idle_notes(record)]
        yield _measure(AMPLITUDE, "rpm", found.as_one_sine, 0.0, high, found.noise_amplitude, n, origin, notes)
        yield Missing(measure=FREQUENCY, why=why, capture_hint="")
        return
    notes = [f"the speed comes {rate:.1f} times a second: a swing above {rate / 2:.1f} Hz shows at a lower frequency"]
    notes = [*(notes if rate < 2.0 * HIGH_HZ else []), *idle_notes(record)]
    low = min(found.amplitude - 1.96 * found.amplitude_sd, found.as_one_sine - 1.96 * found.noise_amplitude)
    low = max(low, 0.0)
    high = max(found.amplitude + 1.96 * found.amplitude_sd, found.as_one_sine_most)
    order = _folded_order(pieces, found, rate, record.profile.cylinders)
    witness = _witness(record, spans, found.frequency_hz) if order is not None else None
    if witness is not None:
        notes.append(f"{witness} swings with it")
    elif order is not None:
        name, true_hz = order
        why = (
            f"the swing at {found.frequency_hz:.2f} Hz may be {name} at {true_hz:.2f} Hz, folded down by "
            f"{rate:.1f} values a second"
        )
        yield _measure(AMPLITUDE, "rpm", found.amplitude, 0.0, high, found.amplitude_sd, n, origin, [why, *notes])
        yield Missing(measure=FREQUENCY, why=why, capture_hint="")
        return
    yield _measure(AMPLITUDE, "rpm", found.amplitude, low, high, found.amplitude_sd, n, origin, notes)
    half = 1.96 * found.frequency_sd
    bounds = [found.frequency_hz - half, found.frequency_hz + half, *found.images_hz, *found.rivals_hz]
    if found.images_hz:
        listed = ", ".join(f"{f:.2f}" for f in found.images_hz)
        notes = [*notes, f"with this sampling the frequency may as well be {listed} Hz"]
    yield _measure(
        FREQUENCY, "Hz", found.frequency_hz, max(min(bounds), 0.0), max(bounds), found.frequency_sd, n, origin, notes
    )


def _unsmoothed(found: Swing, rpm: float) -> Swing:
    """A swing as it is where the speed is the mean of a turn: a mean over T passes sin(pi f T) / (pi f T) of it."""
    passed = max(float(np.sinc(found.frequency_hz * 60.0 / rpm)), LEAST_PASSED)
    names = ("amplitude", "amplitude_sd", "as_one_sine", "as_one_sine_most", "noise_amplitude")
    return replace(found, **{name: getattr(found, name) / passed for name in names})


def _measure(
    name: str, unit: str, value: float, low: float, high: float, sd: float, n: int, origin: Provenance, notes: list[str]
) -> Measure:
    return Measure(
        name=name, unit=unit, value=value, low=low, high=high, n=n, provenance=origin, statistical=sd, notes=notes
    )


def _witness(record: Record, spans: Spans, frequency: float) -> str | None:
    """A channel of the governor that swings at the same frequency: a folded cylinder order would not show there."""
    for name in GOVERNOR:
        channel = record.channels.get(name)
        pieces = pieces_of(stretches(channel, spans)) if channel is not None else []
        if not pieces or not any(np.ptp(p.value) for p in pieces):
            continue
        found = strongest_swing(pieces)
        near = abs(found.frequency_hz - frequency) < 2.0 / max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
        if near and found.chance < SIGNIFICANT:
            return name
    return None


def _folded_order(pieces: list[Stretch], found: Swing, rate: float, cylinders: int | None) -> tuple[str, float] | None:
    """The engine order that the sampling would fold onto the swing, with its true frequency; None where none does."""
    length_s = max(float(p.t_s[-1] - p.t_s[0]) for p in pieces)
    speed = np.concatenate([p.value for p in pieces])
    orders = {"the half order of a weak cylinder": 0.5, "once a turn of the crank": 1.0}
    if cylinders:
        orders["the firing frequency"] = cylinders / 2.0
    swing = float(power_of(pieces, np.array([found.frequency_hz]))[0])
    for name, order in orders.items():
        true_hz = order * float(speed.mean()) / 60.0
        tolerance = 1.0 / length_s + order / 60.0 * (SPEED_RPM + float(np.std(speed)) / np.sqrt(len(speed)))
        if true_hz < 0.5 * rate or abs(spectrum.folded(true_hz, rate) - found.frequency_hz) > tolerance:
            continue
        near = np.arange(true_hz - tolerance, true_hz + tolerance, 1.0 / (spectrum.OVERSAMPLING * length_s))
        if float(power_of(pieces, near[near > 0]).max()) > AS_STRONG * swing:
            return name, true_hz
    return None
