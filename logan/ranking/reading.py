"""Measures as readings: one number with its standard uncertainty, whatever the measure's shape."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.measure import Measure

COVER: Final = 2.0 * 1.959964
"""Width of a 95 % interval in standard uncertainties of a normal distribution."""
MEDIAN_COST: Final = 1.2533
"""Standard error of a median against that of a mean, normal samples: sqrt(pi / 2)."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Reading:
    """One number of a measure: value, standard uncertainty and 95 % interval."""

    value: float
    sd: float
    low: float
    high: float

    def root(self) -> Reading:
        """The square root of a count: its scatter is then the same whatever its size (Bartlett 1936, from memory)."""
        low, value, high = (float(np.sqrt(max(x, 0.0))) for x in (self.low, self.value, self.high))
        return Reading(value, (high - low) / COVER, low, high)


def reading(measure: Measure) -> Reading | None:
    """A single-valued measure; None where it is a list or no finite number."""
    if isinstance(measure.value, list) or isinstance(measure.low, list) or isinstance(measure.high, list):
        return None
    value, low, high = float(measure.value), float(measure.low), float(measure.high)
    if not np.isfinite([value, low, high]).all():
        return None
    return Reading(value, abs(high - low) / COVER, min(low, value), max(high, value))


def by_cylinder(measure: Measure) -> dict[int, Reading]:
    """A list by cylinder: each cylinder's value minus the median of the others.

    Comparing with the others makes both scales (0 = mean, 100 = best) read alike, and keeps one bad
    cylinder from shifting the good ones. What decides is how far a cylinder may be on the side of the others: a scale
    that is known badly stretches what stands apart, but never brings it back to them.
    """
    value, low, high = (np.atleast_1d(np.array(x, float)) for x in (measure.value, measure.low, measure.high))
    good = np.isfinite(value) & np.isfinite(low) & np.isfinite(high)
    upper, lower = np.abs(high - value), np.abs(value - low)
    out: dict[int, Reading] = {}
    for k in np.flatnonzero(good).tolist():
        others = good.copy()
        others[k] = False
        if not others.any():
            continue
        apart = float(value[k] - np.median(value[others]))
        # only what brings the two nearer counts: an interval that is open to the far side takes nothing back
        own, theirs = (upper[k], lower[others]) if apart < 0.0 else (lower[k], upper[others])
        shared = MEDIAN_COST * float(np.sqrt(np.mean(np.square(theirs)) / np.count_nonzero(others)))
        width = float(np.hypot(own, shared))
        out[k + 1] = Reading(apart, 2.0 * width / COVER, apart - width, apart + width)
    return out
