"""How headings of tables of CAN frames are understood, from ``data/frame_headers.toml``."""

from __future__ import annotations

import functools
import itertools
from collections.abc import Sequence

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class FrameHeaders(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Spellings of each role of a column, best first; ``sent`` are cells that mark frames of the recorder itself."""

    time: list[str]
    id: list[str]
    data: list[str]
    byte: list[str]
    length: list[str]
    direction: list[str]
    bus: list[str]
    error: list[str]
    pgn: list[str]
    priority: list[str]
    source: list[str]
    destination: list[str]
    sent: list[str]

    def bytes_apart(self, names: Sequence[str]) -> list[int]:
        """Columns that hold a byte each, from the first byte on; none where fewer than two stand there."""
        for begin in self.byte:
            for first in (0, 1):
                numbered = itertools.takewhile(
                    lambda name: name in names, (f"{begin}{k}" for k in itertools.count(first))
                )
                found = [names.index(name) for name in numbered]
                if len(found) > 1:
                    return found
        return []

    def columns(self, names: Sequence[str]) -> dict[str, int]:
        """Role -> column, for plain headings (n,)."""
        out = {}
        for role in self.__struct_fields__:
            found = [name for name in getattr(self, role) if name in names]
            if found and role not in ("sent", "byte"):
                out[role] = names.index(found[0])
        return out


@functools.cache
def load() -> FrameHeaders:
    """The spellings.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    return toml(DATA / "frame_headers.toml", FrameHeaders)[0]
