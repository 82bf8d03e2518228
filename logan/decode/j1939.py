"""Diagnosis of SAE J1939-73: trouble codes and lamps, readiness, identity; out of single frames and long messages."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.decode import j1939_codes, j1939_rest, vins
from logan.decode.j1939_bus import pgn_of_each, speaking
from logan.decode.j1939_codes import Said
from logan.decode.j1939_rest import ACKNOWLEDGE, CLEARING_OF_ONE, REQUEST, STORED
from logan.dsp.grouping import among, identifiers
from logan.knowledge import j1939
from logan.model.capture import Remark, first_places
from logan.model.frames import ERROR, EXTENDED, FD, FD_WIDTH, REMOTE, Frames, Messages
from logan.model.vehicle import TroubleCode, Vehicle

# SAE J1939-21, J1939-71 and J1939-73; numbers as can-j1939 lists them, but for the VIN and the component (from memory)
_CLAIM: Final = 0xEE00
_ACTIVE: Final = 65226
_READINESS: Final = 65230
_VIN: Final = 65260
_COMPONENT: Final = 65259
_CALIBRATIONS: Final = 54016
_NO_MODULE: Final = ("SA F9", "SA FA", "SA FE")
"""Addresses of testers, and of who has none (SAE J1939-81, from memory)."""

_READINESS_BYTES: Final = 8
_COUNTED: Final = ("active trouble codes by DM5", "previously active trouble codes by DM5")
"""Bytes 1 and 2 of DM5 (from memory)."""
_MOST_COUNTED: Final = 0xFA
_CALIBRATION_BYTES: Final = 20
_CVN_BYTES: Final = 4
_VIN_CHARACTERS: Final = re.compile("[A-HJ-NPR-Z0-9]{17}")  # ISO 3779: no I, O, Q
_FIELD_END: Final = b"*"
_UNUSED: Final = b"\x00\xff "


def decode(frames: Frames, messages: Messages, file: str) -> tuple[Vehicle, list[Remark]]:
    """What control modules on the J1939 buses of a capture said about themselves and their faults.

    Parameters
    ----------
    messages : the multi-packet messages of the same capture, after transport
    file : name of the capture file, for the remarks
    """
    said = _read(frames, messages)
    remarks: list[Remark] = []
    with_codes = [one for one in said if one.pgn in j1939.trouble_code_messages()]
    found = _trouble_codes(with_codes, remarks)
    last_word = {one.sender: one.payload for one in said if one.pgn == _READINESS}
    readiness = {
        one.sender: one.payload
        for one in said
        if one.pgn == _READINESS and len(one.payload) >= _READINESS_BYTES and one.payload[3:8] != b"\xff" * 5
    }
    calibrations = [record for one in said if one.pgn == _CALIBRATIONS for record in _records(one.payload)]
    remarks += _gone(with_codes)
    remarks += j1939_rest.clearing(said)
    remarks += j1939_rest.others(said)
    services: dict[str, int] = {}
    for one in with_codes:
        name = j1939.trouble_code_messages()[one.pgn].name
        services[name] = services.get(name, 0) + 1
    numbers = _vins((one for one in said if one.pgn == _VIN), remarks)
    vehicle = Vehicle(
        vin=vins.chosen(numbers),
        vins=numbers,
        ecus=sorted({one.sender for one in said if one.pgn not in (REQUEST, ACKNOWLEDGE)}.difference(_NO_MODULE)),
        calibration_ids=list(dict.fromkeys(text for _, text in calibrations if text)),
        cvns=list(dict.fromkeys(cvn for cvn, _ in calibrations)),
        ecu_names={one.sender: _component(one.payload) for one in said if one.pgn == _COMPONENT},
        readiness=j1939_codes.readiness(readiness.values()),
        mil=_lamps(with_codes, remarks),
        counters={
            f"{name}, {sender}": payload[place]
            for sender, payload in last_word.items()
            for place, name in enumerate(_COUNTED)
            if place < len(payload) and payload[place] <= _MOST_COUNTED
        },
        codes=found,
        freeze_frames=j1939_rest.stored_values([one for one in said if one.pgn == STORED], remarks),
        services=services,
    )
    return vehicle, [replace(remark, file=file) for remark in remarks]


def as_frames(messages: Messages) -> Frames:
    """Multi-packet messages as frames of up to 64 bytes, so that a signal data base can describe them.

    What lies beyond is cut off; signals that stand there come out as too short.
    """
    rows = np.arange(len(messages))
    data = messages.matrix(rows, FD_WIDTH)
    return Frames(
        t_s=messages.t_s,
        can_id=messages.source,
        flags=np.full(len(messages), EXTENDED | FD, np.uint8),
        bus=messages.bus,
        length=np.minimum(messages.length, FD_WIDTH).astype(np.uint8),
        data=data[:, :8],
        fd_row=rows,
        fd_data=data,
        buses=("",) * (int(messages.bus.max(initial=0)) + 1),
    )


def _read(frames: Frames, messages: Messages) -> list[Said]:
    """Diagnostic messages on the buses that speak J1939, in order of time."""
    speaks = speaking(frames)
    if not speaks.any():
        return []
    own = (REQUEST, ACKNOWLEDGE, _CLAIM, _READINESS, _VIN, _COMPONENT, _CALIBRATIONS, STORED, CLEARING_OF_ONE)
    wanted = np.array([*own, *j1939.trouble_code_messages(), *j1939.other_messages()], np.uint32)
    groups = identifiers(frames)
    some, _ = groups.pick(frames, among(pgn_of_each(groups.keys), wanted))
    rows = np.flatnonzero((some.flags & (EXTENDED | ERROR | REMOTE) == EXTENDED) & speaks[some.bus])
    data, lengths = some.payload(rows), some.length[rows].tolist()
    payloads = [data[k, :n].tobytes() for k, n in enumerate(lengths)]
    said = list(_each(some.t_s[rows], some.can_id[rows], payloads))
    long = np.flatnonzero(among(pgn_of_each(messages.source), wanted))
    long = long[speaks[messages.bus[long]]]
    said += _each(messages.t_first_s[long], messages.source[long], [messages.payload(row) for row in long.tolist()])
    return sorted(said, key=lambda one: one.t_s)


def _each(t_s: NDArray[np.float64], can_id: NDArray[np.uint32], payloads: list[bytes]) -> Iterator[Said]:
    for t, pgn, source, payload in zip(
        t_s.tolist(), pgn_of_each(can_id).tolist(), (can_id & np.uint32(0xFF)).tolist(), payloads, strict=True
    ):
        yield Said(t, pgn, f"SA {source:02X}", payload)


def _trouble_codes(said: list[Said], remarks: list[Remark]) -> list[TroubleCode]:
    """Codes, each once for each status and sender, at the time when it was first told and with its last count."""
    first_s: dict[tuple[str, str, str], float] = {}
    last: dict[tuple[str, str, str], j1939_codes.Code] = {}
    short: list[Said] = []
    for one in said:
        status: str = j1939.trouble_code_messages()[one.pgn].status
        found, rest = j1939_codes.codes(one.payload)
        if rest or len(one.payload) < j1939_codes.SHORTEST:
            short.append(one)
        for code in found:
            key = (code.text, status, one.sender)
            first_s.setdefault(key, one.t_s)
            last[key] = code
    if short:
        text = "messages with trouble codes that do not end with a whole code"
        remarks.append(Remark("code_message_cut", text, len(short), first_places(one.place for one in short)))
    old = [key for key, code in last.items() if code.others]
    if old:
        text = (
            "trouble codes in an old layout (conversion method 1), whose parameter number can be read in several ways"
        )
        remarks.append(Remark("old_code_layout", text, len(old), first_places(f"{key[2]}: {key[0]}" for key in old)))
    out = []
    for key, code in last.items():
        title, family = code.describe()
        out.append(
            TroubleCode(code=key[0], status=key[1], ecu=key[2], title=title, t_s=first_s[key], family=family)
        )  # fmt: skip
    return out


def _gone(said: list[Said]) -> Iterator[Remark]:
    """Active codes that the last message of their sender does not name any more."""
    ever: dict[str, dict[str, None]] = {}
    last: dict[str, set[str]] = {}
    for one in said:
        if one.pgn == _ACTIVE and len(one.payload) >= j1939_codes.SHORTEST:
            last[one.sender] = {code.text for code in j1939_codes.codes(one.payload)[0]}
            ever.setdefault(one.sender, {}).update(dict.fromkeys(last[one.sender]))
    gone = [f"{sender}: {text}" for sender, texts in ever.items() for text in texts if text not in last[sender]]
    if gone:
        text = (
            "trouble codes that were active during the record and no longer at its end: faults that come and go, or "
            "codes that were cleared"
        )
        yield Remark("code_no_longer_active", text, len(gone), first_places(gone))


def _lamps(said: list[Said], remarks: list[Remark]) -> bool | None:
    """Whether any sender's last word is that the malfunction indicator lamp is on; the other lamps become remarks."""
    last: dict[tuple[str, str], int] = {}
    lit: dict[str, dict[str, int]] = {}
    for one in said:
        if len(one.payload) < j1939_codes.LAMP_BYTES:
            continue
        flashing = j1939_codes.flashes(one.payload)
        for lamp, state in j1939_codes.lamps(one.payload).items():
            if state in (j1939_codes.OFF, j1939_codes.ON):
                last[lamp, one.sender] = state
            if state == j1939_codes.ON:
                senders = lit.setdefault(lamp + flashing[lamp], {})
                senders[one.sender] = senders.get(one.sender, 0) + 1
    for lamp, senders in lit.items():
        text = f"messages in which {', '.join(sorted(senders))} asks for the {lamp}"
        remarks.append(Remark("lamp_on", text, sum(senders.values())))
    told = [state for (lamp, _), state in last.items() if lamp == j1939_codes.MALFUNCTION]
    return j1939_codes.ON in told if told else None


