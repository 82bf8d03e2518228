"""Engine profiles: those that ship, a user's own, and the bare one that is used where no engine was named."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from contextlib import suppress
from pathlib import Path
from typing import Final

from logan.errors import KnowledgeError, UsageError
from logan.knowledge.folders import Folders, files
from logan.knowledge.load import Place, nearest, toml, wrong
from logan.knowledge.locate import DATA
from logan.model.profile import CrankWheel, EngineProfile, Ignition, Injection

FOLDER: Final = DATA / "profiles"

_ONLY_COMPRESSION: Final = ("injection_timing_commanded", "timing_actuator_duty")
_ONLY_SPARK: Final = ("short_term_fuel_trim_1", "long_term_fuel_trim_1")
_RAIL: Final = ("fuel_rail_pressure_commanded", "rail_valve_duty")
_TITLES: Final[dict[Ignition | None, str]] = {
    "compression": "Compression-ignition engine, not named",
    "spark": "Spark-ignition engine, not named",
    None: "Engine, not named",
}


def names(folders: Folders = ()) -> list[str]:
    """Names of the profiles that ship, and of those in knowledge folders."""
    return sorted(_named(folders))


def titles(folders: Folders = ()) -> dict[str, str]:
    """Names of all known profiles, each with what the engine is called; one whose file is wrong keeps its name."""
    found = {}
    for name in names(folders):
        found[name] = name
        with suppress(KnowledgeError):  # `logan knowledge check` tells of it
            found[name] = load(name, folders)[0].name
    return found


def _named(folders: Folders) -> dict[str, Path]:
    return {path.stem: path for path in (*FOLDER.glob("*.toml"), *files(folders, "profiles/*.toml"))}


def load(name_or_path: str | Path, folders: Folders = ()) -> tuple[EngineProfile, str]:
    """A profile and where it came from.

    Raises
    ------
    UsageError : it is neither the name of a profile that ships or stands in a knowledge folder, nor a file
    KnowledgeError : the file is wrong; names its line and what is right
    """
    given = str(name_or_path)
    known = _named(folders)
    if given in known:
        file = known[given]
        return read(file), f"shipped profile {given}" if file.parent == FOLDER else f"profile {given} of {file}"
    path = Path(given)
    if path.is_file():
        return read(path), f"file {path}"
    if path.suffix == "" and path.name == given:
        raise UsageError(
            f"no engine profile is called {given}", do=nearest(given, sorted(known), "give the path of a TOML file")
        )
    raise UsageError(
        "no such engine profile", file=given, do=f"check the path, or name one of {', '.join(sorted(known))}"
    )


def recognised(
    calibrations: Collection[str], folders: Folders = (), told: Mapping[str, str] | None = None
) -> tuple[EngineProfile, str] | None:
    """The one known profile of an engine with one of these calibrations, else the one that files name, and its source.

    Parameters
    ----------
    told : engines that files give in their headers, each with the file; the name or the title of a profile counts
    """
    by_calibration, by_file = [], []
    told = told or {}
    for name in names(folders) if calibrations or told else ():
        with suppress(KnowledgeError):  # `logan knowledge check` tells of a file that is wrong
            profile, source = load(name, folders)
            shared = sorted(set(profile.calibrations) & set(calibrations))
            if shared:
                by_calibration.append((profile, f"{source}, recognised by the calibration {shared[0]}"))
            file = told.get(name) or told.get(profile.name)
            if file:
                by_file.append((profile, f"{source}, named in the header of {file}"))
    found = by_calibration or by_file
    return found[0] if len(found) == 1 else None


def read(path: Path) -> EngineProfile:
    """A profile from a TOML file, checked beyond its types.

    Raises
    ------
    KnowledgeError : the file is wrong; names its line and what is right
    """
    profile, text = toml(path, EngineProfile)
    for where, reason, do in mistakes(profile):
        raise wrong(reason, path, text, where, do)
    return profile


def choose(ignition: str | None, channels: Collection[str]) -> tuple[EngineProfile, str, tuple[str, ...]]:
    """The profile for a capture whose engine was not named: what the capture tells and nothing that it cannot.

    Parameters
    ----------
    ignition : as the readiness bits say, ``compression`` or ``spark``, else None
    channels : names of the channels that the capture holds

    Returns
    -------
    The profile, its source, and what was assumed
    """
    told: Ignition | None = None
    assumed = []
    if ignition in ("compression", "spark"):
        told = "compression" if ignition == "compression" else "spark"
        assumed.append(f"{told} ignition, because the readiness bits say so")
    elif found := _first(_ONLY_COMPRESSION, channels):
        told = "compression"
        assumed.append(f"compression ignition, because the capture holds {found}")
    elif found := _first(_ONLY_SPARK, channels):
        told = "spark"
        assumed.append(f"spark ignition, because the capture holds {found}")
    else:
        assumed.append("nothing about the ignition: the capture does not tell it")
    injection: Injection | None = None
    if told == "compression":
        if found := _first(_RAIL, channels):
            injection = "common_rail"
            assumed.append(f"a common rail, because the capture holds {found}")
        elif found := _first(("timing_actuator_duty",), channels):
            injection = "rotary_pump"
            assumed.append(f"a rotary injection pump, because the capture holds {found}")
    profile = EngineProfile(name=_TITLES[told], ignition=told, injection=injection)
    limits, idle = profile.limits, profile.idle
    assumed.append(
        "no engine was named (--engine): wheels, firing order, pump key and idle target are not known, what needs them "
        f"is not judged; usual limits hold: {limits.system_voltage_min:g} V running, thermostat "
        f"{limits.thermostat_open_degc:g} degC, rail {limits.rail_error_percent:g} %, boost {limits.boost_error_kpa:g} "
        f"kPa, idle scatter {idle.std_limit_rpm:g} rpm"
    )
    return profile, "chosen from the capture", tuple(assumed)


def _first(wanted: Iterable[str], channels: Collection[str]) -> str | None:
    return next((name for name in wanted if name in channels), None)


Mistake = tuple[Place, str, str]


def mistakes(profile: EngineProfile) -> Iterator[Mistake]:
    """What no type can say: place, reason, what to do."""
    order = profile.firing_order
    if profile.cylinders is not None and not 1 <= profile.cylinders <= 24:
        yield ("cylinders",), f"cannot be {profile.cylinders}", "give the number of cylinders, 1 to 24"
    if order and sorted(order) != list(range(1, len(order) + 1)):
        yield (
            ("firing_order",),
            f"{order} does not name every cylinder from 1 to {len(order)} once",
            "list each cylinder once, in the order in which they fire",
        )
    if order and profile.cylinders not in (None, len(order)):
        yield (
            ("firing_order",),
            f"has {len(order)} entries, but the engine has {profile.cylinders} cylinders",
            "correct firing_order or cylinders",
        )
    if profile.crank_wheel is not None:
        yield from _crank(profile.crank_wheel)
    if profile.cam_wheel is not None:
        yield from _edges(("cam_wheel", "edges_deg"), profile.cam_wheel.edges_deg, 720.0)
        yield from _positive(("cam_wheel", "tolerance_deg"), profile.cam_wheel.tolerance_deg)
    pump = profile.pump
    if pump is not None:
        yield from _positive(("pump", "key_step_deg"), pump.key_step_deg)
        yield from _positive(("pump", "timing_tolerance_deg"), pump.timing_tolerance_deg)
        yield from _edges(("pump", "edges_deg"), pump.edges_deg, 720.0)
        if pump.key_offset_deg is not None and abs(pump.key_offset_deg) > 90.0:
            yield ("pump", "key_offset_deg"), f"cannot be {pump.key_offset_deg:g}", "give degrees at the pump"
    idle, limits = profile.idle, profile.limits
    if idle.target_rpm is not None and not 100.0 <= idle.target_rpm <= 3000.0:
        yield ("idle", "target_rpm"), f"cannot be {idle.target_rpm:g} rpm", "give a speed between 100 and 3000 rpm"
    yield from _positive(("idle", "std_limit_rpm"), idle.std_limit_rpm)
    for where, value in (
        (("idle", "warm_coolant_degc"), idle.warm_coolant_degc),
        (("limits", "thermostat_open_degc"), limits.thermostat_open_degc),
    ):
        if not -40.0 <= value <= 150.0:
            yield where, f"cannot be {value:g} degC", "give a temperature in degrees Celsius"
    for key in ("supply_pressure_min_kpa_gauge", "rail_error_percent", "system_voltage_min", "boost_error_kpa"):
        yield from _positive(("limits", key), getattr(limits, key))


def _crank(wheel: CrankWheel) -> Iterator[Mistake]:
    where = "crank_wheel"
    if wheel.teeth is None and wheel.edges_deg is None:
        yield (where,), "tells neither teeth nor edges_deg", "give teeth (and missing), or every edge in edges_deg"
    if wheel.teeth is not None and wheel.edges_deg is not None:
        yield (where, "edges_deg"), "stands beside teeth, which says the same", "keep one of the two"
    if wheel.teeth is not None and not 1 <= wheel.teeth <= 720:
        yield (where, "teeth"), f"cannot be {wheel.teeth}", "count the tooth positions in a turn, the missing ones too"
    if wheel.missing < 0 or (wheel.teeth is not None and wheel.missing >= wheel.teeth):
        yield (
            (where, "missing"),
            f"{wheel.missing} must be 0 or more and less than teeth",
            "count the positions without a tooth in the gap",
        )
    if not 0.0 <= wheel.first_edge_deg < 360.0:
        yield (
            (where, "first_edge_deg"),
            f"{wheel.first_edge_deg:g} is not within 0..360",
            "give crank degrees after top dead centre of cylinder 1, within one turn",
        )
    yield from _edges((where, "edges_deg"), wheel.edges_deg, 360.0)


def _edges(where: Place, edges: list[float] | None, turn: float) -> Iterator[Mistake]:
    if edges is None:
        return
    outside = [edge for edge in edges if not 0.0 <= edge < turn]
    if outside:
        yield where, f"holds {outside[0]:g}, which is not within 0..{turn:g}", "give crank degrees"
    if len(set(edges)) < len(edges):
        yield where, "holds an edge twice", "name each edge once"


def _positive(where: Place, value: float | None) -> Iterator[Mistake]:
    if value is not None and value <= 0.0:
        yield where, f"must be more than 0, not {value:g}", "correct it, or leave the key out where it is not known"
