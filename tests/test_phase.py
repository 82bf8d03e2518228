"""Cam against crank: interpolation, place in the cycle, phase and its parts, lost edges, run-out, polarity."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import numpy as np
import pytest
import scipy.stats
from numpy.typing import NDArray

from logan.dsp.edges import crossings
from logan.dsp.phase import PhaseRows, angle_at, by_cycle, phase_rows
from logan.dsp.sync import synchronise, wrap
from logan.dsp.wheel import decode
from logan.measures import edge_counts, phase, wheel
from logan.measures.phase import broadcast_phase
from logan.measures.rates import poisson_rate
from logan.measures.registry import Results
from logan.measures.timing_pump import timing_by_pump
from logan.measures.wheel_reading import read
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates
from logan.model.finding import Ranking
from logan.model.measure import Measure, Missing, Provenance
from logan.model.profile import CamWheel, CrankWheel, EngineProfile, Flank, Pump
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture, Waveform
from logan.ranking.rank import rank
from tests.wheel_trains import Motion, edges, evenly, turning

Array = NDArray[np.float64]

CAM_DEG = np.array([54.0, 174.0, 294.0, 414.0, 534.0, 654.0, 684.0])
CRANK = CrankWheel(teeth=60, missing=2, first_edge_deg=84.0)
PROFILE = EngineProfile(
    name="invented six", crank_wheel=CRANK, cam_wheel=CamWheel(edges_deg=CAM_DEG.tolist()),
    pump=Pump(edges_deg=[0.0, 120.0, 240.0, 360.0, 480.0, 600.0]),
)  # fmt: skip
NO_STATES = DriveStates.__new__(DriveStates)


def cam_phase(held: Record) -> Results:
    return phase.cam_phase(held, read(held))


def pump_phase(held: Record) -> Results:
    return phase.pump_phase(held, read(held))


def crank_wheel(held: Record) -> Results:
    return wheel.crank_wheel(held, read(held))


def record(
    crank_s: Array, others: dict[str, Array], profile: EngineProfile = PROFILE, resolution_s: float = 0.0
) -> Record:
    falling = {"crank": crank_s, **others}
    content = Edges(rising_s={}, falling_s=falling, resolution_s=resolution_s)
    capture = SensorCapture("crank.csv", content)
    return Record(captures=(), channels=ChannelSet({}), states=NO_STATES, profile=profile, sensors=(capture,))


def cam_edges(
    motion: Motion, rng: np.random.Generator, *, offset_deg: float = 0.0, delay_ms: float = 0.0,
    jitter_deg: float = 0.0, drift_deg_per_min: float = 0.0, target_deg: Array = CAM_DEG,
) -> Array:  # fmt: skip
    """Times of cam edges that are off by a fixed angle, late by a fixed time, jittery and drifting."""
    angle = edges(motion, target_deg, 720.0)
    angle = angle[(angle > 30.0) & (angle < motion.angle_deg[-1] - 30.0)]
    minutes = (motion.time_at(angle) - 0.5 * motion.t_s[-1]) / 60.0
    angle = angle + offset_deg + drift_deg_per_min * minutes + jitter_deg * rng.standard_normal(len(angle))
    return np.sort(motion.time_at(angle) + 1e-3 * delay_ms)


def crank_edges(
    motion: Motion, rng: np.random.Generator, jitter_s: float = 1e-6, cut: int = 20, teeth: int = 60, gap: int = 2
) -> Array:
    """Times of crank edges; the recording starts somewhere in a turn."""
    t = motion.time_at(edges(motion, evenly(teeth, gap, 84.0)))
    return t[cut:] + jitter_s * rng.standard_normal(len(t) - cut)


def with_wheel(teeth: int, gap: int) -> EngineProfile:
    """The same engine with another crank wheel."""
    return msgspec.structs.replace(PROFILE, crank_wheel=CrankWheel(teeth=teeth, missing=gap, first_edge_deg=84.0))


def results(found: Results) -> dict[str, Measure | Missing]:
    return {r.name if isinstance(r, Measure) else r.measure: r for r in found}


def value(found: dict[str, Measure | Missing], name: str) -> float:
    result = found[name]
    assert isinstance(result, Measure), result
    assert isinstance(result.value, float)
    return result.value


def holds(found: dict[str, Measure | Missing], name: str, truth: float) -> bool:
    result = found[name]
    assert isinstance(result, Measure), result
    assert isinstance(result.low, float)
    assert isinstance(result.high, float)
    return result.low <= truth <= result.high


def test_worked_example_of_a_cam_edge_between_two_teeth() -> None:
    """worked_examples cam_phase_linear_interp: teeth at 10.000 and 11.250 ms, cam edge at 10.700 ms: 123.36 deg."""
    t = 10.0e-3 + 1.25e-3 * np.arange(-2, 4)
    angle, bent = angle_at(t, 120.0 + 6.0 * np.arange(-2, 4), np.array([10.7e-3]))
    assert angle == pytest.approx([123.36], abs=1e-9)
    assert bent == pytest.approx([0.0], abs=1e-9)


def test_worked_example_of_the_error_under_acceleration() -> None:
    """worked_examples interp_error_accel: 1000 rad/s2, a straight line errs by 0.01119 deg, in the gap by 0.10072."""
    speed, acceleration = 2.0 * np.pi * 800.0 / 60.0, 1000.0
    for dt, error in ((1.25e-3, 0.01119), (3.75e-3, 0.10072)):
        t = np.array([-1.5, -0.5, 0.5, 1.5]) * dt
        angle = np.degrees(speed * t + 0.5 * acceleration * t**2)
        found, bent = angle_at(t, angle, np.array([0.0]))
        assert abs(bent[0]) == pytest.approx(error, abs=2e-4)
        assert found == pytest.approx([0.0], abs=1e-9)


def test_worked_example_of_wrapping() -> None:
    """worked_examples wrap_difference: 5 - 359 = 6 degrees."""
    assert wrap(np.array([5.0 - 359.0]), 360.0) == pytest.approx([6.0])


@pytest.mark.parametrize("start", [0, 1])
@pytest.mark.parametrize("shift", [-40.0, -17.1, 0.0, 17.1, 40.0])
def test_place_in_the_cycle_with_a_cam_far_off(start: int, shift: float) -> None:
    """The recording starts in the first or second turn of a cycle; a cam 40 degrees off does not mislead."""
    rng = np.random.default_rng(1)
    motion = turning(20, 700)
    train = decode(crank_edges(motion, rng, cut=20 + 58 * start), evenly(60, 2, 84.0))
    cam = cam_edges(motion, rng, offset_deg=shift)
    sync = synchronise(train, cam[rng.random(len(cam)) > 0.1], CAM_DEG)
    truth = np.interp(train.t_s, motion.t_s, motion.angle_deg)
    assert wrap(train.angle_deg + sync.offset_deg[0] - truth) == pytest.approx(0.0, abs=0.1)
    assert sync.shift_deg[0] == pytest.approx(shift, abs=0.5)


def test_a_cam_target_that_repeats_itself_leaves_the_place_open() -> None:
    rng = np.random.default_rng(1)
    motion, target = turning(20, 700), np.array([100.0, 460.0])
    train = decode(crank_edges(motion, rng), evenly(60, 2, 84.0))
    assert np.isnan(synchronise(train, cam_edges(motion, rng, target_deg=target), target).offset_deg).all()


@pytest.mark.parametrize("target_deg", [[100.0, 460.0], [70.0, 130.0, 430.0, 490.0], [60.0, 240.0, 420.0, 600.0]])
@pytest.mark.parametrize("off_deg", [0.0, 4.0, -9.0])
def test_a_cam_target_that_repeats_itself_has_a_phase_against_the_nearest_place(
    target_deg: list[float], off_deg: float
) -> None:
    """The expected places repeat too, so the phase is the same whichever turn it is; half a cycle off does not show."""
    rng = np.random.default_rng(3)
    motion, target = turning(200, 800), np.array(target_deg)
    profile = msgspec.structs.replace(PROFILE, cam_wheel=CamWheel(edges_deg=target_deg))
    cam = cam_edges(motion, rng, offset_deg=off_deg, target_deg=target)
    found = results(cam_phase(record(crank_edges(motion, rng), {"cam": cam}, profile)))
    assert value(found, "cam_phase_at_speed_deg") == pytest.approx(off_deg, abs=0.05)
    error = found["cam_phase_error_deg"]
    assert isinstance(error, Measure)
    assert any("looks the same every" in note for note in error.notes)
    assert value(found, "cam_dropouts_per_1000rev") == 0.0


def test_fixed_part_and_delay_are_told_apart() -> None:
    rng = np.random.default_rng(2)
    motion = turning(500, 750, to_rpm=2600, depth=0.01)
    cam = cam_edges(motion, rng, offset_deg=-6.0, delay_ms=0.25, jitter_deg=0.1)
    found = results(cam_phase(record(crank_edges(motion, rng), {"cam": cam})))
    assert value(found, "cam_phase_error_deg") == pytest.approx(-6.0, abs=0.05)
    assert value(found, "cam_phase_delay_ms") == pytest.approx(0.25, abs=0.005)
    assert value(found, "cam_phase_jitter_deg") == pytest.approx(0.1, abs=0.01)
    assert value(found, "cam_dropouts_per_1000rev") == 0.0


def test_one_speed_cannot_tell_a_delay() -> None:
    rng = np.random.default_rng(3)
    motion = turning(200, 790, to_rpm=810)
    found = results(cam_phase(record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng, delay_ms=0.2)})))
    delay = found["cam_phase_delay_ms"]
    assert isinstance(delay, Missing)
    assert "not separable" in delay.why
    assert value(found, "cam_phase_error_deg") == pytest.approx(0.2 * 4.8, abs=0.05)
    assert holds(found, "cam_phase_error_deg", 0.0)


def test_drift() -> None:
    rng = np.random.default_rng(4)
    motion = turning(700, 750, to_rpm=1200)
    cam = cam_edges(motion, rng, offset_deg=2.0, drift_deg_per_min=3.0, jitter_deg=0.2)
    found = results(cam_phase(record(crank_edges(motion, rng), {"cam": cam})))
    assert value(found, "cam_phase_drift_deg_per_min") == pytest.approx(3.0, abs=0.2)
    assert value(found, "cam_phase_jitter_deg") == pytest.approx(0.2, abs=0.02)


def test_precision_near_the_bound_on_clean_edges() -> None:
    """science.md 1.5: per event (6N)^2 (s_cam^2 + ((1-f)^2 + f^2) s_crank^2); the mean is within 1.5 times of it."""
    rng = np.random.default_rng(5)
    jitter_s, errors = 5e-6, []
    motion = turning(60, 800)
    for _ in range(200):
        cam = cam_edges(motion, rng)
        cam = cam + jitter_s * rng.standard_normal(len(cam))
        train = decode(crank_edges(motion, rng, jitter_s), evenly(60, 2, 84.0))
        rows = phase_rows(train, synchronise(train, cam, CAM_DEG), cam, CAM_DEG)
        errors.append(float(np.mean(by_cycle(rows, len(CAM_DEG)).error_deg)))
    # every target edge coincides with a tooth: f = 0 or 1
    bound = 6.0 * 800.0 * jitter_s * np.sqrt(2.0) / np.sqrt(len(cam))
    assert np.std(errors) < 1.5 * bound
    assert abs(np.mean(errors)) < 0.5 * bound


def test_coverage_of_the_intervals() -> None:
    """Statistical part alone: the tolerance of the teeth is the same in every run, so its share is taken out."""
    rng = np.random.default_rng(6)
    motion = turning(60, 700, to_rpm=2400)
    clean = crank_edges(motion, rng)
    inside, runs = 0, 80
    for _ in range(runs):
        cam = cam_edges(motion, rng, offset_deg=3.0, delay_ms=0.1, jitter_deg=0.4)
        found = results(cam_phase(record(clean, {"cam": cam})))
        for name, truth in (("cam_phase_error_deg", 3.0), ("cam_phase_delay_ms", 0.1)):
            result = found[name]
            assert isinstance(result, Measure)
            assert isinstance(result.high, float)
            assert result.statistical is not None
            assert result.systematic is not None
            half = result.high - value(found, name)
            noise = np.sqrt(max(half**2 - (1.96 * result.systematic) ** 2, 0.0))
            inside += abs(value(found, name) - truth) <= noise
    assert 0.91 <= inside / (2 * runs) <= 0.985


def test_lost_edges_are_counted_exactly() -> None:
    rng = np.random.default_rng(7)
    motion = turning(300, 800, to_rpm=1500)
    crank, cam = crank_edges(motion, rng), cam_edges(motion, rng)
    lost = rng.choice(np.arange(20, len(cam) - 20), 9, replace=False)
    gone = 100 + 1100 * np.arange(11) + rng.integers(0, 500, 11)
    readings = record(np.delete(crank, gone), {"cam": np.delete(cam, lost)})
    cams, cranks = results(cam_phase(readings)), results(crank_wheel(readings))
    turns = found_turns(cranks)
    assert value(cams, "cam_dropouts_per_1000rev") * turns / 1000.0 == pytest.approx(9.0, rel=0.01)
    assert value(cranks, "crank_dropouts_per_1000rev") * turns / 1000.0 == pytest.approx(11.0, rel=0.01)


def found_turns(found: dict[str, Measure | Missing]) -> int:
    result = found["crank_dropouts_per_1000rev"]
    assert isinstance(result, Measure)
    return result.n


@pytest.mark.parametrize("target", [CAM_DEG, np.array([84.0, 174.0, 264.0, 354.0, 444.0, 534.0, 561.0, 624.0, 714.0])])
@pytest.mark.parametrize("delay_ms", [0.4, 1.0, 1.6])
@pytest.mark.parametrize("lost", [0, 9])
def test_an_edge_that_is_late_by_the_delay_is_not_a_lost_one(target: Array, delay_ms: float, lost: int) -> None:
    """A time is an angle that grows with speed (6 N tau, derived): 1.6 ms are 6 deg at 650 rpm, 38 at 4000."""
    rng = np.random.default_rng(11)
    motion = turning(600, 650, to_rpm=4000)
    cam = cam_edges(motion, rng, offset_deg=1.5, delay_ms=delay_ms, jitter_deg=0.05, target_deg=target)
    away = rng.choice(np.arange(60, len(cam) - 60), lost, replace=False)
    profile = msgspec.structs.replace(PROFILE, cam_wheel=CamWheel(edges_deg=target.tolist()))
    held = record(crank_edges(motion, rng), {"cam": np.delete(cam, away)}, profile)
    found = results(cam_phase(held))
    rate = found["cam_dropouts_per_1000rev"]
    assert isinstance(rate, Measure)
    assert round(float(np.max(rate.value)) * rate.n / 1000.0) == lost
    assert not rate.notes  # none of the edges is left unexplained
    assert holds(found, "cam_phase_delay_ms", delay_ms)
    assert holds(found, "cam_phase_error_deg", 1.5)


def test_poisson_interval() -> None:
    """Jeffreys' limits are quantiles of the gamma distribution with half an event more (scipy.stats as reference)."""
    none = poisson_rate("x", 0, 0, 1000.0, Provenance(), [])
    ten = poisson_rate("x", 10, 0, 1000.0, Provenance(), [])
    assert (none.low, none.high) == (0.0, pytest.approx(scipy.stats.gamma.ppf(0.975, 0.5)))
    assert (ten.low, ten.high) == tuple(pytest.approx(scipy.stats.gamma.ppf(p, 10.5)) for p in (0.025, 0.975))
    # narrower than the exact ones of Garwood's table (from memory): 0..3.689 and 4.795..18.390
    assert none.high < 3.689
    assert 4.795 < ten.low < ten.high < 18.390


