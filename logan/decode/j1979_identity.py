"""Vehicle information of service 09: VIN, calibrations, counters, names of control modules.

These strings come from outside and end up in a report: only printable ASCII is let through.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from logan.decode.j1979_codes import distinct
from logan.decode.j1979_values import ecu_name
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.frames import Messages

VIN, CALIBRATION_ID, CVN, COUNTERS_SPARK, ECU_NAME, COUNTERS_COMPRESSION = 0x02, 0x04, 0x06, 0x08, 0x0A, 0x0B
_MESSAGE_COUNTS = (0x01, 0x03, 0x05, 0x07, 0x09, 0x0C, 0x0E)
_PARTED = (VIN, CALIBRATION_ID, CVN, COUNTERS_SPARK, ECU_NAME, COUNTERS_COMPRESSION)
_ADDED = (CALIBRATION_ID, CVN)
"""Of these every answer counts, since without headers several control modules have one identifier; else the last."""

_VIN_LENGTH = 17
_VIN_CHARACTERS = re.compile("[A-HJ-NPR-Z0-9]{17}")  # ISO 3779: no I, O, Q
_PART_LENGTH = 7
_UNUSED = b"\x00\xff "
_UNREADABLE = "?"
_TEXTS = (VIN, CALIBRATION_ID, ECU_NAME)
_FIRST_LETTER = 0x20  # of ASCII: no module sends so many items


class Identity(Struct):
    """What service 09 said; lists in order of the modules' identifiers."""

    vins: dict[str, list[str]] = field(default_factory=dict)
    calibration_ids: list[str] = field(default_factory=list)
    cvns: list[str] = field(default_factory=list)
    ecu_names: dict[str, str] = field(default_factory=dict)
    counters: dict[str, int] = field(default_factory=dict)
    remarks: list[Remark] = field(default_factory=list)

    def note(self, kind: str, text: str) -> None:
        """Add a remark."""
        self.remarks.append(Remark(kind, f"service 09: {text}"))


def read(messages: Messages, rows: NDArray[np.int64] | None) -> Identity:
    """Vehicle information out of the positive answers of service 09."""
    out = Identity()
    others: set[str] = set()
    for source, body in _vin_bodies(messages, rows, out):
        _vin(out, ecu_name(source), body)
    for (source, infotype), bodies in sorted(_bodies(messages, rows, out).items()):
        for count, body in bodies if infotype in _ADDED else bodies[-1:]:
            _take(out, ecu_name(source), infotype, count, body, others)
    if others:
        out.note("information_not_shown", f"also answered, not shown: {', '.join(sorted(others))}")
    return out


def _take(out: Identity, ecu: str, infotype: int, count: int | None, body: bytes, others: set[str]) -> None:
    """What one answer says; ``others`` are the names of what is not shown."""
    if not body:
        out.note("information_empty", f"{ecu} sent an empty {_name(infotype)}")
    elif infotype == CALIBRATION_ID:
        items = _items(out, ecu, infotype, count, body, 16)
        out.calibration_ids += [text for item in items if (text := _text(item)) not in ("", *out.calibration_ids)]
    elif infotype == CVN:
        items = _items(out, ecu, infotype, count, body, 4)
        out.cvns += [text for item in items if (text := item.hex().upper()) not in out.cvns]
    elif infotype == ECU_NAME:
        # an abbreviation of four characters, a hyphen, the name in words
        out.ecu_names[ecu] = _text(body.replace(b"\x00", b""))
    elif infotype in (COUNTERS_SPARK, COUNTERS_COMPRESSION):
        names = obd.counter_names(infotype)
        for k, item in enumerate(_items(out, ecu, infotype, count, body, 2)):
            name = names.get(k, f"counter_{infotype:02X}_{k}")
            own = name if name not in out.counters else f"{name} ({ecu})"
            out.counters[own] = int.from_bytes(item, "big")
    elif infotype % 0x20 and infotype not in _MESSAGE_COUNTS:
        others.add(_name(infotype))


def _bodies(
    messages: Messages, rows: NDArray[np.int64] | None, out: Identity
) -> dict[tuple[int, int], list[tuple[int | None, bytes]]]:
    """Sender and information type -> number of items announced (None where not) and their bytes, of each answer.

    On CAN the answer is one message, with the number of items in front. On the older links it comes in messages of
    four bytes with a running number (SAE J1979).
    """
    whole: dict[tuple[int, int], list[tuple[int | None, bytes]]] = {}
    parts: dict[tuple[int, int], dict[int, bytes]] = {}
    others: dict[tuple[int, int], list[tuple[int | None, bytes]]] = {}
    for source, payload, _ in distinct(messages, rows):
        if len(payload) < 2:
            continue
        key = (source, payload[1])
        if key[1] == VIN:
            continue
        if len(payload) == _PART_LENGTH and payload[1] in _PARTED:
            before = parts.setdefault(key, {}).get(payload[2])
            if payload[1] == CVN and before is not None:  # a whole number: of another module, or of another time
                others.setdefault(key, []).append((None, before))
            parts[key][payload[2]] = payload[3:]
        elif _is_without_count(payload):
            whole.setdefault(key, []).append((None, payload[2:]))
        else:
            whole.setdefault(key, []).append((payload[2] if len(payload) > 2 else None, payload[3:]))
    for key, numbered in parts.items():
        if key in whole:
            continue
        missing = [str(k) for k in range(1, max(numbered) + 1) if k not in numbered]
        if missing:
            out.note(
                "information_part_missing",
                f"{ecu_name(key[0])}: part {', '.join(missing)} of the {_name(key[1])} was not recorded",
            )
        body = b"".join(numbered.get(k, bytes(4)) for k in range(1, max(numbered) + 1))
        whole[key] = [*others.get(key, []), (None, body)]
    return whole


