"""The verdict on a record (docs/conventions.md): supported, no fault, or too little recorded to tell."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from logan.model.finding import SPEAKS, Evidence, RankedFault, Verdict
from logan.ranking.hypotheses import Suspect
from logan.ranking.signs import Good
from logan.ranking.weigh import Piece

SUPPORTED: Final = 0.5
"""docs/conventions.md: the first fault's probability from which it is supported."""
ENOUGH: Final = 0.2
"""Share of the suspects, by prior with recent work and complaint, that a record must be able to show to tell much."""
ENOUGH_OF_WORK: Final = 0.5
"""The same among the faults that recent work puts in question: those are what the record was made for."""
IN_QUESTION: Final = 0.5
"""Part of the largest factor of a word of recent work from which that word puts a fault in question."""
HALF_CLEAR: Final = 0.25
"""Part of a reading's evidence from which a limit that its interval still reaches leaves the record undecided."""


@dataclass(frozen=True, slots=True)
class Shown:
    """One fault before anything was measured: its probability, and the power of the record to show it."""

    suspect: Suspect
    before: float
    power: float


def speaks(evidence: Sequence[Evidence]) -> bool:
    """Whether at least one measure or code speaks for the fault."""
    return any(piece.kind in ("measure", "dtc") and piece.weight > SPEAKS for piece in evidence)


def weighs(one: RankedFault) -> float:
    """What measures and codes weigh for a fault in all, where one of them speaks for it."""
    if not speaks(one.evidence):
        return 0.0
    return sum(piece.weight for piece in one.evidence if piece.kind in ("measure", "dtc"))


def verdict(
    ranked: Sequence[RankedFault],
    shown: Sequence[Shown],
    work: Sequence[str],
    pieces: Sequence[Piece],
    suspects: Sequence[Suspect],
    good: Mapping[str, Good],
    no_fault: float,
) -> Verdict:
    """Supported by docs/conventions.md; else undecided where readings, or what could be seen, leave it open.

    Undecided: faults reach the limit only together, or are together more likely than none; the reading of a fault's
    main sign lies past its limit but not beyond doubt; the record could not have shown most of what recent work, or
    most of what is usual, puts in question.
    """
    if ranked and ranked[0].probability >= SUPPORTED and speaks(ranked[0].evidence):
        return "fault_supported"
    torn = sum(one.probability for one in ranked if weighs(one) > 0.0) >= min(SUPPORTED, no_fault)
    if (
        torn
        or not shown
        or _share(shown) < ENOUGH
        or any(_share(_in_question(word, shown)) < ENOUGH_OF_WORK for word in work)
        or _on_the_limit(pieces, suspects, good)
    ):
        return "insufficient_evidence"
    return "no_fault_supported"


def _in_question(word: str, shown: Sequence[Shown]) -> list[Shown]:
    """The faults that a word of recent work raises most."""
    factor = [one.suspect.fault.work.get(word, 1.0) for one in shown]
    most = max(factor, default=1.0)
    return [one for one, f in zip(shown, factor, strict=True) if 1.0 < f >= IN_QUESTION * most]


def _share(shown: Sequence[Shown]) -> float:
    """Share of faults, by their probabilities before, that the record could have shown."""
    before = sum(one.before for one in shown)
    return sum(one.before * one.power for one in shown) / before if before else 1.0


def _on_the_limit(pieces: Sequence[Piece], suspects: Sequence[Suspect], good: Mapping[str, Good]) -> bool:
    """Whether the main sign of some fault reads past the limit, with an interval that still reaches it."""
    for piece in pieces:
        if piece.kind != "measure":
            continue
        usual = good[piece.name]
        for k, suspect in enumerate(suspects):
            sign = suspect.signs.get(piece.name)
            reading = piece.readings.get(0, piece.readings.get(suspect.cylinder or 0))
            if sign is None or not sign.main or reading is None or piece.weight[k] <= SPEAKS:
                continue
            at = usual.scaled(reading)
            clear = usual.clear(np.array([at.value]), np.array([at.low]), np.array([at.high]))[0]
            if HALF_CLEAR <= clear < 1.0:
                return True
    return False
