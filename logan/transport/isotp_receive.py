"""Reception of ISO 15765-2 messages: which frames make up which message, and what went wrong.

Two ways to the same result. Messages whose consecutive frames follow in perfect order, which is nearly all, are found
in columns; what is left goes frame by frame through ``receive``, the state machine of the standard, a segment from one
first frame to the next start at a time. Fed a whole stream, ``receive`` alone gives the same answer: the tests do so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.transport.isotp_pci import CONSECUTIVE, FIRST, SINGLE, Pci

LOST: Final = "lost_consecutive_frame"
REPEATED: Final = "repeated_consecutive_frame"
OUT_OF_ORDER: Final = "consecutive_frame_out_of_order"
SHORT: Final = "short_consecutive_frame"
STRAY: Final = "consecutive_frame_without_first"
INTERRUPTED: Final = "reception_interrupted"
UNFINISHED: Final = "unfinished_message"

# a frame missed at first that comes within so many frames was swapped, not lost (its number returns after 16)
_SWAP_WINDOW = 8

Fault = tuple[str, int]


@dataclass(frozen=True, slots=True)
class Received:
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


def receive_streams(pci: Pci, data: NDArray[np.uint8], stream: NDArray[np.int64]) -> Received:
    """Messages in some streams.

    Parameters
    ----------
    pci : single, first and consecutive frames, each stream's together and in order of time
    data : (n, w) uint8, their bytes
    stream : (n,) int64, number of the stream
    """
    n = len(stream)
    position = np.arange(n)
    is_start = pci.kind != CONSECUTIVE
    head = np.maximum.accumulate(np.where(is_start, position, -1))
    headless = head < 0
    headless |= stream[head] != stream
    nth = position - head  # 0 for a start, then 1, 2, ... for the consecutive frames behind it
    is_first = pci.kind[head] == FIRST
    carried = pci.room[head] + (nth - 1) * pci.full[head]
    missing = np.where(is_first, pci.size[head] - carried, 0)  # bytes still missing before this frame
    belongs = ~is_start & ~headless & (missing > 0)
    in_order = belongs & (pci.low == nth & 0xF) & (pci.room >= np.minimum(missing, pci.full[head]))

    starts = np.flatnonzero(is_start)
    needed = np.where(
        pci.kind[starts] == FIRST,
        -((pci.room[starts] - pci.size[starts]) // np.maximum(pci.full[starts], 1)),
        0,
    )
    whole = np.bincount(head[in_order], minlength=n)[starts] == needed
    count = needed[whole] + 1
    frame = np.repeat(starts[whole] - np.cumsum(count) + count, count) + np.arange(count.sum())

    is_damaged = np.zeros(n, bool)
    is_damaged[starts[~whole]] = True
    faults: list[Fault] = [
        (STRAY, int(k)) for k in np.flatnonzero(~is_start & ~belongs & (headless | ~is_damaged[head]))
    ]
    frames: list[list[int]] = []
    for begin in starts[~whole].tolist():
        after = np.searchsorted(starts, begin, side="right")
        end = int(starts[after]) if after < len(starts) else n
        ends_stream = end == n or stream[end] != stream[begin]
        # the frames of the next stream that stand before its first start are no part of this segment
        end = begin + int(np.searchsorted(stream[begin:end], stream[begin], side="right"))
        more, wrong = receive(pci, data, begin, end, UNFINISHED if ends_stream else INTERRUPTED)
        frames += more
        faults += wrong
    return Received(
        np.concatenate([frame, np.array([k for some in frames for k in some], np.int64)]),
        np.concatenate([count, np.array([len(some) for some in frames], np.int64)]),
        faults,
    )


def receive(
    pci: Pci, data: NDArray[np.uint8], begin: int, end: int, at_end: str = UNFINISHED
) -> tuple[list[list[int]], list[Fault]]:
    """Frame by frame: the frames ``begin`` to ``end`` of one stream, and the name of what an open reception ends in.

    A wrong sequence number ends the reception (ISO 15765-2, 9.8.3, N_WRONG_SN). One exception: a frame equal to the
    one before, bit for bit, is a recorder's doubling, named and left out. A start during reception ends it and begins
    anew (N_UNEXP_PDU).
    """
    kinds: Sequence[int] = pci.kind[begin:end].tolist()
    numbers: Sequence[int] = pci.low[begin:end].tolist()
    messages: list[list[int]] = []
    faults: list[Fault] = []
    open_: list[int] = []  # frames of the message in reception
    missing = full = 0
    given_up: tuple[int, int] | None = None  # number that was missing, position where that showed
    for k, kind, number in zip(range(begin, end), kinds, numbers, strict=True):
        if kind in (SINGLE, FIRST):
            if open_:
                faults.append((INTERRUPTED, open_[0]))
            open_, given_up = [], None
            if kind == SINGLE:
                messages.append([k])
            else:
                open_ = [k]
                full = int(pci.full[k])
                missing = int(pci.size[k] - pci.room[k])
        elif not open_:
            if given_up is None:
                faults.append((STRAY, k))
            elif number == given_up[0] and k - given_up[1] < _SWAP_WINDOW and (LOST, given_up[1]) in faults:
                faults[faults.index((LOST, given_up[1]))] = (OUT_OF_ORDER, given_up[1])
        elif number == len(open_) & 0xF:
            if pci.room[k] < min(missing, full):
                faults.append((SHORT, k))
                open_, given_up = [], (-1, k)
                continue
            open_.append(k)
            missing -= full
            if missing <= 0:
                messages.append(open_)
                open_ = []
        elif len(open_) > 1 and (data[k] == data[open_[-1]]).all():
            faults.append((REPEATED, k))
        else:
            faults.append((LOST, k))
            open_, given_up = [], (len(open_) & 0xF, k)
    if open_:
        faults.append((at_end, open_[0]))
    return messages, faults
