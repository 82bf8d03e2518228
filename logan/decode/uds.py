"""Emission diagnosis over the services of ISO 14229 (SAE J1979-2, ISO 27145): codes and data read, the rest counted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from logan.decode import j1979, j1979_codes, uds_codes, uds_data, uds_snapshots
from logan.decode.j1979_pairing import Waits, is_answer_id, is_request_id
from logan.decode.j1979_pids import places
from logan.decode.j1979_values import ecu_name
from logan.dsp.grouping import distinct
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.model.vehicle import Vehicle

_ANSWER: Final = 0x40
_CODES, _DATA = 0x19, 0x22
_NEGATIVE: Final = 0x7F
_OF_MAKER: Final = (0xA0, 0xBE)
_NONE: Final = np.empty(0, np.int64)
_NAMES: Final = {"service 01": "service 22, F4xx", "service 06": "service 22, F6xx", "service 09": "service 22, F8xx"}


def decode(messages: Messages, file: str = "") -> tuple[list[Channel], Vehicle, list[Remark]]:
    """What services 19 and 22 say, and how often others were used; refusals are told by ``j1979.decode``.

    Parameters
    ----------
    file : name of the capture file, for channels and remarks

    Returns
    -------
    channels under the names of the PIDs' signals, what was said about the vehicle, what was unusual
    """
    requests, answers, pending = _by_service(messages)
    notes = [*_of_maker(messages), *_pending(messages, pending)]
    if not requests and not answers:
        return [], Vehicle(), [replace(note, file=file) for note in notes]
    asked, told = requests.get(_DATA, _NONE), answers.get(_DATA, _NONE)
    known, unknown = uds_data.as_j1979(messages, asked, told)
    waiting = j1979_codes.pending(messages, pending, _DATA)
    found, vehicle, remarks = j1979.decode(known, file, Waits(messages, waiting) if len(waiting) else None)
    found = [replace(channel, source=channel.source.replace("service 01 PID ", "service 22, F4")) for channel in found]
    remarks = [replace(remark, text=_named(remark.text)) for remark in remarks]
    frozen, shown = uds_snapshots.read(messages, answers.get(_CODES))
    codes, mil, of_codes = uds_codes.read(messages, answers.get(_CODES), shown)
    notes = [*of_codes, *unknown, *_counted(messages, requests, answers), *notes]
    sources = distinct(messages.source[np.concatenate([_NONE, *answers.values()])])
    both = requests | answers
    vehicle = structs.replace(
        vehicle,
        ecus=[ecu_name(source) for source in sources.tolist()],
        codes=codes,
        freeze_frames=frozen,
        mil=vehicle.mil if mil is None else mil,
        services={f"{service:02X}": len(both[service]) for service in sorted(both)},
    )
    return found, vehicle, [*remarks, *(replace(note, file=file) for note in notes)]


def _named(text: str) -> str:
    """A remark of ``j1979`` in the words of service 22."""
    return next((new + text[len(old) :] for old, new in _NAMES.items() if text.startswith(old)), text)


def _by_service(
    messages: Messages,
) -> tuple[dict[int, NDArray[np.int64]], dict[int, NDArray[np.int64]], NDArray[np.int64]]:
    """Service -> requests, service -> positive answers, and the answers that ask for more time; rows, ascending."""
    rows = np.flatnonzero(messages.length > 0)
    if not len(rows):
        return {}, {}, _NONE
    service = messages.blob[messages.start[rows]]
    source, extended = messages.source[rows], messages.extended[rows]
    wanted = np.array(sorted(obd.diagnostic_services()), np.int64)
    asks = np.isin(service, wanted) & ~is_answer_id(source, extended)
    answers = np.isin(service, wanted + _ANSWER) & ~is_request_id(source, extended)
    negative = rows[(service == _NEGATIVE) & ~is_request_id(source, extended)]
    return (
        {int(s): rows[asks & (service == s)] for s in distinct(service[asks])},
        {int(s) - _ANSWER: rows[answers & (service == s)] for s in distinct(service[answers])},
        j1979_codes.pending(messages, negative),
    )


def _of_maker(messages: Messages) -> Iterator[Remark]:
    """Services that ISO 14229-1 and ISO 14230-3 leave to makers of vehicles and of systems (A0 to BE; from memory)."""
    rows = np.flatnonzero(messages.length > 0)
    service = messages.blob[messages.start[rows]]
    asks = (service >= _OF_MAKER[0]) & (service <= _OF_MAKER[1])
    rows, service = rows[asks], service[asks]
    asks = ~is_answer_id(messages.source[rows], messages.extended[rows])
    rows, service = rows[asks], service[asks]
    if len(rows):
        names = ", ".join(f"{s:02X} x {int((service == s).sum())}" for s in distinct(service).tolist())
        text = f"services that each maker defines, counted and not decoded: {names}"
        yield Remark("services_of_maker", text, len(rows), places(messages, rows))


def _pending(messages: Messages, rows: NDArray[np.int64]) -> Iterator[Remark]:
    """Whatever the service: those of SAE J1979 may be answered so too (ISO 15765-4)."""
    if len(rows):
        text = "a module asked for more time before its answer (7F xx 78)"
        yield Remark("response_pending", text, len(rows), places(messages, rows))


def _counted(
    messages: Messages, requests: dict[int, NDArray[np.int64]], answers: dict[int, NDArray[np.int64]]
) -> Iterator[Remark]:
    """Services that are not decoded, and those that changed something: they matter to every conclusion."""
    both = requests | answers
    services = obd.diagnostic_services()
    others = [s for s in sorted(both) if s not in (_CODES, _DATA)]
    if others:
        names = ", ".join(f"{s:02X} {services[s].name} x {len(both[s])}" for s in others)
        yield Remark("services_counted", f"other services, counted and not decoded: {names}", len(others))
    for service in others:
        said = "confirmed" if service in answers else "asked for, nobody confirmed it"
        where = places(messages, both[service])
        if services[service].effect == "clears":
            kind = "codes_cleared" if service in answers else "codes_cleared_asked"
            text = f"service {service:02X}: trouble codes, freeze frames and readiness were to be cleared ({said})"
            yield Remark(kind, text, len(both[service]), where)
        elif services[service].effect == "changes":
            kind = "system_controlled" if service in answers else "system_controlled_asked"
            text = f"service {service:02X}: a tester used {services[service].name} during the record ({said})"
            yield Remark(kind, text, len(both[service]), where)
