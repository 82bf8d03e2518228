"""Reads the text session of a serial adapter: CAN frames where it shows them, else requests and answers."""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from typing import Final, NamedTuple

import numpy as np

from logan.capture import clock, j1850_frames, payloads, start_time
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_text_plain import Row
from logan.capture.kline_frames import REQUEST_TO_ALL, Message
from logan.capture.numbered_lines import NumberedLines
from logan.capture.payloads import Said
from logan.capture.reader import Parsed, Tally
from logan.capture.serial_items import (
    Bad,
    Can,
    Command,
    Item,
    Kline,
    Length,
    Part,
    Plain,
    Status,
    items,
    unformatted,
)
from logan.capture.serial_text import LINE_END, Piece, counts_ms, pieces
from logan.capture.source import Source
from logan.knowledge import obd
from logan.model.capture import NO_TIME
from logan.model.frames import EXTENDED, SENT, Frames, Payloads

_FUNCTIONAL: Final = 0x7DF
_ENGINE: Final = 0x7E8
_STEP_NS: Final = 100_000_000
"""From one message to the next where no time is recorded: about what adapters take (common practice, no source)."""
_ECHO_NS: Final = 300_000_000
_HALF_DAY_NS: Final = 43_200 * 10**9
_HARMLESS: Final = ("OK", "SEARCHING", "BUS INIT", "BUSINIT", "BUS INIT: OK", "BUS INIT:OK", "BUSINIT:OK", "BUS INIT:",
                    "BUSINIT: OK", "BUSINIT:")  # fmt: skip
_NO_ANSWER: Final = ("NO DATA", "NODATA")
_HEADER: Final = re.compile(r"(?:AT)SH([0-9A-F]{3}|[0-9A-F]{6}|[0-9A-F]{8})")
_FORMATTING: Final = re.compile(r"ATCAF([01])|AT(?:Z|D|WS)")
"""Whether the adapter takes the control information off (the state it starts in) or shows frames as they are."""
_MONITOR: Final = "ATM"
"""Commands behind which the adapter prints what it hears (common practice, no source)."""
_PID_6B: Final = 0x6B
_COMMENT: Final = re.compile(r"^[^\S\n]*+#[^\S\n]*+([^:\r\n]+):([^\r\n]*)", re.MULTILINE)
_ANSWERS: Final = (*range(0x41, 0x4B), 0x59, 0x62, 0x7F)
_INFORMATION: Final = 0x49
_NEGATIVE, _PENDING = 0x7F, b"\x78"
_PARTED: Final = 7  # bytes of a message of the older links: service, type, number, four bytes (SAE J1979)


class Heard(NamedTuple):
    """One message of the session: place, time (None where its line has none), identifier or None for the tester's own,
    29 bits, data, whether ``data`` is a CAN frame as it was on the bus."""

    line: int
    t_ns: int | None
    can_id: int | None
    extended: bool
    data: bytes
    is_frame: bool = False


