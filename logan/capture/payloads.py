"""Payloads on their way into columns."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from logan.model.frames import Messages


class Said(NamedTuple):
    """One payload: times of its first and last byte in ns, identifier, whether that has 29 bits, bytes."""

    first_ns: int
    last_ns: int
    can_id: int
    extended: bool
    payload: bytes


def messages(said: Sequence[Said], origin_ns: int) -> Messages:
    """Columns of payloads whose times count from ``origin_ns``."""
    n = len(said)
    length = np.array([len(one.payload) for one in said], np.int32)
    return Messages(
        t_s=np.array([one.last_ns - origin_ns for one in said], np.float64) / 1e9,
        t_first_s=np.array([one.first_ns - origin_ns for one in said], np.float64) / 1e9,
        source=np.array([one.can_id for one in said], np.uint32),
        address=np.full(n, -1, np.int16),
        extended=np.array([one.extended for one in said], np.bool_),
        bus=np.zeros(n, np.uint8),
        start=np.cumsum(length, dtype=np.int64) - length,
        length=length,
        blob=np.frombuffer(b"".join(one.payload for one in said), np.uint8),
    )
