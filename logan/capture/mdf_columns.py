"""Data frames of an ASAM MDF 4 bus log by whole columns, where nothing else was logged.

The names are those of the bus logging standard of ASAM MDF, and what they mean is as in python-can's reader
(can/io/mf4.py, version 4), which opens the file and would take it record by record.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final, NamedTuple

import can
import numpy as np
from numpy.typing import NDArray

from logan.capture.can_columns import MOST_BUSES, CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.capture.mdf_reader import BUS_EVENT
from logan.model.frames import BRS, ESI, EXTENDED, FD, FD_WIDTH, SENT

_BUS, _CAN = 2, 2
"""Kinds of a source: a bus; of a bus: CAN."""
_FRAME: Final = "CAN_DataFrame"
_OTHERS: Final = ("CAN_ErrorFrame", "CAN_RemoteFrame")
_NO_BUS: Final = -1


class _Group(NamedTuple):
    """The frames of one channel group: time, identifier, flags, bus by number, length, data."""

    t_s: NDArray[np.float64]
    can_id: NDArray[np.int64]
    flags: NDArray[np.uint8]
    bus: NDArray[np.int64]
    length: NDArray[np.int64]
    data: NDArray[np.uint8]


def columns(reader: can.MF4Reader) -> CanColumns | None:
    """All frames of a file that python-can has opened; None where something of it is out of the ordinary."""
    groups: list[_Group] = []
    start_s = reader._start_timestamp
    for number, group in enumerate(reader._mdf.groups):
        head = group.channel_group
        source = head.acq_source
        if not head.flags & BUS_EVENT or not head.cycles_nr or source is None:
            continue
        if source.bus_type != _CAN or not source.source_type & _BUS:
            continue
        names = {channel.name for channel in group.channels}
        if _FRAME not in names:
            if names.isdisjoint(_OTHERS):
                continue
            return None
        found = _group(reader._mdf.get(_FRAME, number, raw=False), start_s)
        if found is None:
            return None
        groups.append(found)
    return _joined(groups) if groups else None


def _group(signal: Any, start_s: float) -> _Group | None:
    """The frames of one group; None where one is odd."""
    records: Mapping[str, NDArray[Any]] = signal.samples
    names = signal.samples.dtype.names or ()

    def field(name: str) -> NDArray[Any] | None:
        return records[f"{_FRAME}.{name}"] if f"{_FRAME}.{name}" in names else None

    can_id, length, data = _whole(field("ID")), _whole(field("DataLength")), field("DataBytes")
    if can_id is None or length is None or data is None or data.dtype != np.uint8 or data.ndim != 2:
        return None
    t_s = signal.timestamps.astype(np.float64) + start_s
    can_id &= 0x1FFFFFFF
    flags = np.zeros(len(t_s), np.uint8)
    for name, flag in (("IDE", EXTENDED), ("EDL", FD), ("BRS", BRS), ("ESI", ESI), ("Dir", SENT)):
        told = field(name)
        if told is None:
            flags |= np.uint8(EXTENDED if name == "IDE" else 0)  # python-can's default
            continue
        whole = (told != b"Rx").astype(np.int64) if name == "Dir" and told.dtype.kind == "S" else _whole(told)
        if whole is None:
            return None
        flags |= np.where(whole != 0, np.uint8(flag), np.uint8(0))
    channel = field("BusChannel")
    bus = np.full(len(t_s), _NO_BUS) if channel is None else _whole(channel)
    if (
        bus is None or ((can_id > 0x7FF) & (flags & EXTENDED == 0)).any()
        or ((length < 0) | (length > min(data.shape[1], FD_WIDTH))).any() or (np.diff(t_s) < 0).any()
        or not (np.abs(t_s) < LATEST_S).all()
    ):  # fmt: skip
        return None
    flags |= np.where(length > 8, np.uint8(FD), np.uint8(0))
    wide = np.zeros((len(t_s), max(8, data.shape[1])), np.uint8)
    wide[:, : data.shape[1]] = np.where(np.arange(data.shape[1]) < length[:, None], data, 0)
    return _Group(t_s, can_id, flags, bus, length, wide)


def _whole(column: NDArray[Any] | None) -> NDArray[np.int64] | None:
    """Whole numbers, which a file may hold as others; None where they are none."""
    if column is None or column.dtype.kind not in "iuf":
        return None
    if column.dtype.kind == "f" and not (np.abs(column) < 1 << 53).all():
        return None
    out: NDArray[np.int64] = column.astype(np.int64)
    return out if (out == column).all() else None


def _joined(groups: list[_Group]) -> CanColumns | None:
    """All groups in order of time; of equal times the first group is the first."""
    order = np.argsort(np.concatenate([group.t_s for group in groups]), kind="stable")
    t_s, can_id, flags, bus, length = (np.concatenate(column)[order] for column in list(zip(*groups, strict=True))[:5])
    numbers, first, slot = np.unique(bus, return_index=True, return_inverse=True)
    if len(numbers) > MOST_BUSES:
        return None
    out, block = CanColumns(), CanBlock(len(t_s))
    index = np.zeros(len(numbers), np.uint8)
    for k in np.argsort(first).tolist():
        name = "" if numbers[k] == _NO_BUS else f"{numbers[k]}"
        index[k] = out.bus(name.encode()) or 0
    block.kept[:] = True
    block.t_ns[:] = nanoseconds(t_s)
    block.can_id[:], block.flags[:], block.length[:], block.bus[:] = can_id, flags, length, index[slot]
    words = np.concatenate([np.ascontiguousarray(group.data[:, :8]).view("<u8")[:, 0] for group in groups])
    block.data[:] = words[order]
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    begin = 0
    for group in groups:
        long = np.flatnonzero(group.length > 8)
        full = np.zeros((len(long), FD_WIDTH), np.uint8)
        some = group.data[long, :FD_WIDTH]
        full[:, : some.shape[1]] = some
        block.long_row.append(place[begin + long])
        block.long_data.append(full)
        begin += len(group.t_s)
    out.append(block)
    return out
