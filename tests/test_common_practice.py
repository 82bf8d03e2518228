"""What the trade knows of a rotary pump and its drive key: common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest

from logan import simulate, units
from logan.knowledge import faults
from logan.simulate.parameters import profile

ROTARY = "training_rotary_six"
PUMP_FAULTS = ("pump_key_wrong", "pump_key_reversed", "pump_timing_drift", "timing_actuator_sticking")


def test_rotary_pump_turns_at_half_crank_speed() -> None:
    """common practice, no source."""
    sensors = {"start_s": 8.0, "seconds": 10.0}
    made = simulate.run(simulate.make_spec(profile=ROTARY, drive="idle_only", duration_s=20, bus=None, sensors=sensors))
    assert made.recording is not None
    wheel, pump = profile(ROTARY).crank_wheel, profile(ROTARY).pump
    assert wheel is not None
    assert pump is not None
    assert pump.edges_deg is not None
    seen = {name: sensor.active_s for name, sensor in made.recording.sensors.items()}
    a, b = seen["pump"][[0, -1]]
    pump_turns = (len(seen["pump"]) - 1) / len(pump.edges_deg)
    crank_turns = np.sum((seen["crank"] > a) & (seen["crank"] < b)) / len(wheel.angles_deg())
    assert pump_turns / crank_turns == pytest.approx(0.5, abs=0.01)


@pytest.mark.parametrize(("psi", "bar"), [(3600, 248.2), (4500, 310.3)])
def test_opening_pressures_of_injectors(psi: float, bar: float) -> None:
    """common practice, no source: both are met; they stand so in the texts."""
    assert psi * units.to_inside("psi")[1] / 100 == pytest.approx(bar, abs=0.05)
    told = " ".join(faults.load().faults["cylinder_fuel_low"].practice)
    assert f"{psi:,} psi ({bar:.1f} bar)" in told


def test_a_key_of_the_pumps_own_number_shows_nothing_and_another_one_its_steps() -> None:
    """common practice, no source: the number of a drive key must match its pump's."""
    pump = profile(ROTARY).pump
    assert pump is not None
    error = {}
    for steps in (0, -3, 2):
        fault = {"fault": "pump_key_wrong", "size": steps} if steps else {}
        made = simulate.run(simulate.make_spec(profile=ROTARY, drive="idle_only", duration_s=30, bus=None, **fault))
        error[steps] = made.truth()["measures"]["timing_error_static_deg"]
    assert abs(error[0]) < (pump.timing_tolerance_deg or 1.0)
    for steps in (-3, 2):
        assert error[steps] - error[0] == pytest.approx(2 * steps * (pump.key_step_deg or 0.0), abs=1e-4)


def test_a_key_fitted_backwards_may_set_a_trouble_code() -> None:
    """common practice, no source: it does on this engine, whose module watches the timing; a small key does not."""
    codes = {
        fault: simulate.run(simulate.make_spec(profile=ROTARY, bus=None, **size)).codes
        for fault, size in (
            ("reversed", {"fault": "pump_key_reversed"}),
            ("step", {"fault": "pump_key_wrong", "size": 1}),
        )
    }
    assert codes["reversed"]
    assert not codes["step"]


def test_next_checks_send_to_the_keyway_at_12_o_clock() -> None:
    """common practice, no source."""
    for name in ("pump_key_wrong", "pump_key_reversed"):
        assert any("12 o'clock" in check.confirmed for check in faults.load().faults[name].checks)


@pytest.mark.parametrize("name", PUMP_FAULTS)
def test_timing_is_never_adjusted(name: str) -> None:
    """common practice, no source: the pump drive has no adjustment, so the cause is found."""
    fault = faults.load().faults[name]
    steps = " ".join(text for check in fault.checks for text in (check.text, check.confirmed, check.refuted)).lower()
    assert "adjust" not in steps
    assert "set the timing" not in steps
    assert any("no adjustment" in fact for fact in fault.practice)


@pytest.mark.parametrize("name", [ROTARY, "training_rail_four", "training_rail_v8", "training_spark_four"])
def test_the_cam_sensor_marks_top_dead_centre_of_cylinder_1(name: str) -> None:
    """common practice, no source: with the crank alone, cylinder 1 and the one a turn away look alike."""
    order, wheel = profile(name).firing_order, profile(name).cam_wheel
    assert wheel is not None
    marks = np.array(wheel.edges_deg)
    a_turn_on = np.sort((marks + 360.0) % 720.0)
    assert np.abs(a_turn_on - marks).max() > (wheel.tolerance_deg or 0.0)
    assert order[0] == 1
    assert any("top dead centre of cylinder 1" in fact for fact in faults.load().faults["cam_phase_offset"].practice)