class _Session:
    """The state of a session while its pieces are read in order."""

    def __init__(self, tally: Tally) -> None:
        self.tally = tally
        self.heard: list[Heard] = []
        self.stamped = self.absolute = self.zoned = self.undated = False
        self._day_ns = 0
        self._last_ns: int | None = None
        self._header: int | None = None  # of requests, None = to all
        self._to_adapter = False
        self._as_on_bus = False  # lines hold CAN data with their control information
        self._asked = b""
        self._asked_ns: int | None = None
        self._unanswered = False
        self._answers: list[bytes] = []
        self._numbered = NumberedLines(tally)

    def take(self, piece: Piece) -> None:
        """One piece."""
        t_ns = self._time(piece)
        if piece.prompted and not self._numbered.go_on(piece.text):
            # the adapter waits: whatever was asked is over, whether requests are shown or not
            self.close()
            self._answers = []
        frame = unformatted(piece.text) if self._as_on_bus else None
        if frame is not None:
            self._frame(piece, t_ns, frame)
            return
        found = items(piece.text, piece.sent)
        for item, after in itertools.zip_longest(found, found[1:]):
            if isinstance(item, Length):
                if not self._to_adapter or piece.is_length or isinstance(after, Part):
                    self._numbered.length(item.size)
            else:
                self._item(piece, t_ns, item)

    def _frame(self, piece: Piece, t_ns: int | None, data: bytes) -> None:
        """CAN data without an identifier: a request where it is marked as sent, else an answer to the last one."""
        if self._is_echo(piece, t_ns, data):
            return
        can_id, extended = self._header, self._header is not None and self._header > 0x7FF
        if piece.sent:
            self._to_adapter = False
            self._asked, self._asked_ns = data, t_ns
        else:
            can_id, extended = _answer_id(self._header)
        self._unanswered = piece.sent
        self.heard.append(Heard(piece.line, t_ns, can_id, extended, data, True))

    def _time(self, piece: Piece) -> int | None:
        if piece.stamp is None:
            return None
        t_ns = piece.stamp.t_ns + self._day_ns
        if piece.stamp.of_day and self._last_ns is not None and t_ns < self._last_ns - _HALF_DAY_NS:
            self._day_ns += 2 * _HALF_DAY_NS  # midnight
            t_ns += 2 * _HALF_DAY_NS
        self._last_ns = t_ns
        self.stamped = True
        self.absolute |= piece.stamp.absolute
        self.zoned |= piece.stamp.zone
        self.undated |= piece.stamp.undated
        return t_ns

    def _item(self, piece: Piece, t_ns: int | None, item: Item) -> None:
        place = f"line {piece.line}"
        if isinstance(item, Command):
            self.close()
            command = item.text.replace(" ", "")
            self._to_adapter = not command.startswith(_MONITOR)
            match = _HEADER.fullmatch(command)
            if match:
                self._header = _request_id(match[1])
            formatting = _FORMATTING.fullmatch(command)
            if formatting:
                self._as_on_bus = formatting[1] == "0"
        elif isinstance(item, Status):
            self._status(item.word, place)
        elif isinstance(item, Can):
            self._unanswered = False
            self.heard += [Heard(piece.line, t_ns, i, long, data, True) for i, long, data in item.frames]
        elif isinstance(item, Kline):
            self._kline(piece, t_ns, item)
        elif (
            isinstance(item, Plain)
            and not item.answer
            and not (self._to_adapter and not piece.sent and len(item.data) < 2)
        ):
            self._request(piece, t_ns, item.data)
        elif self._to_adapter and not _is_data(item):
            return  # what the adapter says about itself
        elif isinstance(item, Part):
            for whole in self._numbered.line(piece.line, t_ns, item.number, item.data):
                self._answer(whole.line, whole.t_ns, whole.data)
        elif isinstance(item, Plain):
            for payload in _apart(item.data):
                self._answer(piece.line, t_ns, payload)
        elif isinstance(item, Bad):
            self.tally.add("bad_line", item.reason, place)

    def _status(self, word: str, place: str) -> None:
        if word in _HARMLESS or (word == "?" and self._to_adapter):
            return
        self._unanswered = False
        kind = "no_answer" if word in _NO_ANSWER else "adapter_error"
        self.tally.add(kind, f"the adapter said {word}", place)

    def _kline(self, piece: Piece, t_ns: int | None, item: Kline) -> None:
        for found in item.found:
            if not isinstance(found, Message):
                self.tally.add(found.kind, found.text, f"line {piece.line}")
            elif found.answer:
                self._unanswered = False
                self.heard.append(Heard(piece.line, t_ns, found.identifier, True, found.payload))
            elif not self._is_echo(piece, t_ns, found.payload):
                self._asked, self._asked_ns, self._unanswered = found.payload, t_ns, True
                self.heard.append(Heard(piece.line, t_ns, found.identifier, True, found.payload))

    def _is_echo(self, piece: Piece, t_ns: int | None, data: bytes) -> bool:
        if piece.prompted or not self._unanswered or data != self._asked:
            return False
        return t_ns is None or self._asked_ns is None or t_ns - self._asked_ns < _ECHO_NS

    def _request(self, piece: Piece, t_ns: int | None, data: bytes) -> None:
        if self._is_echo(piece, t_ns, data):
            return
        self.close()
        self._to_adapter = False
        self._asked, self._asked_ns, self._unanswered, self._answers = data, t_ns, True, []
        extended = self._header is not None and self._header > 0x7FF
        self.heard.append(Heard(piece.line, t_ns, self._header, extended, data))

    def _answer(self, line: int, t_ns: int | None, data: bytes) -> None:
        self._unanswered = False
        if data[:2] in j1850_frames.PWM_HEADERS and self._asked[:1] == b"\x01" and _PID_6B not in self._asked[1:]:
            self.tally.add("bad_checksum", "message whose CRC does not fit", f"line {line}")
            return
        head = 3 if data[0] == _INFORMATION and len(data) <= _PARTED else 2  # parts of the older links have a number
        if len(data) > 1 and any(data[:head] == one[:head] for one in self._answers):
            text = "several answers to one request without headers: their control modules cannot be told apart"
            self.tally.add("ecu_unknown", text, f"line {line}")
        if not (data[0] == _NEGATIVE and data[2:] == _PENDING):  # of which one module sends several
            self._answers.append(data)
        can_id, extended = _answer_id(self._header)
        self.heard.append(Heard(line, t_ns, can_id, extended, data))

    def close(self) -> None:
        """The exchange is over, and with it what numbered lines have begun."""
        for whole in self._numbered.close():
            self._answer(whole.line, whole.t_ns, whole.data)


