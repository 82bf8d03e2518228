"""The physical engines, drive scripts and makeable faults: data files beside this module, checked when read."""

from __future__ import annotations

import functools
from pathlib import Path
from typing import Literal

import msgspec

from logan.knowledge import profiles
from logan.knowledge.load import toml
from logan.model.profile import EngineProfile

FOLDER = Path(__file__).resolve().parent / "data"


class Engine(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Physical numbers of one engine and its vehicle; see ``data/engines.toml`` for what each means."""

    bore_mm: float
    stroke_mm: float
    rod_mm: float
    compression_ratio: float
    inertia_kgm2: float
    reciprocating_mass_kg: float
    friction_nm: float
    friction_nm_per_rad_s: float
    starter_stall_nm: float
    starter_free_rpm: float
    starter_inertia_kgm2: float
    fuel_max_mg: float
    rated_rpm: float
    heat_kj_per_g: float
    heat_used: float
    burn_deg: float
    ignition_delay_ms: float
    fire_spread_percent: float
    timing_idle_deg: float
    timing_speed_deg: float
    timing_load_deg: float
    supply_kpa: float
    supply_sag_kpa: float
    balance_authority_percent: float
    idle_gain_p: float
    idle_gain_i: float
    crank_sensor: Literal["vr", "hall"]
    cam_tooth_deg: float
    vehicle_mass_kg: float
    drag_area_m2: float
    wheel_radius_m: float
    gears: list[float]
    converter_nm_s2: float
    vin: str
    calibration: str
    can_bits: Literal[11, 29]
    pids: list[int]
    heat_to_coolant: float = 0.30
    boost_full_kpa: float = 0.0
    timing_range_deg: tuple[float, float] = (-20.0, 60.0)
    rail_idle_kpa: float = 0.0
    rail_full_kpa: float = 0.0
    rail_start_kpa: float = 0.0
    rail_build_kpa_per_s: float = 0.0
    rail_leak_s: float = 0.0


class Step(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One step of a drive script."""

    do: Literal["off", "key", "start", "crank", "idle", "rev", "pull", "cruise", "coast", "brake"]
    seconds: float
    pedal: float = 0.0
    gear: int = 0
    speed_kmh: float = 0.0


class Drive(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A drive script with the coolant temperature that it starts from."""

    coolant_start_degc: float
    step: list[Step]


class FaultKind(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A fault that can be made: which defect its size sets, on which engines, and its default."""

    parameter: str
    unit: str
    size: float
    range: tuple[float, float]
    sign: float = 1.0
    whole: bool = False
    cylinder: bool = False
    sensors: bool = False
    fits: list[str] = []


@functools.cache
def engines() -> dict[str, Engine]:
    """Physical engines by profile name."""
    return toml(FOLDER / "engines.toml", dict[str, Engine])[0]


@functools.cache
def drives() -> dict[str, Drive]:
    """Drive scripts by name."""
    return toml(FOLDER / "drives.toml", dict[str, Drive])[0]


@functools.cache
def faults() -> dict[str, FaultKind]:
    """Faults that can be made, by id of the catalogue."""
    return toml(FOLDER / "faults.toml", dict[str, FaultKind])[0]


@functools.cache
def profile(name: str) -> EngineProfile:
    """The shipped profile of a training engine."""
    return profiles.load(name)[0]
