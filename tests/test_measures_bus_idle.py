"""Idle speed and hunting: known truths, coverage, and what sparse sampling can and cannot tell."""

from __future__ import annotations

import numpy as np
import pytest
from drive_sample import Drive

from logan.channels import build
from logan.drive import segment
from logan.dsp.swing import Stretch, strongest_swing
from logan.measures import compute
from logan.measures.settled import settled_spans
from logan.model.channel import Channel
from logan.model.measure import Measure
from logan.model.profile import EngineProfile, Idle
from logan.model.record import Record

IDLE_ONLY = (("idle", 70, 800, 22, 0, 0),)


def measured(drive: Drive) -> tuple[dict[str, Measure], dict[str, str]]:
    found, missing = compute(drive.record())
    return {m.name: m for m in found}, {m.measure: m.why for m in missing}


@pytest.mark.parametrize(
    "drive",
    [
        Drive(plan=IDLE_ONLY),
        Drive(plan=IDLE_ONLY, rate=2.0, slow_rate=1.0, jitter=0.25),
        Drive(plan=IDLE_ONLY, rate=50.0, idle_sd=8.0, idle_memory_s=0.5),
        Drive(plan=IDLE_ONLY, hunt_hz=0.7, hunt_rpm=18.0),
    ],
    ids=["10 Hz", "2 Hz jittered", "50 Hz remembering", "hunting"],
)
def test_intervals_cover(drive: Drive) -> None:
    """Every interval holds its truth in 92 % of seeded drives and more; hunting ones are wider on purpose."""
    runs = 40
    truth = {
        "idle_speed_mean_rpm": 800.0,
        "idle_speed_std_rpm": float(np.sqrt(drive.idle_sd**2 + drive.hunt_rpm**2 / 2.0 + drive.step_rpm**2 / 12.0)),
        "idle_hunt_amplitude_rpm": drive.hunt_rpm,
    }
    covered = dict.fromkeys(truth, 0)
    for seed in range(runs):
        drive.seed = seed
        found, _ = measured(drive)
        for name, value in truth.items():
            covered[name] += found[name].low <= value <= found[name].high
    # of 40 runs at 95 %, fewer than 34 have a chance of 1 in 1000
    assert min(covered.values()) >= 34, covered


def test_spread_and_range_are_those_of_the_speed_as_recorded() -> None:
    drive = Drive(plan=IDLE_ONLY)
    record = drive.record()
    found, _ = measured(drive)
    (span,) = settled_spans(record, "idle_warm")
    t_s, speed = record.channels.best["engine_speed"].finite()
    inside = speed[(t_s >= span[0]) & (t_s <= span[1])]
    p2p = found["idle_speed_p2p_rpm"]
    assert p2p.value == pytest.approx(np.ptp(inside), abs=1.0)
    assert found["idle_speed_std_rpm"].value == pytest.approx(np.std(inside), rel=0.03)
    assert found["idle_speed_mean_rpm"].n == pytest.approx(len(inside), abs=20)
    assert p2p.low < p2p.value < p2p.high


def test_the_first_seconds_and_the_way_out_do_not_count() -> None:
    found, _ = measured(Drive())
    assert found["idle_speed_std_rpm"].value == pytest.approx(4.0, abs=0.5)
    first = found["idle_speed_mean_rpm"].provenance.spans_s[0]
    # idle begins at 6 s, after a run-up of about 2 s; 5 s later it counts
    assert first[0] >= 11.0
    assert first[1] <= 126.5
    assert found["idle_speed_mean_rpm"].provenance.channels == ["engine_speed"]
    assert found["idle_speed_mean_rpm"].provenance.files == ["made_up.csv"]


@pytest.mark.parametrize(("rate", "jitter"), [(2.0, 0.2), (10.0, 0.0), (100.0, 0.0)])
def test_hunting_is_found(rate: float, jitter: float) -> None:
    found, _ = measured(Drive(rate=rate, jitter=jitter, hunt_hz=0.6, hunt_rpm=20.0))
    amplitude, frequency = found["idle_hunt_amplitude_rpm"], found["idle_hunt_frequency_hz"]
    assert amplitude.low > 10.0
    assert amplitude.low <= 20.0 <= amplitude.high
    assert frequency.low <= 0.6 <= frequency.high


