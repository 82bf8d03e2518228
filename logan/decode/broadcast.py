"""Broadcast messages: frames and plans in, one channel a signal and sender out."""

from __future__ import annotations

import functools
import threading
from collections.abc import Collection, Mapping, Sequence
from typing import Any

import numpy as np
from msgspec import Struct, structs
from numpy.typing import NDArray

from logan import parallel
from logan.decode import extract
from logan.decode.dbc import pgn_of
from logan.decode.j1939_bus import of_the_maker, set_aside, speaking
from logan.decode.plan import Condition, MessagePlan, SignalPlan
from logan.dsp.grouping import Groups, distinct, identifiers
from logan.model.capture import PLACES_KEPT, Remark
from logan.model.channel import NOT_AVAILABLE, Channel, Deferred, Extent
from logan.model.frames import ERROR, REMOTE, Frames, FramesByKind

ERROR_INDICATED = "error indicated by the sender"
NO_VALUE = "above the range of values of SAE J1939-71"
TOO_SHORT = "frame too short for the signal"


def decode(
    frames: Frames, plans: Sequence[MessagePlan], file: str, wanted: Collection[str] | None = None
) -> tuple[list[Channel], list[Remark]]:
    """Channels of all broadcast messages that a capture holds and a plan describes.

    Parameters
    ----------
    file : name of the capture file, for the channels and remarks
    wanted : names of the signals to decode, ``Signal`` or ``Message.Signal``; all where it is None

    Returns
    -------
    channels in order of the plans, one for each sender of a J1939 parameter group (``ecu`` "SA 00") and each bus
    """
    chosen = [(plan, _chosen(plan, wanted)) for plan in plans]
    channels: list[Channel] = []
    remarks: list[Remark] = []
    if not any(signals for _, signals in chosen):
        return channels, remarks
    speaks = speaking(frames)
    parts_of = _parts_of_plans(frames, plans, {k for k, (_, signals) in enumerate(chosen) if signals}, speaks)
    groups = [plan.pgn for plan in plans if plan.pgn is not None]
    remarks += set_aside(frames, speaks, groups, file)
    exact = [plan.frame_id for plan in plans if plan.pgn is None and plan.extended]
    remarks += of_the_maker(frames, speaks, groups, exact, file)
    jobs = [(k, sender, part) for k, senders in sorted(parts_of.items()) for sender, part in senders.items()]

    is_long = len(frames) >= parallel.MANY

    def decoded(job: tuple[int, str, _Part]) -> tuple[list[Channel], list[Remark]]:
        k, sender, part = job
        return _decode_message(part, *chosen[k], sender, file, is_long)

    for found, remark in parallel.each(decoded, jobs, pays=is_long):
        channels += found
        remarks += remark
    return channels, remarks


def _chosen(plan: MessagePlan, wanted: Collection[str] | None) -> tuple[SignalPlan, ...]:
    if wanted is None:
        return plan.signals
    return tuple(s for s in plan.signals if s.name in wanted or f"{plan.name}.{s.name}" in wanted)


class _Part(Struct, frozen=True):
    """The frames of one sender's message.

    Parameters
    ----------
    t_s, can_id, length : (n,) as in ``Frames``
    data : (n, 8) or (n, 64) uint8
    ascends : times are known to ascend
    """

    t_s: NDArray[np.float64]
    can_id: NDArray[np.uint32]
    length: NDArray[np.uint8]
    data: NDArray[np.uint8]
    ascends: bool = False


def _part(frames: Frames, rows: NDArray[np.int64]) -> _Part:
    return _Part(np.take(frames.t_s, rows), frames.can_id[rows], frames.length[rows], frames.payload(rows))


def _parts_of_plans(
    frames: Frames, plans: Sequence[MessagePlan], needed: set[int], speaks: NDArray[np.bool_]
) -> dict[int, dict[str, _Part]]:
    """Needed plan -> sender -> its data frames in order. An identifier given exactly beats a PGN.

    Identifiers hold a PGN only on a bus that ``speaks`` SAE J1939.
    """
    exact = {(plan.extended, plan.frame_id): k for k, plan in enumerate(plans) if plan.pgn is None}
    by_pgn = {plan.pgn: k for k, plan in enumerate(plans) if plan.pgn is not None} if speaks.any() else {}
    if frames.flags_met & (ERROR | REMOTE) and not isinstance(frames, FramesByKind):
        frames = frames.take(np.flatnonzero(frames.flags & (ERROR | REMOTE) == 0))
    groups = identifiers(frames)
    plan_of: dict[int, tuple[int, str]] = {}
    for number, key in enumerate(groups.keys.tolist()):
        extended, frame_id = bool(key >> 31), key & 0x1FFFFFFF
        k, sender = exact.get((extended, frame_id)), ""
        if k is None and extended:
            k, sender = by_pgn.get(pgn_of(frame_id)), f"SA {frame_id & 0xFF:02X}"
        if k in needed:
            plan_of[number] = k, sender
    if isinstance(frames, FramesByKind):
        return _parts_of_kinds(frames, groups, plans, plan_of, speaks)

    found: dict[tuple[int, str], list[NDArray[np.int64]]] = {}
    wanted = np.array([int(number) in plan_of for number in groups.number], bool)
    rows_of: dict[int, list[NDArray[np.int64]]] = {}
    for slot, rows in groups.rows_of(wanted).items():
        rows_of.setdefault(int(groups.number[slot]), []).append(rows)
    for number, (k, sender) in plan_of.items():
        rows = _in_order(rows_of[number])
        if plans[k].pgn is not None and not speaks.all():
            rows = rows[speaks[frames.bus[rows]]]
        for name, own in _by_bus(frames, rows, sender) if len(rows) else ():
            found.setdefault((k, name), []).append(own)
    parts: dict[int, dict[str, _Part]] = {}
    for (k, name), lists in found.items():
        parts.setdefault(k, {})[name] = _part(frames, _in_order(lists))
    return parts


