"""A comparison of drives: differences of measures, what became of the faults, trends over several drives."""

from __future__ import annotations

from typing import Literal

import msgspec

Outcome = Literal["better", "worse", "changed", "same", "cannot_tell"]
Fate = Literal["cleared", "still_there", "new", "cannot_tell"]
Success = Literal["worked", "worked_in_part", "not_worked", "not_shown"]


class Reference(msgspec.Struct, frozen=True, kw_only=True):
    """Where a measure ought to lie: within ``limit`` of ``centre`` (``about``), not ``over`` or not ``under`` it."""

    kind: Literal["about", "over", "under"]
    centre: float = 0.0
    limit: float | None = None


class Value(msgspec.Struct, frozen=True, kw_only=True):
    """One number of one drive with its 95 % interval and the standard uncertainties of its two parts."""

    value: float
    low: float
    high: float
    statistical: float | None = None
    systematic: float | None = None


class Difference(msgspec.Struct, frozen=True, kw_only=True):
    """After minus before of one number.

    ``low``..``high`` is the 95 % interval of the difference; ``p`` the two-sided probability of such a difference by
    chance and ``p_adjusted`` the same with all comparisons taken into account. ``matters`` is the change from which
    it matters in practice. ``shared`` is the correlation of the systematic parts that was used.
    """

    measure: str
    unit: str
    before: Value
    after: Value
    difference: float
    low: float
    high: float
    outcome: Outcome
    p: float
    p_adjusted: float
    cylinder: int | None = None
    matters: float | None = None
    reference: Reference | None = None
    beyond_before: bool = False
    beyond_after: bool = False
    shared: float = 0.0
    why: str = ""


class NotComparable(msgspec.Struct, frozen=True, kw_only=True):
    """A measure that stands on one side at least, and why it was not compared."""

    measure: str
    why: str


class FaultChange(msgspec.Struct, frozen=True, kw_only=True):
    """What became of one fault; probabilities and power are those of the two rankings."""

    fault: str
    title: str
    fate: Fate
    before: float
    after: float
    power: float | None
    why: str
    cylinder: int | None = None


class Trend(msgspec.Struct, frozen=True, kw_only=True):
    """One number over several drives.

    ``slope`` is in ``unit`` per ``per`` with its 95 % interval. ``steps`` are the drives (0 = first) with which the
    level changes. ``passed``: the last drive lies beyond the limit already. ``reaches`` is when the limit would be
    reached, counted like ``at``, with its earliest and latest.
    """

    measure: str
    unit: str
    per: str
    at: list[float]
    values: list[float]
    lows: list[float]
    highs: list[float]
    slope: float
    low: float
    high: float
    p: float
    p_adjusted: float
    shown: bool
    cylinder: int | None = None
    steps: list[int] = []
    towards_limit: bool | None = None
    passed: bool = False
    reaches: tuple[float, float, float] | None = None


class Comparison(msgspec.Struct, frozen=True, kw_only=True):
    """The whole comparison of the first drive with the last, with the trend over all of them."""

    success: Success
    sentence: str
    differences: list[Difference]
    not_comparable: list[NotComparable]
    faults: list[FaultChange]
    trends: list[Trend]
    remarks: list[str]
    by_chance: float
