"""Channels that a measure needs and the record lacks, and which column of a table may hold one under another name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np

from logan.knowledge import channels, spelling
from logan.knowledge.channels import ChannelInfo
from logan.model.channel import Channel, ChannelSet

MOST: Final = 3
"""Columns that are named; of more that fit by their unit alone none is likelier than the others."""
SHORTEST_WORD: Final = 4
_IN_EVERYTHING: Final = "%"
"""Unit of so many quantities that it tells none."""
_OF_ALL: Final = frozenset(("actual", "commanded", "pressure", "temperature", "engine", "module", "position", "bank"))
"""Words that stand in the names of several quantities."""


def lacking(names: Iterable[str], found: ChannelSet) -> str:
    """Why a measure cannot be made without these channels; empty where all of them are there."""
    absent = [name for name in names if name not in found]
    if not absent:
        return ""
    maybe = list(dict.fromkeys(column for name in absent for column in _candidates(name, found)))[:MOST]
    said = f"not in the capture: {', '.join(absent)}"
    if not maybe:
        return said
    one = "it" if len(absent) == 1 else "one of them"
    listed = ", ".join(f"“{column}”" for column in maybe)
    of = "column" if len(maybe) == 1 else "columns"
    return f"{said}; {of} {listed} may be {one}: name {'it' if len(maybe) == 1 else 'them'} with headings.toml"


def _candidates(name: str, found: ChannelSet) -> Sequence[str]:
    """Columns of no standard name that may be this channel: those that share a word with it, then those of its unit."""
    info = channels.load().get(name)
    if info is None:
        return []
    unknown = [one for one in found if one.name not in channels.load() and one.from_table]
    words = {word for spelled in info.spellings for word in _words(spelled)}
    alike = [one.name for one in unknown if words & set(_words(spelling.plain(one.name))) and _fits(one, info, True)]
    same = [one.name for one in unknown if info.unit not in ("", _IN_EVERYTHING) and _fits(one, info, False)]
    return [*alike, *(same if len({*alike, *same}) <= MOST else [])]


def _words(plain: str) -> Iterator[str]:
    return (word for word in plain.split("_") if len(word) >= SHORTEST_WORD and word not in _OF_ALL)


def _fits(column: Channel, info: ChannelInfo, may_lack_unit: bool) -> bool:
    """Whether a column has the channel's unit, or none, and values that the channel can have."""
    if column.unit != info.unit and not (may_lack_unit and not column.unit):
        return False
    values = column.finite()[1]
    return bool(len(values)) and info.low <= float(np.min(values)) and float(np.max(values)) <= info.high