def _in_order(lists: Sequence[NDArray[np.int64]]) -> NDArray[np.int64]:
    """Rows of several lists, ascending."""
    return lists[0] if len(lists) == 1 else np.sort(np.concatenate(lists))


def _parts_of_kinds(
    frames: FramesByKind, groups: Groups, plans: Sequence[MessagePlan], plan_of: Mapping[int, tuple[int, str]],
    speaks: NDArray[np.bool_],
) -> dict[int, dict[str, _Part]]:  # fmt: skip
    """As ``_parts_of_plans``, out of frames that are kept by kind: those of one kind stand together already.

    Parameters
    ----------
    groups : the frames by identifier
    plan_of : plan and sender of the identifiers that have one
    """
    kinds = frames.kinds
    found: dict[tuple[int, str], list[int]] = {}
    for one, (k, sender) in plan_of.items():
        own = np.flatnonzero((groups.number == one) & (kinds.flags & (ERROR | REMOTE) == 0))
        if plans[k].pgn is not None:
            own = own[speaks[kinds.bus[own]]]
        own = own[np.argsort(kinds.bus[own], kind="stable")]  # in the order of the buses, as the twin
        is_shared = len(distinct(kinds.bus[own])) > 1
        for kind in own.tolist():
            name = f"{sender} {frames.buses[kinds.bus[kind]]}".strip() if is_shared else sender
            found.setdefault((k, name), []).append(kind)
    is_in_parts = np.zeros(len(groups.number), bool)
    is_in_parts[[kind for some in found.values() if len(some) > 1 for kind in some]] = True
    rows_of = groups.rows_of(is_in_parts)
    parts: dict[int, dict[str, _Part]] = {}
    for (k, name), some in found.items():
        pieces, count = [frames.of_kind(kind) for kind in some], kinds.count[some]
        if len(some) == 1:
            t_s, data = pieces[0]
            can_id, length = (np.broadcast_to(column[some[0]], len(t_s)) for column in (kinds.can_id, kinds.length))
        else:
            order = np.argsort(np.concatenate([rows_of[kind] for kind in some]), kind="stable")
            t_s = np.concatenate([piece for piece, _ in pieces])[order]
            data = np.concatenate([piece for _, piece in pieces])[order]
            can_id, length = (np.repeat(column[some], count)[order] for column in (kinds.can_id, kinds.length))
        parts.setdefault(k, {})[name] = _Part(t_s, can_id, length, data, ascends=True)
    return parts


def _by_bus(frames: Frames, rows: NDArray[np.int64], sender: str) -> list[tuple[str, NDArray[np.int64]]]:
    """Rows of one identifier by bus: the same identifier on two buses is two senders."""
    if len(frames.buses) < 2:
        return [(sender, rows)]
    bus = frames.bus[rows]
    present = distinct(bus).tolist()
    if len(present) < 2:
        return [(sender, rows)]
    return [(f"{sender} {frames.buses[b]}".strip(), rows[bus == b]) for b in present]


