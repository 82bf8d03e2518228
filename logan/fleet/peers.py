"""Each vehicle's latest numbers against those of the other vehicles of its engine family."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import msgspec
import numpy as np
import scipy
from numpy.typing import NDArray

from logan.comparison.drive import cylinder, values
from logan.comparison.statistics import Z95, adjusted
from logan.model.comparison import Value
from logan.model.fleet import FleetLog, Peer

Array = NDArray[np.float64]

FEWEST: Final = 7
"""Other vehicles below which no spread is told."""
WIDTH: Final = 9.0
"""Median absolute deviations beyond which a value weighs nothing in the spread (Mosteller and Tukey 1977)."""
FREEDOM: Final = (0.7, 4.0, 20.0)
"""Degrees of freedom that a spread of n values leaves: a share of n less so many, and at most so many.

The first two by simulation on normal values, on the careful side from seven on; the last because no fleet is normal
far out.
"""


def compare(latest: dict[str, FleetLog], families: dict[str, str], matters: dict[str, dict[str, float]]) -> list[Peer]:
    """Every number of every vehicle that has enough peers, p not yet adjusted.

    Parameters
    ----------
    latest : vehicle -> its latest good log
    families : vehicle -> its family
    matters : vehicle -> measure -> the change from which it matters
    """
    numbers: dict[tuple[str, str, int | None], list[tuple[str, Value, str]]] = {}
    for vehicle, log in latest.items():
        if vehicle not in families:
            continue
        for measure in log.measures:
            for k, value in enumerate(values(measure)):
                if np.isfinite([value.value, value.low, value.high]).all():
                    place = (families[vehicle], measure.name, cylinder(measure, k))
                    numbers.setdefault(place, []).append((vehicle, value, measure.unit))
    out = []
    for (family, name, number), rows in numbers.items():
        if len(rows) <= FEWEST:
            continue
        y = np.array([value.value for _, value, _ in rows])
        own = np.array([(value.high - value.low) / (2.0 * Z95) for _, value, _ in rows])
        for k, (vehicle, value, unit) in enumerate(rows):
            least = matters.get(vehicle, {}).get(name)
            centre, spread, z, p = against(y, own, k, least)
            out.append(
                Peer(
                    vehicle=vehicle, log=latest[vehicle].log, family=family, measure=name, unit=unit,
                    value=value.value, low=value.low, high=value.high, centre=centre, spread=spread,
                    peers=len(rows) - 1, z=z, p=p, matters=least, cylinder=number,
                )
            )  # fmt: skip
    return out


def against(y: Array, own: Array, k: int, matters: float | None = None) -> tuple[float, float, float, float]:
    """Centre and spread of all but the k-th number, how many spreads it lies off, and how likely that is by chance.

    The spread is the largest of what the others scatter, what they are uncertain by, and, where both are nothing, what
    matters; the number's own uncertainty comes on top where it is larger than theirs. Chance is by Student's
    distribution with the freedom that the robust spread leaves, as if good vehicles scatter normally.

    Parameters
    ----------
    y : (n,) one number a vehicle
    own : (n,) its standard uncertainty
    """
    others, uncertain = np.delete(y, k), float(np.median(np.delete(own, k)))
    centre, n = float(np.median(others)), len(others)
    spread = max(biweight(others), uncertain) or (matters or 0.0) / Z95
    off = float(y[k]) - centre
    if spread == 0.0:
        return centre, 0.0, 0.0, 1.0
    # The centre is itself uncertain: pi / 2n of the variance for a median.
    more = max(float(own[k]) ** 2 - uncertain**2, 0.0)
    z = off / float(np.sqrt(spread**2 * (1.0 + np.pi / (2.0 * n)) + more))
    share, less, most = FREEDOM
    p = 2.0 * float(scipy.special.stdtr(min(max(share * (n - less), 1.0), most), -abs(z)))
    return centre, spread, z, p


def biweight(x: Array) -> float:
    """Standard deviation that outliers do not move: biweight midvariance (Mosteller and Tukey 1977; Lax 1985).

    It wastes far less of the values than the median absolute deviation from which it starts.

    Parameters
    ----------
    x : (n,) finite
    """
    off = x - np.median(x)
    deviation = float(np.median(np.abs(off)))
    if deviation == 0.0:
        return 0.0
    u2 = (off / (WIDTH * deviation)) ** 2
    inside = u2 < 1.0
    off, u2 = off[inside], u2[inside]
    top = float(np.sum(off**2 * (1.0 - u2) ** 4))
    return float(np.sqrt(len(x) * top) / abs(np.sum((1.0 - u2) * (1.0 - 5.0 * u2))))


def decided(found: Sequence[Peer], rate: float) -> list[Peer]:
    """With p adjusted over the whole fleet; shown where it survives and lies off by more than matters."""
    chances = adjusted(np.array([one.p for one in found])).tolist()
    return [
        msgspec.structs.replace(
            one, p_adjusted=p, shown=p <= rate and abs(one.value - one.centre) > (one.matters or 0.0)
        )
        for one, p in zip(found, chances, strict=True)
    ]
