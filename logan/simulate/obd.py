"""A tester that polls and the control module's answers: services 01, 03, 07, 09 (SAE J1979) over ISO 15765-2.

Scalings of the parameters: SAE J1979 as open tables have them (from memory, checked by tests with other libraries).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from msgspec import UNSET

from logan.model.profile import EngineProfile
from logan.simulate.can_log import Bytes, Frames, frames
from logan.simulate.cycle import Array
from logan.simulate.monitors import SetCode
from logan.simulate.parameters import Engine
from logan.simulate.signals import Signals
from logan.simulate.spec import Bus

_GAP_S: Final = 0.0015  # between frames of one message
_PAUSE_S: Final = 0.07  # between requests that are made once
_LEAST_PERIOD_S: Final = 0.04

# PID -> channel, value of one bit, value of raw 0, bytes
SCALES: Final[dict[int, tuple[str, float, float, int]]] = {
    0x04: ("calculated_load", 100 / 255, 0, 1),
    0x05: ("coolant_temperature", 1, -40, 1),
    0x06: ("short_term_fuel_trim_1", 100 / 128, -100, 1),
    0x07: ("long_term_fuel_trim_1", 100 / 128, -100, 1),
    0x0B: ("intake_manifold_pressure", 1, 0, 1),
    0x0C: ("speed_over_cycle", 0.25, 0, 2),
    0x0D: ("vehicle_speed", 1, 0, 1),
    0x0E: ("injection_timing_commanded", 0.5, -64, 1),
    0x0F: ("intake_air_temperature", 1, -40, 1),
    0x10: ("mass_air_flow", 0.01, 0, 2),
    0x11: ("throttle", 100 / 255, 0, 1),
    0x23: ("fuel_rail_pressure_actual", 10, 0, 2),
    0x33: ("barometric_pressure", 1, 0, 1),
    0x42: ("control_module_voltage", 0.001, 0, 2),
    0x49: ("accelerator_pedal_d", 100 / 255, 0, 1),
    0x4A: ("accelerator_pedal_e", 100 / 255, 0, 1),
    0x5C: ("oil_temperature", 1, -40, 1),
    0x5D: ("injection_timing_actual", 1 / 128, -210, 2),
    0x5E: ("fuel_rate", 0.05, 0, 2),
    0x62: ("torque_actual", 1, -125, 1),
}


@dataclass(frozen=True, slots=True)
class Addresses:
    """Identifiers of requests to all, requests to the engine and its answers (ISO 15765-4)."""

    to_all: int
    to_engine: int
    answer: int
    extended: bool
    fill: int


ADDRESSES: Final = {
    11: Addresses(0x7DF, 0x7E0, 0x7E8, False, 0xAA),
    29: Addresses(0x18DB33F1, 0x18DA10F1, 0x18DAF110, True, 0x00),
}


def _raw(value: Array, scale: float, offset: float, width: int) -> Bytes:
    """Values as big-endian bytes, (n, width)."""
    raw = np.clip(np.round((value - offset) / scale), 0, 256**width - 1).astype(np.uint64)
    return np.stack([(raw >> np.uint64(8 * k)) & np.uint64(255) for k in range(width - 1, -1, -1)], axis=1).astype(
        np.uint8
    )


def answer_data(pid: int, signals: Signals, time_s: Array) -> Bytes:
    """Data bytes of answers to one PID of service 01, (n, k)."""
    if pid == 0x6D:  # supported bits, commanded and actual rail pressure, temperature; system B not there
        command = _raw(signals.at("fuel_rail_pressure_commanded", time_s), 10, 0, 2)
        actual = _raw(signals.at("fuel_rail_pressure_actual", time_s), 10, 0, 2)
        temperature = _raw(signals.at("fuel_temperature", time_s), 1, -40, 1)
        return _join(7, command, actual, temperature, width=11)
    if pid == 0x70:  # supported bits, commanded and actual boost, 1/32 kPa
        command = _raw(signals.at("boost_pressure_commanded", time_s), 1 / 32, 0, 2)
        actual = _raw(signals.at("intake_manifold_pressure", time_s), 1 / 32, 0, 2)
        return _join(3, command, actual, width=10)
    name, scale, offset, width = SCALES[pid]
    return _raw(signals.at(name, time_s), scale, offset, width)


def _join(support: int, *parts: Bytes, width: int) -> Bytes:
    rows = len(parts[0])
    known = np.hstack([np.full((rows, 1), support, np.uint8), *parts])
    return np.hstack([known, np.zeros((rows, width - known.shape[1]), np.uint8)])


def _each(time_s: Array, content: bytes) -> Bytes:
    """The same bytes at each time, (n, k)."""
    return np.tile(np.frombuffer(content, np.uint8), (len(time_s), 1))


@dataclass(slots=True)
class _Link:
    """Collects frames of the tester and of the control module."""

    addresses: Addresses
    latency_s: float
    rng: np.random.Generator
    parts: list[Frames]
    physical: bool = False

    def _single(self, payload: Bytes) -> Bytes:
        rows, size = payload.shape
        out = np.full((rows, 8), self.addresses.fill, np.uint8)
        out[:, 0] = size
        out[:, 1 : 1 + size] = payload
        return out

    def ask(self, time_s: Array, request: bytes) -> None:
        """Requests of up to seven bytes, to all or to the engine alone."""
        a = self.addresses
        self.parts.append(
            frames(time_s, a.to_engine if self.physical else a.to_all, a.extended, self._single(_each(time_s, request)))
        )

    def answer(self, time_s: Array, payload: Bytes) -> None:
        """Answers, (n, k): a single frame up to seven bytes, else first frame, flow control, consecutive frames."""
        a = self.addresses
        size = payload.shape[1]
        if size <= 7:
            self.parts.append(frames(time_s, a.answer, a.extended, self._single(payload)))
            return
        first = np.hstack([_each(time_s, bytes([0x10 | size >> 8, size & 255])), payload[:, :6]])
        self.parts.append(frames(time_s, a.answer, a.extended, first))
        flow = _each(time_s, bytes([0x30, 0, 0, *[a.fill] * 5]))
        self.parts.append(frames(time_s + _GAP_S, a.to_engine, a.extended, flow))
        for number, begin in enumerate(range(6, size, 7), start=1):
            part = payload[:, begin : begin + 7]
            frame = np.full((len(time_s), 8), a.fill, np.uint8)
            frame[:, 0] = 0x20 | number & 15
            frame[:, 1 : 1 + part.shape[1]] = part
            self.parts.append(frames(time_s + _GAP_S * (1 + number), a.answer, a.extended, frame))

    def exchange(self, now_s: float, request: bytes, reply: bytes) -> None:
        """One request with its answer."""
        time = np.array([now_s])
        self.ask(time, request)
        self.answer(time + self.delay(1), _each(time, reply))

    def delay(self, count: int) -> Array:
        """Times between request and answer, (n,) s."""
        return np.asarray(self.latency_s * (0.6 + 0.8 * self.rng.random(count)))


def supported_bits(pids: list[int], base: int, later: bool) -> int:
    """Bit field of PIDs base+1 .. base+32; ``later`` says that a next field exists (its own bit)."""
    bits = sum(1 << (32 - (pid - base)) for pid in pids if base < pid <= base + 31)
    return bits | int(later)


def readiness(profile: EngineProfile, mil: bool, codes: int) -> bytes:
    """Answer to PID 01: lamp, number of codes, monitors supported and complete (SAE J1979)."""
    spark = profile.ignition == "spark"
    kind = 0x07 if spark else 0x0F  # misfire, fuel system, components; bit 3 = compression ignition
    monitors = 0x61 if spark else 0x88  # catalyst, oxygen sensor and heater | boost pressure, EGR
    return bytes([(0x80 if mil else 0) | codes, kind, monitors, 0])


def build(signals: Signals, codes: list[SetCode], bus: Bus, rng: np.random.Generator) -> list[Frames]:
    """All diagnostic frames of the run: identity and codes first, then polling in turn, codes again at the end."""
    profile, engine = signals.profile, signals.engine
    link = _Link(ADDRESSES[bus.ids or engine.can_bits], bus.latency_s, rng, [], bus.physical)
    end = signals.run.end_s
    begin = _once(link, 0.3, profile, engine, vin_of(engine, bus), codes)
    last = max(begin, end - 1.2)
    pids = list(bus.pids or engine.pids)
    together = [pids[k : k + bus.pids_per_request] for k in range(0, len(pids), bus.pids_per_request)]
    slots = np.arange(begin, last - 0.1, max(bus.poll_interval_s, 2 * bus.latency_s, _LEAST_PERIOD_S))
    for k, group in enumerate(together):
        asked = slots[k :: len(together)] + 0.002 * rng.random(len(slots[k :: len(together)]))
        link.ask(asked, bytes([0x01, *group]))
        answered = asked + link.delay(len(asked))
        payload = [_each(asked, b"\x41")]
        for pid in group:
            payload += [_each(asked, bytes([pid])), answer_data(pid, signals, answered - 0.3 * link.latency_s)]
        link.answer(answered, np.hstack(payload))
    _codes(link, last, profile, codes)
    return link.parts


def vin_of(engine: Engine, bus: Bus | None) -> str:
    """The VIN that the engine's control module tells."""
    return engine.vin if bus is None or bus.vin is UNSET else bus.vin


