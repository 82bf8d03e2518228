"""Rail pressure: error under load, swing, leak-down and build-up of invented engines, and published examples."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from rail_drives import rail_record
from timing_drives import Polling, by_name, correlated, covers
from timing_drives import record as record_of

from logan.dsp.decompose import student_95
from logan.measures import rail, rail_build, rail_events
from logan.model.measure import Measure, Missing
from logan.model.record import Record

TOGETHER = Polling(rate_hz=20.0, together=True)


def measured(record: Record) -> dict[str, Measure | Missing]:
    rules = (rail.rail_error, rail.rail_swing, rail_events.rail_leakdown, rail_build.rail_build_time)
    return by_name(result for rule in rules for result in rule(record))


def value(result: Measure | Missing) -> float:
    assert isinstance(result, Measure), result
    assert isinstance(result.value, float)
    return result.value


@pytest.mark.parametrize("polling", [Polling(), TOGETHER], ids=["2 Hz polled", "20 Hz"])
def test_healthy_engine(polling: Polling) -> None:
    for seed in range(4):
        found = measured(rail_record(np.random.default_rng(seed), polling=polling))
        assert abs(value(found["rail_error_percent"])) < 1.0
        assert value(found["rail_swing_percent"]) < 0.4
        leak = found["rail_leakdown_kpa_per_s"]
        assert isinstance(leak, Measure)
        assert covers(leak, 80.0)
        build = found["rail_build_time_s"]
        assert isinstance(build, Measure)
        assert covers(build, 0.8)


@pytest.mark.parametrize("polling", [Polling(), TOGETHER], ids=["2 Hz polled", "20 Hz"])
def test_faults_are_sized(polling: Polling) -> None:
    record = rail_record(
        np.random.default_rng(20), polling=polling, droop=12.0, swing=5.0, leak_kpa_per_s=2500.0, build_s=3.0
    )
    found = measured(record)
    assert value(found["rail_error_percent"]) == pytest.approx(-12.0, abs=1.0)
    assert value(found["rail_swing_percent"]) == pytest.approx(5.0, abs=0.4)
    assert value(found["rail_leakdown_kpa_per_s"]) == pytest.approx(2500.0, rel=0.1)
    assert value(found["rail_build_time_s"]) == pytest.approx(3.0, abs=0.5)


def test_coverage_over_many_drives() -> None:
    rng = np.random.default_rng(7)
    truth = {"droop": 0.0, "swing": 0.0, "leak_kpa_per_s": 0.0, "build_s": 0.0}
    names = ("rail_error_percent", "rail_swing_percent", "rail_leakdown_kpa_per_s", "rail_build_time_s")
    held, told = 0, 0
    for seed in range(16):
        truth = {
            "droop": float(rng.choice([0.0, 8.0])), "swing": float(rng.choice([0.0, 3.0, 6.0])),
            "leak_kpa_per_s": float(rng.choice([50.0, 1500.0])), "build_s": float(rng.uniform(0.5, 3.0)),
        }  # fmt: skip
        polling = Polling(rate_hz=float(rng.choice([2.0, 5.0, 20.0])), together=bool(rng.integers(2)))
        hz = float(rng.uniform(0.4, 0.9))
        found = measured(rail_record(np.random.default_rng(seed), polling=polling, minutes=4.0, swing_hz=hz, **truth))
        for name, true in zip(names, (-truth["droop"], *list(truth.values())[1:]), strict=True):
            result = found[name]
            if isinstance(result, Measure):
                told += 1
                held += covers(result, true)
    assert told >= 56
    assert held / told >= 0.9, (held, told)


def test_staggered_polling_alone_is_no_error() -> None:
    """Science, section 8, item 3: lag and polling one after the other feign nothing."""
    for seed in range(4):
        slow = Polling(rate_hz=1.0, half_width_s=0.06)
        found = measured(rail_record(np.random.default_rng(seed), polling=slow, lag_s=0.25, minutes=8.0))
        assert abs(value(found["rail_error_percent"])) < 3.0
        swings = found["rail_swing_percent"]
        assert isinstance(swings, Missing) or float(swings.low) < 0.5  # type: ignore[arg-type]


def _holds(rng: np.random.Generator, rate_hz: float, wander_percent: float) -> tuple[Record, float]:
    """Pulls of 4 s at loads from 60 to 100 %, where the rail lacks 0.4 % for each percent above 60; the true median."""
    t_s = np.arange(0.0, 240.0, 0.02)
    loads = rng.uniform(62.0, 100.0, 15)
    hold = (t_s / 16.0).astype(int)
    pulls = (t_s % 16.0 >= 8.0) & (t_s % 16.0 < 12.0)
    load = np.where(pulls, loads[np.minimum(hold, 14)], 30.0)
    error = -0.4 * np.clip(load - 60.0, 0.0, None)
    command = 30_000.0 + 300.0 * load
    drift = wander_percent * correlated(rng, len(t_s), float(np.exp(-0.02 / 60.0)))
    actual = command * (1.0 + (error + drift + 0.3 * rng.normal(size=len(t_s))) / 100.0)
    give = Polling(rate_hz=rate_hz, together=rate_hz > 5.0).channel
    made = record_of([
        give(rng, "fuel_rail_pressure_commanded", 0, t_s, command, 10.0),
        give(rng, "fuel_rail_pressure_actual", 1, t_s, actual, 10.0),
        give(rng, "engine_speed", 2, t_s, 1800.0 + 0.0 * t_s, 0.25),
        give(rng, "calculated_load", 3, t_s, load, 100.0 / 255.0),
    ])  # fmt: skip
    return made, float(np.median(error[pulls]))


@pytest.mark.parametrize("rate_hz", [2.0, 20.0])
def test_what_a_rail_lacks_more_under_more_load_is_no_noise(rate_hz: float) -> None:
    """The median of a record is known as well as its sensor, however much the error differs from pull to pull."""
    held = 0
    for seed in range(20):
        record, truth = _holds(np.random.default_rng(seed), rate_hz, wander_percent=0.5)
        found = next(iter(rail.rail_error(record)))
        assert isinstance(found, Measure)
        held += covers(found, truth)
        assert float(found.high) - float(found.low) < 8.0  # type: ignore[arg-type]
    assert held >= 18


@pytest.mark.parametrize("hz", [0.5, 1.3, 2.6])
def test_swing_in_many_conditions(hz: float) -> None:
    for seed, polling in enumerate((Polling(rate_hz=5.0), Polling(rate_hz=20.0, together=True))):
        found = measured(rail_record(np.random.default_rng(seed), polling=polling, swing=4.0, swing_hz=hz))
        result = found["rail_swing_percent"]
        assert value(result) == pytest.approx(4.0, abs=0.4)
        assert isinstance(result, Measure)
        assert f"at {hz:.1f}" in result.notes[0] or polling.rate_hz < 2.5 * hz


@pytest.mark.parametrize(("hz", "rate_hz"), [(0.22, 5.0), (0.43, 10.0), (0.9, 5.0), (0.9, 20.0)])
def test_a_triangular_swing(hz: float, rate_hz: float) -> None:
    """Half of its peak to peak is pi^2 / 8 of the amplitude of its fundamental (Fourier series of a triangle)."""
    held = 0
    for seed in range(8):
        rng = np.random.default_rng(seed)
        t_s = np.arange(0.0, 90.0, 0.02)
        turns = np.cumsum(hz * (1.0 + 0.02 * correlated(rng, len(t_s), float(np.exp(-0.02 / 5.0)))) * 0.02)
        wave = 2.0 / np.pi * np.arcsin(np.sin(2.0 * np.pi * turns))
        command = 30_000.0 + 0.0 * t_s
        give = Polling(rate_hz=rate_hz, together=True).channel
        made = record_of([
            give(rng, "fuel_rail_pressure_commanded", 0, t_s, command, 10.0),
            give(rng, "fuel_rail_pressure_actual", 1, t_s, command * (1.0 + 0.05 * wave), 10.0,
                 0.004 * command[0] * rng.normal(size=len(t_s))),
            give(rng, "engine_speed", 2, t_s, 800.0 + 0.0 * t_s, 0.25),
        ])  # fmt: skip
        found = next(iter(rail.rail_swing(made)))
        assert isinstance(found, Measure)
        held += covers(found, 5.0)
    assert held >= 6


def test_noise_is_no_swing() -> None:
    for seed in range(8):
        polling = Polling(rate_hz=(2.0, 10.0)[seed % 2], together=bool(seed % 2))
        record = rail_record(
            np.random.default_rng(seed), polling=polling, minutes=3.0, noise=1.5, rho=(0.0, 0.8)[seed % 2]
        )
        result = measured(record)["rail_swing_percent"]
        if isinstance(result, Measure):
            assert result.low == 0.0
            assert value(result) < 1.0


def test_decay_constant() -> None:
    # worked example rail_decay_tau: 300 to 150 bar in 20 s is a time constant of 28.85 s
    t = np.arange(0.0, 5.01, 0.1)
    rate, _, _ = rail_events.decay(t, 300.0 * np.exp(-t / 28.85))
    assert rate == pytest.approx(300.0 * (1.0 - 0.5 ** (5.0 / 20.0)) / 5.0, rel=1e-3)


@pytest.mark.parametrize("tau_s", [1.7, 3.8, 20.0])
@pytest.mark.parametrize("every_s", [0.75, 1.0])
def test_decay_of_a_handful_of_values(tau_s: float, every_s: float) -> None:
    """A few values of a clean exponential, which is known in closed form, leave no room for anything it may be."""
    random = np.random.default_rng(round(100 * tau_s * every_s))
    truth = 33_000.0 * (1.0 - np.exp(-5.0 / tau_s)) / 5.0
    halves, missed = [], 0
    for _ in range(40):
        since = np.arange(random.uniform(0.0, every_s), 5.5, every_s)
        p = 900.0 + 33_000.0 * np.exp(-since / tau_s) + random.normal(0.0, 100.0, len(since))
        rate, sd, df = rail_events.decay(since, p, rail_events.Before(100.0, 5.0, 34_500.0))
        halves.append(student_95(df) * sd)
        missed += abs(rate - truth) > halves[-1]
    assert missed <= 5  # 1 chance in 300 at 5 % of 40
    assert np.median(halves) < 250.0
    assert max(halves) < 0.2 * 33_000.0 / 5.0


def test_a_smooth_fall_between_two_time_constants_leaves_nothing_over() -> None:
    """Without noise a time constant of any size gives the rate itself, and next to no interval."""
    t = np.arange(0.0, 5.01, 0.8)
    for tau in np.geomspace(0.6, 40.0, 23):
        rate, sd, df = rail_events.decay(t, 900.0 + 33_000.0 * np.exp(-t / tau))
        assert rate == pytest.approx(33_000.0 * (1.0 - np.exp(-5.0 / tau)) / 5.0, rel=0.01)
        assert student_95(df) * sd < 0.02 * rate


def test_a_rail_gains_nothing_while_its_pump_stands() -> None:
    for seed in range(6):
        found = measured(rail_record(np.random.default_rng(seed), polling=Polling(rate_hz=1.0), leak_kpa_per_s=0.0))
        leak = found["rail_leakdown_kpa_per_s"]
        assert isinstance(leak, Measure)
        assert 0.0 <= leak.low <= leak.high
        assert covers(leak, 0.0)


def test_leak_down_of_slow_polling() -> None:
    """A stop seen only once a second still gives the rate, with an interval that owns up to it."""
    slow = Polling(rate_hz=1.0)
    for seed in range(5):
        found = measured(rail_record(np.random.default_rng(seed), polling=slow, leak_kpa_per_s=3000.0))
        leak = found["rail_leakdown_kpa_per_s"]
        assert isinstance(leak, Measure)
        assert covers(leak, 3000.0)


def test_what_is_not_there_is_missing() -> None:
    record = rail_record(np.random.default_rng(1), starts=False, needed_kpa=10_000.0, build_s=6.0)
    found = measured(record)
    for name in ("rail_error_percent", "rail_swing_percent", "rail_leakdown_kpa_per_s", "rail_build_time_s"):
        assert isinstance(found[name], Missing), found[name]
    missing = found["rail_build_time_s"]
    assert isinstance(missing, Missing)
    assert "did not start" in missing.why


def test_assumption_is_stated() -> None:
    build = measured(rail_record(np.random.default_rng(2)))["rail_build_time_s"]
    assert isinstance(build, Measure)
    assert any("assumption" in note for note in build.notes)
    assert build.provenance.files == ["drive.log"]


def test_the_longest_of_several_starts_counts() -> None:
    """A rail that has leaked down builds anew: the second, longer start is the one to see."""
    quick = rail_record(np.random.default_rng(3), build_s=0.8, polling=Polling(10.0, True), minutes=1.0)
    slow = rail_record(np.random.default_rng(4), build_s=2.6, polling=Polling(10.0, True), minutes=1.0)
    joined = []
    for name, first in quick.channels.best.items():
        second = slow.channels.best[name]
        t_s = np.concatenate([first.t_s, second.t_s + first.t_s[-1] - second.t_s[0] + 0.1])
        joined.append(replace(first, t_s=t_s, value=np.concatenate([first.value, second.value])))
    found = measured(record_of(joined))["rail_build_time_s"]
    assert isinstance(found, Measure)
    assert found.low <= 2.6 <= found.high
    assert "the longest of 2 starts" in found.notes
