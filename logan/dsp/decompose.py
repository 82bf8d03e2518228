"""Robust joint regression of an error on its mechanisms, in noise that may be correlated from row to row.

All terms are fitted at once, so that one mechanism does not leak into another. Each term has a weak physical prior
about zero: a term that the rows cannot tell keeps its prior width, and that width passes honestly into the others.
The noise is white noise (with outliers) plus a wandering part with an exponential correlation; how much of each, and
how long it remembers, is averaged over a grid by restricted likelihood (Patterson and Thompson 1971, from memory).
The wandering part has a tridiagonal precision, so a fit costs time in proportion to the number of rows.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Sequence
from typing import Final, NamedTuple

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp.robust import HUBER_C, mad_sigma

_SHARES: Final = (0.1, 0.25, 0.45, 0.65, 0.85, 0.95, 0.99)
_TIMES: Final = 6
_QUIET_CHANCE: Final = 0.4  # prior chance that nothing wanders

Array = NDArray[np.float64]
Noise = tuple[float, float, float]
HOPELESS: Final = 12.0
"""Log evidence by which a kind of noise may fall short of the best and still be tried once more."""


@dataclasses.dataclass(frozen=True, slots=True)
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
    hat : (p, n) how each row moves each coefficient, for uncertainties that rows share
    """

    value: Array
    noise: Array
    prior: Array
    df: float
    noise_sd: float
    wander_share: float
    wander_time_s: float
    residual: Array
    hat: Array

    def at(self, point: Array) -> tuple[float, float, float]:
        """Value of a linear function of the coefficients, its noise and its prior standard uncertainty."""
        return (
            float(point @ self.value),
            max(float(point @ self.noise @ point), 0.0) ** 0.5,
            max(float(point @ self.prior @ point), 0.0) ** 0.5,
        )

    def shared(self, value: Array, step: float, sd: float) -> Array:
        """Standard uncertainty of each coefficient, (p,), for an error that rows share whose ``value`` is of one step.

        Parameters
        ----------
        value : (n,) what the rows are told apart by
        step : width of a step of it; 0 where all rows share the error
        sd : standard uncertainty of that error
        """
        level = np.unique(np.round(value / step) if step > 0.0 else np.zeros(len(value)), return_inverse=True)[1]
        together = np.array([np.bincount(level, row) for row in self.hat])
        out: Array = sd * np.linalg.norm(together, axis=1)
        return out

    def quantile(self) -> float:
        """Factor from standard uncertainty to the half-width of a 95 % interval (Student's t)."""
        return student_95(self.df)


def student_95(df: float) -> float:
    """The 97.5 % point of Student's t."""
    return float(scipy.special.stdtrit(max(df, 1.0), 0.975))


def decompose(
    y: Array, t_s: Array, shapes: Sequence[tuple[float, Array]], prior_sd: Array, *, rounds: int = 3
) -> Decomposition:
    """Fit ``y = X b + noise`` for one or several candidate designs and average over them.

    Parameters
    ----------
    y : (n,) the error, one value a row
    t_s : (n,) time of the rows, s, ascending; where it goes back, a series of its own begins, whose noise has nothing
        to do with that of the one before
    shapes : candidate designs, each with its prior weight and its (n, p) columns, of the same meaning column by column
    prior_sd : (p,) standard deviation of each coefficient's prior about zero, inf for none
    rounds : how often outliers are weighed anew

    Raises
    ------
    ValueError : fewer rows than columns without a prior
    """
    if len(y) <= np.count_nonzero(np.isinf(prior_sd)):
        raise ValueError("fewer rows than terms without a prior")
    precision = np.diag(1.0 / np.square(prior_sd))
    first = shapes[0][1]
    start = np.linalg.pinv(first.T @ first + precision * np.var(y), hermitian=True) @ (first.T @ y)
    white = y - first @ start
    spread_2 = mad_sigma(white) ** 2 or 1e-12
    noises = _noises(t_s)
    for _ in range(rounds):
        fit, white, noises = _average(y, t_s, _huber_weight(white), shapes, precision * spread_2, noises)
        spread_2 = max(fit.noise_sd**2, 1e-18)
    return dataclasses.replace(fit, noise=fit.noise * _huber_factor(white))


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


class _Candidate(NamedTuple):
    """One design in one kind of noise: its log evidence, its fit, and what the fit was made with."""

    evidence: float
    value: Array
    noise: Array
    prior: Array
    free: float
    variance: float
    share: float
    time_s: float
    columns: Array
    hat: Array