@pytest.mark.parametrize("edges", [1, 20])
@pytest.mark.parametrize("mean", [4.0, 12.0, 40.0])
def test_interval_of_edges_lost_in_bursts(mean: float, edges: int) -> None:
    """Events of a Poisson law, each of several edges (a compound Poisson count): the interval holds the true rate.

    A single burst, however long, is no sign that edges are lost again and again.
    """
    rng = np.random.default_rng(4)
    held = []
    for number in rng.poisson(mean, 1000).tolist():
        sizes = rng.geometric(1.0 / edges, number).tolist()
        found = poisson_rate("x", sum(sizes), 0, 1000.0, Provenance(), [], events=sizes)
        held.append(float(np.max(found.low)) <= mean * edges <= float(np.max(found.high)))
    # how large bursts may be is not known from four of them
    assert np.mean(held) > (0.92 if edges == 1 or mean > 10.0 else 0.82)
    assert poisson_rate("x", 50, 0, 1000.0, Provenance(), [], events=[50]).low == 0.0
    # a burst takes back nothing of what many single losses show
    many = poisson_rate("x", 100, 0, 1000.0, Provenance(), [])
    burst = poisson_rate("x", 400, 0, 1000.0, Provenance(), [], events=[*([1] * 100), 300])
    assert burst.low == pytest.approx(many.low)
    assert float(np.max(burst.high)) > float(np.max(many.high))


