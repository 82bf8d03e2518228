"""Rail and supply pressure: error under load, swing, build-up and leak-down of known size."""

from __future__ import annotations

import numpy as np

from accuracy import Case
from accuracy.bus import STEP_S, Array, Link, Rng, Row, follower, link, record, road, rows, wandering
from logan.measures.rail import rail_error, rail_swing
from logan.measures.rail_build import rail_build_time
from logan.measures.rail_events import rail_leakdown
from logan.measures.supply import supply_pressure

RAIL_STEP_KPA = 10.0  # PID 23, 59, 6D
LOAD_STEP = 100.0 / 255.0


def error_under_load(seed: int) -> dict[str, Row]:
    """A droop that grows with load beyond a point, noise that remembers for 0.1 to 10 s; both in one answer or not."""
    rng: Rng = np.random.default_rng(seed)
    way = road(rng, rng.uniform(4.0, 14.0))
    command = 30_000.0 + way.speed * rng.uniform(15.0, 35.0) + way.load * rng.uniform(200.0, 700.0)
    from_load = rng.uniform(30.0, 60.0)
    droop = (
        rng.choice([0.0, 1.0]) * rng.uniform(0.0, 15.0) * np.clip((way.load - from_load) / (100.0 - from_load), 0, 1)
    )
    droop = droop + rng.normal(0.0, 0.5)  # sensor and control offset
    truth = -float(np.median(droop[way.load >= 60.0]))
    actual = follower(command, rng.uniform(0.03, 0.3)) * (1.0 - droop / 100.0)
    via = link(rng)
    if rng.random() < 0.3:  # command and actual of one answer share their time (PID 6D)
        via = Link(via.rate_hz, False)
    noise = rng.uniform(0.2, 1.5) / 100.0 * float(np.median(command))
    rho = float(np.exp(-1.0 / (via.rate_hz * np.exp(rng.uniform(np.log(0.1), np.log(10.0))))))
    channels = [
        via.channel(rng, "fuel_rail_pressure_commanded", way.t_s, command, RAIL_STEP_KPA, 0),
        via.channel(rng, "fuel_rail_pressure_actual", way.t_s, actual, RAIL_STEP_KPA, 1, noise, rho),
        via.channel(rng, "engine_speed", way.t_s, way.speed, 0.25, 2),
        via.channel(rng, "calculated_load", way.t_s, way.load, LOAD_STEP, 3),
    ]
    return rows(rail_error(record(channels)), {"rail_error_percent": truth})


def swing(seed: int) -> dict[str, Row]:
    """A swing at a steady command, its beat wandering slowly; its size in percent falls as pressure rises, or hardly.

    The truth is its mean over the record: a swing of the regulator keeps its percentage, one of the pump its pressure.
    """
    rng: Rng = np.random.default_rng(seed)
    length_s = rng.uniform(40.0, 240.0)
    t_s = np.arange(0.0, length_s, STEP_S)
    half = rng.uniform(0.2, 0.8) * length_s
    speed = follower(np.where(t_s < half, rng.uniform(700, 1200), rng.uniform(1200, 2500)), 1.0)
    speed = speed + rng.uniform(1.0, 6.0) * wandering(rng, t_s, 2.0)
    command = 25_000.0 + 20.0 * speed
    share = (command / float(np.median(command))) ** -rng.uniform(0.0, 1.0)
    size = rng.uniform(1.0, 10.0) * share * (1.0 + rng.uniform(0.0, 0.25) * wandering(rng, t_s, rng.uniform(5.0, 30.0)))
    via = link(rng)
    hertz = rng.uniform(0.2, min(2.5, 0.4 * via.rate_hz))
    drift = rng.uniform(0.0, 0.3) * np.cumsum(rng.normal(size=len(t_s))) * np.sqrt(STEP_S)
    second, apart = rng.uniform(0.0, 0.2), rng.uniform(0.0, 6.3)

    def wave(angle: Array) -> Array:
        return np.sin(angle) + second * np.sin(2.0 * angle + apart)

    actual = command * (1.0 + size / 100.0 * wave(2.0 * np.pi * hertz * t_s + drift + rng.uniform(0.0, 6.3)))
    truth = float(np.mean(size)) * 0.5 * float(np.ptp(wave(np.linspace(0.0, 2.0 * np.pi, 721))))
    noise = rng.uniform(0.2, 1.2) / 100.0 * float(np.median(command))
    channels = [
        via.channel(rng, "fuel_rail_pressure_commanded", t_s, command, RAIL_STEP_KPA, 0),
        via.channel(rng, "fuel_rail_pressure_actual", t_s, actual, RAIL_STEP_KPA, 1, noise, rng.uniform(0, 0.6)),
        via.channel(rng, "engine_speed", t_s, speed, 0.25, 2),
    ]
    return rows(rail_swing(record(channels)), {"rail_swing_percent": truth})


