"""Voltage, coolant, boost, pedal and mixture: known truths in noise, steps and sensor tolerance."""

from __future__ import annotations

import numpy as np

from accuracy import Case
from accuracy.bus import STEP_S, Link, Rng, Row, follower, link, record, road, rows, wandering
from logan.measures.air import boost_error
from logan.measures.electrical import running_voltage
from logan.measures.pedal import pedal_tracks
from logan.measures.thermal import warmup_plateau
from logan.measures.trims import fuel_trims
from logan.model.channel import Channel

LOAD_STEP = 100.0 / 255.0


def voltage(seed: int) -> dict[str, Row]:
    """System voltage with loads that come and go; the module's voltmeter has a tolerance of 0.03 V (standard)."""
    rng: Rng = np.random.default_rng(seed)
    length_s = rng.uniform(60.0, 900.0)
    t_s = np.arange(0.0, length_s, 0.1)
    truth = rng.uniform(11.8, 14.6)
    volts = truth + rng.uniform(0.02, 0.2) * wandering(rng, t_s, rng.uniform(0.3, 10.0))
    via, step = link(rng), float(rng.choice([0.001, 0.05, 0.1]))
    seen = volts + rng.normal(0.0, 0.03)
    channels = [
        via.channel(rng, "control_module_voltage", t_s, seen, step, 1, rng.uniform(0.0, 0.1)),
        via.channel(rng, "engine_speed", t_s, 0 * t_s + 800.0, 0.25, 2),
    ]
    return rows(running_voltage(record(channels, [("idle_warm", 0.0, length_s)])), {"running_voltage_v": truth})


def coolant(seed: int) -> dict[str, Row]:
    """An exponential warm-up to a plateau that breathes with the thermostat, recorded to the end or cut off early."""
    rng: Rng = np.random.default_rng(seed)
    length_s, time_s = rng.uniform(600.0, 1800.0), rng.uniform(120.0, 400.0)
    t_s = np.arange(0.0, length_s, 0.2)
    plateau, start = rng.uniform(55.0, 92.0), rng.uniform(-5.0, 30.0)
    value = plateau - (plateau - start) * np.exp(-t_s / time_s)
    value = value + rng.uniform(0.0, 1.0) * wandering(rng, t_s, rng.uniform(20.0, 60.0))
    seen = value + rng.normal(0.0, 0.5)  # tolerance of the sensor at its working point
    channels = [
        Link(rng.uniform(0.3, 1.0), True, 0.03).channel(rng, "coolant_temperature", t_s, seen, 1.0, 1),
        link(rng, slow=True).channel(rng, "engine_speed", t_s, 0 * t_s + 1800.0, 0.25, 2),
    ]
    return rows(warmup_plateau(record(channels, [("cruise", 0.0, length_s)])), {"warmup_plateau_degc": plateau})


def boost(seed: int) -> dict[str, Row]:
    """A shortfall that is the same wherever the load is high; the charger answers within 0.2 to 1 s."""
    rng: Rng = np.random.default_rng(seed)
    way = road(rng, rng.uniform(4.0, 12.0))
    command = 100.0 + 1.2 * np.clip(way.load - 30.0, 0.0, None) * np.clip(way.speed / 2000.0, 0.3, 1.2)
    truth = rng.uniform(-40.0, 3.0)
    actual = follower(command, rng.uniform(0.2, 1.0)) + truth * np.clip((way.load - 30.0) / 30.0, 0.0, 1.0)
    actual = actual + rng.normal(0.0, 1.0)  # tolerance of the sensor
    via = link(rng)
    noise, rho = rng.uniform(0.3, 3.0), rng.uniform(0.0, 0.8)
    channels = [
        via.channel(rng, "intake_manifold_pressure", way.t_s, actual, 1.0, 1, noise, rho),
        via.channel(rng, "boost_pressure_commanded", way.t_s, command, 1.0, 0),
        via.channel(rng, "calculated_load", way.t_s, way.load, LOAD_STEP, 3),
    ]
    return rows(boost_error(record(channels)), {"boost_error_kpa": truth})


