"""What one piece of an adapter's text says: a command, a status word, a length, a numbered line, frames, a payload."""

from __future__ import annotations

import itertools
import re
from typing import Final, NamedTuple

from logan.capture import j1850_frames, kline_frames
from logan.capture.kline_frames import TESTER, Message, Trouble

_HH: Final = "[0-9A-F]{2}"
_COMMAND: Final = re.compile(r"(?:AT|ST(?!OPPED)) ?[A-Z@#].*")
STATUS: Final = re.compile(
    r"SEARCHING ?\.*|BUS ?INIT ?:? ?\.*(?: ?OK| ?ERROR)?|NO ?DATA|UNABLE ?TO ?CONNECT|STOPPED|CAN ?ERROR|BUS ?BUSY|"
    r"BUS ?ERROR|FB ?ERROR|<? ?DATA ?ERROR|<? ?RX ?ERROR|BUFFER ?FULL|ACT ?ALERT|LV ?RESET|LP ?ALERT|\bERR\d\d|\?+|OK"
)
"""Words of serial adapters (common practice, no source)."""
_INDEX: Final = re.compile(r"(?<![0-9A-F: ])(?=[0-9A-F]:)|(?<=[0-9A-F])(?=[0-9A-F]:)|(?<= )(?=[0-9A-F]:)")
_PART: Final = re.compile(r"([0-9A-F]): ?([0-9A-F ]*)")
_GLUED: Final = re.compile(f"((?:[0-9A-F]: ?|[0-9A-F]{{3}} )?(?:{_HH} )+{_HH})({_HH}(?: {_HH})*)")
_HEX: Final = re.compile("[0-9A-F]+(?: [0-9A-F]+)*")
LENGTH: Final = re.compile("[0-9A-Fa-f]{3}")
FIRST_LINE: Final = re.compile("0:")
"""With what the first line behind a length begins."""
_CAN_11: Final = re.compile("[0-7][0-9A-F]{2}")
_CAN_29: Final = re.compile("[01][0-9A-F]{7}")
_WITH_HEADER: Final = range(9, 13)
_ABOVE_29_BIT: Final = 0x20
_LONG_HEADERS: Final = ("18DA", "18DB", "18 DA", "18 DB")
_RUN_11: Final = re.compile("7[0-9A-F]{2}")
_RUN_29: Final = re.compile("18D[AB][0-9A-F]{4}")
_ISO_9141: Final = (b"\x68\x6a", b"\x48\x6b")
_FRAME: Final = re.compile(f"{_HH}(?: ?{_HH}){{0,7}}")
_ANSWER_BIT: Final = 0x40
_SYNC: Final = 0x55


class Command(NamedTuple):
    """A command to the adapter itself."""

    text: str


class Status(NamedTuple):
    """A word of the adapter in place of data."""

    word: str


class Length(NamedTuple):
    """Bytes of the numbered lines that follow."""

    size: int


class Part(NamedTuple):
    """A numbered line: ``1: 42 53 45 ...``."""

    number: int
    data: bytes


class Can(NamedTuple):
    """CAN frames with their identifiers: (identifier, 29 bits, data)."""

    frames: list[tuple[int, bool, bytes]]


class Kline(NamedTuple):
    """Messages with K-line or J1850 headers, and what is wrong with the others."""

    found: list[Message | Trouble]


class Plain(NamedTuple):
    """A request or an answer without header."""

    data: bytes

    @property
    def answer(self) -> bool:
        """Whether it is an answer by its service (ISO 14229-1: bit 6 of the service byte)."""
        return bool(self.data[0] & _ANSWER_BIT)


class Bad(NamedTuple):
    """Text that says nothing, with the reason."""

    reason: str


Item = Command | Status | Length | Part | Can | Kline | Plain | Bad