def test_one_damaged_edge_of_the_target_is_not_a_moved_target() -> None:
    rng = np.random.default_rng(8)
    motion = turning(200, 800, to_rpm=1600)
    bent = CAM_DEG + np.array([0.0, 0.0, 4.0, 0.0, 0.0, 0.0, 0.0])
    found = results(cam_phase(record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng, target_deg=bent)})))
    assert value(found, "cam_phase_error_deg") == pytest.approx(0.0, abs=0.05)
    assert value(found, "cam_edge_outlier_deg") == pytest.approx(4.0, abs=0.1)


@pytest.mark.parametrize("percent", [0.0, 0.5, 2.0])
def test_runout_is_told_from_a_swing_of_the_speed(percent: float) -> None:
    """A once-a-turn swing of the speed falls with its square; the wheel's ripple does not."""
    motion = turning(400, 800, to_rpm=2400)
    speed = np.gradient(motion.angle_deg, motion.t_s) / 6.0
    swing = 1.0 + 0.004 * (800.0 / speed) ** 2 * np.cos(np.radians(motion.angle_deg - 70.0))
    t = np.concatenate([[0.0], np.cumsum(np.diff(motion.t_s) / swing[1:])])
    swung = Motion(t, motion.angle_deg)
    angle = edges(swung, evenly(60, 2, 84.0))
    bent = angle + np.degrees(percent / 100.0) * np.sin(np.radians(angle))
    found = results(crank_wheel(record(swung.time_at(bent)[20:], {})))
    assert value(found, "crank_wheel_runout_percent") == pytest.approx(percent, abs=0.03)
    assert holds(found, "crank_wheel_runout_percent", percent)


