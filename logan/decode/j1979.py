"""Emission diagnosis by SAE J1979 / ISO 15031-5: services 01 to 0A, requests and answers."""

from __future__ import annotations

import functools
from collections import Counter
from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TypeVar

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.decode import j1979_codes, j1979_identity, vins
from logan.decode.j1979_pairing import Requests, Waits, is_answer_id, is_request_id
from logan.decode.j1979_pids import places, split
from logan.decode.j1979_status import SINCE_CLEARED, THIS_CYCLE, Status
from logan.decode.j1979_values import channels, ecu_name, freeze_frames, is_bitmap, load_plans, supported
from logan.dsp.grouping import distinct
from logan.model.capture import NO_ENGINE, Remark
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.model.vehicle import Refusal, Vehicle

_ANSWER = 0x40
_NEGATIVE = 0x7F
_LAST_SERVICE = 0x0A
_CURRENT, _FREEZE, _CLEAR, _TESTS, _CONTROL, _INFORMATION = 0x01, 0x02, 0x04, 0x06, 0x08, 0x09
_FUEL_TYPE, _BATTERY = "fuel_type", 8  # PID 51
_NONE = np.empty(0, np.int64)
_T = TypeVar("_T")


def decode(
    messages: Messages, file: str = "", waits: Waits | None = None
) -> tuple[list[Channel], Vehicle, list[Remark]]:
    """Everything that services 01 to 0A say in a capture.

    Parameters
    ----------
    file : name of the capture file, for channels and remarks
    waits : how modules asked for more time for values; None: as the messages say

    Returns
    -------
    channels under the names of the PIDs' signals, what was said about the vehicle, what was unusual
    """
    requests, answers, negative = _by_service(messages)
    if not requests and not answers and not len(negative):
        return [], Vehicle(), []
    found: list[Channel] = []
    remarks: list[Remark] = []
    status = Status()
    supported_pids: dict[str, set[int]] = {}
    plans = load_plans() if _CURRENT in answers or _FREEZE in answers else {}
    if _CURRENT in answers:
        waiting = j1979_codes.pending(messages, negative, _CURRENT)
        if waits is None and len(waiting):
            waits = Waits(messages, waiting)
        asking = Requests(messages, requests.get(_CURRENT, _NONE), items=6, waits=waits)
        pieces, notes = split(messages, answers[_CURRENT], 1, asking.asked, "01")
        remarks += notes
        parameters = list(pieces.by_sender(messages))
        found, notes = channels(messages, parameters, asking, plans, file)
        remarks += notes
        remarks += no_engine(found)
        for source, pid, mine in parameters:
            if is_bitmap(pid):
                supported_pids.setdefault(ecu_name(source), set()).update(supported(mine, messages, pid))
            elif pid in (SINCE_CLEARED, THIS_CYCLE):
                status.add(pid, source, mine, messages)
    frozen = []
    if _FREEZE in answers:
        asking = Requests(messages, requests.get(_FREEZE, _NONE), items=3, step=2)
        pieces, notes = split(messages, answers[_FREEZE], 2, asking.asked, "02")
        remarks += notes
        frozen = freeze_frames(messages, pieces, plans)
    codes, notes = j1979_codes.trouble_codes(messages, answers)
    remarks += notes
    tests, notes = j1979_codes.monitor_tests(messages, answers.get(_TESTS))
    remarks += notes
    identity = j1979_identity.read(messages, answers.get(_INFORMATION))
    remarks += identity.remarks
    ignition, notes = status.ignition()
    remarks += notes
    remarks += _interventions(messages, requests, answers)
    sources = distinct(messages.source[np.concatenate([*answers.values(), negative])])
    vehicle = Vehicle(
        vin=vins.chosen(identity.vins),
        vins=identity.vins,
        ecus=[ecu_name(source) for source in sources.tolist()],
        calibration_ids=identity.calibration_ids,
        cvns=identity.cvns,
        ecu_names=identity.ecu_names,
        ignition=ignition,
        readiness=status.readiness(ignition),
        mil=status.mil(),
        counters=identity.counters,
        codes=codes,
        freeze_frames=frozen,
        monitor_tests=tests,
        refusals=j1979_codes.refusals(messages, negative),
        supported_pids={ecu: sorted(pids) for ecu, pids in supported_pids.items()},
        services=_services(requests, answers),
    )
    return found, vehicle, [replace(remark, file=file) for remark in remarks]


def merge(vehicles: Sequence[Vehicle]) -> Vehicle:
    """One vehicle out of what the captures of a road test said; where they differ the later one counts.

    The ignition type is that of the first capture that has it; of several VINs ``vins.chosen`` takes one.
    """
    return functools.reduce(_with, vehicles, Vehicle())


