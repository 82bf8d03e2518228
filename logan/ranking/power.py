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
_STRIDES: Final = (1, 12, 19, 7, 26, 16, 9, 22)
"""Strides coprime to the number of draws: each sign runs through its quantiles in another order."""


def power(suspect: Suspect, prior: float, pieces: Sequence[Piece], good: Mapping[str, Good]) -> float:
    """Share of cases in which the fault, at its usual sizes, would have gained probability 0.5 in such a record.

    Every sign that was measured is given true values over the fault's whole range, read with the uncertainty that the
    record really has; draws are fixed, so the figure is the same each time. ``prior`` is the fault's probability before
    anything was measured, recent work and complaints included.
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
        groups.setdefault(piece.group, []).append(_shown(sign, good[piece.name], sd, cap)[order])
        k += 1
    if not groups:
        return 0.0
    total = np.zeros(DRAWS)
    for members in groups.values():
        ratio = np.array(members)
        total += discounted(np.minimum(ratio, 0.0)).sum(axis=0) - discounted(-np.maximum(ratio, 0.0)).sum(axis=0)
    return float(np.mean(total >= needed))


def _shown(sign: Sign, good: Good, sd: float, cap: float) -> Array:
    """Log10 likelihood ratios for true values at even quantiles of a fault, those where it does not show included."""
    sd = max(sd, LEAST_SD * good.scale)
    q = (np.arange(DRAWS) + 0.5) / DRAWS
    shows = q < sign.share
    at = np.where(shows, sign.expect.quantiles(np.minimum(q / sign.share, 1.0)), good.expect.quantiles(q))
    at = good.placed(at)
    ratio = np.log10(sign.density(at, sd, good) / good.density(at, sd))
    half = 0.5 * COVER * sd
    ratio = np.where(ratio > 0.0, good.clear(at, at - half, at + half) * ratio, ratio)
    out: Array = np.clip(ratio, -cap, cap)
    return out