def items(text: str, asked: bool) -> list[Item]:
    """What stands in a piece of text, glued parts taken apart.

    Parameters
    ----------
    text : without time, prompt and marks of direction
    asked : it stands behind a prompt or is marked as sent
    """
    text = " ".join(text.upper().replace("#", " ").split())
    if _COMMAND.fullmatch(text):
        return [Command(text)]
    out: list[Item] = []
    at = 0
    for match in STATUS.finditer(text):
        out += _hex_items(text[at : match.start()].strip(), asked)
        word = " ".join(match[0].replace(".", " ").split()).strip(" <?") or "?"
        out.append(Status(word))
        if word.endswith(("DATA ERROR", "RX ERROR")) and len(out) > 1 and not isinstance(out[-2], Status | Bad):
            out[-2] = Bad("data that the adapter marked as damaged")
        at = match.end()
    return out + _hex_items(text[at:].strip(), asked)


def unformatted(text: str) -> bytes | None:
    """Data of a CAN frame as it was on the bus, without its identifier; None where the text is none or has one."""
    text = " ".join(text.upper().split())
    if not _FRAME.fullmatch(text) or _can(text.split()):
        return None
    return bytes.fromhex(text)


def _hex_items(text: str, asked: bool) -> list[Item]:
    """Hex text, several lines of which may have run together."""
    if not text:
        return []
    if _COMMAND.fullmatch(text):
        return [Command(text)]
    out: list[Item] = []
    lines = _INDEX.sub("\n", text).split("\n") if ":" in text else [text]
    for line, after in itertools.zip_longest(lines, lines[1:], fillvalue=""):
        if FIRST_LINE.match(after) and LENGTH.fullmatch(line.strip()):
            out.append(Length(int(line, 16)))
            continue
        glued = _GLUED.fullmatch(line.strip())
        if glued and int(glued[2][:2], 16) < _ANSWER_BIT:
            out += [_item(glued[1], False), _item(glued[2], True)]
        elif line.strip():
            out += _apart(_item(line.strip(), asked))
    return out


