"""Engine speed from a crank recording alone: arithmetic of the turn, and the bus of the same drive beside it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.drive import segment
from logan.dsp.wheel import decode
from logan.measures.idle import idle_speed
from logan.measures.idle_hunting import idle_hunting
from logan.measures.wheel_reading import read_all
from logan.model.channel import FROM_CRANK, Channel, ChannelSet
from logan.model.measure import Measure
from logan.model.profile import CrankWheel, EngineProfile
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture
from logan.pipeline.analyse import Analysis, analyse
from logan.pipeline.crank_speed import turn_speed, with_crank_speed
from tests.wheel_trains import Motion, edges, evenly, turning

Array = NDArray[np.float64]
SAMPLES = Path(__file__).parent.parent / "sample_logs"
WHEEL = evenly(60, 2, 84.0)
PROFILE = EngineProfile(crank_wheel=CrankWheel(teeth=60, missing=2, first_edge_deg=84.0))


def recording(file: str, turns: float, rpm: float, offset_s: float | None = None) -> SensorCapture:
    """A crank that turns evenly."""
    t_s = turning(turns, rpm).time_at(edges(turning(turns, rpm), WHEEL))
    return SensorCapture(file, Edges(rising_s={}, falling_s={"crank": t_s}), offset_s)


def test_a_turn_takes_60_over_rpm_whatever_the_teeth() -> None:
    """By definition n rpm are n turns in 60 s; each passes the same tooth, wherever that one stands."""
    rng = np.random.default_rng(3)
    motion = turning(60.0, 750.0)
    angle = edges(motion, WHEEL)
    eccentric = angle + 0.8 * np.sin(np.radians(angle)) + np.tile(rng.normal(0.0, 0.2, len(WHEEL)), 60)
    t_s, rpm = turn_speed(decode(motion.time_at(eccentric), WHEEL))
    assert len(rpm) >= 57
    np.testing.assert_allclose(rpm, 750.0, rtol=1e-9)
    np.testing.assert_allclose(np.diff(t_s), 60.0 / 750.0, rtol=1e-6)


def test_lost_teeth_and_a_changing_speed() -> None:
    """The mean speed of a turn is 60 s over the time that it took, by the motion itself."""
    rng = np.random.default_rng(4)
    motion = turning(80.0, 700.0, to_rpm=1400.0, depth=0.02)
    angle = edges(motion, WHEEL)
    kept = angle[rng.uniform(size=len(angle)) > 0.02]
    t_s, rpm = turn_speed(decode(motion.time_at(kept), WHEEL))
    assert len(rpm) > 60
    for middle_s, found in zip(t_s, rpm, strict=True):
        half_s = 30.0 / found
        turned = np.interp([middle_s - half_s, middle_s + half_s], motion.t_s, motion.angle_deg)
        assert np.diff(turned) == pytest.approx(360.0, abs=0.5)


@pytest.mark.parametrize("cylinders", [3, 4, 5, 6, 8])
def test_even_firing_swings_no_turn(cylinders: int) -> None:
    """Speed is least at each dead centre: every turn from there is as long as the next, with 3 and 5 cylinders too."""
    motion = turning(80.0, 800.0, depth=-0.05, order=cylinders / 2.0)
    wheel = evenly(60, 2, 12.0)
    _, rpm = turn_speed(decode(motion.time_at(edges(motion, wheel)), wheel))
    assert np.ptp(rpm) < 0.5


def alone(name: str, engine: str) -> Analysis:
    return analyse([SAMPLES / f"{name}.edges.csv.gz"], engine=engine)


@pytest.mark.parametrize(
    ("name", "engine"),
    [
        ("healthy_rotary_six", "training_rotary_six"),
        ("healthy_rail_four", "training_rail_four"),
        ("cam_signal_dropout", "training_rail_four"),
        ("crank_wheel_runout", "training_spark_four"),
        ("crank_signal_dropout", "training_rail_v8"),
        ("cylinder_fuel_low", "training_rotary_six"),
    ],
)
def test_idle_of_the_sensor_is_that_of_the_bus(name: str, engine: str) -> None:
    """Two recorders of one engine: what the control module told in the same seconds lies in the interval."""
    by_sensor = {m.name: m for m in alone(name, engine).finding.measures}
    both = analyse([SAMPLES / f"{name}.edges.csv.gz", SAMPLES / f"{name}.log.gz"], engine=engine)
    (place_s,) = [capture.offset_s for capture in both.record.sensors]
    assert place_s is not None
    spans_s = np.array(by_sensor["idle_speed_mean_rpm"].provenance.spans_s) + place_s
    t_s, rpm = both.record.channels.best["engine_speed"].finite()
    told = rpm[np.searchsorted(spans_s.ravel(), t_s) % 2 == 1]
    assert len(told) > 100
    assert both.record.channels.best["engine_speed"].source != FROM_CRANK, "what the control module tells goes before"
    for measure, value in (("idle_speed_mean_rpm", np.mean(told)), ("idle_speed_std_rpm", np.std(told, ddof=1))):
        assert by_sensor[measure].low <= value <= by_sensor[measure].high, measure


def test_hunting_is_found_in_a_crank_recording() -> None:
    found = alone("idle_hunting", "training_rotary_six")
    by_bus = analyse([SAMPLES / "idle_hunting.log.gz"], engine="training_rotary_six").finding.measures
    hertz, beside = ({m.name: m for m in ms}["idle_hunt_frequency_hz"] for ms in (found.finding.measures, by_bus))
    assert hertz.low <= beside.high
    assert beside.low <= hertz.high
    assert any("pedal is taken as released" in note for note in hertz.notes)
    assert found.finding.ranking.faults[0].fault == "idle_hunting"


def test_what_has_its_speed_keeps_it() -> None:
    told = ChannelSet({"engine_speed": Channel("engine_speed", "rpm", np.arange(3.0), np.full(3, 900.0))})
    assert with_crank_speed(told, [recording("crank.csv", 40.0, 800.0)], PROFILE) == (told, [])


def test_without_a_wheel_there_is_no_speed() -> None:
    nothing = ChannelSet({})
    assert with_crank_speed(nothing, [recording("crank.csv", 40.0, 800.0)], EngineProfile()) == (nothing, [])


def test_of_recordings_without_a_clock_in_common_the_longest_counts() -> None:
    sensors = [recording("short.csv", 30.0, 900.0), recording("long.csv", 60.0, 800.0)]
    found, (remark,) = with_crank_speed(ChannelSet({}), sensors, PROFILE)
    speed = found.best["engine_speed"]
    assert (speed.file, speed.source) == ("long.csv", FROM_CRANK)
    np.testing.assert_allclose(speed.value, 800.0)
    assert remark.file == "short.csv"
    assert "long.csv" in remark.text


def test_recordings_on_one_clock_follow_each_other() -> None:
    sensors = [recording("second.csv", 60.0, 900.0, 100.0), recording("first.csv", 30.0, 800.0, 0.0)]
    found, remarks = with_crank_speed(ChannelSet({}), sensors, PROFILE)
    speed = found.best["engine_speed"]
    assert remarks == []
    assert (np.diff(speed.t_s) > 0).all()
    assert (round(speed.value[0]), round(speed.value[-1])) == (800, 900)
    assert speed.t_s[-1] > 100.0


def test_channels_of_another_clock_get_no_speed() -> None:
    table = ChannelSet(
        {"coolant_temperature": Channel("coolant_temperature", "degC", np.arange(3.0), np.full(3, 80.0))}
    )
    found, (remark,) = with_crank_speed(table, [recording("crank.csv", 40.0, 800.0)], PROFILE)
    assert found is table
    assert "no clock in common" in remark.text


@pytest.mark.parametrize("hertz", [0.5, 1.0, 2.0, 2.8])
def test_a_swing_has_its_size_though_the_mean_of_a_turn_flattens_it(hertz: float) -> None:
    """A sine of known frequency and amplitude on the speed of an ideal crank."""
    t_s = np.linspace(0.0, 60.0, 600_001)
    speed = 800.0 + 30.0 * np.sin(2.0 * np.pi * hertz * t_s)
    angle = np.concatenate([[0.0], np.cumsum(6.0 * 0.5 * (speed[1:] + speed[:-1]) * np.diff(t_s))])
    motion = Motion(t_s, angle)
    content = Edges(rising_s={}, falling_s={"crank": motion.time_at(edges(motion, WHEEL))})
    sensors = (SensorCapture("crank.csv", content),)
    channels, _ = with_crank_speed(ChannelSet({}), sensors, PROFILE)
    record = Record(captures=(), channels=channels, states=segment(channels, PROFILE), profile=PROFILE, sensors=sensors)
    found = {m.name: m for m in idle_hunting(record) if isinstance(m, Measure)}
    assert found["idle_hunt_frequency_hz"].value == pytest.approx(hertz, abs=0.02)
    assert found["idle_hunt_amplitude_rpm"].value == pytest.approx(30.0, rel=0.05)


@pytest.mark.parametrize(("rpm", "idles"), [(800.0, True), (1400.0, True), (2200.0, False)])
def test_a_steady_speed_that_no_engine_idles_at_is_no_idle(rpm: float, idles: bool) -> None:
    """No road-vehicle engine idles at 2200 rpm: common practice, no source."""
    channels, _ = with_crank_speed(ChannelSet({}), [recording("crank.csv", 400.0, rpm)], PROFILE)
    assert any(span.state == "idle_warm" for span in segment(channels, PROFILE).spans) == idles


@pytest.mark.parametrize("gone", [0, 57])
def test_a_broken_tooth_beside_the_dead_centre_takes_no_speed_away(gone: int) -> None:
    """Of 60-2 the first or last tooth is gone for good; the next pair across the dead centre marks the turns."""
    motion = turning(100.0, 800.0)
    broken = np.delete(np.sort(evenly(60, 2, 6.0)), gone)
    profile = EngineProfile(crank_wheel=CrankWheel(teeth=60, missing=2, first_edge_deg=6.0))
    content = Edges(rising_s={}, falling_s={"crank": motion.time_at(edges(motion, broken))})
    found, _ = with_crank_speed(ChannelSet({}), [SensorCapture("crank.csv", content)], profile)
    speed = found.best["engine_speed"].value
    assert len(speed) > 90
    np.testing.assert_allclose(speed, 800.0, rtol=1e-6)


def test_recordings_at_the_same_time_on_one_clock_are_not_mixed() -> None:
    sensors = [recording("long.csv", 60.0, 800.0, 0.0), recording("short.csv", 30.0, 900.0, 1.0)]
    found, (remark,) = with_crank_speed(ChannelSet({}), sensors, PROFILE)
    assert found.best["engine_speed"].file == "long.csv"
    assert "at the same time" in remark.text


def test_another_source_of_engine_speed_goes_before() -> None:
    other = Channel("engine_speed", "rpm", np.arange(3.0), np.full(3, 900.0))
    held = ChannelSet({"oil_temperature": Channel("oil_temperature", "degC", np.arange(3.0), np.full(3, 90.0))},
                      {"oil_temperature": (other,)})  # fmt: skip
    assert with_crank_speed(held, [recording("crank.csv", 40.0, 800.0, 0.0)], PROFILE) == (held, [])


def test_channels_that_only_seem_to_share_a_clock_get_no_speed() -> None:
    table = ChannelSet(
        {"coolant_temperature": Channel("coolant_temperature", "degC", np.arange(3.0), np.full(3, 80.0))}
    )
    sensors = [recording("crank.csv", 40.0, 800.0, 0.0)]
    assert "engine_speed" in with_crank_speed(table, sensors, PROFILE, others_on_clock=True)[0]
    assert "engine_speed" not in with_crank_speed(table, sensors, PROFILE, others_on_clock=False)[0]


def test_a_lost_edge_of_a_wheel_without_a_gap_makes_no_slow_turn() -> None:
    """Of one tooth a turn, a lost edge leaves two turns that look like one at half the speed."""
    t_s = turning(400.0, 800.0).time_at(edges(turning(400.0, 800.0), np.array([90.0])))
    kept = np.delete(t_s, np.arange(20, 380, 37))
    profile = EngineProfile(crank_wheel=CrankWheel(edges_deg=[90.0]))
    content = Edges(rising_s={}, falling_s={"crank": kept})
    found, _ = with_crank_speed(ChannelSet({}), [SensorCapture("crank.csv", content)], profile)
    np.testing.assert_allclose(found.best["engine_speed"].value, 800.0, rtol=1e-6)


def test_the_mean_of_a_hunting_idle_is_turns_over_time() -> None:
    """By definition: what the crank has turned over the time that it took, whatever the speed did meanwhile."""
    t_s = np.linspace(0.0, 60.0, 600_001)
    speed = 800.0 + 150.0 * np.sin(2.0 * np.pi * 0.5 * t_s)
    angle = np.concatenate([[0.0], np.cumsum(6.0 * 0.5 * (speed[1:] + speed[:-1]) * np.diff(t_s))])
    motion = Motion(t_s, angle)
    content = Edges(rising_s={}, falling_s={"crank": motion.time_at(edges(motion, WHEEL))})
    channels, _ = with_crank_speed(ChannelSet({}), [SensorCapture("crank.csv", content)], PROFILE)
    record = Record(captures=(), channels=channels, states=segment(channels, PROFILE), profile=PROFILE)
    found = {m.name: m for m in idle_speed(record) if isinstance(m, Measure)}["idle_speed_mean_rpm"]
    ((begin_s, end_s),) = found.provenance.spans_s
    turned = np.diff(np.interp([begin_s, end_s], t_s, angle))[0] / 360.0
    assert found.value == pytest.approx(60.0 * turned / (end_s - begin_s), abs=3.0)
    assert found.value < np.mean(channels.best["engine_speed"].value) - 5.0


def test_a_reading_is_made_once_for_a_recording_and_profile() -> None:
    capture = recording("crank.csv", 40.0, 800.0)
    (first,), (again,) = read_all([capture], PROFILE), read_all([capture], PROFILE)
    assert first.train is again.train
    other = EngineProfile(crank_wheel=CrankWheel(teeth=60, missing=2, first_edge_deg=12.0))
    (by_other,) = read_all([capture], other)
    assert by_other.train is not first.train
    assert by_other.train.angles_deg[0] != first.train.angles_deg[0]