def pedal(seed: int) -> dict[str, Row]:
    """Two tracks in a usual ratio, one off by an offset; the pedal is pressed 0.3 to 0.95 of the time."""
    rng: Rng = np.random.default_rng(seed)
    length_s = rng.uniform(40.0, 300.0)
    t_s = np.arange(0.0, length_s, STEP_S)
    target = rng.uniform(0.0, 80.0, int(length_s / 2) + 2) * (
        rng.random(int(length_s / 2) + 2) < rng.uniform(0.3, 0.95)
    )
    hold = np.cumsum(rng.uniform(2.0, 8.0, len(target)))
    d = 15.0 + 0.8 * np.clip(follower(target[np.searchsorted(hold, t_s)], rng.uniform(0.1, 0.4)), 0.0, 100.0)
    ratio, error = float(rng.choice([1.0, 0.5])), rng.uniform(0.3, 12.0)
    e = ratio * (d + error * rng.choice([-1.0, 1.0]))
    via = Link(rng.uniform(2.0, 6.0), True, 0.03) if rng.random() < 0.5 else Link(rng.choice([10.0, 20.0]), False)
    noise = rng.uniform(0.0, 0.3)
    channels = [
        via.channel(rng, "accelerator_pedal_d", t_s, d, LOAD_STEP, 0, noise),
        via.channel(rng, "accelerator_pedal_e", t_s, e, LOAD_STEP, 1, ratio * noise),
    ]
    return rows(pedal_tracks(record(channels)), {"pedal_track_error_percent": error})


def mixture(seed: int) -> dict[str, Row]:
    """Trims that swing about the right mixture; the long-term part learns, stands, or is kept for each load."""
    rng: Rng = np.random.default_rng(seed)
    idle_s, length_s = rng.uniform(60.0, 240.0), rng.uniform(400.0, 900.0)
    t_s = np.arange(0.0, length_s, 0.1)
    idle, cruise = rng.normal(0.0, 10.0, 2)
    total = np.where(t_s < idle_s, idle, cruise)
    kept = [follower(total, rng.uniform(60.0, 600.0), 0.1), 0.0 * t_s + rng.normal(0.0, 3.0), 0.8 * total]
    learnt = kept[rng.integers(3)]
    short = total - learnt + rng.uniform(1.0, 3.0) * np.sin(2 * np.pi * rng.uniform(0.3, 1.2) * t_s)
    short = short + rng.uniform(0.3, 2.0) * wandering(rng, t_s, rng.uniform(0.5, 10.0))
    via = link(rng)
    step = 100.0 / 128.0 if via.polled else float(rng.choice([0.1, 100.0 / 128.0]))
    channels: list[Channel] = [
        via.channel(rng, "short_term_fuel_trim_1", t_s, short, step, 0),
        via.channel(rng, "long_term_fuel_trim_1", t_s, learnt, step, 1),
        via.channel(rng, "engine_speed", t_s, 0 * t_s + 800.0, 0.25, 2),
    ]
    truths = {"fuel_trim_total_idle_percent": float(idle), "fuel_trim_total_cruise_percent": float(cruise)}
    spans = [("idle_warm", 0.0, idle_s), ("cruise", idle_s, length_s)]
    return rows(fuel_trims(record(channels, spans)), truths)


CASES = {
    "voltage": Case(("running_voltage_v",), voltage, "loads come and go; the voltmeter's tolerance"),
    "coolant": Case(("warmup_plateau_degc",), coolant, "level at the end, or still rising"),
    "boost": Case(("boost_error_kpa",), boost, "a shortfall under load; the charger's delay"),
    "pedal": Case(("pedal_track_error_percent",), pedal, "one track off by a fixed amount"),
    "mixture": Case(
        ("fuel_trim_total_idle_percent", "fuel_trim_total_cruise_percent"),
        mixture,
        "the control's own swing; what is learnt grows, stands or goes with load",
    ),
}