def _apart(item: Item) -> list[Item]:
    """A request and its answer in one line: 01 05 41 05 7B."""
    if isinstance(item, Plain) and not item.answer:
        for k in range(1, 1 + len(item.data) // 2):
            if item.data[k : 2 * k] == bytes((item.data[0] | _ANSWER_BIT,)) + item.data[1:k]:
                return [Plain(item.data[:k]), Plain(item.data[k:])]
    return [item]


def _item(text: str, asked: bool) -> Item:
    """One line of hex."""
    part = _PART.fullmatch(text)
    if part:
        data = _octets(part[2].split())
        return Bad("numbered line without whole bytes") if data is None else Part(int(part[1], 16), data)
    if not _HEX.fullmatch(text):
        return Bad("neither hex nor a known word")
    tokens = text.split()
    if LENGTH.fullmatch(text) and not asked:
        return Length(int(text, 16))
    frames = _can(tokens)
    if frames:
        return Can(frames)
    if text.startswith(_LONG_HEADERS):
        return Bad("CAN frame of an impossible length")
    if asked and len(tokens[-1]) % 2 and (len(tokens) == 1 or len(tokens[-2]) > 1) and len(text) > 2:
        tokens[-1] = tokens[-1][:-1]  # the number of answers to wait for
    data = _octets([token for token in tokens if token])
    if data is None:
        return Bad("half a byte: cut short")
    if data == b"\0":
        return Kline(list(kline_frames.messages(data)))  # a wake-up pulse, or a bit of the 5-baud address
    if not data[0]:
        return Bad("no service has the number 00")
    return _headed(data) or Plain(data)


def _octets(tokens: list[str]) -> bytes | None:
    """Bytes of hex tokens; leading zeros may be left out where a line leaves them out throughout."""
    bare = any(len(token) == 1 for token in tokens)
    if bare and any(len(token) != 1 and (len(token) != 2 or token[0] == "0") for token in tokens):
        return None
    if any(len(token) % 2 for token in tokens) and not bare:
        return None
    data = bytes.fromhex("".join(token.zfill(2) for token in tokens))
    return data or None


def _headed(data: bytes) -> Kline | None:
    """Bytes that begin with a K-line or J1850 header."""
    of_j1850 = j1850_frames.message(data)
    if of_j1850 is not None:
        return Kline([of_j1850])
    if data[:2] in j1850_frames.PWM_HEADERS and j1850_frames.message(data[:-1]) is not None:
        return Kline(list(j1850_frames.messages(data)))  # the receiver's address follows the CRC
    is_9141 = len(data) >= 5 and data[:2] in _ISO_9141
    is_14230 = len(data) >= 5 and data[0] >= 0x80 and TESTER in data[1:3]
    is_handshake = 4 <= len(data) <= 5 and data[0] == _SYNC and data[3] == data[2] ^ 0xFF
    return Kline(list(kline_frames.messages(data))) if is_9141 or is_14230 or is_handshake else None


def _can(tokens: list[str]) -> list[tuple[int, bool, bytes]]:
    """CAN frames of a line with identifiers, empty where it has none."""
    if len(tokens) == 1:
        return _run(tokens[0])
    head, rest = tokens[0], tokens[1:]
    if tokens[0] == "18" and tokens[1] in ("DA", "DB") and len(tokens) >= 5:
        head, rest = "".join(tokens[:4]), tokens[4:]
    elif len(tokens) in _WITH_HEADER and int(tokens[0], 16) < _ABOVE_29_BIT and all(len(one) == 2 for one in tokens):
        head, rest = "".join(tokens[:4]), tokens[4:]  # too many bytes for a frame alone
    long = _CAN_29.fullmatch(head) is not None
    if not long and not _CAN_11.fullmatch(head):
        return []
    if len(rest) > 1 and len(rest[0]) == 1 and int(rest[0], 16) == len(rest) - 1:
        rest = rest[1:]  # the data length code, which may be shown
    if any(len(token) % 2 for token in rest):
        return []
    data = bytes.fromhex("".join(rest))
    return [(int(head, 16), long, data)] if 1 <= len(data) <= 8 else []


def _run(digits: str) -> list[tuple[int, bool, bytes]]:
    """CAN frames without blanks, several of which may have run together.

    A single frame is as long as the line. Where several stand in it, each is padded to eight bytes, or as long as its
    control information says (ISO 15765-2).
    """
    for pattern, size in ((_RUN_11, 3), (_RUN_29, 8)):
        if not pattern.match(digits):
            continue
        rest = len(digits) - size
        if 2 <= rest <= 16 and rest % 2 == 0 and _pci_fits(digits[size:]):
            return [(int(digits[:size], 16), size == 8, bytes.fromhex(digits[size:]))]
        if rest >= 3 and rest % 2 and digits[size] == f"{rest // 2:X}" and rest <= 17 and _pci_fits(digits[size + 1 :]):
            return [(int(digits[:size], 16), size == 8, bytes.fromhex(digits[size + 1 :]))]  # with data length code
        for padded in (True, False):
            frames = []
            at = 0
            while pattern.match(digits, at):
                begin = at + size
                length = 8 if padded else _pci_length(digits[begin : begin + 2])
                at = begin + 2 * length
                if not length or at > len(digits) or not _pci_fits(digits[begin:at]):
                    break
                frames.append((int(digits[begin - size : begin], 16), size == 8, bytes.fromhex(digits[begin:at])))
                if at == len(digits):
                    return frames
    return []


def _pci_fits(digits: str) -> bool:
    """Whether data begin with control information that their length allows."""
    kind, low = int(digits[0], 16), int(digits[1], 16)
    return kind in (2, 3) or (kind == 1 and len(digits) == 16) or (kind == 0 and 1 <= low <= len(digits) // 2 - 1)


def _pci_length(digits: str) -> int:
    """Bytes of a frame without padding by its first byte, 0 where that says nothing."""
    if len(digits) < 2:
        return 0
    kind, low = int(digits[0], 16), int(digits[1], 16)
    return {0: low + 1 if 1 <= low <= 7 else 0, 1: 8, 2: 8, 3: 3}.get(kind, 0)
