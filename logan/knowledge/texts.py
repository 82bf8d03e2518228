"""Small tables of words: cautions, what was fitted before a test, what drivers complain of."""

from __future__ import annotations

from pathlib import Path
from typing import TypeVar

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.folders import Folders, files
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class Caution(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A hazard in the trade's words; ``risky`` marks work that waits until nothing safer tells as much."""

    id: str
    text: str
    source: str
    risky: bool = False


class Word(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A word that the command takes. ``rate``: how often a good engine comes with that complaint."""

    id: str
    title: str
    rate: float | None = None


class _Cautions(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    caution: list[Caution]


class _Words(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    word: list[Word]


Entry = TypeVar("Entry", Caution, Word)


def cautions(folders: Folders = ()) -> dict[str, Caution]:
    """Every caution by id; an entry of a later folder replaces the one of the same id."""
    found: dict[str, Caution] = {}
    for path in (DATA / "cautions.toml", *files(folders, "cautions.toml")):
        found |= _by_id(path, toml(path, _Cautions)[0].caution)
    return found


def work(folders: Folders = ()) -> dict[str, Word]:
    """Words of recent work by id."""
    return _words("work.toml", folders)


def complaints(folders: Folders = ()) -> dict[str, Word]:
    """Words of complaints by id."""
    return _words("complaints.toml", folders)


def _words(name: str, folders: Folders) -> dict[str, Word]:
    found: dict[str, Word] = {}
    for path in (DATA / name, *files(folders, name)):
        found |= _by_id(path, toml(path, _Words)[0].word)
    return found


def _by_id(path: Path, entries: list[Entry]) -> dict[str, Entry]:
    found = {entry.id: entry for entry in entries}
    if len(found) < len(entries):
        ids = [entry.id for entry in entries]
        twice = next(i for i in ids if ids.count(i) > 1)
        raise KnowledgeError(f"{twice} stands in it twice", file=str(path), do="give each entry its own id")
    return found
