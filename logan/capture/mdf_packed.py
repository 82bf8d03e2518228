"""Whether a packed block of ASAM MDF 4 unpacks to more than it says, found out within the memory that it says."""

from __future__ import annotations

import zlib
from typing import Final

_DEFLATE: Final = (0, 1)
"""Ways of packing of the standard (from memory): deflate, of rows or of columns one behind the other."""
_ZSTANDARD: Final = bytes.fromhex("28B52FFD")
_LONGEST_HEAD: Final = 14


def unpacks_to_more(way: int, body: bytes, unpacked: int) -> bool:
    """Whether packed data hold more than so many bytes; damaged ones hold what the library makes of them.

    Of the other ways LZ4 stays below 255 times its size whatever it says.
    """
    if way not in _DEFLATE:
        return _zstandard_bytes(body) > unpacked
    unpacking = zlib.decompressobj()
    try:
        unpacking.decompress(body, max(unpacked, 1))
        return bool(unpacking.decompress(unpacking.unconsumed_tail, 1))
    except zlib.error:
        return False


def _zstandard_bytes(body: bytes) -> int:
    """What all frames of Zstandard together say that they unpack to; one that does not say is refused by the library.

    Source: RFC 8878, 3.1.1.1.
    """
    total, at = 0, body.find(_ZSTANDARD)
    while at >= 0:
        head = body[at + len(_ZSTANDARD) : at + len(_ZSTANDARD) + _LONGEST_HEAD].ljust(_LONGEST_HEAD, b"\0")
        is_single = head[0] >> 5 & 1
        begin = 1 + (not is_single) + (0, 1, 2, 4)[head[0] & 3]
        size = (is_single, 2, 4, 8)[head[0] >> 6]
        total += int.from_bytes(head[begin : begin + size], "little") + (256 if size == 2 else 0)
        at = body.find(_ZSTANDARD, at + 1)
    return total
