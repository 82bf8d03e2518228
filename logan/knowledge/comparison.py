"""What a comparison of drives needs to know of a measure: how much matters, what cancels, what must agree."""

from __future__ import annotations

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.faults import Number
from logan.knowledge.folders import Folders, files
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class Condition(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A condition of a drive, the median of a channel over what a measure was taken on, and how far it may differ."""

    channel: str
    title: str
    unit: str
    tolerance: float


class Comparable(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One measure between drives; see the head of ``data/comparison.toml`` for each key."""

    measure: str
    matters: Number
    shared: float = 0.0
    broken_by: list[str] = []
    alike: list[str] = []
    same_length: float | None = None
    target: str = ""
    centre: float | None = None


class _File(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    condition: list[Condition] = []
    measure: list[Comparable] = []


def load(folders: Folders = ()) -> tuple[dict[str, Condition], dict[str, Comparable]]:
    """Conditions by channel and measures by name; an entry of a later folder replaces the one of its name.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    conditions: dict[str, Condition] = {}
    measures: dict[str, Comparable] = {}
    for path in (DATA / "comparison.toml", *files(folders, "comparison.toml")):
        page = toml(path, _File)[0]
        conditions |= {condition.channel: condition for condition in page.condition}
        measures |= {entry.measure: entry for entry in page.measure}
        for entry in page.measure:
            unknown = [name for name in entry.alike if name not in conditions]
            if unknown:
                do = f"use {', '.join(conditions)}"
                raise KnowledgeError(f"{unknown[0]} is no condition", file=str(path), place=entry.measure, do=do)
            if not 0.0 <= entry.shared <= 1.0:
                raise KnowledgeError("shared is no correlation", file=str(path), place=entry.measure, do="give 0 to 1")
    return conditions, measures
