"""Records for the ranking tests: good engines, and faults in three sizes, written from how the parts work.

The numbers are our own, chosen from the sizes that published limits and the trade speak of, not from the catalogue.
"""

from __future__ import annotations

from collections.abc import Sequence

from logan.knowledge import measures as catalogue
from logan.knowledge import profiles
from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.model.record import Record
from logan.model.vehicle import TroubleCode, Vehicle

INFO = catalogue.load()
Values = dict[str, tuple[float | list[float], float]]

ROTARY, RAIL, SPARK = "training_rotary_six", "training_rail_four", "training_spark_four"

_ANY: Values = {
    "idle_speed_std_rpm": (6.5, 1.0),
    "idle_hunt_amplitude_rpm": (2.5, 2.0),
    "cam_phase_error_deg": (0.6, 0.8),
    "cam_phase_delay_ms": (0.01, 0.02),
    "cam_phase_jitter_deg": (0.3, 0.05),
    "crank_dropouts_per_1000rev": (0.0, 0.15),
    "cam_dropouts_per_1000rev": (0.0, 0.2),
    "crank_wheel_runout_percent": (0.12, 0.06),
    "warmup_plateau_degc": (86.0, 1.2),
    "running_voltage_v": (14.1, 0.05),
    "pedal_track_error_percent": (1.1, 0.6),
}
_TIMING: Values = {
    "timing_error_static_deg": (0.2, 0.35),
    "timing_error_delay_ms": (0.02, 0.04),
    "timing_error_load_deg": (-0.2, 0.5),
    "timing_error_drift_deg_per_min": (0.01, 0.03),
    "timing_hysteresis_deg": (0.1, 0.25),
}
GOOD: dict[str, Values] = {
    ROTARY: {
        **_ANY,
        **_TIMING,
        "supply_pressure_min_kpa_gauge": (96.0, 4.0),
        "boost_error_kpa": (-4.0, 2.5),
        "cylinder_contribution_percent": ([1.2, -0.8, 2.1, -2.3, 0.3, -0.5], 2.5),
        "cylinder_compression_percent": ([98.0, 97.0, 100.0, 96.5, 99.0, 98.2], 4.0),
    },
    RAIL: {
        **_ANY,
        "supply_pressure_min_kpa_gauge": (340.0, 10.0),
        "rail_error_percent": (-0.8, 0.7),
        "rail_swing_percent": (0.5, 0.4),
        "rail_leakdown_kpa_per_s": (420.0, 90.0),
        "rail_build_time_s": (0.7, 0.3),
        "boost_error_kpa": (-4.0, 2.5),
        "cylinder_contribution_percent": ([1.2, -0.8, 1.6, -2.0], 2.5),
        "cylinder_compression_percent": ([98.0, 97.0, 100.0, 96.5], 4.0),
    },
    SPARK: {
        **_ANY,
        "supply_pressure_min_kpa_gauge": (345.0, 10.0),
        "fuel_trim_total_idle_percent": (2.0, 1.5),
        "fuel_trim_total_cruise_percent": (-1.0, 1.0),
        "cylinder_contribution_percent": ([1.2, -0.8, 1.6, -2.0], 3.0),
        "cylinder_compression_percent": ([98.0, 97.0, 100.0, 96.5], 4.0),
    },
}


def _weak(cylinders: int, cylinder: int, percent: float) -> list[float]:
    """Contributions about their mean where one cylinder gives less."""
    values = [0.8, -1.1, 0.5, 1.3, -0.9, -0.6][:cylinders]
    values[cylinder - 1] -= percent
    mean = sum(values) / cylinders
    return [value - mean for value in values]


def _leaky(cylinders: int, cylinder: int, percent: float) -> list[float]:
    values = [98.0, 97.0, 100.0, 96.5, 99.0, 98.2][:cylinders]
    values[cylinder - 1] -= percent
    return values


