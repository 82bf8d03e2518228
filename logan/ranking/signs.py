"""How each measure shows on a good engine and with each fault, bound to one engine, and what a reading then weighs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.knowledge.faults import Catalogue, Expectation, Fault, look_up, value_of
from logan.model.profile import EngineProfile
from logan.ranking.distribution import Distribution, Mixture, Steps, Within, bind, root_density, surprise
from logan.ranking.reading import COVER, Reading

Array = NDArray[np.float64]

UNFORESEEN: Final = 0.005
"""How often a reading is off for a reason that no hypothesis foresees: the floor under every density."""
CAP: Final = 2.0
"""No reading moves the odds between two hypotheses by more than this (log10)."""
LEAST_SD: Final = 1e-3
"""Least uncertainty of a reading, in parts of the measure's scale: no reading is exact."""


@dataclass(frozen=True, slots=True)
class Good:
    """A measure on a good engine; ``zone`` is where its true value lies, where that has ends.

    A measure that is a ``count`` is compared by square roots: ``scaled`` takes a reading to the scale of the densities,
    ``placed`` true values, and ``scale`` and ``zone`` are on it already.
    """

    measure: str
    group: str
    scale: float
    expect: Distribution
    zone: tuple[float, float] | None
    count: bool = False
    stands_in_for: str = ""

    @property
    def usual(self) -> Distribution:
        """What most good engines show, for words."""
        return self.expect.parts[0][1] if isinstance(self.expect, Mixture) and self.zone is not None else self.expect

    def scaled(self, reading: Reading) -> Reading:
        """A reading on the scale of the densities."""
        return reading.root() if self.count else reading

    def placed(self, true: Array) -> Array:
        """True values on the scale of the densities, (n,)."""
        return np.sqrt(np.maximum(true, 0.0)) if self.count else true

    def shown(self, expect: Distribution, x: Array, sd: float) -> Array:
        """Density of readings under a distribution of true values, (n,)."""
        return root_density(expect, x, sd) if self.count else expect.density(x, sd)

    def density(self, x: Array, sd: float) -> Array:
        """Density of readings on a good engine, (n,)."""
        return (1.0 - UNFORESEEN) * self.shown(self.expect, x, sd) + UNFORESEEN * self.unforeseen(x)

    def unforeseen(self, x: Array) -> Array:
        """Density of readings of which nothing is known, (n,)."""
        low, high = self.zone if self.zone is not None else (0.0, 0.0)
        return surprise(x, 0.5 * (low + high), self.scale)

    def facing(self, reading: Reading) -> float:
        """Standard uncertainty of a reading towards the zone of a good engine: intervals need not be symmetric."""
        if self.zone is not None and reading.value > self.zone[1]:
            return 2.0 * (reading.value - reading.low) / COVER
        if self.zone is not None and reading.value < self.zone[0]:
            return 2.0 * (reading.high - reading.value) / COVER
        return reading.sd

    def clear(self, x: Array, low: Array, high: Array) -> Array:
        """How far readings with their intervals clear the zone of a good engine, 0..1, (n,).

        1 where the whole interval lies outside, 0 where the reading itself lies inside; between them the share of the
        half interval that is past the limit, squared as in the logarithm of a normal density.
        """
        if self.zone is None:
            return np.ones(len(x))
        past = np.maximum(x - self.zone[1], self.zone[0] - x)
        half = np.where(x > self.zone[1], x - low, high - x)
        out: Array = np.square(np.clip(past / np.maximum(half, 1e-12), 0.0, 1.0))
        return out


@dataclass(frozen=True, slots=True)
class Sign:
    """How a fault shows in a measure."""

    expect: Distribution
    share: float
    main: bool

    def density(self, x: Array, sd: float, good: Good) -> Array:
        """Density of readings with the fault, (n,)."""
        return self._with_others(good.shown(self.expect, x, sd), x, sd, good)

    def rarity(self, x: Array, sd: float, good: Good) -> Array:
        """How rare the step is that explains a reading among all steps, as log10 and not negative, (n,)."""
        if not isinstance(self.expect, Steps):
            return np.zeros(len(x))
        fits = self._with_others(self.expect.nearest(x, sd), x, sd, good)
        out: Array = np.log10(np.maximum(fits / self.density(x, sd, good), 1.0))
        return out

    def _with_others(self, shown: Array, x: Array, sd: float, good: Good) -> Array:
        either = self.share * shown + (1.0 - self.share) * good.shown(good.expect, x, sd)
        return (1.0 - UNFORESEEN) * either + UNFORESEEN * good.unforeseen(x)


