"""The true value of every measure, from the exact run and the sizes that were asked for."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.simulate.cycle import CYCLE_DEG, STEP_DEG, Array
from logan.simulate.engine import Run
from logan.simulate.monitors import held_since
from logan.simulate.recording import Recording
from logan.simulate.signals import Signals
from logan.simulate.wheels import CAM_PLAY_DEG

_GRID_S: Final = 0.1
_LOAD: Final = 60.0
_SETTLE_S: Final = 5.0
_RUN_UP_S: Final = 3.0
_WARM_UP_S: Final = 420.0

Value = float | list[float]

APPROXIMATE: Final = {
    "idle_speed_std_rpm": "by time, of the mean speed of each firing interval; "
    "a speed taken over a longer way spreads less",
    "idle_speed_p2p_rpm": "of the speed of each firing interval; grows with the length of the record",
    "idle_hunt_frequency_hz": "read off the exact speed, given where the control hunts",
    "idle_hunt_amplitude_rpm": "half of peak to peak of the first three harmonics of the exact speed",
    "cam_phase_error_deg": "as fitted: an elastic crank moves single marks by the twist from its wheel to its front",
    "cam_phase_jitter_deg": "play of the cam target; 2 microseconds of noise of each edge come on top",
    "supply_pressure_min_kpa_gauge": "from the exact pressure, without the sensor's noise",
    "rail_error_percent": "median of the exact trace under load, lag at tip-in included",
    "rail_swing_percent": "the swing of the control; what injections and pump strokes ripple is left out",
    "boost_error_kpa": "median of the exact trace under load, turbocharger lag included",
    "cylinder_compression_percent": "dips of the exact crank speed; neighbours shift a little with a weak cylinder",
    "cylinder_contribution_percent": "gas work of the firing interval at warm idle, next cylinder's compression in it",
    "warmup_plateau_degc": "median of the last third of the running time, given from seven minutes on",
}
"""Measures whose true value depends on how one reads the definition, and how it was read here."""


class _Grid:
    """The run on an even grid with the states that the measures speak of."""

    def __init__(self, signals: Signals) -> None:
        self.run, self.signals, self.profile = signals.run, signals, signals.profile
        self.time = np.arange(0.0, self.run.end_s, _GRID_S)
        self.running = self.at("running") > 0
        released = (self.at("pedal") < 3) & (self.at("vehicle_speed") < 0.5)
        warm = self.at("coolant_temperature") >= self.profile.idle.warm_coolant_degc
        self.idle = held_since(self.running & released) >= _SETTLE_S
        self.warm_idle = self.idle & warm
        self.load = (held_since(self.running) >= _RUN_UP_S) & (self.at("calculated_load") >= _LOAD)
        self.cruise = self.running & (self.at("vehicle_speed") > 20) & (self.at("pedal") > 3) & ~self.load

    def at(self, name: str) -> Array:
        return self.signals.exact(name, self.time)


def _idle(g: _Grid) -> dict[str, Value]:
    rows = np.interp(g.run.trace["time_s"], g.time, g.warm_idle.astype(float)) == 1
    if rows.sum() < 50:
        return {}
    speed = g.run.trace["engine_speed"][rows]
    hunt = _hunt(g) if g.signals.changes.last.idle_hunt_rpm else {}
    return {
        "idle_speed_mean_rpm": float(np.average(speed, weights=1 / speed)),
        "idle_speed_std_rpm": float(np.sqrt(np.cov(speed, aweights=1 / speed))),
        "idle_speed_p2p_rpm": float(np.ptp(speed)),
        **hunt,
    }


def _hunt(g: _Grid) -> dict[str, Value]:
    """Strongest periodic swing of 0.1 to 3 Hz in the exact speed of the longest warm idle."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], g.warm_idle, [False]]).astype(int)))
    first, last = max(zip(edges[::2], edges[1::2], strict=True), key=lambda s: s[1] - s[0])
    time = g.time[first:last]
    if len(time) * _GRID_S < 10:
        return {}
    fine = np.arange(time[0], time[-1], 0.02)
    speed = g.signals.exact("engine_speed", fine)
    speed = speed - np.polyval(np.polyfit(fine, speed, 1), fine)
    frequency = np.arange(0.1, 3.0, 0.2 / (fine[-1] - fine[0]))
    power = np.abs(np.exp(-2j * np.pi * frequency[:, None] * fine) @ speed)
    best = float(frequency[power.argmax()])
    # half of peak to peak of the whole wave: its first three harmonics, so that the firings are left out
    turned = np.exp(2j * np.pi * best * np.outer(np.arange(1, 4), fine))
    wave = np.real((speed @ turned.conj().T) @ turned) * 2 / len(fine)
    return {"idle_hunt_frequency_hz": best, "idle_hunt_amplitude_rpm": float(np.ptp(wave)) / 2}


