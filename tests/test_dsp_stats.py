"""Intervals of dependent samples: coverage by seeded simulation, and textbook precision of a standard deviation."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from numpy.typing import NDArray

from logan.dsp import stats

Array = NDArray[np.float64]
RUNS = 300


def remembering(rng: np.random.Generator, runs: int, n: int, rho: float) -> Array:
    """AR(1) noise of variance 1, (runs, n)."""
    e = rng.standard_normal((runs, n))
    out = np.empty_like(e)
    out[:, 0] = e[:, 0]
    for k in range(1, n):
        out[:, k] = rho * out[:, k - 1] + np.sqrt(1.0 - rho * rho) * e[:, k]
    return out


def share_covered(estimates: list[stats.Estimate], truth: float) -> float:
    return float(np.mean([e.low <= truth <= e.high for e in estimates]))


@pytest.mark.parametrize(("n", "rho"), [(60, 0.0), (300, 0.0), (300, 0.5), (300, 0.8), (1200, 0.95)])
def test_intervals_cover(n: int, rho: float) -> None:
    """95 % intervals hold 92 to 98 % where ten and more independent samples stand behind them.

    Those of the spread hold a little more on purpose: their degrees of freedom are held down where neighbours depend.
    """
    data = remembering(np.random.default_rng(11), RUNS, n, rho)
    assert 0.92 <= share_covered([stats.mean(x) for x in data], 0.0) <= 0.985
    assert 0.92 <= share_covered([stats.spread(x) for x in data], 1.0) <= 0.99


@pytest.mark.parametrize("scale", [1.0, 4.0])
def test_intervals_cover_rounded_and_heavy_tailed(scale: float) -> None:
    """Noise unlike a normal one: Laplace, remembered, rounded to quarters (service 01 PID 0C comes in 0.25 rpm)."""
    rng = np.random.default_rng(5)
    e = rng.laplace(size=(RUNS, 403))
    data = np.round((800.0 + scale * (e[:, 3:] + e[:, 2:-1] + e[:, 1:-2] + e[:, :-3]) / 2.0) * 4.0) / 4.0
    assert 0.92 <= share_covered([stats.mean(x) for x in data], 800.0) <= 0.985
    truth = np.sqrt(2.0 * scale**2 + 0.25**2 / 12.0)
    assert 0.90 <= share_covered([stats.spread(x) for x in data], float(truth)) <= 0.99


def test_intervals_cover_a_swing_with_slow_wandering_under_it() -> None:
    """A mixture control swings at some tenths of a hertz and wanders more slowly: the swing must not hide that."""
    rng = np.random.default_rng(8)
    slow = remembering(rng, RUNS, 900, 0.97)
    swing = 3.0 * np.sin(0.25 * np.arange(900) + rng.uniform(0.0, 2.0 * np.pi, (RUNS, 1)))
    assert 0.90 <= share_covered([stats.mean(x) for x in slow + swing], 0.0) <= 0.985


@pytest.mark.parametrize(("n", "rho", "turn"), [(300, 0.97, 1.5), (240, 0.95, 0.8)])
def test_a_swing_under_a_few_wanderings_costs_no_coverage(n: int, rho: float, turn: float) -> None:
    """Short idle: the mean of swing and wandering is as sure as that of the wandering alone, whose truth is 0."""
    rng = np.random.default_rng(8)
    slow = remembering(rng, RUNS, n, rho)
    swing = 3.0 * np.sin(turn * np.arange(n) + rng.uniform(0.0, 2.0 * np.pi, (RUNS, 1)))
    alone = share_covered([stats.mean(x) for x in slow], 0.0)
    assert share_covered([stats.mean(x) for x in slow + swing], 0.0) > alone - 0.03 > 0.87


def test_rounding_of_a_mean() -> None:
    """A value that stands still keeps its rounding, step / sqrt(12) (textbook); one that scatters loses it."""
    rng = np.random.default_rng(4)
    assert stats.rounding(0.8, np.full(50, 1.6)) == pytest.approx(0.8 / np.sqrt(12.0))
    levels = rng.uniform(-1.0, 1.0, 400)
    for scatter in (0.2, 0.3, 0.4):
        data = np.round(levels[:, None] + scatter * rng.standard_normal((400, 8000)))
        left = float(np.std(data.mean(axis=1) - levels))
        stated = float(np.sqrt(np.mean([stats.rounding(1.0, row) ** 2 for row in data])))
        assert left < 1.1 * stated + 0.006, scatter  # 0.006: the scatter of a mean of so many
        assert stated < 1.0 / np.sqrt(12.0)
    assert stats.rounding(1.0, np.round(rng.standard_normal(4000))) < 1e-6


def test_effective_size_of_remembered_noise() -> None:
    """n (1 - rho) / (1 + rho) for the mean of AR(1) noise (Bartlett 1946, from memory)."""
    data = remembering(np.random.default_rng(2), 40, 2000, 0.8)
    assert np.mean([stats.effective_size(x) for x in data]) == pytest.approx(2000 * 0.2 / 1.8, rel=0.1)


def test_precision_of_a_standard_deviation() -> None:
    """51 independent values give it to 10 %: 1 / sqrt(2 (n - 1)) (textbook)."""
    rng = np.random.default_rng(3)
    sds = [stats.spread(rng.standard_normal(51)).sd for _ in range(200)]
    assert np.median(sds) == pytest.approx(0.1, abs=0.015)


def test_a_regular_swing_is_known_better_than_noise() -> None:
    t = np.arange(0.0, 60.0, 0.1)
    found = stats.spread(20.0 * np.sin(2.0 * np.pi * 0.6 * t))
    assert found.value == pytest.approx(20.0 / np.sqrt(2.0), rel=0.01)
    assert found.high - found.low < 5.0
    assert stats.mean(20.0 * np.sin(2.0 * np.pi * 0.6 * t)).low <= 0.0 <= stats.mean(t * 0.0).high


def test_constant_and_short_series() -> None:
    assert stats.mean(np.full(50, 800.0)).low == stats.mean(np.full(50, 800.0)).high == 800.0
    assert stats.spread(np.full(50, 800.0)).high == 0.0
    assert stats.mean(np.array([1.0, 2.0, 3.0])).value == 2.0


def test_a_value_between_two_bounds_misses_at_one_end_only() -> None:
    """Bounds that fall together give the two-sided factor, far apart the one-sided one (Imbens and Manski 2004)."""
    assert stats.end_factor(0.0) == pytest.approx(scipy.stats.norm.ppf(0.975), abs=1e-6)
    assert stats.end_factor(50.0) == pytest.approx(scipy.stats.norm.ppf(0.95), abs=1e-6)
    factor = stats.end_factor(1.0)
    for truth in (0.0, 1.0):  # at either bound the interval misses in 5 % of the records
        inside = scipy.stats.norm.cdf(truth + factor) - scipy.stats.norm.cdf(truth - 1.0 - factor)
        assert inside == pytest.approx(0.95, abs=1e-6)
