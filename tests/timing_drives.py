"""Invented drives with known timing and rail errors, for tests of the measures: their own physics, their own noise."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates
from logan.model.measure import Measure, Missing
from logan.model.profile import EngineProfile
from logan.model.record import Record

STEP_S = 0.05
Array = NDArray[np.float64]


def low_pass(x: Array, time_s: float) -> Array:
    """First-order lag at ``STEP_S``, at rest at the start."""
    a = np.exp(-STEP_S / time_s)
    return np.asarray(lfilter([1.0 - a], [1.0, -a], x - x[0])) + x[0]


def correlated(rng: np.random.Generator, n: int, rho: float = 0.0, heavy: bool = False) -> Array:
    """Unit-variance noise: white or AR(1), Gaussian or with heavy tails (Student's t of 3)."""
    white = rng.standard_t(3, n) / np.sqrt(3.0) if heavy else rng.normal(size=n)
    white[0] /= np.sqrt(1.0 - rho**2)
    return np.asarray(lfilter([np.sqrt(1.0 - rho**2)], [1.0, -rho], white))


def backlash(command: Array, width: float) -> Array:
    """Play, the plain way: one sample after the other."""
    out = np.empty_like(command)
    at = float(command[0])
    for k, x in enumerate(command.tolist()):
        at = min(max(at, x - width / 2), x + width / 2)
        out[k] = at
    return out


@dataclass(frozen=True)
class Road:
    """Speed (rpm) and load (%) over time (s), every ``STEP_S``."""

    t_s: Array
    speed: Array
    load: Array


def road(rng: np.random.Generator, minutes: float, speeds: tuple[float, float] = (800.0, 2600.0)) -> Road:
    """Idle, cruise, pulls and holds in random order, within a range of speed."""
    n = int(minutes * 60 / STEP_S)
    slow, fast = speeds
    speed, load = np.empty(n), np.empty(n)
    at = 0
    while at < n:
        end = min(n, at + int(rng.uniform(4.0, 30.0) / STEP_S))
        a, b = slow + (fast - slow) * np.array(
            [
                (0.0, 0.0),
                sorted(rng.uniform(0.25, 0.85, 2)),
                (0.15, rng.uniform(0.6, 1.0)),
                [rng.uniform(0.1, 1.0)] * 2,
            ][kind := int(rng.integers(4))]
        )
        loads = [(18.0, 18.0), rng.uniform(20, 60, 2), [rng.uniform(70, 95)] * 2, [rng.uniform(15, 80)] * 2][kind]
        speed[at:end] = np.linspace(a, b, end - at)
        load[at:end] = np.linspace(*loads, end - at)
        at = end
    speed = low_pass(speed, 0.8) + 4.0 * correlated(rng, n, 0.9)
    load = np.clip(low_pass(load, 0.4) + 1.0 * correlated(rng, n, 0.9), 0.0, 100.0)
    return Road(np.arange(n) * STEP_S, speed, load)


@dataclass(frozen=True)
class Polling:
    """How values are taken: ``rate_hz`` each, one after the other with jitter and latency, or all in one frame."""

    rate_hz: float = 2.0
    together: bool = False
    half_width_s: float = 0.02

    def channel(
        self,
        rng: np.random.Generator,
        name: str,
        place: int,
        t_s: Array,
        value: Array,
        step: float,
        noise: Array | None = None,
    ) -> Channel:
        period = 1.0 / self.rate_hz
        stamp = np.arange(t_s[0] + (0.0 if self.together else place * period / 6.0), t_s[-1], period)
        half = 0.0 if self.together else self.half_width_s
        if not self.together:
            stamp = stamp + rng.uniform(-0.08, 0.08, len(stamp)) * period
        seen = np.interp(stamp + rng.uniform(-half, half, len(stamp)), t_s, value)
        if noise is not None:
            seen = seen + noise[: len(seen)]
        return Channel(name, "", stamp, np.round(seen / step) * step, half_width_s=half, file="drive.log")


def record(channels: list[Channel]) -> Record:
    return Record((), ChannelSet({channel.name: channel for channel in channels}), DriveStates(), EngineProfile())


def timing_record(
    rng: np.random.Generator, *, minutes: float = 8.0, polling: Polling | None = None, static: float = 0.0,
    delay: float = 0.0, load: float = 0.0, drift: float = 0.0, hysteresis: float = 0.0, lag_s: float = 0.15,
    noise: float = 0.25, rho: float = 0.0, heavy: bool = False, step: float = 1 / 128,
    speeds: tuple[float, float] = (800.0, 2600.0), reach: float = np.inf, warm_up: bool = False,
) -> Record:  # fmt: skip
    """A drive with a known timing error: commanded and actual timing, speed, load and coolant."""
    polling = polling or Polling()
    way = road(rng, minutes, speeds)
    n = len(way.t_s)
    command = 4.0 + (way.speed - 800.0) * 0.0045 + (way.load - 20.0) * 0.04
    follows = backlash(command, hysteresis) if hysteresis else command
    follows = low_pass(follows, lag_s) if lag_s else follows
    error = static - 0.006 * way.speed * delay + load * way.load / 100.0 + drift * way.t_s / 60.0
    actual = np.minimum(follows + error, reach)
    coolant = 85.0 - (55.0 * np.exp(-way.t_s / 200.0) if warm_up else 0.0)
    shake = noise * correlated(rng, int(n * STEP_S * polling.rate_hz) + 2, rho, heavy)
    give = polling.channel
    return record([
        give(rng, "injection_timing_commanded", 0, way.t_s, command, step),
        give(rng, "injection_timing_actual", 1, way.t_s, actual, step, shake),
        give(rng, "engine_speed", 2, way.t_s, way.speed, 0.25),
        give(rng, "calculated_load", 3, way.t_s, way.load, 100.0 / 255.0),
        give(rng, "coolant_temperature", 4, way.t_s, np.broadcast_to(coolant, n).astype(float), 1.0),
    ])  # fmt: skip


def by_name(results: Any) -> dict[str, Measure | Missing]:
    return {r.name if isinstance(r, Measure) else r.measure: r for r in results}


def covers(measure: Measure, truth: float) -> bool:
    return bool(measure.low <= truth <= measure.high)  # type: ignore[operator]
