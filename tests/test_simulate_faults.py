"""Every fault of the catalogue, at its size, on every engine that can have it, with what it must do and must not do."""

from __future__ import annotations

import functools
import gzip
import json
import math
from dataclasses import fields, replace
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest

from logan import simulate
from logan.errors import UsageError
from logan.simulate import parameters
from logan.simulate.samples import samples
from logan.simulate.simulation import Simulation
from logan.simulate.spec import Defects

SAMPLE_LOGS = Path(__file__).parent.parent / "sample_logs"
# the catalogue of contract section 7
CATALOGUE = {
    "crank_signal_dropout", "crank_signal_inverted", "crank_wheel_runout", "cam_signal_dropout",
    "cam_phase_offset", "cam_signal_delay", "pump_key_wrong", "pump_key_reversed", "pump_timing_drift",
    "timing_actuator_sticking", "fuel_supply_low", "rail_pressure_low", "rail_pressure_unstable",
    "rail_leakdown", "cylinder_fuel_low", "cylinder_compression_low", "idle_hunting", "pedal_tracks_disagree",
    "thermostat_stuck_open", "boost_leak", "charging_voltage_low", "mixture_lean", "mixture_rich",
}  # fmt: skip
BUILT = [
    (fault, name)
    for fault, kind in parameters.faults().items()
    for name in sorted(parameters.engines())
    if not kind.fits or parameters.profile(name).injection in kind.fits
]


def test_catalogue_is_whole() -> None:
    assert sorted(parameters.faults()) == sorted(CATALOGUE)
    known = {f.name for f in fields(Defects)}
    assert {kind.parameter for kind in parameters.faults().values()} <= known


@pytest.mark.parametrize(("fault", "profile"), BUILT)
def test_engine_runs_with_the_fault(fault: str, profile: str) -> None:
    spec = simulate.make_spec(profile=profile, drive="idle_only", duration_s=8, fault=fault, bus=None)
    trace = simulate.run(spec).run.trace
    idle = parameters.profile(profile).idle.target_rpm or 0
    settled = trace["engine_speed"][trace["time_s"] > 6]
    assert settled.mean() == pytest.approx(idle, rel=0.12)
    assert all(np.isfinite(column).all() for column in trace.values())


FORMS = ["edges_csv", "waveform_csv", "wav", "vcd"]


@pytest.mark.parametrize(("fault", "profile"), BUILT)
def test_largest_and_smallest_are_made_in_every_form(fault: str, profile: str) -> None:
    forms = [FORMS[BUILT.index((fault, profile)) % 4]]
    sensors = {"start_s": 2.0, "seconds": 1.5, "forms": forms, "sample_rate_hz": 10_000.0}
    for size in parameters.faults()[fault].range:
        simulation = simulate.run(
            simulate.make_spec(
                profile=profile, fault=fault, size=size, drive="idle_only", duration_s=4, sensors=sensors
            )
        )
        assert simulation.recording is not None
        assert len(simulation.log()) > 1000
        assert all(len(content) > 40 for content in simulation.recording.files().values())
        truth = simulation.truth()
        assert truth["faults"][0]["size"] == size
        json.dumps(truth, allow_nan=False)


@pytest.mark.parametrize("profile", sorted(parameters.engines()))
@pytest.mark.parametrize("fault", sorted(parameters.faults()))
def test_a_size_that_cannot_be_is_refused_in_one_line(fault: str, profile: str) -> None:
    low, high = parameters.faults()[fault].range
    sizes = [0.0, -1e9, 1e9, float("nan"), math.nextafter(high, math.inf), math.nextafter(low, -math.inf)]
    if (fault, profile) not in BUILT:
        sizes += [low, high]
    for size in sizes:
        with pytest.raises(UsageError) as refused:
            simulate.make_spec(profile=profile, fault=fault, size=size)
        assert fault in str(refused.value)
        assert "\n" not in str(refused.value)


@functools.cache
def drive(profile: str, script: str, fault: str | None, size: float | None, **more: Any) -> Simulation:
    short = {"fault": fault, "size": size} if fault else {}
    length = 75.0 if script == "short_test" else None  # the first pull is in it
    return simulate.run(
        simulate.make_spec(profile=profile, drive=script, duration_s=length, bus=None, seed=4, **short, **more)
    )


