"""Wheels and sensor files of the simulator: tooth counts, gaps, swapped wires, forms."""

from __future__ import annotations

import io
import wave
from typing import Any

import numpy as np
import pytest
import scipy.io.wavfile

from logan import simulate
from logan.simulate import parameters
from logan.simulate.simulation import Simulation


def idle(profile: str, seconds: float = 4.0, forms: tuple[str, ...] = ("edges_csv",), **more: Any) -> Simulation:
    sensors = {"start_s": 18.0, "seconds": seconds, "forms": forms, "sample_rate_hz": 20_000}
    return simulate.run(
        simulate.make_spec(profile=profile, drive="idle_only", duration_s=26, bus=None, sensors=sensors, **more)
    )


def active(simulation: Simulation, name: str) -> np.ndarray:
    assert simulation.recording is not None
    rising, falling = simulation.recording.edges()[name]
    wheel = simulation.recording.sensors[name]
    return falling if wheel.active_is_falling else rising


def pattern(times: np.ndarray) -> np.ndarray:
    """Tooth periods in pitches: each against the median of the periods around it."""
    period = np.diff(times)
    around = np.array([np.median(period[max(0, k - 8) : k + 9]) for k in range(len(period))])
    return period / around


@pytest.mark.parametrize(
    ("profile", "normal", "gap"),
    [("training_rail_four", 57, 3.0), ("training_rotary_six", 57, 3.0), ("training_spark_four", 34, 2.0)],
)
def test_gap(profile: str, normal: int, gap: float) -> None:
    # worked examples teeth_and_gap_60_2 and gap_ratio_36_1 (exact arithmetic): n-m-1 normal periods, one of m+1
    ratio = pattern(active(idle(profile), "crank"))
    gaps = np.flatnonzero(ratio > 1.6)
    assert len(gaps) > 30
    assert set(np.diff(gaps)) == {normal + 1}
    assert np.median(ratio[gaps]) == pytest.approx(gap, rel=0.05)


@pytest.mark.parametrize(
    ("profile", "normal", "long"), [("training_rotary_six", 56, 2.0), ("training_spark_four", 33, 1.5)]
)
def test_swapped_wires_of_a_coil(profile: str, normal: int, long: float) -> None:
    # worked examples vr_reversed_60_2 and vr_reversed_36_1 (published on an open wiki for 36-1): two equal long periods
    ratio = pattern(active(idle(profile, fault="crank_signal_inverted"), "crank"))
    longs = np.flatnonzero(ratio > 1.25)
    steps = np.diff(longs)
    assert set(steps) == {1, normal + 1}
    assert np.median(ratio[longs]) == pytest.approx(long, rel=0.05)


def test_swapped_wires_of_a_square_wave_sensor_shift_half_a_pitch() -> None:
    good, bad = idle("training_rail_four"), idle("training_rail_four", fault="crank_signal_inverted")
    a, b = active(good, "crank"), active(bad, "crank")
    ratio = pattern(b)
    assert np.median(ratio[ratio > 1.6]) == pytest.approx(3.0, rel=0.05)
    motion = good.run.motion
    shift = motion.angle_at(b[100:160] + 18.0) - motion.angle_at(a[100:160] + 18.0)
    assert np.abs(np.abs((shift + 3) % 6 - 3)).mean() == pytest.approx(3.0, abs=0.2)


def test_delay_grows_with_speed_and_offset_does_not() -> None:
    # worked example pure_delay: 0.5 ms at 1500 rpm are 4.5 degrees
    delayed = idle("training_rail_four", fault="cam_signal_delay", size=0.5)
    moved = idle("training_rail_four", fault="cam_phase_offset", size=5.0)
    good = idle("training_rail_four")
    wheel = parameters.profile("training_rail_four").cam_wheel
    assert wheel is not None

    def late(simulation: Simulation) -> float:
        angle = simulation.run.motion.angle_at(active(simulation, "cam") + 18.0)[:, None]
        away = (angle - np.array(wheel.edges_deg) + 360) % 720 - 360
        return float(np.median(away[np.arange(len(away)), np.abs(away).argmin(axis=1)]))

    def shift(simulation: Simulation) -> float:
        return late(simulation) - late(good)

    # the speed at the edges is a few percent off the mean speed: it swings with the firings
    assert shift(delayed) == pytest.approx(0.006 * 820 * 0.5, rel=0.05)
    assert shift(moved) == pytest.approx(5.0, abs=0.05)


