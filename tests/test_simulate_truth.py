"""Every true value beside the definition of its measure, worked out another way from what the simulation holds.

The definitions are those of the contract of the project (section 6); no part of the measures is used here.
"""

from __future__ import annotations

import functools
from itertools import pairwise
from typing import Any

import numpy as np
import pytest

from logan import simulate
from logan.simulate import cycle, parameters
from logan.simulate.simulation import Simulation


@functools.cache
def drive(profile: str, script: str, fault: str | None = None, size: float | None = None, **more: Any) -> Simulation:
    short = {"fault": fault, "size": size} if fault else {}
    sensors = {"start_s": 0.0, "seconds": 70.0}
    return simulate.run(
        simulate.make_spec(profile=profile, drive=script, bus=None, seed=6, sensors=sensors, **short, **more)
    )


def true(simulation: Simulation) -> dict[str, Any]:
    return dict(simulation.truth()["measures"])


def rows(simulation: Simulation, step_s: float = 0.01) -> dict[str, np.ndarray]:
    """The exact run on an even grid."""
    time = np.arange(0.0, simulation.run.end_s, step_s)
    return {name: simulation.signals.exact(name, time) for name in simulation.run.trace} | {"time_s": time}


def spans(condition: np.ndarray) -> list[tuple[int, int]]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], condition, [False]]).astype(int)))
    return list(zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True))


def settled_idle(simulation: Simulation, t: dict[str, np.ndarray]) -> np.ndarray:
    """Warm, pedal released, standing, 5 s after the last change of state."""
    warm = simulation.signals.profile.idle.warm_coolant_degc
    step = float(t["time_s"][1])
    out = np.zeros(len(t["time_s"]), bool)
    for first, last in spans((t["running"] > 0) & (t["pedal"] < 3) & (t["vehicle_speed"] < 0.5)):
        out[first + round(5 / step) : last] = True
    return out & (t["coolant_temperature"] >= warm)


@pytest.mark.parametrize("profile", ["training_rotary_six", "training_rail_v8"])
def test_idle_speed(profile: str) -> None:
    simulation = drive(profile, "short_test")
    t, told = rows(simulation), true(simulation)
    speed = t["engine_speed"][settled_idle(simulation, t)]
    assert told["idle_speed_mean_rpm"] == pytest.approx(speed.mean(), abs=0.05)
    assert told["idle_speed_std_rpm"] == pytest.approx(speed.std(), rel=0.02)
    assert told["idle_speed_p2p_rpm"] == pytest.approx(np.ptp(speed), rel=0.03)


@pytest.mark.parametrize("hertz", [0.4, 1.5])
def test_hunting_is_half_of_peak_to_peak(hertz: float) -> None:
    """Crossings of the mean tell the frequency, the mean of highest less lowest speed of each swing the amplitude."""
    simulation = drive("training_rotary_six", "idle_only", "idle_hunting", 60.0, frequency_hz=hertz)
    motion, told = simulation.run.motion, true(simulation)
    time = np.arange(30.0, 65.0, 0.005)
    angle = motion.angle_at(time)
    turn = (
        np.interp(angle - 60, motion.angle_deg, motion.time_s),
        np.interp(angle + 60, motion.angle_deg, motion.time_s),
    )
    speed = 120 / (turn[1] - turn[0]) / 6  # over one firing interval
    off = speed - speed.mean()
    slow = np.convolve(off, np.ones(40) / 40, "same")
    ups = np.flatnonzero((slow[:-1] < 0) & (slow[1:] >= 0))[1:-1]
    ups = ups[np.concatenate([[True], np.diff(ups) > 0.3 / hertz / 0.005])]
    assert told["idle_hunt_frequency_hz"] == pytest.approx(1 / (np.diff(ups).mean() * 0.005), rel=0.03)
    heights = [np.ptp(off[a:b]) / 2 for a, b in pairwise(ups)]
    assert told["idle_hunt_amplitude_rpm"] == pytest.approx(np.mean(heights), rel=0.12)


