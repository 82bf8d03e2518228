"""The smallest error that planned readings would show, before anything is recorded.

An error counts as shown where the 95 % interval of its measure leaves zero (or, for a spread, its usual value); the
smallest error is the one for which that happens in 80 % of recordings. ``half`` below is the half-width that the
measure would state and ``scatter`` how its value would scatter, so the smallest error is ``half + 0.84 scatter``.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import scipy
from numpy.typing import NDArray

from logan.dsp import spectrum, swing
from logan.dsp.decompose import decompose, student_95
from logan.units import DEG_PER_RPM_S

Z_95: Final = 1.959964
POWER: Final = 0.80
Z_POWER: Final = 0.841621
DRAWS: Final = 24
"""Fixed draws of white noise on which the joint regression is tried."""
TOLD: Final = 0.09
"""A term is not told where so much of its prior's variance is left (as the measures: 0.3 of the standard deviation)."""
SETTLES: Final = 0.5
"""Share of the prior drawn towards zero up to which the smallest value is stated."""
SWINGS: Final = 20
"""Fixed draws on which the search for a swing is tried."""
FEWEST_IN_PIECE: Final = 12
"""Values in a piece below which no swing is looked for."""
RAISED: Final = (1.0, 1.1, 1.2, 1.35, 1.5, 1.75, 2.0, 3.0)
"""By how much the amplitude of the formula is raised until the search finds it: few values tell noise badly."""
TERMS: Final = ("static", "delay", "drift", "load", "hysteresis")

Array = NDArray[np.float64]


def rows(stretches: Sequence[tuple[float, float, float]], step_s: float) -> tuple[Array, Array]:
    """Times (n,) in s and columns (n, 5) of ``TERMS`` for stretches of (rpm, load %, seconds), a row a ``step_s``.

    The last column is half the side from which the command came, -1/2 from below: timing is advanced with speed and
    load, so a stretch is reached from below where its speed, or at the same speed its load, is higher than before.
    """
    counts = [max(int(seconds / step_s), 0) for _, _, seconds in stretches]
    starts = np.cumsum([0.0, *(seconds for _, _, seconds in stretches)])[:-1]
    t_s = np.concatenate([start + step_s * np.arange(n) for start, n in zip(starts, counts, strict=True)])
    speed = np.repeat([speed for speed, _, _ in stretches], counts)
    load = np.repeat([load for _, load, _ in stretches], counts)
    moved = [0.0, *(np.sign(b[0] - a[0] or b[1] - a[1]) for a, b in itertools.pairwise(stretches))]
    side = -0.5 * np.repeat(moved, counts)
    return t_s, np.column_stack([np.ones(len(t_s)), -DEG_PER_RPM_S * 1e-3 * speed, t_s / 60.0, load / 100.0, side])


def bound(columns: Array, row_sd: float, prior_sd: Array) -> tuple[Array, Array]:
    """Cramer-Rao bound with weak priors: standard uncertainty of each term, (p,), and the share drawn to zero, (p,).

    The covariance is ``C = (X' X / s^2 + P)^-1``; a prior of precision ``P`` draws an estimate towards zero by ``C P``.
    """
    prior = 1.0 / np.square(prior_sd)
    covariance = np.diag(np.linalg.pinv(columns.T @ columns / row_sd**2 + np.diag(prior), hermitian=True))
    return np.sqrt(covariance), covariance * prior


