"""Whether an engine made the heat that an intact thermostat needs to reach its opening temperature."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.measures.align import near
from logan.model.record import Record

IDLE_STATES: Final = ("idle_warm", "idle_cold")
AT_WORK: Final = ("tip_in", "cruise", "pull")
IDLE_LOAD: Final = 0.2
"""Calculated load of a warm idle, where the record holds none (common practice, no source)."""
IDLE_QUANTILE: Final = 0.25
"""A cold engine idles faster than a warm one, whose heat counts."""
LEAST_IDLE_S: Final = 10.0
NEEDED: Final = 2.0
"""Heat needed, in that of idling, at 20 degC outside: an idling diesel may stay colder than its thermostat (common
practice, no source); twice its heat keeps twice the distance from the air."""
USUAL_AIR_DEGC: Final = 20.0
WORK_SHARE: Final = 0.5
"""Share of the time at work that stands for heat enough where neither load nor fuel is recorded (assumed)."""

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Heat:
    """Heat made over some time and over the whole record, and needed: in that of idling."""

    made: float
    overall: float
    needed: float
    air_degc: float

    @property
    def enough(self) -> bool:
        """Whether an intact thermostat would have been reached, or gone on rising towards."""
        return self.made >= self.needed

    def why(self) -> str:
        """The reason why a cold engine is not judged."""
        return (
            f"the engine made too little heat to tell: {self.made:.1f} times that of idling where about "
            f"{self.needed:.1f} times are needed at {self.air_degc:.0f} degC outside"
        )


def heat_made(record: Record, begin_s: float, end_s: float) -> Heat:
    """Heat made between two instants: by fuel rate, or load times speed, or where neither is recorded time at work.

    Heat goes with fuel, and what a closed thermostat leaves to be shed goes with the distance from the air outside.
    """
    coolant = record.channels.best["coolant_temperature"].finite()
    t_s = np.arange(coolant[0][0], end_s + 0.5, 1.0)
    speed = near(record.channels.best["engine_speed"], t_s)
    air = [float(coolant[1][0]), USUAL_AIR_DEGC]
    intake = record.channels.get("intake_air_temperature")
    if intake is not None and len(intake.finite()[1]):
        air.append(float(intake.finite()[1].min()))
    open_degc = record.profile.limits.thermostat_open_degc
    needed = NEEDED * (open_degc - min(air)) / (open_degc - USUAL_AIR_DEGC)
    idling = record.states.mask(t_s, *IDLE_STATES)
    inside, running = t_s >= begin_s, speed > 0.0
    for rate, usual in _rates(record, t_s, speed):
        known = np.isfinite(rate) & running
        enough = np.count_nonzero(known & idling) >= LEAST_IDLE_S
        idle = float(np.quantile(rate[known & idling], IDLE_QUANTILE)) if enough else usual
        if np.count_nonzero(known & inside) >= 0.5 * np.count_nonzero(running & inside) > 0 and idle > 0.0:
            return Heat(float(rate[known & inside].mean()) / idle, float(rate[known].mean()) / idle, needed, min(air))
    work = record.states.mask(t_s, *AT_WORK)
    made, overall = (
        NEEDED / WORK_SHARE * float(work[part].mean()) if part.any() else 0.0 for part in (running & inside, running)
    )
    return Heat(made, overall, NEEDED, min(air))


def _rates(record: Record, t_s: Array, speed: Array) -> list[tuple[Array, float]]:
    """What heat goes with, (n,), and how much of it there is at idle; 0 where only the record could tell."""
    out = []
    fuel, load = (record.channels.get(name) for name in ("fuel_rate", "calculated_load"))
    if fuel is not None:
        out.append((near(fuel, t_s), 0.0))
    if load is not None:
        turning = speed[speed > 0.0]
        slow = float(np.quantile(turning, 0.05)) if len(turning) else 0.0
        idle_rpm = record.profile.idle.target_rpm or slow
        out.append((near(load, t_s) / 100.0 * speed, IDLE_LOAD * idle_rpm))
    return out