def _is_data(item: Item) -> bool:
    """Whether a piece can only come from a control module: an answer of a known service, or a numbered line."""
    return isinstance(item, Part) or (isinstance(item, Plain) and len(item.data) > 2 and item.data[0] in _ANSWERS)


def _request_id(digits: str) -> int | None:
    """Identifier of the header that the adapter was told to send, None where that goes to all."""
    value = int(digits, 16)
    if len(digits) == 6:  # three bytes: the low ones of a 29-bit identifier, or a K-line header
        value = 0x18000000 | value if digits.startswith(("DA", "DB")) else 0x18DA00F1 | (value & 0xFF00)
        value = REQUEST_TO_ALL if value & 0xFF00 in (0x6A00, 0x3300) else value
    return None if value in (_FUNCTIONAL, REQUEST_TO_ALL) else value


def _answer_id(request: int | None) -> tuple[int, bool]:
    """Identifier of an answer without header, and whether it has 29 bits (ISO 15765-4)."""
    if request is not None and request & ~7 == 0x7E0:
        return request + 8, False
    if request is not None and request >> 16 == 0x18DA:
        return 0x18DAF100 | request >> 8 & 0xFF, True
    return _ENGINE, False


def _apart(data: bytes) -> Iterator[bytes]:
    """Answers that ran together without anything between: equal beginnings, each as long as its parameter needs."""
    sizes = [2 + size for size in obd.pid_lengths().get(data[1], ())] if data[:1] == b"\x41" and len(data) > 1 else []
    if data[:1] in (b"\x43", b"\x47", b"\x49"):
        sizes = [_PARTED]
    head = 1 if data[:1] in (b"\x43", b"\x47") else 2
    for size in sizes:
        starts = range(0, len(data), size)
        if len(data) > size and not len(data) % size and all(data[k : k + head] == data[:head] for k in starts):
            yield from (data[k : k + size] for k in starts)
            return
    yield data