def test_scatter_is_not_hunting() -> None:
    """Noise that remembers has much power at low frequencies; at 1 % few of 40 records may call it a swing."""
    called = 0
    for seed in range(40):
        drive = Drive(plan=IDLE_ONLY, seed=seed, idle_sd=8.0, idle_memory_s=[0.0, 0.5, 1.5, 3.0][seed % 4])
        found, missing = measured(drive)
        called += "idle_hunt_frequency_hz" in found
        if "idle_hunt_frequency_hz" in missing:
            assert found["idle_hunt_amplitude_rpm"].low == 0.0
            assert "stands out" in missing["idle_hunt_frequency_hz"]
    assert called <= 3


def test_a_weak_cylinder_polled_at_5_hz_is_not_hunting() -> None:
    """Half order at 800 rpm: 6.67 Hz; at 5 values a second it looks like 1.67 Hz (|f - round(f / fs) fs|)."""
    found, missing = measured(Drive(rate=5.0, half_order_rpm=8.0))
    assert "half order" in missing["idle_hunt_frequency_hz"]
    assert found["idle_hunt_amplitude_rpm"].low == 0.0
    # at 50 values a second nothing is folded, and the half order is out of the band
    found, missing = measured(Drive(rate=50.0, half_order_rpm=8.0))
    assert found["idle_hunt_amplitude_rpm"].value < 2.0


def test_fuel_that_swings_along_speaks_for_hunting() -> None:
    """The same 1.667 Hz at 5 Hz, but the injected quantity swings with it: no folded order."""
    drive = Drive(rate=5.0, hunt_hz=800.0 / 120.0 - 5.0, hunt_rpm=12.0)
    assert "half order" in measured(drive)[1]["idle_hunt_frequency_hz"]
    record = drive.record()
    speed = record.channels.best["engine_speed"]
    swing = 1.5 * np.cos(2.0 * np.pi * drive.hunt_hz * speed.t_s)
    quantity = Channel("fuel_quantity", "mg/stroke", speed.t_s, np.round(9.0 + swing, 1))
    channel_set, _ = build([*drive.channels(), quantity], record.profile)
    again = Record(captures=(), channels=channel_set, states=record.states, profile=record.profile)
    found = {m.name: m for m in compute(again)[0]}
    assert found["idle_hunt_frequency_hz"].value == pytest.approx(1.667, abs=0.01)
    assert any("fuel_quantity" in note for note in found["idle_hunt_frequency_hz"].notes)


def test_even_polling_cannot_tell_a_frequency_from_its_image() -> None:
    """At exactly 2 Hz a swing of 0.5 Hz is one of 1.5 or 2.5 Hz as well: the interval says so."""
    found, _ = measured(Drive(rate=2.0, hunt_hz=0.5, hunt_rpm=20.0))
    frequency = found["idle_hunt_frequency_hz"]
    assert frequency.value == pytest.approx(0.5, abs=0.01)
    assert frequency.high == pytest.approx(2.5, abs=0.02)
    found, _ = measured(Drive(rate=2.0, jitter=0.25, hunt_hz=1.4, hunt_rpm=20.0))
    assert found["idle_hunt_frequency_hz"].value == pytest.approx(1.4, abs=0.01)


def test_fifteen_seconds_are_too_short() -> None:
    found, missing = measured(Drive(plan=(("idle", 15, 800, 22, 0, 0),), hunt_hz=0.7, hunt_rpm=20.0))
    assert "idle_speed_mean_rpm" in found
    assert "idle_hunt_amplitude_rpm" not in found
    assert "20 s" in missing["idle_hunt_frequency_hz"]


def test_a_fast_swing_beats_often_enough_in_a_short_idle() -> None:
    """Beats count, not seconds: 1.7 Hz beats some twenty times in what is settled of 16 s."""
    for seed in range(5):
        drive = Drive(plan=(("idle", 16, 800, 22, 0, 0),), hunt_hz=1.7, hunt_rpm=20.0, seed=seed)
        found, _ = measured(drive)
        amplitude, frequency = found["idle_hunt_amplitude_rpm"], found["idle_hunt_frequency_hz"]
        assert 10.0 < amplitude.low <= 20.0 <= amplitude.high
        assert frequency.low <= 1.7 <= frequency.high


