"""Messages cut into numbered frames: which frames make up which message, and what went wrong.

ISO 15765-2 and the transport protocol of SAE J1939-21 both announce a length and then count frames. There are two ways
to the same result. Messages whose frames follow in perfect order, which is nearly all, are found in columns; what is
left goes frame by frame through ``receive``, the state machine of the standards, one segment from a start to the next
at a time. Fed a whole stream, ``receive`` alone gives the same answer: the tests do so.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import numpy as np
from msgspec import Struct, structs
from numpy.typing import NDArray

from logan.model.capture import PLACES_KEPT, Remark
from logan.model.frames import EXTENDED, Frames, Messages

SINGLE: Final = 0  # a whole message
FIRST: Final = 1  # announces a message, may hold its first bytes
CONSECUTIVE: Final = 2  # a numbered part of it

LOST: Final = "lost_consecutive_frame"
REPEATED: Final = "repeated_consecutive_frame"
OUT_OF_ORDER: Final = "consecutive_frame_out_of_order"
SHORT: Final = "short_consecutive_frame"
STRAY: Final = "consecutive_frame_without_first"
INTERRUPTED: Final = "reception_interrupted"
UNFINISHED: Final = "unfinished_message"

# a frame missed at first that comes within so many frames was swapped, not lost (its number returns after 16)
_SWAP_WINDOW = 8
_WORD_BYTES = 8

Fault = tuple[str, int]


class Pieces(Struct, frozen=True):
    """What frames are to a transport protocol, as columns.

    Parameters
    ----------
    kind : (n,) uint8, ``SINGLE``, ``FIRST``, ``CONSECUTIVE``, or a number above for frames that hold no payload
    number : (n,) uint8, sequence number of a consecutive frame
    size : (n,) int64, length of the whole message that a single or first frame announces, else 0
    begin : (n,) int64, first payload byte in the frame
    room : (n,) int64, bytes from there to the end of the frame
    full : (n,) int64, bytes that each consecutive frame but the last of a message begun here must carry
    """

    kind: NDArray[np.uint8]
    number: NDArray[np.uint8]
    size: NDArray[np.int64]
    begin: NDArray[np.int64]
    room: NDArray[np.int64]
    full: NDArray[np.int64]

    def take(self, at: NDArray[Any]) -> Pieces:
        """Some of the frames."""
        return Pieces(*(column[at] for column in structs.astuple(self)))


class Received(Struct, frozen=True):
    """Messages as lists of frames.

    Parameters
    ----------
    frame : (f,) int64, positions of the frames that messages are made of, message by message
    count : (m,) int64, frames of each message
    faults : what went wrong and at which position
    """

    frame: NDArray[np.int64]
    count: NDArray[np.int64]
    faults: list[Fault]


def receive_streams(pieces: Pieces, data: NDArray[np.uint8], stream: NDArray[np.int64], last_number: int) -> Received:
    """Messages in some streams, and what was wrong.

    Parameters
    ----------
    pieces : single, first and consecutive frames, each stream's together and in order of time
    data : (n, w) uint8, their bytes
    stream : (n,) int64, number of the stream, ascending
    last_number : highest sequence number, after which 0 follows: 15 or 255
    """
    order = _in_order(pieces, stream, last_number)
    frame, count = order.frames()
    faults: list[Fault] = [(STRAY, k) for k in order.stray.tolist()]
    frames: list[list[int]] = []
    for k in np.flatnonzero(~order.whole).tolist():
        begin, end = int(order.starts[k]), int(order.ends[k])
        at_end = INTERRUPTED if order.is_followed[k] else UNFINISHED
        if order.good[k] == end - begin - 1:
            faults.append((at_end, begin))  # in order as far as it goes
            continue
        more, wrong = receive(pieces, data, begin, end, last_number, at_end)
        frames += more
        faults += wrong
    return Received(
        np.concatenate([frame, np.array([k for some in frames for k in some], np.int64)]),
        np.concatenate([count, np.array([len(some) for some in frames], np.int64)]),
        faults,
    )


def whole_messages(pieces: Pieces, stream: NDArray[np.int64], last_number: int) -> Received:
    """Only the messages whose frames are all there and in perfect order; see ``receive_streams``."""
    return Received(*_in_order(pieces, stream, last_number).frames(), [])


class _Order(Struct, frozen=True):
    """Segments, each from a start to the next start of its stream.

    Parameters
    ----------
    starts, ends : (s,) int64, position of the start and of the first frame that is not in the segment any more
    is_followed : (s,) bool, another start of the same stream comes next
    needed : (s,) int64, consecutive frames that the message needs
    good : (s,) int64, consecutive frames that stand in their place
    stray : (k,) int64, consecutive frames before the first start of their stream or behind a whole message
    """

    starts: NDArray[np.int64]
    ends: NDArray[np.int64]
    is_followed: NDArray[np.bool_]
    needed: NDArray[np.int64]
    good: NDArray[np.int64]
    stray: NDArray[np.int64]

    @property
    def whole(self) -> NDArray[np.bool_]:
        """Segments that hold a message without fault, (s,)."""
        return np.equal(self.good, self.needed)

    def frames(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Positions of the frames of the whole messages, message by message, and how many each has."""
        count = self.needed[self.whole] + 1
        return np.repeat(self.starts[self.whole] - np.cumsum(count) + count, count) + np.arange(count.sum()), count