# fault, size, engine, script, measure, what the measure moves by, tolerance
EFFECTS = [
    ("pump_key_wrong", 2.0, "training_rotary_six", "short_test", "timing_error_static_deg", 2.0, 0.01),
    ("timing_actuator_sticking", 4.0, "training_rotary_six", "short_test", "timing_hysteresis_deg", 4.0, 0.01),
    ("pump_timing_drift", -2.0, "training_rotary_six", "short_test", "timing_error_drift_deg_per_min", -2.0, 0.01),
    ("fuel_supply_low", 60.0, "training_rotary_six", "short_test", "supply_pressure_min_kpa_gauge", -47.0, 12.0),
    ("rail_pressure_low", 20.0, "training_rail_v8", "short_test", "rail_error_percent", -15.0, 5.0),
    ("rail_pressure_unstable", 8.0, "training_rail_four", "short_test", "rail_swing_percent", 8.0, 0.01),
    ("rail_leakdown", 4000.0, "training_rail_v8", "start_stop", "rail_leakdown_kpa_per_s", 2900.0, 500.0),
    ("rail_leakdown", 4000.0, "training_rail_v8", "start_stop", "rail_build_time_s", 0.2, 0.15),
    ("idle_hunting", 50.0, "training_rotary_six", "idle_only", "idle_hunt_amplitude_rpm", 50.0, 12.0),
    ("boost_leak", 50.0, "training_rail_four", "short_test", "boost_error_kpa", -25.0, 10.0),
    ("charging_voltage_low", 1.5, "training_rail_four", "idle_only", "running_voltage_v", -1.5, 0.02),
    ("mixture_lean", 20.0, "training_spark_four", "short_test", "fuel_trim_total_idle_percent", 19.0, 2.5),
    ("mixture_rich", 15.0, "training_spark_four", "short_test", "fuel_trim_total_idle_percent", -14.0, 2.5),
]  # fmt: skip


@pytest.mark.parametrize(
    ("fault", "size", "profile", "script", "measure", "change", "tolerance"),
    EFFECTS,
    ids=[f"{e[0]}-{e[4]}" for e in EFFECTS],
)
def test_fault_moves_its_measure(
    fault: str, size: float, profile: str, script: str, measure: str, change: float, tolerance: float
) -> None:
    good = drive(profile, script, None, None).truth()["measures"]
    bad = drive(profile, script, fault, size).truth()["measures"]
    assert bad[measure] - good.get(measure, 0.0) == pytest.approx(change, abs=tolerance)


def test_drift_and_swing_are_in_the_trace_as_asked() -> None:
    drifting = drive("training_rotary_six", "idle_only", "pump_timing_drift", -3.0).run.trace
    error = drifting["injection_timing_actual"] - drifting["injection_timing_commanded"]
    late = drifting["time_s"] > 15
    slope = np.polyfit(drifting["time_s"][late] / 60, error[late], 1)[0]
    assert slope == pytest.approx(-3.0, abs=0.05)
    swinging = drive("training_rail_four", "idle_only", "rail_pressure_unstable", 8.0).run.trace
    time = swinging["time_s"]
    steady = (time > 20) & (time < 60)
    ratio = swinging["fuel_rail_pressure_actual"][steady] / swinging["fuel_rail_pressure_commanded"][steady]
    turned = np.exp(-2j * np.pi * 0.8 * time[steady])
    assert abs(2 * (ratio * turned).mean()) * 100 == pytest.approx(8.0, rel=0.1)


def test_sticking_actuator_rests_on_the_side_it_comes_from() -> None:
    """Slow sweep up and down: at one speed the timing differs by the play (definition of the measure)."""
    timing = replace(
        drive("training_rotary_six", "short_test", None, None).run.timing,
        static_deg=0.0,
        delay_ms=0.0,
        load_deg=0.0,
        command_deg=0.0,
        piston_deg=0.0,
        wanted_deg=0.0,
    )
    defects = Defects(timing_hysteresis_deg=4.0)
    speeds = np.concatenate([np.arange(700, 2500, 0.2), np.arange(2500, 700, -0.2)])
    error = []
    for speed in speeds.tolist():
        timing.step(0.02, speed, 0.3, 0.0, 0.0, defects)
        error.append(timing.actual_deg - timing.command_deg)
    at_1500 = np.flatnonzero(np.abs(speeds - 1500) < 0.1)
    up, down = error[at_1500[0]], error[at_1500[-1]]
    assert down - up == pytest.approx(4.0 + timing.play_deg, abs=0.06)


@pytest.mark.parametrize("profile", sorted(parameters.engines()))
def test_weak_cylinder_gives_less_and_only_it(profile: str) -> None:
    bad = drive(profile, "idle_only", "cylinder_fuel_low", 40.0, cylinder=2).truth()["measures"]
    share = bad["cylinder_contribution_percent"]
    assert int(np.argmin(share)) == 1
    assert -55 < share[1] < -20
    assert sum(share) == pytest.approx(0, abs=0.01)
    assert max(share) < 18


