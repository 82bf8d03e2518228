"""Raw signals to a set of channels: names, units, validity, and one leader for each quantity."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from logan.channels import validity
from logan.channels.naming import Named, conversion, identify
from logan.knowledge.channels import load
from logan.model.capture import Remark
from logan.model.channel import Channel, ChannelSet
from logan.model.profile import EngineProfile
from logan.units import to_inside

SEA_LEVEL_KPA: Final = 101.325
"""Standard atmosphere (ISO 2533); stands in where no barometric pressure was recorded."""
OTHER_MODULES: Final = re.compile(
    r"(7E[9A-F]|18DAF1(?!10)[0-9A-F]{2}|SA (?!00)[0-9A-F]{2}|(?!10)[0-9A-F]{2})( .*)?", re.IGNORECASE
)
"""Senders that by convention are not the engine's control module (ISO 15765-4, ISO 14230-2, SAE J1939-81)."""
SAME_TIMES_WORTH: Final = 5
"""A source that shares its time stamps with its partner may have this many times fewer values and still lead."""


class _Source:
    """A candidate for one quantity."""

    def __init__(self, channel: Channel, named: Named | None) -> None:
        self.channel = channel
        self.by_profile = named is not None and named.by_profile
        self.stands_in = _place(named.info.instead, named.met_as) if named else 0
        self.place = _place(named.info.names, named.met_as) if named else 0
        self.count = int(np.count_nonzero(np.isfinite(channel.value)))

    def key(self, partners: Sequence[_Source]) -> tuple[float, ...]:
        """The smallest leads: profile's choice, values at all, the quantity itself, the engine's own, most values."""
        together = any(np.array_equal(self.channel.t_s, p.channel.t_s) for p in partners)
        mostly_valid = self.count * 2 >= len(self.channel) > 0
        return (
            not self.by_profile,
            not mostly_valid,
            self.stands_in,
            OTHER_MODULES.fullmatch(self.channel.ecu) is not None,
            -self.count * (SAME_TIMES_WORTH if together else 1),
            self.place,
        )


def _place(names: Sequence[str], name: str) -> int:
    """Place of a name in a list, counted from 1; 0 where it does not stand there."""
    return names.index(name) + 1 if name in names else 0


def build(raw: Sequence[Channel], profile: EngineProfile) -> tuple[ChannelSet, list[Remark]]:
    """Name, convert and check every signal, and choose the best source of each quantity.

    Parameters
    ----------
    raw : decoded signals and table columns under the names that their sources give them
    profile : its ``[channels]`` table names signals of a data base and wins over the catalogue

    Returns
    -------
    the channels, the best source of each leading, and what was set aside
    """
    sources: dict[str, list[_Source]] = {}
    remarks: list[Remark] = []
    gauge: list[tuple[str, _Source]] = []
    for channel in map(_sorted, raw):
        named = identify(channel, profile)
        factors = conversion(channel, named) if named else None
        if named is None or factors is None:
            name = channel.name
            if named is not None:
                text = f"{name} is in {channel.unit}, which is not a unit of {named.info.name}: not used for it"
                remarks.append(Remark("wrong_unit", text, 1, (), channel.file))
                name = f"{name} [{channel.unit}]"
            sources.setdefault(name, []).append(_Source(_inside(channel, name), None))
            continue
        info = named.info
        value = channel.value * factors[0] + factors[1] if factors != (1.0, 0.0) else channel.value
        if named.met_as in info.one_if:
            value = np.where(np.isfinite(value), np.isin(value, info.one_if[named.met_as]).astype(float), np.nan)
        named_channel = replace(channel, name=info.name, unit=info.unit, value=value)
        source = _Source(validity.in_range(named_channel, info), named)
        sources.setdefault(info.name, []).append(source)
        if named.met_as in info.gauge:
            gauge.append((info.name, source))

    catalogue = load()
    best: dict[str, Channel] = {}
    others: dict[str, tuple[Channel, ...]] = {}
    for name, candidates in sources.items():
        partner = catalogue[name].partner if name in catalogue else ""
        partners = sources.get(partner, [])
        ranked = sorted(candidates, key=lambda source: source.key(partners))
        best[name] = ranked[0].channel
        if len(ranked) > 1:
            others[name] = tuple(_suffixed(source.channel, ranked[0].channel) for source in ranked[1:])
    for name, source in gauge:
        if best[name] is source.channel:
            best[name] = _absolute(source.channel, best.get("barometric_pressure"), remarks)
    for name in best.keys() & catalogue.keys():
        best[name] = validity.thawed(best[name], catalogue[name], best)
    remarks += validity.remarks([*best.values(), *(channel for rest in others.values() for channel in rest)])
    return ChannelSet(best, others), remarks


def _sorted(channel: Channel) -> Channel:
    t_s = channel.t_s
    if len(t_s) < 2 or (t_s[1:] >= t_s[:-1]).all():
        return channel
    order = np.argsort(t_s, kind="stable")
    return replace(channel, t_s=t_s[order], value=channel.value[order])


def _inside(channel: Channel, name: str) -> Channel:
    """A signal without a contract name, in the unit inside."""
    unit, factor, offset = to_inside(channel.unit)
    value = channel.value if (factor, offset) == (1.0, 0.0) else channel.value * factor + offset
    return replace(channel, name=name, unit=unit, value=value)


def _suffixed(channel: Channel, leader: Channel) -> Channel:
    """A further source under its sender's name, where that tells it from the leader."""
    if channel.ecu and channel.ecu != leader.ecu:
        return replace(channel, name=f"{channel.name}@{channel.ecu}")
    return channel


def _absolute(channel: Channel, barometer: Channel | None, remarks: list[Remark]) -> Channel:
    """A gauge pressure made absolute."""
    t_s, value = barometer.finite() if barometer is not None else (np.zeros(0), np.zeros(0))
    if len(t_s):
        return replace(channel, value=channel.value + np.interp(channel.t_s, t_s, value))
    text = f"{channel.name} is recorded above the surroundings, which are not recorded: {SEA_LEVEL_KPA} kPa added"
    remarks.append(Remark("assumed_barometer", text, 1, (), channel.file))
    return replace(channel, value=channel.value + SEA_LEVEL_KPA)