def _cam(signals: Signals, recording: Recording | None) -> dict[str, Value]:
    changes, run = signals.changes, signals.run
    if changes.last.crank_inverted:
        return {}
    start, end = (recording.start_s, recording.end_s) if recording else (0.0, run.end_s)
    time = np.arange(start, end, _GRID_S)
    time = time[signals.exact("engine_speed", time) > 0]
    if not len(time):
        return {}
    offset = changes.at("cam_offset_deg", time)
    out: dict[str, Value] = {
        "cam_phase_error_deg": signals.cam_good_deg + float(offset.mean()),
        "cam_phase_delay_ms": float(changes.at("cam_delay_ms", time).mean()),
    }
    if not np.ptp(offset):  # a step is no trend
        out["cam_phase_drift_deg_per_min"] = 0.0
    if recording:
        out["cam_phase_jitter_deg"] = CAM_PLAY_DEG
    return out


def _wheels(signals: Signals, recording: Recording | None) -> dict[str, Value]:
    if recording is None:
        return {}
    first, last = signals.run.motion.span(recording.start_s, recording.end_s)
    turns = (last - first) / 360.0
    if turns < 1:
        return {}
    time = np.arange(recording.start_s, recording.end_s, _GRID_S)
    return {
        "crank_dropouts_per_1000rev": recording.sensors["crank"].lost / turns * 1000,
        "cam_dropouts_per_1000rev": recording.sensors["cam"].lost / turns * 1000,
        "crank_wheel_runout_percent": float(signals.changes.at("crank_runout_percent", time).mean()),
    }


def _timing(g: _Grid) -> dict[str, Value]:
    timing, changes = g.run.timing, g.signals.changes
    running = g.time[g.running]
    if g.profile.ignition == "spark" or not len(running):
        return {}
    if not timing.moved_by_actuator:
        return {"timing_error_static_deg": timing.static_deg}
    key = np.array([timing.key_deg(d) for _, d in changes.steps])
    starts = np.array([start for start, _ in changes.steps])
    shift = key[np.clip(np.searchsorted(starts, running, side="right") - 1, 0, None)]
    drift = changes.at("timing_drift_deg_per_min", running)
    plain: dict[str, Value] = {
        "timing_error_static_deg": timing.static_deg + float(shift.mean()),
        "timing_error_delay_ms": timing.delay_ms,
        "timing_error_load_deg": timing.load_deg,
    }
    if changes.last.supply_sag_kpa:  # starved timing falls back with flow in a way that these three do not describe
        plain = {}
    return {
        **plain,
        "timing_error_drift_deg_per_min": float(drift.mean()),
        "timing_hysteresis_deg": timing.play_deg + float(changes.at("timing_hysteresis_deg", running).mean()),
    }


def _pressures(g: _Grid) -> dict[str, Value]:
    out: dict[str, Value] = {}
    window = round(1.0 / _GRID_S)
    held = held_since(g.load) >= 1.0
    if held.any():
        supply = g.at("fuel_supply_pressure")
        over_one_s = np.lib.stride_tricks.sliding_window_view(supply, window + 1).max(axis=1)
        out["supply_pressure_min_kpa_gauge"] = float(over_one_s[held[window:]].min())
    command = g.at("fuel_rail_pressure_commanded")
    actual = g.at("fuel_rail_pressure_actual")
    if command.any():
        if g.load.any():
            out["rail_error_percent"] = float(np.median((100 * (actual / np.maximum(command, 1) - 1))[g.load]))
        if g.running.any():
            out["rail_swing_percent"] = float(g.signals.changes.at("rail_swing_percent", g.time[g.running]).mean())
        out |= _rail_events(g)
    boost = g.at("boost_pressure_commanded")
    if boost.any() and g.load.any():
        out["boost_error_kpa"] = float(np.median((g.at("intake_manifold_pressure") - boost)[g.load]))
    return out