def test_runout_swings_tooth_spacing_once_a_turn() -> None:
    # worked example runout_angle: ripple e/R of spacing is an angle amplitude of e/R radians
    clean = idle("training_rail_four")
    bent = idle("training_rail_four", fault="crank_wheel_runout", size=2.0)
    motion = clean.run.motion
    error = motion.angle_at(active(bent, "crank")[:580] + 18) - motion.angle_at(active(clean, "crank")[:580] + 18)
    assert np.ptp(error) / 2 == pytest.approx(np.degrees(0.02), rel=0.05)


def test_lost_teeth_are_counted_as_the_truth_says() -> None:
    simulation = idle("training_rail_v8", seconds=7.5, fault="crank_signal_dropout", size=400.0)
    lost = simulation.truth()["measures"]["crank_dropouts_per_1000rev"]
    ratio = pattern(active(simulation, "crank"))
    turns = 7.5 * 680 / 60
    seen = ((ratio > 1.6) & (ratio < 2.5)).sum()
    assert lost == pytest.approx(400, rel=0.6)
    assert seen / turns * 1000 == pytest.approx(lost, rel=0.35)


def test_pump_sensor_moves_with_the_key() -> None:
    def place(simulation: Simulation) -> float:
        angle = simulation.run.motion.angle_at(active(simulation, "pump") + 18.0)
        return float(np.median((angle + 60) % 120 - 60))

    good, bad = idle("training_rotary_six"), idle("training_rotary_six", fault="pump_key_wrong", size=-4)
    # contract, section 3: 2 * n * key_step_deg (0.5), four steps behind = 4 degrees late
    assert place(bad) - place(good) == pytest.approx(4.0, abs=0.1)


def test_coil_voltage_falls_through_zero_at_the_tooth() -> None:
    simulation = idle("training_rotary_six", forms=("wav",))
    assert simulation.recording is not None
    time, volts = simulation.recording.volts()
    v = volts["crank"]
    down = np.flatnonzero((v[:-1] > 0) & (v[1:] <= 0) & (v[:-1] - v[1:] > 0.5))
    crossing = time[down] + v[down] / (v[down] - v[down + 1]) / 20_000
    edges = active(simulation, "crank")
    edges = edges[(edges > 0) & (edges < 4.0)]
    nearest = edges[np.clip(np.searchsorted(edges, crossing), 1, len(edges) - 1)]
    before = edges[np.clip(np.searchsorted(edges, crossing) - 1, 0, len(edges) - 1)]
    error = np.minimum(np.abs(nearest - crossing), np.abs(crossing - before))
    assert np.median(error) < 5e-6
    assert len(crossing) == pytest.approx(len(edges), abs=4)


def test_forms_agree() -> None:
    """The same recording as edges, value change dump, sampled text and sound file (read by the standard library)."""
    simulation = idle("training_rail_four", seconds=1.0, forms=("edges_csv", "vcd", "waveform_csv", "wav"))
    assert simulation.recording is not None
    files = simulation.recording.files()
    rows = [line.split(",") for line in files["edges.csv"].decode().splitlines() if line[0] not in "#t"]
    crank = np.array([float(t) for t, name, edge in rows if name == "crank" and edge == "rising"])

    now, dumped = 0, []
    for line in files["vcd"].decode().splitlines():
        if line.startswith("#"):
            now = int(line[1:])
        elif line == "1!" and now:
            dumped.append(now * 1e-7)
    assert np.array(dumped) == pytest.approx(crank[-len(dumped) :], abs=1e-6)

    text = files["waveform.csv"].decode()
    header = text.splitlines()[2]
    assert header == "time_s,crank_v,cam_v"
    table = np.loadtxt(io.StringIO(text), delimiter=",", skiprows=3)
    with wave.open(io.BytesIO(files["wav"])) as sound:
        assert (sound.getnchannels(), sound.getframerate()) == (2, 20_000)
        samples = np.frombuffer(sound.readframes(sound.getnframes()), "<i2").reshape(-1, 2)
    assert samples[:, 0] / 32767 * 20 == pytest.approx(table[:, 1], abs=2e-3)
    up = table[1:, 0][(table[:-1, 1] < 2.5) & (table[1:, 1] >= 2.5)]
    assert len(up) == pytest.approx(len(crank), abs=1)
    assert np.abs(up - crank[-len(up) :]).max() < 2 / 20_000


