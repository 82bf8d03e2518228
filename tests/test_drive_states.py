"""The drive as states: a made-up drive with known times, poor recordings, and a real drive."""

from __future__ import annotations

import numpy as np
import pytest
from drive_sample import PLAN, Drive
from numpy.typing import NDArray

from logan.channels import build
from logan.drive import segment
from logan.drive.inputs import latch
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates
from logan.model.profile import EngineProfile, Idle

Array = NDArray[np.float64]
PROFILE = EngineProfile(cylinders=6, idle=Idle(target_rpm=800.0))


def states(drive: Drive, profile: EngineProfile = PROFILE) -> DriveStates:
    return segment(build(drive.channels(), profile)[0], profile)


def order(found: DriveStates, *without: str) -> list[str]:
    return [span.state for span in found.spans if span.state not in without]


def total(found: DriveStates, *names: str) -> float:
    return sum(span.duration_s for span in found.of(*names))


EXPECTED = [
    "key_on",
    "cranking",
    "run_up",
    "idle_warm",
    "cruise",
    "pull",
    "cruise",
    "pull",
    "overrun",
    "idle_warm",
    "stopped",
]


@pytest.mark.parametrize(
    ("rate", "slow_rate", "jitter"), [(100.0, 10.0, 0.0), (10.0, 2.0, 0.0), (5.0, 5.0, 0.3), (2.0, 1.0, 0.2)]
)
def test_the_whole_drive(rate: float, slow_rate: float, jitter: float) -> None:
    found = states(Drive(rate=rate, slow_rate=slow_rate, jitter=jitter))
    assert order(found, "tip_in") == EXPECTED
    assert total(found, "idle_warm") == pytest.approx(232.0, abs=8.0)
    assert total(found, "pull") == pytest.approx(40.0, abs=4.0)
    assert total(found, "cranking") == pytest.approx(2.0, abs=2.0 / rate + 0.5)
    for before, after in zip(found.spans[:-1], found.spans[1:], strict=True):
        assert before.end_s == after.start_s
        assert before.state != after.state


def test_once_a_second() -> None:
    """The lowest rate of a scan tool: every long state is found, with moments of another between them."""
    found = states(Drive(rate=1.0, slow_rate=0.5))
    long = [span.state for span in found.spans if span.duration_s > 3.0]
    assert long == [state for state in EXPECTED if state not in ("cranking", "run_up")]
    assert total(found, "idle_warm") == pytest.approx(232.0, abs=8.0)


def test_without_a_target_the_idle_speed_is_learned() -> None:
    assert order(states(Drive(), EngineProfile()), "tip_in") == EXPECTED


def test_a_hunting_idle_is_one_idle() -> None:
    found = states(Drive(hunt_hz=0.4, hunt_rpm=150.0))
    assert order(found, "tip_in") == EXPECTED


def test_cold_then_warm() -> None:
    found = states(Drive(warm_start=10.0, plateau=85.0, warm_time_s=60.0))
    assert order(found)[:6] == ["key_on", "cranking", "run_up", "idle_cold", "idle_warm", "tip_in"]
    cold = found.of("idle_cold")[0]
    # 85 - 75 exp(-t / 60) = 70 at t = 96.6 s
    assert cold.end_s == pytest.approx(96.6, abs=3.0)


def test_without_coolant_temperature_warm_is_assumed_and_said() -> None:
    found = states(Drive(leave_out=("coolant_temperature",)))
    assert total(found, "idle_warm") > 200.0
    assert any("taken as warm" in text for text in found.assumed)


def test_without_pedal_and_road_speed() -> None:
    out = ("accelerator_pedal_d", "accelerator_pedal_e", "idle_validation", "vehicle_speed")
    found = states(Drive(leave_out=out))
    assert total(found, "idle_warm") == pytest.approx(232.0, abs=12.0)
    assert total(found, "cruise") == pytest.approx(180.0, abs=15.0)
    assert any("no pedal position" in text for text in found.assumed)
    assert any("road speed" in text for text in found.assumed)


