"""Which frames of a bus carry ISO 15765-2, and where their protocol control information stands.

The identifiers of ISO 15765-4 and of the fixed addressing of ISO 15765-2 are taken as they are. Any other identifier
must show it: every frame of it reads as protocol control information, and it either took part in a whole segmented
message (first frame, another identifier's flow control, all consecutive frames in order), or in several requests and
answers whose services match. A message too few is better than one that was never sent.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.grouping import group
from logan.model.frames import ERROR, EXTENDED, REMOTE, Frames
from logan.transport.isotp_pci import CONSECUTIVE, CONTINUE, FIRST, FLOW, SINGLE, UNKNOWN_TYPE, Pci, pci
from logan.transport.isotp_receive import receive_streams

_EXTENDED_KEY: Final = np.uint32(1 << 31)
_GLANCE: Final = 1 << 17  # frames at the start in which most broadcast identifiers give themselves away
_MOST_STREAMS: Final = 48  # more unknown streams than this are not compared pair by pair

_ANSWER_WITHIN_S: Final = 5.0  # longest answer time of ISO 14229-2 (P2* server), from memory
_LEAST_EXCHANGES: Final = 3
_LEAST_SHARE: Final = 0.8
_REQUESTS: Final = np.zeros(256, bool)
_REQUESTS[[*range(0x01, 0x0B), *range(0x10, 0x3F), *range(0x83, 0x88)]] = True  # ISO 15031-5, ISO 14229-1
_NEGATIVE: Final = 0x7F


@dataclass(frozen=True, slots=True)
class Carriers:
    """Frames that carry ISO 15765-2.

    Parameters
    ----------
    rows : (m,) int64, rows of the capture, ascending
    offset : (m,) uint8, 1 where an address byte stands in front, else 0
    stream : (m,) int64, number of sender and receiver: bus, identifier, address byte
    """

    rows: NDArray[np.int64]
    offset: NDArray[np.uint8]
    stream: NDArray[np.int64]


def carriers(frames: Frames) -> Carriers:
    """Find the frames of a capture that carry ISO 15765-2."""
    is_data = frames.flags & (ERROR | REMOTE) == 0
    groups = group(np.where(frames.flags & EXTENDED, frames.can_id | _EXTENDED_KEY, frames.can_id))
    known = np.array([_known_offset(key) for key in groups.keys.tolist()], np.int8)
    hopeless = np.zeros(len(known), bool)
    glance = slice(0, _GLANCE)
    plausible = _looks_like_pci(frames.data[glance, 0]) | _looks_like_pci(frames.data[glance, 1])
    hopeless[groups.slot[glance][~plausible & is_data[glance]]] = True
    rows = groups.of_slots(~hopeless | (known >= 0))
    rows = rows[is_data[rows]]
    slot = groups.slot[rows].astype(np.int64)
    offset = known[slot]
    unknown = np.flatnonzero(offset < 0)
    if len(unknown):
        found = _shown_by_traffic(frames, rows[unknown], slot[unknown], len(known))
        offset[unknown] = found[slot[unknown]]
        is_carrier = offset >= 0
        rows, slot, offset = rows[is_carrier], slot[is_carrier], offset[is_carrier]
    address = np.where(offset > 0, frames.data[rows, 0] + np.int64(1), 0)
    return Carriers(rows, offset.astype(np.uint8), _stream(frames, rows, slot, address))


def _stream(
    frames: Frames, rows: NDArray[np.int64], slot: NDArray[np.int64], address: NDArray[np.int64]
) -> NDArray[np.int64]:
    """Number of sender and receiver of each frame."""
    return (slot << 9 | address) << 8 | frames.bus[rows]


def _known_offset(key: int) -> int:
    """Where the standards put the control information of an identifier: 0, 1 behind an address byte, -1 not known."""
    can_id = key & 0x1FFFFFFF
    if not key >> 31:
        # ISO 15765-4, 11 bit: functional request, eight requests, eight answers
        return 0 if can_id == 0x7DF or 0x7E0 <= can_id <= 0x7EF else -1
    # ISO 15765-2: normal fixed addressing (physical DA, functional DB) and mixed addressing (CE, CD), priority 6
    return {0x18DA: 0, 0x18DB: 0, 0x18CE: 1, 0x18CD: 1}.get(can_id >> 16, -1)


def _looks_like_pci(first_byte: NDArray[np.uint8]) -> NDArray[np.bool_]:
    return (first_byte >> 4) <= FLOW


def _shown_by_traffic(frames: Frames, rows: NDArray[np.int64], slot: NDArray[np.int64], slots: int) -> NDArray[np.int8]:
    """Offset of the control information of the identifiers that behave like ISO 15765-2, else -1, (slots,)."""
    found = np.full(slots, -1, np.int8)
    for offset in (0, 1):
        data, length = frames.payload(rows), frames.length[rows]
        info = pci(data, length, np.full(len(rows), offset, np.uint8))
        # an empty frame says nothing; any other must read as control information
        bad = (info.kind >= UNKNOWN_TYPE) & (length > 0)
        good = (np.bincount(slot[bad], minlength=slots) == 0)[slot] & (length > 0) & (found[slot] < 0)
        at = np.flatnonzero(good)
        if not len(at):
            continue
        address = data[at, 0] + np.int64(1) if offset else np.zeros(len(at), np.int64)
        stream = _stream(frames, rows[at], slot[at], address)
        shown = _segmented(info.take(at), data[at], rows[at], stream, slot[at])
        if not offset:
            shown |= _answered(info.take(at), data[at], frames.t_s[rows[at]], stream, slot[at])
        found[sorted(shown)] = offset
    return found


def _segmented(
    info: Pci, data: NDArray[np.uint8], rows: NDArray[np.int64], stream: NDArray[np.int64], slot: NDArray[np.int64]
) -> set[int]:
    """Identifiers that took part in a whole segmented message: its sender and the sender of its flow control."""
    order = np.argsort(stream, kind="stable")
    order = order[info.kind[order] <= CONSECUTIVE]
    received = receive_streams(info.take(order), data[order], stream[order])
    begins = received.frame[np.cumsum(received.count) - received.count][received.count > 1]
    first, second = order[begins], order[begins + 1]
    flow = np.flatnonzero((info.kind == FLOW) & (info.low == CONTINUE))
    if not len(flow) or not len(first):
        return set()
    answer = flow[np.minimum(np.searchsorted(rows[flow], rows[first]), len(flow) - 1)]
    matches = (rows[answer] > rows[first]) & (rows[answer] < rows[second]) & (slot[answer] != slot[first])
    return {*slot[first[matches]].tolist(), *slot[answer[matches]].tolist()}


def _answered(
    info: Pci, data: NDArray[np.uint8], t_s: NDArray[np.float64], stream: NDArray[np.int64], slot: NDArray[np.int64]
) -> set[int]:
    """Identifiers of a tester and a control module whose services match, request after request."""
    starts = np.flatnonzero((info.kind == SINGLE) | (info.kind == FIRST))
    begin = info.begin[starts]
    service, detail = (data[starts, np.minimum(begin + k, data.shape[1] - 1)] for k in range(2))
    names, which = np.unique(stream[starts], return_inverse=True)
    if len(names) > _MOST_STREAMS:
        return set()
    asks = {k: np.flatnonzero((which == k) & _REQUESTS[service]) for k in range(len(names))}
    says = {k: np.flatnonzero((which == k) & ~_REQUESTS[service]) for k in range(len(names))}
    shown: set[int] = set()
    for asker, requests in asks.items():
        if len(requests) < _LEAST_EXCHANGES or len(says[asker]):
            continue
        for sayer, answers in says.items():
            if not len(answers) or len(asks[sayer]):
                continue
            after = np.searchsorted(answers, requests)
            request, answer = requests[after < len(answers)], answers[after[after < len(answers)]]
            is_positive = (service[answer] == service[request] + 0x40) & (
                (detail[answer] == detail[request]) | (info.size[starts[request]] == 1)
            )
            is_negative = (service[answer] == _NEGATIVE) & (detail[answer] == service[request])
            matches = (is_positive | is_negative) & (t_s[starts[answer]] - t_s[starts[request]] < _ANSWER_WITHIN_S)
            kinds = len(np.unique(service[request[matches]].astype(np.int64) << 8 | detail[request[matches]]))
            # one answer that fits every time may be chance; of two or more different ones it is not
            if matches.sum() >= _LEAST_EXCHANGES and matches.sum() >= _LEAST_SHARE * len(requests) and kinds > 1:
                shown |= {int(slot[starts[requests[0]]]), int(slot[starts[answers[0]]])}
    return shown
