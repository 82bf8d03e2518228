"""A signal data base read by cantools."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any, Final

import cantools.database

from logan.decode.dbc import pgn_of
from logan.decode.plan import Condition, MessagePlan, SignalPlan
from logan.errors import KnowledgeError

_FLOAT_BITS = (16, 32, 64)
_MOST: Final = 1 << 16
_NUMBERS: Final = (
    (re.compile(r"\bBO_\s+\d+\s+[^\s:]+\s*:\s*(-?\d+)"), _MOST, "the length of a message"),
    (re.compile(r":\s*(-?\d+)\s*\|"), 8 * _MOST, "the first bit of a signal"),
    (re.compile(r"\|\s*(-?\d+)\s*@"), 8 * _MOST, "the length of a signal"),
)
"""Numbers for each of which cantools would fill memory; the most there may be; what they are."""
_LONGEST: Final = 20
"""Digits; Python refuses to make a number of thousands."""
_TEXT: Final = re.compile(r'"(?:\\"|[^"])*?"')
"""As cantools takes it; what a comment says is no number of the data base."""
_MULTIPLEXED: Final = re.compile(r"\bSG_MUL_VAL_\b[^;]*")
_RANGE: Final = re.compile(r"(\d+)\s*-(\d+)")
_MOST_MULTIPLEXED: Final = 1 << 20
"""Numbers in the ranges of all multiplexed signals, which cantools lists one by one."""
# without a handler of its own the library's warnings would reach the terminal
logging.getLogger("cantools").addHandler(logging.NullHandler())


def parse(content: bytes, path: Path) -> tuple[tuple[MessagePlan, ...], tuple[str, ...]]:
    """Plans of the messages of a DBC file, and the signals that no plan can express.

    Raises
    ------
    KnowledgeError : the file is no DBC file, or its numbers are larger than any message has
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
    _check_sizes(text, path)
    database = cantools.database.Database(strict=False)
    try:
        database.add_dbc_string(text)
    except Exception as error:  # the library lets KeyError, ValueError and others of its inside escape
        line = getattr(error, "line", None)
        raise KnowledgeError(
            f"is no DBC file that can be read: {error or type(error).__name__}",
            file=str(path),
            place=f"line {line}" if line is not None else None,
            do="correct it there, or leave the file out",
        ) from error
    attributes = database.dbc.attributes if database.dbc is not None else {}
    protocol = attributes.get("ProtocolType")
    is_j1939 = protocol is not None and str(protocol.value).upper().startswith("J1939")
    unread: list[str] = []
    messages = tuple(_message(message, is_j1939, unread) for message in database.messages)
    return messages, tuple(unread)


def _check_sizes(text: str, path: Path) -> None:
    """Refuse a file whose numbers would have cantools count or fill memory without end.

    Raises
    ------
    KnowledgeError : a message or signal is larger than any, or ranges of multiplexed signals hold too many numbers
    """
    text = _TEXT.sub(lambda found: "\n" * found[0].count("\n"), text)

    def too_large(reason: str, at: int) -> KnowledgeError:
        place = f"line {text.count(chr(10), 0, at) + 1}"
        return KnowledgeError(reason, file=str(path), place=place, do="correct it there, or leave the file out")

    for number, most, what in _NUMBERS:
        for found in number.finditer(text):
            if not _within(found[1], most):
                raise too_large(f"{found[1][:20]} as {what} is out of range (at most {most})", found.start(1))
    left = _MOST_MULTIPLEXED
    for line in _MULTIPLEXED.finditer(text):
        for first, last in _RANGE.findall(line[0]):
            left -= max(0, int(last) - int(first) + 1) if max(len(first), len(last)) <= _LONGEST else left + 1
            if left < 0:
                reason = f"the multiplexed signals up to here stand for more than {_MOST_MULTIPLEXED} numbers"
                raise too_large(reason, line.start())


def _within(number: str, most: int) -> bool:
    return len(number) <= _LONGEST and abs(int(number)) <= most


def _message(message: Any, is_j1939: bool, unread: list[str]) -> MessagePlan:
    """Plan of one cantools message; the signals that no plan can express are added to ``unread``."""
    own_format = message.dbc is not None and "VFrameFormat" in (message.dbc.attributes or {})
    by_pgn = message.is_extended_frame and (message.protocol == "j1939" or (is_j1939 and not own_format))
    by_name = {signal.name: signal for signal in message.signals if _is_readable(signal)}
    signals = []
    for signal in message.signals:
        is_float = bool(signal.conversion.is_float)
        if signal.name not in by_name or (signal.multiplexer_signal or signal.name) not in by_name:
            unread.append(f"{message.name}.{signal.name}")
            continue
        signals.append(
            SignalPlan(
                name=signal.name,
                start_bit=signal.start,
                length=signal.length,
                big_endian=signal.byte_order == "big_endian",
                signed=bool(signal.is_signed) and not is_float,
                is_float=is_float,
                scale=float(signal.conversion.scale),
                offset=float(signal.conversion.offset),
                minimum=None if signal.minimum is None else float(signal.minimum),
                maximum=None if signal.maximum is None else float(signal.maximum),
                unit=signal.unit or "",
                labels={int(raw): str(label) for raw, label in (signal.conversion.choices or {}).items()},
                multiplexing=_conditions(signal, by_name),
            )
        )
    return MessagePlan(
        frame_id=message.frame_id,
        extended=message.is_extended_frame,
        name=message.name,
        length_bytes=message.length,
        signals=tuple(signals),
        pgn=pgn_of(message.frame_id) if by_pgn else None,
    )


def _is_readable(signal: Any) -> bool:
    if signal.start < 0:
        return False
    return signal.length in _FLOAT_BITS if signal.conversion.is_float else 1 <= signal.length <= 64


def _conditions(signal: Any, by_name: dict[str, Any]) -> tuple[Condition, ...]:
    """Conditions of a signal and of the multiplexors above it, nearest first."""
    out: list[Condition] = []
    above = {signal.name}
    while signal.multiplexer_signal in by_name and signal.multiplexer_signal not in above:
        out.append(Condition(signal.multiplexer_signal, _ranges(signal.multiplexer_ids or ())))
        signal = by_name[signal.multiplexer_signal]
        above.add(signal.name)
    return tuple(out)


def _ranges(numbers: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Runs of whole numbers, (first, last) each."""
    out: list[tuple[int, int]] = []
    for number in sorted(set(numbers)):
        if out and out[-1][1] == number - 1:
            out[-1] = (out[-1][0], number)
        else:
            out.append((number, number))
    return tuple(out)