def _with(first: Vehicle, second: Vehicle) -> Vehicle:
    pids = {
        ecu: sorted({*first.supported_pids.get(ecu, ()), *second.supported_pids.get(ecu, ())})
        for ecu in (first.supported_pids | second.supported_pids)
    }
    said = vins.together(first.vins, second.vins)
    return Vehicle(
        vin=vins.chosen(said) or first.vin or second.vin,
        vins=said,
        ecus=sorted({*first.ecus, *second.ecus}, key=_by_identifier),
        calibration_ids=list(dict.fromkeys([*first.calibration_ids, *second.calibration_ids])),
        cvns=list(dict.fromkeys([*first.cvns, *second.cvns])),
        ecu_names=first.ecu_names | second.ecu_names,
        ignition=first.ignition if first.ignition is not None else second.ignition,
        readiness=first.readiness | second.readiness,
        mil=second.mil if second.mil is not None else first.mil,
        counters=first.counters | second.counters,
        codes=_last_of([*first.codes, *second.codes], lambda code: (code.code, code.status, code.ecu)),
        freeze_frames=_last_of([*first.freeze_frames, *second.freeze_frames], lambda frame: (frame.ecu, frame.number)),
        monitor_tests=_last_of(
            [*first.monitor_tests, *second.monitor_tests], lambda test: (test.ecu, test.monitor_id, test.test_id)
        ),
        refusals=_added(first.refusals, second.refusals),
        supported_pids=pids,
        services=dict(sorted((Counter(first.services) + Counter(second.services)).items())),
    )


def _by_identifier(ecu: str) -> tuple[int, str]:
    """Eleven-bit identifiers first."""
    return len(ecu), ecu


def _last_of(items: Iterable[_T], key: Callable[[_T], Hashable]) -> list[_T]:
    """Of equal ones the last, at the place of the first."""
    return list({key(item): item for item in items}.values())


def _added(first: Iterable[Refusal], second: Iterable[Refusal]) -> list[Refusal]:
    """Equal refusals counted together."""
    out: dict[tuple[str, int, int], Refusal] = {}
    for refusal in (*first, *second):
        key = (refusal.ecu, refusal.service, refusal.code)
        before = out[key].count if key in out else 0
        out[key] = msgspec.structs.replace(refusal, count=refusal.count + before)
    return list(out.values())


def _by_service(
    messages: Messages,
) -> tuple[dict[int, NDArray[np.int64]], dict[int, NDArray[np.int64]], NDArray[np.int64]]:
    """Service -> requests, service -> positive answers, and the negative answers; rows of each, ascending.

    The service byte says which is which; an identifier that belongs to the other side takes its message out.
    """
    rows = np.flatnonzero(messages.length > 0)
    if not len(rows):
        return {}, {}, _NONE
    service = messages.blob[messages.start[rows]]
    source, extended = messages.source[rows], messages.extended[rows]
    asks = (service >= 1) & (service <= _LAST_SERVICE) & ~is_answer_id(source, extended)
    answers = ((service > _ANSWER) & (service <= _ANSWER + _LAST_SERVICE)) & ~is_request_id(source, extended)
    negative = (service == _NEGATIVE) & ~is_request_id(source, extended)
    return (
        {int(s): rows[asks & (service == s)] for s in distinct(service[asks])},
        {int(s) - _ANSWER: rows[answers & (service == s)] for s in distinct(service[answers])},
        rows[negative],
    )


def no_engine(channels: Iterable[Channel]) -> Iterator[Remark]:
    """PID 51 says "battery electric", and nothing else: there is no engine to judge."""
    types = {float(v) for channel in channels if channel.name == _FUEL_TYPE for v in channel.finite()[1] if v}
    if types == {_BATTERY}:
        yield Remark(NO_ENGINE, "the vehicle says that it runs on its battery alone: it has no engine to judge")


def _interventions(
    messages: Messages, requests: dict[int, NDArray[np.int64]], answers: dict[int, NDArray[np.int64]]
) -> Iterator[Remark]:
    """Services that change something: codes cleared, an actuator or test ordered. They matter to every conclusion."""
    for service, kind, done, tried in (
        (
            _CLEAR,
            "codes_cleared",
            "service 04: trouble codes, freeze frames and readiness were cleared during the record; what stood before"
            " is gone and monitors start anew",
            "service 04: a tester asked to clear the trouble codes; no module confirmed it",
        ),
        (
            _CONTROL,
            "system_controlled",
            "service 08: a tester took control of a system or test during the record",
            "service 08: a tester asked to control a system or test; no module confirmed it",
        ),
    ):
        if service in answers:
            yield Remark(kind, done, len(answers[service]), places(messages, answers[service]))
        elif service in requests:
            yield Remark(f"{kind}_asked", tried, len(requests[service]), places(messages, requests[service]))


def _services(requests: dict[int, NDArray[np.int64]], answers: dict[int, NDArray[np.int64]]) -> dict[str, int]:
    """Service as two hexadecimal digits -> positive answers; for a service that nobody answered, its requests."""
    rows = requests | answers
    return {f"{service:02X}": len(rows[service]) for service in sorted(rows)}