def test_runout_at_one_speed_has_a_wide_interval() -> None:
    motion = turning(100, 800, depth=0.002, order=1.0)
    found = results(crank_wheel(record(motion.time_at(edges(motion, evenly(60, 2, 84.0))), {})))
    assert holds(found, "crank_wheel_runout_percent", 0.0)


def voltage(
    motion: Motion, wires: float, rate_hz: float, rng: np.random.Generator, teeth: int = 60, gap: int = 2
) -> tuple[Array, Array]:
    """A coil over a wheel: amplitude goes with speed, steep fall at every tooth, rest in the gap."""
    t = np.arange(motion.t_s[0], motion.t_s[-1], 1.0 / rate_hz)
    angle = np.interp(t, motion.t_s, motion.angle_deg)
    speed = np.gradient(angle, t) / 6.0
    place = (angle - 84.0) % 360.0
    pitch = 360.0 / teeth
    tooth = (place < (teeth - gap - 0.5) * pitch) | (place > 360.0 - 0.5 * pitch)
    flux = np.where(tooth, -np.sin(np.radians(teeth * place)), 0.0)
    return t, wires * speed / 800.0 * flux + 0.005 * rng.standard_normal(len(t))


def test_coil_edges_lie_between_the_samples() -> None:
    """Zero crossings by interpolation: at 48 kHz within 2 us, a tenth of a sample (science.md 1.3)."""
    rng = np.random.default_rng(9)
    motion = turning(60, 180, to_rpm=1500, depth=0.05)
    t, volts = voltage(motion, 1.0, 48_000.0, rng)
    found = crossings(t, volts)
    truth = motion.time_at(edges(motion, evenly(60, 2, 84.0)))[1:-1]
    assert found.kind == "coil"
    near = found.falling_s[np.clip(np.searchsorted(found.falling_s, truth - 1e-4), 0, len(found.falling_s) - 1)]
    assert np.median(np.abs(near - truth)) < 5e-6
    assert len(found.falling_s) == pytest.approx(len(truth), abs=3)


def test_square_edges_are_taken_at_the_middle() -> None:
    t = np.arange(0.0, 1.0, 1e-4)
    high = np.sin(2.0 * np.pi * 20.0 * t) > 0.0
    found = crossings(t, 5.0 * high + 0.05 * np.random.default_rng(1).standard_normal(len(t)))
    assert found.kind == "square"
    assert (len(found.rising_s), len(found.falling_s)) == (20, 20) or (len(found.rising_s), len(found.falling_s)) == (
        19,
        20,
    )
    assert found.falling_s[:19] == pytest.approx(0.025 + 0.05 * np.arange(19), abs=1.1e-4)


def test_a_flat_or_broken_signal_has_no_edges() -> None:
    t = np.arange(0.0, 1.0, 1e-3)
    assert len(crossings(t, np.zeros(len(t))).rising_s) == 0
    assert len(crossings(t, np.full(len(t), np.nan)).rising_s) == 0


@pytest.mark.parametrize(("wires", "inverted"), [(1.0, 0.0), (-1.0, 1.0)])
@pytest.mark.parametrize(("teeth", "gap"), [(60, 2), (36, 1), (24, 2)])
def test_swapped_wires_of_a_coil_are_seen_and_do_not_move_the_phase(
    wires: float, inverted: float, teeth: int, gap: int
) -> None:
    rng = np.random.default_rng(10)
    motion = turning(60, 200, to_rpm=1200, depth=0.05)
    t, crank = voltage(motion, wires, 40_000.0, rng, teeth, gap)
    cam_s = cam_edges(motion, rng, offset_deg=2.0)
    cam = np.full(len(t), 5.0)
    for edge in cam_s:
        cam[(t >= edge) & (t < edge + 2e-3)] = 0.0
    content = Waveform(t, {"crank": crank, "cam": cam})
    both = replace(record(np.empty(0), {}, with_wheel(teeth, gap)), sensors=(SensorCapture("a.wav", content),))
    assert value(results(crank_wheel(both)), "crank_polarity_inverted") == inverted
    assert value(results(cam_phase(both)), "cam_phase_error_deg") == pytest.approx(2.0, abs=0.15)


@pytest.mark.parametrize(("swapped", "off_deg", "inverted", "phase_deg"), [
    (False, 0.0, 0.0, 0.0), (True, 0.0, 1.0, 0.0), (False, 14.0, 0.0, 14.0),
])  # fmt: skip
@pytest.mark.parametrize(("teeth", "gap"), [(60, 2), (36, 1), (24, 2)])
def test_swapped_wires_of_a_square_wave_are_told_by_the_cam(
    swapped: bool, off_deg: float, inverted: float | None, phase_deg: float, teeth: int, gap: int
) -> None:
    """A tooth of half a pitch: the other flank has the same pattern that much on, and there the cam is in place."""
    rng = np.random.default_rng(14)
    motion = turning(60, 800, to_rpm=1500)
    active = crank_edges(motion, rng, teeth=teeth, gap=gap)
    other = motion.time_at(edges(motion, evenly(teeth, gap, 84.0)) + 180.0 / teeth)[20:-1]
    falling, rising = (other, active) if swapped else (active, other)
    content = Edges({"crank": rising}, {"crank": falling, "cam": cam_edges(motion, rng, offset_deg=off_deg)}, 0.0)
    both = replace(record(np.empty(0), {}, with_wheel(teeth, gap)), sensors=(SensorCapture("a.csv", content),))
    polarity = results(crank_wheel(both))["crank_polarity_inverted"]
    assert (polarity.value if isinstance(polarity, Measure) else None) == inverted
    found = results(cam_phase(both))["cam_phase_error_deg"]
    if inverted:  # a cam that is off by just a tooth's width looks the same
        assert isinstance(found, Missing)
        assert "swapped flanks, or a cam" in found.why
    else:
        assert value({found.name: found}, "cam_phase_error_deg") == pytest.approx(phase_deg, abs=0.1)


