"""What a comparison of drives needs to know of a measure: how much matters, what cancels, what must agree."""

from __future__ import annotations

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.faults import Number
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


class Rules(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Conditions and measures, as the file holds them."""

    condition: list[Condition]
    measure: list[Comparable]


def load() -> tuple[dict[str, Condition], dict[str, Comparable]]:
    """Conditions by channel and measures by name.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    path = DATA / "comparison.toml"
    rules = toml(path, Rules)[0]
    conditions = {condition.channel: condition for condition in rules.condition}
    for entry in rules.measure:
        for name in entry.alike:
            if name not in conditions:
                raise KnowledgeError(
                    f"{name} is no condition", file=str(path), place=entry.measure, do=f"use {', '.join(conditions)}"
                )
        if not 0.0 <= entry.shared <= 1.0:
            raise KnowledgeError("shared is no correlation", file=str(path), place=entry.measure, do="give 0 to 1")
    return conditions, {entry.measure: entry for entry in rules.measure}
