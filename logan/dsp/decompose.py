"""Robust joint regression of an error on its mechanisms, in noise that may be correlated from row to row.

All terms are fitted at once, so that one mechanism does not leak into another. Each term has a weak physical prior
about zero: a term that the rows cannot tell keeps its prior width, and that width passes honestly into the others.
The noise is white noise (with outliers) plus a wandering part with an exponential correlation; how much of each, and
how long it remembers, is averaged over a grid by restricted likelihood (Patterson and Thompson 1971, from memory).
The wandering part has a tridiagonal precision, so a fit costs time in proportion to the number of rows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

HUBER_C: Final = 1.345
"""Huber's constant: 95 % efficiency on Gaussian noise (Huber 1964, from memory)."""
MAD_TO_SD: Final = 0.6745
_SHARES: Final = (0.0, 0.1, 0.25, 0.45, 0.65, 0.85, 0.95, 0.99)
_QUIET_CHANCE: Final = 0.25  # prior chance that nothing wanders
_ROUNDS: Final = 3

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Decomposition:
    """Coefficients with the two parts of their covariance.

    Parameters
    ----------
    value : (p,) coefficients, in the units of y over those of the columns
    noise : (p, p) covariance that comes from the noise
    prior : (p, p) covariance that comes from the priors: what the rows could not tell
    df : degrees of freedom of the noise
    noise_sd : standard deviation of a row, wandering part included
    wander_share : share of the variance that wanders, 0..1
    wander_time_s : correlation time of that part, s
    residual : (n,) rows minus fit
    """

    value: Array
    noise: Array
    prior: Array
    df: float
    noise_sd: float
    wander_share: float
    wander_time_s: float
    residual: Array

    def at(self, point: Array) -> tuple[float, float, float]:
        """Value of a linear function of the coefficients, its noise and its prior standard uncertainty."""
        return (
            float(point @ self.value),
            max(float(point @ self.noise @ point), 0.0) ** 0.5,
            max(float(point @ self.prior @ point), 0.0) ** 0.5,
        )

    def quantile(self) -> float:
        """Factor from standard uncertainty to the half-width of a 95 % interval (Student's t)."""
        return student_95(self.df)


def student_95(df: float) -> float:
    """The 97.5 % point of Student's t."""
    return float(scipy.special.stdtrit(max(df, 1.0), 0.975))


def decompose(
    y: Array, t_s: Array, shapes: Sequence[tuple[float, Array]], prior_sd: Array, size: Array | None = None
) -> Decomposition:
    """Fit ``y = X b + noise`` for one or several candidate designs and average over them.

    Parameters
    ----------
    y : (n,) the error, one value a row
    t_s : (n,) time of the rows, s, ascending
    shapes : candidate designs, each with its prior weight and its (n, p) columns, of the same meaning column by column
    prior_sd : (p,) standard deviation of each coefficient's prior about zero, inf for none
    size : (n,) how many independent values stand behind a row, relative; None for equal rows

    Raises
    ------
    ValueError : fewer rows than columns without a prior
    """
    n = len(y)
    precision = np.diag(1.0 / np.square(prior_sd))
    if n <= np.count_nonzero(np.isinf(prior_sd)):
        raise ValueError("fewer rows than terms without a prior")
    base = np.ones(n) if size is None else size / np.mean(size)
    designs = [columns for _, columns in shapes]
    stack = np.column_stack([*designs, y])
    weight = base.copy()
    residual = y - designs[0] @ _ridge(designs[0], y, weight, precision * np.var(y))
    weight = base * _huber_weight(residual)
    spread_2 = _scale(residual) ** 2 or 1e-12
    outcome = None
    for _ in range(_ROUNDS):
        outcome = _average(stack, t_s, weight, designs, [share for share, _ in shapes], precision * spread_2)
        white = outcome.white
        weight = base * _huber_weight(white * np.sqrt(base))
        spread_2 = max(outcome.fit.noise_sd**2, 1e-18)
    assert outcome is not None
    factor = _huber_factor(outcome.white * np.sqrt(base))
    fit = outcome.fit
    return Decomposition(
        fit.value,
        fit.noise * factor,
        fit.prior,
        fit.df,
        fit.noise_sd,
        fit.wander_share,
        fit.wander_time_s,
        fit.residual,
    )


def inflation(columns: Array) -> Array:
    """Variance inflation factor of each column against all others and a constant, (p,).

    1 = on its own; above 5 to 10 the term is hardly separable (common practice, no source).
    """
    n, p = columns.shape
    out = np.ones(p)
    for j in range(p):
        x = columns[:, j] - columns[:, j].mean()
        others = np.column_stack([np.ones(n), np.delete(columns, j, axis=1)])
        rest = x - others @ np.linalg.lstsq(others, x, rcond=None)[0]
        total = float(x @ x)
        out[j] = total / max(float(rest @ rest), 1e-15 * total) if total > 0 else np.inf
    return out


@dataclass(frozen=True, slots=True)
class _Outcome:
    fit: Decomposition
    white: Array


