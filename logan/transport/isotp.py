"""ISO 15765-2 as a listener sees it: the messages of all testers and control modules out of the frames of a bus."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.capture import PLACES_KEPT, Remark
from logan.model.frames import EXTENDED, Frames, Messages
from logan.transport import isotp_pci as kinds
from logan.transport import isotp_receive as faults
from logan.transport.isotp_addressing import carriers
from logan.transport.isotp_pci import Pci, pci
from logan.transport.isotp_receive import receive_streams

_IGNORED: Final = {
    kinds.UNKNOWN_TYPE: ("unknown_frame_type", "diagnostic frames of no type that ISO 15765-2 knows"),
    kinds.SINGLE_EMPTY: ("single_frame_empty", "single frames that announce no byte"),
    kinds.SINGLE_TOO_LONG: ("single_frame_too_long", "single frames that announce more bytes than they hold"),
    kinds.FIRST_TOO_SHORT: ("first_frame_too_short", "first frames of a message that a single frame would hold"),
    kinds.BAD_FLOW: ("bad_flow_control", "flow control frames cut short or of a reserved status"),
}
_FAULTS: Final = {
    faults.LOST: "messages given up: a consecutive frame is missing",
    faults.OUT_OF_ORDER: "messages given up: consecutive frames changed places",
    faults.SHORT: "messages given up: a consecutive frame holds too few bytes",
    faults.REPEATED: "consecutive frames recorded twice: one was used",
    faults.STRAY: "consecutive frames without a first frame",
    faults.INTERRUPTED: "messages that ended early because their sender began another",
    faults.UNFINISHED: "messages not finished at the end of the capture",
}
_OVERFLOW: Final = ("flow_control_overflow", "receivers that had no room for a message")


def reassemble(frames: Frames) -> tuple[Messages, tuple[Remark, ...]]:
    """Messages of all diagnostic traffic in a capture, in order of completion, and what was wrong with the rest.

    Notes
    -----
    Source: ISO 15765-2:2016 (from memory; behaviour checked against two reference programs in the tests). Timeouts are
    not judged: a recording with a gap in time but every frame in order is whole.
    """
    found = carriers(frames)
    order = np.argsort(found.stream, kind="stable")
    rows, offset, stream = found.rows[order], found.offset[order], found.stream[order]
    data = frames.payload(rows)
    info = pci(data, frames.length[rows], offset)
    remarks = [_remark(frames, rows[info.kind == kind], *words) for kind, words in _IGNORED.items()]
    overflow = (info.kind == kinds.FLOW) & (info.low == kinds.OVERFLOW)
    remarks.append(_remark(frames, rows[overflow], *_OVERFLOW))

    carries = np.flatnonzero(info.kind <= kinds.CONSECUTIVE)
    rows, offset, data, info = rows[carries], offset[carries], data[carries], info.take(carries)
    received = receive_streams(info, data, stream[carries])
    for name, text in _FAULTS.items():
        at = np.array([position for fault, position in received.faults if fault == name], np.int64)
        remarks.append(_remark(frames, rows[at], name, text))
    messages = _joined(frames, rows, offset, data, info, received.frame, received.count)
    return messages, tuple(remark for remark in remarks if remark.count)


def _joined(
    frames: Frames, rows: NDArray[np.int64], offset: NDArray[np.uint8], data: NDArray[np.uint8], info: Pci,
    frame: NDArray[np.int64], count: NDArray[np.int64],
) -> Messages:  # fmt: skip
    """Payloads of the messages whose frames are given, in order of their last frame."""
    end = np.cumsum(count)
    by_end = np.argsort(rows[frame[end - 1]], kind="stable")
    count, before = count[by_end], (end - count)[by_end]
    end = np.cumsum(count)
    begin = end - count
    frame = frame[np.repeat(before - begin, count) + np.arange(count.sum())]
    first, last = frame[begin], frame[end - 1]

    size = info.size[first]
    room = np.minimum(info.room[frame], np.repeat(np.maximum(info.full[first], 1), count))
    taken_before = np.cumsum(room) - room
    taken_before -= np.repeat(taken_before[begin], count)
    take = np.minimum(room, np.repeat(size, count) - taken_before)
    column = np.arange(data.shape[1])
    low = info.begin[frame, None]
    inside = (column >= low) & (column < low + take[:, None])
    return Messages(
        t_s=frames.t_s[rows[last]],
        t_first_s=frames.t_s[rows[first]],
        source=frames.can_id[rows[first]],
        address=np.where(offset[first] > 0, data[first, 0].astype(np.int16), np.int16(-1)),
        extended=(frames.flags[rows[first]] & EXTENDED) != 0,
        bus=frames.bus[rows[first]],
        start=np.cumsum(size) - size,
        length=size.astype(np.int32),
        blob=data[frame][inside],
    )


def _remark(frames: Frames, rows: NDArray[np.int64], kind: str, text: str) -> Remark:
    """A remark about some frames, with the first places in order of time."""
    rows = np.sort(rows)
    places = tuple(f"t = {frames.t_s[row]:.3f} s, id {frames.can_id[row]:X}" for row in rows[:PLACES_KEPT])
    return Remark(kind, text, len(rows), places)
