"""Diagnostic services of a capture of several buses: requests and answers of each bus by themselves.

One identifier on two buses is two control modules: both may be an engine's, of two vehicles even. Where the answers of
both buses are the same ones (a gateway between them, or two channels of one recorder on one bus), those of one suffice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from msgspec import Struct, structs
from numpy.typing import NDArray

from logan.decode import j1979, uds
from logan.decode.j1979_pairing import is_request_id
from logan.decode.j1979_status import worse
from logan.decode.j1979_values import ecu_name
from logan.dsp.grouping import distinct
from logan.model.capture import NO_ENGINE, Remark
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.model.vehicle import Vehicle

_IS_ANSWER: Final = 0x40
"""Bit of the service byte that answers have and requests have not (ISO 14229-1; SAE J1979)."""
_PASSED_ON_S: Final = 0.05
"""A gateway hands an answer on within the time that a tester waits for one (P2 of ISO 15765-4: 50 ms; from memory)."""
_ID: Final = (1 << 31) - 1
_MOST: Final = 0.9
"""Share of the answers that must stand on both buses: a recorder may lose some of one."""
_BESIDE: Final = 3
"""Answers to either side, in order of time, among which a twin is looked for."""

Decoded = tuple[list[Channel], Vehicle, list[Remark]]


def decode(messages: Messages, buses: Sequence[str], file: str) -> list[Decoded]:
    """What the services of SAE J1979 and of ISO 14229 say, as ``j1979.decode`` and ``uds.decode`` give it.

    Parameters
    ----------
    buses : names of the buses
    file : name of the capture file, for channels and remarks
    """
    families = (j1979.decode, uds.decode)
    if not len(messages) or messages.bus.min() == messages.bus.max():
        return [family(messages, file) for family in families]
    answers, stays, remarks = _without_repeats(messages, _answers(messages), buses, file)
    shared = {ecu_name(key & _ID) for key, by_bus in answers.items() if len(by_bus) > 1}
    for ecu in sorted(shared):
        text = (
            f"{ecu} answers on several buses, and not the same: two control modules, maybe of two vehicles; they are "
            "told apart by the name of the bus, but measures are made of the one that says most"
        )
        remarks.append(Remark("several_buses", text, file=file))
    parts = {
        buses[bus]: _some(messages, np.flatnonzero(stays & (messages.bus == bus)))
        for bus in distinct(messages.bus[stays]).tolist()
    }
    out = []
    for family in families:
        found = {name: family(part, file) for name, part in parts.items()}
        out.append(_beside({name: _named(one, name, shared) for name, one in found.items()}, file))
    out[0][2].extend(remarks)
    return out


def _answers(messages: Messages) -> dict[int, dict[int, NDArray[np.int64]]]:
    """Answering identifier (bit 31: of 29 bits) -> bus -> its answers, rows in order; those on several buses only."""
    rows = np.flatnonzero(messages.length > 0)
    rows = rows[messages.blob[messages.start[rows]] & _IS_ANSWER != 0]
    rows = rows[~is_request_id(messages.source[rows], messages.extended[rows])]
    key = messages.source[rows].astype(np.int64) | messages.extended[rows].astype(np.int64) << 31
    out: dict[int, dict[int, NDArray[np.int64]]] = {}
    for one in distinct(key).tolist():
        mine = rows[key == one]
        present = distinct(messages.bus[mine]).tolist()
        if len(present) > 1:
            out[one] = {bus: mine[messages.bus[mine] == bus] for bus in present}
    return out


def _without_repeats(
    messages: Messages, answers: dict[int, dict[int, NDArray[np.int64]]], buses: Sequence[str], file: str
) -> tuple[dict[int, dict[int, NDArray[np.int64]]], NDArray[np.bool_], list[Remark]]:
    """Leave out answers that another bus holds as well: those of the bus with the more requests stay.

    Returns
    -------
    answers that stay, (n,) bool which messages do (no requests of a bus that has no other answers), what is said of it
    """
    if not answers:
        return answers, np.ones(len(messages), bool), []
    is_answer = messages.blob[np.minimum(messages.start, max(0, len(messages.blob) - 1))] & _IS_ANSWER != 0
    requests = np.bincount(messages.bus[~is_answer], minlength=len(buses))
    out: dict[int, dict[int, NDArray[np.int64]]] = {}
    left: list[NDArray[np.int64]] = [np.empty(0, np.int64)]
    remarks = []
    for key, by_bus in answers.items():
        kept: dict[int, NDArray[np.int64]] = {}
        for bus in sorted(by_bus, key=lambda b: (-requests[b], -len(by_bus[b]), b)):
            rows = by_bus[bus]
            twin = next((other for other in kept if _same(messages, kept[other], rows)), None)
            if twin is None:
                kept[bus] = rows
                continue
            left.append(rows)
            text = (
                f"answers of {ecu_name(key & _ID)} stand on {buses[twin]} and on {buses[bus]}, the same ones (a "
                f"gateway, or two channels on one bus): those of {buses[twin]} are used"
            )
            remarks.append(Remark("same_on_two_buses", text, len(rows), file=file))
        out[key] = kept
    gone = np.concatenate(left)
    stays = np.ones(len(messages), bool)
    stays[gone] = False
    for bus in distinct(messages.bus[gone]).tolist():
        if not (stays & is_answer & (messages.bus == bus)).any():
            stays[messages.bus == bus] = False
    return out, stays, remarks


def _same(messages: Messages, one: NDArray[np.int64], other: NDArray[np.int64]) -> bool:
    """Whether two buses hold the same answers at about the same times while both were recorded, but for lost ones."""
    few, many = sorted((one, other), key=len)
    t_s = messages.t_s
    begin, end = (choose(t_s[few[k]], t_s[many[k]]) for k, choose in ((0, max), (-1, min)))
    few = few[(t_s[few] >= begin - _PASSED_ON_S) & (t_s[few] <= end + _PASSED_ON_S)]
    place = np.searchsorted(t_s[many], t_s[few])
    twin = np.zeros(len(few), bool)
    for beside in range(-_BESIDE, _BESIDE):
        its = many[np.clip(place + beside, 0, len(many) - 1)]
        near = (np.abs(t_s[its] - t_s[few]) <= _PASSED_ON_S) & (messages.length[its] == messages.length[few])
        width = max(1, int(messages.length[few].max(initial=1)))
        twin |= near & (messages.matrix(its, width) == messages.matrix(few, width)).all(axis=1)
    return len(few) > 0 and float(twin.mean()) >= _MOST


def _some(messages: Messages, rows: NDArray[np.int64]) -> Messages:
    return Messages(
        t_s=messages.t_s[rows], t_first_s=messages.t_first_s[rows], source=messages.source[rows],
        address=messages.address[rows], extended=messages.extended[rows], bus=messages.bus[rows],
        start=messages.start[rows], length=messages.length[rows], blob=messages.blob,
    )  # fmt: skip


def _named(decoded: Decoded, bus: str, shared: set[str]) -> Decoded:
    """What one bus said, with the name of the bus behind those modules that another bus has too."""
    channels, vehicle, remarks = decoded
    if not shared:
        return decoded

    def name(ecu: str) -> str:
        return f"{ecu} {bus}".strip() if ecu in shared else ecu

    vehicle = structs.replace(
        vehicle,
        vins={name(ecu): said for ecu, said in vehicle.vins.items()},
        ecus=[name(ecu) for ecu in vehicle.ecus],
        ecu_names={name(ecu): said for ecu, said in vehicle.ecu_names.items()},
        codes=[structs.replace(one, ecu=name(one.ecu)) for one in vehicle.codes],
        freeze_frames=[structs.replace(one, ecu=name(one.ecu)) for one in vehicle.freeze_frames],
        monitor_tests=[structs.replace(one, ecu=name(one.ecu)) for one in vehicle.monitor_tests],
        refusals=[structs.replace(one, ecu=name(one.ecu)) for one in vehicle.refusals],
        supported_pids={name(ecu): said for ecu, said in vehicle.supported_pids.items()},
    )
    return [replace(channel, ecu=name(channel.ecu)) for channel in channels], vehicle, remarks


def _beside(found: Mapping[str, Decoded], file: str) -> Decoded:
    """What all buses said: as of control modules of one bus, the lamp and the readiness of the worse ones count."""
    channels = [channel for some, _, _ in found.values() for channel in some]
    vehicles = {bus: vehicle for bus, (_, vehicle, _) in found.items()}
    lamps = [vehicle.mil for vehicle in vehicles.values() if vehicle.mil is not None]
    counters: dict[str, int] = {}
    readiness: dict[str, str] = {}
    for bus, vehicle in vehicles.items():
        for name, count in vehicle.counters.items():
            counters[name if name not in counters else f"{name} ({bus})"] = count
        for monitor, state in vehicle.readiness.items():
            readiness[monitor] = worse(readiness.get(monitor, state), state)
    whole = structs.replace(
        j1979.merge(list(vehicles.values())),
        mil=any(lamps) if lamps else None,
        counters=counters,
        readiness=readiness,
    )
    remarks = [one for one in _told(found) if one.kind != NO_ENGINE]
    if any(remark.kind == NO_ENGINE for _, _, some in found.values() for remark in some):
        remarks += [replace(remark, file=file) for remark in j1979.no_engine(channels)]
    return channels, whole, remarks


class _Once(Struct):
    """A remark and the buses that it is about."""

    remark: Remark
    buses: list[str]


def _told(found: Mapping[str, Decoded]) -> Iterator[Remark]:
    """Remarks of all buses, equal ones together; the name of the bus stands behind those that are not about all."""
    once: dict[tuple[str, str], _Once] = {}
    for bus, (_, _, remarks) in found.items():
        for remark in remarks:
            key = (remark.kind, remark.text)
            before = once.get(key)
            if before is None:
                once[key] = _Once(remark, [bus])
            else:
                before.remark = replace(before.remark, count=before.remark.count + remark.count)
                before.buses.append(bus)
    speaking = sum(vehicle != Vehicle() for _, vehicle, _ in found.values())
    for one in once.values():
        about_all = len(one.buses) >= speaking
        yield one.remark if about_all else replace(one.remark, text=f"{one.remark.text} ({', '.join(one.buses)})")
