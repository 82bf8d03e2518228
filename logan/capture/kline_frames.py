"""K-line framing: messages of ISO 9141-2 and ISO 14230-2 cut out of a run of bytes by header, length and checksum.

Times only help: where a pause stands, a message may end. Lengths and checksums decide, because recorders that read in
blocks shift times by more than the pauses of the standards.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final, NamedTuple

TESTER: Final = 0xF1
FUNCTIONAL: Final = 0x33
REQUEST_TO_ALL: Final = 0x18DB33F1
ECU_UNKNOWN: Final = 0x10
"""Address written where a header carries none: the engine's (ISO 15765-4)."""
_REQUEST_9141: Final = bytes((0x68, 0x6A))
_ANSWER_9141: Final = bytes((0x48, 0x6B))
_SHORTEST_9141, _LONGEST_9141 = 5, 12  # header, 1..7 data bytes, checksum; some texts allow one byte more
_SYNC: Final = 0x55
_ANSWER_BIT: Final = 0x40


class Message(NamedTuple):
    """A message whose checksum fits: bytes ``start`` to ``stop`` of the run; addresses are None where it has none."""

    start: int
    stop: int
    target: int | None
    source: int | None
    functional: bool
    payload: bytes

    @property
    def answer(self) -> bool:
        """Whether a control module sent it: by the addresses, else by the service (ISO 14230-3: bit 6 = answer)."""
        if TESTER in (self.target, self.source):
            return self.target == TESTER
        return bool(self.payload[0] & _ANSWER_BIT)

    @property
    def identifier(self) -> int:
        """The 29-bit identifier of ISO 15765-4 with the same addresses."""
        if self.answer:
            return 0x18DAF100 | (ECU_UNKNOWN if self.source is None else self.source)
        if self.functional or self.target is None:
            return REQUEST_TO_ALL
        return 0x18DA0000 | self.target << 8 | TESTER


class Trouble(NamedTuple):
    """Bytes that make no message: ``kind`` is ``init`` for the handshakes of the standards, else what is wrong."""

    start: int
    stop: int
    kind: str
    text: str


def checksum(data: bytes) -> int:
    """Sum of all bytes modulo 256 (ISO 9141-2, ISO 14230-2)."""
    return sum(data) & 0xFF


def messages(data: bytes, pause: bytes = b"", long_pause: bytes = b"") -> Iterator[Message | Trouble]:
    """Cut a run of bytes into messages and trouble.

    Parameters
    ----------
    data : the bytes
    pause : one byte each, not 0 where a pause longer than P1 / P4 stands before the byte; empty = no times
    long_pause : the same for a pause that no message may have inside
    """
    run = _Run(data, pause or bytes(len(data)), long_pause or bytes(len(data)))
    at = 0
    stray = -1
    while at < len(data):
        found = run.handshake(at) or run.message(at, lost=stray >= 0) or run.broken(at)
        if found is None:
            stray = at if stray < 0 else stray
            at += 1
            continue
        if stray >= 0:
            yield Trouble(stray, at, "stray_byte", "bytes that belong to no message")
            stray = -1
        yield found
        at = found.stop
    if stray >= 0:
        yield Trouble(stray, at, "stray_byte", "bytes that belong to no message")


