"""Statistics of a comparison, against scipy, ruptures and repeated drawing."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.comparison.statistics import adjusted, chance, correlation_of, difference, kendall, rising, trend_chance
from logan.dsp.change_points import change_points
from logan.model.comparison import Value

floats = st.floats(-1e3, 1e3)


def value(at: float, half: float, statistical: float | None = None, systematic: float | None = None) -> Value:
    return Value(value=at, low=at - half, high=at + half, statistical=statistical, systematic=systematic)


@given(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=40))
def test_false_discoveries_as_scipy(p: list[float]) -> None:
    assert adjusted(np.array(p)) == pytest.approx(scipy.stats.false_discovery_control(p, method="bh"))


@given(st.permutations(range(7)))
def test_kendall_as_scipy(order: list[int]) -> None:
    expected = scipy.stats.kendalltau(range(7), order, method="exact").pvalue
    assert kendall(np.array(order, float)) == pytest.approx(expected)


@pytest.mark.parametrize("n", [3, 4, 5, 12, 30])
def test_kendall_of_a_steady_rise(n: int) -> None:
    assert kendall(np.arange(float(n))) == pytest.approx(
        scipy.stats.kendalltau(range(n), range(n), method="exact").pvalue
    )


@given(floats, floats, st.floats(0.01, 50.0), st.floats(0.01, 50.0), st.floats(0.0, 1.0))
def test_symmetric_intervals_give_the_law_of_propagation(a: float, b: float, u: float, v: float, r: float) -> None:
    """GUM (JCGM 100:2008) 5.2.2, formula 13, for a difference."""
    change, low, high = difference(value(a, u), value(b, v), r)
    half = np.sqrt(max(u * u + v * v - 2.0 * r * u * v, 0.0))
    assert (change, low, high) == pytest.approx((b - a, b - a - half, b - a + half), abs=1e-6)


def test_chance_as_the_normal_distribution() -> None:
    _, low, high = difference(value(0.0, 1.959964), value(3.0, 1.959964))
    assert chance(3.0, low, high) == pytest.approx(2.0 * scipy.stats.norm.sf(3.0 / np.sqrt(2.0)))
    assert chance(0.0, -1.0, 1.0) == 1.0


def test_difference_of_unsymmetric_intervals_covers() -> None:
    """Standard deviations of 12 normal values with their chi-square intervals: 95 % hold the true difference."""
    rng = np.random.default_rng(5)
    n, true = 12, (3.0, 5.0)
    ends = np.sqrt((n - 1) / scipy.stats.chi2.ppf([0.975, 0.025], n - 1))
    held = 0
    for _ in range(2000):
        sd = [float(np.std(rng.normal(0.0, s, n), ddof=1)) for s in true]
        one, other = (Value(value=s, low=s * ends[0], high=s * ends[1]) for s in sd)
        _, low, high = difference(one, other)
        held += low <= true[1] - true[0] <= high
    assert 0.935 <= held / 2000 <= 0.97


def test_shared_systematic_part_cancels() -> None:
    """Two readings off by the same unknown amount, each with noise of its own: the interval of the difference holds."""
    rng = np.random.default_rng(6)
    noise, off, drawn = 0.2, 1.0, 4000
    shared = rng.normal(0.0, off, drawn)
    readings = [shared + rng.normal(0.0, noise, drawn) for _ in range(2)]
    half = 1.959964 * float(np.hypot(noise, off))
    one = value(0.0, half, noise, off)
    _, low, high = difference(one, one, correlation_of(one, one, 1.0))
    inside = np.mean((readings[1] - readings[0] >= low) & (readings[1] - readings[0] <= high))
    assert inside == pytest.approx(0.95, abs=0.012)
    assert correlation_of(one, value(0.0, half), 1.0) == 0.0
    assert correlation_of(one, one, 0.0) == 0.0


@settings(deadline=None)  # the first call imports ruptures
@given(st.lists(st.integers(-50, 50), min_size=2, max_size=25), st.floats(0.5, 500.0))
def test_change_points_cost_as_ruptures(y: list[int], penalty: float) -> None:
    ruptures = pytest.importorskip("ruptures", reason="needs ruptures: pip install ruptures")
    series = np.array(y, float)

    def cost(starts: list[int]) -> float:
        parts = np.split(series, starts)
        return sum(float(np.sum((part - part.mean()) ** 2)) for part in parts) + penalty * len(starts)

    theirs = ruptures.Pelt(model="l2", min_size=1, jump=1).fit(series).predict(pen=penalty)[:-1]
    assert cost(change_points(series, penalty)) == pytest.approx(cost(theirs), abs=1e-6)


def test_change_points_find_a_step_and_nothing_else() -> None:
    rng = np.random.default_rng(7)
    noise = rng.normal(0.0, 1.0, 60)
    penalty = 4.0 * np.log(60)
    assert change_points(noise, penalty) == []
    assert change_points(noise + 6.0 * (np.arange(60) >= 25), penalty) == [25]
    assert change_points(np.empty(0), 1.0) == []


def test_slope_as_scipy() -> None:
    random = np.random.default_rng(1)
    for n in (3, 5, 12):
        t, y = np.sort(random.uniform(0.0, 50.0, n)), random.normal(size=n)
        assert rising(t, y, np.zeros(n)) == pytest.approx(scipy.stats.linregress(t, y).pvalue)
    assert rising(np.arange(4.0), np.ones(4), np.zeros(4)) == 1.0


@pytest.mark.parametrize("n", [3, 5, 8, 20])
@pytest.mark.parametrize("heavy", [False, True])
def test_values_without_a_trend_seldom_have_one(n: int, heavy: bool) -> None:
    """The share of such series under a probability is at most that probability, however their values scatter."""
    random = np.random.default_rng(n)
    series = random.standard_t(3.0, (4000, n)) if heavy else random.normal(size=(4000, n))
    p = np.array([trend_chance(np.arange(float(n)), y, np.full(n, 0.2)) for y in series])
    for rate in (0.05, 0.01):
        assert np.mean(p <= rate) <= rate + 3.0 * np.sqrt(rate / len(p))


def test_a_drift_far_beyond_its_scatter_stands_out_in_a_large_fleet() -> None:
    """Eight visits among 10,000 numbers that are followed: by order alone 1 in 20,000 would be too little."""
    t = np.arange(8.0)
    y = 0.5 * t + np.random.default_rng(2).normal(0.0, 0.1, 8)
    assert kendall(y) * 10_000 > 0.05
    assert trend_chance(t, y, np.full(8, 0.1)) * 10_000 < 0.05
    assert trend_chance(t, y, np.full(8, 2.0)) * 10_000 > 0.05  # where the intervals are as wide as the drift
