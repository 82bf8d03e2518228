"""Total fuel trim of bank 1 at warm idle and in steady driving."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.dsp import stats
from logan.dsp.swing import Stretch
from logan.measures.align import near, sources, step_of
from logan.measures.estimate import from_estimate
from logan.measures.registry import Results, gives
from logan.measures.settled import joined, settled_spans, stretches, why_no_idle
from logan.model.measure import Missing
from logan.model.record import Record

IDLE: Final = "fuel_trim_total_idle_percent"
CRUISE: Final = "fuel_trim_total_cruise_percent"
CRUISE_SETTLE_S: Final = 2.0
"""The mixture control has answered the change of load after this time (common practice, no source)."""
CRUISE_KMH: Final = 15.0
"""Slower is manoeuvring or revving on the spot (common practice, no source)."""
FEWEST: Final = 5


@gives(IDLE, CRUISE, needs=("short_term_fuel_trim_1", "long_term_fuel_trim_1", "engine_speed"))
def fuel_trims(record: Record) -> Results:
    """Short term plus long term trim at the instants of the short term trim."""
    short = record.channels.best["short_term_fuel_trim_1"]
    long = record.channels.best["long_term_fuel_trim_1"]
    steps = float(np.hypot(step_of(short), step_of(long)) / np.sqrt(12.0))
    for name, spans, why in (
        (IDLE, settled_spans(record, "idle_warm"), why_no_idle(record)),
        (CRUISE, _warm_cruise(record), "no steady driving with a warm engine is in the record"),
    ):
        parts = []
        for part in stretches(short, spans):
            total = part.value + near(long, part.t_s)
            good = np.isfinite(total)
            parts.append(Stretch(part.t_s[good], total[good]))
        total = joined(parts)
        if len(total) < FEWEST:
            why = why if not spans else f"only {len(total)} values of both trims together"
            yield Missing(measure=name, why=why, capture_hint="")
            continue
        # the trims swing about the right mixture, often lopsided: mean and median tell it equally well
        lopsided = 0.5 * abs(float(np.mean(total)) - float(np.median(total)))
        systematic = float(np.hypot(steps, lopsided))
        yield from_estimate(name, "%", stats.mean(total), systematic, len(total), sources([short, long], spans))


def _warm_cruise(record: Record) -> list[tuple[float, float]]:
    """Settled cruise on the road with a warm engine; temperature and road speed count where they are recorded."""
    spans = settled_spans(record, "cruise", settle_s=CRUISE_SETTLE_S)
    for name, least in (
        ("coolant_temperature", record.profile.idle.warm_coolant_degc),
        ("vehicle_speed", CRUISE_KMH),
    ):
        channel = record.channels.get(name)
        t_s, value = channel.finite() if channel is not None else (np.zeros(0), np.zeros(0))
        if len(t_s):
            spans = [span for span in spans if np.interp(span[0], t_s, value) >= least]
    return spans
