"""Text in eight-byte words: hex digits, decimal digits and fixed characters, a whole column of lines at a time.

A word holds eight characters, the first one in its lowest byte; all arithmetic is on the eight bytes at once.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Words = NDArray[np.uint64]

_EACH: Final = 0x0101010101010101
_TOP: Final = np.uint64(0x80 * _EACH)
_LOW_NIBBLES: Final = np.uint64(0x0F * _EACH)
_ONES: Final = np.uint64(_EACH)
_CASE: Final = np.uint64(0x20 * _EACH)
_FROM_0: Final = np.uint64((0x80 - 0x30) * _EACH)
_BEYOND_9: Final = np.uint64((0x80 - 0x3A) * _EACH)
_FROM_A: Final = np.uint64((0x80 - 0x61) * _EACH)
_BEYOND_F: Final = np.uint64((0x80 - 0x67) * _EACH)


def constant(value: int) -> np.uint64:
    """A word from its number."""
    return np.uint64(value & (1 << 64) - 1)


def view(buffer: NDArray[np.uint8]) -> Words:
    """The word that starts at each byte of a buffer, (len(buffer) - 8,), without a copy."""
    return np.ndarray((len(buffer) - 8,), "<u8", buffer, strides=(1,))


def low_bytes(count: NDArray[np.int64]) -> Words:
    """Words whose lowest ``count`` bytes (0..8) are FF and the others 00."""
    return _LOW_MASKS[np.clip(count, 0, 8)]


_LOW_MASKS: Final = np.array([(1 << 8 * k) - 1 for k in range(9)], np.uint64)


def not_hex(words: Words) -> Words:
    """Non-zero in every byte that is no hex digit."""
    lower = words | _CASE
    top_clear = words & ~_TOP
    lower &= ~_TOP
    decimal = (top_clear + _FROM_0) & ~(top_clear + _BEYOND_9)
    decimal |= (lower + _FROM_A) & ~(lower + _BEYOND_F)
    decimal &= ~words
    decimal &= _TOP
    return decimal ^ _TOP


def hex_value(words: Words) -> Words:
    """Eight hex digits -> four bytes in the low half, the first pair lowest; the digits must be checked before."""
    nibbles = words & _LOW_NIBBLES
    letters = (words >> np.uint64(6)) & _ONES
    letters *= np.uint64(9)
    nibbles += letters
    high = nibbles << np.uint64(4)
    nibbles >>= np.uint64(8)
    nibbles |= high
    nibbles &= np.uint64(0x00FF00FF00FF00FF)
    nibbles |= nibbles >> np.uint64(8)
    nibbles &= np.uint64(0x0000FFFF0000FFFF)
    nibbles |= nibbles >> np.uint64(16)
    nibbles &= np.uint64(0xFFFFFFFF)
    return nibbles


def decimal_value(words: Words) -> Words:
    """Eight digits given as numbers 0..9 a byte, the first one most significant -> their value."""
    pairs = words * np.uint64(10)
    pairs += words >> np.uint64(8)
    fours = pairs & np.uint64(0x000000FF000000FF)
    fours *= np.uint64(0x000F424000000064)
    pairs >>= np.uint64(16)
    pairs &= np.uint64(0x000000FF000000FF)
    pairs *= np.uint64(0x0000271000000001)
    fours += pairs
    fours >>= np.uint64(32)
    return fours
