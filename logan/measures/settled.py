"""Settled stretches of a state: away from its beginning, where the engine still answers to what went before."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.idle_level import idle_level, mean_around
from logan.dsp.swing import Stretch
from logan.measures.align import period_s
from logan.model.channel import FROM_CRANK, Channel
from logan.model.drive import Span
from logan.model.record import Record

SETTLE_S: Final = 5.0
"""Time after the last change of state (docs/conventions.md)."""
LATEST_NOTICE_S: Final = 2.0
"""The end of a state is noticed late by so much at most, when pedal and road speed are polled slowly."""

CLIMB_RPM: Final = 100.0
"""No engine that is left alone at idle changes its speed steadily by as much (judgement; fast idle ends in less)."""
CLIMB_SHARE: Final = 0.5
"""Share of the speed's variance in its trend from which it is one steady change."""

RAISED_RPM: Final = 100.0
RAISED_SHARE: Final = 0.15
"""Both: no load that an engine idles under raises its idle by more (judgement)."""

SELDOM_S: Final = 20.0
"""Rises that come less often are no swing of 0.1 Hz, the slowest hunting, by a factor of two."""

TARGET_STEP_RPM: Final = 5.0
"""A commanded idle speed that changes by as much at once has been switched, for an accessory say (assumed)."""

PEDAL: Final = ("accelerator_pedal_d", "accelerator_pedal_e", "idle_validation")
FEWEST_OF_A_TREND: Final = 5

Array = NDArray[np.float64]
Spans = list[tuple[float, float]]


def settled_spans(record: Record, *states: str, settle_s: float = SETTLE_S, trim: bool = True) -> Spans:
    """Spans of some states without their first seconds and, if trimmed, the moment that their end goes unnoticed."""
    deciding = [record.channels.get(name) for name in ("accelerator_pedal_d", "idle_validation", "vehicle_speed")]
    late_s = min(LATEST_NOTICE_S, max((period_s(channel) for channel in deciding if channel is not None), default=0.0))
    spans = record.states.spans
    raised_s = _raised(record) if "idle_warm" in states else np.empty((0, 2))
    steps_s = np.sort(np.concatenate([_target_steps(record) if trim else np.empty(0), raised_s.ravel()]))
    out = []
    for k, span in enumerate(spans):
        if span.state not in states or _driven(record, span):
            continue
        inside = steps_s[(steps_s > span.start_s) & (steps_s < span.end_s)]
        edges = [span.start_s, *inside.tolist(), span.end_s]
        for begin, end in itertools.pairwise(edges):
            if ((raised_s[:, 0] <= begin) & (end <= raised_s[:, 1]) & (begin < end)).any():
                continue
            cut_s = late_s if trim and (k + 1 < len(spans) or end < span.end_s) else 0.0
            if end - cut_s > begin + settle_s:
                out.append((begin + settle_s, end - cut_s))
    return out


def _raised(record: Record) -> Array:
    """When a speed that is called warm idle for nothing but itself stands well above the rest of it, (k, 2) s.

    It may be a foot on the pedal or a control module that asks for more: where that one's wish is recorded, it counts.
    Held is a mean over seconds. Short rises count where they are too few for a swing.
    """
    speed = record.channels.get("engine_speed")
    if speed is None or any(name in record.channels.best for name in PEDAL):
        return np.empty((0, 2))
    parts = stretches(speed, [(span.start_s, span.end_s) for span in record.states.of("idle_warm")])
    means = [mean_around(part.t_s, part.value) for part in parts]
    level = idle_level(means, record.profile.idle.target_rpm)
    target = record.channels.get("idle_speed_target")
    held, short = [], []
    for part, mean in zip(parts, means, strict=True):
        wanted = level if target is None else np.fmax(level, target.at(part.t_s))
        margin = np.maximum(RAISED_RPM, RAISED_SHARE * wanted)
        held += _runs(part.t_s, mean > wanted + margin)
        inside = (float(part.t_s[0]), float(part.t_s[-1]))  # what goes on beyond the stretch is its beginning or end
        short += [run for run in _runs(part.t_s, _risen(part.value - wanted, margin)) if not set(run) & set(inside)]
    idle_s = sum(float(np.ptp(part.t_s)) for part in parts)
    if len(short) <= max(1.0, idle_s / SELDOM_S):
        held += short
    return np.array(held).reshape(-1, 2)


def _risen(over: Array, margin: Array) -> NDArray[np.bool_]:
    """From where a value exceeds a margin until it is below a half of it again."""
    mark = np.where(over > margin, 1, np.where(over < 0.5 * margin, -1, 0))
    last = np.maximum.accumulate(np.where(mark != 0, np.arange(len(mark)), 0))
    return np.asarray(mark[last] > 0)


