"""A signal data base read by cantools."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import cantools.database

from logan.decode.dbc import pgn_of
from logan.decode.plan import Condition, MessagePlan, SignalPlan
from logan.errors import KnowledgeError

_FLOAT_BITS = (16, 32, 64)
# without a handler of its own the library's warnings would reach the terminal
logging.getLogger("cantools").addHandler(logging.NullHandler())


def parse(content: bytes, path: Path) -> tuple[tuple[MessagePlan, ...], tuple[str, ...]]:
    """Plans of the messages of a DBC file, and the signals that no plan can express.

    Raises
    ------
    KnowledgeError : the file is no DBC file
    """
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
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
