"""Fuel side: supply (lift) pump, injection timing with its actuator, high-pressure rail."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from logan.model.profile import EngineProfile
from logan.simulate.parameters import Engine
from logan.simulate.spec import Defects
from logan.units import delay_to_deg

_SUPPLY_LAG_S: Final = 0.35
_RAIL_LAG_S: Final = 0.12
_LEAKDOWN_WINDOW_S: Final = 5.0


def lag(value: float, goal: float, dt_s: float, time_constant_s: float) -> float:
    """First-order lag over one step, exact for a constant goal."""
    return goal + (value - goal) * math.exp(-dt_s / time_constant_s)


@dataclass(slots=True)
class Supply:
    """Lift pump: pressure sags with flow; ``starved`` is the share of the fuel that then lacks."""

    engine: Engine
    pressure_kpa: float = 0.0

    def step(self, dt_s: float, flow_share: float, powered: bool, d: Defects) -> None:
        """Move on; ``flow_share`` is fuel flow in parts of the full flow."""
        sag = (self.engine.supply_sag_kpa + d.supply_sag_kpa) * flow_share
        goal = max(2.0, self.engine.supply_kpa - sag) if powered else 0.0
        self.pressure_kpa = lag(self.pressure_kpa, goal, dt_s, _SUPPLY_LAG_S)

    @property
    def starved(self) -> float:
        """0 = enough, 1 = nothing; begins under 60 % of the nominal pressure."""
        return min(1.0, max(0.0, 0.60 - self.pressure_kpa / self.engine.supply_kpa) * 1.6)


@dataclass(slots=True)
class Timing:
    """Start of injection (or spark): command, actuator with lag and play, and what shifts the pump under it.

    The actuator's own control closes on the pump's timing piston and so does not see how the pump sits on the engine;
    the measured timing comes from the crank and does.
    """

    engine: Engine
    profile: EngineProfile
    static_deg: float
    delay_ms: float
    load_deg: float
    play_deg: float
    command_deg: float = 0.0
    piston_deg: float = 0.0
    wanted_deg: float = 0.0
    actual_deg: float = 0.0
    duty_percent: float = 0.0
    drifted_deg: float = 0.0

    @property
    def moved_by_actuator(self) -> bool:
        """A rotary pump has an actuator; other systems time by the crank directly."""
        return self.profile.injection == "rotary_pump"

    def key_deg(self, d: Defects) -> float:
        """Timing shift of a wrong or reversed key, crank degrees (docs/conventions.md)."""
        pump = self.profile.pump
        step = pump.key_step_deg if pump and pump.key_step_deg else 0.0
        offset = pump.key_offset_deg if pump and pump.key_offset_deg else 0.0
        return 2 * step * d.key_steps - 4 * offset * d.key_reversed

    def wander(self, dt_s: float, d: Defects) -> None:
        """The pump's slow way from its place, by the clock, engine running or not."""
        self.drifted_deg += d.timing_drift_deg_per_min * dt_s / 60

    def step(self, dt_s: float, speed_rpm: float, load: float, cold: float, starved: float, d: Defects) -> None:
        """Move on; ``load`` and ``cold`` are shares 0..1."""
        engine = self.engine
        x = min(1.2, max(0.0, (speed_rpm - 700) / (engine.rated_rpm - 700)))
        goal = engine.timing_idle_deg + engine.timing_speed_deg * x + engine.timing_load_deg * load + 3.0 * cold
        low, high = engine.timing_range_deg
        goal = min(max(goal, low), high)
        limit = 25.0 * dt_s  # the map's output is slewed
        self.command_deg += min(max(goal - self.command_deg, -limit), limit)
        if not self.moved_by_actuator:
            self.actual_deg = self.command_deg + self.static_deg
            return
        play = self.play_deg + d.timing_hysteresis_deg
        tau = 0.10 + 0.08 * d.timing_hysteresis_deg
        self.piston_deg = lag(self.piston_deg, self.command_deg, dt_s, tau)
        # play: what follows the piston rests half the play behind it on the side that it comes from
        self.wanted_deg = min(max(self.wanted_deg, self.piston_deg - play / 2), self.piston_deg + play / 2)
        self.actual_deg = (
            self.wanted_deg
            + self.static_deg
            + self.key_deg(d)
            + self.drifted_deg
            - delay_to_deg(self.delay_ms, speed_rpm)
            + self.load_deg * load
            - 9.0 * starved
        )
        self.duty_percent = min(95.0, max(5.0, 18 + 2.9 * self.piston_deg + 4 * (self.command_deg - self.piston_deg)))


