"""CAN frames as columns and as the text log of SocketCAN's tools, written column by column."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.simulate.spec import Damage

Bytes = NDArray[np.uint8]

_HEX: Final = np.frombuffer(b"0123456789ABCDEF", np.uint8)
_BIT_S: Final = 1 / 500_000
_FRAME_BITS: Final = 130  # an extended frame of eight bytes with some stuffing


@dataclass(frozen=True, slots=True)
class Frames:
    """CAN frames.

    Parameters
    ----------
    time_s : (n,) s
    identifier : (n,) uint32
    extended : (n,) bool, 29 bits
    length : (n,) bytes in the frame
    data : (n, 8) uint8
    """

    time_s: NDArray[np.float64]
    identifier: NDArray[np.uint32]
    extended: NDArray[np.bool_]
    length: NDArray[np.uint8]
    data: Bytes

    def __len__(self) -> int:
        return len(self.time_s)

    def take(self, rows: NDArray[np.int64] | NDArray[np.bool_]) -> Frames:
        """Some frames."""
        return Frames(self.time_s[rows], self.identifier[rows], self.extended[rows], self.length[rows], self.data[rows])


def frames(time_s: NDArray[np.float64], identifier: int, extended: bool, data: Bytes) -> Frames:
    """Frames of one identifier from payloads (n, k) of at most eight bytes."""
    count, width = len(time_s), data.shape[1]
    padded = np.zeros((count, 8), np.uint8)
    padded[:, :width] = data
    return Frames(
        time_s,
        np.full(count, identifier, np.uint32),
        np.full(count, extended, bool),
        np.full(count, width, np.uint8),
        padded,
    )


def merge(parts: list[Frames]) -> Frames:
    """All frames in order of time, each at least one frame time after the one before (one bus)."""
    time = np.concatenate([p.time_s for p in parts]) if parts else np.empty(0)
    order = np.argsort(time, kind="stable")
    gap = np.arange(len(order)) * (_FRAME_BITS * _BIT_S)
    spaced = np.maximum.accumulate(time[order] - gap) + gap if len(order) else time
    return Frames(
        spaced,
        np.concatenate([p.identifier for p in parts] or [np.empty(0, np.uint32)])[order],
        np.concatenate([p.extended for p in parts] or [np.empty(0, bool)])[order],
        np.concatenate([p.length for p in parts] or [np.empty(0, np.uint8)])[order],
        np.concatenate([p.data for p in parts] or [np.empty((0, 8), np.uint8)])[order],
    )


def interrupted(log: Frames, end_s: float, damage: Damage, rng: np.random.Generator) -> Frames:
    """Frames without those that fell into gaps of the recording, on a clock that was set while it ran."""
    if damage.gaps:
        begins = np.sort(rng.uniform(0.1 * end_s, 0.9 * end_s, damage.gaps))
        at = np.searchsorted(begins, log.time_s, side="right") - 1
        log = log.take((at < 0) | (log.time_s >= begins[at] + damage.gap_s))
    if damage.clock_steps:
        times = np.sort(rng.uniform(0.1 * end_s, 0.9 * end_s, damage.clock_steps))
        log = replace(log, time_s=log.time_s + damage.clock_step_s * np.searchsorted(times, log.time_s, side="right"))
    return log


def text(log: Frames, start_unix_s: float, channel: str) -> bytes:
    """The text log: ``(seconds.micros) channel ID#DATA`` a line."""
    micros = np.round((start_unix_s + log.time_s) * 1e6).astype(np.int64)
    digits = len(str(int(micros.max() // 1_000_000))) if len(micros) else 1
    head = digits + 1 + 1 + 6 + 1 + 1 + len(channel) + 1
    size = head + np.where(log.extended, 8, 3) + 1 + 2 * log.length.astype(np.int64) + 1
    begin = np.cumsum(size) - size
    out = np.empty(int(size.sum()), np.uint8)
    for extended in (False, True):
        for length in range(9):
            rows = np.flatnonzero((log.extended == extended) & (log.length == length))
            if len(rows):
                lines = _lines(log.take(rows), micros[rows], digits, channel, 8 if extended else 3, length)
                out[begin[rows, None] + np.arange(lines.shape[1])] = lines
    return out.tobytes()


def _lines(log: Frames, micros: NDArray[np.int64], digits: int, channel: str, id_digits: int, length: int) -> Bytes:
    count = len(log)

    def constant(letters: str) -> Bytes:
        return np.tile(np.frombuffer(letters.encode(), np.uint8), (count, 1))

    def decimal(value: NDArray[np.int64], places: int) -> Bytes:
        return (value[:, None] // 10 ** np.arange(places - 1, -1, -1) % 10 + ord("0")).astype(np.uint8)

    shifts = np.arange(id_digits - 1, -1, -1) * 4
    identifier = _HEX[(log.identifier[:, None] >> shifts) & 15]
    data = log.data[:, :length]
    pairs = np.stack([_HEX[data >> 4], _HEX[data & 15]], axis=2).reshape(count, 2 * length)
    whole, part = micros // 1_000_000, micros % 1_000_000
    return np.hstack(
        [
            constant("("), decimal(whole, digits), constant("."), decimal(part, 6), constant(f") {channel} "),
            identifier, constant("#"), pairs, constant("\n"),
        ]
    )  # fmt: skip


def damage(content: bytes, cut_lines: int, garbled_lines: int, rng: np.random.Generator, heading: int = 0) -> bytes:
    """Cut some lines short and garble a character of others, but not of the heading's lines."""
    if not cut_lines and not garbled_lines:
        return content
    lines = content.split(b"\n")
    chosen = heading + rng.permutation(max(len(lines) - 1 - heading, 0))[: cut_lines + garbled_lines]
    for number, row in enumerate(chosen.tolist()):
        line = lines[row]
        if number < cut_lines:
            lines[row] = line[: int(rng.integers(3, len(line) - 1))]
        else:
            at = int(rng.integers(0, len(line)))
            lines[row] = line[:at] + b"?" + line[at + 1 :]
    return b"\n".join(lines)
