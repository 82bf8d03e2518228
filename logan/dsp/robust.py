"""Robust location and regression: Huber's estimator with a covariance that allows for dependent neighbours."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

HUBER_C: Final = 1.345
"""Huber's constant: 95 % efficiency on Gaussian noise (Huber 1964, from memory)."""
MAD_TO_SD: Final = 0.6745
_ROUNDS: Final = 60


@dataclass(frozen=True, slots=True)
class HuberFit:
    """Robust regression.

    Parameters
    ----------
    coefficients : (p,) in the units of y over those of the columns
    covariance : (p, p) sandwich covariance, over blocks where they were given; infinite where as many blocks as columns
        leave nothing to tell it from
    scale : robust standard deviation of the residuals, unit of y
    weights : (n,) weight of each row, 0..1; below 1 for outliers
    freedom : degrees of freedom of the covariance
    """

    coefficients: Array
    covariance: Array
    scale: float
    weights: Array
    freedom: float


def mad_sigma(x: Array) -> float:
    """Standard deviation of normal noise with the same median absolute deviation."""
    return float(np.median(np.abs(x - np.median(x)))) / MAD_TO_SD


def huber_fit(columns: Array, y: Array, block: NDArray[np.int64] | None = None) -> HuberFit:
    """Regression by iteratively reweighted least squares (Huber 1964; c = 1.345 for 95 % efficiency on normal noise).

    Parameters
    ----------
    columns : (n, p) design
    y : (n,) finite
    block : (n,) label of the stretch each row belongs to; rows of one stretch may depend on each other

    Raises
    ------
    ValueError : fewer rows than columns
    """
    n, p = columns.shape
    if n < p:
        raise ValueError("fewer rows than columns")
    weights = np.ones(n)
    b: Array = np.linalg.lstsq(columns, y, rcond=None)[0].astype(float)
    scale = 0.0
    for _ in range(_ROUNDS):
        residual = y - columns @ b
        scale = float(np.median(np.abs(residual))) / MAD_TO_SD
        size = np.abs(residual) / max(scale, 1e-12)
        weights = HUBER_C / np.maximum(size, HUBER_C)
        root = np.sqrt(weights)
        before = b
        b = np.linalg.lstsq(columns * root[:, None], y * root, rcond=None)[0].astype(float)
        if np.max(np.abs(columns @ (b - before))) <= 1e-9 * max(scale, 1e-12):
            break
    residual = y - columns @ b
    bread = np.linalg.pinv((columns * (np.abs(residual) <= HUBER_C * max(scale, 1e-12))[:, None]).T @ columns)
    score = columns * (weights * residual)[:, None]
    groups = n
    if block is not None:
        _, label = np.unique(block, return_inverse=True)
        groups = int(label.max()) + 1
        score = np.array([np.bincount(label, column, groups) for column in score.T]).T
    freedom = max(groups - p, 1)
    covariance = bread @ (score.T @ score) @ bread * groups / freedom if groups > p else np.full((p, p), np.inf)
    return HuberFit(b, covariance, scale, weights, float(freedom))
