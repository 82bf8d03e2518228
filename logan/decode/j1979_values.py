"""Values of parameters: channels out of service 01, freeze frames out of service 02."""

from __future__ import annotations

import functools
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logan.decode import dbc, extract
from logan.decode.dtc import code_of
from logan.decode.j1979_pairing import Requests
from logan.decode.j1979_pids import Pieces, places
from logan.decode.plan import MessagePlan, SignalPlan
from logan.dsp.grouping import distinct
from logan.knowledge import obd
from logan.knowledge.locate import dbc_open
from logan.model.capture import PLACES_KEPT, Remark
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.model.vehicle import FreezeFrame

TOO_SHORT = "answer too short for the signal"

_SUPPORT_STEP = 0x20
_DTC_PID = 0x02
# kinds of signals that say something about other values, not a value over time
_NOT_VALUES = ("support", "monitor", "bitmap", "dtc")


def ecu_name(source: int) -> str:
    """A control module by the identifier that it answers with, as printed: "7E8", "18DAF110"."""
    return f"{source:03X}"


@functools.cache
def load_plans() -> dict[int, MessagePlan]:
    """Plans of the parameters by PID, from the open DBC of service 01."""
    plans, _ = dbc.load([dbc_open() / obd.PIDS_DBC])
    return {plan.frame_id - obd.FIRST_PID_ID: plan for plan in plans}


def is_bitmap(pid: int) -> bool:
    """Whether a PID lists the supported ones among the next 32 (SAE J1979: 00, 20, 40 ...)."""
    return pid % _SUPPORT_STEP == 0


def supported(pieces: Pieces, messages: Messages, pid: int) -> list[int]:
    """PIDs that the bit maps of one module name; the first bit of the first byte is the next PID."""
    data = pieces.data(messages)
    seen = np.bitwise_or.reduce(data, axis=0) if len(data) else np.empty(0, np.uint8)
    return [pid + 1 + int(k) for k in np.flatnonzero(np.unpackbits(seen))]


def channels(
    messages: Messages, parameters: Sequence[tuple[int, int, Pieces]], requests: Requests,
    plans: dict[int, MessagePlan], file: str,
) -> tuple[list[Channel], list[Remark]]:  # fmt: skip
    """Channels of service 01, one for each signal of each parameter of each control module.

    Parameters
    ----------
    parameters : as ``Pieces.by_sender`` gives them
    """
    out: list[Channel] = []
    unpaired: list[NDArray[np.int64]] = []
    doubtful: dict[str, int] = {}
    unscaled: dict[str, int] = {}
    for source, pid, mine in parameters:
        if is_bitmap(pid) or pid not in plans:
            continue
        for signal_name in _without_scale(pid):
            unscaled[f"PID {pid:02X} {signal_name}"] = len(mine)
        timing = requests.timing(pid, source, messages.t_first_s[mine.row])
        unpaired.append(mine.row[timing.unpaired])
        t_s = timing.t_s
        if (t_s[1:] < t_s[:-1]).any():
            order = np.argsort(t_s, kind="stable")
            t_s, mine = t_s[order], mine.take(order)
        for signal, at, value in _signals(plans[pid], pid, mine, messages):
            short = int((mine.size[at] < signal.bytes_needed).sum())
            fact = obd.pid_signals().get((pid, signal.name))
            if fact is not None and fact.confidence == "low":
                doubtful[f"PID {pid:02X} {signal.name}"] = len(value)
            out.append(
                Channel(
                    name=signal.name,
                    unit=signal.unit,
                    t_s=t_s[at],
                    value=value,
                    half_width_s=timing.half_width_s,
                    source=f"service 01 PID {pid:02X}",
                    file=file,
                    labels=signal.labels,
                    invalid={TOO_SHORT: short} if short else {},
                    ecu=ecu_name(source),
                )
            )
    count = sum(len(mine) for _, _, mine in parameters)
    return out, _remarks(messages, count, requests, unpaired, doubtful, unscaled)


