"""Numbers in text, a whole column at a time: where each one ends and how many characters it has is known."""

from __future__ import annotations

import re
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import hexwords
from logan.capture.hexwords import Words, constant

Places = NDArray[np.int64]
Mask = NDArray[np.bool_]
Text = NDArray[np.uint8]

MARGIN_BYTES: Final = 16
"""Bytes that a text must have before its first number and behind its last one."""
_ZEROS: Final = constant(0x3030303030303030)
_LIFT: Final = constant(0x0606060606060606)
_HIGH: Final = constant(0xF0F0F0F0F0F0F0F0)
_POINT: Final = ord(".")
_FRACTIONS: Final = (6, 3, 1, 2, 4, 5, 7, 8, 9)
"""Digits behind the point, the usual numbers of them first."""
_EXACT_DIGITS: Final = 15
_TENS: Final = 10.0 ** np.arange(_EXACT_DIGITS + 1)
_TENS_WHOLE: Final = 10 ** np.arange(_EXACT_DIGITS + 1, dtype=np.int64)
_LARGE: Final = 1 << 30
_LONG: Final = re.compile(rb"\d{1,17}\.\d{1,20}")
_NO_PAIR: Final = 0x100


def _pairs() -> NDArray[np.uint16]:
    """Value of two hex digits by the 16-bit number that they stand as; ``_NO_PAIR`` for anything else."""
    one = np.full(256, _NO_PAIR, np.uint16)
    for digit in b"0123456789ABCDEFabcdef":
        one[digit] = int(chr(digit), 16)
    both = np.arange(1 << 16)
    first, second = one[both & 0xFF], one[both >> 8]
    return np.where((first | second) < _NO_PAIR, first << 4 | second, _NO_PAIR).astype(np.uint16)


_PAIRS: Final = _pairs()


def pairs(text: Text) -> NDArray[np.uint16]:
    """The two characters that start at each byte of a text as one number, without a copy."""
    return np.ndarray((len(text) - 1,), "<u2", text, strides=(1,))


def whole(words: Words, end: Places, digits: Places) -> tuple[NDArray[np.int64], Mask]:
    """Decimal numbers of 1 to 16 digits that end before a place, and which of them are such numbers.

    Parameters
    ----------
    words : the word that starts at each byte of the text
    end : (n,) one past the last digit
    digits : (n,) how many characters each number has
    """
    value, good = _eight(words, end, digits)
    good &= (digits > 0) & (digits <= 16)
    if (digits > 8).any():
        high, right = _eight(words, end - 8, digits - 8)
        value += high * 10**8
        good &= right
    return value, good


def _eight(words: Words, end: Places, digits: Places) -> tuple[NDArray[np.int64], Mask]:
    """The last eight of some digits, or as many as there are."""
    number = words[end - 8]
    number ^= _ZEROS
    number &= ~hexwords.low_bytes(8 - digits)
    good: Mask = ((number | (number + _LIFT)) & _HIGH) == 0
    return hexwords.decimal_value(number).view(np.int64), good


def fractions(text: Text, words: Words, begin: Places, end: Places, point: bool) -> tuple[NDArray[np.float64], Mask]:
    """Numbers ``digits.digits`` exactly as Python's ``float`` gives them, and which of them were read.

    With 15 digits in all, both the number without its point and the power of ten are exact in float64, so that one
    division rounds once. With more, the parts on both sides of the point are added: that rounds twice, but for a
    whole part from 2^30 on and up to nine digits behind the point the exact sum is never so near the middle between
    two float64 that the first rounding, of 2^-54 at most, could decide: 10^9 < 2^30. What is left is read one by one.

    Parameters
    ----------
    point : whether a number without a point counts as one
    """
    behind = np.zeros(len(end), np.int64)
    open_ = np.ones(len(end), np.bool_)
    for count in _FRACTIONS:
        here = open_ & (text[end - 1 - count] == _POINT)
        behind[here] = count
        open_ &= ~here
        if not open_.any():
            break
    before = end - begin - behind - ~open_
    units, good = whole(words, end - behind - ~open_, before)
    parts, right = whole(words, end, behind)
    good &= (right & ~open_) | (open_ & (not point))
    parts[open_] = 0
    exact = before + behind <= _EXACT_DIGITS
    good &= exact | ((units >= _LARGE) & (behind <= 9))
    value = (units * _TENS_WHOLE[behind] + parts) / _TENS[behind]
    if not exact.all():
        value = np.where(exact, value, units + parts / _TENS[behind])
    for row in np.flatnonzero(~good).tolist():
        number = text[begin[row] : end[row]].tobytes()
        if _LONG.fullmatch(number):
            value[row], good[row] = float(number), True
    return value, good


def hexadecimal(words: Words, end: Places, digits: Places) -> tuple[NDArray[np.uint32], Mask]:
    """Hexadecimal numbers of 1 to 8 digits that end before a place, and which of them are such numbers."""
    outside = hexwords.low_bytes(8 - digits)
    number = (words[end - 8] & ~outside) | (_ZEROS & outside)
    good: Mask = (hexwords.not_hex(number) == 0) & (digits > 0) & (digits <= 8)
    return hexwords.hex_value(number).astype(np.uint32).byteswap(), good


def octets(text: Text, begin: Places, count: Places, step: int) -> tuple[NDArray[np.uint8], Mask]:
    """Bytes as two hex digits each, (n, most of them), zero behind the last; and where all of a row are such.

    Parameters
    ----------
    begin : (n,) first character
    count : (n,) bytes
    step : characters from one byte to the next
    """
    width, least = int(count.max(initial=0)), int(count.min(initial=0))
    out = np.zeros((len(begin), width), np.uint8)
    seen = np.zeros(len(begin), np.uint16)
    both = pairs(text)
    for k in range(width):
        value = _PAIRS[both[np.minimum(begin + step * k, len(both) - 1)]]
        if k >= least:
            value *= count > k
        seen |= value
        out[:, k] = value
    return out, seen < _NO_PAIR
