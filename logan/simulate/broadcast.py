"""Broadcast messages: the signals of the training data base packed in columns, and traffic of other modules."""

from __future__ import annotations

import cantools
import numpy as np
from cantools.database.can import Database, Message

from logan.errors import KnowledgeError
from logan.knowledge.locate import dbc_open
from logan.simulate.can_log import Frames, frames
from logan.simulate.cycle import Array
from logan.simulate.signals import Signals
from logan.simulate.spec import Bus

DATABASE = "training.dbc"
_JITTER_S = 0.0004
# 11-bit identifiers, period in s and length of messages that no data base explains
_BACKGROUND = ((0x0C3, 0.02, 8), (0x1A9, 0.05, 6), (0x2F1, 0.1, 8), (0x3D0, 0.2, 4), (0x5B7, 1.0, 8))


def _times(period_s: float, end_s: float, rng: np.random.Generator) -> Array:
    count = max(0, int((end_s - period_s) / period_s))
    start = float(rng.uniform(0, period_s))
    return start + np.arange(count) * period_s + _JITTER_S * rng.random(count)


def _pack(message: Message, signals: Signals, time_s: Array) -> Frames:
    """Frames of one message: every signal scaled, rounded, held in its range and shifted to its bits."""
    word = np.zeros(len(time_s), np.uint64)
    for signal in message.signals:
        name = signals.profile.channels.get(f"{message.name}.{signal.name}")
        if signal.byte_order != "little_endian" or signal.is_signed:
            raise KnowledgeError("the simulator packs unsigned little-endian signals", file=DATABASE, place=signal.name)
        if name:
            value = signals.at(name, time_s)
        elif signal.name == "Counter":
            value = (np.arange(len(time_s)) % 256).astype(np.float64)
        else:
            continue
        raw = np.round((value - float(signal.offset)) / float(signal.scale))
        top = 2.0**signal.length - 1
        word |= np.clip(raw, 0, top).astype(np.uint64) << np.uint64(signal.start)
    data = word.astype("<u8").view(np.uint8).reshape(-1, 8)
    return frames(time_s, message.frame_id, message.is_extended_frame, data)


def build(signals: Signals, bus: Bus, rng: np.random.Generator) -> list[Frames]:
    """All broadcast frames of one engine; a message without a signal of this engine is not sent."""
    profile = signals.profile
    database = cantools.database.load_file(dbc_open() / DATABASE)
    assert isinstance(database, Database)
    out = []
    for message in database.messages:
        if any(f"{message.name}.{s.name}" in profile.channels for s in message.signals):
            period = (message.cycle_time or 100) / 1000 * bus.slower
            out.append(_pack(message, signals, _times(period, signals.run.end_s, rng)))
    return out


def background(end_s: float, bus: Bus, rng: np.random.Generator) -> list[Frames]:
    """Frames of other modules: constant bytes, counters, slowly changing values."""
    out = []
    for identifier, period, length in _BACKGROUND:
        time = _times(period * bus.slower, end_s, rng)
        data = np.tile(rng.integers(0, 256, length, dtype=np.uint8), (len(time), 1))
        data[:, 0] = np.arange(len(time)) % 16
        data[:, -1] = (120 + 40 * np.sin(time / 7)).astype(np.uint8)
        out.append(frames(time, identifier, False, data))
    return out
