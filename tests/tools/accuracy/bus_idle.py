"""Idle: mean, spread, range and hunting of known size, in noise that remembers and steps of 0.25 rpm."""

from __future__ import annotations

import numpy as np

from accuracy import Case
from accuracy.bus import STEP_S, Array, Link, Rng, Row, autoregressive, link, record, rows
from logan.measures.idle import idle_speed
from logan.measures.idle_hunting import idle_hunting

SPEED_STEP = 0.25  # PID 0C; SPN 190 counts 0.125 rpm
REPLICAS = 100


def unrest(rng: Rng, n: int, fast: float, slow: float, share: float) -> Array:
    """Unit-variance unrest of an idle, (n,): from firing to firing, and of the governor, which remembers longer."""
    parts = [autoregressive(rng, n, rho) for rho in (fast, slow)]
    return float(np.sqrt(1.0 - share)) * parts[0] + float(np.sqrt(share)) * parts[1]


def speed_statistics(seed: int) -> dict[str, Row]:
    """Unrest that remembers for 0.06 to 0.3 s and for 0.3 to 3 s; the range expected of idle as long, all seen."""
    rng: Rng = np.random.default_rng(seed)
    length_s = rng.uniform(40.0, 240.0)
    t_s = np.arange(0.0, length_s, STEP_S)
    mean, sd = rng.uniform(600.0, 900.0), rng.uniform(2.0, 20.0)
    times = np.exp(rng.uniform(np.log([0.06, 0.3]), np.log([0.3, 3.0])))
    kind = (*np.exp(-STEP_S / times).tolist(), float(rng.uniform(0.0, 1.0)))
    speed = mean + sd * unrest(rng, len(t_s), *kind)
    via = link(rng)
    again = np.array([np.ptp(unrest(rng, len(t_s) - round(5.0 / STEP_S), *kind)) for _ in range(REPLICAS)])
    truths = {
        "idle_speed_mean_rpm": mean, "idle_speed_std_rpm": sd, "idle_speed_p2p_rpm": sd * float(again.mean()),
    }  # fmt: skip
    channels = [via.channel(rng, "engine_speed", t_s, speed, SPEED_STEP, 2)]
    return rows(idle_speed(record(channels, [("idle_warm", 0.0, length_s)])), truths)


def hunting(seed: int) -> dict[str, Row]:
    """A swing whose beat wanders slowly, with a second harmonic, below half of the sampling rate."""
    rng: Rng = np.random.default_rng(seed)
    length_s = rng.uniform(60.0, 240.0)
    t_s = np.arange(0.0, length_s, STEP_S)
    via = link(rng)
    if via.polled:
        via = Link(via.rate_hz * 1.5, True, via.half_width_s)
    hertz = rng.uniform(0.15, min(2.5, 0.4 * via.rate_hz))
    drift = rng.uniform(0.0, 0.15) * np.cumsum(rng.normal(size=len(t_s))) * np.sqrt(STEP_S)  # turns grow slowly
    angle = 2.0 * np.pi * hertz * t_s + drift + rng.uniform(0.0, 6.3)
    second = rng.uniform(0.0, 0.2)
    size, wave = rng.uniform(8.0, 60.0), np.linspace(0.0, 2.0 * np.pi, 721)
    shape = np.sin(wave) + second * np.sin(2.0 * wave)
    speed = rng.uniform(650.0, 850.0) + size * (np.sin(angle) + second * np.sin(2.0 * angle))
    speed = speed + rng.uniform(1.0, 8.0) * autoregressive(
        rng, len(t_s), float(np.exp(-STEP_S / rng.uniform(0.05, 0.5)))
    )
    truths = {
        "idle_hunt_amplitude_rpm": 0.5 * size * float(np.ptp(shape)), "idle_hunt_frequency_hz": hertz,
    }  # fmt: skip
    channels = [via.channel(rng, "engine_speed", t_s, speed, SPEED_STEP, 2)]
    return rows(idle_hunting(record(channels, [("idle_warm", 0.0, length_s)])), truths)


CASES = {
    "idle, speed": Case(
        ("idle_speed_mean_rpm", "idle_speed_std_rpm", "idle_speed_p2p_rpm"), speed_statistics,
        "unrest of two kinds; the truth of the range is that expected of an idle of the same length",
    ),
    "idle, hunting": Case(("idle_hunt_amplitude_rpm", "idle_hunt_frequency_hz"), hunting, "a swing that wanders"),
}  # fmt: skip