def _average(
    stack: Array, t_s: Array, weight: Array, designs: list[Array], shares: list[float], penalty: Array
) -> _Outcome:
    """Every design in every kind of noise, weighed by restricted likelihood and averaged."""
    n, p = designs[0].shape
    y = stack[:, -1]
    length = max(float(t_s[-1] - t_s[0]), 1e-9)
    step = float(np.median(np.diff(t_s))) if n > 1 else 1.0
    times = np.geomspace(1.5 * step, max(length / 2.0, 3.0 * step), 6)
    wander = (1.0 - _QUIET_CHANCE) / ((len(_SHARES) - 1) * len(times))
    found = []
    for share in _SHARES:
        for time in times if share else times[:1]:
            solved, logdet = _whiten(stack, t_s, weight, share, time)
            y_y = float(y @ solved[:, -1])
            occam = 0.0
            for k, columns in enumerate(designs):
                gram = columns.T @ solved[:, k * p : (k + 1) * p]
                right = columns.T @ solved[:, -1]
                whole = gram + penalty
                inverse = np.linalg.pinv(whole, hermitian=True)
                b = inverse @ right
                free = max(n - float(np.trace(inverse @ gram)), 1.0)
                rest = max(y_y - float(right @ b), 1e-300)
                if k == 0:
                    occam = float(np.linalg.slogdet(whole)[1])
                prior_log = np.log(shares[k] * (wander if share else _QUIET_CHANCE))
                evidence = prior_log - 0.5 * (logdet + occam + free * np.log(rest))
                s2 = rest / free
                shared = s2 * inverse
                parts = (shared @ gram @ inverse, shared @ penalty @ inverse)
                found.append((evidence, share, time, k, b, *parts, free, s2))
    evidence = np.array([f[0] for f in found])
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    b_all = np.array([f[4] for f in found])
    mean = chance @ b_all
    apart = b_all - mean
    noise = np.einsum("g,gij->ij", chance, np.array([f[5] for f in found])) + (chance[:, None] * apart).T @ apart
    prior = np.einsum("g,gij->ij", chance, np.array([f[6] for f in found]))
    best = found[int(np.argmax(evidence))]
    columns = designs[best[3]]
    residual = y - columns @ best[4]
    solved, _ = _whiten(residual[:, None], t_s, weight, best[1], best[2])
    white = (1.0 - best[1]) / weight * solved[:, 0]
    fit = Decomposition(
        mean, noise, prior, float(chance @ [f[7] for f in found]), float(np.sqrt(chance @ [f[8] for f in found])),
        float(chance @ [f[1] for f in found]), float(best[2]), residual,
    )  # fmt: skip
    return _Outcome(fit, white)


def _whiten(z: Array, t_s: Array, weight: Array, share: float, time_s: float) -> tuple[Array, float]:
    """``K^-1 z`` and ``log det K`` for unit-variance noise: white ``(1 - share) / weight`` plus ``share`` wandering."""
    white = (1.0 - share) / weight
    if share == 0.0:
        return z / white[:, None], float(np.log(white).sum())
    r = np.exp(-np.maximum(np.diff(t_s), 1e-6) / time_s)
    gain = 1.0 / -np.expm1(2.0 * np.log(r))
    diagonal = np.ones(len(t_s))
    diagonal[1:] += r**2 * gain
    diagonal[:-1] += r**2 * gain
    banded = np.zeros((2, len(t_s)))
    banded[1] = diagonal / share + 1.0 / white
    banded[0, 1:] = -r * gain / share
    factor = scipy.linalg.cholesky_banded(banded)
    scaled = z / white[:, None]
    solved = scaled - scipy.linalg.cho_solve_banded((factor, False), scaled) / white[:, None]
    logdet_precision = float(np.log(gain).sum()) - len(t_s) * np.log(share)
    return solved, 2.0 * float(np.log(factor[1]).sum()) - logdet_precision + float(np.log(white).sum())


def _ridge(columns: Array, y: Array, weight: Array, penalty: Array) -> Array:
    gram = columns.T @ (columns * weight[:, None]) + penalty
    out: Array = np.linalg.pinv(gram, hermitian=True) @ (columns.T @ (weight * y))
    return out


def _scale(x: Array) -> float:
    """Robust standard deviation about the median."""
    return float(np.median(np.abs(x - np.median(x)))) / MAD_TO_SD


def _huber_weight(residual: Array) -> Array:
    scale = _scale(residual)
    if scale == 0.0:
        return np.ones(len(residual))
    u = np.abs(residual - np.median(residual)) / scale
    return np.minimum(1.0, HUBER_C / np.maximum(u, 1e-12))


def _huber_factor(residual: Array) -> float:
    """True over apparent variance of a Huber fit: the apparent one counts clipped rows as if they were quiet."""
    scale = _scale(residual)
    if scale == 0.0:
        return 1.0
    u = np.abs(residual) / scale
    w = np.minimum(1.0, HUBER_C / np.maximum(u, 1e-12))
    inside = max(float(np.mean(u < HUBER_C)), 0.1)
    psi_2 = float(np.mean(np.square(w * u)))
    return psi_2 / inside**2 / (float(np.mean(w * u**2)) / float(np.mean(w)))
