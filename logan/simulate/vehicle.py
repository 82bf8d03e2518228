"""What stands round the engine: charge air, heat, electrics, driveline and the driver with his script."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from logan.simulate.injection import lag
from logan.simulate.parameters import Drive, Engine, Step
from logan.simulate.spec import Defects

_GRAVITY: Final = 9.81
_AIR_KG_M3: Final = 1.2


@dataclass(slots=True)
class ChargeAir:
    """Turbocharger: boost follows its command with a lag that is long at low speed; a leak takes a share of it."""

    engine: Engine
    ambient_kpa: float
    gauge_kpa: float = 0.0
    command_kpa: float = 0.0
    manifold_kpa: float = 0.0

    def step(self, dt_s: float, speed_rpm: float, load: float, d: Defects) -> None:
        """Move on."""
        full = self.engine.boost_full_kpa
        x = min(1.0, max(0.0, (speed_rpm - 900) / (0.55 * self.engine.rated_rpm)))
        goal = full * x * (0.12 + 0.88 * load)
        self.command_kpa = self.ambient_kpa + lag(self.command_kpa - self.ambient_kpa, goal, dt_s, 0.5)
        self.gauge_kpa = lag(self.gauge_kpa, goal, dt_s, 0.35 + 0.6 * (1 - x))
        kept = 1 - min(0.95, d.boost_leak_kpa / full) if full else 1.0
        self.manifold_kpa = self.ambient_kpa + self.gauge_kpa * kept

    @property
    def share(self) -> float:
        """Boost that reaches the cylinders, in parts of the full one."""
        full = self.engine.boost_full_kpa
        return min(1.0, max(0.0, (self.manifold_kpa - self.ambient_kpa) / full)) if full else 0.0


@dataclass(slots=True)
class Heat:
    """Coolant with thermostat and radiator, oil behind it, fuel and intake air."""

    engine: Engine
    opens_degc: float
    ambient_degc: float
    coolant_degc: float
    oil_degc: float
    fuel_degc: float
    intake_degc: float

    def step(self, dt_s: float, fuel_g_s: float, speed_kmh: float, boost_kpa: float, d: Defects) -> None:
        """Move on."""
        litres = self.engine.bore_mm**2 * self.engine.stroke_mm * 1e-6 * 3.2
        capacity = 15.0 * litres  # kJ/K, block and coolant
        heat = self.engine.heat_to_coolant * fuel_g_s * self.engine.heat_kj_per_g
        opening = min(1.0, max(0.0, (self.coolant_degc - self.opens_degc) / 9.0))
        opening = max(opening, d.thermostat_stuck_percent / 100)
        over = self.coolant_degc - self.ambient_degc
        radiator = opening * litres * (0.03 + 0.0016 * speed_kmh)
        loss = (radiator + litres * 0.006) * over
        self.coolant_degc += (heat - loss) / capacity * dt_s
        self.oil_degc = lag(self.oil_degc, self.coolant_degc + 4 + 3 * fuel_g_s / litres, dt_s, 150.0)
        self.fuel_degc = lag(self.fuel_degc, self.ambient_degc + 0.3 * over, dt_s, 300.0)
        self.intake_degc = lag(self.intake_degc, self.ambient_degc + 6 + 0.22 * boost_kpa, dt_s, 8.0)

    @property
    def cold(self) -> float:
        """1 = freezing cold, 0 = warm."""
        return min(1.0, max(0.0, (60.0 - self.coolant_degc) / 60.0))


@dataclass(slots=True)
class Electrics:
    """Battery and alternator."""

    regulated_v: float
    voltage_v: float = 12.5

    def step(self, dt_s: float, speed_rpm: float, running: bool, starter: bool, d: Defects) -> None:
        """Move on."""
        if starter:
            goal = 10.1 + 0.006 * min(speed_rpm, 250.0)
        elif running:
            goal = self.regulated_v - d.charging_loss_v - 0.4 * max(0.0, 1 - speed_rpm / 700)
        else:
            goal = 12.35
        self.voltage_v = lag(self.voltage_v, goal, dt_s, 0.08 if starter else 0.7)


@dataclass(slots=True)
class Driveline:
    """Torque converter, gears and the vehicle's resistance."""

    engine: Engine
    speed_m_s: float = 0.0
    gear: int = 0

    def choose(self, step: Step, speed_rpm: float) -> None:
        """Take the script's gear, or shift by engine speed."""
        if step.do in ("off", "key", "start", "crank", "idle", "rev") or (step.do == "brake" and self.speed_m_s < 4):
            self.gear = 0
        elif step.gear:
            self.gear = min(step.gear, len(self.engine.gears))
        elif self.gear == 0:
            self.gear = 1
        elif speed_rpm > 0.72 * self.engine.rated_rpm and self.gear < len(self.engine.gears):
            self.gear += 1
        elif speed_rpm < 0.36 * self.engine.rated_rpm and self.gear > 1:
            self.gear -= 1

    def step(self, dt_s: float, speed_rad_s: float, braking: bool, inertia_kgm2: float) -> float:
        """Move on and give the torque that the engine must give, N m."""
        e = self.engine
        torque = 0.0
        wheel_nm = 0.0
        if self.gear and speed_rad_s > 20:
            ratio = e.gears[self.gear - 1] / e.wheel_radius_m
            turbine = self.speed_m_s * ratio
            slip = 1 - turbine / speed_rad_s
            capacity = e.converter_nm_s2 * speed_rad_s**2
            torque = capacity * min(1.0, max(-0.6, slip / 0.14))
            # slip reacts within the step: a share of the torque is gone before it is over
            torque /= 1 + dt_s * capacity / (0.14 * speed_rad_s * inertia_kgm2) * 0.5
            wheel_nm = torque * (1 + max(0.0, slip) * 0.8) * ratio
        drag = 0.5 * _AIR_KG_M3 * e.drag_area_m2 * self.speed_m_s**2 + 0.011 * e.vehicle_mass_kg * _GRAVITY
        force = wheel_nm - (drag if self.speed_m_s > 0.05 else 0.0) - (2.2 * e.vehicle_mass_kg if braking else 0.0)
        self.speed_m_s = max(0.0, self.speed_m_s + force / e.vehicle_mass_kg * dt_s)
        return torque

    @property
    def speed_kmh(self) -> float:
        """Road speed."""
        return self.speed_m_s * 3.6