def leakdown(seed: int) -> dict[str, Row]:
    """The engine stops and the rail empties exponentially, or evenly."""
    rng: Rng = np.random.default_rng(seed)
    stop_s = rng.uniform(20.0, 40.0)
    t_s = np.arange(0.0, stop_s + rng.uniform(5.5, 20.0), STEP_S)
    since = np.clip(t_s - stop_s, 0.0, None)
    fall_s = rng.uniform(0.6, 1.5)
    speed = np.clip(750.0 * np.minimum(1.0, (stop_s - t_s) / fall_s), 0.0, None)
    first = rng.uniform(20_000.0, 35_000.0)
    if rng.random() < 0.7:
        time_s, rest = np.exp(rng.uniform(np.log(1.5), np.log(60.0))), rng.uniform(0.0, 0.3)
        share = rest + (1.0 - rest) * np.exp(-since / time_s)
        after_5 = rest + (1.0 - rest) * np.exp(-5.0 / time_s)
    else:
        slope = rng.uniform(0.002, 0.1)
        share, after_5 = np.clip(1.0 - slope * since, 0.0, None), 1.0 - 5.0 * slope
    truth = first * (1.0 - after_5) / 5.0
    via = link(rng)
    noise, rho = rng.uniform(20.0, 250.0), rng.uniform(0.0, 0.8)
    channels = [
        via.channel(rng, "fuel_rail_pressure_actual", t_s, first * share, RAIL_STEP_KPA, 1, noise, rho),
        via.channel(rng, "engine_speed", t_s, speed, 0.25, 2),
    ]
    return rows(rail_leakdown(record(channels)), {"rail_leakdown_kpa_per_s": truth})


def build_up(seed: int) -> dict[str, Row]:
    """Cranking until the pressure that the module asks for before it injects, then firing within a turn or two."""
    rng: Rng = np.random.default_rng(seed)
    via = link(rng)
    start_s = rng.uniform(2.0, 4.0)
    needed = rng.uniform(15_000.0, 35_000.0)  # commonly 150 to 350 bar
    dead_s, time_s = rng.uniform(0.0, 0.3), np.exp(rng.uniform(np.log(0.3), np.log(4.0)))
    most = needed * rng.uniform(1.1, 2.0)
    t_s = np.arange(0.0, 40.0, STEP_S)
    since = t_s - start_s - dead_s

    def reached(level: float) -> float:
        return start_s + dead_s - time_s * float(np.log1p(-level / most))

    crank_rpm = rng.uniform(150.0, 260.0)
    fires_s = max(reached(needed), start_s + rng.uniform(0.3, 0.6)) + rng.uniform(0.0, 90.0 / crank_rpm)
    command = max(needed * rng.uniform(1.0, 1.3), needed)
    pressure = np.where(since > 0.0, most * -np.expm1(-np.clip(since, 0.0, None) / time_s), 0.0)
    pressure = np.minimum(pressure, command)
    speed = np.where(t_s < start_s, 0.0, crank_rpm * -np.expm1(-np.clip(t_s - start_s, 0, None) / 0.1))
    speed = speed + np.where(t_s >= start_s, 10.0 * np.sin(2 * np.pi * crank_rpm / 20.0 * t_s), 0.0)
    idle = rng.uniform(700.0, 900.0)
    speed = np.where(
        t_s < fires_s, speed, crank_rpm + (idle - crank_rpm) * -np.expm1(-np.clip(t_s - fires_s, 0, None) / 0.4)
    )
    noise = rng.uniform(0.003, 0.02) * needed
    channels = [
        via.channel(rng, "fuel_rail_pressure_actual", t_s, pressure, RAIL_STEP_KPA, 1, noise, rng.uniform(0, 0.5)),
        via.channel(rng, "engine_speed", t_s, np.clip(speed, 0.0, None), 0.25, 2),
    ]
    if rng.random() < 0.7:
        asked = np.where(t_s >= start_s, command, 0.0)
        channels.append(via.channel(rng, "fuel_rail_pressure_commanded", t_s, asked, RAIL_STEP_KPA, 0))
    return rows(rail_build_time(record(channels)), {"rail_build_time_s": reached(0.9 * needed) - start_s})


def supply(seed: int) -> dict[str, Row]:
    """Supply pressure that sags while the load is high, with a few dips too short to count."""
    rng: Rng = np.random.default_rng(seed)
    way = road(rng, rng.uniform(4.0, 12.0))
    usual, sag = rng.uniform(200.0, 450.0), rng.uniform(0.0, 0.8)
    asked = np.clip((way.load - 20.0) / 80.0, 0.0, 1.0) * way.speed / 3600.0
    pressure = usual * (1.0 - sag * follower(asked, rng.uniform(0.3, 3.0)))
    pressure = pressure + rng.uniform(0.0, 4.0) * wandering(rng, way.t_s, rng.uniform(1.0, 20.0))
    size = round(1.0 / STEP_S)
    highest = np.lib.stride_tricks.sliding_window_view(pressure, size + 1).max(axis=1)
    lowest = np.lib.stride_tricks.sliding_window_view(way.load >= 60.0, size + 1).all(axis=1)
    truth = float(highest[lowest].min())
    via = link(rng)
    step = float(rng.choice([1.0, 3.0, 4.0]))  # PID 0A counts 3 kPa, SPN 94 counts 4 kPa
    calibration = 1.0 + rng.uniform(-0.01, 0.01)
    channels = [
        via.channel(
            rng,
            "fuel_supply_pressure",
            way.t_s,
            calibration * pressure,
            step,
            1,
            rng.uniform(0.3, 6.0),
            rng.uniform(0, 0.6),
        ),
        via.channel(rng, "calculated_load", way.t_s, way.load, LOAD_STEP, 3),
    ]
    return rows(supply_pressure(record(channels)), {"supply_pressure_min_kpa_gauge": truth})


CASES = {
    "rail, error under load": Case(("rail_error_percent",), error_under_load, "droop that grows with load"),
    "rail, swing": Case(("rail_swing_percent",), swing, "a swing that wanders in beat and size"),
    "rail, leak-down": Case(("rail_leakdown_kpa_per_s",), leakdown, "exponential or even, noise that remembers"),
    "rail, build-up": Case(("rail_build_time_s",), build_up, "the needed pressure is not in the record"),
    "supply, lowest under load": Case(("supply_pressure_min_kpa_gauge",), supply, "sag with flow, dips and noise"),
}
