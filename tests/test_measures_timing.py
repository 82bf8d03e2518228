"""Parts of the timing error: each recovered, intervals that hold, and what a drive cannot tell said so."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from timing_drives import Polling, backlash, by_name, correlated, covers, low_pass, road, timing_record

from logan.measures import timing
from logan.measures.align import pair
from logan.measures.timing_effort import timing_effort
from logan.measures.timing_follower import follow
from logan.model.channel import Channel, ChannelSet
from logan.model.measure import Measure, Missing

TERMS = {
    "static": "timing_error_static_deg",
    "delay": "timing_error_delay_ms",
    "load": "timing_error_load_deg",
    "drift": "timing_error_drift_deg_per_min",
    "hysteresis": "timing_hysteresis_deg",
    "lag_s": "timing_response_lag_s",
}
TOGETHER = Polling(rate_hz=20.0, together=True)


def measured(seed: int, **truth: object) -> dict[str, Measure | Missing]:
    return by_name(timing.timing_error(timing_record(np.random.default_rng(seed), **truth)))  # type: ignore[arg-type]


def number(result: Measure | Missing) -> float:
    assert isinstance(result, Measure), result
    assert isinstance(result.value, float)
    return result.value


@pytest.mark.parametrize(
    "polling", [Polling(), Polling(rate_hz=8.0), TOGETHER], ids=["2 Hz polled", "8 Hz polled", "20 Hz"]
)
@pytest.mark.parametrize(
    "fault",
    [
        {"static": -6.0}, {"delay": 0.4}, {"load": -3.0}, {"drift": 0.3}, {"hysteresis": 2.0, "lag_s": 0.6},
        {"static": -6.0, "delay": 0.2, "load": -1.5, "drift": -0.1, "hysteresis": 1.5},
    ],
    ids=lambda fault: "+".join(fault),
)  # fmt: skip
def test_each_term_is_recovered(fault: dict[str, float], polling: Polling) -> None:
    """Within 2 standard errors, or three for one in twenty: each term, and no leak into the others."""
    found = measured(11, polling=polling, **fault)
    near = 0
    for term, name in TERMS.items():
        measure = found[name]
        assert isinstance(measure, Measure), (term, measure)
        truth = fault.get(term, 0.15 if term == "lag_s" else 0.0)
        half = (float(measure.high) - float(measure.low)) / 2  # type: ignore[arg-type]
        assert abs(number(measure) - truth) <= 1.6 * half + 0.02, (term, measure)
        near += covers(measure, truth)
    assert near >= len(TERMS) - 1


def test_coverage_over_many_drives() -> None:
    """95 % intervals hold over other kinds of noise, polling, length and size, and are not wide for their own sake."""
    rng = np.random.default_rng(2024)
    held: list[bool] = []
    off: list[float] = []
    for seed in range(50):
        truth = {
            "static": rng.choice([0.0, -6.0, 2.0]), "delay": rng.choice([0.0, 0.3]), "load": rng.choice([0.0, -2.0]),
            "drift": rng.choice([0.0, 0.2]), "hysteresis": rng.choice([0.0, 0.0, 1.5]),
        }  # fmt: skip
        polling = Polling(rate_hz=float(rng.choice([1.0, 2.0, 5.0, 20.0])), together=bool(rng.integers(2)))
        found = measured(
            seed, polling=polling, minutes=float(rng.uniform(4, 12)), rho=float(rng.choice([0.0, 0.5, 0.8])),
            heavy=bool(rng.integers(2)), step=float(rng.choice([1 / 128, 0.1])), warm_up=bool(rng.integers(2)),
            lag_s=float(rng.uniform(0.05, 0.3)), **truth,
        )  # fmt: skip
        for term, value in truth.items():
            measure = found[TERMS[term]]
            if isinstance(measure, Measure):
                held.append(covers(measure, value))
                off.append((number(measure) - value) / (float(measure.high) - float(measure.low)))  # type: ignore[arg-type]
    assert len(held) > 0.9 * 50 * 5
    assert np.mean(held) >= 0.92
    # a 95 % interval is 3.92 standard uncertainties long
    assert 0.65 <= 3.92 * np.sqrt(np.mean(np.square(off))) <= 1.15


def test_healthy_engine_raises_nothing() -> None:
    """Staggered polling alone must not feign an error (science, section 8, item 3)."""
    for seed in range(6):
        found = measured(seed, polling=Polling(rate_hz=1.0, half_width_s=0.06), lag_s=0.2)
        static, delay, load = (found[TERMS[t]] for t in ("static", "delay", "load"))
        assert isinstance(static, Measure)
        assert abs(number(static)) < 0.5
        assert isinstance(delay, Measure)
        assert abs(number(delay)) < 0.05
        assert isinstance(load, Measure)
        assert abs(number(load)) < 0.5


def test_idle_only_is_offset_or_delay() -> None:
    found = measured(3, minutes=2.0, static=-6.0, noise=0.05, speeds=(790.0, 810.0))
    delay, static, mean = (found[n] for n in (TERMS["delay"], TERMS["static"], "timing_error_mean_deg"))
    assert isinstance(delay, Missing)
    assert "not separable: offset or delay" in delay.why
    assert isinstance(static, Measure)
    assert covers(static, -6.0)
    # a delay of 0.5 ms is 2.4 deg at 800 rpm: as a standard uncertainty it must show
    assert static.systematic is not None
    assert static.systematic == pytest.approx(2.4, abs=0.2)
    assert any("assumption" in note for note in static.notes)
    assert isinstance(mean, Measure)
    assert number(mean) == pytest.approx(-6.0, abs=0.1)


def test_narrow_fast_running_tells_neither() -> None:
    found = measured(4, static=-6.0, speeds=(2200.0, 2240.0))
    assert isinstance(found[TERMS["delay"]], Missing)
    assert isinstance(found[TERMS["static"]], Missing)


def test_short_record_has_no_drift() -> None:
    drift = measured(5, minutes=1.0)[TERMS["drift"]]
    assert isinstance(drift, Missing)
    assert "not separable" in drift.why


def test_limited_reach_is_kept_apart() -> None:
    """A command beyond the reach would look like a delay (science, section 4.3, step 2)."""
    found = measured(6, minutes=12.0, reach=10.5, polling=TOGETHER)
    static, delay = found[TERMS["static"]], found[TERMS["delay"]]
    assert isinstance(static, Measure)
    assert isinstance(delay, Measure)
    assert abs(number(static)) < 0.4
    assert abs(number(delay)) < 0.04
    assert any("reach" in note for note in static.notes)


def test_stuck_actuator_is_named() -> None:
    found = measured(7, reach=4.2)
    static = found[TERMS["static"]]
    assert isinstance(static, Missing)
    assert "stands still" in static.why


def test_every_measure_says_what_it_rests_on() -> None:
    for result in measured(8).values():
        assert isinstance(result, Measure)
        assert result.n > 0
        assert result.low <= result.value <= result.high  # type: ignore[operator]
        assert result.provenance.files == ["drive.log"]
        assert result.provenance.spans_s
        assert result.statistical is not None
        assert result.systematic is not None


def test_ramp_with_lag() -> None:
    # worked example false_deviation_from_lag: 500 bar/s and 0.1 s between the polls feign 50 bar
    t = np.arange(0.0, 20.0, 0.1)
    ramp = Channel("commanded", "kPa", t, 50_000.0 * t)
    joined = pair(Channel("actual", "kPa", t, 50_000.0 * t), ramp)
    assert joined is not None
    assert joined.trailing(0.1)[100:190] == pytest.approx(-5000.0, rel=1e-3)


def test_no_overlap() -> None:
    record = timing_record(np.random.default_rng(9), minutes=1.0)
    late = record.channels.best["injection_timing_actual"]
    record.channels.best["injection_timing_actual"] = Channel(late.name, "deg", late.t_s + 1000.0, late.value)
    found = by_name(timing.timing_error(record))
    assert len(found) == 7
    assert all(isinstance(result, Missing) for result in found.values())


def test_a_closed_loop_shows_its_effort() -> None:
    """The loop holds timing on its command while its duty creeps up by 2 % a minute, to its stop at the end."""
    rng = np.random.default_rng(8)
    whole = timing_record(rng, minutes=12.0, noise=0.1)
    command = whole.channels.best["injection_timing_commanded"]
    shake = rng.normal(0.0, 0.5, len(command.t_s))
    duty = 82.0 + 2.0 * (command.value - 8.0) + 2.0 * command.t_s / 60.0 + shake
    channel = Channel("timing_actuator_duty", "%", command.t_s, np.clip(duty, 0.0, 100.0))
    late = Channel(
        "injection_timing_actual", "deg", command.t_s, command.value - np.clip(duty - 100.0, 0.0, None) / 2.0
    )
    best = whole.channels.best | {"timing_actuator_duty": channel, "injection_timing_actual": late}
    found = by_name(timing_effort(replace(whole, channels=ChannelSet(best))))
    drift, lost = found["timing_duty_drift_percent_per_min"], found["timing_authority_lost_percent"]
    assert isinstance(drift, Measure)
    assert isinstance(lost, Measure)
    assert covers(drift, 2.0)
    assert drift.low > 1.5
    assert covers(lost, 100.0 * float(np.mean(duty > 101.0)))
    assert lost.low > 0.0


def test_duty_that_stands_at_its_stop_most_of_the_time() -> None:
    """Once it needs 100 % and more a stray value below is no effort: the trend is that of the time before."""
    rng = np.random.default_rng(3)
    whole = timing_record(rng, minutes=14.0, noise=0.1)
    command = whole.channels.best["injection_timing_commanded"]
    needs = 40.0 + 2.0 * (command.value - 8.0) + 7.0 * command.t_s / 60.0
    duty = np.clip(needs, 0.0, 100.0) + rng.normal(0.0, 1.3, len(needs))
    actual = command.value - np.clip(needs - 100.0, 0.0, None) / 2.0 + rng.normal(0.0, 0.1, len(needs))
    best = whole.channels.best | {
        name: Channel(name, "", command.t_s, value)
        for name, value in (("timing_actuator_duty", duty), ("injection_timing_actual", actual))
    }
    found = by_name(timing_effort(replace(whole, channels=ChannelSet(best))))
    assert covers(found["timing_duty_drift_percent_per_min"], 7.0)  # type: ignore[arg-type]
    assert covers(found["timing_authority_lost_percent"], 100.0 * float(np.mean(needs > 101.0)))  # type: ignore[arg-type]


def test_a_play_as_wide_as_the_travel_is_not_told_from_a_delay() -> None:
    """Timing that moves half as far as its command: late by 0.2 ms at a command that goes with speed, or stuck in play.

    A follower that believed in the play would put 2 deg and more into the fixed part.
    """
    rng = np.random.default_rng(5)
    way = road(rng, 8.0)
    command = 5.0 + 0.0022 * (way.speed - 750.0)
    late = low_pass(command, 0.15) - 0.006 * way.speed * 0.2
    for actual in (late, backlash(low_pass(command, 0.4), float(np.ptp(command)))):
        values = {
            "injection_timing_commanded": command, "engine_speed": way.speed, "calculated_load": way.load,
            "injection_timing_actual": actual + 0.1 * correlated(rng, len(command), 0.5),
        }  # fmt: skip
        record = replace(
            timing_record(np.random.default_rng(1)),
            channels=ChannelSet({name: Channel(name, "", way.t_s, value) for name, value in values.items()}),
        )
        found = by_name(timing.timing_error(record))
        assert isinstance(found["timing_hysteresis_deg"], Missing)
        if actual is late:
            assert covers(found["timing_error_delay_ms"], 0.2)  # type: ignore[arg-type]
            assert covers(found["timing_error_static_deg"], 0.0)  # type: ignore[arg-type]


def test_play_after_the_lag_is_told_from_moves_alone() -> None:
    """A piston that sticks after a slow build-up, on a drive of ramps without holds: the backlash operator as truth."""
    rng = np.random.default_rng(5)
    way = road(rng, 6.0)
    command = 2.0 + 0.003 * way.speed + 0.02 * way.load
    actual = backlash(low_pass(command, 0.5), 2.0) + 0.1 * correlated(rng, len(command), 0.5)
    channels = (Channel("a", "deg", way.t_s, actual), Channel("c", "deg", way.t_s, command))
    joined = pair(*channels)
    assert joined is not None
    found = follow(joined, np.ones(len(joined.t_s), bool), [way.t_s / 360.0, way.speed / 1000.0, way.load / 100.0])
    assert found.lag_first
    assert found.size_deg == pytest.approx(2.0, rel=0.1)
    assert found.width_deg == pytest.approx(2.0, rel=0.15)
    assert found.lag_s == pytest.approx(0.5, rel=0.2)
    assert 0.0 < found.size_sd_deg < 0.2


def play_found(seed: int, minutes: float, width_deg: float, noise_deg: float, rho: float) -> float:
    """Size of the play that is believed in timing with noise of so long a memory on it."""
    rng = np.random.default_rng(seed)
    way = road(rng, minutes)
    command = 3.0 + 0.0045 * (way.speed - 800.0) + 0.03 * way.load
    follows = backlash(command, width_deg) if width_deg else command
    actual = low_pass(follows, 0.16) + noise_deg * correlated(rng, len(command), rho)
    joined = pair(Channel("a", "deg", way.t_s, actual), Channel("c", "deg", way.t_s, command))
    assert joined is not None
    slow = [way.t_s / way.t_s[-1], way.speed / 1000.0, way.load / 100.0]
    slow = [np.interp(joined.t_s, way.t_s, column) for column in slow]
    return follow(joined, np.ones(len(joined.t_s), bool), slow).size_deg


def test_noise_that_wanders_is_no_play() -> None:
    """Noise that lasts a second or two moves as a small play does; values that share it do not each bear witness."""
    assert sum(play_found(seed, 6.0, 0.0, 0.12, 0.97) > 0.0 for seed in range(16)) <= 1


def test_a_play_that_explains_the_moves_is_believed_though_what_is_left_wanders() -> None:
    for seed in range(4):
        assert play_found(seed, 3.0, 1.0, 0.15, 0.99) == pytest.approx(1.0, abs=0.3)
