"""Signal data bases: DBC files become plans once, and the plans stay in the user's cache folder as JSON.

What reads them costs 0.1 s to import, as much as all the rest of a start, so this module imports it by name on a cache
miss and nowhere else: the one lazy import of this room.
"""

from __future__ import annotations

import importlib
import zlib
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import msgspec

from logan import cache
from logan.decode.plan import SCHEMA, MessagePlan
from logan.errors import KnowledgeError
from logan.model.capture import Remark, first_places


class _Database(msgspec.Struct, frozen=True):
    """What one file holds, as it is stored in the cache; ``unread`` names the signals that no plan can express."""

    content: bytes
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
                    "signals of the data base longer than 64 bits, of no IEEE 754 length, or before bit 0: not decoded",
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
    name = f"dbc-{len(content)}-{zlib.crc32(content):08x}-cantools{cache.version_of('cantools')}-plan{SCHEMA}.json"
    stored = cache.folder() / name
    # a stored plan that is absent, cut short or of another shape is simply made anew
    with suppress(OSError, msgspec.MsgspecError, UnicodeDecodeError):
        kept = msgspec.json.decode(stored.read_bytes(), type=_Database)
        if kept.content == content:
            return kept
    database = _parse(content, path)
    cache.store(stored, msgspec.json.encode(database))
    return database


def _parse(content: bytes, path: Path) -> _Database:
    messages, unread = importlib.import_module("logan.decode.dbc_file").parse(content, path)
    return _Database(content, messages, unread)
