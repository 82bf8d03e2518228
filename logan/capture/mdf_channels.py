"""Measured channels of an ASAM MDF 4 file that holds no frames of a bus: each one a channel on its own times."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

import can
import numpy as np

from logan.capture.csv_head import unit
from logan.capture.mdf_reader import BUS_EVENT, OF_ANY_LENGTH, is_understood
from logan.capture.reader import Tally
from logan.model.capture import Table
from logan.model.channel import Channel
from logan.units import to_inside

_OF_VALUES: Final = 0
"""Type of a channel of values of fixed length (ASAM MDF 4, from memory); times are of others."""
_NO_NUMBERS: Final = "channels that hold no single numbers left out"
_LEAST_S: Final = 1e8
"""A start of measurement before this Unix time is one that nobody set (from memory)."""


def read(reader: can.MF4Reader, tally: Tally) -> tuple[Table, int]:
    """All channels of numbers of a file that python-can has opened, and the values of the longest of them."""
    mdf = reader._mdf
    found = tuple(_channels(mdf, tally))
    start = mdf.header.start_time
    is_set = start is not None and start.timestamp() >= _LEAST_S
    if is_set and start.tzinfo is None:
        tally.add("time_zone", "start time without a time zone: taken as UTC", "header")
    origin_ns = round(start.timestamp() * 1e6) * 1000 if is_set else 0
    return Table(found, origin_ns, is_set), max(map(len, found), default=0)


def beside_frames(reader: can.MF4Reader) -> list[str]:
    """Names of the measured channels of a file that holds frames of a bus; none where it holds no such frames."""
    groups = [group for group in reader._mdf.groups if group.channel_group.cycles_nr]
    measured = [group for group in groups if not group.channel_group.flags & BUS_EVENT]
    if len(measured) == len(groups):
        return []
    return [channel.name for group in measured for channel in group.channels if channel.channel_type == _OF_VALUES]


def _channels(mdf: Any, tally: Tally) -> Iterator[Channel]:
    for number, group in enumerate(mdf.groups):
        master = mdf.masters_db.get(number)
        timed = master is None or is_understood(group.channels[master].conversion)
        data, t_s = _records(mdf, group), np.empty(0)
        for k, declared in enumerate(group.channels):
            if k == master:
                continue
            if not timed or not is_understood(declared.conversion):
                tally.add("formula", "channels whose formula, or that of their times, is not understood left out",
                          declared.name)  # fmt: skip
                continue
            if declared.channel_type == OF_ANY_LENGTH or group.channel_dependencies[k]:
                tally.add("not_numbers", _NO_NUMBERS, declared.name)
                continue
            signal = mdf.get(group=number, index=k, raw=True, data=data)
            signal = signal.physical(copy=False, ignore_value2text_conversions=True)
            value = signal.samples
            if value.dtype.kind not in "iufb" or value.ndim != 1:
                tally.add("not_numbers", _NO_NUMBERS, declared.name)
                continue
            known, bits = np.isfinite(value) & np.isfinite(signal.timestamps), signal.invalidation_bits
            if bits is not None:
                known &= ~np.asarray(bits, bool)
            if not known.any():
                tally.add("empty_column", "channels without any value left out", declared.name)
                continue
            rows = np.flatnonzero(known)
            rows = rows[np.argsort(signal.timestamps[rows], kind="stable")]
            if not np.array_equal(t_s, own_s := signal.timestamps[rows].astype(np.float64)):
                t_s = own_s  # else the channels of a group share their times
            inside, factor, offset = to_inside(unit(signal.unit or ""))
            yield Channel(
                name=declared.name, unit=inside, t_s=t_s, value=value[rows].astype(np.float64) * factor + offset,
                source=f"channel {declared.name}" + (f" [{signal.unit}]" if signal.unit else ""),
            )  # fmt: skip


def _records(mdf: Any, group: Any) -> Any:
    """All records of a group in one piece of asammdf's, which else unpacks them anew for each channel.

    None where they lie in columns (ASAM MDF 4.2), which it reads one by one.
    """
    pieces = []
    fragment = None
    for fragment in () if group.uses_ld else mdf._mdf._load_data(group):
        pieces.append(bytes(fragment.data))  # it uses the buffer again
    if fragment is not None:
        fragment.data = b"".join(pieces)
        size = group.channel_group.samples_byte_nr + group.channel_group.invalidation_bytes_nr
        fragment.record_offset, fragment.record_count = 0, len(fragment.data) // size if size else 0
    return fragment
