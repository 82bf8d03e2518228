"""Numbers of the truth file against fits of our own to the files beside it.

The files are read with python-can, cantools and the csv module, the fits are numpy and scipy alone: nothing of the
program's readers, decoders or measures has a part in them. What a number means stands in docs/conventions.md.
"""

from __future__ import annotations

import csv
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import can
import cantools
import numpy as np
import pytest
import scipy
from numpy.typing import NDArray

from logan import simulate
from logan.knowledge.locate import dbc_open
from logan.simulate import parameters

Array = NDArray[np.float64]
WEAK = 3  # the weak cylinder
DATABASE = cantools.database.load_file(dbc_open() / "training.dbc")


class Files(NamedTuple):
    """What was written: the log's frames, the edges by wire and flank, the truth."""

    profile: str
    frames: list[can.Message]
    edges: dict[tuple[str, str], Array]
    truth: dict[str, Any]

    def signal(self, name: str) -> tuple[Array, Array]:
        """Times from the first frame and values of one broadcast signal."""
        message, signal = name.split(".")
        kind = DATABASE.get_message_by_name(message)
        seen = [f for f in self.frames if f.arbitration_id == kind.frame_id and f.is_extended_id]
        value = [kind.decode(f.data, decode_choices=False)[signal] for f in seen]
        return np.array([f.timestamp for f in seen]) - simulate.Bus().start_unix_s, np.array(value, float)

    def on(self, time: Array, name: str) -> Array:
        """One broadcast signal at some times, straight between its frames."""
        return np.interp(time, *self.signal(name))

    def pid(self, number: int) -> tuple[Array, Array]:
        """Times and first data byte of the answers to a PID of service 01."""
        seen = [
            f for f in self.frames if f.arbitration_id in (0x7E8, 0x18DAF110) and f.data[1:3] == bytes([0x41, number])
        ]
        return np.array([f.timestamp for f in seen]) - simulate.Bus().start_unix_s, np.array(
            [f.data[3] for f in seen], float
        )

    def teeth(self) -> tuple[Array, Array]:
        """Times and angles of the crank's teeth, deg after top dead centre 1 of either turn."""
        wheel = parameters.profile(self.profile).crank_wheel
        assert wheel is not None
        assert wheel.teeth
        time = self.edges["crank", wheel.active_edge]
        pitch, period = 360 / wheel.teeth, np.diff(time)
        places = np.round(period / scipy.ndimage.median_filter(period, 7))
        after_gap = np.flatnonzero(places >= wheel.missing + 1) + 1
        passed = np.concatenate([[0], np.cumsum(places)])
        start = np.median(passed[after_gap] % wheel.teeth)
        return time, (passed - start) * pitch + wheel.first_edge_deg

    def active(self, wire: str) -> Array:
        profile = parameters.profile(self.profile)
        wheel = {"crank": profile.crank_wheel, "cam": profile.cam_wheel}[wire]
        assert wheel is not None
        return self.edges[wire, wheel.active_edge]

    def cam(self) -> tuple[Array, Array]:
        """How late each cam mark comes, deg, and the speed then, rpm; the crank's turn is the one that fits best."""
        time, angle = self.teeth()
        wheel = parameters.profile(self.profile).cam_wheel
        assert wheel is not None
        marks = np.array(wheel.edges_deg)
        cam = self.active("cam")
        cam = cam[(cam > time[0]) & (cam < time[-1])]
        seen = np.interp(cam, time, angle)
        rpm = np.interp(cam, (time[60:] + time[:-60]) / 2, (angle[60:] - angle[:-60]) / (time[60:] - time[:-60]) / 6)
        best = (np.inf, np.empty(0))
        for turn in (0, 360):
            away = (seen[:, None] + turn - marks + 360) % 720 - 360
            late = away[np.arange(len(away)), np.abs(away).argmin(axis=1)]
            best = min(best, (float(np.abs(late - np.median(late)).mean()), late), key=lambda pair: pair[0])
        return best[1], rpm


