"""Distributions of the true value of a measure, and how likely an uncertain reading is under them.

A reading ``x`` with standard uncertainty ``s`` has density ``p(x) = integral N(x; theta, s) p(theta) dtheta``: the
distribution blurred by the reading's own uncertainty, here in closed form for every kind.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Protocol

import numpy as np
from numpy.typing import NDArray

from logan.knowledge import faults as catalogue
from logan.knowledge.faults import value_of
from logan.model.profile import EngineProfile

Array = NDArray[np.float64]

ROOT_DRAWS: Final = 256
_ROOT_2: Final = math.sqrt(2.0)
_LOG_ROOT_TAU: Final = 0.5 * math.log(2.0 * math.pi)
_TAILS: Final = ((0.6, 1.0), (0.3, 4.0), (0.1, 16.0))
"""Beyond a limit: shares and lengths of the exponentials that together make a long tail (a judgement)."""
_PAST: Final = np.concatenate([[0.0], np.geomspace(1e-3, 200.0, 200)])
_NEARER: Final = 1.0 - sum(share * np.exp(-_PAST / length) for share, length in _TAILS)
_Z: Final = np.linspace(-4.0, 4.0, 161)
_BELOW_Z: Final = np.array([0.5 * math.erfc(-z / _ROOT_2) for z in _Z])


class Distribution(Protocol):
    """A distribution of true values."""

    def density(self, x: Array, s: float) -> Array:
        """Density of readings, (n,), where each is uncertain by the standard deviation ``s``."""
        ...

    def quantiles(self, q: Array) -> Array:
        """True values below which shares ``q`` lie, (n,)."""
        ...


def normal_density(x: Array, s: float) -> Array:
    """Density of N(0, s)."""
    out: Array = np.exp(-0.5 * np.square(x / s) - _LOG_ROOT_TAU) / s
    return out


def normal_below(z: Array) -> Array:
    """Share of N(0, 1) below ``z``."""
    return np.array([0.5 * math.erfc(-v / _ROOT_2) for v in z.ravel().tolist()]).reshape(z.shape)


def normal_quantiles(q: Array) -> Array:
    """Inverse of ``normal_below`` within +-4, to 0.001."""
    out: Array = np.interp(q, _BELOW_Z, _Z)
    return out


@dataclass(frozen=True, slots=True)
class Normal:
    """Around ``at`` with standard deviation ``spread``."""

    at: float
    spread: float

    def density(self, x: Array, s: float) -> Array:
        """A normal density, wider by the reading's uncertainty."""
        return normal_density(x - self.at, math.hypot(s, self.spread))

    def quantiles(self, q: Array) -> Array:
        """Of the normal distribution."""
        return self.at + self.spread * normal_quantiles(q)


@dataclass(frozen=True, slots=True)
class Within:
    """Anywhere from ``low`` to ``high``, ends blurred by ``soft``."""

    low: float
    high: float
    soft: float

    def density(self, x: Array, s: float) -> Array:
        """A box blurred on both ends."""
        blur = max(math.hypot(s, self.soft), 1e-9 * (self.high - self.low))
        return (normal_below((self.high - x) / blur) - normal_below((self.low - x) / blur)) / (self.high - self.low)

    def quantiles(self, q: Array) -> Array:
        """Of the box, blur left out."""
        return self.low + (self.high - self.low) * q


@dataclass(frozen=True, slots=True)
class Beyond:
    """Past ``limit``: a mixture of exponentials, so far values stay possible."""

    limit: float
    scale: float
    sign: int

    def density(self, x: Array, s: float) -> Array:
        """Exponentially modified normal densities, one a length of tail."""
        past = self.sign * (x - self.limit)
        total = np.zeros_like(past)
        for share, length in _TAILS:
            total += share * _exponential(past, s, length * self.scale)
        return total

    def quantiles(self, q: Array) -> Array:
        """By interpolation of the share that lies farther out."""
        out: Array = self.limit + self.sign * self.scale * np.interp(q, _NEARER, _PAST)
        return out