def _runs(t_s: Array, flag: NDArray[np.bool_]) -> Spans:
    """First and last instant of each run of true values."""
    edge = np.diff(np.concatenate([[0], flag.astype(np.int8), [0]]))
    return list(zip(t_s[edge[:-1] == 1].tolist(), t_s[np.flatnonzero(edge == -1) - 1].tolist(), strict=True))


def _driven(record: Record, span: Span) -> bool:
    """Whether a span is called idle for its speed alone, and that speed goes up or down all the time."""
    if not span.state.startswith("idle") or any(name in record.channels.best for name in PEDAL):
        return False
    part = stretches(record.channels.best["engine_speed"], [(span.start_s, span.end_s)])
    if not part or len(part[0].t_s) < FEWEST_OF_A_TREND:
        return False
    t_s, speed = part[0].t_s - np.mean(part[0].t_s), part[0].value - np.mean(part[0].value)
    slope = float(t_s @ speed / (t_s @ t_s))
    climb = abs(slope) * float(np.ptp(t_s))
    return climb > CLIMB_RPM and slope * float(t_s @ speed) > CLIMB_SHARE * float(speed @ speed)


def _target_steps(record: Record) -> Array:
    """Instants at which the control module asks for another idle speed, s: a change of state like any other."""
    target = record.channels.get("idle_speed_target")
    if target is None:
        return np.zeros(0)
    t_s, value = target.finite()
    return t_s[1:][np.abs(np.diff(value)) >= TARGET_STEP_RPM]


def stretches(channel: Channel, spans: Spans) -> list[Stretch]:
    """Samples of a channel in each span that holds any, spans in order of time.

    A sample on the border of two belongs to the later one: a state lasts to the first value of the next.
    """
    t_s, value = channel.finite()
    first = np.searchsorted(t_s, [begin for begin, _ in spans], "left")
    last = np.searchsorted(t_s, [end for _, end in spans], "right")
    last[:-1] = np.minimum(last[:-1], first[1:])
    return [Stretch(t_s[a:b], value[a:b]) for a, b in zip(first.tolist(), last.tolist(), strict=True) if b > a]


def until_departure(part: Stretch) -> Stretch:
    """A stretch of steady values up to the last crossing of its median: what follows leaves for the next state."""
    above = part.value > np.median(part.value)
    crossings = np.flatnonzero(above[1:] != above[:-1])
    end = int(crossings[-1]) + 1 if len(crossings) else len(part.value)
    return Stretch(part.t_s[:end], part.value[:end])


def joined(parts: list[Stretch]) -> Array:
    """All values of some stretches one after the other."""
    return np.concatenate([part.value for part in parts]) if parts else np.zeros(0)


def seconds(spans: Spans) -> float:
    """Total length, s."""
    return float(sum(end - begin for begin, end in spans))


def _highest(record: Record) -> str:
    coolant = record.channels.get("coolant_temperature")
    if coolant is None or not np.isfinite(coolant.value).any():
        return ""
    return f"; highest coolant temperature {np.nanmax(coolant.value):.0f} degC"


def idle_words(record: Record) -> str:
    """What the settled idle of a record is called: nothing says that it is warm where no temperature is recorded."""
    if any(name in record.channels.best for name in ("coolant_temperature", "oil_temperature")):
        return "warm, settled idle"
    return "settled idle (no temperature recorded: taken as warm)"


def idle_notes(record: Record) -> list[str]:
    """What was taken for granted where a span is called warm idle, and where its speed comes from."""
    notes = [text for text in record.states.assumed if "taken as" in text or "stands in" in text]
    if record.channels.best["engine_speed"].source == FROM_CRANK:
        notes.append("of whole turns, by the crank sensor: a control module may take its speed over another way")
    return notes


def why_no_idle(record: Record) -> str:
    """Why a record holds no warm, settled idle."""
    states = record.states
    if not states.spans:
        return states.assumed[0] if states.assumed else "the drive could not be cut into states"
    if any(_driven(record, span) for span in states.of("idle_warm")):
        return "the speed near idle goes up or down all the time, and no pedal is recorded: a foot on it cannot be told"
    if states.of("idle_warm"):
        longest = max(span.duration_s for span in states.of("idle_warm"))
        return f"warm idle lasts {longest:.1f} s at a stretch; values count from {SETTLE_S:.0f} s after the last change"
    if states.of("idle_cold"):
        warm = record.profile.idle.warm_coolant_degc
        return f"the engine idles only before it is warm ({warm:.0f} degC){_highest(record)}"
    return "no idle with the pedal released and the vehicle standing is in the record"
