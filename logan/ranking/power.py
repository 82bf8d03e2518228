"""What a record could have shown: how probable it is that a fault, were it there, would have been supported."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.ranking.hypotheses import Suspect
from logan.ranking.reading import COVER
from logan.ranking.signs import CAP, LEAST_SD, Good, Sign
from logan.ranking.weigh import Piece, discounted

Array = NDArray[np.float64]

DRAWS: Final = 31
FINE: Final = 620
SMALL: Final = 0.2
"""The fifth of a fault's sizes that is nearest to a good engine: just past the limit, the smallest that matter."""
_STRIDES: Final = (1, 12, 19, 7, 26, 16, 9, 22)
"""Strides coprime to the number of draws: each sign runs through its quantiles in another order."""


def power(
    suspect: Suspect, prior: float, pieces: Sequence[Piece], good: Mapping[str, Good], sharpness: float,
    smallest: float = 1.0,
) -> float:  # fmt: skip
    """Share of cases in which the fault would have gained probability 0.5 in such a record.

    Every sign that was measured is given true values over the fault's whole range, read with the uncertainty that the
    record really has; draws are fixed, so the figure is the same each time.

    Parameters
    ----------
    prior : the fault's probability before anything was measured, recent work and complaints included
    sharpness : what the weights of measures are multiplied by, as in the ranking
    smallest : 1 for the usual sizes; less for that share of them which lies nearest to what a good engine shows
    """
    needed = math.log10((1.0 - prior) / prior)
    groups: dict[str, list[Array]] = {}
    k = 0
    for piece in pieces:
        sign = suspect.signs.get(piece.name) if piece.kind == "measure" else None
        if sign is None or not piece.readings:
            continue
        cap = CAP + math.log10(len(piece.readings))
        order = (np.arange(DRAWS) * _STRIDES[k % len(_STRIDES)] + 5 * k) % DRAWS
        sd = float(np.median([good[piece.name].scaled(one).sd for one in piece.readings.values()]))
        groups.setdefault(piece.group, []).append(_shown(sign, good[piece.name], sd, cap, smallest)[order])
        k += 1
    if not groups:
        return 0.0
    total = np.zeros(DRAWS)
    for members in groups.values():
        ratio = np.array(members)
        total += discounted(np.minimum(ratio, 0.0)).sum(axis=0) - discounted(-np.maximum(ratio, 0.0)).sum(axis=0)
    return float(np.mean(sharpness * total >= needed))


def _sizes(sign: Sign, good: Good, q: Array, smallest: float) -> Array:
    """True values of a fault at shares ``q`` of its sizes, (n,), or of the share that lies nearest to a good engine."""
    if smallest >= 1.0:
        return sign.expect.quantiles(q)
    every = sign.expect.quantiles((np.arange(FINE) + 0.5) / FINE)
    middle = float(np.median(good.placed(good.expect.quantiles((np.arange(DRAWS) + 0.5) / DRAWS))))
    near = every[np.argsort(np.abs(good.placed(every) - middle), kind="stable")]
    out: Array = near[np.minimum((q * smallest * FINE).astype(np.int64), FINE - 1)]
    return out


def _shown(sign: Sign, good: Good, sd: float, cap: float, smallest: float) -> Array:
    """Log10 likelihood ratios for true values at even quantiles of a fault, those where it does not show included."""
    sd = max(sd, LEAST_SD * good.scale)
    q = (np.arange(DRAWS) + 0.5) / DRAWS
    shows = q < sign.share
    at = np.where(shows, _sizes(sign, good, np.minimum(q / sign.share, 1.0), smallest), good.expect.quantiles(q))
    at = good.placed(at)
    ratio = np.log10(sign.density(at, sd, good) / good.density(at, sd))
    half = 0.5 * COVER * sd
    ratio = np.where(ratio > 0.0, good.clear(at, at - half, at + half) * ratio, ratio)
    out: Array = np.clip(ratio, -cap, cap)
    return out