@pytest.mark.parametrize(
    ("fault", "size"), [("cam_signal_delay", 0.5), ("cam_phase_offset", -6.0)], ids=["delay", "offset"]
)
def test_cam_phase(fault: str, size: float) -> None:
    """Edges of the cam at their crank angle: a line over speed gives offset and delay, cycle means the jitter."""
    simulation = drive("training_rail_four", "short_test", fault, size)
    told, recording, motion = true(simulation), simulation.recording, simulation.run.motion
    wheel = simulation.signals.profile.cam_wheel
    assert recording is not None
    assert wheel is not None
    edge = recording.sensors["cam"].active_s
    edge = edge[(edge > 6) & (edge < 70)]
    angle = motion.angle_at(edge)
    away = (angle[:, None] - np.array(wheel.edges_deg) + 360) % 720 - 360
    late = away[np.arange(len(away)), np.abs(away).argmin(axis=1)]
    rpm = 60 / 360 * (motion.angle_at(edge + 0.0002) - motion.angle_at(edge - 0.0002)) / 0.0004
    slope, offset = np.polyfit(0.006 * rpm, late, 1)
    assert told["cam_phase_error_deg"] == pytest.approx(offset, abs=0.04)
    assert told["cam_phase_delay_ms"] == pytest.approx(slope, abs=0.006)
    rest = late - np.polyval([slope, offset], 0.006 * rpm)
    drift_deg_per_min = 60 * np.polyfit(edge, rest, 1)[0]
    assert told["cam_phase_drift_deg_per_min"] == pytest.approx(drift_deg_per_min, abs=0.05)
    cycle = np.floor((angle - late) / 720).astype(int)
    cycle -= cycle.min()
    means = np.bincount(cycle, rest)[1:-1] / np.bincount(cycle)[1:-1]
    assert told["cam_phase_jitter_deg"] == pytest.approx(means.std(), rel=0.15)


@pytest.mark.parametrize("wheel", ["crank", "cam"])
def test_dropouts(wheel: str) -> None:
    """Edges that the turns of the crank should have given, less those that are there, for each 1000 turns."""
    simulation = drive("training_rail_four", "idle_only", f"{wheel}_signal_dropout", 300.0)
    told, recording = true(simulation), simulation.recording
    assert recording is not None
    profile = simulation.signals.profile
    assert profile.crank_wheel is not None
    assert profile.cam_wheel is not None
    a_turn = len(profile.crank_wheel.angles_deg()) if wheel == "crank" else len(profile.cam_wheel.edges_deg) / 2
    start, end = simulation.run.motion.angle_at(np.array([0.0, 70.0]))
    turns = (end - start) / 360
    seen = recording.sensors[wheel].active_s
    seen = seen[seen < 70.0]
    assert told[f"{wheel}_dropouts_per_1000rev"] == pytest.approx(
        (turns * a_turn - len(seen)) / turns * 1000, abs=2500 / turns
    )


def test_runout() -> None:
    """Fundamental of the tooth spacing over a turn, in percent of the mean (the gap's place filled by the crank)."""
    simulation = drive("training_rail_four", "idle_only", "crank_wheel_runout", 3.0)
    recording = simulation.recording
    assert recording is not None
    teeth = recording.sensors["crank"].active_s
    angle = simulation.run.motion.angle_at(teeth[(teeth > 20) & (teeth < 60)])
    ideal = np.round((angle - angle[0]) / 6) * 6
    spacing = np.diff(angle) / np.diff(ideal) - 1
    middle = np.radians((ideal[:-1] + ideal[1:]) / 2)
    waves = np.stack([np.cos(middle), np.sin(middle), np.ones(len(middle))], axis=1)
    fit = np.linalg.lstsq(waves, spacing, rcond=None)[0]
    assert true(simulation)["crank_wheel_runout_percent"] == pytest.approx(100 * np.hypot(*fit[:2]), rel=0.03)