def _rail_events(g: _Grid) -> dict[str, Value]:
    """Leak-down after the last stop that lasts 5 s, build-up of the first start from low pressure."""
    out: dict[str, Value] = {}
    trace = g.run.trace
    time, pressure, turning = trace["time_s"], trace["fuel_rail_pressure_actual"], trace["engine_speed"] > 0
    stops = time[1:][turning[:-1] & ~turning[1:]]
    starts = np.append(time[1:][~turning[:-1] & turning[1:]], g.run.end_s)
    stops = stops[starts[np.searchsorted(starts, stops)] - stops > 5.0]
    if len(stops):
        at = np.interp([stops[-1], stops[-1] + 5.0], time, pressure)
        out["rail_leakdown_kpa_per_s"] = float(at[0] - at[1]) / 5.0
    need = 0.9 * g.signals.engine.rail_start_kpa
    moved = np.flatnonzero(turning)
    if len(moved) and pressure[moved[0]] < need:
        built = moved[0] + np.flatnonzero(pressure[moved[0] :] >= need)
        if len(built):
            before = [built[0] - 1, built[0]]  # straight between the two, as the sensor reads it
            at_need = float(np.interp(need, pressure[before], time[before]))
            out["rail_build_time_s"] = at_need - float(g.run.motion.time_s[0])
    return out


def _cylinders(g: _Grid) -> dict[str, Value]:
    out: dict[str, Value] = {}
    firings = g.run.firings
    z = len(g.profile.firing_order)
    idle = np.interp(firings.time_s, g.time, g.warm_idle.astype(float)) == 1
    if idle.sum() >= 10 * z:
        work = np.array([firings.gas_work_j[idle & (firings.cylinder == c + 1)].mean() for c in range(z)])
        out["cylinder_contribution_percent"] = (100 * (work / work.mean() - 1)).tolist()
    dips = compression_dips(g.run, z, g.profile.firing_order)
    if dips is not None:
        out["cylinder_compression_percent"] = (100 * dips / dips.max()).tolist()
    return out


def compression_dips(run: Run, cylinders: int, firing_order: list[int]) -> Array | None:
    """Mean depth of the dip in speed squared of each cylinder while cranking without fuel, (z,) rad2/s2."""
    motion, interval = run.motion, CYCLE_DEG / cylinders
    steps = round(interval / STEP_DEG)
    cranking = np.interp(motion.time_s, run.trace["time_s"], run.trace["starter_active"]) == 1
    cranking &= np.interp(motion.time_s, run.trace["time_s"], run.trace["fuel_quantity"]) == 0
    square = motion.speed_rad_s**2
    node = motion.angle_deg / STEP_DEG
    whole = np.abs(node - np.round(node)) < 1e-9
    depth: list[list[float]] = [[] for _ in range(cylinders)]
    tops = np.flatnonzero(whole & (np.round(node).astype(int) % steps == 0))
    for top in tops[tops > 4 * steps].tolist():  # after two firing intervals the pressure has built up
        first, last = top - steps, top + steps // 2
        if last < len(square) and cranking[first - 3 * steps : last].all():
            dip = square[first : top + 1].max() - square[top - steps // 2 : last].min()
            position = round(motion.angle_deg[top] / interval) % cylinders
            depth[firing_order[position] - 1].append(float(dip))
    if min(map(len, depth)) < 2:
        return None
    return np.array([np.mean(d) for d in depth])


def _others(g: _Grid) -> dict[str, Value]:
    out: dict[str, Value] = {}
    if g.running.any():
        out["running_voltage_v"] = float(np.median(g.at("control_module_voltage")[g.running]))
        out["pedal_track_error_percent"] = float(
            np.median(g.signals.changes.at("pedal_track_error_percent", g.time[g.running]))
        )
    coolant = g.at("coolant_temperature")[g.running]
    if len(coolant) * _GRID_S > _WARM_UP_S:
        out["warmup_plateau_degc"] = float(np.median(coolant[-len(coolant) // 3 :]))
    if g.profile.ignition == "spark":
        total = g.at("short_term_fuel_trim_1") + g.at("long_term_fuel_trim_1")
        for name, where in (("idle", g.warm_idle), ("cruise", g.cruise)):
            if where.any():
                out[f"fuel_trim_total_{name}_percent"] = float(np.median(total[where]))
    return out


def own_work_percent(signals: Signals) -> list[float]:
    """Work of each cylinder's own cycle at warm idle against the mean, percent; empty without enough idle."""
    g, firings = _Grid(signals), signals.run.firings
    z = len(g.profile.firing_order)
    idle = np.interp(firings.time_s, g.time, g.warm_idle.astype(float)) == 1
    if idle.sum() < 10 * z:
        return []
    own = np.array([firings.own_work_j[idle & (firings.cylinder == c + 1)].mean() for c in range(z)])
    return [float(v) for v in 100 * (own / own.mean() - 1)]


def measures(signals: Signals, recording: Recording | None) -> dict[str, Value]:
    """True value of every standard measure that this run has."""
    g = _Grid(signals)
    return {
        **_idle(g),
        **_cam(signals, recording),
        **_wheels(signals, recording),
        **_timing(g),
        **_pressures(g),
        **_cylinders(g),
        **_others(g),
    }