def _average(
    y: Array, t_s: Array, weight: Array, shapes: Sequence[tuple[float, Array]], penalty: Array,
    noises: list[Noise],
) -> tuple[Decomposition, Array, list[Noise]]:  # fmt: skip
    """Every design in every kind of noise, averaged by evidence; the white part of the noise, (n,); noises that count.

    Weighing outliers anew hardly moves the evidence: noises far below the best need not be tried again.
    """
    tried = [(noise, _candidates(y, t_s, weight, shapes, penalty, *noise)) for noise in noises]
    found = [candidate for _, candidates in tried for candidate in candidates]
    evidence = np.array([c.evidence for c in found])
    chance = np.exp(evidence - evidence.max())
    chance /= chance.sum()
    value = chance @ np.array([c.value for c in found])
    apart = np.array([c.value for c in found]) - value
    best = found[int(np.argmax(evidence))]
    residual = y - best.columns @ best.value
    whitened, _ = _whiten(residual[:, None], t_s, weight, best.share, best.time_s)
    fit = Decomposition(
        value=value,
        noise=np.tensordot(chance, np.array([c.noise for c in found]), 1) + (chance[:, None] * apart).T @ apart,
        prior=np.tensordot(chance, np.array([c.prior for c in found]), 1),
        df=float(chance @ [c.free for c in found]),
        noise_sd=float(chance @ [c.variance for c in found]) ** 0.5,
        wander_share=float(chance @ [c.share for c in found]),
        wander_time_s=best.time_s,
        residual=residual,
        hat=best.hat.T,
    )
    likely = [noise for noise, fits in tried if max(c.evidence for c in fits) > evidence.max() - HOPELESS]
    return fit, (1.0 - best.share) / weight * whitened[:, 0], likely


def _noises(t_s: Array) -> list[Noise]:
    """Kinds of noise tried: share that wanders, its correlation time in s, and the prior chance."""
    step = float(np.median(np.diff(t_s))) if len(t_s) > 1 else 1.0
    times = np.geomspace(1.5 * step, max(0.25 * float(np.ptp(t_s)), 3.0 * step), _TIMES).tolist()
    chance = (1.0 - _QUIET_CHANCE) / (len(_SHARES) * _TIMES)
    return [(0.0, times[0], _QUIET_CHANCE), *((share, time_s, chance) for share in _SHARES for time_s in times)]


def _candidates(
    y: Array, t_s: Array, weight: Array, shapes: Sequence[tuple[float, Array]], penalty: Array,
    share: float, time_s: float, chance: float,
) -> list[_Candidate]:  # fmt: skip
    """Generalised least squares of every design in one kind of noise."""
    n, p, count = len(y), penalty.shape[0], len(shapes)
    design = np.array([columns for _, columns in shapes])
    solved, logdet = _whiten(np.column_stack([*design, y]), t_s, weight, share, time_s)
    through = np.moveaxis(solved[:, :-1].reshape(n, count, p), 1, 0)
    gram = np.einsum("knp,knq->kpq", design, through)
    inverse = np.linalg.pinv(gram + penalty, hermitian=True)
    value = np.einsum("kpq,knq,n->kp", inverse, through, y, optimize=True)
    free = np.maximum(n - np.einsum("kpq,kqp->k", inverse, gram), 1.0)
    explained = np.einsum("kp,knp,n->k", value, design, solved[:, -1], optimize=True)
    variance = np.maximum(float(y @ solved[:, -1]) - explained, 1e-300) / free
    # room for the terms counts as that of the first design for all: they are told apart by how well they fit
    size = np.linalg.eigvalsh(gram[0] + penalty)
    occam = float(np.log(np.maximum(size, 1e-14 * max(size[-1], 1e-300))).sum())
    belief = np.log([belief * chance for belief, _ in shapes])
    evidence = belief - 0.5 * (logdet + occam + free * np.log(variance * free))
    noise = variance[:, None, None] * (inverse @ gram @ inverse)
    prior = variance[:, None, None] * (inverse @ penalty @ inverse)
    return [
        _Candidate(
            float(evidence[k]), value[k], noise[k], prior[k], float(free[k]), float(variance[k]), share, time_s,
            design[k], through[k] @ inverse[k],
        )
        for k in range(count)
    ]  # fmt: skip


def _whiten(z: Array, t_s: Array, weight: Array, share: float, time_s: float) -> tuple[Array, float]:
    """``K^-1 z`` and ``log det K`` for unit-variance noise: white ``(1 - share) / weight`` plus ``share`` wandering."""
    white = (1.0 - share) / weight
    if share == 0.0:
        return z / white[:, None], float(np.log(white).sum())
    steps = np.diff(t_s)
    steps = np.where(steps < 0.0, np.inf, np.maximum(steps, 1e-6)) / time_s
    r = np.exp(-steps)
    gain = 1.0 / -np.expm1(-2.0 * steps)
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


def _huber_weight(residual: Array) -> Array:
    scale = mad_sigma(residual)
    if scale == 0.0:
        return np.ones(len(residual))
    u = np.abs(residual - np.median(residual)) / scale
    return np.minimum(1.0, HUBER_C / np.maximum(u, 1e-12))


def _huber_factor(residual: Array) -> float:
    """True over apparent variance of a Huber fit: the apparent one counts clipped rows as if they were quiet."""
    scale = mad_sigma(residual)
    if scale == 0.0:
        return 1.0
    u = np.abs(residual) / scale
    w = np.minimum(1.0, HUBER_C / np.maximum(u, 1e-12))
    inside = max(float(np.mean(u < HUBER_C)), 0.1)
    psi_2 = float(np.mean(np.square(w * u)))
    return psi_2 / inside**2 / (float(np.mean(w * u**2)) / float(np.mean(w)))