@dataclass(slots=True)
class Driver:
    """Follows the script: key, starter, pedal, brake."""

    drive: Drive
    index: int = 0
    since_s: float = 0.0
    pedal: float = 0.0
    integral: float = 0.0
    ran_s: float = 0.0
    step_now: Step = field(init=False)  # the step of the script that is being driven

    def __post_init__(self) -> None:
        self.step_now = self.drive.step[self.index]

    @property
    def done(self) -> bool:
        """Whether the script is over."""
        return self.index >= len(self.drive.step)

    def step(self, dt_s: float, speed_kmh: float, running: bool) -> None:
        """Move on: next step of the script where its time is over, pedal at a human pace."""
        step = self.step_now
        self.since_s += dt_s
        self.ran_s = self.ran_s + dt_s if running else 0.0
        if self.since_s >= step.seconds or (step.do == "start" and self.ran_s > 0.6):
            self.index += 1
            self.step_now = self.drive.step[min(self.index, len(self.drive.step) - 1)]
            self.since_s = 0.0
            self.integral = self.pedal
        step = self.step_now
        goal = step.pedal if step.do in ("rev", "pull") else 0.0
        if step.do == "cruise":
            short = step.speed_kmh - speed_kmh
            self.integral = min(max(self.integral + 0.9 * short * dt_s, 0.0), 55.0)
            goal = min(max(self.integral + 5.0 * short, 0.0), 80.0)
        pace = 160.0 * dt_s
        self.pedal += min(max(goal - self.pedal, -2 * pace), pace)

    @property
    def key_on(self) -> bool:
        """Whether the ignition key is on."""
        return self.step_now.do != "off" and not self.done

    @property
    def starting(self) -> bool:
        """Whether the key is at start."""
        return self.step_now.do in ("start", "crank") and not self.done

    @property
    def braking(self) -> bool:
        """Whether the brake is pressed."""
        return self.step_now.do == "brake"
