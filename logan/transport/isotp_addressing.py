"""Which frames of a bus carry ISO 15765-2, and where their protocol control information stands.

The identifiers of ISO 15765-4 and of the fixed addressing of ISO 15765-2 are taken as they are. Any other identifier
must show it: every frame of it reads as protocol control information, and it either took part in a whole segmented
message (first frame, another identifier's flow control, all consecutive frames in order) beside an answer that fits its
request, or in several requests and answers that fit. A message too few is better than one that was never sent.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.dsp.grouping import identifiers
from logan.model.frames import ERROR, REMOTE, Frames
from logan.transport.isotp_pci import CONTINUE, FLOW, LAST_NUMBER, UNKNOWN_TYPE, pci
from logan.transport.segmented import CONSECUTIVE, FIRST, SINGLE, Pieces, whole_messages

_SLOT_SHIFT: Final = 17  # a stream is the number of its identifier, 9 bits of address, 8 bits of bus
_GLANCE: Final = 1 << 15  # frames at the start in which most broadcast identifiers give themselves away
_MOST_ROWS: Final = 500_000
_MOST_STREAMS: Final = 48  # more unknown streams than this are not compared pair by pair

_ANSWER_WITHIN_S: Final = 5.0  # longest answer time of ISO 14229-2 (P2* server), from memory
_LEAST_EXCHANGES: Final = 3
_LEAST_SHARE: Final = 0.8
_REQUESTS: Final = np.zeros(256, bool)
_REQUESTS[[*range(0x01, 0x0B), *range(0x10, 0x3F), *range(0x83, 0x88)]] = True  # ISO 15031-5, ISO 14229-1
_NEGATIVE: Final = 0x7F
_PCI_BYTES: Final = np.zeros(256, bool)
_PCI_BYTES[[*range(0x01, 0x08), *range(0x10, 0x33)]] = True


class Carriers(Struct, frozen=True):
    """Frames that carry ISO 15765-2.

    Parameters
    ----------
    frames : they alone, in order
    offset : (m,) uint8, 1 where an address byte stands in front, else 0
    stream : (m,) int64, number of sender and receiver: bus, identifier, address byte
    """

    frames: Frames
    offset: NDArray[np.uint8]
    stream: NDArray[np.int64]


def carriers(frames: Frames) -> Carriers:
    """Find the frames of a capture that carry ISO 15765-2."""
    groups = identifiers(frames)
    known = _known_offset(groups.keys)
    some, slot = groups.pick(frames, (known >= 0) | _hopeful(*groups.first(frames, _GLANCE), len(known)))
    if some.flags_met & (ERROR | REMOTE):
        has_data = np.flatnonzero(some.flags & (ERROR | REMOTE) == 0)
        some, slot = some.take(has_data), slot[has_data]
    offset = known[slot]
    unknown = np.flatnonzero(offset < 0)
    if len(unknown):
        found = _shown_by_traffic(some.take(unknown), slot[unknown], len(known))
        offset[unknown] = found[slot[unknown]]
        is_carrier = np.flatnonzero(offset >= 0)
        some, slot, offset = some.take(is_carrier), slot[is_carrier], offset[is_carrier]
    address = np.where(offset > 0, some.data[:, 0] + np.int64(1), 0)
    return Carriers(some, offset.astype(np.uint8), _stream(some.bus, slot, address))


def _stream(bus: NDArray[np.uint8], slot: NDArray[np.int64], address: NDArray[np.int64]) -> NDArray[np.int64]:
    """Number of sender and receiver of each frame."""
    return slot << _SLOT_SHIFT | address << 8 | bus


def _known_offset(keys: NDArray[np.uint32]) -> NDArray[np.int8]:
    """Where the standards put the control information: 0, 1 behind an address byte, -1 not known, (k,)."""
    offset = np.full(len(keys), -1, np.int8)
    # ISO 15765-4, 11 bit: functional request, eight requests, eight answers
    offset[(keys == 0x7DF) | (keys >= 0x7E0) & (keys <= 0x7EF)] = 0
    # ISO 15765-2, 29 bit, priority 6: normal fixed addressing (physical DA, functional DB), mixed addressing (CE, CD)
    high = keys >> np.uint32(16)
    for prefix, where in ((0x98DA, 0), (0x98DB, 0), (0x98CE, 1), (0x98CD, 1)):
        offset[high == prefix] = where
    return offset


def _hopeful(frames: Frames, slot: NDArray[np.int64], slots: int) -> NDArray[np.bool_]:
    """Identifiers of which each of these frames has control information in one of its first bytes, (slots,) bool."""
    could_be = _PCI_BYTES[frames.data[:, 0]] | _PCI_BYTES[frames.data[:, 1]]
    # an escaped CAN FD single frame begins with zero; frames without data say nothing
    could_be |= (frames.length > 8) | (frames.length == 0) | (frames.flags & (ERROR | REMOTE) != 0)
    hopeful = np.ones(slots, bool)
    hopeful[slot[~could_be]] = False
    return hopeful


def _shown_by_traffic(frames: Frames, slot: NDArray[np.int64], slots: int) -> NDArray[np.int8]:
    """Offset of the control information of the identifiers that behave like ISO 15765-2, else -1, (slots,)."""
    found = np.full(slots, -1, np.int8)
    counts = np.bincount(slot, minlength=slots) * _hopeful(frames, slot, slots)
    # diagnosis is never the busiest traffic: where there is too much to look at, the busiest identifiers are left out
    quietest = np.argsort(counts, kind="stable")
    looked_at = np.zeros(slots, bool)
    looked_at[quietest[np.cumsum(counts[quietest]) <= _MOST_ROWS]] = True
    looked_at &= counts > 0
    rows = np.flatnonzero(looked_at[slot])
    frames, slot = frames.take(rows), slot[rows]
    data, length = frames.payload(np.arange(len(rows))), frames.length
    for offset in (0, 1):
        info = pci(data, length, np.full(len(rows), offset, np.uint8))
        # an empty frame says nothing; any other must read as control information
        bad = (info.kind >= UNKNOWN_TYPE) & (length > 0)
        at = np.flatnonzero((np.bincount(slot[bad], minlength=slots) == 0)[slot] & (length > 0) & (found[slot] < 0))
        if not len(at):
            continue
        address = data[at, 0] + np.int64(1) if offset else np.zeros(len(at), np.int64)
        stream = _stream(frames.bus[at], slot[at], address)
        info, bytes_ = info.take(at), data[at]
        talk = _Talk.of(info, bytes_, frames.t_s[at], stream)
        shown = {pair for pair in _segmented(info, stream) if talk.matches(*pair) or talk.matches(*pair[::-1])}
        if not offset:
            shown |= talk.conversations()
        found[[one >> _SLOT_SHIFT for pair in shown for one in pair]] = offset
    return found


def _segmented(info: Pieces, stream: NDArray[np.int64]) -> set[tuple[int, int]]:
    """Pairs of streams: sender of a whole segmented message, sender of a flow control within it."""
    order = np.argsort(stream, kind="stable")
    order = order[info.kind[order] <= CONSECUTIVE]
    received = whole_messages(info.take(order), stream[order], LAST_NUMBER)
    begins = received.frame[np.cumsum(received.count) - received.count][received.count > 1]
    first, second = order[begins], order[begins + 1]
    flow = np.flatnonzero((info.kind == FLOW) & (info.number == CONTINUE))
    if not len(flow):
        return set()
    answer = flow[np.minimum(np.searchsorted(flow, first), len(flow) - 1)]
    within = (answer > first) & (answer < second)
    return set(zip(stream[first[within]].tolist(), stream[answer[within]].tolist(), strict=True))


class _Talk(Struct, frozen=True):
    """Beginnings of messages in order of time: stream, time, length, service byte and the byte behind it."""

    stream: NDArray[np.int64]
    t_s: NDArray[np.float64]
    size: NDArray[np.int64]
    service: NDArray[np.uint8]
    detail: NDArray[np.uint8]

    @classmethod
    def of(cls, info: Pieces, data: NDArray[np.uint8], t_s: NDArray[np.float64], stream: NDArray[np.int64]) -> _Talk:
        starts = np.flatnonzero((info.kind == SINGLE) | (info.kind == FIRST))
        service, detail = (data[starts, np.minimum(info.begin[starts] + k, data.shape[1] - 1)] for k in range(2))
        return cls(stream[starts], t_s[starts], info.size[starts], service, detail)

    def matches(self, asker: int, sayer: int) -> list[int]:
        """Requests of one stream whose next message of the other answers them, as service and detail in one number."""
        requests = np.flatnonzero((self.stream == asker) & _REQUESTS[self.service])
        answers = np.flatnonzero(self.stream == sayer)
        after = np.searchsorted(answers, requests)
        request, answer = requests[after < len(answers)], answers[after[after < len(answers)]]
        echoes = (self.detail[answer] == self.detail[request]) | (self.size[request] == 1)
        is_positive = (self.service[answer] == self.service[request] + 0x40) & echoes
        is_negative = (self.service[answer] == _NEGATIVE) & (self.detail[answer] == self.service[request])
        in_time = self.t_s[answer] - self.t_s[request] < _ANSWER_WITHIN_S
        good = request[(is_positive | is_negative) & in_time]
        number: list[int] = (self.service[good].astype(np.int64) << 8 | self.detail[good]).tolist()
        return number

    def conversations(self) -> set[tuple[int, int]]:
        """Pairs of which one only asks, the other only answers, and nearly every request has its answer.

        One answer that fits every time may be chance between two constant messages; two different ones are not.
        """
        streams, which = np.unique(self.stream, return_inverse=True)
        if len(streams) > _MOST_STREAMS:
            return set()
        asked = np.bincount(which, _REQUESTS[self.service], len(streams))
        said = np.bincount(which, minlength=len(streams))
        askers = streams[(asked == said) & (asked >= _LEAST_EXCHANGES)].tolist()
        sayers = streams[asked == 0].tolist()
        shown = set()
        for asker, requests in zip(askers, said[np.isin(streams, askers)].tolist(), strict=True):
            for sayer in sayers:
                matched = self.matches(asker, sayer)
                enough = max(_LEAST_EXCHANGES, _LEAST_SHARE * requests)
                if len(matched) >= enough and len(set(matched)) > 1:
                    shown.add((asker, sayer))
        return shown