def test_a_cam_off_by_part_of_a_tooth_and_swapped_flanks_are_not_told_apart() -> None:
    rng = np.random.default_rng(14)
    motion = turning(60, 800, to_rpm=1500)
    other = motion.time_at(edges(motion, evenly(60, 2, 84.0)) + 3.0)[20:-1]
    falling = {"crank": crank_edges(motion, rng), "cam": cam_edges(motion, rng, offset_deg=2.2)}
    both = replace(record(np.empty(0), {}), sensors=(SensorCapture("a.csv", Edges({"crank": other}, falling, 0.0)),))
    polarity = results(crank_wheel(both))["crank_polarity_inverted"]
    assert isinstance(polarity, Missing)
    assert "not told apart" in polarity.why
    assert value(results(cam_phase(both)), "cam_phase_error_deg") == pytest.approx(2.2, abs=0.1)


def at_one_speed(delay_ms: float, offset_deg: float = 0.0, *, seed: int = 16, to_rpm: float = 0.0) -> Record:
    rng = np.random.default_rng(seed)
    motion = turning(120, 780, to_rpm=to_rpm or 800)
    cam = cam_edges(motion, rng, offset_deg=offset_deg, delay_ms=delay_ms, jitter_deg=0.1)
    return record(crank_edges(motion, rng), {"cam": cam})


@pytest.mark.parametrize(("delay_ms", "offset_deg"), [(0.7, 0.0), (1.2, -0.4), (1.8, 0.3), (0.0, 5.5), (0.9, 0.6)])
def test_at_one_speed_the_interval_of_a_late_cam_holds_an_offset_and_a_delay(
    delay_ms: float, offset_deg: float
) -> None:
    """0.006 degrees for every rpm and ms (contract, section 3): at one speed a delay is the same as an offset."""
    found = results(cam_phase(at_one_speed(delay_ms, offset_deg)))
    assert isinstance(found["cam_phase_delay_ms"], Missing)
    assert holds(found, "cam_phase_error_deg", offset_deg)
    fixed = found["cam_phase_error_deg"]
    assert isinstance(fixed, Measure)
    assert holds(found, "cam_phase_error_deg", 0.006 * 790 * delay_ms + offset_deg)
    assert any("alone would look the same" in note for note in fixed.notes) == (0.006 * 790 * delay_ms + offset_deg > 2)


def test_at_one_speed_an_early_cam_is_no_delay_and_a_very_late_one_is_not_a_delay_alone() -> None:
    """An effect does not come before its cause; 17.1 deg is a tooth of a gear of 42, 3.6 ms at idle."""
    for offset_deg in (-5.5, 17.1):
        found = results(cam_phase(at_one_speed(0.0, offset_deg)))
        assert holds(found, "cam_phase_error_deg", offset_deg)
        assert not holds(found, "cam_phase_error_deg", 2.0 * np.sign(offset_deg))


def judged(held: Record, work: tuple[str, ...] = ()) -> Ranking:
    read_once = read(held)
    found = [*phase.cam_phase(held, read_once), *wheel.crank_wheel(held, read_once)]
    measures = [m for m in found if isinstance(m, Measure)]
    return rank(replace(held, work=work), measures, [m for m in found if isinstance(m, Missing)])


@pytest.mark.parametrize("work", [(), ("cam_sensor",)])
def test_one_speed_names_offset_and_delay_and_two_speeds_tell(work: tuple[str, ...]) -> None:
    for delay_ms, offset_deg in ((1.3, 0.0), (0.0, 6.2)):
        open_one = judged(at_one_speed(delay_ms, offset_deg), work)
        assert open_one.verdict == "insufficient_evidence"
        assert {one.fault for one in open_one.faults[:2]} == {"cam_phase_offset", "cam_signal_delay"}
        assert open_one.faults[1].probability > 0.3
        assert "cannot tell what" in open_one.sentence
        assert any("two higher speeds" in check.text for one in open_one.faults[:2] for check in one.next_checks[:2])
        told = judged(at_one_speed(delay_ms, offset_deg, to_rpm=2000), work)
        assert told.verdict == "fault_supported"
        assert told.faults[0].fault == ("cam_signal_delay" if delay_ms else "cam_phase_offset")
    for offset_deg in (-6.2, 17.1):  # no delay is early, none is 3.6 ms
        clear = judged(at_one_speed(0.0, offset_deg), work)
        assert (clear.faults[0].fault, clear.verdict) == ("cam_phase_offset", "fault_supported")


def square_wave(motion: Motion, *, swapped: bool, delay_ms: float = 0.0, offset_deg: float = 0.0) -> Record:
    rng = np.random.default_rng(14)
    active, other = crank_edges(motion, rng), motion.time_at(edges(motion, evenly(60, 2, 84.0)) + 3.0)[20:-1]
    falling, rising = (other, active) if swapped else (active, other)
    cam = cam_edges(motion, rng, offset_deg=offset_deg, delay_ms=delay_ms)
    content = Edges({"crank": rising}, {"crank": falling, "cam": cam}, 0.0)
    return replace(record(np.empty(0), {}), sensors=(SensorCapture("a.csv", content),))


def test_a_cam_late_at_one_speed_and_swapped_flanks_of_a_square_wave_are_not_told_apart() -> None:
    """Both flanks of a square wave carry the wheel's pattern: 3 deg are half a pitch, and 0.63 ms at 790 rpm."""
    cases: list[dict[str, float]] = [{"delay_ms": 3.0 / (0.006 * 790)}, {"offset_deg": 3.1}]
    for case in cases:
        for motion, told in ((turning(80, 780, to_rpm=800), False), (turning(80, 780, to_rpm=1800), True)):
            held = square_wave(motion, swapped=False, **case)
            found = judged(held)
            cranks = results(crank_wheel(held))
            if not told:
                assert found.verdict == "insufficient_evidence"
                assert {one.fault for one in found.faults[:3]} == {
                    "cam_phase_offset", "cam_signal_delay", "crank_signal_inverted"
                }  # fmt: skip
                assert found.faults[2].probability > 0.1
                assert isinstance(cranks["crank_polarity_inverted"], Missing)
                assert value(cranks, "cam_in_place_by_other_flank") == 1.0
            elif "delay_ms" in case:
                assert found.faults[0].fault == "cam_signal_delay"


