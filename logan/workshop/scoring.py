"""What an answer in the training room is worth, against the truth and beside the tool's own ranking."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import cache
from typing import Any

from logan.knowledge import faults
from logan.knowledge.faults import Fault
from logan.knowledge.folders import Folders
from logan.knowledge.training import Training
from logan.store.lessons import GOOD_ENGINE

NOTHING = "Nothing is wrong"
HAND_BACK = ""
"""The next check of somebody who holds the engine for good."""


@cache
def catalogue(folders: Folders = ()) -> dict[str, Fault]:
    """The faults of the catalogue by name, read once."""
    return faults.load(folders=folders).faults


@cache
def titles(folders: Folders = ()) -> dict[str, str]:
    """What an answer can name: every fault by its title, and that nothing is wrong."""
    return {GOOD_ENGINE: NOTHING, **{fault.id: fault.title for fault in catalogue(folders).values()}}


def minutes(rules: Training, seen: Sequence[str]) -> float:
    """What the views that were asked for cost together."""
    return sum(view.minutes for view in rules.view if view.id in seen)


def would_find(fault: str, check: str, folders: Folders = ()) -> bool:
    """Whether a check of the catalogue finds a fault more often than not."""
    if fault == GOOD_ENGINE:
        return check == HAND_BACK
    return any(
        one.text == check and (one.finds if entry.id == fault else one.also.get(fault, 0.0)) >= 0.5
        for entry in catalogue(folders).values()
        for one in entry.checks
    )


def score(
    rules: Training,
    truth: str,
    ranking: Sequence[str],
    check: str,
    seen: Sequence[str],
    offered: Sequence[str],
    folders: Folders = (),
) -> dict[str, Any]:
    """Points of each part and their sum.

    Parameters
    ----------
    truth : the true fault
    ranking : up to three faults, the likeliest first
    check : text of the next check
    seen : views that were asked for
    offered : views that this record has, which all together are the most that could be spent
    """
    places = dict(zip(ranking, (rules.score.first, rules.score.second, rules.score.third), strict=False))
    named = places.get(truth, 0.0)
    most = minutes(rules, offered)
    left = 1.0 - minutes(rules, seen) / most if most and ranking[:1] == [truth] else 0.0
    parts = {
        "ranking": named,
        "check": rules.score.check if would_find(truth, check, folders) else 0.0,
        "time": round(rules.score.time * left, 1),
    }
    return {**parts, "sum": round(sum(parts.values()), 1)}


def of_the_tool(result: Mapping[str, Any], truth: str) -> tuple[int | None, float]:
    """Place and probability that the tool itself gave the truth; no place where it does not list it."""
    if truth == GOOD_ENGINE:
        place = 1 + sum(fault["probability"] > result["no_fault"] for fault in result["faults"])
        return place, float(result["no_fault"])
    for place, fault in enumerate(result["faults"], 1):
        if fault["fault"] == truth:
            return place, float(fault["probability"])
    return None, 0.0
