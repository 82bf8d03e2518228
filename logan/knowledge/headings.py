"""A workshop's own headings: what a column or signal of its recorders means, where the words alone do not tell it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

import msgspec

from logan.knowledge import channels
from logan.knowledge.folders import Folders, files
from logan.knowledge.load import nearest, toml, wrong
from logan.units import to_inside

NAME: Final = "headings.toml"
TIME: Final = "time"
SENSORS: Final = ("crank", "cam", "pump")


class OwnHeading(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One heading.

    Parameters
    ----------
    met : the heading as it stands in the table, without its unit; the name of a signal; blanks and case do not matter
    means : a channel, ``time``, or a sensor (``crank``, ``cam``, ``pump``)
    unit : unit of the values, over what the heading says
    factor, offset : value in the unit = factor * number in the file + offset
    """

    met: str
    means: str
    unit: str = ""
    factor: float = 1.0
    offset: float = 0.0


class _File(msgspec.Struct, forbid_unknown_fields=True):
    heading: list[OwnHeading]


Headings = Mapping[str, OwnHeading]
"""By ``key`` of what is met."""


def key(name: str) -> str:
    """A heading without what does not matter in it."""
    return " ".join(name.casefold().split())


def load(folders: Folders = ()) -> Headings:
    """The headings of all folders; one of a later folder goes over the same one of an earlier.

    Raises
    ------
    KnowledgeError : a file is wrong, names no channel, or a unit that is not one of the channel's
    """
    found: dict[str, OwnHeading] = {}
    for path in files(folders, NAME):
        file, text = toml(path, _File)
        here: dict[str, OwnHeading] = {}
        for k, entry in enumerate(file.heading):
            where = ("heading", k, "means")
            channel = channels.load().get(entry.means)
            if channel is None and entry.means not in (TIME, *SENSORS):
                do = nearest(entry.means, [*channels.load(), TIME, *SENSORS])
                raise wrong(f"is {entry.means}, which is no channel, no sensor and not time", path, text, where, do)
            if channel is not None and entry.unit and to_inside(entry.unit)[0] != channel.unit:
                reason = f"is {entry.unit}, which is no unit of {entry.means}"
                raise wrong(reason, path, text, ("heading", k, "unit"), f"give {channel.unit} or one that becomes it")
            if channel is None and (entry.factor, entry.offset, entry.unit) != (1.0, 0.0, ""):
                reason = "has a unit, factor or offset: only channels have"
                raise wrong(reason, path, text, where, "leave them out")
            if not entry.factor:
                reason = "is 0, which makes every value the same"
                raise wrong(
                    reason, path, text, ("heading", k, "factor"), "give what one of the file's units is in ours"
                )
            if key(entry.met) in here:
                raise wrong(f'is "{entry.met}" twice', path, text, ("heading", k, "met"), "keep one of them")
            here[key(entry.met)] = entry
        found |= here
    return found
