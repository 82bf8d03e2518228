"""Diagnostic payloads for tests, as transport hands them over."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from logan.decode import j1979
from logan.model.capture import Remark
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.model.vehicle import Vehicle

Said = tuple[float, int, bytes]


def messages(said: Sequence[Said]) -> Messages:
    """Payloads of one frame each: time in s, identifier, bytes."""
    times = np.array([t for t, _, _ in said], np.float64)
    source = np.array([i for _, i, _ in said], np.uint32)
    length = np.array([len(data) for _, _, data in said], np.int32)
    return Messages(
        t_s=times,
        t_first_s=times,
        source=source,
        address=np.full(len(said), -1, np.int16),
        extended=source > 0x7FF,
        bus=np.zeros(len(said), np.uint8),
        start=(np.cumsum(length) - length).astype(np.int64),
        length=length,
        blob=np.frombuffer(b"".join(data for _, _, data in said), np.uint8),
    )


def decode(*said: tuple[float, int, str]) -> tuple[dict[str, Channel], Vehicle, list[Remark]]:
    """Decode payloads given in hexadecimal; channels by name."""
    found, vehicle, remarks = j1979.decode(messages([(t, i, bytes.fromhex(h)) for t, i, h in said]), "test.log")
    return {channel.name: channel for channel in found}, vehicle, remarks


def kinds(remarks: Sequence[Remark]) -> dict[str, int]:
    """Kind of remark -> its count."""
    return {remark.kind: remark.count for remark in remarks}
