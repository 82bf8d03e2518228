"""The physical engines, drive scripts and makeable faults: data files beside this module, checked when read."""

from __future__ import annotations

import functools
import math
from pathlib import Path
from typing import Literal

import msgspec

from logan.errors import KnowledgeError, UsageError
from logan.knowledge import profiles
from logan.knowledge.load import nearest, toml
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
    flywheel_share: float
    throw_stiffness_nm_per_rad: float
    torsion_damping: float
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
    rail_volume_cm3: float = 0.0
    rail_pump_strokes: int = 0
    rock_share: float = 0.0
    throws: list[int] = []


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
def engine(name: str) -> Engine:
    """The physical engine behind a profile; behind a profile of your own the training engine most like it.

    Raises
    ------
    UsageError : no training engine has that injection
    """
    known = engines()
    if name in known:
        return known[name]
    wanted = profile(name)
    alike = [other for other in known if profile(other).injection == wanted.injection]
    if not alike:
        kinds = sorted({str(profile(other).injection) for other in known})
        raise UsageError(
            f"no training engine has injection {wanted.injection}", file=name, do=f"name one of {', '.join(kinds)}"
        )
    return known[min(alike, key=lambda other: abs((profile(other).cylinders or 0) - (wanted.cylinders or 0)))]


def script(name: str, duration_s: float | None = None) -> Drive:
    """A drive script that ships or of a file, driven again and again where a longer drive is asked for."""
    drive = drives()[name] if name in drives() else _script_of(name)
    least_s = sum(step.seconds for step in drive.step if step.do != "start")
    if duration_s is None or duration_s <= least_s:
        return drive
    first, last = drive.step[0].do, drive.step[-1].do
    again = drive.step if last == "off" or first not in ("key", "start", "off") else [
        step for step in drive.step if step.do not in ("key", "start", "off", "crank")
    ]  # fmt: skip
    least_s = sum(step.seconds for step in again if step.do != "start")
    return msgspec.structs.replace(drive, step=[*drive.step, *again * math.ceil(duration_s / least_s)])


def longest_s(name: str, duration_s: float | None = None) -> float:
    """How long a drive takes at most; starting the engine may end earlier than its step."""
    whole = sum(step.seconds for step in script(name, duration_s).step)
    return whole if duration_s is None else min(whole, duration_s)


@functools.cache
def _script_of(name: str) -> Drive:
    if not Path(name).is_file():
        raise UsageError(f"no drive script is called {name}", do=nearest(name, drives(), "give a TOML file"))
    drive = toml(Path(name), Drive)[0]
    if not drive.step or not all(step.seconds > 0 for step in drive.step):
        raise KnowledgeError("a drive needs steps, each of more than 0 s", file=name, do="add [[step]] tables")
    return drive


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
    """The profile of a training engine, or of a TOML file."""
    return profiles.load(name)[0]