def test_a_coil_at_the_slowest_cranking_through_bursts_of_noise() -> None:
    """60 rpm: a thirteenth of the voltage at idle, bursts of half of that: edges are lost or too many, none shifts."""
    rng = np.random.default_rng(21)
    motion = turning(40, 60, to_rpm=800, depth=0.2)
    t, crank = voltage(motion, 1.0, 20_000.0, rng)
    for begin in rng.uniform(1.0, t[-1] - 1.0, 12):
        burst = (t >= begin) & (t < begin + 0.01)
        crank[burst] += 0.04 * rng.standard_normal(int(burst.sum()))
    content = Waveform(t, {"crank": crank})
    (reading,) = read(replace(record(np.empty(0), {}), sensors=(SensorCapture("a.wav", content),)))
    train = reading.train
    off = wrap(train.angle_deg - np.interp(train.t_s, motion.t_s, motion.angle_deg), 360.0)
    assert len(train) > 0.9 * 58 * 39
    assert np.mean(np.abs(off) < 1.5) > 0.995
    assert not reading.inverted


@pytest.mark.parametrize(("teeth", "gap", "lost"), [(60, 2, 20), (60, 2, 57), (36, 1, 11), (36, 1, 30)])
def test_a_broken_tooth_is_found_and_does_not_move_the_phase(teeth: int, gap: int, lost: int) -> None:
    """Violations always at the same tooth are a damaged tooth (mechanism derived; common practice, no source)."""
    rng = np.random.default_rng(15)
    motion = turning(80, 800, to_rpm=1500)
    angle = edges(motion, evenly(teeth, gap, 84.0))
    sound = evenly(teeth, gap, 84.0)
    kept = angle[np.abs((angle - sound[lost] + 180.0) % 360.0 - 180.0) > 1.0]
    wheel = CrankWheel(teeth=teeth, missing=gap, first_edge_deg=84.0)
    profile = EngineProfile(name="x", crank_wheel=wheel, cam_wheel=CamWheel(edges_deg=CAM_DEG.tolist()))
    broken = record(motion.time_at(kept)[20:], {"cam": cam_edges(motion, rng, offset_deg=1.0)}, profile)
    cranks = results(crank_wheel(broken))
    assert value(cranks, "crank_same_tooth_percent") == 100.0
    assert value(cranks, "crank_dropouts_per_1000rev") == pytest.approx(1000.0, rel=0.02)
    assert value(results(cam_phase(broken)), "cam_phase_error_deg") == pytest.approx(1.0, abs=0.1)


def test_pump_ahead_gives_a_negative_phase() -> None:
    """Contract, section 3: the key reversed at 1.5 pump degrees seats the pump 6 crank degrees off."""
    rng = np.random.default_rng(11)
    motion = turning(200, 800, to_rpm=1800)
    pump = cam_edges(motion, rng, offset_deg=-6.0, target_deg=np.array([0.0, 120.0, 240.0, 360.0, 480.0, 600.0]))
    both = record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng), "pump": pump})
    assert value(results(pump_phase(both)), "pump_phase_error_deg") == pytest.approx(-6.0, abs=0.05)


def test_a_pump_sensor_gives_the_timing_error() -> None:
    """Contract, section 3: a phase is late positive, a timing error advanced positive; a delay is late in both."""
    rng = np.random.default_rng(13)
    motion = turning(300, 800, to_rpm=1800)
    target = np.array([0.0, 120.0, 240.0, 360.0, 480.0, 600.0])
    pump = cam_edges(motion, rng, offset_deg=6.0, delay_ms=0.2, target_deg=target)
    found = results(timing_by_pump(record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng), "pump": pump})))
    assert value(found, "timing_error_static_deg") == pytest.approx(-6.0, abs=0.05)
    assert value(found, "timing_error_delay_ms") == pytest.approx(0.2, abs=0.01)
    static = found["timing_error_static_deg"]
    assert isinstance(static, Measure)
    assert static.low < -6.0 < static.high
    without = results(timing_by_pump(record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng)})))
    assert all(isinstance(absent, Missing) for absent in without.values())


@pytest.mark.parametrize("flank", ["rising", "falling"])
def test_a_pump_is_timed_by_the_flank_of_the_cam_and_the_other_one_is_named(flank: Flank) -> None:
    rng = np.random.default_rng(14)
    motion = turning(120, 800, to_rpm=1800)
    target = np.array([0.0, 120.0, 240.0, 360.0, 480.0, 600.0])
    cam, counted, other = (
        cam_edges(motion, rng, offset_deg=off, target_deg=deg)
        for off, deg in ((0.0, CAM_DEG), (2.0, target), (-3.0, target))
    )
    here, there = {"crank": crank_edges(motion, rng), "cam": cam, "pump": counted}, {"pump": other}
    content = Edges(here, there) if flank == "rising" else Edges(there, here)
    profile = msgspec.structs.replace(
        PROFILE, crank_wheel=msgspec.structs.replace(CRANK, active_edge=flank),
        cam_wheel=CamWheel(edges_deg=CAM_DEG.tolist(), active_edge=flank),
    )  # fmt: skip
    held = replace(record(np.empty(0), {}, profile), sensors=(SensorCapture("crank.csv", content),))
    found = results(pump_phase(held))["pump_phase_error_deg"]
    assert isinstance(found, Measure)
    assert found.value == pytest.approx(2.0, abs=0.05)
    assert any("by the other one the phase is -3.0 deg" in note for note in found.notes)


def two_flanks(active_edge: Flank | None, offset_deg: float, width_deg: float) -> Record:
    """A pump whose falling edges are off by an angle, its rising ones so much later; the cam counts falling edges."""
    rng = np.random.default_rng(15)
    motion = turning(120, 800, to_rpm=1800)
    target = np.array([0.0, 120.0, 240.0, 360.0, 480.0, 600.0])
    falling, rising = (cam_edges(motion, rng, offset_deg=offset_deg + w, target_deg=target) for w in (0.0, width_deg))
    content = Edges(
        {"pump": rising}, {"crank": crank_edges(motion, rng), "cam": cam_edges(motion, rng), "pump": falling}
    )
    pump = Pump(edges_deg=target.tolist(), key_step_deg=0.5, key_offset_deg=1.5, active_edge=active_edge)
    profile = msgspec.structs.replace(PROFILE, pump=pump, ignition="compression", injection="rotary_pump")
    return replace(record(np.empty(0), {}, profile), sensors=(SensorCapture("crank.csv", content),))


