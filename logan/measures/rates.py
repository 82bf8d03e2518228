"""Rates of events with their interval."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.model.measure import Measure, Provenance

IN_ONE_GO: Final = 3  # edges: two side by side come by chance
LISTED: Final = 3


def poisson_rate(
    name: str, count: int, doubtful: int, revolutions: float, origin: Provenance, notes: list[str],
    sure: int | None = None, events: Sequence[int] | None = None,
) -> Measure:  # fmt: skip
    """Edges per 1000 turns with the interval of Jeffreys, which covers 95 % on average over rates.

    The exact interval (Garwood 1936) covers 98 % and more at small counts (Brown, Cai, DasGupta 2003, from memory).
    ``doubtful`` further ones widen it upwards; where only ``sure`` ones of the count are beyond doubt, downwards.

    Edges that were lost in one go are one event: the count is then a compound Poisson one, and is taken as a scaled
    Poisson count of the same mean and variance (Bohm and Zech 2014, from memory). The largest event of several edges
    tells nothing of what comes again, so the lower bound is that of the others.

    Parameters
    ----------
    events : edges of each event, in all ``count``; each by itself where it is not given
    """
    per = 1000.0 / max(revolutions, 1e-9)
    least = count if sure is None else sure
    sizes = np.sort(np.ones(count) if events is None else np.asarray(events, float))
    low = _least(sizes[:-1] if len(sizes) and sizes[-1] > 1.0 else sizes, least)
    # as if the largest had come twice: few events show too little of how large they may be
    scale = _scale(np.append(sizes, sizes[-1:]))
    high = scale * float(scipy.special.gammaincinv(count / scale + doubtful + 0.5, 0.975))
    return Measure(
        name=name, value=count * per, unit="1/1000 rev", low=low * per, high=high * per, n=round(revolutions),
        provenance=origin, statistical=float(np.sqrt(max(np.sum(np.square(sizes)), 1.0))) * per,
        systematic=(doubtful + count - least) * per, notes=notes,
    )  # fmt: skip


def in_one_go(begin_s: Sequence[float], edges: Sequence[int]) -> list[str]:
    """A note on the events in which several edges were lost one after the other, the largest ones with their place."""
    large = sorted(((n, s) for n, s in zip(edges, begin_s, strict=True) if n >= IN_ONE_GO), reverse=True)
    if not large:
        return []
    listed = ", ".join(f"{n} from {s:.2f} s on" for n, s in large[:LISTED])
    more = f" and {len(large) - LISTED} more such events" if len(large) > LISTED else ""
    return [
        f"edges lost in one go: {listed}{more}; each is one event, and a single one may be a plug, a clip or the "
        "recorder that was touched: the interval is that of events"
    ]


def _scale(sizes: NDArray[np.float64]) -> float:
    """Edges that vary as one event does: 1 where each was lost by itself."""
    return float(np.sum(np.square(sizes)) / np.sum(sizes)) if len(sizes) else 1.0


def _least(sizes: NDArray[np.float64], sure: int) -> float:
    """Lower bound of the edges of events, smallest first, of which so many are sure.

    It holds for the small ones alone as for all: a few large events do not take back what many small ones show.
    """
    best = 0.0
    for k in np.flatnonzero(np.diff(sizes, append=np.inf)) + 1:
        scale, edges = _scale(sizes[:k]), min(float(np.sum(sizes[:k])), float(sure))
        if edges > 0.0:
            best = max(best, scale * float(scipy.special.gammaincinv(edges / scale + 0.5, 0.025)))
    return best
