"""What the control module knows: the exact values through its sensors, by channel name, at any time."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np

from logan.model.profile import EngineProfile
from logan.simulate.cycle import Array
from logan.simulate.engine import Run
from logan.simulate.parameters import Engine
from logan.simulate.spec import Defects
from logan.units import DEG_PER_RPM_S

# standard deviation of what the sensor and its converter add
NOISE: Final[dict[str, float]] = {
    "control_module_voltage": 0.03,
    "intake_manifold_pressure": 0.4,
    "mass_air_flow": 0.15,
    "injection_timing_actual": 0.08,
    "fuel_supply_pressure": 1.2,
    "crank_cam_phase": 0.12,
}
_RAIL_NOISE: Final = 0.004  # of the value
_FUEL_BULK_KPA: Final = 1.4e6  # bulk modulus of diesel fuel, from memory; rises with pressure, not followed
_FUEL_MG_PER_CM3: Final = 830.0
_INJECTION_DEG: Final = 15.0
_STEPPED: Final = {"starter_active", "running", "engine_speed", "speed_over_cycle"}


@dataclass(frozen=True, slots=True)
class Changes:
    """Defects over time: piecewise constant."""

    steps: list[tuple[float, Defects]]

    def at(self, name: str, time_s: Array) -> Array:
        """One defect at some times, (n,)."""
        starts = np.array([start for start, _ in self.steps])
        values = np.array([float(getattr(defects, name)) for _, defects in self.steps])
        return np.asarray(values[np.clip(np.searchsorted(starts, time_s, side="right") - 1, 0, None)])

    @property
    def last(self) -> Defects:
        """Defects at the end."""
        return self.steps[-1][1]


@dataclass(frozen=True, slots=True)
class Signals:
    """Sensors and counters of the control module.

    Parameters
    ----------
    cam_good_deg : mounting tolerance of the cam target of this engine, positive = late
    error_time_s, crank_errors, cam_errors : (m,) counters of implausible edges
    """

    run: Run
    profile: EngineProfile
    engine: Engine
    changes: Changes
    cam_good_deg: float
    error_time_s: Array
    crank_errors: Array
    cam_errors: Array
    rng: np.random.Generator

    def exact(self, name: str, time_s: Array) -> Array:
        """A column of the run at some times, (n,); switches and measured speeds hold their last value."""
        trace = self.run.trace
        if name in _STEPPED:
            at = np.searchsorted(trace["time_s"], time_s, side="right") - 1
            return np.asarray(trace[name][np.clip(at, 0, None)])
        return np.interp(time_s, trace["time_s"], trace[name])

    def at(self, name: str, time_s: Array) -> Array:
        """A standard channel as the control module has it at some times, (n,)."""
        value = self._derived(name, time_s)
        noise = NOISE.get(name, 0.0)
        if name == "fuel_rail_pressure_actual":
            noisy = value * (1 + _RAIL_NOISE * self.rng.standard_normal(len(value))) + self.rail_ripple_kpa(time_s)
            return np.asarray(np.maximum(noisy, 0.0))
        return value + noise * self.rng.standard_normal(len(value)) if noise else value

    def _derived(self, name: str, time_s: Array) -> Array:
        special: dict[str, Callable[[Array], Array]] = {
            "accelerator_pedal_d": lambda t: self.exact("pedal", t),
            "accelerator_pedal_e": lambda t: np.clip(
                self.exact("pedal", t) + self.changes.at("pedal_track_error_percent", t), 0.0, 100.0
            ),
            "idle_validation": lambda t: (self.exact("pedal", t) < 3.0).astype(float),
            "idle_speed_target": lambda t: np.full(len(t), float(self.profile.idle.target_rpm or 0.0)),
            "crank_signal_errors": lambda t: self._count(self.crank_errors, t),
            "cam_signal_errors": lambda t: self._count(self.cam_errors, t),
            "crank_cam_phase": self.cam_phase_deg,
        }
        if name in special:
            return special[name](time_s)
        if name.startswith("cylinder_") and name.endswith("_fuel_correction"):
            column = self.run.correction[:, int(name.split("_")[1]) - 1]
            return np.interp(time_s, self.run.trace["time_s"], column)
        return self.exact(name, time_s)

    def cam_phase_deg(self, time_s: Array) -> Array:
        """Cam against crank, observed minus expected, mean over the cycle, without noise, (n,) deg."""
        late = self.changes.at("cam_delay_ms", time_s) * 1e-3 * DEG_PER_RPM_S * self.exact("engine_speed", time_s)
        return self.cam_good_deg + self.changes.at("cam_offset_deg", time_s) + late

    def rail_ripple_kpa(self, time_s: Array) -> Array:
        """Rail pressure less its mean over the cycle, (n,) kPa: injections take fuel, strokes of the pump bring it.

        Pressure step of a volume in a stiff vessel: dp = K dV / V (textbook). Waves along the rail are left out.
        """
        engine, z = self.engine, len(self.profile.firing_order)
        if not engine.rail_volume_cm3 or not len(self.run.motion.angle_deg):
            return np.zeros(len(time_s))
        step_kpa = _FUEL_BULK_KPA * self.exact("fuel_quantity", time_s) / _FUEL_MG_PER_CM3 / engine.rail_volume_cm3
        return step_kpa * rail_ripple(self.run.motion.angle_at(time_s), z, engine.rail_pump_strokes)

    def _count(self, counter: Array, time_s: Array) -> Array:
        at = np.searchsorted(self.error_time_s, time_s, side="right") - 1
        return np.asarray(counter[np.clip(at, 0, None)])


def rail_ripple(angle_deg: Array, cylinders: int, strokes: int) -> Array:
    """Fuel in the rail over the cycle less its mean, (n,), in parts of one injection.

    Each of ``strokes`` a cycle brings its share as half a sine wave over its whole stroke; each injection takes its
    part evenly over ``_INJECTION_DEG`` after top dead centre.
    """
    cycle = angle_deg % 720.0 / 720.0
    delivered = _events(cycle * strokes, lambda x: (1 - np.cos(np.pi * x)) / 2) * cylinders / strokes
    share = _INJECTION_DEG * cylinders / 720.0
    injected = _events(cycle * cylinders, lambda x: np.minimum(x / share, 1.0))
    # means over the cycle: (cylinders - 1) / 2 + 1 - share / 2 taken, (strokes - 1) / 2 + 1 / 2 brought
    mean = cylinders / 2 - ((cylinders + 1 - share) / 2)
    return np.asarray(delivered - injected - mean)


def _events(x: Array, part: Callable[[Array], Array]) -> Array:
    """Whole events so far and the done part of the present one, (n,)."""
    whole = np.floor(x)
    return np.asarray(whole + part(x - whole))


def build(run: Run, profile: EngineProfile, engine: Engine, changes: Changes, rng: np.random.Generator) -> Signals:
    """Sensors of one run; counters of implausible edges rise by chance with what the wheels lose."""
    time_s = np.arange(0.0, run.end_s + 0.1, 0.1)
    turned = np.diff(run.motion.angle_at(time_s), prepend=0.0) / 360.0
    turned[0] = 0.0
    crank_rate = changes.at("crank_dropouts_per_1000rev", time_s) / 1000 + changes.at("crank_inverted", time_s)
    # a wheel that swings by more than some percent upsets the search for the gap now and then
    crank_rate = crank_rate + np.clip(changes.at("crank_runout_percent", time_s) - 3.0, 0.0, None) * 0.01
    cam_rate = changes.at("cam_dropouts_per_1000rev", time_s) / 1000
    good = 0.3 * float(rng.standard_normal())
    crank = np.cumsum(rng.poisson(np.maximum(crank_rate * turned, 0.0))).astype(float)
    cam = np.cumsum(rng.poisson(np.maximum(cam_rate * turned, 0.0))).astype(float)
    return Signals(run, profile, engine, changes, good, time_s, crank, cam, rng)
