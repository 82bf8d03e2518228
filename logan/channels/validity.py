"""Values that are not believed: out of the physical range, or frozen although the engine moves."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.knowledge import table_headers
from logan.knowledge.channels import ChannelInfo
from logan.model.capture import PLACES_KEPT, Remark, first_places
from logan.model.channel import NOT_AVAILABLE, Channel, Deferred
from logan.units import CONVERSIONS, to_inside

OUT_OF_RANGE: Final = "out of range"
FROZEN: Final = "frozen"
_IN_HEADING: Final = re.compile(r"\[([^\]]+)\]$")
_STEADY: Final = 0.02
"""Share of the range, or of what was met, that may lie between two values which passed through all between them."""
_SPELLED: Final = {
    "degf": "degF",
    "k": "K",
    "inhg": "inHg",
    "hpa": "hPa",
    "mpa": "MPa",
    "pa": "Pa",
    "mv": "mV",
    "gal/h": "gal/h",
}


def in_range(channel: Channel, info: ChannelInfo) -> Channel:
    """Values out of the physical range set to NaN and counted; all of a table's column where its unit must be wrong."""
    value = channel.value
    with np.errstate(invalid="ignore"):
        wrong = (value < info.low) | (value > info.high)
    if not wrong.any():
        return channel
    other = _other_unit(channel, info, wrong) if channel.from_table else ""
    if other:
        text = f"{OUT_OF_RANGE} in {_met(channel) or info.unit}, not in {other}: is the unit right?"
        return _blank(channel, np.isfinite(value), text)
    return _blank(channel, wrong, OUT_OF_RANGE)


def _other_unit(channel: Channel, info: ChannelInfo, wrong: NDArray[np.bool_]) -> str:
    """A unit in which all values would be possible, where most are not in the one that is written; empty without one.

    Where some are possible, as degF while the engine is cold, a course that passes through the limit tells, but not one
    that leaps, as that of a broken sensor.
    """
    value = channel.value[np.isfinite(channel.value)]
    out = wrong[np.isfinite(channel.value)]
    near = np.abs(np.diff(value)) <= _STEADY * max(info.high - info.low, np.ptp(value))
    passes = bool((near & (out[1:] != out[:-1])).any())
    _, factor, offset = to_inside(_met(channel))
    written = (value - offset) / factor
    for unit, (inside, factor, offset) in {info.unit: (info.unit, 1.0, 0.0), **CONVERSIONS}.items():
        with np.errstate(over="ignore"):
            meant = written * factor + offset
        believed = out.all() or (passes and (unit == "degf" or 2 * out.sum() >= len(out)))
        if believed and inside == info.unit and info.low <= meant.min() and meant.max() <= info.high:
            return _SPELLED.get(unit, unit)
    return ""


def _met(channel: Channel) -> str:
    """The unit that stands in the heading of a column, that of the channel where none does."""
    found = _IN_HEADING.search(channel.source)
    return table_headers.load().units.get(found[1].lower(), found[1]) if found else channel.unit


def thawed(channel: Channel, info: ChannelInfo, best: Mapping[str, Channel]) -> Channel:
    """Stretches that stand still to the last digit, not at zero, although another channel moves: NaN and counted."""
    rule = info.frozen
    other = best.get(rule.although) if rule else None
    if rule is None or other is None or len(channel) < 2:
        return channel
    t_s, value = channel.t_s, channel.value
    first = np.flatnonzero(np.concatenate([[True], value[1:] != value[:-1]]))
    last = np.concatenate([first[1:], [len(value)]]) - 1
    long = (t_s[last] - t_s[first] >= rule.for_s) & (value[first] != 0.0) & np.isfinite(value[first])
    other_t_s, other_value = other.finite()
    wrong = np.zeros(len(value), bool)
    for a, b in zip(first[long], last[long], strict=True):
        inside = other_value[np.searchsorted(other_t_s, t_s[a]) : np.searchsorted(other_t_s, t_s[b], "right")]
        if len(inside) and np.ptp(inside) >= rule.moves:
            wrong[a : b + 1] = True
    return _blank(channel, wrong, FROZEN) if wrong.any() else channel


def remarks(channels: Iterable[Channel]) -> list[Remark]:
    """What was set aside, for the reader; signals that never held a value share one remark a file.

    A value that its sender calls not available is none: every J1939 log is full of them.
    """
    out: list[Remark] = []
    empty: dict[str, list[str]] = {}
    for channel in channels:
        if isinstance(channel, Deferred):
            continue  # holds numbers alone
        blank = ~np.isfinite(channel.value)
        if blank.all() and not channel.invalid:
            if len(channel):
                empty.setdefault(channel.file, []).append(channel.source or channel.name)
            continue
        of = f"{channel.name} ({channel.source})" if channel.source else channel.name
        places = first_places(f"t = {t:.3f} s" for t in channel.t_s[blank][:PLACES_KEPT])
        for reason, count in channel.invalid.items():
            if reason == NOT_AVAILABLE:
                continue
            out.append(Remark("invalid_value", f"values of {of} set aside: {reason}", count, places, channel.file))
    for file, names in empty.items():
        text = f"signals without a single value: {', '.join(sorted(names))}"
        out.append(Remark("empty_signal", text, len(names), (), file))
    return out


def _blank(channel: Channel, wrong: NDArray[np.bool_], reason: str) -> Channel:
    count = int(np.count_nonzero(wrong))
    return replace(
        channel,
        value=np.where(wrong, np.nan, channel.value),
        invalid={**channel.invalid, reason: channel.invalid.get(reason, 0) + count},
    )
