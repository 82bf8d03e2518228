"""The catalogue of channels: units, ranges and the names under which a quantity is met, from ``data/channels.toml``."""

from __future__ import annotations

import functools
from typing import Final

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.load import toml
from logan.knowledge.locate import DATA

CYLINDERS: Final = range(1, 13)


class Frozen(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A value that stands still for ``for_s`` although the channel ``although`` moves by ``moves`` is not believed."""

    for_s: float
    although: str
    moves: float


class ChannelInfo(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One standard channel; the head of the data file says what each key means."""

    name: str
    unit: str
    low: float
    high: float
    names: list[str] = []
    instead: list[str] = []
    gauge: list[str] = []
    with_unit: list[str] = []
    one_if: dict[str, list[float]] = {}
    partner: str = msgspec.field(name="with", default="")
    frozen: Frozen | None = None
    title: str = ""

    @property
    def spellings(self) -> list[str]:
        """Every name under which it is met, best first."""
        return [self.name, *self.names, *self.instead, *self.with_unit]

    @property
    def words(self) -> str:
        """What the trade calls it; its name as words where the file gives no title."""
        return self.title or self.name.replace("_", " ").capitalize()


class _File(msgspec.Struct, forbid_unknown_fields=True):
    channel: list[ChannelInfo]


@functools.cache
def load() -> dict[str, ChannelInfo]:
    """The catalogue by name, in the order of the file.

    Raises
    ------
    KnowledgeError : the file is wrong, or two channels claim the same name
    """
    path = DATA / "channels.toml"
    file, _ = toml(path, _File)
    found = {info.name: info for entry in file.channel for info in _each_cylinder(entry)}
    owner: dict[str, str] = {}
    for info in found.values():
        for name in info.spellings:
            if owner.setdefault(name, info.name) != info.name:
                reason = f'"{name}" is claimed by {owner[name]} and by {info.name}'
                raise KnowledgeError(reason, file=str(path), place=f"channel {info.name}", do="keep it in one of them")
    return found


@functools.cache
def owners() -> dict[str, ChannelInfo]:
    """Every name under which a quantity is met, with the quantity."""
    return {name: info for info in load().values() for name in info.spellings}


@functools.cache
def names() -> frozenset[str]:
    """Every name under which a quantity is met."""
    return frozenset(owners())


def _each_cylinder(entry: ChannelInfo) -> list[ChannelInfo]:
    if "{n}" not in entry.name:
        return [entry]
    return [
        msgspec.structs.replace(
            entry,
            name=entry.name.replace("{n}", str(n)),
            names=[name.replace("{n}", str(n)) for name in entry.names],
            title=entry.title.replace("{n}", str(n)),
        )
        for n in CYLINDERS
    ]
