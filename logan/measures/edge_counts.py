"""Missing crank and cam edges: what the control module counted, beside those that a crank / cam recording lacks."""

from __future__ import annotations

import msgspec
import numpy as np

from logan.measures.align import sources
from logan.measures.rates import poisson_rate
from logan.measures.registry import Results
from logan.model.channel import Channel
from logan.model.measure import Measure, Missing
from logan.model.record import Record

COUNTERS = {
    "crank_dropouts_per_1000rev": "crank_signal_errors",
    "cam_dropouts_per_1000rev": "cam_signal_errors",
}
ENOUGH_TURNS = 50
COVERED = 0.9
"""Share of the recording's turns that the control module's count has to cover."""
SPEED_GAP_S = 5.0
"""Turns are counted over pauses of the speed signal up to this long."""


def weighed(record: Record, results: Results) -> Results:
    """What a recording shows, its missing edges beside the control module's own count of the same drive.

    An edge that only the recording lacks was lost between sensor and recorder; which one it was the record cannot tell.
    A recording that stands nowhere on the log's axis may be of another drive: its edges are counted by themselves.
    """
    placed = all(capture.offset_s is not None for capture in record.sensors)
    for result in results:
        counter = COUNTERS.get(result.name, "") if isinstance(result, Measure) and placed else ""
        if isinstance(result, Missing) or any(name not in record.channels for name in (counter, "engine_speed")):
            yield result
            continue
        own = counted(record, result.name)
        if isinstance(own, Missing) or own.n < COVERED * result.n or _edges(own) >= _edges(result):
            yield result
            continue
        note = (
            f"the control module counted {_edges(own)} in {own.n} turns: edges that it did not miss may be missing "
            "from the recording alone (clip, cable, input of the recorder)"
        )
        least = poisson_rate(result.name, _edges(own), 0, result.n, result.provenance, []).low
        yield msgspec.structs.replace(result, low=np.minimum(least, result.low).tolist(), notes=[*result.notes, note])


def _edges(rate: Measure) -> int:
    """Missing edges of the record instead of per 1000 turns."""
    return round(float(np.max(rate.value)) * rate.n / 1000.0)


def counted(record: Record, name: str) -> Measure | Missing:
    """Rate of signal errors by the control module's own counter."""
    counter = COUNTERS[name]
    channel, speed = record.channels.best[counter], record.channels.best["engine_speed"]
    t_s, count = channel.finite()
    if len(t_s) < 2:
        return Missing(measure=name, why=f"{len(t_s)} values of {counter}", capture_hint="")
    turns = _turns(speed, float(t_s[0]), float(t_s[-1]))
    if turns < ENOUGH_TURNS:
        why = f"{counter} was recorded over {turns:.0f} turns of the engine; {ENOUGH_TURNS} are needed"
        return Missing(measure=name, why=why, capture_hint="")
    step = np.diff(count)
    # a counter that falls was cleared: what it shows then has come since
    errors = round(float(np.where(step >= 0.0, step, count[1:]).sum()))
    notes = ["from the control module's own counter: each count is taken as one missing edge"]
    if (step < 0.0).any():
        notes.append(f"the counter was cleared {int((step < 0.0).sum())} times")
    origin = sources([channel, speed], [(float(t_s[0]), float(t_s[-1]))])
    return poisson_rate(name, errors, 0, turns, origin, notes)


def _turns(speed: Channel, begin_s: float, end_s: float) -> float:
    """Turns of the crank between two times, pauses of the speed signal left out."""
    t_s, rpm = speed.finite()
    inside = (t_s >= begin_s) & (t_s <= end_s)
    t_s, rpm = t_s[inside], rpm[inside]
    step_s = np.diff(t_s)
    turns = 0.5 * (rpm[1:] + rpm[:-1]) / 60.0 * step_s
    return float(turns[step_s <= SPEED_GAP_S].sum())
