"""Idle speed: mean, standard deviation, highest minus lowest, on the speed as recorded."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import stats
from logan.measures.align import sources, step_of
from logan.measures.estimate import from_estimate
from logan.measures.registry import Results, all_missing, gives
from logan.measures.settled import (
    idle_notes,
    idle_words,
    joined,
    seconds,
    settled_spans,
    stretches,
    until_departure,
    why_no_idle,
)
from logan.model.channel import FROM_CRANK
from logan.model.record import Record

NAMES: Final = ("idle_speed_mean_rpm", "idle_speed_std_rpm", "idle_speed_p2p_rpm")
DENSE_HZ: Final = 40.0
"""About the firing frequency at idle: values that come as often miss no extreme (common practice, no source)."""
SHORTER_WAY: Final = 1.15
"""How much more a speed taken over a shorter way than a turn may spread, as a control module's may be: about as much as
a turn spreads more than a whole cycle with even cylinders (judgement)."""
FEWEST: Final = 5
"""Values below which no spread is given."""

Array = NDArray[np.float64]


@gives(*NAMES, needs=("engine_speed",))
def idle_speed(record: Record) -> Results:
    """All warm, settled idle of the record together."""
    channel = record.channels.best["engine_speed"]
    spans = settled_spans(record, "idle_warm")
    parts = [until_departure(part) for part in stretches(channel, spans)]
    speed = joined(parts)
    if len(speed) < FEWEST:
        why = why_no_idle(record) if not spans else f"only {len(speed)} values of engine speed in {idle_words(record)}"
        yield from all_missing(NAMES, why)
        return
    step = step_of(channel)
    origin = sources([channel], [(float(p.t_s[0]), float(p.t_s[-1])) for p in parts])
    notes = idle_notes(record)

    n = len(speed)
    mean = stats.mean(speed)
    if channel.source == FROM_CRANK:
        mean = _by_time(mean, speed)
    yield from_estimate(NAMES[0], "rpm", mean, step / np.sqrt(12.0), n, origin, notes)
    shorter = SHORTER_WAY if channel.source == FROM_CRANK else 1.0
    spread = stats.spread(speed)
    spread = replace(spread, high=shorter * spread.high)
    rounding = np.sqrt(spread.value**2 + step**2 / 12.0) - spread.value
    yield from_estimate(NAMES[1], "rpm", spread, float(rounding), n, origin, notes, floor=0.0)
    width = _range(speed)
    width = replace(width, high=shorter * width.high)
    rate = (n - len(parts)) / max(seconds(origin.spans_s), 1e-9)
    if rate < DENSE_HZ:
        width = _with_unseen(width, DENSE_HZ / max(rate, 1e-3))
        notes = [*notes, f"the speed comes {rate:.1f} times a second: what happens between is not seen"]
    yield from_estimate(NAMES[2], "rpm", width, step / np.sqrt(6.0), n, origin, notes, floor=0.0)


def _range(value: Array) -> stats.Estimate:
    """Largest minus smallest with the scatter that another record of the same length would show.

    The scatter of an extreme is that of its exponential tail, pi / sqrt(6) times the mean excess of the highest
    independent values (Gumbel's law; from memory).
    """
    block = max(int(stats.correlation_time(value)), 1)
    starts = np.arange(0, len(value) - len(value) % block if len(value) >= block else 1, block)
    tops = np.sort(np.maximum.reduceat(value, starts))[::-1]
    bottoms = np.sort(np.minimum.reduceat(value, starts))
    k = int(np.clip(np.sqrt(len(starts)), 1, len(starts) - 1)) if len(starts) > 1 else 0
    excess = (
        [float(np.mean(tops[:k]) - tops[k]), float(bottoms[k] - np.mean(bottoms[:k]))] if k else [np.ptp(value) / 4] * 2
    )
    sd = float(np.pi / np.sqrt(6.0) * np.hypot(*excess))
    width = float(np.ptp(value))
    return stats.Estimate(width, sd, max(width - 1.96 * sd, 0.0), width + 1.96 * sd, len(value) / block)


def _by_time(mean: stats.Estimate, turns: Array) -> stats.Estimate:
    """The mean over time of a speed that has a value each turn: turns by the time that they take."""
    off = len(turns) / float(np.sum(1.0 / turns)) - mean.value
    return replace(mean, value=mean.value + off, low=mean.low + off, high=mean.high + off)


def _with_unseen(width: stats.Estimate, times: float) -> stats.Estimate:
    """A range that lies anywhere between the one seen and what values so many times as often could add to it.

    Each extreme of an exponential tail grows with the logarithm of the number of independent values; values that hang
    together grow less.
    """
    unseen = 2.0 * width.sd * np.sqrt(3.0) / np.pi * float(np.log(times))
    reach = stats.end_factor(unseen / max(width.sd, 1e-9)) * width.sd
    return replace(width, low=max(width.value - reach, 0.0), high=width.value + unseen + reach)