def test_a_short_idle_that_scatters_says_nothing() -> None:
    called = 0
    for seed in range(40):
        plan = (("idle", 13 + seed % 7, 800, 22, 0, 0),)
        drive = Drive(plan=plan, seed=seed, idle_sd=8.0, idle_memory_s=[0.0, 0.5, 1.5, 3.0][seed // 7 % 4])
        found, missing = measured(drive)
        called += "idle_hunt_amplitude_rpm" in found
        why = missing.get("idle_hunt_amplitude_rpm", "")
        assert not why.startswith("20 s")
    assert called <= 1


def test_a_wave_that_is_no_sine_keeps_its_peaks() -> None:
    """A triangle of 20 rpm has a fundamental of 8 / pi^2 of that only."""
    rng = np.random.default_rng(1)
    t = np.arange(0.0, 60.0, 0.1)
    wave = 20.0 * 2.0 / np.pi * np.arcsin(np.sin(2.0 * np.pi * 0.7 * t))
    found = strongest_swing([Stretch(t, 800.0 + wave + 3.0 * rng.standard_normal(len(t)))])
    assert found.amplitude == pytest.approx(20.0, abs=2.2)
    assert found.amplitude + 1.96 * found.amplitude_sd >= 20.0


@pytest.mark.parametrize(
    ("drive", "words"),
    [
        (Drive(plateau=60.0, warm_start=20.0), "only before it is warm"),
        (Drive(leave_out=("engine_speed",)), "engine_speed"),
        (Drive(plan=(("drive", 60, 1500, 40, 25, 50),)), "no idle"),
        (
            Drive(plan=(("drive", 60, 1500, 40, 25, 50), ("idle", 6, 800, 22, 0, 0), ("drive", 60, 1500, 40, 25, 50))),
            "5 s",
        ),
    ],
)
def test_what_is_missing_is_explained(drive: Drive, words: str) -> None:
    _, missing = measured(drive)
    for name in ("idle_speed_mean_rpm", "idle_speed_std_rpm", "idle_speed_p2p_rpm", "idle_hunt_amplitude_rpm"):
        assert words in missing[name]


def test_time_stamps_in_whole_seconds() -> None:
    """Open drive logs hold two rows with one time: 30 rows a second under one stamp are survived as well."""
    record = Drive(plan=IDLE_ONLY, rate=30.0).record()
    channels = [Channel(c.name, c.unit, np.floor(c.t_s), c.value) for c in record.channels]
    channel_set, _ = build(channels, record.profile)
    again = Record(
        captures=(), channels=channel_set, states=segment(channel_set, record.profile), profile=record.profile
    )
    found = {m.name: m for m in compute(again)[0]}
    assert found["idle_speed_std_rpm"].low <= 4.0 <= found["idle_speed_std_rpm"].high


def test_a_constant_idle() -> None:
    t_s = np.arange(0.0, 60.0, 0.5)
    channels = [
        Channel("engine_speed", "rpm", t_s, np.full(len(t_s), 800.0)),
        Channel("vehicle_speed", "km/h", t_s, 0.0 * t_s),
    ]
    profile = EngineProfile(idle=Idle(target_rpm=800.0))
    channel_set, _ = build(channels, profile)
    states = segment(channel_set, profile)
    found = {m.name: m for m in compute(Record(captures=(), channels=channel_set, states=states, profile=profile))[0]}
    assert found["idle_speed_mean_rpm"].value == 800.0
    assert found["idle_speed_std_rpm"].value == 0.0
    assert found["idle_hunt_amplitude_rpm"].value == pytest.approx(0.0, abs=1e-9)
    assert all(np.isfinite([m.low, m.high]).all() for m in found.values())


def test_a_speed_that_climbs_without_a_pedal_in_the_record_is_no_idle() -> None:
    """Only engine speed, 800 to 1000 rpm in a minute: a foot on the pedal, for all the record says."""
    t_s = np.arange(0.0, 60.0, 0.1)
    for climb in (200.0, 0.0):
        speed = 800.0 + climb * t_s / 60.0 + np.random.default_rng(5).normal(0.0, 6.0, len(t_s))
        found, _ = build([Channel("engine_speed", "rpm", t_s, speed, 0.0, "test", "7E8", "a.log")], EngineProfile())
        record = Record((), found, segment(found, EngineProfile(idle=Idle(target_rpm=800.0))), EngineProfile())
        measures, missing = compute(record)
        names = {measure.name for measure in measures}
        if climb:
            assert not [name for name in names if name.startswith("idle_")]
            why = {one.measure: one.why for one in missing}
            assert "no pedal is recorded" in why["idle_speed_std_rpm"]
        else:
            assert "idle_speed_std_rpm" in names
