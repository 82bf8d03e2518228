"""Raw signals to a set of channels: names, units, validity, and one leader for each quantity."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from logan.channels import validity
from logan.channels.naming import Named, conversion, identify, plain
from logan.knowledge import obd
from logan.knowledge.channels import ChannelInfo, load
from logan.model.capture import PLACES_KEPT, Remark
from logan.model.channel import Channel, ChannelSet, Deferred
from logan.model.profile import EngineProfile
from logan.units import OF_SPEED, is_known, to_inside

SEA_LEVEL_KPA: Final = 101.325
"""Standard atmosphere (ISO 2533); stands in where no barometric pressure was recorded."""
OTHER_MODULES: Final = re.compile(
    r"(7E[9A-F]|18DAF1(?!10)[0-9A-F]{2}|SA (?!00)[0-9A-F]{2}|(?!10)[0-9A-F]{2})( .*)?", re.IGNORECASE
)
"""Senders that by convention are not the engine's control module (ISO 15765-4, ISO 14230-2, SAE J1939-81)."""
_SEVERAL_UNITS: Final = ("degC", "kPa", "km/h", "g/s", "L/h")
"""Units beside which others are usual, so that one must be told."""
_TELLING_UNITS: Final = ("degC", "kPa", "km/h", "rpm")
"""Units of pressures, speeds and temperatures, as standard channels have them."""
_FEWEST: Final = 10
_SMALL_SHARE: Final = 0.05
SAME_TIMES_WORTH: Final = 5
"""A source that shares its time stamps with its partner may have this many times fewer values and still lead."""


class _Source:
    """A candidate for one quantity (``named``), or a signal without a standard name (None)."""

    def __init__(self, channel: Channel, named: Named | None, guessed: str = "") -> None:
        self.channel = channel
        self.guessed = guessed
        self.by_profile = named is not None and named.by_profile
        self.stands_in = _place([*named.info.instead, *named.info.with_unit], named.met_as) if named else 0
        self.place = _place(named.info.names, named.met_as) if named else 0
        self.gauge = named is not None and named.met_as in named.info.gauge

    def key(self, partners: Sequence[_Source]) -> tuple[float, ...]:
        """The smallest leads: profile's choice, values at all, the quantity itself, the engine's own, most values."""
        together = any(np.array_equal(self.channel.t_s, p.channel.t_s) for p in partners)
        count = int(np.count_nonzero(np.isfinite(self.channel.value)))
        mostly_valid = count * 2 >= len(self.channel) > 0
        return (
            not self.by_profile,
            not mostly_valid,
            self.stands_in,
            OTHER_MODULES.fullmatch(self.channel.ecu) is not None,
            -count * (SAME_TIMES_WORTH if together else 1),
            self.place,
        )


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
    found, remarks = chosen(raw, profile)
    others = (channel for rest in found.others.values() for channel in rest)
    return found, remarks + validity.remarks([*found, *others])


def chosen(raw: Sequence[Channel], profile: EngineProfile) -> tuple[ChannelSet, list[Remark]]:
    """As ``build``, without a look at every value for the remarks on what was set aside."""
    remarks: list[Remark] = []
    sources: dict[str, list[_Source]] = {}
    in_order: dict[int, bool] = {}
    for channel in raw:
        key = id(channel.t_s)  # signals of one message share their times
        if key not in in_order:
            in_order[key] = isinstance(channel, Deferred) or bool((channel.t_s[1:] >= channel.t_s[:-1]).all())
        source = _named(channel if in_order[key] else _sorted(channel), profile, remarks)
        sources.setdefault(source.channel.name, []).append(source)
    remarks += _not_known(sources)
    remarks += _guessed_units(sources)
    remarks += _fractions(sources)
    catalogue = load()
    _check(sources, catalogue, gauge=False)  # the barometer itself must be believed before it is added to anything
    _make_absolute(sources, remarks)
    _check(sources, catalogue, gauge=True)
    best: dict[str, Channel] = {}
    others: dict[str, tuple[Channel, ...]] = {}
    for name, candidates in sources.items():
        info = catalogue.get(name)
        partners = sources.get(info.partner, []) if info is not None else []
        leader, *rest = candidates
        if rest:
            leader, *rest = sorted(candidates, key=lambda source: source.key(partners))
        best[name] = leader.channel
        if rest:
            others[name] = tuple(_suffixed(source.channel, leader.channel) for source in rest)
    for name in best.keys() & catalogue.keys():
        best[name] = validity.thawed(best[name], catalogue[name], best)
    return ChannelSet(best, others), remarks


def _named(channel: Channel, profile: EngineProfile, remarks: list[Remark]) -> _Source:
    """A raw signal under its standard name and in its unit, or as it is where it has none."""
    named = identify(channel, profile)
    factors = conversion(channel, named) if named else None
    if named is None:
        return _Source(_inside(channel, channel.name), None)
    if factors is None:
        text = f"{channel.name} is in {channel.unit}, which is not a unit of {named.info.name}: not used for it"
        remarks.append(Remark("wrong_unit", text, 1, (), channel.file))
        return _Source(_inside(channel, f"{channel.name} [{channel.unit}]"), None)
    met = "" if named.by_profile else _guessed(channel, named.info.unit)
    value = channel.value * factors[0] + factors[1] if factors != (1.0, 0.0) else channel.value
    if named.met_as in named.info.one_if:
        flag = np.isin(value, named.info.one_if[named.met_as]).astype(float)
        value = np.where(np.isfinite(value), flag, np.nan)
    return _Source(replace(channel, name=named.info.name, unit=named.info.unit, value=value), named, met)