def _vins(said: Iterator[Said], remarks: list[Remark]) -> dict[str, list[str]]:
    """The readable VINs of each sender, in order; a sender that knows none sends a star alone."""
    first: dict[tuple[str, str], Said] = {}
    for one in said:
        first.setdefault((one.sender, _text(one.payload.split(_FIELD_END)[0])), one)
    out: dict[str, list[str]] = {}
    for (sender, text), one in first.items():
        if _VIN_CHARACTERS.fullmatch(text):
            out.setdefault(sender, []).append(text)
        elif text:
            reason = f"{sender}: the VIN has not 17 characters, or some that no VIN may have (ISO 3779); left out"
            remarks.append(Remark("vin_odd", reason, 1, (one.place,)))
    return out


def _component(payload: bytes) -> str:
    """Component identification: make, model, serial number and unit number, each closed by a star."""
    return " ".join(text for part in payload.split(_FIELD_END) if (text := _text(part)))


def _records(payload: bytes) -> Iterator[tuple[str, str]]:
    """Calibration verification number and calibration identification of each record of DM19."""
    for k in range(0, len(payload) - _CALIBRATION_BYTES + 1, _CALIBRATION_BYTES):
        record = payload[k : k + _CALIBRATION_BYTES]
        yield record[:_CVN_BYTES][::-1].hex().upper(), _text(record[_CVN_BYTES:])


def _text(data: bytes) -> str:
    """Printable ASCII of a padded field; anything else inside becomes "?"."""
    return "".join(chr(b) if 0x20 <= b < 0x7F else "?" for b in data.strip(_UNUSED))
