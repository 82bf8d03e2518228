"""Self-monitoring of the training control module: which trouble codes are set, and when."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.knowledge.load import toml
from logan.simulate.cycle import Array
from logan.simulate.parameters import FOLDER
from logan.simulate.signals import Signals

_STEP_S = 0.1
_WARM_UP_S = 420.0


class Monitor(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One rule of ``data/monitors.toml``."""

    code: int
    signal: str
    during: Literal["running", "idle", "load"]
    hold_s: float
    confirm_s: float
    above: float | None = None
    below: float | None = None
    magnitude: bool = False
    cylinders: bool = False
    step: int = 0


class _File(msgspec.Struct, forbid_unknown_fields=True):
    monitor: list[Monitor]


@functools.cache
def monitors() -> list[Monitor]:
    """The rules."""
    return toml(FOLDER / "monitors.toml", _File)[0].monitor


@dataclass(frozen=True, slots=True)
class SetCode:
    """A trouble code that was set: two bytes as sent, and the times from which it is pending and confirmed."""

    code: int
    pending_s: float
    confirmed_s: float

    @property
    def printed(self) -> str:
        """As printed, P0216."""
        return f"{'PCBU'[self.code >> 14]}{self.code >> 12 & 3}{self.code & 0xFFF:03X}"


def held_since(condition: NDArray[np.bool_]) -> Array:
    """How long a condition has held without a break at each grid time, (n,) s."""
    index = np.arange(len(condition))
    broken = np.maximum.accumulate(np.where(condition, -1, index))
    return np.asarray((index - broken) * _STEP_S)


def _grid(signals: Signals, time: Array) -> dict[str, Array]:
    """All that the rules look at, on the grid."""

    def exact(name: str) -> Array:
        return signals.exact(name, time)

    def ratio(error: Array, command: Array) -> Array:
        return np.asarray(np.where(command > 0, 100 * error / np.maximum(command, 1.0), 0.0))

    running = exact("running") > 0
    rail = exact("fuel_rail_pressure_commanded")
    boost = exact("boost_pressure_commanded")
    window = round(8.0 / _STEP_S)

    def rate(name: str) -> Array:
        count = signals.at(name, time)
        earlier = np.concatenate([np.full(window, count[0]), count])[: len(count)]
        return np.asarray((count - earlier) / 8.0)

    opens = signals.profile.limits.thermostat_open_degc
    out = {
        "crank_error_rate": rate("crank_signal_errors"),
        "cam_error_rate": rate("cam_signal_errors"),
        "crank_cam_phase": signals.cam_phase_deg(time),
        "timing_error": exact("injection_timing_actual") - exact("injection_timing_commanded"),
        "rail_error_percent": ratio(exact("fuel_rail_pressure_actual") - rail, rail),
        "boost_error_kpa": np.where(boost > 0, exact("intake_manifold_pressure") - boost, 0.0),
        "warm_up_short_degc": np.where(held_since(running) > _WARM_UP_S, opens - exact("coolant_temperature"), 0.0),
        "control_module_voltage": exact("control_module_voltage"),
        "pedal_difference_percent": signals.at("accelerator_pedal_e", time) - exact("pedal"),
        "fuel_trim_total": exact("short_term_fuel_trim_1") + exact("long_term_fuel_trim_1"),
    }
    authority = signals.engine.balance_authority_percent
    for cylinder in range(signals.run.correction.shape[1]):
        value = signals.at(f"cylinder_{cylinder + 1}_fuel_correction", time)
        out[f"balance_used_percent_{cylinder + 1}"] = 100 * value / authority if authority else 0 * value
    return out


def watch(signals: Signals) -> list[SetCode]:
    """Codes that the run sets, in order of time."""
    time = np.arange(0.0, signals.run.end_s, _STEP_S)
    grid = _grid(signals, time)
    running = signals.exact("running", time) > 0
    during = {
        "running": running,
        "idle": running & (signals.exact("pedal", time) < 3) & (signals.exact("vehicle_speed", time) < 1),
        "load": running & (signals.exact("calculated_load", time) >= 60),
    }
    found: list[SetCode] = []
    for rule in monitors():
        names = [n for n in grid if n.startswith(rule.signal + "_")] if rule.cylinders else [rule.signal]
        for number, name in enumerate(names):
            value = np.abs(grid[name]) if rule.magnitude else grid[name]
            bad = during[rule.during].copy()
            bad &= value > rule.above if rule.above is not None else value < (rule.below or 0.0)
            held = held_since(bad)
            pending = np.flatnonzero(held >= rule.hold_s)
            confirmed = np.flatnonzero(held >= rule.confirm_s)
            if len(pending):
                late = float(time[confirmed[0]]) if len(confirmed) else np.inf
                found.append(SetCode(rule.code + number * rule.step, float(time[pending[0]]), late))
    return sorted(found, key=lambda s: s.pending_s)
