"""Likelihoods of readings against numerical integration of their definition (scipy.integrate.quad, QUADPACK)."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
import scipy
from hypothesis import given
from hypothesis import strategies as st

from logan.knowledge.faults import Beyond as BeyondData
from logan.knowledge.faults import Key
from logan.model.profile import EngineProfile, Pump
from logan.ranking import distribution as d

LIMIT, SCALE = 1.0, 2.0


def tail(theta: float) -> float:
    """The long tail as its definition says: exponentials of mean 1, 4 and 16 scales, shares 0.6, 0.3 and 0.1."""
    past = (theta - LIMIT) / SCALE
    return sum(w * np.exp(-past / k) / (k * SCALE) for w, k in ((0.6, 1), (0.3, 4), (0.1, 16))) if past >= 0 else 0.0


def blurred(density: Callable[[float], float], x: float, s: float, low: float, high: float) -> float:
    """p(x) = integral N(x; theta, s) p(theta) dtheta over the part where the normal density is not nil."""

    def integrand(theta: float) -> float:
        return np.exp(-0.5 * ((x - theta) / s) ** 2) / (s * np.sqrt(2.0 * np.pi)) * density(theta)

    a, b = max(low, x - 12.0 * s), min(high, x + 12.0 * s)
    return scipy.integrate.quad(integrand, a, b, points=[min(max(x, a), b)], limit=200)[0] if a < b else 0.0


UNCERTAINTY = (0.02, 0.3, 2.0, 25.0)
READINGS = (-2.0, 0.4, 1.0, 1.6, 7.0, 40.0)


@pytest.mark.parametrize("s", UNCERTAINTY)
@pytest.mark.parametrize("x", READINGS)
def test_beyond_is_the_integral(x: float, s: float) -> None:
    got = d.Beyond(LIMIT, SCALE, 1).density(np.array([x]), s)[0]
    assert got == pytest.approx(blurred(tail, x, s, LIMIT, np.inf), rel=1e-6, abs=1e-12)
    mirrored = d.Beyond(-LIMIT, SCALE, -1).density(np.array([-x]), s)[0]
    assert mirrored == pytest.approx(got, rel=1e-12, abs=1e-300)


@pytest.mark.parametrize("s", UNCERTAINTY)
@pytest.mark.parametrize("x", READINGS)
def test_within_is_the_integral(x: float, s: float) -> None:
    got = d.Within(-1.0, 2.0, 0.0).density(np.array([x]), s)[0]
    assert got == pytest.approx(blurred(lambda _: 1.0 / 3.0, x, s, -1.0, 2.0), rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("s", UNCERTAINTY)
@pytest.mark.parametrize("x", READINGS)
def test_normal_is_the_integral(x: float, s: float) -> None:
    got = d.Normal(1.0, 0.7).density(np.array([x]), s)[0]
    prior = scipy.stats.norm(1.0, 0.7)
    assert got == pytest.approx(blurred(prior.pdf, x, s, -8.0, 10.0), rel=1e-6, abs=1e-12)


@pytest.mark.parametrize("x", [-3.1, -1.0, 0.0, 0.5, 2.2])
def test_steps_is_the_sum_over_its_multiples(x: float) -> None:
    # every ordered pair of two of four numbered keys, equally likely
    apart = [a - b for a in range(4) for b in range(4) if a != b]
    n = np.arange(-3, 4)
    weight = np.array([apart.count(k) for k in n]) / len(apart)
    want = (weight * scipy.stats.norm.pdf(x, 1.5 * n, np.hypot(0.2, 0.3))).sum()
    assert d.Steps(1.5, 0.3, 3).density(np.array([x]), 0.2)[0] == pytest.approx(want, rel=1e-12)


ALL = [
    d.Normal(1.0, 0.7),
    d.Within(-1.0, 2.0, 0.1),
    d.Beyond(1.0, 0.5, 1),
    d.Steps(1.5, 0.3, 3),
    d.Mixture(((0.25, d.Normal(0.0, 1.0)), (0.75, d.Beyond(1.0, 0.3, -1)))),
]


@pytest.mark.parametrize("one", ALL, ids=lambda one: type(one).__name__)
def test_densities_integrate_to_one(one: d.Distribution) -> None:
    x = np.linspace(-150.0, 150.0, 30_001)
    total = np.sum(one.density(x, 0.4)) * (x[1] - x[0])
    assert total == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("one", ALL, ids=lambda one: type(one).__name__)
def test_quantiles_cut_off_their_share(one: d.Distribution) -> None:
    """The mean of a bounded function over the quantiles is its mean over the density."""
    q = (np.arange(2000) + 0.5) / 2000
    theta = one.quantiles(q)
    x = np.linspace(-60.0, 60.0, 12_001)
    weight = one.density(x, 1e-3) if not isinstance(one, d.Steps) else one.density(x, 0.02)
    want = np.sum(np.tanh(x) * weight) / np.sum(weight)
    assert np.mean(np.tanh(theta)) == pytest.approx(want, abs=0.02)


@given(x=st.floats(-1e9, 1e9), s=st.floats(1e-9, 1e9))
def test_densities_are_finite_and_not_negative(x: float, s: float) -> None:
    for one in ALL:
        value = one.density(np.array([x]), s)[0]
        assert np.isfinite(value)
        assert value >= 0.0


@given(reach=st.floats(-200.0, 40.0), ratio=st.floats(1e-3, 200.0))
def test_blurred_exponential_against_scipy(reach: float, ratio: float) -> None:
    """scipy.stats.exponnorm is the same distribution (its K is 1 / ratio); compared by logarithm, tails included."""
    want = scipy.stats.exponnorm.logpdf(reach, 1.0 / ratio) + np.log(1.0 / ratio)
    if np.isfinite(want) and want > -600.0:
        assert d._log_blurred(reach, ratio) == pytest.approx(want, rel=1e-5, abs=1e-6)


def test_binding_takes_profile_keys_with_factor_offset_and_default() -> None:
    data = BeyondData(
        measure="timing_error_static_deg", source="test", side="below", scale=1.0,
        limit=Key(key="pump.key_offset_deg", factor=-4.0, offset=0.5),
    )  # fmt: skip
    assert d.bind(data, EngineProfile(pump=Pump(key_offset_deg=1.5))) == d.Beyond(-5.5, 1.0, -1)
    assert d.bind(data, EngineProfile()) is None