@pytest.mark.parametrize("profile", ["training_rail_four", "training_rotary_six"])
def test_sound_file_as_another_reader_has_it(profile: str) -> None:
    """scipy.io.wavfile and the standard library give the same samples and so the same edges; those are the wheel's."""
    simulation = idle(profile, seconds=1.0, forms=("wav",))
    assert simulation.recording is not None
    file = simulation.recording.files()["wav"]
    rate, theirs = scipy.io.wavfile.read(io.BytesIO(file))
    with wave.open(io.BytesIO(file)) as sound:
        ours = np.frombuffer(sound.readframes(sound.getnframes()), "<i2").reshape(-1, sound.getnchannels())
    assert rate == 20_000
    np.testing.assert_array_equal(theirs, ours)
    volts = theirs[:, 0] / 32767 * 20
    middle = 2.5 if profile == "training_rail_four" else 0.0
    falling = (volts[:-1] > middle) & (volts[1:] <= middle) & (volts[:-1] - volts[1:] > 0.3)
    found = np.flatnonzero(falling) / rate
    edges = simulation.recording.edges()["crank"][1]
    edges = edges[(edges > 0.001) & (edges < 0.999)]
    assert len(found) == pytest.approx(len(edges), abs=4)  # a tooth or two in the first and last ms
    away = np.abs(found[:, None] - edges).min(axis=1)
    assert np.median(away) < 1 / rate


def test_teeth_pass_backwards_when_the_crank_swings_back() -> None:
    """The level of a square-wave sensor hangs on the angle alone, whichever way it was reached."""
    sensors = {"start_s": 20.0, "seconds": 40.0}
    spec = simulate.make_spec(profile="training_rail_v8", drive="start_stop", bus=None, sensors=sensors)
    simulation = simulate.run(spec)
    assert simulation.recording is not None
    wheel = simulation.signals.profile.crank_wheel
    assert wheel is not None
    back = next(leg for leg in simulation.run.motion.legs() if not leg.forwards)
    rising, falling = simulation.recording.edges()["crank"]
    time = np.arange(back.time_s[0] - 0.3, back.time_s[-1] + 0.3, 0.0005)
    count = np.searchsorted(rising + 20, time) - np.searchsorted(falling + 20, time)
    level = count - count.min()
    assert set(level.tolist()) == {0, 1}
    angle = simulation.run.motion.angle_at(time)
    edges = np.array(wheel.angles_deg())
    pitch = np.diff(edges).min()
    after = (angle[:, None] - edges) % 360
    clear = np.minimum(after, (pitch / 2 - after) % 360).min(axis=1) > 0.1
    clear &= np.minimum(360 - after, (after - pitch / 2) % 360).min(axis=1) > 0.1
    expected = (
        (after < pitch / 2).any(axis=1) if wheel.active_edge == "rising" else (360 - after < pitch / 2).any(axis=1)
    )
    assert (level[clear] == expected[clear]).mean() > 0.995
    turned = (time > back.time_s[0]) & (time < back.time_s[-1])
    assert np.abs(np.diff(level[turned])).sum() > 4


def test_recording_of_a_standing_engine_is_empty() -> None:
    spec = simulate.make_spec(
        drive="idle_only",
        duration_s=1.5,
        bus=None,
        sensors={"seconds": 1.0, "forms": ["edges_csv", "vcd", "wav", "waveform_csv"], "sample_rate_hz": 1000},
    )
    simulation = simulate.run(spec)
    assert simulation.recording is not None
    files = simulation.recording.files()
    assert files["edges.csv"].decode().splitlines()[-1] == "time_s,channel,edge"
    assert len(files["waveform.csv"].decode().splitlines()) == 3 + 1000
    assert "crank_dropouts_per_1000rev" not in simulation.truth()["measures"]
