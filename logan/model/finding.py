"""The finding: ranked faults with their evidence, as docs/conventions.md lays them out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, Literal

import msgspec

from logan.model.measure import Measure, Missing

SUSPECT: Final = 0.05
"""Probability from which a fault is in question, where something that was read speaks for it."""
SPEAKS: Final = math.log10(1.05)
"""A weight under this speaks neither way: its factor would read 1.0."""

Verdict = Literal["fault_supported", "no_fault_supported", "insufficient_evidence"]


class Evidence(msgspec.Struct, frozen=True, kw_only=True):
    """One piece of evidence for or against a fault.

    ``kind`` is ``measure``, ``dtc``, ``work`` or ``complaint`` and ``name`` what it was; ``weight`` is the log10
    likelihood ratio that it adds for this fault (positive speaks for it); ``group`` names the symptom that correlated
    pieces share.
    """

    kind: Literal["measure", "dtc", "work", "complaint"]
    name: str
    observed: str | float | None
    expected: str | float | None
    weight: float
    text: str
    group: str = ""


class NextCheck(msgspec.Struct, frozen=True, kw_only=True):
    """What to do next: the trade's order, its cost, and what each outcome would mean.

    A ``risky`` check comes after all others, however much it would tell.
    """

    text: str
    minutes: float
    tools: list[str] = []
    outcomes: list[str] = []
    cautions: list[str] = []
    gain_bits_per_minute: float | None = None
    risky: bool = False


def best_first(check: NextCheck, first_fault: Sequence[NextCheck]) -> tuple[bool, bool, float]:
    """Key of the order in which checks are made: risky ones last, then what tells most for its time.

    The best check of the first fault goes before the others: whoever reads its name looks for what decides it.
    """
    gain = check.gain_bits_per_minute or 0.0
    best = min(first_fault, key=lambda one: (one.risky, -(one.gain_bits_per_minute or 0.0)))
    return check.risky, gain == 0.0 or best.text != check.text, -gain


class RankedFault(msgspec.Struct, frozen=True, kw_only=True):
    """One fault of the catalogue with its probability.

    ``power`` is how often the record would have shown it at its usual sizes, ``power_small`` at the smallest fifth;
    the latter is None for a fault that has but one size.
    """

    fault: str
    title: str
    probability: float
    cylinder: int | None = None
    evidence: list[Evidence] = []
    next_checks: list[NextCheck] = []
    cautions: list[str] = []
    power: float | None = None
    power_small: float | None = None


class TwoFaults(msgspec.Struct, frozen=True, kw_only=True):
    """Two faults at once; each also stands in the list of faults with its share of this probability."""

    faults: list[str]
    probability: float


class Ranking(msgspec.Struct, frozen=True, kw_only=True):
    """The outcome of ranking.

    ``blind`` lists faults that this record could not have shown, id -> why, and ``hints`` the shortest recording that
    would, id -> what to record, where a step of a planned drive does; ``together`` two faults at once, where
    that is likelier than not; ``unexplained`` what speaks for "something else" where that is likely.
    ``minutes_to_find`` is how long the suspects' checks take in their order until one finds the fault, on average.
    ``sharpness`` is the power to which likelihood ratios of measures were raised, ``code_sharpness`` that of codes.
    """

    verdict: Verdict
    faults: list[RankedFault]
    not_explained: float
    no_fault: float
    something_else: float
    unexplained: list[Evidence] = []
    blind: dict[str, str] = {}
    sentence: str = ""
    together: TwoFaults | None = None
    hints: dict[str, str] = {}
    minutes_to_find: float | None = None
    sharpness: float = 1.0
    code_sharpness: float = 1.0


class Finding(msgspec.Struct, frozen=True, kw_only=True):
    """Measures, their absences and the ranking of one record."""

    measures: list[Measure]
    missing: list[Missing]
    ranking: Ranking
