"""Trend test and slope against published examples, scipy, and false alarms in wandering noise."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.stats
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.dsp import trend

EXAMPLE = np.array([12.9, 14.8, 13.2, 15.7, 13.8, 15.6, 12.9, 11.0, 17.3, 15.9, 19.0, 18.3, 20.1, 21.7])


def test_published_example() -> None:
    """College course note "A Mann-Kendall Example (By Hand)": S = 54, variance 332.667, Z = 2.9058."""
    found = trend.mann_kendall(EXAMPLE)
    assert found.s == 54
    assert found.variance == pytest.approx(332.667, abs=1e-3)
    assert found.z == pytest.approx(2.9058, abs=1e-4)
    assert found.p == pytest.approx(0.00366, abs=1e-5)


def test_slope_of_the_same_example() -> None:
    """scipy.stats.theilslopes on the same series: 0.56667, 95 % from 0.3250 to 0.8667."""
    slope, low, high = trend.theil_sen(np.arange(14.0), EXAMPLE)
    assert (slope, low, high) == pytest.approx((0.56667, 0.3250, 0.8667), abs=1e-4)


def test_one_wild_value_does_not_move_the_slope() -> None:
    x = np.arange(11.0)
    y = 2.0 * x + 1.0
    y[5] = 100.0
    assert trend.theil_sen(x, y)[0] == pytest.approx(2.0)


@settings(max_examples=30, deadline=None)
@given(st.lists(st.integers(-20, 20), min_size=8, max_size=40))
def test_slopes_equal_the_reference(values: list[int]) -> None:
    """scipy.stats.theilslopes, ties and all."""
    y = np.array(values, float)
    ours = trend.theil_sen(np.arange(len(y)) * 0.5, y)
    theirs = scipy.stats.theilslopes(y, np.arange(len(y)) * 0.5)
    assert ours[0] == pytest.approx(theirs.slope)
    if np.isfinite(ours[1:]).all():
        assert ours[1:] == pytest.approx((theirs.low_slope, theirs.high_slope), abs=0.5)


@pytest.mark.parametrize(("rho", "plain"), [(0.0, 0.043), (0.5, 0.249), (0.8, 0.468)])
def test_wandering_noise_feigns_no_trend(rho: float, plain: float) -> None:
    """n = 100: the plain test calls 4.3 / 24.9 / 46.8 % (an independent simulation), ours at most 7 % at 5 %."""
    rng = np.random.default_rng(6)
    alarms = plain_alarms = 0
    for _ in range(400):
        y = np.zeros(150)
        e = rng.standard_normal(150)
        for k in range(1, 150):
            y[k] = rho * y[k - 1] + e[k]
        found = trend.trend(np.arange(100.0), y[50:])
        alarms += found.p < 0.05
        plain_alarms += trend.mann_kendall(y[50:]).p < 0.05
    assert alarms / 400 <= 0.07 + 0.01
    assert plain_alarms / 400 == pytest.approx(plain, abs=0.06)


def test_a_true_trend_is_found_and_covered() -> None:
    rng = np.random.default_rng(9)
    covered = 0
    for _ in range(100):
        t = np.arange(0.0, 600.0, 0.5)
        found = trend.trend(t, 0.01 * t + rng.standard_t(3, len(t)))
        assert found.p < 0.001
        covered += found.low <= 0.01 <= found.high
    assert 90 <= covered <= 100
