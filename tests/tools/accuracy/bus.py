"""Common ground of the bus cases: noise, polling, steps of the numbers, a road, and a record of channels.

Everything is closed form on arrays, with its own physics: nothing comes from the demonstration simulator. Sizes are
drawn from what standards and physics allow (PID scaling of SAE J1979-DA; polling latency of a serial adapter; the rest
common practice, no source), not from the sizes that the measures assume.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.model.record import Record

Array = NDArray[np.float64]
Rng = np.random.Generator
Row = tuple[float, float, float, float]
STEP_S = 0.02


def autoregressive(rng: Rng, n: int, rho: float, heavy: bool = False) -> Array:
    """Unit-variance AR(1) noise, (n,): Gaussian or with the heavy tails of Student's t of 4."""
    white = rng.standard_t(4, n) / np.sqrt(2.0) if heavy else rng.normal(size=n)
    white[0] /= np.sqrt(1.0 - rho**2)
    return np.asarray(lfilter([np.sqrt(1.0 - rho**2)], [1.0, -rho], white))


def wandering(rng: Rng, t_s: Array, time_s: float) -> Array:
    """Unit-variance noise with a correlation time, on an even time axis, (n,)."""
    return autoregressive(rng, len(t_s), float(np.exp(-(t_s[1] - t_s[0]) / time_s)))


def follower(x: Array, time_s: float, step_s: float = STEP_S) -> Array:
    """First-order answer, at rest at the start, (n,)."""
    a = np.exp(-step_s / time_s)
    return np.asarray(lfilter([1.0 - a], [1.0, -a], x - x[0])) + x[0]


@dataclass(frozen=True)
class Link:
    """How values are taken off the vehicle: one after the other with latency, or in one frame.

    Parameters
    ----------
    rate_hz : values a second of each quantity
    polled : each is asked for on its own: times differ, and the value held somewhere between request and answer
    half_width_s : half of the time between request and answer
    """

    rate_hz: float
    polled: bool
    half_width_s: float = 0.0

    def times(self, rng: Rng, begin_s: float, end_s: float, place: int = 0, of: int = 6) -> Array:
        """Instants of one quantity, ascending, s."""
        period = 1.0 / self.rate_hz
        if not self.polled:
            return np.arange(begin_s, end_s, period)
        t_s = np.arange(begin_s + place * period / of, end_s, period)
        return np.sort(t_s + rng.uniform(-0.15, 0.15, len(t_s)) * period)

    def channel(self, rng: Rng, name: str, t_s: Array, value: Array, step: float, place: int = 0,
                noise: float = 0.0, rho: float = 0.0, heavy: bool = False) -> Channel:  # fmt: skip
        """A quantity as recorded: sampled, shaken, rounded."""
        stamp = self.times(rng, float(t_s[0]), float(t_s[-1]), place)
        half = self.half_width_s if self.polled else 0.0
        seen = np.interp(stamp + rng.uniform(-half, half, len(stamp)), t_s, value)
        if noise > 0.0:
            seen = seen + noise * autoregressive(rng, len(stamp), rho, heavy)
        return Channel(name, "", stamp, np.round(seen / step) * step, half_width_s=half, file="drive.log")


def link(rng: Rng, slow: bool = False) -> Link:
    """A serial adapter at 1 to 5 values a second of each quantity, or a broadcast at 10 to 20 Hz."""
    if slow or rng.random() < 0.6:
        return Link(float(rng.uniform(1.0, 4.0)), True, float(rng.uniform(0.01, 0.05)))
    return Link(float(rng.choice([10.0, 20.0])), False)


@dataclass(frozen=True)
class Road:
    """Speed in rpm and load in percent over time in s, every ``STEP_S``, (n,) each."""

    t_s: Array
    speed: Array
    load: Array


def road(rng: Rng, minutes: float) -> Road:
    """Holds of 6 to 30 s at independent speeds and loads, with first-order passages between them and slow unrest."""
    n = int(minutes * 60.0 / STEP_S)
    hold = np.cumsum(rng.uniform(6.0, 30.0, int(minutes * 60 / 6) + 2))
    number = np.searchsorted(hold, np.arange(n) * STEP_S)
    top = rng.uniform(2000.0, 3600.0)
    idle = rng.random(len(hold) + 1) < 0.25
    speed = np.where(idle, rng.uniform(650.0, 850.0), rng.uniform(1000.0, top, len(hold) + 1))
    load = np.where(idle, rng.uniform(12.0, 25.0), rng.uniform(20.0, 98.0, len(hold) + 1))
    t_s = np.arange(n) * STEP_S
    fast = follower(speed[number], rng.uniform(0.6, 1.5)) + rng.uniform(2.0, 8.0) * wandering(rng, t_s, 2.0)
    heavy = follower(load[number], rng.uniform(0.3, 1.0)) + rng.uniform(0.3, 2.0) * wandering(rng, t_s, 2.0)
    return Road(t_s, fast, np.clip(heavy, 0.0, 100.0))


def record(channels: list[Channel], spans: list[tuple[str, float, float]] | None = None,
           profile: EngineProfile | None = None) -> Record:  # fmt: skip
    """A record of some channels with the states of the drive as given."""
    states = DriveStates(tuple(Span(*span) for span in spans or []))
    return Record((), ChannelSet({c.name: c for c in channels}), states, profile or EngineProfile())


def rows(results: Any, truths: dict[str, float]) -> dict[str, Row]:
    """Value, interval and truth of every measure that was given; those withheld are not counted."""
    out: dict[str, Row] = {}
    for found in results:
        if isinstance(found, Measure) and found.name in truths:
            value, low, high = (float(x) for x in (found.value, found.low, found.high))  # type: ignore[arg-type]
            out[found.name] = (value, low, high, truths[found.name])
    return out
