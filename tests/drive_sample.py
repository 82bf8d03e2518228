"""A drive made up for tests: plain formulas, no part of the program; every fault has a known size."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from logan.channels import build
from logan.drive import segment
from logan.model.channel import Channel
from logan.model.profile import EngineProfile, Idle
from logan.model.record import Record

Array = NDArray[np.float64]

# kind, seconds, speed in rpm, load in %, pedal in %, road speed in km/h
PLAN = (
    ("off", 4, 0, 0, 0, 0),
    ("crank", 2, 180, 0, 0, 0),
    ("idle", 120, 800, 22, 0, 0),
    ("drive", 60, 1500, 40, 25, 50),
    ("pull", 20, 1900, 85, 80, 70),
    ("drive", 120, 1700, 42, 30, 70),
    ("pull", 20, 2000, 90, 90, 80),
    ("coast", 10, 1400, 5, 0, 50),
    ("idle", 120, 800, 22, 0, 0),
    ("off", 10, 0, 0, 0, 0),
)


@dataclass
class Drive:
    """Knobs of the drive; rates in values a second."""

    rate: float = 10.0
    slow_rate: float = 2.0
    jitter: float = 0.0
    seed: int = 0
    plan: tuple[tuple[str, float, float, float, float, float], ...] = PLAN
    idle_sd: float = 4.0
    idle_memory_s: float = 0.3
    hunt_hz: float = 0.0
    hunt_rpm: float = 0.0
    half_order_rpm: float = 0.0
    step_rpm: float = 0.25
    volts: float = 14.1
    plateau: float = 88.0
    warm_start: float = 70.0
    warm_time_s: float = 60.0
    supply: float = 120.0
    supply_loaded: float = 110.0
    boost_error: float = 0.0
    trim_idle: float = 1.5
    trim_cruise: float = -0.5
    track_ratio: float = 0.5
    track_error: float = 0.0
    leave_out: tuple[str, ...] = ()
    extra: dict[str, Any] = field(default_factory=dict)

    def channels(self) -> list[Channel]:
        rng = np.random.default_rng(self.seed)
        edges = np.cumsum([0.0, *[row[1] for row in self.plan]])

        def times(rate: float) -> Array:
            n = int(edges[-1] * rate)
            return np.sort((np.arange(n) + 0.5 + self.jitter * rng.uniform(-1.0, 1.0, n)) / rate)

        def of_plan(t_s: Array, column: int, ramp_s: float) -> Array:
            level = np.array([float(row[column]) for row in self.plan])  # type: ignore[arg-type]
            knots, values = [], []
            for k, row in enumerate(level):
                knots += [edges[k] + (ramp_s if k else 0.0), edges[k + 1]]
                values += [row, row]
            return np.interp(t_s, knots, values)

        def noise(t_s: Array, sd: float, memory_s: float) -> Array:
            white = rng.standard_normal(len(t_s))
            out = np.empty(len(t_s))
            state = white[0]
            keep = np.exp(-np.diff(t_s, prepend=t_s[0]) / memory_s) if memory_s else np.zeros(len(t_s))
            for k, (a, e) in enumerate(zip(keep, white, strict=True)):
                state = a * state + np.sqrt(1.0 - a * a) * e
                out[k] = state
            return sd * out

        def rounded(value: Array, step: float) -> Array:
            return np.round(value / step) * step

        def channel(name: str, unit: str, t_s: Array, value: Array) -> Channel:
            return Channel(name, unit, t_s, value, source=f"made up {name}", file="made_up.csv")

        t, s = times(self.rate), times(self.slow_rate)
        speed = of_plan(t, 2, 2.0)
        running = speed > 600.0
        idling = np.abs(speed - 800.0) < 1.0
        speed = speed + np.where(running, noise(t, self.idle_sd, self.idle_memory_s), 0.0)
        speed += np.where(idling, self.hunt_rpm * np.sin(2.0 * np.pi * self.hunt_hz * t), 0.0)
        speed += np.where(idling, self.half_order_rpm * np.sin(2.0 * np.pi * 800.0 / 120.0 * t), 0.0)
        load = of_plan(s, 3, 1.0)
        pedal_t = of_plan(t, 4, 1.0)
        pull = load >= 60.0
        command = 100.0 + 1.1 * np.maximum(load - 10.0, 0.0)
        coolant = self.plateau - (self.plateau - self.warm_start) * np.exp(-s / self.warm_time_s)
        on = of_plan(s, 2, 2.0) > 600.0
        volts = np.where(on, self.volts, 12.3) + noise(s, 0.05, 2.0)
        trim = np.where(of_plan(s, 5, 2.0) > 5.0, self.trim_cruise, self.trim_idle)
        found = [
            channel("engine_speed", "rpm", t, rounded(np.maximum(speed, 0.0), self.step_rpm)),
            channel("vehicle_speed", "km/h", s, rounded(of_plan(s, 5, 4.0), 1.0)),
            channel("calculated_load", "%", s, rounded(load + noise(s, 0.5, 0.0), 100.0 / 255.0)),
            channel("coolant_temperature", "degC", s, rounded(coolant, 1.0)),
            channel("accelerator_pedal_d", "%", t, rounded(pedal_t + 0.1 * noise(t, 1.0, 0.0) + 1.0, 0.4)),
            channel(
                "accelerator_pedal_e", "%", t,
                rounded((pedal_t + 1.0 + self.track_error) * self.track_ratio + 0.1 * noise(t, 1.0, 0.0), 0.4),
            ),
            channel("idle_validation", "", t, (pedal_t < 2.0).astype(float)),
            channel("control_module_voltage", "V", s, rounded(volts, 0.01)),
            channel(
                "fuel_supply_pressure", "kPa", s,
                np.where(pull, self.supply_loaded, np.where(on, self.supply, 0.0)) + noise(s, 1.5, 0.0),
            ),
            channel("boost_pressure_commanded", "kPa", s, rounded(command, 0.1)),
            channel(
                "intake_manifold_pressure", "kPa", s,
                rounded(command + np.where(pull, self.boost_error, 0.0) + noise(s, 1.0, 0.5), 1.0),
            ),
            channel("short_term_fuel_trim_1", "%", s, rounded(trim - 1.0 + noise(s, 1.0, 1.0), 0.78125)),
            channel("long_term_fuel_trim_1", "%", s, rounded(np.full(len(s), 1.0), 0.78125)),
        ]  # fmt: skip
        return [c for c in found if c.name not in self.leave_out]

    def record(self, profile: EngineProfile | None = None) -> Record:
        profile = profile or EngineProfile(cylinders=6, idle=Idle(target_rpm=800.0))
        channel_set, remarks = build(self.channels(), profile)
        return Record(
            captures=(), channels=channel_set, states=segment(channel_set, profile), profile=profile,
            remarks=tuple(remarks),
        )  # fmt: skip


def with_(drive: Drive, **knobs: Any) -> Drive:
    return replace(drive, **knobs)
