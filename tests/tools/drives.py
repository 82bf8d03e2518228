"""Simulated drives in a stated mix, for calibrating the ranking and for jobs over many logs.

    for case in specs(2000, seed=1):
        simulation = simulate.run(case.spec)      # then simulate.write(simulation, folder, case.name)

The mix: a quarter good engines, one in ten starved records (too little was recorded to show anything), the rest spread
evenly over the 23 faults. Engines, polling, broadcast, sensor recordings, noise, lost frames and cylinders vary.

How sizes were chosen: each fault has a least size, at which the true value of its measure passes what the profile
allows (or, where the profile sets no limit, what the trade would act on: judgement) in the drive that is used, and a
gross one; between them sizes are log-uniform, so that as many lie near the limit as far from it. ``bounds`` states both
for every fault, from the keys of the profile; ``MAIN`` names the measure. A stuck thermostat is driven on cool days
only: on a hot one the coolant gets warm with the thermostat wide open.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from logan import simulate
from logan.simulate import parameters

GOOD_SHARE = 0.25
STARVED_SHARE = 0.10
SIGNED = {"cam_phase_offset", "pump_key_wrong", "pump_timing_drift", "pedal_tracks_disagree"}
DRIVES = {
    "cylinder_compression_low": "compression_test",
    "rail_leakdown": "start_stop",
    "thermostat_stuck_open": "road_test",
}
MAIN = {
    "crank_signal_dropout": "crank_dropouts_per_1000rev",
    "crank_wheel_runout": "crank_wheel_runout_percent",
    "cam_signal_dropout": "cam_dropouts_per_1000rev",
    "cam_phase_offset": "cam_phase_error_deg",
    "cam_signal_delay": "cam_phase_delay_ms",
    "pump_key_wrong": "timing_error_static_deg",
    "pump_key_reversed": "timing_error_static_deg",
    "pump_timing_drift": "timing_error_drift_deg_per_min",
    "timing_actuator_sticking": "timing_hysteresis_deg",
    "fuel_supply_low": "supply_pressure_min_kpa_gauge",
    "rail_pressure_low": "rail_error_percent",
    "rail_pressure_unstable": "rail_swing_percent",
    "rail_leakdown": "rail_leakdown_kpa_per_s",
    "cylinder_fuel_low": "cylinder_contribution_percent",
    "cylinder_compression_low": "cylinder_compression_percent",
    "idle_hunting": "idle_speed_std_rpm",
    "pedal_tracks_disagree": "pedal_track_error_percent",
    "thermostat_stuck_open": "warmup_plateau_degc",
    "boost_leak": "boost_error_kpa",
    "charging_voltage_low": "running_voltage_v",
    "mixture_lean": "fuel_trim_total_idle_percent",
    "mixture_rich": "fuel_trim_total_idle_percent",
}
"""The measure that the size of a fault moves; swapped wires of a sensor have none."""
RECORDED = {"cylinder_compression_low", "cylinder_fuel_low"}  # besides those that faults.toml marks `sensors`
SHORT_TEST_MIN = 2.4
FLOW_REACHED = 0.80  # share of the full fuel flow in the pulls of the short test
COOL_DAY_DEGC = 26.0


@dataclass(frozen=True, slots=True)
class Case:
    """One drive and what a report of it should say.

    ``severity`` is 0 at the least size of the fault and 1 at its gross one (logarithmic).
    """

    name: str
    spec: simulate.Spec
    verdict: str
    fault: str | None = None
    cylinder: int | None = None
    severity: float | None = None


def bounds(fault: str, profile: str) -> tuple[float, float]:
    """Least and gross size of a fault on an engine, in the unit of the simulator's ``faults.toml``."""
    p, engine = parameters.profile(profile), parameters.engine(profile)
    tolerance = p.pump.timing_tolerance_deg if p.pump else 1.0
    cam = p.cam_wheel.tolerance_deg if p.cam_wheel else 4.0
    supply_room = engine.supply_kpa - (p.limits.supply_pressure_min_kpa_gauge or 0.0)
    supply_least = 1.08 * (supply_room / FLOW_REACHED - engine.supply_sag_kpa)
    table: dict[str, tuple[float, float]] = {
        "crank_signal_dropout": (4, 400),  # judgement: a good sensor loses none
        "crank_signal_inverted": (1, 1),
        "crank_wheel_runout": (0.6, 8),  # judgement: a good wheel stays within 0.3 %
        "cam_signal_dropout": (4, 400),
        "cam_phase_offset": (1.25 * cam + 0.75, min(5 * cam, 24)),  # 2.5 standard deviations of mounting
        "cam_signal_delay": (1.25 * cam / (0.006 * 2500), 3.0),  # passes the cam's tolerance at 2500 rpm
        "pump_key_wrong": (2, 10),  # one step may be as small as the tolerance
        "pump_key_reversed": (1, 1),
        "pump_timing_drift": (1.25 * tolerance / SHORT_TEST_MIN, 6),  # leaves the tolerance within the drive
        "timing_actuator_sticking": (1.5 * tolerance, 10 * tolerance),
        "fuel_supply_low": (supply_least, min(2 * supply_least, engine.supply_kpa)),  # size is at full flow
        "rail_pressure_low": (1.8 * p.limits.rail_error_percent, 40),  # size is at full demand, the measure a median
        "rail_pressure_unstable": (3.6, 20),  # judgement: a good loop holds 1 to 2 %
        "rail_leakdown": (2600, 5400),  # judgement: an idle pressure gone within some ten seconds
        # judgement: three times the spread of good injectors, and what the balance control makes up for
        "cylinder_fuel_low": (14 + engine.balance_authority_percent, 80),
        "cylinder_compression_low": (
            20,
            60,
        ),  # judgement: a tenth less than the best is looked into; the dip shows half
        "idle_hunting": (1.3 * math.sqrt(2) * p.idle.std_limit_rpm, 150),  # a sine whose spread passes the limit
        "pedal_tracks_disagree": (8, 40),  # judgement: plausibility windows of control modules are 3 to 5 %
        "thermostat_stuck_open": (75, 100),  # from there on the drive ends below opening
        "boost_leak": (1.6 * p.limits.boost_error_kpa, 100),  # size is at full boost, the measure over all load
        "charging_voltage_low": (1.25, 3.5),  # a regulator at 14.2 V, less this, is below the least 13.2 V
        "mixture_lean": (13, 42),  # common practice, no source: trims beyond 10 % are looked into
        "mixture_rich": (13, 42),
    }
    return table[fault]