def _once(link: _Link, now: float, profile: EngineProfile, engine: Engine, vin: str, codes: list[SetCode]) -> float:
    """Identity and supported PIDs at the start; give the time after it."""
    pids = [0x01, *engine.pids]
    groups = [base for base in (0x00, 0x20, 0x40, 0x60) if any(pid > base for pid in pids)]

    def supported(base: int) -> bytes:
        return bytes([0x41, base]) + supported_bits(pids, base, later=base + 0x20 in groups).to_bytes(4, "big")

    exchanges: list[tuple[bytes, bytes]] = [(bytes([1, base]), supported(base)) for base in groups]
    exchanges.append((b"\x09\x02", b"\x49\x02\x01" + vin.encode()))
    exchanges.append((b"\x09\x04", b"\x49\x04\x01" + engine.calibration.encode().ljust(16, b"\0")))
    for request, reply in exchanges:
        link.exchange(now, request, reply)
        now += _PAUSE_S
    return _codes(link, now, profile, codes)


def _codes(link: _Link, now: float, profile: EngineProfile, codes: list[SetCode]) -> float:
    """Readiness, confirmed and pending codes as they stand; give the time after it."""
    confirmed = [c.code for c in codes if c.confirmed_s <= now]
    pending = [c.code for c in codes if c.pending_s <= now]
    replies = [
        (b"\x01\x01", b"\x41\x01" + readiness(profile, bool(confirmed), len(confirmed))),
        (b"\x03", bytes([0x43, len(confirmed)]) + b"".join(c.to_bytes(2, "big") for c in confirmed)),
        (b"\x07", bytes([0x47, len(pending)]) + b"".join(c.to_bytes(2, "big") for c in pending)),
    ]
    for request, reply in replies:
        link.exchange(now, request, reply)
        now += _PAUSE_S
    return now