FAULTS: dict[str, tuple[str, list[Values]]] = {
    "crank_signal_dropout": (ROTARY, [{"crank_dropouts_per_1000rev": (n, 0.3 * n)} for n in (3.0, 15.0, 120.0)]),
    "crank_signal_inverted": (ROTARY, [
        {"crank_polarity_inverted": (1.0, 0.1)},
        {"crank_polarity_inverted": (1.0, 0.1), "cam_phase_error_deg": (3.0, 0.8)},
        {"crank_polarity_inverted": (0.95, 0.2), "cam_phase_error_deg": (-1.5, 1.0)},
    ]),
    "crank_wheel_runout": (ROTARY, [{"crank_wheel_runout_percent": (p, 0.12 * p)} for p in (0.8, 1.5, 4.0)]),
    "cam_signal_dropout": (ROTARY, [{"cam_dropouts_per_1000rev": (n, 0.3 * n)} for n in (3.0, 15.0, 120.0)]),
    "cam_phase_offset": (ROTARY, [{"cam_phase_error_deg": (a, 1.0)} for a in (7.0, -10.0, 18.0)]),
    "cam_signal_delay": (ROTARY, [{"cam_phase_delay_ms": (d, 0.03)} for d in (0.18, 0.4, 1.0)]),
    "pump_key_wrong": (ROTARY, [{"timing_error_static_deg": (a, 0.3)} for a in (-2.1, 3.05, -3.9)]),
    "pump_key_reversed": (ROTARY, [{"timing_error_static_deg": (a, 0.4)} for a in (-5.8, -6.0, -6.3)]),
    "pump_timing_drift": (ROTARY, [
        {"timing_error_drift_deg_per_min": (d, 0.05), "timing_error_mean_deg": (5 * d, 0.4)}
        for d in (-0.2, 0.4, -1.0)
    ]),
    "timing_actuator_sticking": (ROTARY, [{"timing_hysteresis_deg": (h, 0.4)} for h in (1.8, 3.0, 6.0)]),
    "fuel_supply_low": (ROTARY, [
        {"supply_pressure_min_kpa_gauge": (52.0, 4.0)},
        {"supply_pressure_min_kpa_gauge": (35.0, 4.0), "timing_error_load_deg": (-2.4, 0.5)},
        {"supply_pressure_min_kpa_gauge": (8.0, 4.0), "timing_error_load_deg": (-6.0, 0.8)},
    ]),
    "rail_pressure_low": (RAIL, [{"rail_error_percent": (e, 1.2)} for e in (-8.0, -14.0, -30.0)]),
    "rail_pressure_unstable": (RAIL, [{"rail_swing_percent": (s, 0.8)} for s in (4.5, 8.0, 15.0)]),
    "rail_leakdown": (RAIL, [
        {"rail_leakdown_kpa_per_s": (v, 250.0), "rail_build_time_s": (b, 0.4)}
        for v, b in ((3200.0, 1.2), (4500.0, 3.8), (6000.0, 7.0))
    ]),
    "cylinder_fuel_low": (ROTARY, [
        {"cylinder_contribution_percent": (_weak(6, 4, p), 2.5)} for p in (13.0, 25.0, 60.0)
    ]),
    "cylinder_compression_low": (RAIL, [
        {"cylinder_contribution_percent": (_weak(4, 3, w), 2.5), "cylinder_compression_percent": (_leaky(4, 3, p), 3.5)}
        for w, p in ((9.0, 18.0), (14.0, 25.0), (40.0, 50.0))
    ]),
    "idle_hunting": (ROTARY, [
        {"idle_hunt_amplitude_rpm": (a, 3.0), "idle_speed_std_rpm": (0.7 * a + 3.0, 2.0)} for a in (22.0, 40.0, 90.0)
    ]),
    "pedal_tracks_disagree": (RAIL, [{"pedal_track_error_percent": (e, 1.5)} for e in (9.0, 15.0, 40.0)]),
    "thermostat_stuck_open": (ROTARY, [{"warmup_plateau_degc": (t, 1.5)} for t in (73.0, 66.0, 55.0)]),
    "boost_leak": (RAIL, [{"boost_error_kpa": (e, 3.0)} for e in (-22.0, -35.0, -80.0)]),
    "charging_voltage_low": (ROTARY, [{"running_voltage_v": (u, 0.05)} for u in (12.8, 12.3, 11.2)]),
    "mixture_lean": (SPARK, [
        {"fuel_trim_total_idle_percent": (18.0, 2.0)},
        {"fuel_trim_total_idle_percent": (14.0, 2.0), "fuel_trim_total_cruise_percent": (15.0, 1.5)},
        {"fuel_trim_total_cruise_percent": (30.0, 2.0)},
    ]),
    "mixture_rich": (SPARK, [
        {"fuel_trim_total_idle_percent": (-18.0, 2.0)},
        {"fuel_trim_total_idle_percent": (-14.0, 2.0), "fuel_trim_total_cruise_percent": (-15.0, 1.5)},
        {"fuel_trim_total_cruise_percent": (-28.0, 2.0)},
    ]),
}  # fmt: skip
"""Fault -> engine, and what changes against the good engine in a small, a usual and a large case."""

CYLINDER = {"cylinder_fuel_low": 4, "cylinder_compression_low": 3}


def measures(values: Values) -> list[Measure]:
    """Measures from value and half width of the 95 % interval."""
    out = []
    for name, (value, half) in values.items():
        low = [v - half for v in value] if isinstance(value, list) else value - half
        high = [v + half for v in value] if isinstance(value, list) else value + half
        unit = INFO[name].unit if name in INFO else ""
        out.append(Measure(name=name, value=value, unit=unit, low=low, high=high, n=100))
    return out


def record(
    engine: str | EngineProfile,
    *,
    codes: Sequence[tuple[str, str]] = (),
    asked: bool = False,
    work: tuple[str, ...] = (),
    complaints: tuple[str, ...] = (),
) -> Record:
    """A record of an engine with what ranking looks at."""
    vehicle = Vehicle(
        codes=[TroubleCode(code=code, status=status, ecu="7E8", title="") for code, status in codes],
        services={"03": 1, "07": 1} if asked else {},
    )
    profile = engine if isinstance(engine, EngineProfile) else profiles.load(engine)[0]
    return Record(
        captures=(),
        channels=ChannelSet({}),
        states=DriveStates(),
        profile=profile,
        vehicle=vehicle,
        work=work,
        complaints=complaints,
    )
