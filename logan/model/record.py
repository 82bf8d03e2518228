"""A record: all that was captured of one road test, ready to be measured."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from logan.model.capture import Capture, Remark
from logan.model.channel import ChannelSet
from logan.model.drive import DriveStates
from logan.model.profile import EngineProfile
from logan.model.sensor import SensorCapture
from logan.model.vehicle import Vehicle

NO_PROFILE: Final = "no engine profile was given"
"""Why what a sensor recording would give is missing where nothing names the engine."""


@dataclass(frozen=True, slots=True)
class Record:
    """One road test.

    Parameters
    ----------
    captures : the files, in the order given
    channels : every channel on the session's axis (s after ``origin_ns`` where that is known)
    states : the drive as states
    sensors : crank / cam / pump recordings
    vehicle : what diagnostic services said
    profile : the engine, with ``profile_source`` and what was ``assumed``
    remarks : data quality of the whole session, every file's remarks included
    engine_known : whether the profile is one that was named or recognised, and not only what the capture tells
    knowledge : what knowledge folders added to the built-in data files or changed in them
    """

    captures: tuple[Capture, ...]
    channels: ChannelSet
    states: DriveStates
    profile: EngineProfile
    vehicle: Vehicle = field(default_factory=Vehicle)
    sensors: tuple[SensorCapture, ...] = ()
    remarks: tuple[Remark, ...] = ()
    profile_source: str = ""
    engine_known: bool = True
    assumed: tuple[str, ...] = ()
    origin_ns: int = 0
    work: tuple[str, ...] = field(default=())
    complaints: tuple[str, ...] = field(default=())
    knowledge: tuple[str, ...] = field(default=())