def good_engine(catalogue: Catalogue, profile: EngineProfile) -> dict[str, Good]:
    """Every measure that can be judged on this engine."""
    out = {}
    for name, entry in catalogue.good.items():
        expect, scale = bind(entry.expect, profile), value_of(entry.scale, profile)
        if expect is None or scale is None:
            continue
        zone = (expect.low, expect.high) if isinstance(expect, Within) else None
        if entry.count:
            scale = math.sqrt(scale)
            zone = (math.sqrt(zone[0]), math.sqrt(zone[1])) if zone is not None else None
        besides = bind(entry.besides, profile) if entry.besides is not None else None
        if entry.besides is not None and besides is not None:
            expect = Mixture(((1.0 - entry.besides.share, expect), (entry.besides.share, besides)))
        out[name] = Good(name, entry.group, scale, expect, zone, entry.count, entry.stands_in_for)
    return out


def signs(fault: Fault, profile: EngineProfile) -> tuple[dict[str, Sign], dict[str, str]]:
    """A fault's signs by measure, and for those that cannot be told the profile key that is missing."""
    found: dict[str, Sign] = {}
    lacking: dict[str, str] = {}
    for expect in fault.expect:
        if expect.unless and look_up(expect.unless, profile) is not None:
            continue
        bound = bind(expect, profile)
        if bound is not None:
            found[expect.measure] = Sign(bound, expect.share, expect.main)
        else:
            lacking[expect.measure] = _missing_key(expect, profile)
    return found, {name: key for name, key in lacking.items() if name not in found}


def weights(
    reading: Reading, good: Good, shown: list[Sign | None], share_unknown: float, cap: float, sharpness: float
) -> Array:
    """Log10 likelihood ratios of a reading against "no fault", (len(shown) + 1,): each sign, then "something else".

    A hypothesis without a sign in this measure predicts what a good engine shows. A reading whose interval reaches
    into the zone of a good engine speaks the less for a fault, see ``Good.clear``. The best explanation is at most
    ``cap`` ahead of any other.

    Which of several steps it is belongs to what is known before: against a fault that explains the reading better, that
    share counts once, although all ratios will be multiplied by ``sharpness``.
    """
    reading = good.scaled(reading)
    x = np.array([reading.value])
    sd = max(good.facing(reading), LEAST_SD * good.scale)
    usual = float(good.density(x, sd)[0])
    log_ratio = np.zeros(len(shown) + 1)
    spared = np.zeros(len(shown) + 1)
    for k, sign in enumerate(shown):
        if sign is not None:
            log_ratio[k] = math.log10(float(sign.density(x, sd, good)[0]) / usual)
            spared[k] = (1.0 - 1.0 / max(sharpness, 1.0)) * float(sign.rarity(x, sd, good)[0])
    log_ratio = np.minimum(log_ratio + spared, max(0.0, float(log_ratio.max())))
    log_ratio[-1] = math.log10(1.0 - share_unknown + share_unknown * float(good.unforeseen(x)[0]) / usual)
    clear = float(good.clear(x, np.array([reading.low]), np.array([reading.high]))[0])
    log_ratio = np.where(log_ratio > 0.0, clear * log_ratio, log_ratio)
    return capped(log_ratio, cap)


def capped(log_ratio: Array, cap: float) -> Array:
    """Ratios against "no fault" (itself 0) with nothing more than ``cap`` below the best, "no fault" included."""
    floor = max(0.0, float(log_ratio.max(initial=0.0))) - cap
    out: Array = np.maximum(log_ratio, floor) - max(0.0, floor)
    return out


def _missing_key(expect: Expectation, profile: EngineProfile) -> str:
    for field in expect.__struct_fields__:
        number = getattr(expect, field)
        key = getattr(number, "key", None)
        if key is not None and value_of(number, profile) is None:
            return str(key)
    return ""