def make(folder: Path, profile: str, drive: str, fault: str, size: float) -> Files:
    kind = parameters.faults()[fault]
    sensors = {"start_s": 0.0, "seconds": 75.0} if kind.sensors or kind.cylinder else None
    spec = simulate.make_spec(
        profile=profile, drive=drive, fault=fault, size=size, cylinder=WEAK if kind.cylinder else None, seed=8,
        sensors=sensors, bus={"slower": 2.0, "background": False},
    )  # fmt: skip
    simulate.write(simulate.run(spec), folder, "it")
    edges: dict[tuple[str, str], list[float]] = {}
    if sensors:
        lines = [line for line in (folder / "it.edges.csv").read_text().splitlines() if not line.startswith("#")]
        for row in csv.DictReader(lines):
            edges.setdefault((row["channel"], row["edge"]), []).append(float(row["time_s"]))
    return Files(
        profile, list(can.CanutilsLogReader(folder / "it.log")), {k: np.array(v) for k, v in edges.items()},
        json.loads((folder / "it.truth.json").read_text())["measures"],
    )  # fmt: skip


def crank_lost(f: Files) -> float:
    wheel = parameters.profile(f.profile).crank_wheel
    assert wheel is not None
    assert wheel.teeth
    time, angle = f.teeth()
    turns = (angle[-1] - angle[0]) / 360
    return (turns * (wheel.teeth - wheel.missing) - len(time) + 1) / turns * 1000


def cam_lost(f: Files) -> float:
    wheel = parameters.profile(f.profile).cam_wheel
    assert wheel is not None
    _, angle = f.teeth()
    turns = (angle[-1] - angle[0]) / 360
    return (turns * len(wheel.edges_deg) / 2 - len(f.active("cam"))) / turns * 1000


def runout(f: Files) -> float:
    time, angle = f.teeth()
    steady = time > 30
    t, a = time[steady], angle[steady]
    turn = np.interp(a + 180, a, t) - np.interp(a - 180, a, t)  # no order of the turn in it
    use = (a > a[0] + 180) & (a < a[-1] - 180)
    early = (t[use] - (np.interp(a[use] + 180, a, t) + np.interp(a[use] - 180, a, t)) / 2) / turn[use] * 360
    waves = np.exp(-1j * np.radians(a[use]))
    # t lags by -error, and half a turn on by +error: twice; radians of error are the share of the spacing
    return float(abs(2 * (early * waves).mean()) / 2 * np.pi / 180 * 100)


def cam_offset(f: Files) -> float:
    late, _ = f.cam()
    return float(np.median(late))


def cam_delay(f: Files) -> float:
    late, rpm = f.cam()
    return float(np.polyfit(0.006 * rpm, late, 1)[0])


def timing_error(f: Files) -> tuple[Array, Array]:
    time, actual = f.signal("PumpState.TimingActual")
    return time, actual - f.signal("PumpState.TimingDesired")[1]


def key(f: Files) -> float:
    time, error = timing_error(f)
    return float(np.median(error[time > 20]))


def drift(f: Files) -> float:
    time, error = timing_error(f)
    return float(60 * np.polyfit(time[time > 20], error[time > 20], 1)[0])