@dataclass(slots=True)
class Rail:
    """High-pressure side: command, what the pump can hold, build-up while cranking, leak-down when it stands."""

    engine: Engine
    pressure_kpa: float = 300.0
    command_kpa: float = 0.0
    duty_percent: float = 0.0
    phase: float = 0.0
    unrest: float = 0.0  # share by which a good control misses at random, wanders within half a second

    @property
    def ready(self) -> bool:
        """Whether injection is allowed; engines without a rail are always ready."""
        return not self.engine.rail_full_kpa or self.pressure_kpa >= self.engine.rail_start_kpa

    def leak_time_constant_s(self, d: Defects) -> float:
        """Time constant of the decay; of a leak its 5 s mean slope from idle pressure is the size asked for."""
        if not d.rail_leakdown_kpa_per_s:
            return self.engine.rail_leak_s
        left = 1 - d.rail_leakdown_kpa_per_s * _LEAKDOWN_WINDOW_S / self.engine.rail_idle_kpa
        return -_LEAKDOWN_WINDOW_S / math.log(max(left, 0.02))

    def step(
        self,
        dt_s: float,
        speed_rpm: float,
        load: float,
        flow_share: float,
        starved: float,
        d: Defects,
        *,
        fuelled: bool,
        powered: bool,
    ) -> None:
        """Move on; ``powered`` = key on, ``fuelled`` = injecting."""
        engine = self.engine
        if not engine.rail_full_kpa:
            return
        leak_s = self.leak_time_constant_s(d)
        if speed_rpm <= 0 or not powered:
            self.command_kpa = 0.0
            self.duty_percent = 0.0
            self.pressure_kpa = max(self.pressure_kpa * math.exp(-dt_s / leak_s), 100.0)
            return
        x = min(1.0, max(0.0, (speed_rpm - 700) / (engine.rated_rpm - 700)))
        span = engine.rail_full_kpa - engine.rail_idle_kpa
        goal = engine.rail_idle_kpa + span * min(1.0, 0.45 * x + 0.65 * max(0.0, load - 0.15))
        self.command_kpa = lag(self.command_kpa or engine.rail_idle_kpa, goal, dt_s, 0.25)
        demand = min(1.0, max(flow_share, 0.0)) ** 0.7
        hold = self.command_kpa * (1 + self.unrest) * (1 - d.rail_loss_percent / 100 * demand) * (1 - 0.5 * starved)
        if not fuelled:
            rise = engine.rail_build_kpa_per_s * speed_rpm / 220.0 - self.pressure_kpa / leak_s
            self.pressure_kpa = max(100.0, min(self.pressure_kpa + rise * dt_s, hold))
        else:
            self.phase += 2 * math.pi * d.frequency_hz * dt_s
            swing = 1 + d.rail_swing_percent / 100 * math.sin(self.phase)
            self.pressure_kpa = lag(self.pressure_kpa, hold, dt_s, _RAIL_LAG_S)
            self.pressure_kpa += hold * (swing - 1) * (1 - math.exp(-dt_s / _RAIL_LAG_S)) * self._lift(d)
        short = max(0.0, 1 - self.pressure_kpa / max(self.command_kpa, 1.0))
        effort = 20 + 34 * flow_share + 60 * short + 20 * d.rail_leakdown_kpa_per_s / 5000
        self.duty_percent = min(95.0, effort)

    def _lift(self, d: Defects) -> float:
        """Make up for what the lag takes from the swing, so that its size is the one asked for."""
        return math.hypot(1.0, 2 * math.pi * d.frequency_hz * _RAIL_LAG_S)
