"""The generator of many drives keeps its stated mix, and every drive of it can be simulated."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest

from logan import simulate
from logan.simulate import parameters
from tests.tools.drives import COOL_DAY_DEGC, DRIVES, MAIN, SHORT_TEST_MIN, bounds, specs


def test_mix_of_two_thousand() -> None:
    cases = list(specs(2000, seed=1))  # make_spec has checked each
    verdicts = Counter(case.verdict for case in cases)
    assert verdicts["no_fault_supported"] == pytest.approx(500, abs=80)  # four standard deviations
    assert verdicts["insufficient_evidence"] == pytest.approx(200, abs=55)
    faults = Counter(case.fault for case in cases if case.fault)
    assert set(faults) == set(parameters.faults())
    assert min(faults.values()) > 25
    assert {case.spec.profile for case in cases} == set(parameters.engines())
    assert len({case.name for case in cases}) == 2000


def test_same_seed_same_cases_and_a_longer_run_begins_the_same() -> None:
    assert list(specs(20, seed=5)) == list(itertools.islice(specs(60, seed=5), 20))
    assert list(specs(20, seed=5)) != list(specs(20, seed=6))


def test_sizes_span_from_least_to_gross_and_can_be_made() -> None:
    for fault, kind in parameters.faults().items():
        for profile in parameters.engines():
            if not kind.fits or parameters.profile(profile).injection in kind.fits:
                least, gross = bounds(fault, profile)
                assert 0 < least <= gross, (fault, profile)
                assert max(kind.range[0], 0) <= least, (fault, profile)
                assert gross <= kind.range[1], (fault, profile)


def limit(fault: str, profile: str) -> tuple[float, int]:
    """What the true value must pass and the side on which: the profile's limit, or what the trade acts on."""
    p = parameters.profile(profile)
    table: dict[str, tuple[float, int]] = {
        # of the profile
        "cam_phase_offset": (p.cam_wheel.tolerance_deg if p.cam_wheel else 4.0, 1),
        "pump_key_wrong": (p.pump.timing_tolerance_deg if p.pump else 1.0, 1),
        "pump_key_reversed": (-(p.pump.timing_tolerance_deg if p.pump else 1.0), -1),
        "timing_actuator_sticking": (p.pump.timing_tolerance_deg if p.pump else 1.0, 1),
        "fuel_supply_low": (p.limits.supply_pressure_min_kpa_gauge or 0.0, -1),
        "rail_pressure_low": (-p.limits.rail_error_percent, -1),
        "idle_hunting": (p.idle.std_limit_rpm, 1),
        "thermostat_stuck_open": (p.limits.thermostat_open_degc, -1),
        "boost_leak": (-p.limits.boost_error_kpa, -1),
        "charging_voltage_low": (p.limits.system_voltage_min, -1),
        # common practice, no source
        "crank_signal_dropout": (1.0, 1),
        "cam_signal_dropout": (1.0, 1),
        "crank_wheel_runout": (0.5, 1),
        "rail_pressure_unstable": (3.0, 1),
        "rail_leakdown": (2000.0, 1),
        "cylinder_fuel_low": (-8.0, -1),
        "cylinder_compression_low": (90.0, -1),
        "pedal_tracks_disagree": (5.0, 1),
        "mixture_lean": (10.0, 1),
        "mixture_rich": (-10.0, -1),
    }
    return table[fault]


def test_every_fault_with_a_size_has_its_measure() -> None:
    assert set(MAIN) == set(parameters.faults()) - {"crank_signal_inverted"}


@pytest.mark.parametrize("number", range(2))
@pytest.mark.parametrize("fault", sorted(set(MAIN) - {"cam_signal_delay", "pump_timing_drift"}))
def test_least_size_passes_the_limit(fault: str, number: int) -> None:
    """The truth of a drive at its least size; two of the engines that can have the fault, the second on a hot day."""
    fits = parameters.faults()[fault].fits
    engines = [name for name in sorted(parameters.engines()) if not fits or parameters.profile(name).injection in fits]
    profile = engines[(len(fault) + number) % len(engines)]
    kind = parameters.faults()[fault]
    spec = simulate.make_spec(
        profile=profile, drive=DRIVES.get(fault, "short_test"), bus=None, seed=3 + number,
        fault=fault, size=bounds(fault, profile)[0], cylinder=2 if kind.cylinder else None,
        sensors={"seconds": 60} if kind.sensors else None, ambient_degc=(18.0, COOL_DAY_DEGC)[number],
    )  # fmt: skip
    value = simulate.run(spec).truth()["measures"][MAIN[fault]]
    value = value[1] if kind.cylinder else value
    passed, side = limit(fault, profile)
    assert side * value > side * passed, (profile, value)


def test_least_delay_and_drift_leave_the_tolerance_within_the_drive() -> None:
    # 0.006 * rpm * ms degrees (contract, section 3) at the speed of the pulls; drift times the minutes of the drive
    for profile in parameters.engines():
        p = parameters.profile(profile)
        assert p.cam_wheel is not None
        assert 0.006 * 2500 * bounds("cam_signal_delay", profile)[0] > p.cam_wheel.tolerance_deg
    assert bounds("pump_timing_drift", "training_rotary_six")[0] * SHORT_TEST_MIN > 1.0


def test_stuck_thermostat_is_driven_on_cool_days_only() -> None:
    cases = [case for case in specs(600, seed=1) if case.fault == "thermostat_stuck_open"]
    assert len(cases) > 5
    assert max(case.spec.ambient_degc for case in cases) <= COOL_DAY_DEGC


def test_starved_record_holds_one_quantity() -> None:
    case = next(case for case in specs(200, seed=2) if case.verdict == "insufficient_evidence")
    frames = simulate.run(case.spec).frames
    assert frames is not None
    asked = {bytes(d[1:3]) for d, ident in zip(frames.data, frames.identifier, strict=True) if ident in (0x7DF, 0x7E0)}
    asked |= {
        bytes(d[1:3]) for d, i in zip(frames.data, frames.identifier, strict=True) if i in (0x18DB33F1, 0x18DA10F1)
    }
    polled = {request[1] for request in asked if request[0] == 1 and request[1] % 0x20 and request[1] != 1}
    assert polled == {0x05}