def sticking(f: Files) -> float:
    """Width of the band in which the error rests while the command has been still for two seconds, noise smoothed."""
    time, error = timing_error(f)
    wanted = f.signal("PumpState.TimingDesired")[1]
    count = round(2.0 / float(np.median(np.diff(time))))
    moved = scipy.ndimage.maximum_filter1d(wanted, count) - scipy.ndimage.minimum_filter1d(wanted, count)
    still = (moved[: -count // 2] < 0.6) & (time[count // 2 :][: len(moved) - count // 2] > 15)
    smooth = scipy.ndimage.uniform_filter1d(error, 15)[count // 2 :][: len(still)]
    return float(np.ptp(smooth[still[: len(smooth)]]))


def under_load(f: Files, time: Array) -> NDArray[np.bool_]:
    return (f.on(time, "EngineState.Load") >= 60) & (f.on(time, "EngineState.Speed") > 500) & (time > 10)


def supply(f: Files) -> float:
    time, value = f.signal("PumpState.SupplyPressure")
    count = round(1.0 / float(np.median(np.diff(time))))
    held = scipy.ndimage.maximum_filter1d(scipy.ndimage.uniform_filter1d(value, 5), count + 1)
    inside = scipy.ndimage.minimum_filter1d(under_load(f, time).astype(int), count + 1) == 1
    return float(held[inside].min())


def rail(f: Files) -> tuple[Array, Array, Array]:
    time, value = f.signal("RailState.PressureActual")
    return time, value, f.signal("RailState.PressureDesired")[1]


def rail_low(f: Files) -> float:
    time, value, wanted = rail(f)
    return float(np.median((100 * (value / np.maximum(wanted, 1) - 1))[under_load(f, time)]))


def rail_swing(f: Files) -> float:
    time, value, wanted = rail(f)
    use = time > 25
    t, share = time[use], 100 * (value[use] / wanted[use] - 1)
    columns = np.stack([np.ones(len(t)), np.cos(2 * np.pi * 0.8 * t), np.sin(2 * np.pi * 0.8 * t)], 1)
    fit = np.linalg.lstsq(columns, share, rcond=None)[0]
    return float(np.hypot(fit[1], fit[2]))


def rail_falls(f: Files) -> float:
    time, value, _ = rail(f)
    speed_at, speed = f.signal("EngineState.Speed")
    stop = speed_at[np.flatnonzero((speed[:-1] > 0) & (speed[1:] == 0))[0] + 1]
    a, b = (np.median(value[np.abs(time - at) < 0.12]) for at in (stop, stop + 5))
    return float(a - b) / 5


def hunting(f: Files) -> float:
    """Amplitude at the strongest frequency by scipy's Lomb-Scargle sum, with its first harmonics' peaks."""
    time, speed = f.signal("EngineState.Speed")
    use = time > 30
    t, y = time[use], speed[use] - speed[use].mean()
    hertz = np.linspace(0.2, 2.0, 2000)
    power = scipy.signal.lombscargle(t, y, 2 * np.pi * hertz)
    best = hertz[power.argmax()]
    waves = [w(2 * np.pi * k * best * t) for k in (1, 2, 3) for w in (np.cos, np.sin)]
    fit = np.linalg.lstsq(np.stack(waves, 1), y, rcond=None)[0]
    return float(np.ptp(np.stack(waves, 1) @ fit)) / 2


def pedal(f: Files) -> float:
    _, e = f.signal("EngineState.PedalE")
    d = f.signal("EngineState.PedalD")[1]
    return float(np.median((e - d)[d > 20]))  # a released pedal reads no less than 0


def boost(f: Files) -> float:
    time, value = f.signal("AirState.ManifoldPressure")
    return float(np.median((value - f.signal("AirState.BoostDesired")[1])[under_load(f, time)]))


def voltage(f: Files) -> float:
    time, value = f.signal("EngineClimate.SystemVoltage")
    return float(np.median(value[(f.on(time, "EngineState.Speed") > 600) & (time > 6)]))


def trim(f: Files) -> float:
    time, short = f.pid(0x06)
    total = (short + np.interp(time, *f.pid(0x07))) * 100 / 128 - 200
    idle = (time > 25) & (f.on(time, "EngineState.PedalD") < 2) & (f.on(time, "VehicleMotion.RoadSpeed") < 0.5)
    return float(np.median(total[idle]))


def weak(f: Files) -> float:
    """Gain of kinetic energy over cylinder 3's firing interval less that a turn later, percent of the mean work.

    The same teeth pass in both, so what is off in them falls out; the mean work is what friction takes of an idling
    engine (the engine's own numbers).
    """
    time, angle = f.teeth()
    late, _ = f.cam()
    assert np.abs(late).mean() < 3
    profile, e = parameters.profile(f.profile), parameters.engine(f.profile)
    z = len(profile.firing_order)
    step = 720 / z
    here = np.arange(np.ceil(angle[time > 40][0] / 720) * 720, angle[-1] - 720, step)
    speed = np.radians(12.0 / (np.interp(here + 6, angle, time) - np.interp(here - 6, angle, time)))
    square = speed**2
    gain = 0.5 * e.inertia_kgm2 * np.diff(square)
    position = np.round(here[:-1] / step).astype(int) % z
    by = np.array([gain[position == k].mean() for k in range(z)])
    work = (e.friction_nm + e.friction_nm_per_rad_s * speed.mean()) * np.radians(step)
    place = profile.firing_order.index(WEAK)
    return float(by[place] - by[(place + z // 2) % z]) / work * 100


CASES: list[tuple[str, str, str, float, str, Callable[[Files], float], float]] = [
    ("crank_signal_dropout", "training_rail_v8", "idle_only", 400, "crank_dropouts_per_1000rev", crank_lost, 6),
    ("cam_signal_dropout", "training_rail_four", "idle_only", 300, "cam_dropouts_per_1000rev", cam_lost, 6),
    ("crank_wheel_runout", "training_spark_four", "idle_only", 2.5, "crank_wheel_runout_percent", runout, 0.1),
    ("cam_phase_offset", "training_rail_four", "idle_only", -7.0, "cam_phase_error_deg", cam_offset, 0.1),
    ("cam_signal_delay", "training_rotary_six", "short_test", 0.5, "cam_phase_delay_ms", cam_delay, 0.02),
    ("pump_key_wrong", "training_rotary_six", "idle_only", -4, "timing_error_static_deg", key, 0.3),
    ("pump_key_reversed", "training_rotary_six", "idle_only", 1, "timing_error_static_deg", key, 0.3),
    ("pump_timing_drift", "training_rotary_six", "idle_only", -2.0, "timing_error_drift_deg_per_min", drift, 0.15),
    ("timing_actuator_sticking", "training_rotary_six", "short_test", 4, "timing_hysteresis_deg", sticking, 0.6),
    ("fuel_supply_low", "training_rotary_six", "short_test", 60, "supply_pressure_min_kpa_gauge", supply, 3),
    ("rail_pressure_low", "training_rail_v8", "short_test", 25, "rail_error_percent", rail_low, 1),
    ("rail_pressure_unstable", "training_rail_four", "idle_only", 6, "rail_swing_percent", rail_swing, 0.3),
    ("rail_leakdown", "training_rail_four", "start_stop", 3500, "rail_leakdown_kpa_per_s", rail_falls, 150),
    ("idle_hunting", "training_rotary_six", "idle_only", 60, "idle_hunt_amplitude_rpm", hunting, 6),
    ("pedal_tracks_disagree", "training_rail_v8", "short_test", -15, "pedal_track_error_percent", pedal, 0.5),
    ("boost_leak", "training_rail_four", "short_test", 50, "boost_error_kpa", boost, 1.5),
    ("charging_voltage_low", "training_rail_v8", "idle_only", 2.2, "running_voltage_v", voltage, 0.05),
    ("mixture_lean", "training_spark_four", "short_test", 20, "fuel_trim_total_idle_percent", trim, 1.2),
    ("mixture_rich", "training_spark_four", "short_test", 15, "fuel_trim_total_idle_percent", trim, 1.2),
    ("cylinder_fuel_low", "training_rail_four", "idle_only", 60, "cylinder_contribution_percent", weak, 6),
]  # fmt: skip


@pytest.mark.parametrize(
    ("fault", "profile", "drive", "size", "measure", "fit", "within"), CASES, ids=[c[0] for c in CASES]
)
def test_truth_is_in_the_files(
    fault: str, profile: str, drive: str, size: float, measure: str, fit: Callable[[Files], float], within: float,
    tmp_path: Path,
) -> None:  # fmt: skip
    files = make(tmp_path, profile, drive, fault, size)
    told = files.truth[measure]
    if isinstance(told, list):
        order = parameters.profile(profile).firing_order
        place = order.index(WEAK)
        told = told[order[place] - 1] - told[order[(place + len(order) // 2) % len(order)] - 1]
    assert fit(files) == pytest.approx(told, abs=within)
