"""SAE J1850 framing: messages with a three-byte header and a CRC cut out of a run of bytes.

A message ends where its CRC fits and a pause, the end or another header follows; nothing in it says how long it is.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

from logan.capture.kline_frames import FUNCTIONAL, TESTER, Message, Trouble

REQUEST_HEADERS: Final = (b"\x68\x6a", b"\x61\x6a")
ANSWER_HEADERS: Final = (b"\x48\x6b", b"\x41\x6b")
"""Priority and target of emission diagnosis, for VPW and PWM (SAE J1979)."""
PWM_HEADERS: Final = (REQUEST_HEADERS[1], ANSWER_HEADERS[1])
_PHYSICAL, _ONE_BYTE_HEADER = 0x04, 0x10  # bits of the first header byte
_SHORTEST, _LONGEST = 5, 12  # header, 1..8 bytes, CRC


def _table() -> bytes:
    out = bytearray()
    for crc in range(256):
        for _ in range(8):
            crc = (crc << 1 ^ 0x1D if crc & 0x80 else crc << 1) & 0xFF
        out.append(crc)
    return bytes(out)


_CRC: Final = _table()


def crc8(data: bytes) -> int:
    """CRC of SAE J1850: polynomial 1D, start FF, inverted; 4B for ``123456789``."""
    crc = 0xFF
    for octet in data:
        crc = _CRC[crc ^ octet]
    return crc ^ 0xFF


def message(data: bytes, start: int = 0) -> Message | None:
    """A whole message with its CRC, that begins at byte ``start`` of a run; None where header or CRC do not fit."""
    if not _SHORTEST <= len(data) <= _LONGEST or not _is_header(data) or crc8(data[:-1]) != data[-1]:
        return None
    stop = start + len(data)
    if data[:2] in REQUEST_HEADERS:
        return Message(start, stop, FUNCTIONAL, TESTER, True, data[3:-1])
    if data[:2] in ANSWER_HEADERS:
        return Message(start, stop, TESTER, data[2], False, data[3:-1])
    return Message(start, stop, data[1], data[2], False, data[3:-1])


def messages(data: bytes, pause: bytes = b"") -> Iterator[Message | Trouble]:
    """Cut a run of bytes into messages and trouble.

    Parameters
    ----------
    data : the bytes
    pause : one byte each, not 0 where a pause stands before the byte that no message may have inside; empty = no times
    """
    run = _Run(data, pause or bytes(len(data)))
    at = 0
    stray = -1
    while at < len(data):
        found = run.message(at) or run.broken(at)
        if found is None:
            stray = at if stray < 0 else stray
            at += 1
            continue
        if stray >= 0:
            yield run.stray(stray, at)
            stray = -1
        yield found
        at = found.stop
    if stray >= 0:
        yield run.stray(stray, at)


def _is_header(data: bytes) -> bool:
    """Whether bytes begin like a message of emission diagnosis, or one between the tester and one module."""
    if data[:2] in (*REQUEST_HEADERS, *ANSWER_HEADERS):
        return True
    is_physical = len(data) > 2 and data[0] & (_PHYSICAL | _ONE_BYTE_HEADER) == _PHYSICAL
    return is_physical and TESTER in data[1:3] and data[1] != data[2]


class _Run(NamedTuple):
    data: bytes
    pause: bytes

    def message(self, at: int) -> Message | None:
        """The message that begins here: of the ends where the CRC fits, the first with something new behind it."""
        if not _is_header(self.data[at : at + 3]):
            return None
        found = []
        for stop in range(at + _SHORTEST, min(at + _LONGEST, len(self.data)) + 1):
            if self.pause[stop - 1]:
                break
            one = message(self.data[at:stop], at)
            if one is not None:
                found.append(one)
        ended = [one for one in found if self._ends(one.stop)]
        return next(iter(ended or found), None)

    def _ends(self, stop: int) -> bool:
        return stop == len(self.data) or bool(self.pause[stop]) or _is_header(self.data[stop : stop + 3])

    def broken(self, at: int) -> Trouble | None:
        """A header of emission diagnosis whose CRC does not fit; None where no such header stands here."""
        if self.data[at : at + 2] not in (*REQUEST_HEADERS, *ANSWER_HEADERS):
            return None
        stop = at + 2
        while stop < min(at + _LONGEST, len(self.data)) and not self._ends(stop):
            stop += 1
        if stop - at < _SHORTEST:
            return Trouble(at, stop, "cut_message", "message too short to be one")
        return Trouble(at, stop, "bad_checksum", "message whose CRC does not fit")

    def stray(self, start: int, stop: int) -> Trouble:
        """Bytes that belong to no message; in a PWM message the receiver's address may follow the CRC."""
        if stop - start == 1 and start > 0 and not self.pause[start]:
            return Trouble(start, stop, "in_frame_response", "byte behind a CRC: in-frame response, passed over")
        return Trouble(start, stop, "stray_byte", "bytes that belong to no message")
