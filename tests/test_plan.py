"""The plan of a recording: its rate holds, more never shows less, and errors of the stated size are detected."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.dsp.decompose import decompose
from logan.errors import UsageError
from logan.knowledge import faults, profiles
from logan.knowledge import plan as plan_files
from logan.pipeline.plan import plan
from logan.planning import precision, schedule
from logan.report import plan_page, plan_text

DRIVE = [(800.0, 10.0, 60.0), (1200.0, 25.0, 60.0), (2600.0, 45.0, 60.0), (1800.0, 85.0, 20.0), (1800.0, 20.0, 40.0)]
PRIOR = np.array([np.inf, 0.5, 1.0, 3.0])


@pytest.mark.parametrize("engine", profiles.names())
def test_every_fault_has_a_plan_with_cautions(engine: str) -> None:
    profile = profiles.load(engine)[0]
    for fault in faults.load().faults.values():
        if not faults.fits(fault, profile):
            with pytest.raises(UsageError, match="cannot have"):
                plan([fault.id], engine)
            continue
        made = plan([fault.id], engine)
        assert made.faults == [fault.id]
        assert made.steps
        assert made.signals
        assert made.cautions
    whole = plan((), engine)
    assert all(line in plan_text.text(whole) for line in ("The drive:", "Cautions"))
    assert "Road-test card" in plan_page.render(whole)


@settings(max_examples=60, deadline=None)
@given(st.integers(1, 20), st.integers(0, 8), st.floats(0.2, 60.0), st.integers(1, 6))
def test_schedule_stays_within_the_rate(fast: int, slow: int, rate: float, together: int) -> None:
    pids = {f"c{k}": k for k in range(fast + slow)}
    periods = schedule.periods_s(pids, {f"c{k}": 5.0 for k in range(fast, fast + slow)}, rate, together)
    quick = periods["c0"]
    asked = -(-fast // together) / quick + sum(1.0 / periods[f"c{k}"] for k in range(fast, fast + slow))
    assert asked <= rate * (1.0 + 1e-9)


@settings(max_examples=40, deadline=None)
@given(st.floats(1.0, 4.0), st.floats(1.0, 4.0))
def test_more_rows_never_show_less(longer: float, finer: float) -> None:
    _, columns = precision.rows(DRIVE, 2.0)
    base = precision.smallest(columns, 0.3, PRIOR)
    more = np.vstack([columns, precision.rows([(v, q, s * (longer - 1.0)) for v, q, s in DRIVE], 2.0)[1]])
    assert np.all(precision.smallest(more, 0.3, PRIOR) <= base * (1 + 1e-9))
    assert np.all(precision.smallest(columns, 0.3 / np.sqrt(finer), PRIOR) <= base * (1 + 1e-9))


def test_an_error_of_the_stated_size_is_detected() -> None:
    """Monte Carlo through the regression that the measures use: at least 80 % detection, 5 % false alarm."""
    t_s, columns = precision.rows(DRIVE, 4.0)
    sizes = precision.smallest(columns, 0.3, PRIOR)
    random = np.random.default_rng(11)
    runs = 20
    alarms = np.zeros(4)
    hits = np.zeros(4)
    for _ in range(runs):
        noise = random.normal(0.0, 0.3, len(t_s))
        alarms += _detected(noise, t_s, columns)
        for k, size in enumerate(sizes):
            hits[k] += _detected(noise + size * columns[:, k], t_s, columns)[k]
    n = 4 * runs
    assert alarms.sum() <= 0.05 * n + 2.6 * np.sqrt(0.05 * 0.95 * n)
    assert hits.sum() >= 0.8 * n - 2.6 * np.sqrt(0.8 * 0.2 * n), hits


def _detected(y: np.ndarray, t_s: np.ndarray, columns: np.ndarray) -> np.ndarray:
    fit = decompose(y, t_s, [(1.0, columns)], PRIOR)
    return np.abs(fit.value) > fit.quantile() * np.sqrt(np.diag(fit.noise + fit.prior))


def test_one_speed_does_not_tell_a_delay() -> None:
    _, columns = precision.rows([(1500.0, 30.0, 300.0)], 2.0)
    assert np.isinf(precision.smallest(columns, 0.3, PRIOR)[1])


def test_a_swing_folds() -> None:
    assert schedule.seeming_hz(6.67, 0.25) == pytest.approx(1.33, abs=0.01)


def test_every_sign_of_a_fault_has_a_step_of_the_drive() -> None:
    steps = plan_files.load().manoeuvre
    signs = {expect.measure for fault in faults.load().faults.values() for expect in fault.expect}
    assert [sign for sign in signs if not any(plan_files.named(sign, step) for step in steps)] == []


def test_a_slower_interface_never_shows_more() -> None:
    quick, slow = (plan((), "training_rail_four", "serial", rate) for rate in (4.0, 1.0))
    for a, b in zip(quick.smallest, slow.smallest, strict=True):
        assert (a.value is None) or (b.value is None) or (a.value <= b.value)