def freeze_frames(messages: Messages, pieces: Pieces, plans: dict[int, MessagePlan]) -> list[FreezeFrame]:
    """Freeze frames of service 02: of each module and frame number the last answer for each parameter."""
    codes: dict[tuple[int, int], str | None] = {}
    values: dict[tuple[int, int], dict[str, tuple[float, str]]] = {}
    for source, pid, mine in pieces.by_sender(messages):
        number_of = messages.blob[mine.begin - 1]
        for number in distinct(number_of).tolist():
            last = mine.take(np.flatnonzero(number_of == number)[-1:])
            key = (source, number)
            if pid == _DTC_PID:
                high, low = last.data(messages)[0, :2] if last.size[0] >= 2 else (0, 0)
                stored = int(high) << 8 | int(low)
                codes[key] = code_of(stored) if stored else None
            elif pid in plans and not is_bitmap(pid):
                for signal, _, value in _signals(plans[pid], pid, last, messages):
                    if np.isfinite(value[0]):
                        values.setdefault(key, {})[signal.name] = (float(value[0]), signal.unit)
    # a module that has stored nothing says so with code 0000; what else it sends then is no freeze frame
    kept = [key for key in sorted({*codes, *values}) if codes.get(key, "") is not None]
    return [
        FreezeFrame(ecu=ecu_name(source), number=number, code=codes.get((source, number)),
                    values=values.get((source, number), {}))
        for source, number in kept
    ]  # fmt: skip


def _signals(
    plan: MessagePlan, pid: int, pieces: Pieces, messages: Messages
) -> Iterator[tuple[SignalPlan, NDArray[Any] | slice, NDArray[np.float64]]]:
    """Values of a parameter's signals and which of the pieces hold them; without what the module does not support."""
    data = pieces.data(messages)
    facts = obd.pid_signals()
    by_name = {signal.name: signal for signal in plan.signals}
    lengths = pieces.size if (pieces.size < plan.length_bytes).any() else None
    for signal in plan.signals:
        fact = facts.get((pid, signal.name))
        if (fact is not None and fact.kind in _NOT_VALUES) or signal.bytes_needed > data.shape[1]:
            continue
        there: NDArray[np.bool_] | None = None
        if fact is not None and fact.supported_by in by_name:
            there = extract.unsigned(data, by_name[fact.supported_by]) == 1
        for condition in signal.multiplexing:
            raw = extract.unsigned(data, by_name[condition.multiplexor])
            holds = np.zeros(len(data), bool)
            for low, high in condition.ranges:
                holds |= (raw >= low) & (raw <= high)
            there = holds if there is None else there & holds
        if there is None or there.all():
            yield signal, slice(None), extract.physical(data, signal, lengths)
        elif there.any():
            own_lengths = None if lengths is None else lengths[there]
            yield signal, there, extract.physical(data[there], signal, own_lengths)


@functools.cache
def _without_scale(pid: int) -> tuple[str, ...]:
    """Signals of a PID that are known by name only."""
    return tuple(fact.signal for fact in obd.pid_signals().values() if fact.pid == pid and not fact.in_dbc)


def _remarks(
    messages: Messages,
    count: int,
    requests: Requests,
    unpaired: list[NDArray[np.int64]],
    doubtful: dict[str, int],
    unscaled: dict[str, int],
) -> list[Remark]:
    remarks = []
    rows = np.concatenate(unpaired) if unpaired else np.empty(0, np.int64)
    if len(rows) and requests.asked is None:
        text = "service 01: no request was recorded; values stand at the time of their answers, a little late"
        remarks.append(Remark("answers_without_requests", text, len(rows)))
    elif len(rows):
        text = f"service 01: of {count} values {len(rows)} have no request of their own; their time is estimated"
        remarks.append(Remark("answers_without_requests", text, len(rows), places(messages, np.sort(rows))))
    for kind, text, signals in (
        ("doubtful_signal", "signals whose place or scale only one source gives", doubtful),
        ("signal_without_scale", "signals whose scale no source gives, not decoded", unscaled),
    ):
        if signals:
            remarks.append(Remark(kind, f"service 01: {text}", sum(signals.values()), tuple(signals)[:PLACES_KEPT]))
    return remarks
