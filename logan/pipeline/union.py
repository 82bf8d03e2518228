"""One record of what two recorders heard: all that either holds, each record once."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Final

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.model.capture import Table
from logan.model.frames import Frames, FramesByKind, Messages, Payloads
from logan.pipeline.records import Recorded, Rows, Times
from logan.pipeline.same_records import Twice

_AT_THE_ENDS: Final = 50
"""So many twins tell how far apart the clocks were when the first, or the last, of them was recorded."""
_MOST_BUSES: Final = 256


def united(
    one: Recorded, other: Recorded, twice: Twice, shift_s: tuple[float, float, float]
) -> tuple[Recorded, Recorded | None]:
    """The one with what only the other holds, on the clock of the one, and what is left of the other.

    Transport and services put frames together, so that frames and messages all go to the one, and nothing is left. Of a
    table its columns' other values are left, under the name of their own file, moved to where they stand on the axis.

    Parameters
    ----------
    shift_s : what brings times to the session's axis, s: of the one, of the other, and of what is left of it
    """
    to_axis = _placing(twice)
    if isinstance(one, Table) and isinstance(other, Table):
        return one, _rest_of_table(other, twice.other, lambda t_s: to_axis(t_s + shift_s[1]) - shift_s[2])

    def to_one(t_s: Times) -> Times:
        return to_axis(t_s + shift_s[1]) - shift_s[0]

    if isinstance(one, Frames) and isinstance(other, Frames):
        return _frames(one, other, twice, to_one), None
    assert isinstance(one, Payloads)
    assert isinstance(other, Payloads)
    return _payloads(one, other, twice.other, to_one), None


def _placing(twice: Twice) -> Callable[[Times], Times]:
    """What brings times of the other file to the clock of the one: between twins, so that their order stays."""
    other_s, one_s = twice.other_s, np.maximum.accumulate(twice.one_s)
    apart_s = twice.one_s - twice.other_s
    first_s, last_s = (median(part) for part in (apart_s[:_AT_THE_ENDS], apart_s[-_AT_THE_ENDS:]))

    def place(t_s: Times) -> Times:
        inside = np.interp(t_s, other_s, one_s)
        before, after = np.minimum(t_s + first_s, one_s[0]), np.maximum(t_s + last_s, one_s[-1])
        out: Times = np.where(t_s < other_s[0], before, np.where(t_s > other_s[-1], after, inside))
        return out

    return place


def _rest_of_table(table: Table, twins: Rows, place: Callable[[Times], Times]) -> Table | None:
    ends = np.cumsum([len(channel) for channel in table.channels])
    left = np.split(_has_none(int(ends[-1]), twins), ends[:-1])
    parts = [(channel, own) for channel, own in zip(table.channels, left, strict=True) if own.any()]
    rest = [replace(channel, t_s=place(channel.t_s[own]), value=channel.value[own]) for channel, own in parts]
    return replace(table, channels=tuple(rest)) if rest else None


def _has_none(count: int, twins: Rows) -> NDArray[np.bool_]:
    """Which of some rows have no twin."""
    left = np.ones(count, bool)
    left[twins] = False
    return left


def _frames(one: Frames, other: Frames, twice: Twice, place: Callable[[Times], Times]) -> Frames:
    rest = _rest(other, twice.other)
    if not len(rest):
        return one
    number, names = _buses(one, other, twice)
    whole = one.of(np.arange(len(one))) if isinstance(one, FramesByKind) else one
    order = np.argsort(np.concatenate([whole.t_s, place(rest.t_s)]), kind="stable")
    new_row = np.empty(len(order), np.int64)
    new_row[order] = np.arange(len(order))
    fd_row = new_row[np.concatenate([whole.fd_row, rest.fd_row + len(whole)])]
    fd_order = np.argsort(fd_row)
    pairs = {name: (getattr(whole, name), getattr(rest, name)) for name in Frames.COLUMNS}
    pairs |= {"t_s": (whole.t_s, place(rest.t_s)), "bus": (whole.bus, number[rest.bus])}
    return Frames(
        **{name: np.concatenate(pair)[order] for name, pair in pairs.items()},
        fd_row=fd_row[fd_order], fd_data=np.concatenate([whole.fd_data, rest.fd_data])[fd_order],
        origin_ns=one.origin_ns, absolute=one.absolute, buses=names,
    )  # fmt: skip


def _rest(frames: Frames, twins: Rows) -> Frames:
    """The frames that have no twin, in any order."""
    if not isinstance(frames, FramesByKind):
        return frames.take(np.flatnonzero(_has_none(len(frames), twins)))
    left = _has_none(len(frames.t_by_kind), twins)
    rows = [rows.start + np.flatnonzero(left[rows]) for rows in map(frames.kinds.rows, range(len(frames.kinds.count)))]
    kind = np.repeat(np.arange(len(rows)), [len(row) for row in rows]).astype(np.uint16)
    return frames.at(kind, np.concatenate(rows))


def _buses(one: Frames, other: Frames, twice: Twice) -> tuple[NDArray[np.uint8], tuple[str, ...]]:
    """The one's number of each bus of the other, by most of what both hold, and the names of all."""
    known, names = len(one.buses), list(one.buses)
    bus = [_bus_of(frames, rows).astype(np.int64) for frames, rows in ((one, twice.one), (other, twice.other))]
    met = np.bincount(bus[1] * known + bus[0], minlength=known * len(other.buses)).reshape(-1, known)
    number = met.argmax(axis=1)
    for k in np.flatnonzero(met.max(axis=1) == 0).tolist():
        number[k] = min(len(names), _MOST_BUSES - 1)
        names.append(other.buses[k])
    return number.astype(np.uint8), tuple(names[:_MOST_BUSES])


def _bus_of(frames: Frames, rows: Rows) -> NDArray[np.uint8]:
    if not isinstance(frames, FramesByKind):
        return frames.bus[rows]
    order = np.argsort(frames.kinds.begin)
    kind = order[np.searchsorted(frames.kinds.begin[order], rows, side="right") - 1]
    return frames.kinds.bus[kind]


def _payloads(one: Payloads, other: Payloads, twins: Rows, place: Callable[[Times], Times]) -> Payloads:
    a, b = one.messages, other.messages
    rest = np.flatnonzero(_has_none(len(b), twins))
    if not len(rest):
        return one
    pairs = {name: (getattr(a, name), getattr(b, name)[rest]) for name in Messages.__struct_fields__ if name != "blob"}
    pairs["start"] = (a.start, b.start[rest] + len(a.blob))
    for name in ("t_s", "t_first_s"):
        pairs[name] = (getattr(a, name), place(getattr(b, name)[rest]))
    order = np.argsort(np.concatenate(pairs["t_s"]), kind="stable")
    columns = {name: np.concatenate(pair)[order] for name, pair in pairs.items()}
    return structs.replace(one, messages=Messages(**columns, blob=np.concatenate([a.blob, b.blob])))
