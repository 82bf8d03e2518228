"""Invented drives with known rail pressure: start, running, stop."""

from __future__ import annotations

import numpy as np
from timing_drives import STEP_S, Polling, correlated, low_pass, record, road

from logan.model.record import Record


def rail_record(
    rng: np.random.Generator, *, minutes: float = 5.0, polling: Polling | None = None, droop: float = 0.0,
    swing: float = 0.0, swing_hz: float = 0.7, lag_s: float = 0.15, noise: float = 0.6, rho: float = 0.0,
    leak_kpa_per_s: float = 80.0, build_s: float = 0.8, needed_kpa: float = 25_000.0, starts: bool = True,
) -> Record:  # fmt: skip
    """Cranking from the second second on, a drive, a stop and eight seconds after it.

    Parameters
    ----------
    droop, swing, noise : percent of the command; the droop holds while the load is 60 % and more
    build_s : from first crank motion to 90 % of ``needed_kpa``
    """
    polling = polling or Polling()
    way = road(rng, minutes)
    command = 30_000.0 + (way.speed - 800.0) * 40.0 + (way.load - 20.0) * 250.0
    heavy = low_pass((way.load >= 60.0).astype(float), 0.2)
    wave = np.sin(2 * np.pi * swing_hz * way.t_s + rng.uniform(0, 6))
    actual = low_pass(command, lag_s) * (1.0 - droop / 100.0 * heavy) + swing / 100.0 * command * wave

    before = np.arange(-8.0, 0.0, STEP_S) - STEP_S
    cranking = before >= -6.5
    fills = np.clip((before + 6.5) / build_s * 0.9 * needed_kpa, 0.0, 30_000.0)
    fires_s = -6.5 + build_s / 0.9 + 0.2
    turning = np.where(before < fires_s, 200.0 + 15.0 * np.sin(20.0 * before), 200.0 + 1200.0 * (before - fires_s))
    start_speed = np.where(cranking, np.minimum(turning, 800.0), 0.0)
    if not starts:
        start_speed = np.where(cranking & (before < -1.0), 200.0, 0.0)

    after = np.arange(0.0, 9.0, STEP_S) + STEP_S
    stop_speed = np.clip(way.speed[-1] * (1.0 - after), 0.0, None)
    leaks = np.clip(actual[-1] - leak_kpa_per_s * np.clip(after - 1.0, 0.0, None), 0.0, None)

    parts = slice(None) if starts else slice(0, 1)
    t_s = np.concatenate([before, way.t_s, way.t_s[-1] + after][parts])
    speed = np.concatenate([start_speed, way.speed, stop_speed][parts])
    load = np.concatenate([0 * before, way.load, 0 * after][parts])
    commanded = np.concatenate([np.where(cranking, 30_000.0, 0.0), command, 0 * after][parts])
    pressure = np.concatenate([fills, actual, leaks][parts])
    shake = noise / 100.0 * correlated(rng, len(t_s), rho)
    pressure = np.clip(pressure * (1.0 + shake), 0.0, None)
    give = polling.channel
    return record([
        give(rng, "fuel_rail_pressure_commanded", 0, t_s, commanded, 10.0),
        give(rng, "fuel_rail_pressure_actual", 1, t_s, pressure, 10.0),
        give(rng, "engine_speed", 2, t_s, speed, 0.25),
        give(rng, "calculated_load", 3, t_s, load, 100.0 / 255.0),
    ])  # fmt: skip
