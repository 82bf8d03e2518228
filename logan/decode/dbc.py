"""Signal data bases: DBC files become plans once, and the plans stay in the user's cache folder as JSON.

cantools reads the DBC. Importing it costs 0.1 s, more than all the rest of a start, so this module imports it by name
on a cache miss and nowhere else: the one lazy import of this room.
"""

from __future__ import annotations

import hashlib
import importlib
import logging
from collections.abc import Iterable, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Any

import msgspec

from logan import cache
from logan.decode.plan import SCHEMA, Condition, MessagePlan, SignalPlan
from logan.errors import KnowledgeError
from logan.model.capture import Remark, first_places

_FLOAT_BITS = (16, 32, 64)


class _Database(msgspec.Struct, frozen=True):
    """What one file holds, as it is stored in the cache; ``unread`` names the signals that no plan can express."""

    messages: tuple[MessagePlan, ...]
    unread: tuple[str, ...] = ()


def load(paths: Sequence[str | Path]) -> tuple[tuple[MessagePlan, ...], list[Remark]]:
    """Plans of all messages of some DBC files; of two with one identifier or one parameter group the later wins.

    Raises
    ------
    KnowledgeError : a file cannot be read, or is no DBC file
    """
    plans: dict[tuple[str, int], tuple[MessagePlan, str]] = {}
    remarks: list[Remark] = []
    for path in map(Path, paths):
        database = _read(path)
        if not database.messages:
            remarks.append(Remark("dbc_empty", "the signal data base holds no message", file=path.name))
        if database.unread:
            remarks.append(
                Remark(
                    "dbc_signal_unread",
                    "signals of the data base longer than 64 bits, or no IEEE 754 length: not decoded",
                    len(database.unread),
                    first_places(database.unread),
                    path.name,
                )
            )
        replaced: dict[str, list[str]] = {}
        for plan in database.messages:
            key = _key(plan)
            if key in plans:
                old, old_file = plans.pop(key)
                replaced.setdefault(old_file, []).append(f"{old.name} by {plan.name}")
            plans[key] = (plan, path.name)
        remarks += [
            Remark(
                "dbc_message_replaced",
                f"messages that {path.name} gives anew: it counts, being the later one",
                len(names),
                first_places(names),
                old_file,
            )
            for old_file, names in replaced.items()
        ]
    return tuple(plan for plan, _ in plans.values()), remarks


def pgn_of(frame_id: int) -> int:
    """Parameter group number in a 29-bit identifier: without priority, source and PDU1 destination (SAE J1939-21)."""
    pgn = frame_id >> 8 & 0x3FFFF
    return pgn if pgn >> 8 & 0xFF >= 240 else pgn & 0x3FF00


def _key(plan: MessagePlan) -> tuple[str, int]:
    if plan.pgn is not None:
        return "pgn", plan.pgn
    return "29 bit" if plan.extended else "11 bit", plan.frame_id


def _read(path: Path) -> _Database:
    """One file, from the cache where it stands there."""
    try:
        content = path.read_bytes()
    except OSError as error:
        raise KnowledgeError(
            f"cannot be read ({error.strerror})", file=str(path), do="check the path of the signal data base"
        ) from error
    name = f"{hashlib.sha256(content).hexdigest()}-cantools{cache.version_of('cantools')}-plan{SCHEMA}.json"
    stored = cache.folder() / name
    # a stored plan that is absent, cut short or of another shape is simply made anew
    with suppress(OSError, msgspec.MsgspecError, UnicodeDecodeError):
        return msgspec.json.decode(stored.read_bytes(), type=_Database)
    database = _parse(content, path)
    cache.store(stored, msgspec.json.encode(database))
    return database


def _parse(content: bytes, path: Path) -> _Database:
    """Read the DBC text with cantools."""
    try:
        text = content.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = content.decode("cp1252", errors="replace")
    # without a handler of its own the library's warnings would reach the terminal
    logging.getLogger("cantools").addHandler(logging.NullHandler())
    cantools = importlib.import_module("cantools.database")
    database = cantools.Database(strict=False)
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
    return _Database(messages, tuple(unread))


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
