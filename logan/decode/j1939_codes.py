"""Lamps, trouble codes and readiness in the diagnostic messages of SAE J1939-73."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, NamedTuple

from msgspec import Struct

from logan.knowledge import j1939

LAMPS: Final = ("malfunction indicator lamp", "red stop lamp", "amber warning lamp", "protect lamp")
"""In order of the bits of byte 1, from the highest pair on."""
MALFUNCTION: Final = LAMPS[0]
ON: Final = 1
OFF: Final = 0

_FLASHES: Final = {0: ", flashing slowly", 1: ", flashing fast"}

LAMP_BYTES: Final = 2
_CODE_BYTES: Final = 4
SHORTEST: Final = LAMP_BYTES + _CODE_BYTES
_FRAME_BYTES: Final = 8
_NO_COUNT: Final = 0x7F
_MAKERS_SPN: Final = 516096  # SPNs from here on are assigned by the maker (SAE J1939-73, from memory)
_NOT_A_CODE: Final = (bytes(3), b"\xff" * 3)


class Said(NamedTuple):
    """One message of one sender."""

    t_s: float
    pgn: int
    sender: str
    payload: bytes

    @property
    def place(self) -> str:
        """When and by whom."""
        return f"t = {self.t_s:.3f} s, {self.sender}"


class Code(Struct, frozen=True):
    """A trouble code as four bytes say it.

    Parameters
    ----------
    spn, fmi : suspect parameter and failure mode, read by version 4 of the layout
    count : occurrences, None where the sender does not say
    others : suspect parameters that the older versions 1 and 2 read in the same bytes; empty where they are ruled out
    """

    spn: int
    fmi: int
    count: int | None
    others: tuple[int, ...] = ()

    @property
    def text(self) -> str:
        """As it is printed."""
        return f"SPN {self.spn} FMI {self.fmi}"

    def describe(self) -> tuple[str, str]:
        """Title in plain words, and family (empty where the parameter has none)."""
        known = j1939.parameters().get(self.spn)
        if known is not None:
            name = known.name
        elif self.spn >= _MAKERS_SPN:
            name = "parameter of the maker"
        else:
            name = "parameter without a name here"
        title = (
            f"{name[:1].upper()}{name[1:]}: {j1939.failure_modes().get(self.fmi, 'failure mode not in the standard')}"
        )
        if self.count:
            title += f", counted {self.count} time{'s' if self.count > 1 else ''}"
        if self.others:
            title += (
                f" (old layout of the code: it may mean {' or '.join(f'SPN {spn}' for spn in self.others)} instead)"
            )
        return title, known.family if known is not None and not self.others else ""


def lamps(payload: bytes) -> dict[str, int]:
    """State of each lamp: 0 off, 1 on, 2 error, 3 not available.

    Source: SAE J1939-73, 5.7.1 (byte 1, from the highest pair of bits: malfunction, red, amber, protect).
    """
    return {name: payload[0] >> 6 - 2 * k & 3 for k, name in enumerate(LAMPS)}


def flashes(payload: bytes) -> dict[str, str]:
    """How each lamp that is on is to flash, empty where it is to shine.

    Source: SAE J1939-73, 5.7.1 (byte 2, pairs of bits as in byte 1: 0 slowly, 1 fast, 3 not), from memory.
    """
    return {name: _FLASHES.get(payload[1] >> 6 - 2 * k & 3, "") for k, name in enumerate(LAMPS)}


def codes(payload: bytes) -> tuple[list[Code], int]:
    """Trouble codes of a message in the layout of DM1, and the bytes at its end that make no whole code.

    A message of one frame holds one code, and two bytes to fill it up.
    """
    body = payload[LAMP_BYTES : SHORTEST if len(payload) <= _FRAME_BYTES else None]
    end = len(body) - len(body) % _CODE_BYTES
    records = (body[k : k + _CODE_BYTES] for k in range(0, end, _CODE_BYTES))
    return [code for record in records if (code := code_of(record)) is not None], len(body) - end


def code_of(record: bytes) -> Code | None:
    """The code of four bytes, None where they hold none."""
    return None if record[:3] in _NOT_A_CODE else _code(record)


def _code(record: bytes) -> Code:
    """Four bytes: 19 bits SPN, 5 bits FMI, conversion method, 7 bits occurrence count (SAE J1939-73, 5.7.1).

    Method 0 is version 4 of the layout. Method 1 is version 1, 2 or 3 (from memory): version 3 as version 4, version 1
    with the highest byte first, version 2 with the upper two bytes the other way round and the low bits in the third.
    """
    low, middle, third, last = record
    spn = low | middle << 8 | third >> 5 << 16
    count = last & 0x7F
    others: set[int] = set()
    if last & 0x80:
        others = {low << 11 | middle << 3 | third >> 5, middle << 11 | low << 3 | third >> 5} - {spn}
    return Code(spn, third & 0x1F, None if count == _NO_COUNT else count, tuple(sorted(others)))


def readiness(payloads: Iterable[bytes]) -> dict[str, str]:
    """Monitor -> "complete", "incomplete" or "not supported" out of DM5 messages; the worst of several counts."""
    order = ("not supported", "complete", "incomplete")
    out: dict[str, str] = {}
    for payload in payloads:
        for row in j1939.diagnosis().monitor:
            state = order[0] if not _bit(payload, row.support) else order[1 + _bit(payload, row.completion)]
            out[row.monitor] = max(out.get(row.monitor, state), state, key=order.index)
    return out


def _bit(payload: bytes, place: j1939.Bit) -> int:
    return payload[place[0] - 1] >> place[1] - 1 & 1