def specs(count: int, seed: int) -> Iterator[Case]:
    """Yield so many cases; the same seed gives the same ones, and a longer run begins like a shorter one."""
    faults = list(parameters.faults())
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        kind = rng.random()
        if kind < GOOD_SHARE:
            yield _good(number, rng)
        elif kind < GOOD_SHARE + STARVED_SHARE:
            yield _starved(number, rng)
        else:
            yield _faulty(number, rng, faults[int(rng.integers(len(faults)))])


def _engine(rng: np.random.Generator, fits: list[str]) -> str:
    names = [name for name in parameters.engines() if not fits or parameters.profile(name).injection in fits]
    return names[int(rng.integers(len(names)))]


def _common(number: int, rng: np.random.Generator, recorded: bool) -> dict[str, Any]:
    """Bus, sensors, surroundings and damage, in their variety."""
    bus: dict[str, Any] = {
        "slower": float(rng.choice([1.0, 1.0, 2.0, 4.0])),
        "poll_interval_s": float(rng.uniform(0.05, 0.16)),
        "latency_s": float(rng.uniform(0.004, 0.03)),
        "pids_per_request": int(rng.choice([1, 1, 1, 3])),
        "physical": bool(rng.random() < 0.3),
        "background": bool(rng.random() < 0.5),
    }
    sensors = None
    if recorded:
        sensors = {
            "seconds": float(rng.uniform(25, 60)),
            "noise_v": float(rng.uniform(0.01, 0.06)),
            "forms": ["edges_csv"],
        }
    return {
        "seed": number + 1, "bus": bus, "sensors": sensors,
        "ambient_degc": float(rng.uniform(2, 34)), "ambient_kpa": float(rng.uniform(84, 102)),
        "damage": {"lost_share": float(rng.choice([0.0, 0.0, 0.002, 0.02]))},
    }  # fmt: skip


def _good(number: int, rng: np.random.Generator) -> Case:
    drive = str(rng.choice(["short_test", "short_test", "start_stop", "idle_only"]))
    spec = simulate.make_spec(
        profile=_engine(rng, []), drive=drive, **_common(number, rng, recorded=bool(rng.random() < 0.6))
    )
    return Case(f"{number:05d}_good", spec, "no_fault_supported")


def _starved(number: int, rng: np.random.Generator) -> Case:
    """A few seconds of idle in which a tester asks for the coolant temperature alone."""
    more = _common(number, rng, recorded=False)
    more["bus"] |= {"broadcast": False, "pids": [0x05], "pids_per_request": 1}
    spec = simulate.make_spec(profile=_engine(rng, []), drive="idle_only", duration_s=float(rng.uniform(6, 12)), **more)
    return Case(f"{number:05d}_starved", spec, "insufficient_evidence")


def _faulty(number: int, rng: np.random.Generator, fault: str) -> Case:
    kind = parameters.faults()[fault]
    profile = _engine(rng, kind.fits)
    least, gross = bounds(fault, profile)
    severity = float(rng.random())
    size = least * (gross / least) ** severity
    if fault in SIGNED and rng.random() < 0.5:
        size = -size
    if kind.whole:
        size = float(round(size))
    if fault == "pump_key_wrong" and size == _steps_of_a_reversed_key(profile):
        size -= 1  # that one cannot be told from the other by its angle
    cylinder = int(rng.integers(1, (parameters.profile(profile).cylinders or 1) + 1)) if kind.cylinder else None
    recorded = kind.sensors or fault in RECORDED or bool(rng.random() < 0.4)
    common = _common(number, rng, recorded)
    if fault == "thermostat_stuck_open":
        common["ambient_degc"] = min(common["ambient_degc"], COOL_DAY_DEGC)
    spec = simulate.make_spec(
        profile=profile, drive=DRIVES.get(fault, "short_test"), fault=fault, size=size, cylinder=cylinder,
        where=str(rng.choice(["idle", "cruise", "both"])), frequency_hz=float(rng.uniform(0.3, 1.6)),
        **common,
    )  # fmt: skip
    return Case(f"{number:05d}_{fault}", spec, "fault_supported", fault, cylinder, severity)


def _steps_of_a_reversed_key(profile: str) -> float:
    """Contract of the pump: -4 * key_offset_deg crank degrees against 2 * key_step_deg a step."""
    pump = parameters.profile(profile).pump
    return -2 * pump.key_offset_deg / pump.key_step_deg if pump and pump.key_offset_deg and pump.key_step_deg else 0.0
