"""Where the packets of a pcap or pcapng file stand: offsets, lengths, times and link types as columns."""

from __future__ import annotations

import struct
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture.pcap import PCAP_ORDERS, PCAPNG_MAGIC, PCAPNG_ORDERS
from logan.capture.reader import Tally
from logan.model.capture import NO_TIME

MOST_PACKET_BYTES: Final = 262_144
"""Longest packet that a capture may hold (MAXIMUM_SNAPLEN of libpcap, from memory); a longer one is damage."""
_MOST_NS: Final = 9 * 10**18
_INTERFACE, _PACKET, _SIMPLE, _ENHANCED = 1, 2, 3, 6
_END, _NAME, _RESOLUTION, _OFFSET = 0, 2, 9, 14


@dataclass(frozen=True, slots=True)
class Packets:
    """Packets in file order.

    Parameters
    ----------
    at : (n,) int64, offset of the first byte in the file
    size : (n,) int64, bytes that were captured
    cut : (n,) bool, whether the recorder kept fewer bytes than there were
    t_ns : (n,) int64, ns
    link : (n,) int64, link type
    interface : (n,) int64, index into ``names``
    names : names of the interfaces, empty where the file has none
    """

    at: NDArray[np.int64]
    size: NDArray[np.int64]
    cut: NDArray[np.bool_]
    t_ns: NDArray[np.int64]
    link: NDArray[np.int64]
    interface: NDArray[np.int64]
    names: tuple[str, ...]


@dataclass(slots=True)
class _Interface:
    """An interface of a pcapng section: link type, name, units of time in a second, s to add."""

    link: int
    name: str = ""
    units: int = 10**6
    offset_s: int = 0


@dataclass(slots=True)
class _Walk:
    """Packets found so far: (offset, bytes, bytes on the network, ns, link type, interface)."""

    content: bytes
    tally: Tally
    rows: list[tuple[int, int, int, int, int, int]] = field(default_factory=list)
    names: list[str] = field(default_factory=list)
    numbers: list[int] = field(default_factory=list)
    untimed: int = 0

    def damaged(self, at: int, reason: str) -> None:
        """Say that the file cannot be read beyond a place."""
        self.tally.add("cut_short", f"{reason}: nothing is read beyond", f"byte {at}")

    def pcap(self) -> None:
        order, unit_ns = PCAP_ORDERS[self.content[:4]]
        link = struct.unpack_from(order + "I", self.content, 20)[0] & 0xFFFF
        record = struct.Struct(order + "IIII")
        self.names = [""]
        at, end = 24, len(self.content)
        while at + record.size <= end:
            seconds, fraction, size, sent = record.unpack_from(self.content, at)
            start = at + record.size
            if size > MOST_PACKET_BYTES or start + size > end:
                self.damaged(at, "packet longer than the file or than any packet")
                return
            self.rows.append((start, size, sent, seconds * 10**9 + fraction * unit_ns, link, 0))
            at = start + size
        if at < end:
            self.damaged(at, "packet cut short")

    def pcapng(self) -> None:
        order, at, end = "<", 0, len(self.content)
        interfaces: list[_Interface] = []
        first = 0  # of this section, among the names of all
        while at + 12 <= end:
            if self.content[at : at + 4] == PCAPNG_MAGIC:
                order = PCAPNG_ORDERS.get(self.content[at + 8 : at + 12], order)
                interfaces, first = [], len(self.names)
            kind, size = struct.unpack_from(order + "II", self.content, at)
            if size < 12 or size % 4 or at + size > end:
                self.damaged(at, "block longer than the file or of an impossible length")
                return
            body, stop = at + 8, at + size - 4
            if kind == _INTERFACE and stop - body >= 8:
                interfaces.append(self._interface(order, body, stop))
                self.names.append(interfaces[-1].name)
                self.numbers.append(len(interfaces) - 1)
            elif kind in (_ENHANCED, _PACKET) and stop - body >= 20:
                layout = order + ("5I" if kind == _ENHANCED else "H2x4I")  # the older block counts lost packets there
                number, high, low, captured, length = struct.unpack_from(layout, self.content, body)
                self._packet(interfaces, first, number, high << 32 | low, body + 20, (captured, length), stop)
            elif kind == _SIMPLE and stop - body >= 4:
                (length,) = struct.unpack_from(order + "I", self.content, body)
                self._packet(interfaces, first, 0, None, body + 4, (min(length, stop - body - 4), length), stop)
            at += size
        if at < end:
            self.damaged(at, "block cut short")
        self._number_the_nameless()
        if self.untimed:
            alone = self.untimed == len(self.rows)
            text = "no packet has a time: what depends on time cannot be told" if alone else (
                "packets without a time of their own: taken at that of the packet before"
            )  # fmt: skip
            self.tally.add(NO_TIME if alone else "time_unknown", text, "simple packet blocks", self.untimed)

    def _number_the_nameless(self) -> None:
        """Name interfaces by their numbers in their section where several have packets; a name is optional."""
        used = {row[5] for row in self.rows}
        if len({self.names[k] or self.numbers[k] for k in used}) > 1:
            self.names = [name or f"interface {k}" for name, k in zip(self.names, self.numbers, strict=True)]

    def _packet(
        self, interfaces: list[_Interface], first: int, number: int, units: int | None, start: int,
        sizes: tuple[int, int], stop: int,
    ) -> None:  # fmt: skip
        """One packet, if its length and its interface are possible; ``units`` of its time, None where it has none."""
        size, sent = sizes
        if number >= len(interfaces) or start + size > stop:
            self.tally.add("bad_packet", "packet of an unknown interface or of an impossible length", f"byte {start}")
            return
        one = interfaces[number]
        if units is None:
            self.untimed += 1
            t_ns = self.rows[-1][3] if self.rows else 0
        else:
            t_ns = units * 10**9 // one.units + one.offset_s * 10**9
        if not 0 <= t_ns < _MOST_NS:
            self.tally.add("bad_packet", "packet with an impossible time", f"byte {start}")
            return
        self.rows.append((start, size, sent, t_ns, one.link, first + number))

    def _interface(self, order: str, at: int, stop: int) -> _Interface:
        """An Interface Description Block with its options (code, length, value padded to 4 bytes)."""
        out = _Interface(struct.unpack_from(order + "H", self.content, at)[0])
        at += 8
        while at + 4 <= stop:
            code, size = struct.unpack_from(order + "HH", self.content, at)
            value = self.content[at + 4 : min(at + 4 + size, stop)]
            if code == _END:
                break
            if code == _NAME:
                out.name = value.decode("utf-8", "replace")
            elif code == _RESOLUTION and size == 1 and value:
                power = value[0] & 0x7F
                out.units = 2 ** min(power, 63) if value[0] & 0x80 else 10 ** min(power, 18)
            elif code == _OFFSET and len(value) == 8:
                out.offset_s = struct.unpack(order + "q", value)[0]
            at += 4 + size + -size % 4
        return out


def find(content: bytes, tally: Tally) -> Packets:
    """The packets of a whole file; where it is damaged, those before the damage."""
    walk = _Walk(content, tally)
    if content[:4] in PCAP_ORDERS:
        walk.pcap()
    else:
        walk.pcapng()
    columns = np.array(walk.rows, np.int64).reshape(-1, 6).T
    at, size, sent, t_ns, link, interface = (np.ascontiguousarray(column) for column in columns)
    return Packets(at, size, size < sent, t_ns, link, interface, tuple(walk.names))
