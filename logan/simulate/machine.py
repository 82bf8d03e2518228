"""All parts of one engine in its vehicle; one call of ``interval`` turns it by one firing interval of the crank."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Final, NamedTuple

import numpy as np

from logan.model.profile import EngineProfile
from logan.simulate import cycle, parameters
from logan.simulate.crank import SLOW_RAD_S, Crank, Starter
from logan.simulate.cycle import START_DEG, Array
from logan.simulate.fuelling import Balance, DieselGovernor, Hunting, Throttle, full_quantity_mg
from logan.simulate.injection import Rail, Supply, Timing
from logan.simulate.spec import Defects, Spec
from logan.simulate.torsion import Shaft
from logan.simulate.vehicle import ChargeAir, Driveline, Driver, Electrics, Heat

STANDING_S: Final = 0.02
_FUEL_G_PER_L: Final = {"compression": 835.0, "spark": 745.0}
_AIR_G_PER_KPA_L_K: Final = 1 / 0.287  # density of air in g/l = p / (R T)
_BREATHING: Final = 0.9  # volumetric efficiency


class Firing(NamedTuple):
    """One whole firing interval: when top dead centre of the cylinder opened it; work in J (load: driveline)."""

    time_s: float
    cylinder: int
    gas_work_j: float
    own_work_j: float
    load_work_j: float


@dataclass(slots=True)
class Machine:
    """All parts of one engine in its vehicle, and the loop that turns them."""

    spec: Spec
    profile: EngineProfile
    engine: parameters.Engine
    rng: np.random.Generator
    tables: cycle.Tables = field(init=False)
    crank: Crank = field(init=False)
    shaft: Shaft = field(init=False)
    governor: DieselGovernor = field(init=False)
    throttle: Throttle = field(init=False)
    hunting: Hunting = field(init=False)
    timing: Timing = field(init=False)
    heat: Heat = field(init=False)
    electrics: Electrics = field(init=False)
    air: ChargeAir = field(init=False)
    balance: Balance = field(init=False)
    driver: Driver = field(init=False)
    supply: Supply = field(init=False)
    rail: Rail = field(init=False)
    line: Driveline = field(init=False)
    now_s: float = 0.0
    speed_rpm: float = 0.0
    cycle_rpm: float = 0.0
    running: bool = False
    fuel: list[float] = field(default_factory=lambda: [0.0, 0.0, 0.0])  # last, present, next firing, mg
    start: list[int] = field(default_factory=lambda: [0, 0, 0])
    asked_mg: float = 0.0
    load: float = 0.0
    started_node: int = 0
    fuel_good: list[float] = field(init=False)  # share of the mean that a good injector gives
    seal_good: list[float] = field(init=False)  # percent of compression that a good cylinder lacks
    accessory_nm: float = 0.0
    firings: list[Firing] = field(default_factory=list)

    def __post_init__(self) -> None:
        spec, engine, profile, rng = self.spec, self.engine, self.profile, self.rng
        z = len(profile.firing_order)
        drive = parameters.script(spec.drive, spec.duration_s)
        coolant = drive.coolant_start_degc if spec.coolant_start_degc is None else spec.coolant_start_degc
        target = profile.idle.target_rpm or 800.0
        self.tables = cycle.build(profile, engine)
        self.crank = Crank(self.tables.inertia, node=int(rng.integers(0, z * self.tables.steps)))
        self.shaft = Shaft.of(engine, z, self.tables.moving, spec.torsion, self.crank.node)
        self.governor = DieselGovernor(engine, target)
        self.throttle = Throttle(engine, target)
        torque_per_mg = float(np.interp(5.0, START_DEG, self.tables.work_j_per_mg)) * z / (4 * math.pi)
        self.hunting = Hunting(target, engine.inertia_kgm2, torque_per_mg)
        # a good engine is never exact: small offsets within what fitting allows
        good = rng.normal(0.0, 1.0, 4)
        self.timing = Timing(
            engine,
            profile,
            static_deg=float(0.15 * good[0]) if profile.injection == "rotary_pump" else float(0.03 * good[0]),
            delay_ms=float(abs(0.01 * good[1])),
            load_deg=float(0.12 * good[2]),
            play_deg=0.2,
        )
        warm = min(1.0, max(0.0, (coolant - spec.ambient_degc) / 60.0))
        self.heat = Heat(
            engine,
            profile.limits.thermostat_open_degc,
            spec.ambient_degc,
            coolant,
            spec.ambient_degc + warm * (coolant - spec.ambient_degc),
            spec.ambient_degc + 15 * warm,
            spec.ambient_degc + 8 * warm,
        )
        self.fuel_good = (1 + 0.012 * rng.standard_normal(z)).tolist()
        self.seal_good = np.abs(0.8 * rng.standard_normal(z)).tolist()
        self.electrics = Electrics(regulated_v=float(14.15 + 0.08 * good[3]))
        self.air = ChargeAir(engine, spec.ambient_kpa, command_kpa=spec.ambient_kpa, manifold_kpa=spec.ambient_kpa)
        self.balance = Balance(engine.balance_authority_percent, [0.0] * z, [0.0] * z)
        self.driver = Driver(drive)
        self.supply, self.rail, self.line = Supply(engine), Rail(engine), Driveline(engine)

    @property
    def full_flow(self) -> float:
        """Fuel mass of a stroke times speed, at most."""
        return self.engine.fuel_max_mg * self.engine.rated_rpm

    def move(self, dt_s: float, d: Defects) -> None:
        """Move everything but the crank."""
        was = self.running
        turning = self.crank.turning
        self.running = turning and self.speed_rpm > 0.55 * self.governor.target_rpm and self.driver.key_on
        if was and not self.running:
            self.load = 0.0
        cylinders = len(self.profile.firing_order)
        used = self.fuel[1] if turning else 0.0
        fuel_g_s = used / 1000 * self.speed_rpm / 120 * cylinders
        flow = used * self.speed_rpm / self.full_flow
        self.driver.step(dt_s, self.line.speed_kmh, self.running)
        self.line.choose(self.driver.step_now, self.speed_rpm)
        self.supply.step(dt_s, flow, self.driver.key_on and (turning or self.driver.since_s < 2.5), d)
        starved = self.supply.starved if turning else 0.0
        self.rail.unrest = self.wander(self.rail.unrest, 0.004, dt_s, 0.5)
        self.rail.step(dt_s, self.speed_rpm, self.load, flow, starved, d, fuelled=used > 0, powered=self.driver.key_on)
        self.air.step(dt_s, self.speed_rpm, self.load, d)
        self.timing.wander(dt_s, d)
        if self.driver.key_on:
            self.timing.step(dt_s, self.speed_rpm, self.load, self.heat.cold, starved, d)
        self.heat.step(dt_s, fuel_g_s, self.line.speed_kmh, self.air.manifold_kpa - self.spec.ambient_kpa, d)
        self.electrics.step(dt_s, self.speed_rpm, self.running, self.driver.starting, d)

    def wander(self, value: float, spread: float, dt_s: float, memory_s: float) -> float:
        """Next value of a random quantity of some standard deviation that forgets itself within ``memory_s``."""
        share = min(1.0, dt_s / memory_s)
        return value * (1 - share) + spread * math.sqrt(2 * share) * float(self.rng.standard_normal())

    def decide(self, dt_s: float, position: int, d: Defects) -> None:
        """Fuel and start of combustion of the firing that opens the next interval."""
        engine = self.engine
        cylinder = int(self.tables.cylinder[(position + 1) % len(self.tables.cylinder)])
        pedal = self.driver.pedal
        swing = self.hunting.swing_mg(self.now_s, self.speed_rpm, pedal, d)
        if self.profile.ignition == "spark":
            charge = self.displacement_l() * 1000 * 1.17 / len(self.tables.cylinder)
            asked = self.throttle.quantity_mg(dt_s, self.speed_rpm, pedal, charge, d)
            asked += swing if asked else 0.0
            self.load = self.throttle.pressure_share if self.running else 0.0
            lean = max(0.0, 1 - 0.012 * abs(100.0 - self.throttle.mixture()))
        else:
            full = full_quantity_mg(engine, self.speed_rpm, self.air.share)
            asked = self.governor.quantity_mg(dt_s, self.speed_rpm, pedal, full, swing)
            self.load = min(1.0, asked / max(full, 1.0)) if self.running else 0.0
            lean = 1.0
        fuel_cut = self.driver.step_now.do == "crank"
        synchronised = self.crank.node - self.started_node > 4 * 360 / cycle.STEP_DEG
        if not (self.driver.key_on and synchronised and self.speed_rpm > 90 and self.rail.ready) or fuel_cut:
            asked = 0.0
        self.asked_mg = max(asked, 0.0)
        loss = d.cylinder_fuel_loss_percent[cylinder] + 0.7 * d.cylinder_compression_loss_percent[cylinder]
        pressure = 1.0
        if self.rail.command_kpa > 0 and asked:
            pressure = math.sqrt(min(1.0, self.rail.pressure_kpa / self.rail.command_kpa))
        spread = 1 + engine.fire_spread_percent / 100 * float(self.rng.standard_normal())
        share = self.fuel_good[cylinder] * (1 + self.balance.correction[cylinder] / 100)
        given = self.asked_mg * share * max(0.0, 1 - loss / 100)
        given *= spread * pressure * lean * (1 - (self.supply.starved if self.running else 0.0))
        begin = self.timing.actual_deg - 0.006 * self.speed_rpm * engine.ignition_delay_ms
        index = min(max(round((begin - float(START_DEG[0])) * 2), 0), len(START_DEG) - 1)
        self.fuel = [self.fuel[1], self.fuel[2], given]
        self.start = [self.start[1], self.start[2], index]

    def gas_torque(self, position: int, d: Defects) -> Array:
        """Torque of each cylinder's gas over the interval, (z, n) N m."""
        t = self.tables
        intake = self.intake_kpa
        torque = t.closed[position] * intake + t.ambient[position] * self.spec.ambient_kpa
        torque -= (intake / 100 * self.leaks(d))[:, None] * t.leak[position]
        last, present, following = (t.cylinder[(position + k) % len(t.cylinder)] for k in (-1, 0, 1))
        torque[following] += t.fuel[0, self.start[2]] * self.fuel[2]
        torque[present] += t.fuel[1, self.start[1]] * self.fuel[1]
        torque[last] += t.fuel[2, self.start[0]] * self.fuel[0]
        return np.asarray(torque)

    @property
    def intake_kpa(self) -> float:
        """Pressure that the cylinders breathe."""
        if self.profile.ignition == "spark":
            return self.spec.ambient_kpa * self.throttle.pressure_share
        return self.air.manifold_kpa

    def leaks(self, d: Defects) -> Array:
        """Compression that each cylinder lacks, (z,) percent."""
        return np.asarray(np.array(d.cylinder_compression_loss_percent) + self.seal_good)

    def own_work_j(self, cylinder: int, d: Defects) -> float:
        """Work of one cylinder's gas over its present cycle."""
        burnt = self.fuel[1] * float(self.tables.work_j_per_mg[self.start[1]])
        leak = float(self.tables.leak[:, cylinder].sum()) * math.radians(cycle.STEP_DEG)
        return burnt - leak * self.intake_kpa * float(self.leaks(d)[cylinder]) / 100

    def starter(self) -> Starter:
        """The starter at the voltage of now."""
        e = self.engine
        stall_nm = e.starter_stall_nm * self.electrics.voltage_v / 10.4
        return Starter(stall_nm, e.starter_free_rpm * math.pi / 30, e.starter_inertia_kgm2)

    def displacement_l(self) -> float:
        """Swept volume of all cylinders."""
        e = self.engine
        return math.pi / 4 * e.bore_mm**2 * e.stroke_mm * len(self.profile.firing_order) * 1e-6

    def interval(self, d: Defects) -> None:
        """Turn the crank to the end of its firing interval."""
        engine, crank = self.engine, self.crank
        z = len(self.tables.cylinder)
        position = crank.node // self.tables.steps % z
        whole = crank.node % self.tables.steps == 0
        dt_guess = 2 * math.pi / (z / 2) / max(crank.speed(), 10.0)
        self.decide(dt_guess, position, d)
        each = self.gas_torque(position, d)
        gas = each.sum(axis=0)
        self.accessory_nm = self.wander(self.accessory_nm, 0.02 * engine.friction_nm, dt_guess, 0.8)
        friction = engine.friction_nm * (1 + 1.0 * self.heat.cold) + self.accessory_nm
        speed = crank.speed()
        load = self.line.step(dt_guess, speed, self.driver.braking, engine.inertia_kgm2)
        before, began, first = crank.energy_j, self.now_s, crank.node
        starter = self.starter() if self.driver.starting else None
        if whole and speed > SLOW_RAD_S and not starter:
            end = crank.turn(began, gas, friction + load + engine.friction_nm_per_rad_s * speed)
        else:
            end = crank.turn_slowly(began, gas, friction + load, engine.friction_nm_per_rad_s, starter)
        opens = first - first % self.tables.steps
        drag = friction + engine.friction_nm_per_rad_s * speed
        push = starter.torque_nm(speed) if starter else 0.0
        self.shaft.keep(crank.angle_nodes[-1], opens, self.shaft.force(each, drag, load - push))
        if not crank.turning and engine.rock_share:
            each = engine.rock_share * np.hstack([self.gas_torque((position - 1) % z, d), each])
            end = crank.rock(end, each.sum(axis=0), friction)
            self.shaft.keep(crank.angle_nodes[-1], opens - self.tables.steps, self.shaft.force(each, friction, load))
        dt = end - began
        self.now_s = end
        if not crank.turning:
            self.now_s += STANDING_S
            self.speed_rpm = self.cycle_rpm = 0.0
        elif dt > 0:
            self.speed_rpm = (crank.node - first) * cycle.STEP_DEG / 6.0 / dt
            self.cycle_rpm += (self.speed_rpm - self.cycle_rpm) * min(1.0, 2.0 / z)
        if whole and crank.node - first == self.tables.steps:
            cylinder = int(self.tables.cylinder[position])
            work = float(gas.sum()) * math.radians(cycle.STEP_DEG)
            taken = load * self.tables.steps * math.radians(cycle.STEP_DEG)
            self.firings.append(Firing(began, cylinder + 1, work, self.own_work_j(cylinder, d), taken))
            idle = self.running and self.driver.pedal < 3 and self.line.speed_m_s < 0.1 and abs(
                self.cycle_rpm - self.governor.target_rpm) < 80  # fmt: skip
            if idle and engine.balance_authority_percent:
                self.balance.learn(cylinder, crank.energy_j - before, dt)
        self.move(max(dt, 1e-4), d)

    def record(self) -> dict[str, float]:
        """State of everything, by column of the trace."""
        e, t = self.engine, self.timing
        used = self.asked_mg if self.crank.turning else 0.0
        z = len(self.tables.cylinder)
        manifold = self.intake_kpa if self.crank.turning else self.spec.ambient_kpa
        density = manifold * _AIR_G_PER_KPA_L_K / (self.heat.intake_degc + 273.15)
        return {
            "time_s": self.now_s,
            "running": float(self.running),
            "engine_speed": self.speed_rpm,
            "speed_over_cycle": self.cycle_rpm,
            "vehicle_speed": self.line.speed_kmh,
            "calculated_load": self.load * 100,
            "torque_actual": used / e.fuel_max_mg * 100,
            "pedal": self.driver.pedal,
            "throttle": self.throttle.opening * 100,
            "starter_active": float(self.driver.starting),
            "coolant_temperature": self.heat.coolant_degc,
            "intake_air_temperature": self.heat.intake_degc,
            "oil_temperature": self.heat.oil_degc,
            "fuel_temperature": self.heat.fuel_degc,
            "control_module_voltage": self.electrics.voltage_v,
            "barometric_pressure": self.spec.ambient_kpa,
            "intake_manifold_pressure": manifold,
            "boost_pressure_commanded": self.air.command_kpa if e.boost_full_kpa else 0.0,
            "mass_air_flow": density * self.displacement_l() * self.speed_rpm / 120 * _BREATHING,
            "fuel_quantity": used,
            "fuel_rate": used * 1e-3 * self.speed_rpm * 30 * z / _FUEL_G_PER_L[self.profile.ignition or "compression"],
            "fuel_supply_pressure": self.supply.pressure_kpa,
            "fuel_rail_pressure_commanded": self.rail.command_kpa,
            "fuel_rail_pressure_actual": self.rail.pressure_kpa,
            "rail_valve_duty": self.rail.duty_percent,
            "injection_timing_commanded": t.command_deg,
            "injection_timing_actual": t.actual_deg,
            "timing_actuator_duty": t.duty_percent,
            "short_term_fuel_trim_1": self.throttle.short_term,
            "long_term_fuel_trim_1": self.throttle.long_term,
        }
