"""The training room's rules: what a trainee can ask to see, what it costs, what an answer scores."""

from __future__ import annotations

from functools import cache

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class View(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Part of a record that can be asked for: its cost in minutes and the report's chapters that it shows."""

    id: str
    title: str
    text: str
    minutes: float
    sections: list[str]


class Score(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Points of 100, see ``data/training.toml``; after ``stuck_minutes`` without a step a trainee counts as stuck."""

    first: float
    second: float
    third: float
    check: float
    time: float
    stuck_minutes: float


class Training(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The whole file."""

    view: list[View]
    score: Score

    @property
    def minutes(self) -> float:
        """What all views cost together."""
        return sum(one.minutes for one in self.view)


@cache
def load() -> Training:
    """The built-in rules.

    Raises
    ------
    KnowledgeError : a wrong key or value, with its place
    """
    return toml(DATA / "training.toml", Training)[0]
