"""Worked examples of wheels, speed, orders, timing, rail and polling that no other test holds.

The program's own code computes them. Each names its source; "derived" is exact arithmetic. Those of mechanics, phase,
trends, periodograms and robust fits stand with their subjects (``test_dsp_*``, ``test_phase``, ``test_wheel``,
``test_simulate_physics``).
"""

from __future__ import annotations

from dataclasses import replace

import j1979_messages
import msgspec
import numpy as np
import pytest

from logan import simulate, units
from logan.dsp import order, spectrum
from logan.dsp.wheel import decode, speed_rpm
from logan.model.profile import CrankWheel
from logan.planning import precision, schedule
from logan.simulate.injection import Timing
from logan.simulate.parameters import engines, profile


@pytest.mark.parametrize(
    ("teeth", "missing", "edges", "pitch", "gap"),
    [
        (60, 2, 58, 6.0, 18.0),  # an engine-tuning article on trigger patterns: 6 degrees a tooth
        (36, 1, 35, 10.0, 20.0),  # derived
        (60, 4, 56, 6.0, 30.0),  # service information of a four-cylinder diesel: 56 notches, 24 degrees of uncut metal
    ],
)
def test_edges_of_a_wheel(teeth: int, missing: int, edges: int, pitch: float, gap: float) -> None:
    angles = np.array(CrankWheel(teeth=teeth, missing=missing, first_edge_deg=84.0).angles_deg())
    steps = np.sort(np.diff(np.append(angles, angles[0] + 360.0)))
    assert len(angles) == edges
    assert steps[:-1] == pytest.approx(pitch)
    assert steps[-1] == pytest.approx(gap)


def tooth_speed(rpm: float, late_s: float = 0.0, off_deg: float = 0.0) -> np.ndarray:
    """Speed of each tooth of a 60-2 wheel at constant speed whose edge 200 comes late or stands off its place."""
    wheel = np.array(CrankWheel(teeth=60, missing=2, first_edge_deg=84.0).angles_deg())
    angle = (360.0 * np.arange(12)[:, None] + wheel).ravel()
    time = angle / (6.0 * rpm)
    time[200] += late_s + off_deg / (6.0 * rpm)
    return speed_rpm(decode(time, wheel))[200:202]


def test_a_tooth_at_800_rpm_takes_1_25_ms() -> None:
    # tooth_period_60_800 (derived)
    assert tooth_speed(800.0) == pytest.approx(6.0 / 1.25e-3 / 6.0)


def test_a_microsecond_at_3000_rpm() -> None:
    # timer_error_1us_3000: 0.300 % of a tooth's speed, 0.018 degrees (derived)
    assert 100 * (tooth_speed(3000.0, late_s=1e-6)[1] / 3000.0 - 1) == pytest.approx(0.300, rel=4e-3)
    assert units.delay_to_deg(1e-3, 3000.0) == pytest.approx(0.018)


def test_a_tooth_off_its_place_feigns_speed() -> None:
    # pitch_error_speed: 0.05 degrees on a tooth of 6: 0.833 % (derived)
    assert 100 * (tooth_speed(800.0, off_deg=0.05)[1] / 800.0 - 1) == pytest.approx(0.833, rel=0.01)


def test_a_stamp_of_a_millisecond_at_800_rpm() -> None:
    # deg_per_ms_800, timestamp_1ms_800: 4.8 degrees (derived)
    assert units.delay_to_deg(1.0, 800.0) == pytest.approx(4.8)


def test_half_order_in_hertz() -> None:
    # order_to_hz: 6.25 Hz at 750 rpm; cycle_time_700: 171.429 ms (derived)
    # injection_freq_4cyl_1500: a quarter of 50 Hz (Combustion Engine Diagnosis, Springer Vieweg 2017, fig. 4.3.5)
    assert schedule.half_order_hz([750.0, 1500.0]) == [6.25, 12.5]
    assert 1e3 / schedule.half_order_hz([700.0])[0] == pytest.approx(171.429, abs=1e-3)


@pytest.mark.parametrize(("hertz", "rate", "seen"), [(6.25, 5.0, 1.25), (6.25, 10.0, 3.75), (37.5, 10.0, 2.5)])
def test_what_slow_polling_makes_of_a_swing(hertz: float, rate: float, seen: float) -> None:
    # alias_half_order, alias_firing (derived)
    assert schedule.seeming_hz(hertz, 1.0 / rate) == pytest.approx(seen)
    assert spectrum.folded(hertz, rate) == pytest.approx(seen)


def test_least_error_of_a_wheels_phase() -> None:
    # crlb_known_rate, crlb_line_fit_end: 5 us, 800 rpm, 58 edges: 0.003151 degrees with known speed, 0.006222 at the
    # last edge with unknown speed (Kay, Fundamentals of Statistical Signal Processing I, from memory)
    edge_deg = units.delay_to_deg(5e-3, 800.0)
    ones, since_last = np.ones(58), np.arange(-57.0, 1.0)
    free = np.array([np.inf, np.inf])
    assert precision.bound(ones[:, None], edge_deg, free[:1])[0] == pytest.approx([0.003151], abs=1e-6)
    both = precision.bound(np.column_stack([ones, since_last]), edge_deg, free)[0]
    assert both[0] == pytest.approx(0.006222, abs=2e-6)