def _in_order(pieces: Pieces, stream: NDArray[np.int64], last_number: int) -> _Order:
    """Compare every consecutive frame with the number and the length that its place asks for."""
    n = len(stream)
    starts = np.flatnonzero(pieces.kind != CONSECUTIVE)
    ends = np.minimum(np.append(starts[1:], n)[: len(starts)], np.searchsorted(stream, stream[starts], side="right"))
    is_followed = np.append(stream[starts][1:] == stream[starts][:-1], False)[: len(starts)]
    is_first = pieces.kind[starts] == FIRST
    full = np.maximum(pieces.full[starts], 1)
    needed = np.where(is_first, -((pieces.room[starts] - pieces.size[starts]) // full), 0)

    parts = np.flatnonzero(pieces.kind == CONSECUTIVE)
    segment = np.searchsorted(starts, parts, side="right") - 1
    outside = segment < 0
    outside[~outside] = parts[~outside] >= ends[segment[~outside]]
    stray = [parts[outside]]
    parts, segment = parts[~outside], segment[~outside]
    nth = parts - starts[segment]
    missing = pieces.size[starts][segment] - pieces.room[starts][segment] - (nth - 1) * full[segment]
    is_good = (
        (nth <= needed[segment])
        & (pieces.number[parts] == nth & last_number)
        & (pieces.room[parts] >= np.minimum(missing, full[segment]))
    )
    good = np.bincount(segment[is_good], minlength=len(starts))
    stray.append(parts[~is_good & (good == needed)[segment]])
    return _Order(starts, ends, is_followed, needed, good, np.concatenate(stray))


def receive(
    pieces: Pieces, data: NDArray[np.uint8], begin: int, end: int, last_number: int, at_end: str = UNFINISHED
) -> tuple[list[list[int]], list[Fault]]:
    """Frame by frame: the frames ``begin`` to ``end`` of one stream, and the name of what an open reception ends in.

    A wrong sequence number ends the reception (ISO 15765-2, 9.8.3, N_WRONG_SN). One exception: a frame equal to the
    one before, bit for bit, is a recorder's doubling, named and left out. A start during reception ends it and begins
    anew (N_UNEXP_PDU).
    """
    kinds: Sequence[int] = pieces.kind[begin:end].tolist()
    numbers: Sequence[int] = pieces.number[begin:end].tolist()
    messages: list[list[int]] = []
    faults: list[Fault] = []
    open_: list[int] = []  # frames of the message in reception
    missing = full = 0
    missed: int | None = None  # number that a reception was given up for, which is then the last fault; -1 for another
    for k, kind, number in zip(range(begin, end), kinds, numbers, strict=True):
        if kind in (SINGLE, FIRST):
            if open_:
                faults.append((INTERRUPTED, open_[0]))
            open_, missed = [], None
            if kind == SINGLE:
                messages.append([k])
            else:
                open_ = [k]
                full = int(pieces.full[k])
                missing = int(pieces.size[k] - pieces.room[k])
        elif not open_:
            if missed is None:
                faults.append((STRAY, k))
            elif number == missed and k - faults[-1][1] < _SWAP_WINDOW:
                faults[-1] = (OUT_OF_ORDER, faults[-1][1])
        elif number == len(open_) & last_number:
            if pieces.room[k] < min(missing, full):
                faults.append((SHORT, k))
                open_, missed = [], -1
                continue
            open_.append(k)
            missing -= full
            if missing <= 0:
                messages.append(open_)
                open_ = []
        elif (data[k] == data[open_[-1]]).all():
            faults.append((REPEATED, k))
        else:
            faults.append((LOST, k))
            missed, open_ = len(open_) & last_number, []
    if open_:
        faults.append((at_end, open_[0]))
    return messages, faults


def join(
    frames: Frames, rows: NDArray[np.int64], data: NDArray[np.uint8], pieces: Pieces, received: Received,
    source: NDArray[np.uint32], address: NDArray[np.int16],
) -> Messages:  # fmt: skip
    """Payloads of received messages, in order of their last frame.

    Parameters
    ----------
    rows : (n,) int64, rows of the frames that were received
    data : (n, w) uint8, their bytes
    source : (n,) uint32, identifier that a message begun by the frame is to have
    address : (n,) int16, address byte of the frame, -1 where it has none
    """
    frame, count = received.frame, received.count
    end = np.cumsum(count)
    by_end = np.argsort(rows[frame[end - 1]], kind="stable")
    count, before = count[by_end], (end - count)[by_end]
    end = np.cumsum(count)
    begin = end - count
    frame = frame[np.repeat(before - begin, count) + np.arange(count.sum())]
    first, last = frame[begin], frame[end - 1]

    size = pieces.size[first]
    room = np.minimum(pieces.room[frame], np.repeat(pieces.full[first], count))
    taken_before = np.cumsum(room) - room
    taken_before -= np.repeat(taken_before[begin], count)
    take = np.minimum(room, np.repeat(size, count) - taken_before)
    low = pieces.begin[frame]
    inside = _inside(low, low + take, data.shape[1])
    return Messages(
        t_s=frames.t_s[rows[last]],
        t_first_s=frames.t_s[rows[first]],
        source=source[first],
        address=address[first],
        extended=(frames.flags[rows[first]] & EXTENDED) != 0,
        bus=frames.bus[rows[first]],
        start=np.cumsum(size) - size,
        length=size.astype(np.int32),
        blob=data[frame][inside],
    )


def _inside(begin: NDArray[np.int64], end: NDArray[np.int64], width: int) -> NDArray[np.bool_]:
    """Whether each of ``width`` bytes stands from one place to before another, (n, width); by table where it can be."""
    column = np.arange(width)
    if width != _WORD_BYTES:
        column = column.astype(np.uint8)  # the widest of all columns here, in a narrow type
        return (column >= begin[:, None].astype(np.uint8)) & (column < end[:, None].astype(np.uint8))
    place = np.arange(_WORD_BYTES + 1)
    table = (column >= place[:, None, None]) & (column < place[:, None])
    words = table.view(np.uint64).ravel()[begin * len(place) + np.clip(end, 0, _WORD_BYTES)]
    out: NDArray[np.bool_] = words.view(np.bool_).reshape(-1, _WORD_BYTES)
    return out


def remark(frames: Frames, rows: NDArray[np.int64], kind: str, text: str) -> Remark:
    """A remark about some frames, with the first places in order of time."""
    rows = np.sort(rows)
    places = tuple(f"t = {frames.t_s[row]:.3f} s, id {frames.can_id[row]:X}" for row in rows[:PLACES_KEPT])
    return Remark(kind, text, len(rows), places)
