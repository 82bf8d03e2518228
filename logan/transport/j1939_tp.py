"""SAE J1939-21 transport protocol as a listener sees it: broadcast announcements (BAM) and connections (RTS / CTS).

Of packets that the receiver asked for again (CTS naming an earlier packet) the last copy counts.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.grouping import distinct, identifiers
from logan.model.capture import Remark
from logan.model.frames import ERROR, EXTENDED, REMOTE, Frames, Messages
from logan.transport import segmented
from logan.transport.segmented import CONSECUTIVE, FIRST, SINGLE, Pieces, Received, join, receive_streams, remark

# SAE J1939-21, 5.10: PDU formats of connection management and data transfer, control bytes, sizes
_CONNECTION: Final = 0xEC
_DATA: Final = 0xEB
_RTS: Final = 16
_CTS: Final = 17
_BAM: Final = 32
_ABORT: Final = 255
_GO: Final = 3  # kind of a frame beside those of ``segmented``: the receiver asks for packets
_PER_PACKET: Final = 7
_SMALLEST: Final = 9
_PRIORITY: Final = 6  # the default; the transport does not carry the priority of the message itself
_LAST_NUMBER: Final = 255

_ABORTED: Final = "transport_aborted"
_RESTARTED: Final = "transport_restarted"
_ASKED_AGAIN: Final = "transport_packets_asked_again"
_BAD_ANNOUNCEMENT: Final = "transport_bad_announcement"
_NAMES: Final = {
    segmented.LOST: "transport_packet_lost",
    segmented.OUT_OF_ORDER: "transport_packet_out_of_order",
    segmented.SHORT: "transport_packet_short",
    segmented.REPEATED: "transport_packet_repeated",
    segmented.STRAY: "transport_data_unannounced",
    segmented.UNFINISHED: "transport_unfinished",
}
_TEXTS: Final = {
    "transport_packet_lost": "multi-packet messages given up: a packet is missing",
    "transport_packet_out_of_order": "multi-packet messages given up: packets changed places or were sent again",
    "transport_packet_short": "multi-packet messages given up: a packet holds too few bytes",
    "transport_packet_repeated": "packets recorded twice: one was used",
    "transport_data_unannounced": "data packets without an announcement",
    "transport_unfinished": "multi-packet messages not finished at the end of the capture",
    _ABORTED: "multi-packet messages that one side broke off",
    _RESTARTED: "multi-packet messages that ended early because their sender announced another",
    _ASKED_AGAIN: "multi-packet messages of which the receiver asked for packets again: their last copies were used",
    _BAD_ANNOUNCEMENT: "announcements whose size, number of packets and parameter group cannot be",
}


def reassemble(frames: Frames) -> tuple[Messages, tuple[Remark, ...]]:
    """Multi-packet messages of a J1939 bus in order of completion, and what was wrong with the rest.

    ``Messages.source`` is the identifier that the message would have in one frame, with the default priority 6.
    """
    frames = _transport_frames(frames)
    rows, stream, pieces, source, bad_rows, again_rows = _pieces(frames)
    data = frames.data[rows]
    received = receive_streams(pieces, data, stream, _LAST_NUMBER)
    starts = np.flatnonzero(pieces.kind != CONSECUTIVE)
    rows_of: dict[str, list[int]] = {_BAD_ANNOUNCEMENT: bad_rows.tolist(), _ASKED_AGAIN: again_rows.tolist()}
    for fault, at in received.faults:
        if fault == segmented.INTERRUPTED:
            following = starts[np.searchsorted(starts, at, side="right")]
            name = _ABORTED if pieces.kind[following] == SINGLE else _RESTARTED
        else:
            name = _NAMES[fault]
        rows_of.setdefault(name, []).append(int(rows[at]))
    remarks = [
        remark(frames, np.array(rows_of[name], np.int64), name, _TEXTS[name]) for name in _TEXTS if name in rows_of
    ]
    no_address = np.full(len(rows), -1, np.int16)
    messages = join(frames, rows, data, pieces, _without_aborts(received, pieces), source, no_address)
    return messages, tuple(one for one in remarks if one.count)


def _transport_frames(frames: Frames) -> Frames:
    """Those of the two parameter groups of the transport alone."""
    groups = identifiers(frames)
    form = groups.keys >> np.uint32(16) & np.uint32(0x3FF)
    some, _ = groups.pick(frames, (form == _CONNECTION) | (form == _DATA))
    return some.take(np.flatnonzero(some.flags & (EXTENDED | ERROR | REMOTE) == EXTENDED))


def _pieces(
    frames: Frames,
) -> tuple[
    NDArray[np.int64], NDArray[np.int64], Pieces, NDArray[np.uint32], NDArray[np.int64], NDArray[np.int64]
]:  # fmt: skip
    """Frames of the transport by stream (bus, source, destination of the data) and time.

    Returns
    -------
    rows, streams, what each frame is, identifier of the message that it begins; rows of announcements that cannot be,
    and of those of which packets were asked for again.
    An abort stands in the streams of both directions, as a whole message of no byte: it ends what is open there.
    """
    is_data = frames.can_id >> np.uint32(16) & np.uint32(0x3FF) == _DATA
    byte = frames.data.astype(np.int64)
    size = byte[:, 1] | byte[:, 2] << 8
    pgn = byte[:, 5] | byte[:, 6] << 8 | byte[:, 7] << 16
    can_id = frames.can_id.astype(np.int64)
    destination, sender = can_id >> 8 & 0xFF, can_id & 0xFF

    announces = ~is_data & ((byte[:, 0] == _BAM) | (byte[:, 0] == _RTS))
    can_be = (size >= _SMALLEST) & (byte[:, 3] == -(-size // _PER_PACKET)) & (pgn < 1 << 18) & (frames.length == 8)
    is_abort = ~is_data & (byte[:, 0] == _ABORT)
    is_go = ~is_data & (byte[:, 0] == _CTS) & (byte[:, 1] > 0)
    bad_rows = np.flatnonzero(announces & ~can_be)

    kind = np.select([is_data, announces & can_be, is_abort, is_go], [CONSECUTIVE, FIRST, SINGLE, _GO], -1)
    forth, back = np.flatnonzero((kind >= 0) & ~is_go), np.flatnonzero(is_abort | is_go)
    bus = frames.bus.astype(np.int64) << 16
    stream = np.concatenate([(bus | sender << 8 | destination)[forth], (bus | destination << 8 | sender)[back]])
    at = np.concatenate([forth, back])
    order = np.lexsort((at, stream))
    at, stream = at[order], stream[order]

    # an abort ends only the message of its own parameter group
    begun = np.maximum.accumulate(np.where(kind[at] == FIRST, np.arange(len(at)), -1))
    in_question = (begun >= 0) & (stream[begun] == stream) & (pgn[at[begun]] == pgn[at])
    kept = (kind[at] != SINGLE) | in_question
    at, stream = at[kept], stream[kept]
    at, stream, again_rows = _sent_again(at, stream, kind[at], np.where(is_data, byte[:, 0], byte[:, 2])[at])

    is_first = kind[at] == FIRST
    pieces = Pieces(
        kind=kind[at].astype(np.uint8),
        number=byte[at, 0].astype(np.uint8),
        size=np.where(is_first, size[at], 0),
        begin=np.where(kind[at] == CONSECUTIVE, 1, 0),
        room=np.where(kind[at] == CONSECUTIVE, frames.length[at].astype(np.int64) - 1, 0),
        full=np.where(is_first, _PER_PACKET, 0),
    )
    # PDU1 (PF below 240) has the destination in its lower byte, PDU2 an extension of the group (J1939-21, 5.2)
    whole_pgn = np.where(pgn >> 8 & 0xFF < 240, pgn & 0x3FF00 | destination, pgn)
    source = _PRIORITY << 26 | whole_pgn << 8 | sender
    return at, stream, pieces, source[at].astype(np.uint32), bad_rows, again_rows


def _sent_again(
    at: NDArray[np.int64], stream: NDArray[np.int64], kind: NDArray[np.int64], number: NDArray[np.int64]
) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Leave the receiver's side out; where it asked for earlier packets again, put the last copies in order of number.

    Parameters
    ----------
    number : (n,) of a packet, or of the packet that the receiver asks for next

    Returns
    -------
    rows and streams that remain; rows of the announcements of which packets were asked for again
    """
    is_go = kind == _GO
    if not is_go.any():
        return at, stream, at[:0]
    message = np.cumsum((kind == FIRST) | (kind == SINGLE) | np.append(True, stream[1:] != stream[:-1]))
    highest = np.maximum.accumulate(message << 8 | np.where(kind == CONSECUTIVE, number, 0)) & 0xFF
    again = message[is_go & (number <= highest)]
    kept, rows = ~is_go, at.copy()
    begun: list[int] = []
    numbers = distinct(again)
    from_, to = np.searchsorted(message, [numbers, numbers + 1])
    for own in map(np.arange, from_, to):
        if kind[own[0]] != FIRST:
            continue
        begun.append(int(at[own[0]]))
        packets = own[kind[own] == CONSECUTIVE]
        last = {int(number[k]): int(k) for k in packets}
        rows[packets[: len(last)]] = at[[last[n] for n in sorted(last)]]
        kept[packets[len(last) :]] = False
    return rows[kept], stream[kept], np.array(begun, np.int64)


def _without_aborts(received: Received, pieces: Pieces) -> Received:
    """The messages proper."""
    first = received.frame[np.cumsum(received.count) - received.count]
    is_message = pieces.kind[first] == FIRST
    return Received(received.frame[np.repeat(is_message, received.count)], received.count[is_message], received.faults)
