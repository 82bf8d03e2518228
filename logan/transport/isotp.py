"""ISO 15765-2 as a listener sees it: the messages of all testers and control modules out of the frames of a bus."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.model.capture import Remark
from logan.model.frames import EXTENDED, Frames, Messages
from logan.native import kernels
from logan.transport import isotp_pci as kinds
from logan.transport import segmented
from logan.transport.isotp_addressing import Carriers, carriers
from logan.transport.isotp_pci import pci
from logan.transport.segmented import join, receive_streams, remark

_IGNORED: Final = {
    kinds.UNKNOWN_TYPE: ("unknown_frame_type", "diagnostic frames of no type that ISO 15765-2 knows"),
    kinds.SINGLE_EMPTY: ("single_frame_empty", "single frames that announce no byte"),
    kinds.SINGLE_TOO_LONG: ("single_frame_too_long", "single frames that announce more bytes than they hold"),
    kinds.FIRST_TOO_SHORT: ("first_frame_too_short", "first frames of a message that a single frame would hold"),
    kinds.FOREIGN: ("identifier_in_other_use", "frames of diagnostic identifiers, most of them no ISO 15765-2"),
    kinds.BAD_FLOW: ("bad_flow_control", "flow control frames cut short or of a reserved status"),
}
_FAULTS: Final = {
    segmented.LOST: "messages given up: a consecutive frame is missing",
    segmented.OUT_OF_ORDER: "messages given up: consecutive frames changed places",
    segmented.SHORT: "messages given up: a consecutive frame holds too few bytes",
    segmented.REPEATED: "consecutive frames recorded twice: one was used",
    segmented.STRAY: "consecutive frames without a first frame",
    segmented.INTERRUPTED: "messages that ended early because their sender began another",
    segmented.UNFINISHED: "messages not finished at the end of the capture",
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
    undisturbed = _undisturbed(found)
    if undisturbed is not None:
        return undisturbed, ()
    order = np.argsort(found.stream, kind="stable")
    frames, rows, offset, stream = found.frames, order, found.offset[order], found.stream[order]
    data = frames.payload(rows)
    info = pci(data, frames.length[rows], offset)
    info.kind[_foreign(info.kind, stream)] = kinds.FOREIGN
    remarks = [remark(frames, rows[info.kind == kind], *words) for kind, words in _IGNORED.items()]
    overflow = (info.kind == kinds.FLOW) & (info.number == kinds.OVERFLOW)
    remarks.append(remark(frames, rows[overflow], *_OVERFLOW))

    carries = np.flatnonzero(info.kind <= segmented.CONSECUTIVE)
    if len(carries) < len(rows):
        rows, offset, data, info = rows[carries], offset[carries], data[carries], info.take(carries)
        stream = stream[carries]
    received = receive_streams(info, data, stream, kinds.LAST_NUMBER)
    for name, text in _FAULTS.items():
        at = np.array([position for fault, position in received.faults if fault == name], np.int64)
        remarks.append(remark(frames, rows[at], name, text))
    address = np.where(offset > 0, data[:, 0].astype(np.int16), np.int16(-1))
    messages = join(frames, rows, data, info, received, frames.can_id[rows], address)
    return messages, tuple(one for one in remarks if one.count)


def _undisturbed(found: Carriers) -> Messages | None:
    """All messages of long traffic by the compiled loop, where each frame is in its place; else None."""
    frames = found.frames
    if len(frames.fd_row) or not kernels.pays(len(frames)):
        return None
    made = kernels.isotp(frames.data, frames.length, found.offset, found.stream)
    if made is None:
        return None
    first = made.first
    return Messages(
        t_s=frames.t_s[made.last],
        t_first_s=frames.t_s[first],
        source=frames.can_id[first],
        address=np.where(found.offset[first] > 0, frames.data[first, 0].astype(np.int16), np.int16(-1)),
        extended=(frames.flags[first] & EXTENDED) != 0,
        bus=frames.bus[first],
        start=made.start,
        length=made.length.astype(np.int32),
        blob=made.blob,
    )


def _foreign(kind: NDArray[np.uint8], stream: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Frames of streams in which more frames read as nonsense than not: something else uses the identifier, (n,).

    Parameters
    ----------
    kind : (n,) what each frame is
    stream : (n,) number of its stream, ascending
    """
    if not len(stream):
        return np.zeros(0, bool)
    number = np.cumsum(np.diff(stream, prepend=stream[0]) != 0)
    nonsense = np.bincount(number, kind >= kinds.UNKNOWN_TYPE)
    return np.take(2 * nonsense > np.bincount(number), number)