class _Run(NamedTuple):
    data: bytes
    pause: bytes
    long_pause: bytes

    def message(self, at: int, lost: bool = False) -> Message | None:
        """The message that begins here, None where no checksum fits.

        Behind bytes that belong to nothing (``lost``) a header without addresses is believed after a pause only.
        """
        if self.data[at : at + 2] in (_REQUEST_9141, _ANSWER_9141):
            return self._iso9141(at)
        header = self._header(at)
        if header is None or (lost and self.data[at] < 0x80 and not self.pause[at]):
            return None
        size, length = header
        stop = at + size + length + 1
        if stop > len(self.data) or not length or any(self.long_pause[at + 1 : stop]):
            return None
        if checksum(self.data[at : stop - 1]) != self.data[stop - 1]:
            return None
        payload = self.data[at + size : stop - 1]
        if size < 3:
            return Message(at, stop, None, None, False, payload)
        return Message(at, stop, self.data[at + 1], self.data[at + 2], self.data[at] >> 6 == 3, payload)

    def _header(self, at: int) -> tuple[int, int] | None:
        """Bytes of an ISO 14230-2 header and of the data behind it: all four forms; None where it is none."""
        mode, length = self.data[at] >> 6, self.data[at] & 0x3F
        if mode == 1:
            return None
        size = 1 if mode == 0 else 3
        if not length:
            if at + size >= len(self.data):
                return None
            length = self.data[at + size]
            size += 1
        return size, length

    def _iso9141(self, at: int) -> Message | None:
        """ISO 9141-2 gives no length: the checksum fits, and then comes a pause, the end or another header."""
        stops = []
        for stop in range(at + _SHORTEST_9141, min(at + _LONGEST_9141, len(self.data)) + 1):
            if self.long_pause[stop - 1]:
                break
            if checksum(self.data[at : stop - 1]) == self.data[stop - 1]:
                stops.append(stop)
        if not stops:
            return None
        unbroken = [s for s in stops if not any(self.pause[at + 1 : s]) and (s == len(self.data) or self.pause[s])]
        followed = [s for s in stops if s == len(self.data) or self._begins(s)]
        stop = (unbroken or followed or stops)[0]
        target, source = (FUNCTIONAL, TESTER) if self.data[at] == _REQUEST_9141[0] else (TESTER, self.data[at + 2])
        return Message(at, stop, target, source, target == FUNCTIONAL, self.data[at + 3 : stop - 1])

    def _begins(self, at: int) -> bool:
        """Whether another message begins here."""
        if self.data[at : at + 2] in (_REQUEST_9141, _ANSWER_9141):
            return True
        return self.data[at] >= 0x80 and self.message(at) is not None

    def handshake(self, at: int) -> Trouble | None:
        """Initialisation: 5-baud (sync 55, two key bytes, second key and address inverted) or wake-up pulse."""
        first = at == 0 or bool(self.pause[at])
        if first and self.data[at] == _SYNC and at + 3 <= len(self.data):
            stop = at + 3
            inverted = self.data[at + 2] ^ 0xFF
            if stop < len(self.data) and self.data[stop] == inverted:
                stop += 1
                if stop < len(self.data) and self._ends_handshake(at, stop):
                    stop += 1
            elif stop < len(self.data) and not self.pause[stop]:
                return None
            keys = self.data[at + 1 : at + 3].hex(" ").upper()
            return Trouble(at, stop, "init", f"5-baud initialisation, key bytes {keys}: no message, passed over")
        alone = first and (at + 1 == len(self.data) or self.pause[at + 1])
        if alone and (self.data[at] in (0x00, FUNCTIONAL) or self.data[at + 1 : at + 2] == bytes((_SYNC,))):
            return Trouble(at, at + 1, "init", "wake-up pulse or 5-baud address: no message, passed over")
        return None

    def _ends_handshake(self, at: int, last: int) -> bool:
        address = self.data[last] ^ 0xFF
        return address == FUNCTIONAL or (at > 0 and self.data[at - 1] == address)

    def broken(self, at: int) -> Trouble | None:
        """A header of which the checksum does not fit or the end is missing; None where no header stands here."""
        if self.data[at : at + 2] in (_REQUEST_9141, _ANSWER_9141):
            stop = at + 2
            while stop < min(at + _LONGEST_9141, len(self.data)) and not self.pause[stop] and not self._begins(stop):
                stop += 1
        else:
            header = self._header(at)
            if header is None or self.data[at] < 0x80 or TESTER not in self.data[at + 1 : at + 3]:
                return None
            whole = at + sum(header) + 1
            pauses = (k for k in range(at + 1, min(whole, len(self.data))) if self.pause[k])
            stop = next(pauses, min(whole, len(self.data)))
            if stop < whole:
                return Trouble(at, stop, "cut_message", "message shorter than its header says")
        return Trouble(at, stop, "bad_checksum", "message whose checksum does not fit")