def joint(t_s: Array, columns: Array, row_sd: float, prior_sd: Array, fixed: Array) -> Array:
    """Smallest value of each term of the joint regression, (p,); inf where the rows do not tell it.

    The regression (``dsp.decompose``) allows for noise that wanders and for outliers, which costs the more the fewer
    the rows, and differs from record to record. So it is made on fixed draws of white noise on these rows. A term of
    size ``v`` moves its estimate by ``v`` less what the prior draws to zero, and is shown where that passes the stated
    half-width: the mean half-width plus 0.84 times the scatter of estimate and half-width together.

    Parameters
    ----------
    t_s, columns : (n,) s and (n, p)
    row_sd : scatter of a row
    prior_sd : (p,) standard deviation of each term's prior
    fixed : (p,) what no averaging removes, standard uncertainty
    """
    drawn = bound(columns, row_sd, prior_sd)[1]
    noise = np.random.default_rng(1).standard_normal((DRAWS, len(t_s)))
    noise *= row_sd / np.std(noise, axis=1, keepdims=True)  # how the scatter itself scatters is added below
    fits = [decompose(row, t_s, [(1.0, columns)], prior_sd, rounds=1) for row in noise]
    own = np.array([fit.quantile() * np.sqrt(np.diag(fit.noise + fit.prior)) for fit in fits])
    half = np.hypot(own, Z_95 * fixed)
    uneven = np.var(half, axis=0) + np.mean(own, axis=0) ** 2 / (2.0 * len(t_s))
    scatter = np.sqrt(np.mean(np.square([fit.value for fit in fits]), axis=0) + fixed**2 + uneven)
    usual = half.mean(axis=0) + np.sqrt(uneven / DRAWS)  # and a standard error: few draws may have been lucky
    size = (usual + Z_POWER * scatter) / (1.0 - np.minimum(drawn, SETTLES))
    out: Array = np.where(drawn < TOLD, size, np.inf)
    return out


def level(reading_sd: float, n: float, fixed: float) -> float:
    """Smallest shift of a mean: standard error of ``n`` independent readings, Student's factor as ``dsp.stats``."""
    noise = reading_sd / math.sqrt(n)
    return math.hypot(student_95(n - 1.0) * noise, Z_95 * fixed) + Z_POWER * math.hypot(noise, fixed)


def spread(sd: float, n: float, fixed: float) -> float:
    """Smallest growth of a standard deviation: its standard error is ``s / sqrt(2 (n - 1))`` (textbook)."""
    return (Z_95 + Z_POWER) * math.hypot(sd / math.sqrt(2.0 * max(n - 1.0, 1.0)), fixed)


def extremes(sd: float, n: float, fixed: float) -> float:
    """Smallest growth of highest minus lowest of ``n`` normal values.

    Each extreme scatters by ``pi / sqrt(6)`` times ``s / sqrt(2 ln n)`` (Gumbel's law; from memory).
    """
    one = math.pi / math.sqrt(6.0) * sd / math.sqrt(2.0 * math.log(max(n, 3.0)))
    return (Z_95 + Z_POWER) * math.hypot(math.sqrt(2.0) * one, fixed)


def interval(period_s: float, fixed: float) -> float:
    """Smallest time between two events, each known to within a sampling period (uniform: period / sqrt(12))."""
    return (Z_95 + Z_POWER) * math.hypot(math.sqrt(2.0) * period_s / math.sqrt(12.0), fixed)


def count(usual_per_1000: float, revolutions: float) -> float:
    """Smallest rate of events per 1000 turns whose interval begins above the usual one in 80 % of recordings.

    Poisson; the interval is that of Jeffreys, as the measure states it, so the least count that clears the usual rate
    is known, and the rate that reaches it in 80 % of recordings follows from the incomplete gamma function.
    """
    per = 1000.0 / revolutions
    k = 1
    while float(scipy.special.gammaincinv(k + 0.5, 0.025)) * per <= usual_per_1000:
        k += 1
    return float(scipy.special.gammaincinv(k, POWER)) * per


def share(n: float) -> float:
    """Smallest share of ``n`` independent instants whose interval, ``1.96 sqrt(p q / n) + 1 / n``, leaves zero, or inf.

    Binomial standard error (textbook).
    """
    p = np.linspace(1e-4, 1.0, 10_000)
    seen = p - (Z_95 + Z_POWER) * np.sqrt(p * (1.0 - p) / n) - 1.0 / n > 0.0
    return float(p[np.argmax(seen)]) if seen.any() else math.inf