@pytest.mark.parametrize(("fault", "size"), [("pump_key_wrong", -3.0), ("pump_timing_drift", -2.5)])
def test_timing_error_is_its_parts(fault: str, size: float) -> None:
    """Least squares of actual minus commanded on one, speed, load, time and the side that the command came from."""
    simulation = drive("training_rotary_six", "short_test", fault, size)
    t, told = rows(simulation), true(simulation)
    error = t["injection_timing_actual"] - t["injection_timing_commanded"]
    pace = np.gradient(t["injection_timing_commanded"], t["time_s"])
    last = np.maximum.accumulate(np.where(np.abs(pace) > 0.3, np.arange(len(pace)), 0))
    quiet = (t["running"] > 0) & (t["time_s"] > 15) & (np.convolve(np.abs(pace), np.ones(100) / 100, "same") < 0.4)
    columns = np.stack(
        [
            np.ones(len(error)), -0.006 * t["engine_speed"], t["calculated_load"] / 100, t["time_s"] / 60,
            np.sign(pace[last]),
        ], axis=1,
    )[quiet]  # fmt: skip
    fit = np.linalg.lstsq(columns, error[quiet], rcond=None)[0]
    half = told["timing_hysteresis_deg"] / 2  # and 0.05 degrees of lag behind a command that still moves
    assert told["timing_error_static_deg"] == pytest.approx(fit[0], abs=half + 0.05)
    assert told["timing_error_delay_ms"] == pytest.approx(fit[1], abs=2 * half / (0.006 * 1500))
    assert told["timing_error_load_deg"] == pytest.approx(fit[2], abs=2 * half + 0.05)
    assert told["timing_error_drift_deg_per_min"] == pytest.approx(fit[3], abs=half)


def test_supply_minimum_is_the_lowest_that_lasts_a_second_under_load() -> None:
    simulation = drive("training_rotary_six", "short_test", "fuel_supply_low", 80.0)
    t = rows(simulation, 0.1)
    best = np.inf
    for first, last in spans((t["calculated_load"] >= 60) & (t["running"] > 0) & (t["time_s"] > 15)):
        for k in range(first, last - 10):
            best = min(best, float(t["fuel_supply_pressure"][k : k + 11].max()))
    assert true(simulation)["supply_pressure_min_kpa_gauge"] == pytest.approx(best, abs=0.3)


@pytest.mark.parametrize(("fault", "size"), [("rail_pressure_low", 20.0), ("boost_leak", 40.0)])
def test_medians_under_load(fault: str, size: float) -> None:
    simulation = drive("training_rail_v8", "short_test", fault, size)
    t, told = rows(simulation, 0.02), true(simulation)
    load = (t["calculated_load"] >= 60) & (t["running"] > 0) & (t["time_s"] > 15)
    rail = 100 * (t["fuel_rail_pressure_actual"] / np.maximum(t["fuel_rail_pressure_commanded"], 1) - 1)
    assert told["rail_error_percent"] == pytest.approx(np.median(rail[load]), abs=0.3)
    boost = t["intake_manifold_pressure"] - t["boost_pressure_commanded"]
    assert told["boost_error_kpa"] == pytest.approx(np.median(boost[load]), abs=0.6)


def test_rail_events() -> None:
    """Fall over the first 5 s after the crank came to rest; rise from the first motion to 90 % of the need."""
    simulation = drive("training_rail_four", "start_stop", "rail_leakdown", 4000.0)
    t, told = rows(simulation, 0.001), true(simulation)
    turning = t["engine_speed"] > 0
    stop = spans(turning)[-1][1]
    fall = t["fuel_rail_pressure_actual"][stop] - t["fuel_rail_pressure_actual"][stop + 5000]
    assert told["rail_leakdown_kpa_per_s"] == pytest.approx(fall / 5, rel=0.01)
    need = 0.9 * parameters.engine("training_rail_four").rail_start_kpa
    began = np.flatnonzero(simulation.run.motion.angle_at(t["time_s"]) > simulation.run.motion.angle_deg[0])[0]
    reached = np.flatnonzero(t["fuel_rail_pressure_actual"] >= need)[0]
    assert told["rail_build_time_s"] == pytest.approx((reached - began) / 1000, abs=0.003)


def test_rail_swing_and_ripple() -> None:
    """The slow swing is what was asked for; injections and pump strokes ripple round it and leave its mean alone."""
    simulation = drive("training_rail_four", "idle_only", "rail_pressure_unstable", 6.0)
    time = np.arange(25.0, 65.0, 0.0005)
    command = simulation.signals.exact("fuel_rail_pressure_commanded", time)
    ripple = simulation.signals.rail_ripple_kpa(time)
    actual = simulation.signals.exact("fuel_rail_pressure_actual", time) + ripple
    size = 2 * abs((actual / command * np.exp(-2j * np.pi * 0.8 * time)).mean())
    assert true(simulation)["rail_swing_percent"] == pytest.approx(100 * size, rel=0.05)
    assert abs(ripple.mean()) < 0.01 * ripple.std()
    # an injection takes V, dp = K V / V_rail (textbook); here 1.4 GPa, 830 mg/cm3
    step = 1.4e6 * simulation.signals.exact("fuel_quantity", time).mean() / 830 / 36
    assert 0.6 * step < np.percentile(ripple, 98) - np.percentile(ripple, 2) < 1.1 * step
    angle = simulation.run.motion.angle_at(time)
    per_cycle = [abs((ripple * np.exp(-1j * np.radians(angle) * k / 2)).mean()) for k in range(1, 9)]
    assert int(np.argmax(per_cycle)) + 1 == 4  # four injections and four strokes a cycle


