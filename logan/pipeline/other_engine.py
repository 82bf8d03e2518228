"""Whether a record contradicts the engine profile that it is judged by, or has none that its sensors need."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Final

import numpy as np

from logan.channels.naming import identify
from logan.dsp.grouping import distinct
from logan.errors import KnowledgeError
from logan.knowledge import profiles
from logan.knowledge.folders import Folders
from logan.measures.cam_target import OtherCam
from logan.model.capture import NOT_NAMED, OTHER_ENGINE, OTHER_IDLE, PERHAPS_OTHER, Remark
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates
from logan.model.profile import EngineProfile
from logan.model.sensor import SensorCapture, sensors_of
from logan.model.vehicle import Vehicle

RAIL_KPA: Final = 10_000.0
"""Pressure that only a common rail or a direct injection holds, kPa (judgement: ports are fed at 300 to 600)."""
MOVES: Final = 3
"""Values that differ from which a signal is one of the engine, and no filler of a frame of fixed length."""
ALL_FUEL: Final = 100.0
"""No fuel correction is larger, %: fillers lie beyond."""
IDLE_OFF: Final = 0.15
"""Share by which the idle speed asked for may differ from the profile's (judgement: consumers and cold raise it)."""
ENOUGH_HINTS: Final = 2
MOST_NAMES: Final = 12
OTHERWISE: Final = (
    "the profile is of another engine, so nothing is judged by its limits and angles; name the right one with --engine"
)

PERHAPS: Final = "if the profile is of another engine, no limit, measure or fault here holds"


def contradictions(
    profile: EngineProfile, vehicle: Vehicle, named: Sequence[int], found: ChannelSet, told: Sequence[str],
    folders: Folders, cams: Sequence[OtherCam] = (),
) -> Iterator[Remark]:  # fmt: skip
    """What the record holds that the profile's engine cannot have, in one remark.

    Parameters
    ----------
    named : cylinders that stored codes name
    told : names of engines that the files give in their headers
    folders : knowledge folders with further profiles
    cams : what cams show that the profile's cam wheel cannot
    """
    known = _others(profile, folders)
    others = list(known.values())
    of_another, right = _named(profile, vehicle, told, known)
    sure = [_cylinders(profile, named, found, others), of_another, _cam(cams, sure=True)]
    # a control module may report its monitors wrongly, and a table hold columns of whatever engine: one alone is a hint
    hints = [_ignition(profile, vehicle), _injection(profile, found, others), _cam(cams, sure=False)]
    said = "; it ".join(text for text in (*sure, *hints) if text)
    if any(sure) or sum(map(bool, hints)) >= ENOUGH_HINTS:
        yield Remark(OTHER_ENGINE, f"the profile {profile.name} {said}: {OTHERWISE} {right}".rstrip())
    elif said:
        yield Remark(PERHAPS_OTHER, f"the profile {profile.name} {said}: {PERHAPS}")


def engine_not_named(sensors: Sequence[SensorCapture], told: Collection[str], folders: Folders) -> Iterator[Remark]:
    """Said where crank edges were recorded, with or without those of cam and pump, and nothing names the engine.

    Parameters
    ----------
    told : names of engines that the files give in their headers
    folders : knowledge folders with further profiles
    """
    recorded = sensors_of(sensors)
    if "crank" not in recorded:
        return
    known = profiles.names(folders)
    more = f" and {len(known) - MOST_NAMES} more" if len(known) > MOST_NAMES else ""
    given = "”, “".join(f"{name:.60}" for name in sorted(told))
    unknown = f" (the files say “{given}”, which decides for no one profile)" if told else ""
    edges = " and ".join(part for part in (", ".join(recorded[:-1]), recorded[-1]) if part)
    text = (
        f"the engine was not named{unknown}, so nothing tells where the edges of {edges} belong, and they are not "
        "judged. With --engine NAME they can be (in the workshop: the field Engine); "
        f"NAME is one of {', '.join(known[:MOST_NAMES])}{more}, or the path of a profile of your own"
    )
    yield Remark(NOT_NAMED, text)


def idle_target(profile: EngineProfile, found: ChannelSet, states: DriveStates) -> Iterator[Remark]:
    """Said where the control module asks, warm and idling, for another idle speed than the profile gives."""
    channel, target = found.get("idle_speed_target"), profile.idle.target_rpm
    if channel is None or not target:
        return
    t_s, value = channel.finite()
    warm = value[states.mask(t_s, "idle_warm")]
    if len(warm) and abs(float(np.median(warm)) - target) > IDLE_OFF * target:
        text = (
            f"the control module asks for {np.median(warm):.0f} rpm at warm idle, the profile {profile.name} gives "
            f"{target:.0f} rpm: see whether it is the right profile, or why the idle is set otherwise"
        )
        yield Remark(OTHER_IDLE, text)