def _decode_message(
    part: _Part, plan: MessagePlan, signals: tuple[SignalPlan, ...], sender: str, file: str, is_long: bool
) -> tuple[list[Channel], list[Remark]]:
    """Signals of one sender's frames of a message; in a long log those that can wait are made when asked for."""
    t_s, can_id, lengths, data, ascends = structs.astuple(part)
    if not ascends and (t_s[1:] < t_s[:-1]).any():
        order = np.argsort(t_s, kind="stable")
        t_s, can_id, lengths, data = (column[order] for column in (t_s, can_id, lengths, data))
    remarks = []
    short = np.flatnonzero(lengths < plan.length_bytes)
    if len(short):
        places = tuple(f"t = {t_s[k]:.3f} s, id {can_id[k]:X}" for k in short[:PLACES_KEPT])
        text = f"frames of {plan.name} shorter than the {plan.length_bytes} bytes of the signal data base"
        remarks.append(Remark("short_frame", text, len(short), places, file))
    channels: list[Channel] = []
    multiplexors = {signal.name: signal for signal in plan.signals}
    held: dict[Condition, NDArray[np.bool_]] = {}
    may_wait = is_long and not len(short) and plan.pgn is None and data.shape[1] == 8
    waiting = {signal.name for signal in signals if may_wait and extract.can_wait(signal)}
    values = {} if len(short) else extract.together(data, [one for one in signals if one.name not in waiting])
    looks = _Looks(data, [one for one in signals if one.name in waiting])
    for signal in signals:
        present: NDArray[np.bool_] | None = None
        for condition in signal.multiplexing:
            if condition not in held:
                held[condition] = _holds(data, lengths, multiplexors[condition.multiplexor], condition)
            present = held[condition] if present is None else present & held[condition]
        if present is None:
            own_t_s, own_data, own_lengths = t_s, data, lengths
        elif present.any():
            own_t_s, own_data, own_lengths = t_s[present], data[present], lengths[present]
        else:
            continue
        value: NDArray[np.float64] | None = None
        if present is None and signal.name in values:
            value = values[signal.name]
        elif signal.name not in waiting:
            value = extract.physical(own_data, signal, own_lengths if len(short) else None)
        invalid = {}
        too_short = int((own_lengths < signal.bytes_needed).sum()) if len(short) else 0
        if too_short:
            invalid[TOO_SHORT] = too_short
        if plan.pgn is not None and value is not None:
            invalid |= _blank_special(value, extract.unsigned(own_data, signal), signal)
        known = {
            "name": signal.name, "unit": signal.unit, "t_s": own_t_s, "source": f"DBC {plan.name}.{signal.name}",
            "file": file, "labels": _physical_labels(signal), "invalid": invalid, "ecu": sender,
        }  # fmt: skip
        if value is None:
            make = functools.partial(extract.quickly, data, signal)
            look = functools.partial(looks.of, signal.name)
            channels.append(Deferred(value=None, make=make, look=look, **known))
        else:
            channels.append(Channel(value=value, **known))
    return channels, remarks


class _Looks:
    """Extents of the signals of a message, all of which are found when one is asked for."""

    def __init__(self, data: NDArray[np.uint8], signals: Sequence[SignalPlan]) -> None:
        self._data, self._signals, self._looking = data, signals, threading.Lock()
        self._found: dict[str, Extent] = {}

    def of(self, name: str) -> Extent:
        """The extent of one of them."""
        with self._looking:
            if not self._found:
                found = extract.extents(self._data, self._signals)
                self._found = {signal.name: extent for signal, extent in zip(self._signals, found, strict=True)}
        return self._found[name]


def _holds(
    data: NDArray[np.uint8], lengths: NDArray[np.uint8], multiplexor: SignalPlan, condition: Condition
) -> NDArray[np.bool_]:
    """Frames in which a multiplexing condition holds, (n,)."""
    value = extract.raw(data, multiplexor)
    inside = np.zeros(len(data), bool)
    for low, high in condition.ranges:
        inside |= (value >= low) & (value <= high)
    return inside & (lengths >= multiplexor.bytes_needed)


def _blank_special(value: NDArray[np.float64], bits: NDArray[Any], signal: SignalPlan) -> dict[str, int]:
    """Set J1939 "not available" and "error" to NaN in place and count them.

    Source: SAE J1939-71, 5.1.4: all ones of any length and a highest byte FF are "not available", a highest byte FE
    and the pair of bits 10 are "error indicator", a highest byte FB to FD is reserved or a mark of the parameter's own
    (there the data base's limit decides). One bit alone has no room for either.
    """
    if signal.is_float or signal.length < 2:
        return {}
    known = np.isfinite(value)
    beyond = np.zeros(len(bits), bool)
    if signal.length in (8, 16, 24, 32):
        top = bits >> bits.dtype.type(signal.length - 8)
        absent, error = top == 0xFF, top == 0xFE
        if signal.maximum is not None and signal.maximum > (signal.minimum or 0.0):
            beyond = (top >= 0xFB) & (top <= 0xFD) & (value > signal.maximum)
    else:
        absent = bits == bits.dtype.type((1 << signal.length) - 1)
        error = bits == 2 if signal.length == 2 else np.zeros(len(bits), bool)
    counts = {}
    for reason, mask in ((NOT_AVAILABLE, absent), (ERROR_INDICATED, error), (NO_VALUE, beyond)):
        mask &= known
        count = int(mask.sum())
        if count:
            value[mask] = np.nan
            counts[reason] = count
    return counts


def _physical_labels(signal: SignalPlan) -> dict[int, str]:
    """Labels by physical value, where that is a whole number."""
    scaled = {raw * signal.scale + signal.offset: label for raw, label in signal.labels.items()}
    return {int(value): label for value, label in scaled.items() if value.is_integer()}