def test_a_pump_in_place_by_the_other_flank_alone_is_held_in_doubt() -> None:
    """A Hall sensor's flanks lie a mark's width apart (common practice, no source): which one counts is not known."""
    found = results(pump_phase(two_flanks(None, -8.0, 8.1)))
    for name in ("pump_phase_error_deg", "pump_phase_at_speed_deg"):
        assert value(found, name) == pytest.approx(0.1, abs=0.05)
        assert holds(found, name, -8.0)
        assert holds(found, name, 0.1)
        either = found[name]
        assert isinstance(either, Measure)
        assert any("either the other flank counts" in note for note in either.notes)
    assert value(found, "pump_phase_delay_ms") == pytest.approx(0.0, abs=0.01)
    timing = results(timing_by_pump(two_flanks(None, -8.0, 8.1)))
    assert holds(timing, "timing_error_static_deg", 8.0)
    assert holds(timing, "timing_error_static_deg", -0.1)


def test_a_pump_that_neither_flank_has_in_place_is_read_by_the_flank_of_the_cam() -> None:
    found = results(pump_phase(two_flanks(None, -8.0, 6.5)))["pump_phase_error_deg"]
    assert isinstance(found, Measure)
    assert found.value == pytest.approx(-8.0, abs=0.05)
    assert isinstance(found.high, float)
    assert found.high < -7.0
    assert any("by the other one the phase is -1.5 deg" in note for note in found.notes)


@pytest.mark.parametrize(("active_edge", "truth"), [("falling", -8.0), ("rising", 0.1)])
def test_a_pump_whose_flank_the_profile_names_is_read_by_that_one(active_edge: Flank, truth: float) -> None:
    found = results(pump_phase(two_flanks(active_edge, -8.0, 8.1)))["pump_phase_error_deg"]
    assert isinstance(found, Measure)
    assert found.value == pytest.approx(truth, abs=0.05)
    assert isinstance(found.low, float)
    assert isinstance(found.high, float)
    assert found.high - found.low < 1.0
    assert not any("flank" in note for note in found.notes)


@pytest.mark.parametrize("work", [[], ["pump_key"]])
def test_no_key_is_blamed_for_the_flank_that_the_profile_does_not_name(work: list[str]) -> None:
    """Where the profile names the flank, the same recording does tell a key that is eight steps off."""
    for active_edge, supported in ((None, False), ("falling", True)):
        held = replace(two_flanks(active_edge, -8.0, 8.1), work=tuple(work))
        found = [*pump_phase(held), *timing_by_pump(held)]
        measures = [m for m in found if isinstance(m, Measure)]
        ranking = rank(held, measures, [m for m in found if isinstance(m, Missing)])
        blamed = sum(one.probability for one in ranking.faults if one.fault.startswith("pump_"))
        assert (ranking.verdict == "fault_supported") == supported
        assert (blamed > 0.5) == supported, blamed
        if work and not supported:
            assert ranking.verdict == "insufficient_evidence"
            assert {"pump_key_wrong", "pump_key_reversed"} <= set(ranking.blind)


def test_phase_from_the_bus() -> None:
    """Without a recording the broadcast phase is decomposed in the same way."""
    rng = np.random.default_rng(12)
    t = np.arange(0.0, 300.0, 0.1)
    speed = 1500.0 - 700.0 * np.cos(2.0 * np.pi * t / 60.0)
    phase = 1.5 + 0.006 * speed * 0.2 + 0.3 * rng.standard_normal(len(t))
    channels = {
        "crank_cam_phase": Channel("crank_cam_phase", "deg", t, np.round(phase, 1)),
        "engine_speed": Channel("engine_speed", "rpm", t, speed),
    }
    bus = Record(captures=(), channels=ChannelSet(channels), states=NO_STATES, profile=PROFILE)
    found = results(broadcast_phase(bus))
    assert holds(found, "cam_phase_error_deg", 1.5)
    assert holds(found, "cam_phase_delay_ms", 0.2)
    assert value(found, "cam_phase_jitter_deg") == pytest.approx(0.3, abs=0.02)


def test_a_coarse_wheel_that_cannot_be_read_while_cranking_is_said() -> None:
    angle = np.arange(0.0, 360.0 * 3, 0.05)
    speed_deg_s = 1200.0 * (1.0 + 0.5 * np.cos(np.radians(3.0 * angle)))
    motion = Motion(np.concatenate([[0.0], np.cumsum(0.05 / speed_deg_s[:-1])]), angle)
    held = record(motion.time_at(edges(motion, evenly(12, 1, 84.0))), {}, with_wheel(12, 1))
    reason = results(crank_wheel(held))["crank_polarity_inverted"]
    assert isinstance(reason, Missing)
    assert "11 teeth do not show their gap" in reason.why
    # another wheel, well above idle: to record at idle is no advice
    motion = turning(20, 1500.0)
    held = record(motion.time_at(edges(motion, np.array([0.0, 40.0, 130.0, 200.0, 310.0]))), {}, with_wheel(12, 1))
    reason = results(crank_wheel(held))["crank_polarity_inverted"]
    assert isinstance(reason, Missing)
    assert "idle" not in reason.why


def test_reasons_where_there_is_nothing() -> None:
    rng = np.random.default_rng(13)
    motion = turning(20, 700)
    no_cam = results(cam_phase(record(crank_edges(motion, rng), {})))
    assert all(isinstance(r, Missing) and "no cam edges" in r.why for r in no_cam.values())
    no_wheel = replace(record(crank_edges(motion, rng), {}), profile=EngineProfile())
    assert all(isinstance(r, Missing) and "no crank wheel" in r.why for r in results(crank_wheel(no_wheel)).values())


