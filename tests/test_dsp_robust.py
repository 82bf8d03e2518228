"""Huber's estimator against a worked example and by coverage."""

from __future__ import annotations

import numpy as np
import pytest
import scipy.special

from logan.dsp import robust


def test_worked_location() -> None:
    """0, 0.1, -0.1, 0.05, 10 with c = 1.345: 0.0500 where the mean is 2.01; scale 0.07413 (exact arithmetic)."""
    y = np.array([0.0, 0.1, -0.1, 0.05, 10.0])
    found = robust.huber_fit(np.ones((5, 1)), y)
    assert found.coefficients[0] == pytest.approx(0.05, abs=1e-4)
    assert found.scale == pytest.approx(0.07413, abs=1e-4)
    assert found.weights[4] < 0.02


def test_mad_of_normal_noise() -> None:
    """0.6745 is the third quartile of the normal law."""
    assert robust.mad_sigma(np.random.default_rng(1).normal(0.0, 2.0, 20000)) == pytest.approx(2.0, rel=0.03)


@pytest.mark.parametrize("blocks", [False, True])
def test_coverage_with_outliers(blocks: bool) -> None:
    """Heavy tails, and runs of ten equal errors that only blocks can see."""
    rng = np.random.default_rng(3)
    covered = 0
    for _ in range(300):
        n = 300
        x = np.column_stack([np.ones(n), np.linspace(-1.0, 1.0, n)])
        noise = np.repeat(rng.standard_t(3, n // 10), 10) if blocks else rng.standard_t(3, n)
        found = robust.huber_fit(x, x @ [2.0, -1.0] + noise, np.arange(n) // 10 if blocks else None)
        half = scipy.special.stdtrit(found.freedom, 0.975) * np.sqrt(found.covariance[1, 1])
        covered += abs(found.coefficients[1] + 1.0) <= half
    assert 0.90 <= covered / 300 <= 0.985


def test_too_few_rows() -> None:
    with pytest.raises(ValueError, match="fewer rows"):
        robust.huber_fit(np.ones((1, 2)), np.ones(1))


def test_as_many_rows_as_columns_tell_no_uncertainty() -> None:
    """One value has no scatter: its uncertainty is unknown, not zero."""
    fit = robust.huber_fit(np.ones((1, 1)), np.array([3.0]))
    assert fit.coefficients[0] == 3.0
    assert np.isinf(fit.covariance[0, 0])
