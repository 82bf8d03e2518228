"""The joint regression, play and lag: against exact cases, published worked examples, and seeded Monte Carlo."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from timing_drives import backlash, correlated

from logan.dsp.decompose import decompose, inflation
from logan.dsp.hysteresis import lagged, play
from logan.units import delay_to_deg

FREE = np.array([np.inf, np.inf])


def test_pure_delay() -> None:
    # worked example pure_delay: 0.5 ms at 1500 rpm is 4.5 deg (6 N tau)
    assert delay_to_deg(0.5, 1500.0) == pytest.approx(4.5)


def test_offset_and_delay_from_five_plateaus() -> None:
    # worked example decompose_timing: e = 1.5 + 6 N * 0.0002 gives offset 1.5 deg and 0.200 ms
    speed = np.array([700.0, 1000.0, 1500.0, 2000.0, 2500.0])
    error = 1.5 + 6.0 * speed * 0.0002
    fit = decompose(error, np.arange(5.0), [(1.0, np.column_stack([np.ones(5), 0.006 * speed]))], FREE)
    assert fit.value == pytest.approx([1.5, 0.2], abs=1e-9)


@pytest.mark.parametrize(("fastest", "expected_ms"), [(720.0, 0.609), (2500.0, 0.00677)])
def test_identifiability(fastest: float, expected_ms: float) -> None:
    # worked examples identifiability_narrow and _wide: 0.3 deg, 200 points evenly over 700..720 or 700..2500 rpm
    rng = np.random.default_rng(1)
    speed = rng.permutation(np.linspace(700.0, fastest, 200))
    design = np.column_stack([np.ones(200), 0.006 * speed])
    told = []
    for _ in range(20):
        fit = decompose(0.3 * rng.normal(size=200), np.arange(200.0), [(1.0, design)], FREE)
        told.append(np.sqrt(fit.noise[1, 1]))
    assert float(np.mean(told)) == pytest.approx(expected_ms, rel=0.1)


def test_huber_location() -> None:
    # worked example huber_location: 0, 0.1, -0.1, 0.05, 10 has its Huber centre at 0.05, its mean at 2.01
    y = np.array([0.0, 0.1, -0.1, 0.05, 10.0])
    fit = decompose(y, np.arange(5.0) * 100.0, [(1.0, np.ones((5, 1)))], FREE[:1])
    assert fit.value[0] == pytest.approx(0.05, abs=0.02)


def test_inflation_against_the_closed_form() -> None:
    # two regressors with correlation r: 1 / (1 - r^2), textbook formula (from memory)
    rng = np.random.default_rng(3)
    a, b = rng.normal(size=(2, 400))
    x = np.column_stack([a, 0.9 * a + b])
    r = np.corrcoef(x.T)[0, 1]
    assert inflation(x) == pytest.approx([1 / (1 - r**2)] * 2, rel=1e-9)
    assert np.isinf(inflation(np.column_stack([a, np.ones(400)]))[1])


def test_too_few_rows() -> None:
    with pytest.raises(ValueError, match="fewer rows"):
        decompose(np.zeros(2), np.arange(2.0), [(1.0, np.ones((2, 2)))], FREE)


NOISES = {
    "white": {}, "heavy tails": {"heavy": True}, "AR 0.5": {"rho": 0.5}, "AR 0.8": {"rho": 0.8},
    "heavy AR 0.6": {"rho": 0.6, "heavy": True},
}  # fmt: skip


def test_coverage_and_drift_alarms() -> None:
    """Intervals hold what they promise, and noise without a trend alarms in less than 7 % (science, section 8)."""
    rng = np.random.default_rng(2025)
    truth = np.array([-6.0, 0.2, 1.0, 0.0])
    drives, n = 40, 150
    off = []
    for kind in NOISES.values():
        for _ in range(drives):
            t = 2.0 * np.arange(n)
            speed = np.interp(t, np.linspace(0, t[-1], 8), rng.uniform(700, 2600, 8))
            load = np.interp(t, np.linspace(0, t[-1], 12), rng.uniform(0, 1, 12))
            design = np.column_stack([np.ones(n), -0.006 * speed, load, t / 60.0])
            y = design @ truth + 0.3 * correlated(rng, n, **kind)
            fit = decompose(y, t, [(1.0, design)], np.array([np.inf, 0.5, 3.0, 1.0]))
            off.append((fit.value - truth) / (fit.quantile() * np.sqrt(np.diag(fit.noise) + np.diag(fit.prior))))
    inside = np.abs(np.array(off)) <= 1.0
    assert 0.92 <= inside.mean() <= 0.985
    assert 1.0 - inside[:, 3].mean() < 0.07


def test_what_rows_cannot_tell_keeps_its_prior() -> None:
    rng = np.random.default_rng(5)
    design = np.column_stack([np.ones(60), -0.006 * np.full(60, 800.0)])
    fit = decompose(-6.0 + 0.05 * rng.normal(size=60), 2.0 * np.arange(60), [(1.0, design)], np.array([np.inf, 0.5]))
    value, noise, prior = fit.at(np.array([1.0, 0.0]))
    assert value == pytest.approx(-6.0, abs=0.05)
    assert prior == pytest.approx(0.006 * 800 * 0.5, rel=0.02)
    assert noise < 0.1


def test_bent_term_is_chosen() -> None:
    rng = np.random.default_rng(6)
    load = rng.uniform(0.0, 0.95, 300)
    straight = np.column_stack([np.ones(300), load])
    bent = np.column_stack([np.ones(300), np.clip((load - 0.5) / 0.5, 0.0, None)])
    y = -4.0 * bent[:, 1] + 0.2 * rng.normal(size=300)
    fit = decompose(y, 2.0 * np.arange(300), [(0.7, straight), (0.3, bent)], np.array([np.inf, 3.0]))
    assert fit.value == pytest.approx([0.0, -4.0], abs=0.15)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.floats(-50, 50), min_size=2, max_size=200), st.floats(0.1, 20))
def test_play_is_the_plain_recursion(command: list[float], width: float) -> None:
    x = np.array(command)
    follows, settled = play(x, width)
    plain = backlash(x, width)
    known = np.flatnonzero(settled)
    assert np.all(np.abs(follows - x) <= width / 2 + 1e-9)
    if len(known):
        assert settled[known[0] :].all()
        assert follows[settled] == pytest.approx(plain[settled], abs=1e-6)


def test_lag_on_a_ramp_is_exact() -> None:
    # answer of a first-order lag to a ramp: t - tau (1 - exp(-t / tau)), textbook formula (from memory)
    t = np.arange(0.0, 10.0, 0.1)
    ramp = np.clip(t - 2.0, 0.0, None)
    since = np.clip(t - 2.0, 0.0, None)
    assert lagged(ramp, 0.1, 0.5) == pytest.approx(since - 0.5 * (1 - np.exp(-since / 0.5)), abs=0.005)
    assert lagged(ramp, 0.1, 0.0) == pytest.approx(ramp)