def test_compression_loss_shows_while_cranking_and_fuel_loss_does_not() -> None:
    fuel = drive("training_rotary_six", "compression_test", "cylinder_fuel_low", 40.0, cylinder=5)
    seal = drive("training_rotary_six", "compression_test", "cylinder_compression_low", 40.0, cylinder=5)
    assert min(fuel.truth()["measures"]["cylinder_compression_percent"]) > 95
    dips = seal.truth()["measures"]["cylinder_compression_percent"]
    assert int(np.argmin(dips)) == 4
    assert dips[4] < 85


@pytest.mark.slow
def test_stuck_thermostat_never_reaches_opening() -> None:
    common = {"profile": "training_rail_four", "drive": "road_test", "bus": None}
    good = simulate.run(simulate.make_spec(**common)).truth()["measures"]["warmup_plateau_degc"]
    stuck = simulate.run(simulate.make_spec(**common, fault="thermostat_stuck_open")).truth()
    opens = parameters.profile("training_rail_four").limits.thermostat_open_degc
    assert good > opens - 2
    assert 40 < stuck["measures"]["warmup_plateau_degc"] < opens - 12
    assert "P0128" in [c["code"] for c in stuck["codes"]]


def test_onset_leaves_the_time_before_it_as_it_was() -> None:
    common = {"profile": "training_rotary_six", "drive": "idle_only", "bus": None, "duration_s": 40}
    good = simulate.run(simulate.make_spec(**common)).run.trace
    bad = simulate.run(simulate.make_spec(**common, fault="pump_key_wrong", size=-4, onset_s=25.0)).run.trace
    before = good["time_s"] < 24.9
    np.testing.assert_array_equal(
        good["injection_timing_actual"][before], bad["injection_timing_actual"][: before.sum()]
    )
    after = np.interp(35, bad["time_s"], bad["injection_timing_actual"]) - np.interp(
        35, good["time_s"], good["injection_timing_actual"]
    )
    assert after == pytest.approx(-4.0, abs=0.1)


def test_several_faults_at_once() -> None:
    spec = simulate.make_spec(
        profile="training_rail_four", drive="idle_only", duration_s=30, bus=None,
        faults=[
            {"fault": "cam_phase_offset", "size": 7.0},
            {"fault": "charging_voltage_low", "size": 2.0, "onset_s": 5.0},
        ],
    )  # fmt: skip
    truth = simulate.run(spec).truth()
    assert truth["measures"]["cam_phase_error_deg"] == pytest.approx(7.0, abs=1.0)
    assert truth["measures"]["running_voltage_v"] < 12.5
    assert [f["fault"] for f in truth["faults"]] == ["cam_phase_offset", "charging_voltage_low"]


def test_sample_of_each_fault_and_three_good_engines() -> None:
    names = set(samples())
    assert names >= CATALOGUE
    assert len([n for n in names if n.startswith("healthy_")]) == 3
    for name, spec in samples().items():
        assert [f.fault for f in spec.faults] == ([] if name.startswith("healthy_") else [name])
        assert (SAMPLE_LOGS / f"{name}.log.gz").is_file(), f"run python -m logan.simulate.samples {SAMPLE_LOGS.name}"
    assert sum(p.stat().st_size for p in SAMPLE_LOGS.iterdir()) < 20e6


@pytest.mark.parametrize("name", ["crank_signal_inverted", "cylinder_fuel_low", "healthy_spark_four"])
def test_samples_are_made_anew_bit_for_bit(name: str, tmp_path: Path) -> None:
    paths = simulate.write(simulate.run(samples()[name]), tmp_path, name, compress=True)
    assert len(paths) >= 2
    for path in paths:
        kept = (SAMPLE_LOGS / path.name).read_bytes()
        new = path.read_bytes()
        if path.suffix == ".gz":  # another zlib may pack otherwise; what is inside counts
            kept, new = gzip.decompress(kept), gzip.decompress(new)
        assert new == kept, path.name


def test_truth_beside_a_sample_names_its_fault() -> None:
    truth = msgspec.json.decode((SAMPLE_LOGS / "cylinder_fuel_low.truth.json").read_bytes())
    assert truth["faults"][0]["fault"] == "cylinder_fuel_low"
    assert truth["faults"][0]["cylinder"] == 3
    assert truth["measures"]["cylinder_contribution_percent"][2] < -15
