"""Missing crank and cam edges as the control module counts them, for records without a crank / cam recording."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from logan.measures.align import sources
from logan.measures.phase import poisson_rate
from logan.measures.registry import Results, gives
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

CRANK, CAM = "crank_dropouts_per_1000rev", "cam_dropouts_per_1000rev"
ENOUGH_TURNS = 50
SPEED_GAP_S = 5.0
"""Turns are counted over pauses of the speed signal up to this long."""


@gives(CRANK, needs=("crank_signal_errors", "engine_speed"))
def crank_errors(record: Record) -> Results:
    """Rate of crank signal errors by the control module's own counter."""
    return _rate(CRANK, record, "crank_signal_errors")


@gives(CAM, needs=("cam_signal_errors", "engine_speed"))
def cam_errors(record: Record) -> Results:
    """Rate of cam signal errors by the control module's own counter."""
    return _rate(CAM, record, "cam_signal_errors")


def _rate(name: str, record: Record, counter: str) -> Iterator[Measure | Missing]:
    channel, speed = record.channels.best[counter], record.channels.best["engine_speed"]
    t_s, count = channel.finite()
    if len(t_s) < 2:
        yield Missing(measure=name, why=f"{len(t_s)} values of {counter}", capture_hint="")
        return
    turns = _turns(speed, float(t_s[0]), float(t_s[-1]))
    if turns < ENOUGH_TURNS:
        why = f"{counter} was recorded over {turns:.0f} turns of the engine; {ENOUGH_TURNS} are needed"
        yield Missing(measure=name, why=why, capture_hint="")
        return
    step = np.diff(count)
    # a counter that falls was cleared: what it shows then has come since
    errors = round(float(np.where(step >= 0.0, step, count[1:]).sum()))
    notes = ["from the control module's own counter: each count is taken as one missing edge"]
    if (step < 0.0).any():
        notes.append(f"the counter was cleared {int((step < 0.0).sum())} times")
    origin = sources([channel, speed], [(float(t_s[0]), float(t_s[-1]))])
    yield poisson_rate(name, errors, 0, turns, origin, notes)


def _turns(speed: Channel, begin_s: float, end_s: float) -> float:
    """Turns of the crank between two times, pauses of the speed signal left out."""
    t_s, rpm = speed.finite()
    inside = (t_s >= begin_s) & (t_s <= end_s)
    t_s, rpm = t_s[inside], rpm[inside]
    step_s = np.diff(t_s)
    turns = 0.5 * (rpm[1:] + rpm[:-1]) / 60.0 * step_s
    return float(turns[step_s <= SPEED_GAP_S].sum())