def hunting(sd: float, period_s: float, seconds: float, piece_s: float, band_hz: tuple[float, float],
          significant: float) -> float:  # fmt: skip
    """Smallest amplitude of a swing that stands out of white noise anywhere in a band; inf with too few values.

    The share of the variance that noise explains with the chance ``significant`` by ``dsp.spectrum`` (Baluev 2008); a
    swing of amplitude A adds ``n A^2 / (2 s^2)`` to a chi-square of two degrees of freedom a piece, which in proportion
    to the rest passes that height in 80 % (noncentral F). Noise that remembers has to be told from it too: the
    amplitude is raised until ``dsp.swing`` finds it on fixed draws.
    """
    pieces = max(math.ceil(seconds / piece_s - 1e-9), 1)
    n = int(seconds / period_s)
    if n < FEWEST_IN_PIECE * pieces:
        return math.inf
    length_s = seconds / pieces
    t_s = np.linspace(0.0, length_s, max(n // pieces, 2))
    low, high = band_hz[0], max(min(band_hz[1], 0.49 / period_s), 1.5 * band_hz[0])
    turns = spectrum.width(t_s, high - low)

    def too_likely(explained: float) -> float:
        return spectrum.false_alarm(explained, n, turns, pieces) - significant

    if too_likely(0.99) > 0.0:
        return math.inf
    explained = float(scipy.optimize.brentq(too_likely, 1e-6, 0.99))
    ratio = (n / pieces - 3.0) / 2.0 * explained / (1.0 - explained)
    added = float(scipy.special.ncfdtrinc(2 * pieces, n - 3 * pieces, 1.0 - POWER, ratio))
    formula = sd * math.sqrt(2.0 * added / n)
    for size in (formula * more for more in RAISED):
        if _swings(size, sd, t_s, pieces, (low, high), significant):
            return size
    return math.inf


def _swings(
    amplitude: float, sd: float, t_s: Array, pieces: int, band_hz: tuple[float, float], significant: float
) -> bool:
    """Whether ``dsp.swing`` finds a swing of this amplitude in 80 % of fixed draws, anywhere well within a band."""
    random = np.random.default_rng(1)
    found = 0
    for _ in range(SWINGS):
        turn = 2.0 * np.pi * (random.uniform(band_hz[0] + 0.02, 0.9 * band_hz[1]) * t_s + random.uniform())
        parts = [random.normal(0.0, sd, len(t_s)) + amplitude * np.sin(turn) for _ in range(pieces)]
        gap_s = 2.0 * float(t_s[-1])
        stretches = swing.pieces_of([swing.Stretch(k * gap_s + t_s, part) for k, part in enumerate(parts)])
        found += swing.strongest_swing(stretches).chance <= significant
    return found >= POWER * SWINGS


def lag(reading_sd: float, period_s: float, moves: int, move_deg: float, fixed: float) -> float:
    """Smallest time constant with which a value follows steps of its command, s; inf where none is told.

    Cramer-Rao: one step of size A leaves ``A exp(-t / tau)``; readings of scatter s every p seconds from a random phase
    carry the information ``A^2 / (4 s^2 p tau)`` about tau. A tenth of tau is left open, as the measure does.
    """
    tau = np.geomspace(0.01, 10.0, 600)
    noise = 2.0 * reading_sd / move_deg * np.sqrt(period_s * tau / max(moves, 1))
    sampling = 0.1 * period_s / math.sqrt(max(moves, 1))
    fixed_sd = np.sqrt(fixed**2 + sampling**2 + np.square(0.1 * tau))
    seen = tau > Z_95 * np.hypot(noise, fixed_sd) + Z_POWER * np.hypot(noise, np.hypot(fixed, sampling))
    return float(tau[np.argmax(seen)]) if moves and seen.any() else math.inf


def ripple(speed_rpm: Array, turns: Array, turn_sd: float, teeth_sd: float) -> float:
    """Smallest run-out told from a torque that falls with the square of speed, by the size of a vector of two parts.

    ``speed_rpm`` and ``turns``, (k,), are the planned speeds and the turns at each; least squares on
    ``1, (800 / N)^2`` as ``dsp.runout``. The size is freed of twice the variance, so it must pass
    ``sqrt(1.96^2 + 2)`` standard uncertainties.
    """
    swing_share = np.square(800.0 / speed_rpm)
    design = np.column_stack([np.ones(len(speed_rpm)), swing_share])
    covariance = np.linalg.pinv(design.T @ (design * turns[:, None]), hermitian=True)
    sd = math.hypot(turn_sd * math.sqrt(float(covariance[0, 0])), teeth_sd)
    return (math.sqrt(Z_95**2 + 2.0) + Z_POWER) * sd