@pytest.mark.parametrize(("fastest", "sd_ms"), [(720.0, 0.609), (2500.0, 0.00677)])
def test_a_plan_knows_what_speeds_tell_a_delay(fastest: float, sd_ms: float) -> None:
    # identifiability_narrow, identifiability_wide: 0.3 degrees, 200 points from 700 rpm on (derived)
    columns = np.column_stack([np.ones(200), units.delay_to_deg(1.0, 1.0) * np.linspace(700.0, fastest, 200)])
    assert precision.bound(columns, 0.3, np.array([np.inf, np.inf]))[0][1] == pytest.approx(sd_ms, rel=0.01)


def test_six_values_in_turn() -> None:
    # round_robin: 6 PIDs at 100 ms each: 600 ms a sweep, 1.667 Hz each (derived)
    periods = schedule.periods_s({f"c{k}": k for k in range(6)}, {}, 10.0, 1)
    assert list(periods.values()) == pytest.approx([0.6] * 6)


def test_a_tester_in_turn_as_simulated() -> None:
    # the same in a simulated log: requests for one PID come 600 ms apart
    pids = (0x0C, 0x04, 0x05, 0x0B, 0x0D, 0x0F)
    bus = {"broadcast": False, "background": False, "pids": pids, "poll_interval_s": 0.1}
    log = simulate.run(simulate.make_spec(drive="idle_only", duration_s=20, bus=bus)).frames
    assert log is not None
    for pid in pids:
        asked = (log.identifier == 0x7DF) & (log.data[:, :3] == [2, 1, pid]).all(axis=1)
        assert np.median(np.diff(log.time_s[asked])) == pytest.approx(0.6, abs=2e-3)


def test_half_order_of_a_noisy_speed() -> None:
    # half_order_amp_sd: 6 rpm of noise, 20 cycles of 120 teeth: 0.173 rpm, sigma sqrt(2 / N) (derived)
    noise = 6.0 * np.random.default_rng(5).standard_normal((400, 20, 120))
    parts = order.orders(noise, 1).mean(axis=(1, 2))
    assert np.sqrt((parts.real.var() + parts.imag.var()) / 2) == pytest.approx(0.173, abs=0.02)


@pytest.mark.parametrize(("cylinders", "half_order", "step"), [(6, 1, 60.0), (4, 1, 90.0), (8, 1, 45.0), (6, 3, 180.0)])
def test_phase_turns_from_firing_to_firing(cylinders: int, half_order: int, step: float) -> None:
    # phase_step_per_firing: order * 720 / z (derived); firing_interval_6, firing_interval_8_4 (textbook identity 720/z)
    speed = np.zeros((2, 720))
    speed[0, 100] = speed[1, 100 + 720 // cylinders] = 1.0
    first, following = order.orders(speed, half_order)[:, half_order - 1]
    assert abs(np.degrees(np.angle(first / following))) == pytest.approx(step)


def test_a_degree_at_the_pump_is_two_at_the_crank() -> None:
    # pump_to_crank: 12 degrees of a half-speed pump are 24 of the crank (service text on a pump's timing device)
    own = profile("training_rotary_six")
    assert own.pump is not None
    coarse = msgspec.structs.replace(own, pump=msgspec.structs.replace(own.pump, key_step_deg=12.0))
    timing = Timing(engines()["training_rotary_six"], coarse, 0.0, 0.0, 0.0, 0.0)
    assert timing.key_deg(simulate.spec.Defects(key_steps=1.0)) == pytest.approx(24.0)


def test_timing_and_rail_pressure_as_a_tester_gets_them() -> None:
    # pid_5D: 0x6D00 is 8 degrees, 0x6900 is 0; pid_23: 0x0BB8 is 30000 kPa (SAE J1979, from memory)
    told = [(0.0, 0x7E8, "415D6D00"), (1.0, 0x7E8, "415D6900"), (2.0, 0x7E8, "41230BB8")]
    channels, _, _ = j1979_messages.decode(*told)
    by_source = {c.source[-2:]: c.value for c in channels.values()}
    assert by_source["5D"] == pytest.approx([8.0, 0.0])
    assert by_source["23"] == pytest.approx([30000.0])


@pytest.mark.parametrize(("psi", "bar"), [(4500.0, 310.264), (26000.0, 1792.64)])
def test_pounds_in_bar(psi: float, bar: float) -> None:
    # psi_bar_4500, psi_bar_26000 (1 psi = 6894.757293 Pa, NIST SP 811)
    unit, factor, offset = units.to_inside("psi")
    assert unit == "kPa"
    assert (psi * factor + offset) / 100 == pytest.approx(bar, rel=1e-5)
    shown = units.DISPLAY_US["kPa"]
    assert bar * 100 * shown[1] == pytest.approx(psi, rel=1e-5)


def test_an_injection_lowers_the_rail() -> None:
    # rail_dip_per_injection: 60 mm3 out of 30 cm3 at 1.4 GPa: 28 bar (derived), less what the pump brings meanwhile
    made = simulate.run(simulate.make_spec(profile="training_rail_four", drive="idle_only", duration_s=10)).signals
    trace = {**made.run.trace, "fuel_quantity": np.full(len(made.run.trace["time_s"]), 60e-3 * 830.0)}
    small = msgspec.structs.replace(made.engine, rail_volume_cm3=30.0, rail_pump_strokes=720)
    changed = replace(made, run=replace(made.run, trace=trace), engine=small)
    top = np.ceil(made.run.motion.angle_deg[-1] / 180 - 3) * 180
    before, after = changed.rail_ripple_kpa(
        np.interp([top, top + 15], made.run.motion.angle_deg, made.run.motion.time_s)
    )
    assert (before - after) / 100 == pytest.approx(28.0 * (1 - 15 / 180), rel=0.01)