def _others(profile: EngineProfile, folders: Folders) -> dict[str, EngineProfile]:
    """Known profiles of other engines than this one, by their names."""
    known = {}
    for name in profiles.names(folders):
        try:
            known[name] = profiles.load(name, folders)[0]
        except KnowledgeError:
            continue  # not the one in use: `logan knowledge check` tells of it
    return {name: other for name, other in known.items() if _engine(other) != _engine(profile)}


def _engine(profile: EngineProfile) -> tuple[object, ...]:
    """What cannot differ between two profiles of one engine."""
    return profile.ignition, profile.cylinders, tuple(profile.firing_order), profile.injection


def _ignition(profile: EngineProfile, vehicle: Vehicle) -> str:
    if not vehicle.ignition or not profile.ignition or vehicle.ignition == profile.ignition:
        return ""
    return f"has {profile.ignition} ignition, the vehicle's readiness says {vehicle.ignition} ignition"


def _cylinders(profile: EngineProfile, named: Sequence[int], found: ChannelSet, others: Sequence[EngineProfile]) -> str:
    """A code or a signal of a cylinder that the engine has not."""
    if not profile.cylinders:
        return ""
    last = max(named, default=0)
    if last > profile.cylinders:
        return f"has {profile.cylinders} cylinders, a stored code names cylinder {last}"
    for cylinder in range(24, profile.cylinders, -1):
        channel = _known_as(f"cylinder_{cylinder}_fuel_correction", found, others)
        if channel is not None and _moves(channel, ALL_FUEL):
            return f"has {profile.cylinders} cylinders, the record holds a fuel correction of cylinder {cylinder}"
    return ""


def _injection(profile: EngineProfile, found: ChannelSet, others: Sequence[EngineProfile]) -> str:
    """Pressure of a rail where there is none, or the timing actuator of a pump where there is a rail."""
    rails = [c for c in map(found.get, ("fuel_rail_pressure_actual", "fuel_rail_pressure_commanded")) if c is not None]
    highest = max(map(_reached, rails), default=0.0)
    if profile.injection in ("rotary_pump", "port") and highest > RAIL_KPA:
        kind = "a rotary injection pump" if profile.injection == "rotary_pump" else "port injection"
        return f"has {kind}, the record holds rail pressures of {highest:.0f} kPa and more"
    duty = _known_as("timing_actuator_duty", found, others)
    if profile.injection == "common_rail" and not rails and duty is not None and _moves(duty, np.inf):
        return "has a common rail, the record holds no rail pressure but the timing actuator of an injection pump"
    return ""


def _cam(cams: Sequence[OtherCam], *, sure: bool) -> str:
    """Another number of cam edges than the profile's cam wheel has."""
    text = next((cam.text for cam in cams if cam.sure is sure), "")
    return f"has {text} (unless another cam target is fitted)" if text else ""


def _named(
    profile: EngineProfile, vehicle: Vehicle, told: Sequence[str], others: dict[str, EngineProfile]
) -> tuple[str, str]:
    """A file's header or a calibration that is of another known profile, and the name of that one."""
    for name, other in others.items():
        if other.name != profile.name and other.name in told:
            return f"is not the one that a file names: “{other.name}”", name
        shared = set(other.calibrations) & set(vehicle.calibration_ids) - set(profile.calibrations)
        if shared:
            return f"is not the one of the calibration {min(shared)}, which is that of {other.name}", name
    return "", ""


def _known_as(name: str, found: ChannelSet, others: Sequence[EngineProfile]) -> Channel | None:
    """A quantity under its own name, or a signal that another profile calls so."""
    if name in found:
        return found.best[name]
    for other in others:
        if name in other.channels.values():
            for channel in found:
                known = identify(channel, other)
                if known is not None and known.by_profile and known.info.name == name:
                    return channel
    return None


def _reached(channel: Channel) -> float:
    """What several values that differ reach: one that a disturbance made decides nothing; 0 where there are too few."""
    value = distinct(channel.finite()[1])
    return float(value[-MOVES]) if len(value) >= MOVES else 0.0


def _moves(channel: Channel, most: float) -> bool:
    value = channel.finite()[1]
    return bool(len(value)) and float(np.max(np.abs(value))) <= most and len(distinct(value)) >= MOVES
