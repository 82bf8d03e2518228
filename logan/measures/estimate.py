"""From a statistic to a measure."""

from __future__ import annotations

import numpy as np

from logan.dsp.stats import Estimate
from logan.model.measure import Measure, Provenance


def from_estimate(
    name: str, unit: str, found: Estimate, systematic: float, n: int, origin: Provenance,
    notes: list[str] | None = None, floor: float = -np.inf,
) -> Measure:  # fmt: skip
    """A measure whose interval joins that of the statistic, which may be lopsided, with a systematic part."""
    extra = 1.96 * systematic
    return Measure(
        name=name, unit=unit, value=found.value,
        low=max(float(found.value - np.hypot(found.value - found.low, extra)), floor),
        high=float(found.value + np.hypot(found.high - found.value, extra)),
        n=n, provenance=origin, statistical=found.sd, systematic=systematic, notes=notes or [],
    )  # fmt: skip
