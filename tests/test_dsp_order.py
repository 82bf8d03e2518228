"""Orders of the crank against closed forms: textbook identities and sums worked out on paper beside each check."""

from __future__ import annotations

import numpy as np
import pytest
from cylinders_crank import Engine, torques

from logan.dsp import gas_torque, order
from logan.dsp.crank_speed import SAMPLES, STEP_DEG, cycles
from logan.dsp.cylinder_work import Level, refine
from logan.dsp.run_down import load_per_radian

RPM = 30.0 / np.pi
MISSING_J = 40.0 * 4.0 * np.pi / 6.0  # 40 N m mean indicated torque, six cylinders: work of one firing
INERTIA = 0.4
SPEED = 750.0 / RPM


def dead_cylinder(centre_deg: float, width_deg: float, turns: int = 720) -> np.ndarray:
    """Speed over one cycle, rad/s, of a rigid crank that lacks one torque pulse (rectangle), to first order."""
    angle = np.arange(turns * 4) * 720.0 / (turns * 4)
    inside = np.abs((angle - centre_deg + 360.0) % 720.0 - 360.0) <= width_deg / 2.0
    torque = -MISSING_J * inside / inside.sum()
    return SPEED + np.cumsum(torque - torque.mean()) / (INERTIA * SPEED)


def test_work_of_a_firing() -> None:
    assert pytest.approx(83.776, abs=1e-3) == MISSING_J  # worked example: mean torque * 4 pi / cylinders


def test_step_of_one_misfire() -> None:
    # worked example: 83.776 J, 0.4 kg m2, 750 rpm -> 25.46 rpm (dE / (J w))
    speed = dead_cylinder(270.0, 0.5)
    assert np.ptp(speed) * RPM == pytest.approx(25.46, rel=0.01)


def test_half_order_of_a_dead_cylinder() -> None:
    # worked example: dE / (pi J w) = 8.106 rpm; a rectangle 40 degrees wide: times sin(x) / x, x = order * 20 deg
    assert order.lack_of_work(8.106 / RPM, SPEED) == pytest.approx(2.0 * MISSING_J / INERTIA, rel=1e-3)
    seen = order.orders(dead_cylinder(270.0, 0.5), 1)[0]
    assert abs(seen) * RPM == pytest.approx(8.106, abs=0.01)
    wide = order.orders(dead_cylinder(270.0, 40.0), 3)
    assert np.abs(wide) * RPM == pytest.approx(
        [8.106 * np.sinc(10 / 180), 8.106 / 2 * np.sinc(20 / 180), 8.106 / 3 * np.sinc(30 / 180)], abs=0.05
    )


@pytest.mark.parametrize("centre", [30.0, 270.0, 500.0, 690.0])
def test_phase_of_the_half_order_points_at_the_cylinder(centre: float) -> None:
    # psi = 2 (90 - phase) mod 720; worked example: 270 deg gives a phase of -45 deg
    phase = np.degrees(np.angle(order.orders(dead_cylinder(centre, 40.0), 1)[0]))
    if centre == 270.0:
        assert phase == pytest.approx(-45.0, abs=0.2)
    assert 2.0 * (90.0 - phase) % 720.0 == pytest.approx(centre, abs=0.5)


def test_orders_of_a_sum_of_cosines() -> None:
    # worked example: 120 samples, 750 + 5 cos(0.5 a - 40 deg) + 3 cos(3 a + 0.2)
    a = np.radians(np.arange(120) * 6.0)
    found = order.orders(750.0 + 5.0 * np.cos(0.5 * a - np.radians(40.0)) + 3.0 * np.cos(3.0 * a + 0.2), 8)
    assert abs(found[0]) == pytest.approx(5.0, abs=1e-9)
    assert np.degrees(np.angle(found[0])) == pytest.approx(-40.0, abs=1e-9)
    assert found[5] == pytest.approx(3.0 * np.exp(0.2j), abs=1e-9)
    assert np.abs(np.delete(found, [0, 5])).max() < 1e-9


def test_inertia_torque() -> None:
    # worked example: 1 kg, r 45 mm, l 150 mm, 100 rad/s at 45 deg: -12.449 N m exactly; the shape is in m r^2 w^2
    shape = gas_torque.shapes(17.0, 0.0, 50.0, rod_ratio=0.3).inertia
    scale = 0.045**2 * 100.0**2
    assert np.interp(45.0, gas_torque.ANGLE_DEG, shape) * scale == pytest.approx(-12.449, abs=0.03)
    # series to the fourth order: 1.4 % off there (textbook)
    a, ratio = np.radians(gas_torque.ANGLE_DEG), 0.3
    series = ratio / 4 * np.sin(a) - np.sin(2 * a) / 2 - 3 * ratio / 4 * np.sin(3 * a) - ratio**2 / 4 * np.sin(4 * a)
    assert np.abs(shape - series).max() < 0.02


def test_piston_travel() -> None:
    # worked example: r 45 mm, l 150 mm: 51.909 mm at 90 deg, 7.726 mm at 30, 90 at 180 (slider-crank, textbook)
    fall, _ = gas_torque.travel(np.array([30.0, 90.0, 180.0]), 0.3)
    assert fall * 45.0 == pytest.approx([7.726, 51.909, 90.0], abs=1e-3)


