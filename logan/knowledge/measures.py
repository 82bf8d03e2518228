"""The catalogue of measures: names, units and words, from ``data/measures.toml``."""

from __future__ import annotations

from pathlib import Path

import msgspec

from logan.knowledge.folders import Folders, files
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class MeasureInfo(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What people need to know of a measure; ``hint`` says how to capture what it needs.

    A ``level`` is the same whatever the time between the records: their order is enough for it. ``plus`` and ``minus``
    say what a value over and under 0 means, where the signs of two measures of one thing run against each other.
    """

    name: str
    unit: str
    title: str
    meaning: str
    hint: str
    group: str
    decimals: int = 2
    core: bool = True
    level: bool = False
    plus: str = ""
    minus: str = ""

    def side(self, low: float, high: float) -> str:
        """What the sign of an interval means, in brackets; empty where it holds 0 or the sign needs no words."""
        if low <= 0.0 <= high:
            return ""
        words = self.plus if low > 0.0 else self.minus
        return f" ({words})" if words else ""


class _File(msgspec.Struct, forbid_unknown_fields=True):
    measure: list[MeasureInfo]


def load(folders: Folders = ()) -> dict[str, MeasureInfo]:
    """The catalogue by name, in the order of the file; an entry of a later folder replaces the one of its name.

    Raises
    ------
    KnowledgeError : a file is wrong
    """
    paths = (DATA / "measures.toml", *files(folders, "measures.toml"))
    return {info.name: info for path in paths for info in read(path)}


def read(path: Path) -> list[MeasureInfo]:
    """The entries of one file.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    return toml(path, _File)[0].measure