@pytest.mark.parametrize("stuck", [0.0, 1.0])
def test_a_stuck_idle_validation_is_outvoted(stuck: float) -> None:
    channels = Drive().channels()
    channels = [
        c if c.name != "idle_validation" else Channel(c.name, "", c.t_s, np.full(len(c), stuck)) for c in channels
    ]
    found = segment(build(channels, PROFILE)[0], PROFILE)
    assert order(found, "tip_in") == EXPECTED


def test_a_hole_in_the_record_is_a_gap() -> None:
    channels = []
    for c in Drive().channels():
        keep = (c.t_s < 200.0) | (c.t_s > 240.0)
        channels.append(Channel(c.name, c.unit, c.t_s[keep], c.value[keep]))
    found = segment(build(channels, PROFILE)[0], PROFILE)
    (gap,) = found.of("gap")
    assert (gap.start_s, gap.end_s) == pytest.approx((200.0, 240.0), abs=0.3)


def test_only_idle_recorded() -> None:
    plan = (("idle", 60, 800, 22, 0, 0),)
    found = states(Drive(plan=plan))
    assert order(found) == ["idle_warm"]
    assert total(found, "idle_warm") == pytest.approx(60.0, abs=1.0)


def test_a_failed_start_and_a_second_one() -> None:
    plan = (PLAN[0], ("crank", 4, 160, 0, 0, 0), PLAN[0], ("crank", 3, 180, 0, 0, 0), ("idle", 30, 800, 22, 0, 0))
    found = states(Drive(plan=plan, rate=20.0))
    assert [s for s in order(found) if s != "key_on"] == ["cranking", "cranking", "run_up", "idle_warm"]


def test_a_crank_that_nearly_halts_at_each_compression_is_cranking() -> None:
    """Speed while cranking, recorded within the cycle: 160 rpm with dips to 20 eight times a second."""
    t_s = np.arange(0.0, 20.0, 0.01)
    speed = np.where(t_s < 3.0, 0.0, np.where(t_s < 8.0, 90.0 + 70.0 * np.sin(2.0 * np.pi * 8.0 * t_s), 800.0))
    channels = [Channel("engine_speed", "rpm", t_s, speed), Channel("vehicle_speed", "km/h", t_s, 0.0 * t_s)]
    found = segment(build(channels, PROFILE)[0], PROFILE)
    assert order(found) == ["key_on", "cranking", "run_up", "idle_warm"]
    (cranking,) = found.of("cranking")
    assert (cranking.start_s, cranking.end_s) == pytest.approx((3.0, 8.0), abs=0.1)


def test_a_lost_value_is_no_stop() -> None:
    channels = Drive(plan=(("idle", 60, 800, 22, 0, 0),)).channels()
    speed = next(c for c in channels if c.name == "engine_speed")
    speed.value[300:302] = 0.0
    assert order(segment(build(channels, PROFILE)[0], PROFILE)) == ["idle_warm"]


def test_revving_while_standing_is_no_idle() -> None:
    plan = (("idle", 30, 800, 22, 0, 0), ("rev", 10, 2500, 30, 40, 0), ("idle", 30, 800, 22, 0, 0))
    found = states(Drive(plan=plan))
    assert order(found, "tip_in", "overrun") == ["idle_warm", "cruise", "idle_warm"]


def test_without_engine_speed() -> None:
    found = states(Drive(leave_out=("engine_speed",)))
    assert found.spans == ()
    assert "engine speed" in found.assumed[0]
    one = build([Channel("engine_speed", "rpm", np.array([1.0]), np.array([800.0]))], PROFILE)[0]
    assert segment(one, PROFILE).spans == ()