def _vin_bodies(
    messages: Messages, rows: NDArray[np.int64] | None, out: Identity
) -> Iterator[tuple[int, bytes]]:  # fmt: skip
    """Sender and bytes of each VIN that was answered, each once, in order of the senders and of time.

    A sender may say two: the module changed or written anew between two answers, or two vehicles in one file.
    """
    whole: dict[int, dict[bytes, None]] = {}
    parts: dict[int, list[tuple[int, bytes]]] = {}
    for row in [] if rows is None else rows[messages.length[rows] >= 2].tolist():
        if messages.blob[messages.start[row] + 1] != VIN:
            continue
        source, payload = int(messages.source[row]), messages.payload(row)
        if len(payload) == _PART_LENGTH:
            parts.setdefault(source, []).append((payload[2], payload[3:]))
        else:
            whole.setdefault(source, {})[payload[2:] if _is_without_count(payload) else payload[3:]] = None
    for source, said in parts.items():
        if source not in whole:
            bodies, missing = _put_together(said)
            whole[source] = dict.fromkeys(bodies)
            if missing:
                numbers = ", ".join(map(str, missing))
                text = f"{ecu_name(source)}: part {numbers} of the {_name(VIN)} was not recorded"
                out.note("information_part_missing", text)
    for source, found in sorted(whole.items()):
        for body in found:
            yield source, body


def _put_together(said: list[tuple[int, bytes]]) -> tuple[list[bytes], list[int]]:
    """VINs out of numbered parts, each once, and the numbers of parts that are missing.

    Where no part is told in two ways, all are of one VIN, whichever answer they came in; else each answer stands alone.
    """
    if len({number for number, _ in said}) == len(set(said)):
        answers = [dict(said)]
    else:
        answers = []
        for k, (number, part) in enumerate(said):
            if not k or number <= said[k - 1][0]:
                answers.append({})
            answers[-1][number] = part
    last = max(number for number, _ in said)
    bodies = [b"".join(one[k] for k in range(1, last + 1)) for one in answers if set(range(1, last + 1)) <= one.keys()]
    missing = [] if bodies else [k for k in range(1, last + 1) if k not in max(answers, key=len)]
    return list(dict.fromkeys(bodies)), missing


def _is_without_count(payload: bytes) -> bool:
    """Whether an answer lacks the number of items, as some modules leave it out: its first byte or its length tells."""
    known = obd.infotypes().get(payload[1])
    if len(payload) > 2 and payload[1] in _TEXTS and payload[2] >= _FIRST_LETTER:
        return True
    size = known.bytes_per_item if known is not None else 1
    return len(payload) > 2 and (len(payload) - 2) % size == 0 and (len(payload) - 3) % size != 0


def _vin(out: Identity, ecu: str, body: bytes) -> None:
    if not body:
        out.note("information_empty", f"{ecu} sent an empty {_name(VIN)}")
        return
    text = _text(body)
    readable = sum(character != _UNREADABLE for character in text)
    if len(text) != _VIN_LENGTH or readable < _VIN_LENGTH:
        out.note("vin_incomplete", f"{ecu}: the VIN has {readable} readable characters, not {_VIN_LENGTH}; left out")
        return
    if not _VIN_CHARACTERS.fullmatch(text):
        out.note("vin_odd", f"{ecu}: the VIN holds characters that no VIN may have (ISO 3779)")
    said = out.vins.setdefault(ecu, [])
    if text not in said:
        said.append(text)


def _items(out: Identity, ecu: str, infotype: int, count: int | None, body: bytes, size: int) -> list[bytes]:
    """Whole items of equal size; says where fewer came than were announced."""
    there = len(body) // size
    if count is not None and count > there:
        out.note("information_part_missing", f"{ecu}: {there} of {count} items of the {_name(infotype)} came")
    return [body[k * size : (k + 1) * size] for k in range(there if count is None else min(count, there))]


def _text(data: bytes) -> str:
    """Printable ASCII of a padded field; anything else inside becomes "?"."""
    return "".join(chr(b) if 0x20 <= b < 0x7F else _UNREADABLE for b in data.strip(_UNUSED))


def _name(infotype: int) -> str:
    known = obd.infotypes().get(infotype)
    return known.name if known is not None else f"information type {infotype:02X}"
