"""Reads CAN frames out of packet captures: SocketCAN link type 227, and 113 / 276 ("cooked") with a CAN protocol.

Layout of a SocketCAN packet: identifier with flag bits (4 bytes, big-endian by the definition of link type 227, but
recorders that write it in the byte order of their machine are met), length, FD flags, two reserved bytes, data.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import pcap_packets
from logan.capture.can_columns import MOST_BUSES, CanBlock, CanColumns
from logan.capture.can_text_plain import FD_LENGTHS
from logan.capture.pcap_packets import Packets
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, FD_WIDTH, REMOTE, SENT

_SOCKETCAN: Final = 227
_COOKED: Final = {113: (16, 14, 1), 276: (20, 0, 10)}
"""Link type -> bytes of its header, where the protocol stands, where the low byte of the packet type stands."""
_CAN, _CAN_FD = 0x000C, 0x000D  # linux/if_ether.h: ETH_P_CAN, ETH_P_CANFD
_OUTGOING: Final = 4  # packet type "sent by this machine" of the cooked link types
_EFF, _RTR, _ERR = np.uint32(1 << 31), np.uint32(1 << 30), np.uint32(1 << 29)  # linux/can.h
_HEADER: Final = 8
_LINK_FD, _LINK_BRS, _LINK_ESI = 0x04, 0x01, 0x02  # linux/can.h: CANFD_FDF, CANFD_BRS, CANFD_ESI
_IS_LENGTH: Final = np.isin(np.arange(256), list(FD_LENGTHS))


def read(source: Source) -> Parsed:
    """All CAN frames of a packet capture.

    Raises
    ------
    CaptureError : it holds packets, but none of CAN
    """
    tally = Tally()
    content = source.content()
    packets = pcap_packets.find(content, tally)
    frames = CanColumns()
    block = CanBlock(len(packets.at))
    octets = np.frombuffer(content + bytes(_HEADER + FD_WIDTH), np.uint8)
    is_can = _fill(block, packets, octets, _buses(packets, frames, tally), tally)
    other = np.flatnonzero(~is_can)
    if len(other) and len(other) == len(packets.at):
        links = ", ".join(str(link) for link in np.unique(packets.link))
        raise CaptureError(
            f"holds {len(other)} packets, none of them a CAN frame (link type {links})",
            file=str(source.path),
            do="capture the CAN interface itself",
        )
    tally.add_rows("not_can", "packet of another network than CAN", other, lambda row: f"packet {row + 1}")
    frames.append(block)
    found = frames.frames(tally)
    rejected = len(packets.at) - len(other) - len(found) + tally.total("bad_packet")
    return Parsed(found, len(found), rejected, tally.remarks())


def _buses(packets: Packets, frames: CanColumns, tally: Tally) -> NDArray[np.int64]:
    """Index of the bus of each interface; those beyond the most that there may be share the last."""
    used = set(np.unique(packets.interface).tolist())
    out = np.zeros(max(1, len(packets.names)), np.int64)
    for number, name in enumerate(packets.names):
        if number in used:
            bus = frames.bus(name.encode())
            if bus is None:
                tally.add("buses", "one interface too many: put with the last", f"interface {number}")
            out[number] = MOST_BUSES - 1 if bus is None else bus
    return out


def _fill(
    block: CanBlock, packets: Packets, octets: NDArray[np.uint8], bus: NDArray[np.int64], tally: Tally
) -> NDArray[np.bool_]:
    """Decode all packets into a block; returns which of them are of CAN, (n,)."""
    at, size = packets.at, packets.size
    is_can: NDArray[np.bool_] = packets.link == _SOCKETCAN
    start = at.copy()
    sent = np.zeros(len(at), np.bool_)
    fd_protocol = np.zeros(len(at), np.bool_)
    for link, (header, protocol_at, type_at) in _COOKED.items():
        mine = np.flatnonzero((packets.link == link) & (size >= header))
        protocol = octets[at[mine] + protocol_at].astype(np.int64) << 8 | octets[at[mine] + protocol_at + 1]
        fits = (protocol == _CAN) | (protocol == _CAN_FD)
        is_can[mine[fits]] = True
        start[mine] += header
        fd_protocol[mine] = protocol == _CAN_FD
        sent[mine] = octets[at[mine] + type_at] == _OUTGOING
    left = at + size - start
    rows = np.flatnonzero(is_can & (left >= _HEADER))
    cut = "CAN packet cut by the recorder, which kept only the first bytes of each"
    short = is_can & (left < _HEADER)
    _count(tally, np.flatnonzero(short & packets.cut), cut)
    _count(tally, np.flatnonzero(short & ~packets.cut), "CAN packet too short for its header")
    first = start[rows]
    word = _identifiers(octets, first, tally)
    length, fd_flags = octets[first + 4], octets[first + 5]
    remote, error = word & _RTR != 0, word & _ERR != 0
    fd = (fd_flags & _LINK_FD != 0) | fd_protocol[rows] | (length > 8) | (left[rows] == _HEADER + FD_WIDTH)
    good = _IS_LENGTH[length] & (remote | (left[rows] >= _HEADER + length.astype(np.int64)))
    _count(tally, rows[~good & packets.cut[rows]], cut)
    _count(tally, rows[~good & ~packets.cut[rows]], "CAN frame with an impossible length")
    rows, first, word, length = rows[good], first[good], word[good], length[good]
    remote, error, fd, fd_flags = remote[good], error[good], fd[good], fd_flags[good]
    extended = (word & _EFF != 0) & ~error
    flags = (
        extended * np.uint8(EXTENDED)
        | error * np.uint8(ERROR)
        | (remote & ~error) * np.uint8(REMOTE)
        | fd * np.uint8(FD)
        | sent[rows] * np.uint8(SENT)
    )
    flags |= (fd & (fd_flags & _LINK_BRS != 0)) * np.uint8(BRS) | (fd & (fd_flags & _LINK_ESI != 0)) * np.uint8(ESI)
    block.kept[rows] = True
    block.t_ns[rows] = packets.t_ns[rows]
    block.can_id[rows] = word & np.where(extended | error, np.uint32(0x1FFFFFFF), np.uint32(0x7FF))
    block.flags[rows] = flags
    block.bus[rows] = bus[packets.interface[rows]]
    block.length[rows] = length
    data = _data(octets, first, np.where(remote, 0, length), 8)
    block.data[rows] = data.view("<u8")[:, 0] if len(data) else 0
    long = np.flatnonzero((length > 8) & ~remote)
    if len(long):
        block.long_row.append(rows[long])
        block.long_data.append(_data(octets, first[long], length[long], FD_WIDTH))
    return is_can


def _data(
    octets: NDArray[np.uint8], first: NDArray[np.int64], length: NDArray[np.integer], width: int
) -> NDArray[np.uint8]:
    """Data bytes, (n, width), zero beyond the length."""
    column = np.arange(width)
    data = octets[first[:, None] + _HEADER + column]
    data[column >= length[:, None]] = 0
    return np.ascontiguousarray(data)


def _identifiers(octets: NDArray[np.uint8], first: NDArray[np.int64], tally: Tally) -> NDArray[np.uint32]:
    """Identifiers with their flag bits, (n,): big-endian, unless most of them make sense only the other way round."""
    raw = np.ascontiguousarray(octets[first[:, None] + np.arange(4)])
    big, little = (raw.view(order).reshape(-1).astype(np.uint32) for order in (">u4", "<u4"))
    if np.count_nonzero(_possible(little)) <= np.count_nonzero(_possible(big)):
        return big
    tally.add("byte_order", "identifiers stand in little-endian order", "whole file")
    return little


def _possible(word: NDArray[np.uint32]) -> NDArray[np.bool_]:
    """Whether an 11-bit identifier fits into 11 bits and no data frame claims to be an error, (n,)."""
    short: NDArray[np.bool_] = (word & _EFF != 0) | (word & np.uint32(0x1FFFF800) == 0)
    plain: NDArray[np.bool_] = (word & _ERR == 0) | (word & (_EFF | _RTR) == 0)
    return short & plain


def _count(tally: Tally, rows: NDArray[np.int64], text: str) -> None:
    tally.add_rows("bad_frame", text, rows, lambda row: f"packet {row + 1}")
