"""What the diagnostic messages of SAE J1939-73 say beside codes: stored values, what a tester did, what is counted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Final

from logan.decode import j1939_codes
from logan.decode.j1939_codes import Said
from logan.knowledge import j1939
from logan.model.capture import Remark, first_places
from logan.model.vehicle import FreezeFrame

REQUEST: Final = 0xEA00
ACKNOWLEDGE: Final = 0xE800
STORED: Final = 65229  # DM4
CLEARING_OF_ONE: Final = 49920  # DM22
_POSITIVE: Final = 0
_CLEARING: Final = {65228: "previously active (DM3)", 65235: "active (DM11)"}
_ONE_ASKED: Final = {1: "previously active (DM22)", 17: "active (DM22)"}
_CODE_BYTES: Final = 4
_STANDARD_BYTES: Final = 12
_HIGHEST: Final = 0xFA
"""Highest byte of a value; what lies above is no value (SAE J1939-71, 5.1.4)."""


def clearing(said: list[Said]) -> Iterator[Remark]:
    """Requests to clear trouble codes, and which were confirmed: what stood before is gone, or may be.

    An acknowledgement names its group in its last three bytes (SAE J1939-21). DM22 clears one code; its answer has a
    control byte one above that of the request (SAE J1939-73, from memory).
    """
    asked: dict[str, list[Said]] = {}
    confirmed: set[str] = set()
    for one in said:
        control = one.payload[0] if one.pgn == CLEARING_OF_ONE and one.payload else 0
        if control in _ONE_ASKED:
            asked.setdefault(_ONE_ASKED[control], []).append(one)
        elif control - 1 in _ONE_ASKED:
            confirmed.add(_ONE_ASKED[control - 1])
        if one.pgn not in (REQUEST, ACKNOWLEDGE) or len(one.payload) < (3 if one.pgn == REQUEST else 8):
            continue
        group = one.payload[:3] if one.pgn == REQUEST else one.payload[5:8]
        kind = _CLEARING.get(int.from_bytes(group, "little"))
        if kind is not None and one.pgn == REQUEST:
            asked.setdefault(kind, []).append(one)
        elif kind is not None and one.payload[0] == _POSITIVE:
            confirmed.add(kind)
    for kind, some in asked.items():
        is_done = kind in confirmed
        text = f"{kind} trouble codes were {'cleared' if is_done else 'asked to be cleared'} during the record"
        yield Remark(
            "codes_cleared" if is_done else "codes_cleared_asked", text + (" (confirmed)" if is_done else ""),
            len(some), first_places(one.place for one in some),
        )  # fmt: skip


def others(said: Sequence[Said]) -> Iterator[Remark]:
    """Diagnostic messages that are not decoded, and those by which a tester intervenes."""
    known = j1939.other_messages()
    found = [one for one in said if one.pgn in known]
    if found:
        counts = Counter(one.pgn for one in found)
        names = ", ".join(f"{known[pgn].name} {known[pgn].what} x {counts[pgn]}" for pgn in sorted(counts))
        yield Remark("services_counted", f"other diagnostic messages, counted and not decoded: {names}", len(found))
    for message in known.values():
        some = [one for one in found if one.pgn == message.pgn] if message.effect else []
        if some:
            text = f"{message.name}: {message.what} was asked for during the record"
            yield Remark("system_controlled_asked", text, len(some), first_places(one.place for one in some))


def stored_values(said: Sequence[Said], remarks: list[Remark]) -> list[FreezeFrame]:
    """Values that were stored with a trouble code (DM4): the last that each module said.

    Each frame begins with its length; bytes of the maker stand behind the standard ones (SAE J1939-73, from memory).
    """
    found: dict[str, list[FreezeFrame]] = {}
    odd: list[Said] = []
    of_maker = 0
    for one in said:
        frames: list[FreezeFrame] = []
        at = 0
        while at < len(one.payload) and one.payload[at] not in (0, 0xFF):
            body = one.payload[at + 1 : at + 1 + one.payload[at]]
            if one.payload[at] < _STANDARD_BYTES or len(body) < one.payload[at]:
                odd.append(one)
                break
            code = j1939_codes.code_of(body[:_CODE_BYTES])
            if code is not None:
                values = _values(body[_CODE_BYTES:])
                frames.append(FreezeFrame(ecu=one.sender, number=len(frames), code=code.text, values=values))
                of_maker += len(body) > _STANDARD_BYTES
            at += 1 + len(body)
        found[one.sender] = frames
    if odd:
        text = "DM4: stored values whose length does not fit the message, from there on not read"
        remarks.append(Remark("stored_values_cut", text, len(odd), first_places(one.place for one in odd)))
    if of_maker:
        text = "DM4: stored values behind which stand bytes of the maker, not decoded"
        remarks.append(Remark("stored_values_of_maker", text, of_maker))
    return [frame for frames in found.values() for frame in frames]


def _values(data: bytes) -> dict[str, tuple[float, str]]:
    """What stands behind a code, without what is not available or in error."""
    out = {}
    for entry in j1939.diagnosis().stored_value:
        raw = data[entry.byte - 1 : entry.byte - 1 + entry.length]
        if raw[-1] <= _HIGHEST:
            value = int.from_bytes(raw, "little") * entry.scale + entry.offset
            out[entry.value] = (value, entry.unit)
    return out