def with_channels(held: Record, **channels: tuple[Array, Array]) -> Record:
    made = {name: Channel(name, "", t_s, value, "log") for name, (t_s, value) in channels.items()}
    return replace(held, channels=ChannelSet(made))


def test_the_delay_that_the_control_module_shows_parts_delay_and_fixed_part_at_idle() -> None:
    rng = np.random.default_rng(11)
    motion = turning(60, 750)
    cam = cam_edges(motion, rng, offset_deg=4.2)
    idle = record(crank_edges(motion, rng), {"cam": cam})
    alone = results(cam_phase(idle))["cam_phase_error_deg"]
    t_s = np.arange(0.0, 60.0, 0.1)
    rpm = 1200.0 + 450.0 * np.sin(0.3 * t_s)
    both = with_channels(idle, engine_speed=(t_s, rpm), crank_cam_phase=(t_s, 4.2 + 0.02 * rng.standard_normal(600)))
    found = results(cam_phase(both))["cam_phase_error_deg"]
    assert isinstance(alone, Measure)
    assert isinstance(found, Measure)
    assert alone.low < 3.0 < 4.2 < alone.high
    assert 3.0 < found.low < 4.2 < found.high
    # a delay of 0.5 ms that both show is no part of the fixed angle
    late = record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng, offset_deg=4.2, delay_ms=0.5)})
    late = with_channels(late, engine_speed=(t_s, rpm), crank_cam_phase=(t_s, 4.2 + 0.003 * rpm))
    found = results(cam_phase(late))["cam_phase_error_deg"]
    assert isinstance(found, Measure)
    assert found.low < 4.2 < found.high < 5.5
    # a recorder's input may be off the module's by a tenth of a millisecond: the interval holds that too
    later = record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng, offset_deg=4.2, delay_ms=0.6)})
    later = with_channels(later, engine_speed=(t_s, rpm), crank_cam_phase=(t_s, 4.2 + 0.003 * rpm))
    found = results(cam_phase(later))["cam_phase_error_deg"]
    assert isinstance(found, Measure)
    assert any("taken from the control module's broadcast" in note for note in found.notes)
    assert found.low < 4.2 < found.high < 6.0
    # one that the recording alone shows is not taken off by a broadcast that does not see it
    unseen = record(crank_edges(motion, rng), {"cam": cam_edges(motion, rng, offset_deg=4.2, delay_ms=0.4)})
    silent_deg = 4.2 + 0.02 * rng.standard_normal(600)
    unseen = with_channels(unseen, engine_speed=(t_s, rpm), crank_cam_phase=(t_s, silent_deg))
    found = results(cam_phase(unseen))["cam_phase_error_deg"]
    assert isinstance(found, Measure)
    assert found.low < 4.2 < found.high


@pytest.mark.parametrize(
    ("counts", "offset_s", "certain"), [(0, 0.0, False), (40, 0.0, True), (None, 0.0, True), (0, None, True)]
)
def test_edges_that_the_control_module_did_not_miss_are_no_certain_fault_of_the_sensor(
    counts: int | None, offset_s: float | None, certain: bool
) -> None:
    rng = np.random.default_rng(5)
    motion = turning(200, 750)
    crank = crank_edges(motion, rng)
    kept = np.delete(crank, rng.choice(np.arange(200, len(crank) - 200), 40, replace=False))
    held = record(kept, {"cam": cam_edges(motion, rng)})
    if counts is not None:
        t_s = np.arange(0.0, 20.0, 0.5)
        counter = np.round(np.linspace(7.0, 7.0 + counts, len(t_s)))
        held = with_channels(held, engine_speed=(t_s, np.full(len(t_s), 750.0)), crank_signal_errors=(t_s, counter))
    held = replace(held, sensors=tuple(msgspec.structs.replace(one, offset_s=offset_s) for one in held.sensors))
    found = results(edge_counts.weighed(held, wheel.crank_wheel(held, read(held))))["crank_dropouts_per_1000rev"]
    assert isinstance(found, Measure)
    assert found.value * found.n / 1000.0 == pytest.approx(40.0, rel=0.1)
    assert (found.low > 0.0) == certain
    assert any("the control module counted" in note for note in found.notes) != certain


def test_edges_missing_while_cranking_are_certain_only_where_the_wheel_has_a_mark() -> None:
    even = msgspec.structs.replace(PROFILE, crank_wheel=CrankWheel(edges_deg=np.arange(0.0, 360.0, 15.0).tolist()))

    def dropouts(pitch_s: Array) -> Measure:
        found = results(crank_wheel(record(np.cumsum(pitch_s), {}, even)))["crank_dropouts_per_1000rev"]
        assert isinstance(found, Measure)
        return found

    # at the last top dead centre before the first fire a crank almost stands: one pitch takes as long as several
    pitch_s = np.full(24 * 40, 0.012)
    pitch_s[600:602], pitch_s[602:] = [0.031, 0.051], 0.005
    slow = dropouts(pitch_s)
    assert slow.value > 0.0
    assert slow.low == 0.0
    # running, a pitch as long as two is a missing edge whatever the wheel looks like
    pitch_s = np.full(24 * 40, 0.003)
    pitch_s[[200, 400, 600]] = 0.006
    quick = dropouts(pitch_s)
    assert quick.value * quick.n / 1000.0 == pytest.approx(3.0, rel=0.05)
    assert quick.low > 0.0


def test_edges_that_only_moved_are_no_certain_dropouts() -> None:
    """A tooth that was not counted on a wheel without a mark moves every later cam edge: none is lost for certain."""
    none = np.empty(0)
    rows = PhaseRows(
        none, none, none.astype(np.int64), none.astype(np.int64), none, expected=500, lost_s=np.arange(45.0), extra=45,
        dropped=0, revolutions=200.0,
    )  # fmt: skip
    unmarked = phase._dropouts(phase.Joined(rows, Provenance(), 0.0, (0.0, 0.0), 15.0, False))
    marked = phase._dropouts(phase.Joined(rows, Provenance(), 0.0, (0.0, 0.0), np.nan, False))
    lost = phase._dropouts(phase.Joined(replace(rows, extra=0), Provenance(), 0.0, (0.0, 0.0), 15.0, False))
    assert (unmarked.low, unmarked.value) == (0.0, 225.0)
    assert marked.low == lost.low > 150.0
