"""Total fuel trim of bank 1 at warm idle and in steady driving."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

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
COARSEST: Final = 100.0 / 128.0
"""Steps in which both trims come over OBD, % (SAE J1979-DA, PID 06 and 07); no broadcast is coarser (assumed)."""
LEARNT_SHARE: Final = 0.5
"""Share of the variance up to which the short term trim counts as all the scatter; the rest is learnt, by load."""

Array = NDArray[np.float64]


@gives(IDLE, CRUISE, needs=("short_term_fuel_trim_1", "long_term_fuel_trim_1", "engine_speed"))
def fuel_trims(record: Record) -> Results:
    """Short term plus long term trim at the instants of the short term trim."""
    short = record.channels.best["short_term_fuel_trim_1"]
    long = record.channels.best["long_term_fuel_trim_1"]
    # one that never moves does not show its steps, one of two values shows how far these are apart
    coarse = min(max(step_of(long), step_of(short)), COARSEST) / np.sqrt(12.0)
    for name, spans, why in (
        (IDLE, settled_spans(record, "idle_warm"), why_no_idle(record)),
        (CRUISE, _warm_cruise(record), "no steady driving with a warm engine is in the record"),
    ):
        parts, learnt = [], []
        for part in stretches(short, spans):
            held = near(long, part.t_s)
            good = np.isfinite(held)
            parts.append(Stretch(part.t_s[good], part.value[good] + held[good]))
            learnt.append(held[good])
        total = joined(parts)
        if len(total) < FEWEST:
            why = why if not spans else f"only {len(total)} values of both trims together"
            yield Missing(measure=name, why=why, capture_hint="")
            continue
        # the trims swing about the right mixture, often lopsided: mean and median tell it equally well
        swing = total - np.concatenate(learnt)
        lopsided = 0.5 * abs(float(np.mean(swing)) - float(np.median(swing)))
        # the short term trim swings over its steps, the long term one may stand on few of them
        fine = stats.rounding(step_of(short), swing)
        held = coarse * _share_held(learnt)
        systematic = float(np.linalg.norm([fine, held, lopsided, _between_values(learnt)]))
        yield from_estimate(name, "%", _mean(total, swing), systematic, len(total), sources([short, long], spans))


def _mean(total: Array, swing: Array) -> stats.Estimate:
    """Mean of the total with the scatter of the short term trim.

    What is learnt goes with load and speed: its range over the driving done is no scatter of the mean.
    """
    value = float(np.mean(total))
    found = stats.mean(swing if np.var(swing) < LEARNT_SHARE * np.var(total) else total)
    off = value - found.value
    return replace(found, value=value, low=found.low + off, high=found.high + off)


def _share_held(learnt: list[Array]) -> float:
    """How much of the rounding of one value is left in the mean of all: each is rounded on its own, by its share."""
    count = np.unique(np.concatenate(learnt), return_counts=True)[1]
    return float(np.linalg.norm(count)) / int(count.sum())


def _between_values(learnt: list[Array]) -> float:
    """Standard uncertainty of a mean over time for what a step-wise value did between its samples.

    A step stands anywhere between two values: each is off by a rectangular share of it.
    """
    squares = sum(float(np.sum(np.square(np.diff(part)))) for part in learnt)
    return float(np.sqrt(squares / 12.0)) / max(sum(map(len, learnt)), 1)


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
