"""Measures that are one number from one record, under two names: one piece of evidence."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from logan.knowledge.measures import MeasureInfo
from logan.model.measure import Measure
from logan.ranking import words
from logan.ranking.signs import Good


def once(
    measures: Sequence[Measure], good: Mapping[str, Good], info: dict[str, MeasureInfo]
) -> tuple[list[Measure], dict[str, str]]:
    """Measures as they count, and for each that says again what another one says, the reason why it does not.

    The same number is one of the same symptom, from the same files, channels and spans, of the same size and interval:
    the pump's phase by its own sensor is the timing error where the bus gives none, but for the sign. The one that
    stands first on the page of the good engine holds, so that one quantity is not judged by two limits.
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
    return [m for m in measures if m.name not in why], why


def _same(first: Measure, second: Measure, good: Mapping[str, Good]) -> bool:
    """Whether two measures are one number, up to its sign."""
    if good[first.name].group != good[second.name].group or first.unit != second.unit:
        return False
    if first.provenance != second.provenance or not first.provenance.files:
        return False
    mine, other = (np.abs(np.hstack([m.value, m.low, m.high])) for m in (first, second))
    return len(mine) == len(other) and bool(np.array_equal(np.sort(mine), np.sort(other)))