def test_shapes_agree_with_an_engine_written_apart() -> None:
    dry, fired = torques(Engine(ratio=17.0, rod=0.3))
    mine = gas_torque.shapes(17.0, 0.0, 50.0, rod_ratio=0.3)
    theirs = np.interp(gas_torque.ANGLE_DEG, np.arange(-360, 360) + 0.5, dry) / (1e5 * 0.5e-3)
    assert np.corrcoef(mine.compression, theirs)[0, 1] > 0.995
    assert np.ptp(mine.compression) == pytest.approx(np.ptp(theirs), rel=0.1)
    low = np.arange(1, 7)
    pulse = np.exp(-0.5j * low[:, None] * np.radians(np.arange(-360, 360) + 0.5)) @ fired * np.radians(1) / 2 / np.pi
    assert np.abs(gas_torque.harmonics(mine.combustion, low) - pulse).max() < 0.2 / (2 * np.pi)


def test_cycles_give_back_speed_and_ripple() -> None:
    # w^2 = w0^2 + sum of cosines: time is integrated finely, teeth of a 60-2 wheel are taken from it
    fine = np.arange(0.0, 720.0 * 30, 0.05)
    a = np.radians(fine)
    square = 80.0**2 + 200.0 * np.cos(0.5 * a - 1.0) + 400.0 * np.cos(3.0 * a + 0.3)
    rate = 1.0 / np.sqrt(square)
    t = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1])) * np.radians(0.05)])
    count = np.arange(60 * 59)
    angle = 84.0 + 6.0 * count[count % 60 < 58]
    found = cycles(np.interp(angle, fine, t), angle, np.zeros(len(angle), int), 30.0)
    assert len(found) >= 27
    assert found.ripple.shape[1] == SAMPLES
    seen = order.orders(found.ripple, 6)
    assert seen[:, 0] == pytest.approx(np.full(len(found), 200.0 * np.exp(-1j)), abs=1.0)
    assert seen[:, 5] == pytest.approx(np.full(len(found), 400.0 * np.exp(0.3j)), abs=2.0)
    assert found.speed_rpm == pytest.approx(np.full(len(found), found.speed_rpm[0]), rel=1e-4)


def test_a_swing_of_the_governor_leaks_little_into_the_half_order() -> None:
    # worked example: 0.7 Hz, 20 rpm at 750 rpm leaks 0.009 rpm into order 0.5 of 20 cycles once one-cycle mean is out
    angle = np.arange(0.0, 720.0 * 24, 6.0)
    t = angle / (6.0 * 750.0)
    for _ in range(20):  # time at which each angle is passed: solve the integral of the swinging speed
        t = (angle + 20.0 * 6.0 / (2 * np.pi * 0.7) * (np.cos(2 * np.pi * 0.7 * t) - 1.0)) / (6.0 * 750.0)
    found = cycles(t, angle, np.zeros(len(angle), int), 30.0).select(np.arange(20))
    leak = abs(order.orders(found.ripple, 1).mean()) / (2.0 * SPEED) * RPM
    assert leak < 0.05


def test_a_hole_splits_the_cycles() -> None:
    angle = np.arange(0.0, 720.0 * 12, 6.0)
    keep = (angle < 720.0 * 5 + 100.0) | (angle > 720.0 * 5 + 160.0)
    found = cycles(angle[keep] / 4500.0, angle[keep], np.zeros(int(keep.sum()), int), 30.0)
    assert 5 not in found.number
    assert set(found.number) == {1, 2, 3, 7, 8, 9, 10} | ({4} & set(found.number)) | ({6} & set(found.number))
    assert STEP_DEG * SAMPLES == 720.0


def run_down(fall: float, turns: int = 40) -> tuple[np.ndarray, np.ndarray]:
    """Teeth of an engine that idles at 80 rad/s, then loses ``fall`` rad2/s2 of speed squared per radian."""
    angle = np.arange(0.0, 360.0 * turns, 6.0)
    square = 80.0**2 - fall * np.radians(np.clip(angle - 3600.0, 0.0, None))
    angle, square = angle[square > 400.0], square[square > 400.0]
    speed = np.sqrt(square)
    # dt = dw / (dw/dt), dw/dt = -fall / 2 (constant torque: textbook); uniform before
    step = np.radians(6.0) / (0.5 * (speed[1:] + speed[:-1]))
    return np.concatenate([[0.0], np.cumsum(step)]), angle


@pytest.mark.parametrize("z", [4, 6, 8])
def test_a_run_down_gives_the_load(z: int) -> None:
    t, angle = run_down(150.0)
    assert load_per_radian(t, angle, 80.0, z) == pytest.approx([150.0], rel=0.01)


def test_a_vehicle_that_slows_down_is_no_run_down() -> None:
    t, angle = run_down(10.0, turns=120)
    assert len(load_per_radian(t, angle, 80.0, 4)) == 0
    t, angle = run_down(0.0)
    assert len(load_per_radian(t, angle, 80.0, 4)) == 0


def test_a_run_down_narrows_the_mean_work() -> None:
    # load 50 N m on 0.5 kg m2: 200 rad2/s2 per radian; a firing of four cylinders lasts pi: 628
    found = refine(Level(500.0, 0.3), np.array([200.0]), 4, "compression")
    assert 560.0 < found.square < 670.0
    assert found.relative < 0.12
    assert refine(Level(500.0, 0.3), np.empty(0), 4, "compression") == Level(500.0, 0.3)
