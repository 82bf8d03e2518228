"""Protocol control information of ISO 15765-2 frames, as columns."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.transport.segmented import FIRST, SINGLE, Pieces

FLOW: Final = 3
# from here on: frames that a receiver ignores (ISO 15765-2, 9.6 and 9.8.1), by reason
UNKNOWN_TYPE: Final = 4
SINGLE_EMPTY: Final = 5
SINGLE_TOO_LONG: Final = 6
FIRST_TOO_SHORT: Final = 7
BAD_FLOW: Final = 8
FOREIGN: Final = 9  # not for itself, but for the frames around it

CONTINUE: Final = 0
OVERFLOW: Final = 2

LAST_NUMBER: Final = 15


def pci(data: NDArray[np.uint8], length: NDArray[np.uint8], offset: NDArray[np.uint8]) -> Pieces:
    """Read the protocol control information of frames; ``number`` of a flow control frame is its flow status.

    Parameters
    ----------
    data : (n, 8) or (n, 64) uint8, zero beyond ``length``
    length : (n,) uint8, bytes in each frame
    offset : (n,) uint8, 1 where an address byte stands in front (extended and mixed addressing), else 0

    Notes
    -----
    Source: ISO 15765-2:2016, 9.6 (layout, escape sequences, least lengths); from memory, values checked against two
    reference libraries in the tests.
    """
    has_address = offset != 0

    def byte(k: int, at: Any = slice(None)) -> NDArray[np.int64]:
        column: NDArray[np.int64] = np.where(has_address[at], data[at, k + 1], data[at, k]).astype(np.int64)
        return column

    available = length.astype(np.int64) - offset
    first_byte, second_byte = byte(0), byte(1)
    high, low = first_byte >> 4, first_byte & 0xF
    is_fd = length > 8

    kind = np.where((high > FLOW) | (available < 1), UNKNOWN_TYPE, high)
    size = np.zeros(len(data), np.int64)
    header = np.ones(len(data), np.int64)

    single = kind == SINGLE
    escaped = single & is_fd & (low == 0)
    size = np.where(single, np.where(escaped, second_byte, low), size)
    header[escaped] = 2
    kind[single & (size == 0)] = SINGLE_EMPTY
    kind[single & ((size > available - header) | (is_fd & (low != 0)))] = SINGLE_TOO_LONG

    first = kind == FIRST
    size = np.where(first, low << 8 | second_byte, size)
    long = np.flatnonzero(first & (size == 0))
    size[long] = byte(2, long) << 24 | byte(3, long) << 16 | byte(4, long) << 8 | byte(5, long)
    header[first] = 2
    header[long] = 6
    least = np.where(is_fd, available - 1, available)
    kind[first & ((length < 8) | (size < least))] = FIRST_TOO_SHORT
    kind[long[size[long] <= 4095]] = FIRST_TOO_SHORT

    kind[(kind == FLOW) & ((low > OVERFLOW) | (available < 3))] = BAD_FLOW
    size[kind > FIRST] = 0
    return Pieces(
        kind=kind.astype(np.uint8),
        number=low.astype(np.uint8),
        size=size,
        begin=header + offset,
        room=available - header,
        full=available - 1,
    )
