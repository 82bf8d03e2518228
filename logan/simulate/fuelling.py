"""Fuel demand: idle and speed control of diesels, throttle and mixture of spark engines, cylinder balance."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from typing import Final

from logan.simulate.parameters import Engine
from logan.simulate.spec import Defects

STOICHIOMETRIC: Final = 14.6  # kg air per kg petrol
_START_FUEL: Final = 0.55  # share of the full quantity while cranking
_RELEASED: Final = 3.0  # pedal percent under which the idle switch says released


def full_quantity_mg(engine: Engine, speed_rpm: float, boost_share: float) -> float:
    """Most fuel a stroke at a speed: torque curve and smoke limit (share of full boost reached)."""
    x = speed_rpm / engine.rated_rpm
    curve = 1.0 - 0.35 * max(0.0, 0.45 - x) - 0.25 * max(0.0, x - 0.8)
    smoke = 0.58 + 0.42 * boost_share if engine.boost_full_kpa else 1.0
    return engine.fuel_max_mg * max(0.0, min(curve, smoke))


@dataclass(slots=True)
class DieselGovernor:
    """Idle control (proportional and integral on speed), pedal map, speed limit, overrun cut."""

    engine: Engine
    target_rpm: float
    integral_mg: float = 0.0

    def quantity_mg(self, dt_s: float, speed_rpm: float, pedal: float, limit_mg: float, swing_mg: float) -> float:
        """Fuel of the next firing, mg."""
        engine = self.engine
        error = self.target_rpm - speed_rpm
        if speed_rpm < 0.6 * self.target_rpm:
            self.integral_mg = 0.08 * engine.fuel_max_mg
            return _START_FUEL * engine.fuel_max_mg
        near = -250 < error < 250
        if pedal < _RELEASED and near:
            self.integral_mg += engine.idle_gain_i * error * dt_s
            self.integral_mg = min(max(self.integral_mg, 0.0), 0.5 * engine.fuel_max_mg)
        if pedal < _RELEASED and error < -350:
            return 0.0
        idle = self.integral_mg + min(max(engine.idle_gain_p * error, -8.0), 8.0) + swing_mg
        top = engine.fuel_max_mg * min(1.0, max(0.0, (engine.rated_rpm * 1.12 - speed_rpm) / (0.10 * engine.rated_rpm)))
        asked = pedal / 100 * engine.fuel_max_mg * (1.25 - 0.35 * speed_rpm / engine.rated_rpm)
        return min(max(idle, 0.0) + max(asked, 0.0), limit_mg, top)


@dataclass(slots=True)
class Hunting:
    """A control that sees the speed late and reacts far too hard, up to a limit of fuel, both ways.

    The limit sets the size of the swing (describing function of a relay with a pure integrator behind it, textbook:
    amplitude 4 h G / (pi J w)), the delay its frequency.
    """

    target_rpm: float
    inertia_kgm2: float
    torque_per_mg: float
    seen: deque[tuple[float, float]] = field(default_factory=deque)

    def swing_mg(self, now_s: float, speed_rpm: float, pedal: float, d: Defects) -> float:
        """Fuel that it adds or takes, mg; 0 for a good control and with the pedal pressed."""
        if not d.idle_hunt_rpm or pedal >= _RELEASED:
            return 0.0
        self.seen.append((now_s, speed_rpm))
        while len(self.seen) > 1 and self.seen[1][0] <= now_s - 0.25 / d.frequency_hz:
            self.seen.popleft()
        amplitude_rad_s = d.idle_hunt_rpm * math.pi / 30
        pulsation = 2 * math.pi * d.frequency_hz
        height = amplitude_rad_s * math.pi * self.inertia_kgm2 * pulsation / (4 * self.torque_per_mg)
        return height * math.tanh((self.target_rpm - self.seen[0][1]) / (0.25 * d.idle_hunt_rpm))


@dataclass(slots=True)
class Throttle:
    """Air and mixture of a spark engine: manifold pressure, idle air, fuel trims."""

    engine: Engine
    target_rpm: float
    integral: float = 0.030
    pressure_share: float = 1.0
    short_term: float = 0.0
    long_term: float = 0.0
    error_percent: float = 0.0
    opening: float = 0.03
    ripple: float = 1.0

    def quantity_mg(self, dt_s: float, speed_rpm: float, pedal: float, charge_mg: float, d: Defects) -> float:
        """Fuel of the next firing, mg; ``charge_mg`` is the air of a full cylinder at ambient pressure."""
        engine = self.engine
        error = self.target_rpm - speed_rpm
        cranking = speed_rpm < 0.6 * self.target_rpm
        if pedal < _RELEASED and -600 < error < 250 and not cranking:
            self.integral = min(max(self.integral + engine.idle_gain_i * error * dt_s, 0.010), 0.12)
        idle = self.integral + min(max(engine.idle_gain_p * error, -0.02), 0.03)
        self.opening = 0.05 if cranking else max(0.004, idle) + (max(pedal - _RELEASED, 0.0) / 97.0) ** 1.6
        breath = self.opening * 2.6 * engine.rated_rpm / max(speed_rpm, 100.0)
        goal = 0.10 + 0.90 * breath / math.sqrt(1 + breath**2)  # from choked flow at small to no loss at wide openings
        self.pressure_share += (goal - self.pressure_share) * (1 - math.exp(-dt_s * max(speed_rpm, 100.0) / 60.0))
        top = speed_rpm > engine.rated_rpm * 1.1
        cut = pedal < _RELEASED and error < -600
        self._trim(dt_s, speed_rpm, d, active=not (cranking or cut))
        return 0.0 if cut or top else max(self.pressure_share - 0.10, 0.0) * charge_mg / STOICHIOMETRIC

    def _trim(self, dt_s: float, speed_rpm: float, d: Defects, *, active: bool) -> None:
        """Closed-loop mixture: the short-term trim chases the error, the long-term one learns it."""
        flow = self.pressure_share * speed_rpm
        idle_flow = 0.33 * self.target_rpm
        share = min(1.0, idle_flow / max(flow, 1.0))  # an air leak matters at idle, a weak pump at high flow
        weight = {"idle": share**1.5, "cruise": min(1.0, 0.15 + 0.85 * (1 - share)), "both": 1.0}[d.where]
        self.error_percent = d.mixture_percent * weight
        if not active:
            return
        left = self.error_percent - self.short_term - self.long_term
        if abs(left) > 1.5:
            self.ripple = math.copysign(1.0, left)  # two-point control around the sensor's switching
        self.short_term += (1.6 * self.ripple + 0.9 * left) * dt_s
        self.short_term = min(max(self.short_term, -25.0), 25.0)
        self.long_term = min(max(self.long_term + 0.05 * self.short_term * dt_s, -25.0), 25.0)

    def mixture(self) -> float:
        """Fuel in percent of what the air needs, after correction."""
        return 100.0 - (self.error_percent - self.short_term - self.long_term)


@dataclass(slots=True)
class Balance:
    """Cylinder balance at idle: more fuel for cylinders whose firing lifts the speed less, within an authority."""

    authority_percent: float
    correction: list[float]
    lift: list[float]

    def learn(self, cylinder: int, lift_j: float, dt_s: float) -> None:
        """Note the energy gained over a cylinder's interval and move its correction."""
        self.lift[cylinder] += 0.3 * (lift_j - self.lift[cylinder])
        mean = sum(self.lift) / len(self.lift)
        step = 0.35 * (mean - self.lift[cylinder]) * dt_s
        limit = self.authority_percent
        self.correction[cylinder] = min(max(self.correction[cylinder] + step, -limit), limit)
