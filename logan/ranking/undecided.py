"""Measures past their limit whose interval reaches back within it: what was asked, and is not decided."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

from logan.knowledge.limits import LIMITS, judged, value_of
from logan.knowledge.measures import MeasureInfo
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.ranking.words import number, title

MOST: Final = 2
PAST: Final = 0.5
"""Half-widths of its interval that a measure must be past its limit: one that is about at it says nothing."""
_LIMIT: Final = {"about": "± ", "over": "at most ", "under": "at least "}


def sentences(
    measures: Sequence[Measure], profile: EngineProfile, info: dict[str, MeasureInfo], told: Collection[str] = ()
) -> list[str]:
    """One sentence a measure of one number, and what would decide it; ``told`` are measures of which more is said."""
    out = []
    for one in measures:
        limit = LIMITS.get(one.name)
        bound = None if limit is None else value_of(profile, limit)
        if limit is None or bound is None or one.name in told:
            continue
        if not isinstance(one.value, float | int) or isinstance(one.low, list) or isinstance(one.high, list):
            continue
        if judged(limit, bound, one.value, one.value) != "beyond" or judged(limit, bound, one.low, one.high) != "open":
            continue
        if _past(limit.kind, one.value, bound) < PAST * 0.5 * (one.high - one.low):
            continue
        value, least, most = (number(v, one.name, info) for v in (one.value, bound, one.high))
        low = number(one.low, one.name, info, unit=False)
        side = info[one.name].side(one.low, one.high) if one.name in info else ""
        past = f"past its limit ({_LIMIT[limit.kind]}{least})"
        out.append(
            f"{title(one.name, info)} is {value}{side}, {past}, but its interval, {low} to {most}, reaches back within "
            "it: not decided."
        )
        hint = info[one.name].hint if one.name in info else ""
        if hint:
            out[-1] += f" To decide it: {hint[0].lower()}{hint[1:]}"
    return out[:MOST]


def _past(kind: str, value: float, bound: float) -> float:
    """How far a value is past its limit."""
    return {"about": abs(value), "over": value, "under": -value}[kind] - (-bound if kind == "under" else bound)
