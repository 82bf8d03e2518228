"""ISO 15765-2 frames for tests: payloads cut into frames as the standard says, and payloads out of messages."""

from __future__ import annotations

from logan.model.frames import Messages

FD_LENGTHS = (8, 12, 16, 20, 24, 32, 48, 64)


def segment(payload: bytes, prefix: bytes = b"", width: int = 8, pad: int | None = 0xAA) -> list[bytes]:
    """Frames of one message; ``width`` 8 is classic CAN, more is CAN FD; ``pad`` None leaves the last frame short."""
    n, room = len(payload), width - len(prefix)
    if n <= min(room, 8 - len(prefix)) - 1:
        return [_filled(prefix + bytes([n]) + payload, pad)]
    if width > 8 and n <= room - 2:
        return [_filled(prefix + bytes([0, n]) + payload, pad if pad is not None else 0)]
    head = bytes([0x10 | n >> 8, n & 0xFF]) if n <= 4095 else b"\x10\x00" + n.to_bytes(4, "big")
    at = room - len(head)
    out = [prefix + head + payload[:at]]
    number = 1
    while at < n:
        out.append(_filled(prefix + bytes([0x20 | number & 0xF]) + payload[at : at + room - 1], pad))
        at += room - 1
        number += 1
    return out


def _filled(frame: bytes, pad: int | None) -> bytes:
    if pad is None and len(frame) <= 8:
        return frame
    length = next(length for length in FD_LENGTHS if length >= len(frame))
    return frame.ljust(length, bytes([0xAA if pad is None else pad]))


def payloads(messages: Messages) -> list[tuple[int, bytes]]:
    """(identifier, payload) of each message in order of completion."""
    return [(int(messages.source[k]), messages.payload(k)) for k in range(len(messages))]
