"""Packet captures (pcap, pcapng) that may hold CAN frames; the reading is in ``pcap_read``."""

from __future__ import annotations

from typing import Final

from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import Source

PCAP_ORDERS: Final = {
    b"\xa1\xb2\xc3\xd4": (">", 1000), b"\xd4\xc3\xb2\xa1": ("<", 1000),
    b"\xa1\xb2\x3c\x4d": (">", 1), b"\x4d\x3c\xb2\xa1": ("<", 1),
}  # fmt: skip
"""First four bytes of a pcap file -> byte order, ns in one unit of the second time field (pcap file format)."""
PCAPNG_MAGIC: Final = b"\x0a\x0d\x0d\x0a"
PCAPNG_ORDERS: Final = {b"\x1a\x2b\x3c\x4d": ">", b"\x4d\x3c\x2b\x1a": "<"}
"""Byte-order magic of a pcapng section (pcapng file format, Section Header Block)."""


def looks(source: Source) -> Guess:
    """A packet capture says so in its first bytes."""
    head = source.head
    if head[:4] in PCAP_ORDERS and len(head) >= 24:
        return Guess(0.97, "begins with the magic number of pcap")
    if head[:4] == PCAPNG_MAGIC and head[8:12] in PCAPNG_ORDERS:
        return Guess(0.97, "begins with a section header of pcapng")
    return NO


READER: Final = Reader("packet capture", looks, "logan.capture.pcap_read", (".pcap", ".pcapng", ".cap"))
