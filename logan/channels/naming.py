"""Which quantity a decoded signal or a table column is."""

from __future__ import annotations

from typing import Final

from msgspec import Struct

from logan.knowledge import spelling
from logan.knowledge.channels import ChannelInfo, load, owners
from logan.model.channel import Channel
from logan.model.profile import EngineProfile
from logan.units import OF_SPEED, to_inside

DBC_PREFIX: Final = "DBC "


class Named(Struct, frozen=True):
    """What a raw channel is: its quantity, under which name it was met, and whether the profile said so."""

    info: ChannelInfo
    met_as: str
    by_profile: bool


def plain(name: str) -> str:
    """A name in lower case with underscores: ``EngineSpeed``, ``Engine speed`` and ``ENGINE_SPEED`` are one."""
    return spelling.joined(name)


def identify(raw: Channel, profile: EngineProfile) -> Named | None:
    """The quantity of a raw channel, None where it has no standard name.

    The profile's own table (``Message.Signal``, or the signal alone) wins over the names of the catalogue. Of a table's
    column some names tell the quantity only together with one of its units.
    """
    for key in (raw.source.removeprefix(DBC_PREFIX), raw.name):
        wanted = profile.channels.get(key)
        if wanted is not None and wanted in load():
            return Named(load()[wanted], raw.name, True)
    name = plain(raw.name)
    info = owners().get(name)
    if info is None or (name in info.with_unit and not _tells_unit(raw, info)):
        return None
    return Named(info, name, False)


def _tells_unit(raw: Channel, info: ChannelInfo) -> bool:
    """Whether a column gives a unit of the quantity; signals of a data base have other names and do not count."""
    return raw.from_table and to_inside(raw.unit)[0] == info.unit


def conversion(raw: Channel, named: Named) -> tuple[float, float] | None:
    """Factor and offset into the unit of the quantity; None where the unit is that of another quantity."""
    unit, factor, offset = to_inside(raw.unit)
    if named.info.unit == "rpm" and unit.lower() in OF_SPEED:
        return OF_SPEED[unit.lower()], 0.0
    known = {info.unit for info in load().values() if info.unit}
    if unit != named.info.unit and unit in known and not named.by_profile:
        return None
    return factor, offset