def speed_alone(value: Array) -> DriveStates:
    """States of an engine speed recorded ten times a second, with nothing beside it."""
    t_s = np.arange(len(value)) / 10.0
    return segment(ChannelSet({"engine_speed": Channel("engine_speed", "rpm", t_s, value)}), PROFILE)


def test_a_blip_ends_an_idle_that_only_its_speed_tells() -> None:
    speed = np.full(600, 800.0)
    speed[300:307] = [900.0, 1300.0, 1900.0, 2100.0, 1700.0, 1300.0, 1000.0]  # 0.5 s above 1200, the highest idle
    assert order(speed_alone(speed)) == ["idle_warm", "cruise", "idle_warm"]
    speed[300:307] = 800.0
    assert order(speed_alone(speed)) == ["idle_warm"]


@pytest.mark.parametrize("target", [800.0, None])
def test_hunting_is_one_idle_without_a_pedal_too(target: float | None) -> None:
    t_s = np.arange(900) / 10.0
    profile = EngineProfile(cylinders=6, idle=Idle(target_rpm=target))
    for hertz in (0.3, 0.5, 1.0, 2.0):
        speed = 800.0 + 150.0 * np.sin(2.0 * np.pi * hertz * t_s)
        channel = Channel("engine_speed", "rpm", t_s, speed)
        found = segment(ChannelSet({"engine_speed": channel}), profile)
        assert order(found) == ["idle_warm"]


def test_lost_values_make_no_cranking_of_an_idle() -> None:
    speed = np.full(12_000, 800.0)
    speed[200::90] = 0.0
    t_s = np.arange(len(speed)) / 100.0
    found = segment(ChannelSet({"engine_speed": Channel("engine_speed", "rpm", t_s, speed)}), PROFILE)
    assert total(found, "idle_warm") > 119.0


def test_an_engine_that_runs_down_at_once_was_not_cranked() -> None:
    t_s = np.arange(100) / 10.0
    speed = np.maximum(900.0 - 400.0 * t_s, 0.0)
    assert "cranking" not in order(speed_alone(speed))


def test_a_cold_engine_idles_fast_without_a_foot_on_it() -> None:
    t_s = np.arange(900) / 10.0
    speed, coolant = np.where(t_s < 40.0, 1150.0, 800.0), np.where(t_s < 40.0, 20.0, 85.0)
    channels = ChannelSet(
        {
            "engine_speed": Channel("engine_speed", "rpm", t_s, speed),
            "coolant_temperature": Channel("coolant_temperature", "degC", t_s, coolant),
        }
    )
    found = segment(channels, PROFILE)
    assert found.of("idle_cold")[0].duration_s == pytest.approx(40.0, abs=1.0)
    assert total(found, "idle_warm") == pytest.approx(50.0, abs=4.0)


def test_a_stray_first_value_does_not_make_idle_of_cranking() -> None:
    t_s = np.arange(600) / 10.0
    speed = np.where(t_s < 6.0, 180.0, 800.0)
    speed[0] = 600.0
    found = speed_alone(speed)
    assert [span.state for span in found.spans if span.duration_s > 1.0] == ["cranking", "idle_warm"]
    assert found.of("cranking")[0].end_s == pytest.approx(6.0, abs=0.2)


def test_latch() -> None:
    value = np.array([np.nan, 1.0, 3.0, 1.5, 0.5, 1.5, np.nan, 2.5, 1.1])
    np.testing.assert_array_equal(latch(value, 2.0, 1.0), [0, 0, 1, 1, 0, 0, 0, 1, 1])
    np.testing.assert_array_equal(latch(value, 1.0, 2.0), [1, 1, 0, 0, 1, 1, 1, 0, 0])
    assert latch(np.zeros(0), 2.0, 1.0).shape == (0,)


def test_a_single_value_of_engine_speed_is_said() -> None:
    alone = Channel("engine_speed", "rpm", np.array([1.0]), np.array([800.0]))
    assert "single value" in segment(ChannelSet({"engine_speed": alone}), PROFILE).assumed[0]