def _guessed(channel: Channel, unit: str) -> str:
    """What is said of a column whose unit is missing, where others are usual, or not known; else empty."""
    if not channel.from_table or channel.unit == unit:
        return ""
    if not channel.unit:
        return f"{channel.name} (no unit) as {unit}" if unit in _SEVERAL_UNITS else ""
    return (
        ""
        if is_known(channel.unit) or channel.unit.lower() in OF_SPEED
        else f"{channel.name} [{channel.unit}] as {unit}"
    )


def _guessed_units(sources: Mapping[str, Sequence[_Source]]) -> list[Remark]:
    """Columns that are read in the unit of their quantity because they tell none that is known here."""
    by_file: dict[str, list[str]] = {}
    for candidates in sources.values():
        for source in candidates:
            if source.guessed:
                by_file.setdefault(source.channel.file, []).append(source.guessed)
    text = (
        "columns whose unit is missing or not known here, taken in the usual one: {}; write the unit into the heading"
    )
    return [Remark("unit_guessed", text.format(", ".join(said)), len(said), (), file) for file, said in by_file.items()]


def is_unknown_quantity(channel: Channel) -> bool:
    """Whether a column has a unit in which standard channels are, but a name that is none of theirs.

    Other signals that SAE J1979 names are known, though nothing is concluded from them.
    """
    return (
        channel.unit in _TELLING_UNITS
        and channel.from_table
        and channel.name.partition("@")[0] not in load()
        and all(plain(channel.name) != signal for _, signal in obd.pid_signals())
    )


def _not_known(sources: Mapping[str, Sequence[_Source]]) -> list[Remark]:
    """Columns that may be a known quantity by their unit, though not by their name."""
    by_file: dict[str, list[str]] = {}
    for candidates in sources.values():
        for channel in (source.channel for source in candidates if is_unknown_quantity(source.channel)):
            by_file.setdefault(channel.file, []).append(f"{channel.name} [{channel.unit}]")
    text = (
        "columns of pressures, speeds or temperatures that are not taken for a known channel, so that nothing is "
        "concluded from them; a line in headings.toml says what they mean"
    )
    return [
        Remark("heading_not_known", text, len(names), tuple(names[:PLACES_KEPT]), file)
        for file, names in by_file.items()
    ]


def _fractions(sources: Mapping[str, Sequence[_Source]]) -> list[Remark]:
    """Columns in percent that look like parts of one: never above 1, but moving well above nothing."""
    out = []
    for channel in (source.channel for candidates in sources.values() for source in candidates):
        if channel.unit != "%" or not channel.from_table:
            continue
        value = channel.finite()[1]
        if len(value) >= _FEWEST and value.min() >= 0.0 and np.ptp(value) > _SMALL_SHARE and value.max() <= 1.0:
            text = f"no value of {channel.name} is above 1 %: if they are parts of one, save them as percent"
            out.append(Remark("percent_or_fraction", text, len(value), (), channel.file))
    return out


def _check(sources: Mapping[str, Sequence[_Source]], catalogue: Mapping[str, ChannelInfo], *, gauge: bool) -> None:
    """Set values out of their range aside, of the pressures above the surroundings or of all others."""
    for name, candidates in sources.items():
        for source in candidates:
            if name in catalogue and source.gauge == gauge:
                source.channel = validity.in_range(source.channel, catalogue[name])


def _make_absolute(sources: Mapping[str, Sequence[_Source]], remarks: list[Remark]) -> None:
    """Pressures above the surroundings become absolute with the barometric pressure nearest in time."""
    barometers = sorted(sources.get("barometric_pressure", []), key=lambda source: source.key([]))
    t_s, value = barometers[0].channel.finite() if barometers else (np.zeros(0), np.zeros(0))
    for source in (s for candidates in sources.values() for s in candidates if s.gauge):
        channel = source.channel
        if len(t_s):
            added = np.interp(channel.t_s, t_s, value)
        else:
            added = np.full(len(channel), SEA_LEVEL_KPA)
            text = f"{channel.name} is recorded above the surroundings, which are not: {SEA_LEVEL_KPA} kPa added"
            remarks.append(Remark("assumed_barometer", text, 1, (), channel.file))
        source.channel = replace(channel, value=channel.value + added)


def _place(names: Sequence[str], name: str) -> int:
    """Place of a name in a list, counted from 1; 0 where it does not stand there."""
    return names.index(name) + 1 if name in names else 0


def _sorted(channel: Channel) -> Channel:
    order = np.argsort(channel.t_s, kind="stable")
    return replace(channel, t_s=channel.t_s[order], value=channel.value[order])


def _inside(channel: Channel, name: str) -> Channel:
    """A signal without a standard name, in the unit inside."""
    unit, factor, offset = to_inside(channel.unit)
    if (name, unit, factor, offset) == (channel.name, channel.unit, 1.0, 0.0):
        return channel
    value = channel.value if (factor, offset) == (1.0, 0.0) else channel.value * factor + offset
    return replace(channel, name=name, unit=unit, value=value)


def _suffixed(channel: Channel, leader: Channel) -> Channel:
    """A further source under its sender's name, where that tells it from the leader."""
    if channel.ecu and channel.ecu != leader.ecu:
        return replace(channel, name=f"{channel.name}@{channel.ecu}")
    return channel