@dataclass(frozen=True, slots=True)
class Steps:
    """Whole multiples of ``step`` but not 0, up to ``most`` on either side.

    Each is as likely as two parts drawn from ``most + 1`` numbered ones are to lie so far apart.
    """

    step: float
    spread: float
    most: int

    def _multiples(self) -> tuple[Array, Array]:
        n = np.concatenate([np.arange(-self.most, 0), np.arange(1, self.most + 1)]).astype(np.float64)
        weight = self.most + 1 - np.abs(n)
        return n * self.step, weight / weight.sum()

    def _each(self, x: Array, s: float) -> Array:
        return normal_density(x[:, None] - self._multiples()[0][None, :], math.hypot(s, self.spread))

    def density(self, x: Array, s: float) -> Array:
        """A comb of normal densities."""
        out: Array = self._each(x, s) @ self._multiples()[1]
        return out

    def nearest(self, x: Array, s: float) -> Array:
        """Density of readings as if the multiple that fits each best were the only one."""
        out: Array = self._each(x, s).max(axis=1)
        return out

    def quantiles(self, q: Array) -> Array:
        """One of the multiples, spread left out."""
        at, weight = self._multiples()
        return at[np.minimum(np.searchsorted(np.cumsum(weight), q), len(at) - 1)]


@dataclass(frozen=True, slots=True)
class Mixture:
    """One of several distributions, with shares that add to 1."""

    parts: tuple[tuple[float, Distribution], ...]

    def density(self, x: Array, s: float) -> Array:
        """The shares' sum."""
        out: Array = np.sum([share * part.density(x, s) for share, part in self.parts], axis=0)
        return out

    def quantiles(self, q: Array) -> Array:
        """Quantiles of the part that a share ``q`` falls into; not in ascending order over all parts."""
        out = np.empty_like(q)
        start = 0.0
        for share, part in self.parts:
            inside = (q >= start) & (q <= start + share)
            out[inside] = part.quantiles((q[inside] - start) / share)
            start += share
        return out


def root_density(expect: Distribution, x: Array, s: float) -> Array:
    """Density of square roots of readings, (n,), each uncertain by ``s``: a sum over quantiles of the true value."""
    q = (np.arange(ROOT_DRAWS) + 0.5) / ROOT_DRAWS
    at = np.sqrt(np.maximum(expect.quantiles(q), 0.0))
    out: Array = normal_density(x[:, None] - at[None, :], s).mean(axis=1)
    return out


def surprise(x: Array, centre: float, scale: float) -> Array:
    """Density of readings that nobody foresees: a Cauchy distribution, never zero."""
    out: Array = scale / (np.pi * (scale**2 + np.square(x - centre)))
    return out


def bind(expect: catalogue.Expectation, profile: EngineProfile) -> Distribution | None:
    """The distribution for one engine; None where its profile lacks a key that the expectation needs."""
    if isinstance(expect, catalogue.Normal):
        at, spread = value_of(expect.at, profile), value_of(expect.spread, profile)
        return None if at is None or spread is None else Normal(at, spread)
    if isinstance(expect, catalogue.Within):
        ends = value_of(expect.low, profile), value_of(expect.high, profile), value_of(expect.soft, profile)
        return None if ends[0] is None or ends[1] is None or ends[2] is None else Within(ends[0], ends[1], ends[2])
    if isinstance(expect, catalogue.Steps):
        step, spread = value_of(expect.step, profile), value_of(expect.spread, profile)
        return None if step is None or spread is None else Steps(step, spread, expect.most)
    limit, scale = value_of(expect.limit, profile), value_of(expect.scale, profile)
    if limit is None or scale is None:
        return None
    if expect.side == "both":
        return Mixture(((0.5, Beyond(-limit, scale, -1)), (0.5, Beyond(limit, scale, 1))))
    return Beyond(limit, scale, 1 if expect.side == "above" else -1)


def _exponential(past: Array, s: float, length: float) -> Array:
    """Density of an exponential with mean ``length`` from 0 on, blurred by N(0, s); logarithms hold the tails."""
    if s < 1e-6 * length:
        return np.where(past >= 0.0, np.exp(-np.maximum(past, 0.0) / length), 0.0) / length
    reach, ratio = past / s, s / length
    out: Array = np.exp([_log_blurred(v, ratio) for v in reach.tolist()]) / length
    return out


def _log_blurred(reach: float, ratio: float) -> float:
    """Logarithm of ``exp(ratio^2 / 2 - reach ratio) Phi(reach - ratio)``; by Mills' ratio where erfc underflows."""
    z = reach - ratio
    if z > -30.0:
        return 0.5 * ratio * ratio - reach * ratio + math.log(0.5 * math.erfc(-z / _ROOT_2))
    return -0.5 * reach * reach - _LOG_ROOT_TAU - math.log(-z) + math.log1p(-1.0 / (z * z))
