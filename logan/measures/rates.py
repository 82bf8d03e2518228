"""Rates of events with their interval."""

from __future__ import annotations

import numpy as np
import scipy

from logan.model.measure import Measure, Provenance


def poisson_rate(
    name: str, count: int, doubtful: int, revolutions: float, origin: Provenance, notes: list[str],
    sure: int | None = None,
) -> Measure:  # fmt: skip
    """Events per 1000 turns with the interval of Jeffreys, which covers 95 % on average over rates.

    The exact interval (Garwood 1936) covers 98 % and more at small counts (Brown, Cai, DasGupta 2003, from memory).
    ``doubtful`` further ones widen it upwards; where only ``sure`` ones of the count are beyond doubt, downwards.
    """
    per = 1000.0 / max(revolutions, 1e-9)
    least = count if sure is None else sure
    low = float(scipy.special.gammaincinv(least + 0.5, 0.025)) if least else 0.0
    high = float(scipy.special.gammaincinv(count + doubtful + 0.5, 0.975))
    return Measure(
        name=name, value=count * per, unit="1/1000 rev", low=low * per, high=high * per, n=round(revolutions),
        provenance=origin, statistical=float(np.sqrt(max(count, 1))) * per,
        systematic=(doubtful + count - least) * per, notes=notes,
    )  # fmt: skip
