"""Answers of emission diagnosis as SAE J1979 builds them: which bytes are fill, and whether one is well formed."""

from __future__ import annotations

from typing import Final

from logan.knowledge import obd

_NEGATIVE: Final = 0x7F
_CURRENT, _FREEZE, _CLEAR, _TESTS, _INFORMATION = 0x41, 0x42, 0x44, 0x46, 0x49
_CODES: Final = (0x43, 0x47, 0x4A)
LONG: Final = (0x41, 0x42, *_CODES, _TESTS, _INFORMATION, 0x59, 0x62)
"""First bytes of answers that may take several frames (59, 62: ISO 14229-1)."""
_SERVICES: Final = range(0x01, 0x0B)
_OLDER_LINKS: Final = 7
"""Bytes of most answers of the links before CAN: service, and six that may be empty (SAE J1979)."""
_TEST_BYTES, _BITMAP_BYTES = 9, 5
_FRAME_BYTES: Final = 7
"""Bytes of a consecutive frame (ISO 15765-2): fill is shorter."""
_MOST_PARAMETERS: Final = 6


def without_fill(data: bytes) -> bytes:
    """An answer of several frames whose length is not known, cut behind what its service counts (SAE J1979).

    Services 03, 07 and 0A count their codes, service 09 its items. Where nothing counts, or the rest is more than the
    last frame can be filled with, all of it stays.
    """
    size = len(data)
    if len(data) > 1 and data[0] in _CODES:
        size = 2 + 2 * data[1]
    elif len(data) > 2 and data[0] == _INFORMATION and data[1] in obd.infotypes():
        size = 3 + data[2] * obd.infotypes()[data[1]].bytes_per_item
    return data[:size] if size > 3 and 0 <= len(data) - size < _FRAME_BYTES else data


def is_well_formed(data: bytes) -> bool:
    """Whether bytes are an answer of emission diagnosis in the length that SAE J1979 gives it."""
    service, body = data[0], data[1:]
    if service == _NEGATIVE:
        return len(body) == 2 and body[0] in _SERVICES and body[1] in obd.negative_responses()
    if service == _CURRENT:
        return bool(body) and _are_parameters(body, _MOST_PARAMETERS)
    if service == _FREEZE:
        return len(body) > 2 and len(body) - 2 in obd.pid_lengths().get(body[0], ())
    if service in _CODES:
        return len(data) == _OLDER_LINKS or (bool(body) and len(body) == 1 + 2 * body[0])
    if service == _TESTS:
        return bool(body) and (len(body) % _TEST_BYTES == 0 or len(body) % _BITMAP_BYTES == 0)
    if service == _INFORMATION:
        return len(body) > 1 and body[0] in obd.infotypes()
    return service == _CLEAR and not body


def _are_parameters(body: bytes, most: int) -> bool:
    """Whether bytes are up to so many numbers of parameters, each with its data."""
    return not body or (
        most > 0
        and any(
            1 + size <= len(body) and _are_parameters(body[1 + size :], most - 1)
            for size in obd.pid_lengths().get(body[0], ())
        )
    )