def read(source: Source) -> Parsed:
    """The session as CAN frames where it shows any, else as payloads."""
    text = source.content().decode("utf-8", "replace").removeprefix("\ufeff").replace("\0", "")
    tally = Tally()
    metadata = {match[1].strip(): match[2].strip() for match in _COMMENT.finditer(text)}
    session = _Session(tally)
    for piece in pieces(text):
        session.take(piece)
    session.close()
    heard = session.heard
    if heard and not session.stamped:
        tally.add(
            NO_TIME,
            "no line has a time: values stand in the order of the lines, what needs time is not measured",
            "whole file",
        )
    if session.stamped and counts_ms(LINE_END.split(text)):
        tally.add("time_unit", "whole numbers in front of the lines: taken as milliseconds", "whole file")
    if session.undated:
        text_of_date = "dates left out: whether their day or their month stands first is not to be told"
        tally.add("date_order", text_of_date, "whole file")
    if session.absolute and not session.zoned:
        tally.add("time_zone", "times without a time zone: taken as UTC", "whole file")
    t_ns = _times(heard)
    extended = any(one.extended and one.can_id is not None for one in heard)
    to_all = REQUEST_TO_ALL if extended else _FUNCTIONAL
    said = [
        Said(t, t, to_all, extended, one.data) if one.can_id is None else Said(t, t, one.can_id, one.extended, one.data)
        for t, one in zip(t_ns.tolist(), heard, strict=True)
    ]
    start_ns = 0 if session.absolute else start_time.origin_ns(metadata, tally) or 0
    content: Frames | Payloads
    if any(one.is_frame for one in heard):
        content = _frames(said, [one.is_frame for one in heard], start_ns, tally)
        variant = "CAN frames"
    else:
        rows = clock.settle(t_ns, tally)
        kept = range(len(said)) if rows is None else rows.tolist()
        said = [said[k]._replace(first_ns=int(t_ns[k]), last_ns=int(t_ns[k])) for k in kept]
        origin_ns = said[0].first_ns if session.absolute and said else 0
        content = Payloads(
            payloads.messages(said, origin_ns), origin_ns or start_ns, session.absolute or bool(start_ns)
        )
        variant = ""
    wrong = ("bad_line", "bad_checksum", "cut_message", "lost_consecutive_frame", "mixed_answers")
    rejected = sum(tally.total(kind) for kind in wrong) + len(heard) - len(said)
    return Parsed(content, len(said), rejected, tally.remarks(), metadata, variant)


def _times(heard: list[Heard]) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    """Times in ns; a message without one stands between its neighbours, a step behind the one before at most."""
    t_ns = np.zeros(len(heard), np.int64)
    known = [k for k, one in enumerate(heard) if one.t_ns is not None]
    stops = [*known, len(heard)]
    begin, now = 0, (heard[known[0]].t_ns or 0) if known else 0
    for stop in stops:
        after = heard[stop].t_ns if stop < len(heard) else None
        gap = stop - begin + (1 if begin else 0)
        step = _STEP_NS if after is None or not gap else min(_STEP_NS, max(0, (after - now) // gap))
        for k in range(begin, stop):
            now = now + step if k else now
            t_ns[k] = now
        if after is not None:
            now = t_ns[stop] = after
        begin = stop + 1
    return t_ns


def _frames(said: list[Said], is_frame: list[bool], start_ns: int, tally: Tally) -> Frames:
    """All of a session as CAN frames: what was shown without control information gets it (ISO 15765-2)."""
    rows = []
    for one, frame in zip(said, is_frame, strict=True):
        flags = (EXTENDED if one.extended else 0) | (0 if frame or one.payload[0] & 0x40 else SENT)
        parts = [one.payload] if frame else _segments(one.payload)
        rows += [Row(one.first_ns + start_ns, b"", one.can_id, flags, data, len(data)) for data in parts]
    block, columns = CanBlock(len(rows)), CanColumns()
    columns.bus(b"")
    for k, row in enumerate(rows):
        block.put(k, row, 0)
    columns.append(block)
    return columns.frames(tally)


def _segments(payload: bytes) -> list[bytes]:
    """A payload as CAN data: single frame, or first and consecutive frames (ISO 15765-2)."""
    if len(payload) <= 7:
        return [bytes((len(payload),)) + payload]
    first = (0x1000 | len(payload)).to_bytes(2, "big") + payload[:6]
    return [
        first,
        *(bytes((0x20 | (1 + k // 7) % 16,)) + payload[6 + k : 13 + k] for k in range(0, len(payload) - 6, 7)),
    ]
