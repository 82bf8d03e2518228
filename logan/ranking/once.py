"""Measures that are one number from one record, under two names: one piece of evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from logan.knowledge.measures import MeasureInfo
from logan.model.measure import Measure
from logan.ranking import words
from logan.ranking.reading import reading
from logan.ranking.signs import Good

LOPSIDED: Final = 4.0
"""How much farther an interval reaches to one side than to the other where it holds two readings (judgement)."""


def once(
    measures: Sequence[Measure], good: Mapping[str, Good], info: dict[str, MeasureInfo]
) -> tuple[list[Measure], dict[str, str]]:
    """Measures as they count, and for each that says again what another one says, the reason why it does not.

    The same number is one of the same symptom, from the same files, channels and spans, of the same size and interval:
    the pump's phase by its own sensor is the timing error where the bus gives none, but for the sign. The one that
    stands first on the page of the good engine holds, so that one quantity is not judged by two limits.

    A measure that stands in for one that was not measured (the cam's phase at one speed, where no delay is told) holds
    what another of its symptom from the same record does; that one counts beside it only where its whole interval lies
    beyond a good engine: it then tells the faults apart. One that holds two readings, of which one is a good engine's,
    (a pump whose flank is not known) speaks neither for a fault nor against it.
    """
    place = {name: k for k, name in enumerate(good)}
    held: list[Measure] = []
    why: dict[str, str] = {}
    for one in sorted((m for m in measures if m.name in good), key=lambda m: place[m.name]):
        first = next((m for m in held if _same(m, one, good)), None)
        if first is None:
            held.append(one)
        else:
            why[one.name] = f"it is the same number from the same record as {words.title(first.name, info)}"
        if _two_ways(one, good[one.name]):
            why.setdefault(one.name, "two readings of it are possible, one of a good engine and one far beyond it")
    measured = {m.name for m in measures}
    for one in held:
        if good[one.name].stands_in_for and good[one.name].stands_in_for not in measured:
            said = f"it and {words.title(one.name, info).lower()} are one piece of evidence, which counts there"
            beside = [m for m in held if m is not one and _one_record(m, one, good)]
            why |= {m.name: said for m in beside if not _beyond(m, good[m.name])}
    return [m for m in measures if m.name not in why], why


def _two_ways(one: Measure, good: Good) -> bool:
    """Whether a reading of a good engine has an interval that reaches far out to one side alone, not by its scatter."""
    seen = reading(one)
    if seen is None or good.zone is None or good.count or not good.zone[0] < 0.0 < good.zone[1]:
        return False
    near, far = sorted((seen.value - seen.low, seen.high - seen.value))
    return (
        good.zone[0] <= seen.value <= good.zone[1]
        and far > LOPSIDED * max(near, 1e-9)
        and far > LOPSIDED * good.zone[1]
    )


def _one_record(first: Measure, second: Measure, good: Mapping[str, Good]) -> bool:
    """Whether two measures are of one symptom, in one unit and from one record."""
    alike = good[first.name].group == good[second.name].group and first.unit == second.unit
    return alike and first.provenance == second.provenance and bool(first.provenance.files)


def _beyond(one: Measure, good: Good) -> bool:
    """Whether a whole interval lies beyond what a good engine shows."""
    seen = reading(one)
    if seen is None or good.zone is None:
        return False
    at = good.scaled(seen)
    return at.low > good.zone[1] or at.high < good.zone[0]


def _same(first: Measure, second: Measure, good: Mapping[str, Good]) -> bool:
    """Whether two measures are one number, up to its sign."""
    if not _one_record(first, second, good):
        return False
    mine, other = (np.abs(np.hstack([m.value, m.low, m.high])) for m in (first, second))
    return len(mine) == len(other) and bool(np.array_equal(np.sort(mine), np.sort(other)))