@pytest.mark.parametrize("profile", ["training_rotary_six", "training_rail_v8"])
def test_contribution_is_the_gain_of_kinetic_energy(profile: str) -> None:
    """Work less its mean, from speed squared over the firing interval, against the same from the gas."""
    simulation = drive(profile, "idle_only", "cylinder_fuel_low", 40.0, cylinder=2)
    motion, order = simulation.run.motion, simulation.signals.profile.firing_order
    interval = 720 / len(order)
    first = np.ceil(motion.angle_at(np.array([30.0]))[0] / 720) * 720
    cycles = np.arange(100)
    edges = first + 720 * cycles[:, None] + interval * np.arange(len(order) + 1)
    square = np.interp(edges, motion.angle_deg, motion.speed_rad_s**2)
    # interval ends are whole nodes and the inertia repeats from firing to firing: it is the same at all of them
    engine = parameters.engine(profile)
    rate = cycle.travel_rate_m(interval * np.arange(len(order)), engine.stroke_mm / 2e3, engine.rod_mm / 1e3)
    inertia = engine.inertia_kgm2 + engine.reciprocating_mass_kg * (rate**2).sum()
    gain = 0.5 * inertia * np.diff(square, axis=1).mean(axis=0)
    works = simulation.run.firings
    mean = works.gas_work_j[works.time_s > 30].mean()
    told = np.array(true(simulation)["cylinder_contribution_percent"])[np.array(order) - 1]
    assert 100 * (gain - gain.mean()) / mean == pytest.approx(told, abs=2.5)


def test_compression_is_the_depth_of_the_dips() -> None:
    simulation = drive("training_rail_four", "compression_test", "cylinder_compression_low", 40.0, cylinder=3)
    motion, order = simulation.run.motion, simulation.signals.profile.firing_order
    cranking = (motion.time_s > 4) & (motion.time_s < 10)
    angle, square = motion.angle_deg[cranking], motion.speed_rad_s[cranking] ** 2
    depth: dict[int, list[float]] = {}
    for top in np.arange(np.ceil(angle[0] / 180 + 1) * 180, angle[-1] - 180, 180):
        before, around = (angle >= top - 180) & (angle <= top), np.abs(angle - top) <= 90
        depth.setdefault(order[round(top / 180) % 4], []).append(square[before].max() - square[around].min())
    mean = np.array([np.mean(depth[cylinder]) for cylinder in (1, 2, 3, 4)])
    assert true(simulation)["cylinder_compression_percent"] == pytest.approx((100 * mean / mean.max()).tolist(), abs=1)


def test_plain_medians() -> None:
    spark = drive("training_spark_four", "short_test", "mixture_lean", 18.0)
    t, told = rows(spark, 0.02), true(spark)
    running = t["running"] > 0
    assert told["running_voltage_v"] == pytest.approx(np.median(t["control_module_voltage"][running]), abs=0.01)
    total = t["short_term_fuel_trim_1"] + t["long_term_fuel_trim_1"]
    idle = np.median(total[settled_idle(spark, t)])
    assert told["fuel_trim_total_idle_percent"] == pytest.approx(idle, abs=0.2)
    cruise = running & (t["vehicle_speed"] > 20) & (t["pedal"] > 3) & (t["calculated_load"] < 60)
    assert told["fuel_trim_total_cruise_percent"] == pytest.approx(np.median(total[cruise]), abs=0.3)
    pedals = drive("training_rail_four", "idle_only", "pedal_tracks_disagree", 9.0)
    time = np.arange(5.0, 60.0, 0.1)
    tracks = pedals.signals.at("accelerator_pedal_e", time) - pedals.signals.at("accelerator_pedal_d", time)
    assert true(pedals)["pedal_track_error_percent"] == pytest.approx(np.median(tracks), abs=0.01)
