"""How one fault is told from those that look alike, computed from what each predicts on one engine."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.knowledge.faults import Catalogue, Fault, fits, look_up
from logan.knowledge.measures import MeasureInfo
from logan.model.explanation import Difference, Neighbour, ShownSign
from logan.model.profile import EngineProfile
from logan.ranking import words
from logan.ranking.signs import Good, Sign, good_engine, signs

TELLS: Final = 0.5
"""Overlap of two predictions below which a measure tells two faults apart (a judgement)."""
MOST: Final = 5
_READING_SD: Final = 0.02
"""Uncertainty of a usual reading in parts of the measure's scale (a judgement)."""
_STEPS: Final = 4001
_WIDE: Final = 6.0


def shown(fault: Fault, catalogue: Catalogue, profile: EngineProfile, info: dict[str, MeasureInfo]) -> list[ShownSign]:
    """A fault's signs on an engine in words, the main ones first, then the surest."""
    good = good_engine(catalogue, profile)
    found, _ = signs(fault, profile)
    sources = {
        expect.measure: expect.source
        for expect in fault.expect
        if not expect.unless or look_up(expect.unless, profile) is None
    }
    out = [
        ShownSign(
            name,
            words.title(name, info),
            words.expected(sign.expect, name, info),
            words.expected(good[name].usual, name, info),
            sign.share,
            sign.main,
            sources[name],
        )
        for name, sign in found.items()
        if name in good
    ]
    return sorted(out, key=lambda sign: (not sign.main, -sign.share))


def neighbours(
    fault: Fault, catalogue: Catalogue, profile: EngineProfile, info: dict[str, MeasureInfo]
) -> list[Neighbour]:
    """Faults that share a symptom by which one of them is known, or that a check may confirm too; the likest first."""
    good = good_engine(catalogue, profile)
    own, _ = signs(fault, profile)
    near: list[tuple[float, Neighbour]] = []
    for other in catalogue.faults.values():
        if other.id == fault.id or not fits(other, profile):
            continue
        theirs, _ = signs(other, profile)
        if not _alike(own, theirs, good) and not any(other.id in check.also for check in fault.checks):
            continue
        found: list[tuple[float, Difference]] = []
        for name in dict.fromkeys((*own, *theirs)):
            if name in good:
                overlap = _overlap(own.get(name), theirs.get(name), good[name])
                mine, their = (side[name].expect if name in side else good[name].usual for side in (own, theirs))
                here, there = (words.beside(a, b, name, info) for a, b in ((mine, their), (their, mine)))
                if here == there:  # the same values, in more or fewer of the cases
                    here, there = (_often(text, side.get(name)) for text, side in ((here, own), (there, theirs)))
                found.append((overlap, Difference(words.title(name, info), here, there, overlap)))
        found.sort(key=lambda pair: pair[0])
        tell = tuple(one for overlap, one in found if overlap < TELLS and one.here != one.there)
        likeness = float(np.prod([max(overlap, 0.01) for overlap, _ in found]))
        near.append((likeness, Neighbour(other.id, other.title, tell)))
    near.sort(key=lambda pair: -pair[0])
    return [neighbour for _, neighbour in near[:MOST]]


def _often(text: str, sign: Sign | None) -> str:
    """A value with the share of cases in which a fault shows it."""
    return text if sign is None else f"{text} in {words.cases(sign.share)}"


def _alike(own: dict[str, Sign], theirs: dict[str, Sign], good: dict[str, Good]) -> bool:
    mine, other = (
        {good[name].group: sign.main for name, sign in sorted(side.items(), key=lambda s: s[1].main) if name in good}
        for side in (own, theirs)
    )
    return any(group in other and (main or other[group]) for group, main in mine.items())


def _overlap(own: Sign | None, theirs: Sign | None, good: Good) -> float:
    """Area that the two densities of readings share, 0..1."""
    low, high = good.zone if good.zone is not None else (0.0, 0.0)
    middle, width = 0.5 * (low + high), max(good.scale, high - low)
    x = middle + width * np.sinh(np.linspace(-_WIDE, _WIDE, _STEPS)) / np.sinh(1.0)
    sd = _READING_SD * good.scale
    mine, other = (sign.density(x, sd, good) if sign is not None else good.density(x, sd) for sign in (own, theirs))
    return float(np.clip(np.trapezoid(np.minimum(mine, other), x), 0.0, 1.0))
