"""One line of a CAN text log, read plainly: the meaning that the fast reader must match.

``(seconds.fraction) channel ID#DATA`` as SocketCAN's log format has it: identifier of 3 hex
digits = 11 bit, of 8 = 29 bit, bit 29 of it set = error frame; ``##F`` + data = CAN FD with flag nibble F (bit 0
bit-rate switch, bit 1 error state indicator: linux/can.h); ``#R[n]`` = remote frame; a trailing `` R`` / `` T``
tells received from sent.
"""

from __future__ import annotations

import re
from typing import Final, NamedTuple

from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, REMOTE, SENT

FD_LENGTHS: Final = frozenset((*range(9), 12, 16, 20, 24, 32, 48, 64))
"""Data lengths of CAN FD (ISO 11898-1, DLC table)."""
LATEST_S: Final = 9_000_000_000
"""Seconds that still fit into 64-bit nanoseconds."""
ERROR_BIT: Final = 0x2000_0000

_LINE: Final = re.compile(
    rb"\s*\((?P<sign>-?)(?P<s>\d{1,18})(?:\.(?P<frac>\d*))?\)\s+(?P<channel>\S+)\s+"
    rb"(?P<id>[0-9A-Fa-f]+)#(?P<data>\S*)(?:\s+(?P<direction>[RTrt]))?\s*"
)
_REMOTE: Final = re.compile(rb"[Rr]([0-8]?)(?:_[9A-Fa-f])?")
_DATA: Final = re.compile(rb"((?:[0-9A-Fa-f]{2})*)(?:_[9A-Fa-f])?")
_HEX_DIGIT: Final = re.compile(rb"[0-9A-Fa-f]")
_HEX: Final = re.compile(rb"[0-9A-Fa-f]*")


class Row(NamedTuple):
    """One frame: time in ns, channel, identifier without flag bits, flags of ``model.frames``, data, its length."""

    t_ns: int
    channel: bytes
    can_id: int
    flags: int
    data: bytes
    length: int


def parse(line: bytes) -> Row | str | None:
    """A frame, the reason why the line holds none, or None for a blank or comment line."""
    if not line.strip() or line.lstrip().startswith(b"#"):
        return None
    match = _LINE.fullmatch(line)
    if match is None:
        return "not of the form (time) channel ID#DATA"
    if int(match["s"]) > LATEST_S:
        return "time stamp out of range"
    t_ns = int(match["s"]) * 10**9 + int((match["frac"] or b"")[:9].ljust(9, b"0"))
    identifier = _identifier(match["id"])
    if isinstance(identifier, str):
        return identifier
    can_id, flags = identifier
    payload = _payload(match["data"])
    if isinstance(payload, str):
        return payload
    data, length, more = payload
    if match["direction"] in (b"T", b"t"):
        flags |= SENT
    return Row(-t_ns if match["sign"] else t_ns, match["channel"], can_id, flags | more, data, length)


def _identifier(digits: bytes) -> tuple[int, int] | str:
    """Identifier and its flags, or what is wrong with it."""
    if len(digits) not in (3, 8):
        return "identifier of neither 3 nor 8 hex digits"
    value = int(digits, 16)
    if len(digits) == 3:
        return (value, 0) if value <= 0x7FF else "identifier above 7FF"
    if value >= 2 * ERROR_BIT:
        return "identifier above 1FFFFFFF"
    return (value - ERROR_BIT, ERROR) if value >= ERROR_BIT else (value, EXTENDED)


def _payload(text: bytes) -> tuple[bytes, int, int] | str:
    """Data, length and flags of what stands behind the first ``#``, or what is wrong with it."""
    remote = _REMOTE.fullmatch(text)
    if remote:
        return b"", int(remote[1] or 0), REMOTE
    fd = text.startswith(b"#")
    digits = text[2:] if fd else text
    if fd and not _HEX_DIGIT.fullmatch(text[1:2]):
        return "CAN FD frame without its flag digit"
    match = _DATA.fullmatch(digits)
    if match is None:
        return "odd number of data digits" if _HEX.fullmatch(digits) else "data that are not hex digits"
    data = bytes.fromhex(match[1].decode("ascii"))
    if not fd:
        return (data, len(data), 0) if len(data) <= 8 else "more than 8 data bytes"
    if len(data) not in FD_LENGTHS:
        return "not a data length of CAN FD"
    bits = int(text[1:2], 16)
    return data, len(data), FD | (BRS if bits & 1 else 0) | (ESI if bits & 2 else 0)
