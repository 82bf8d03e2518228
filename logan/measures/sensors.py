"""Measures from crank, cam and pump recordings, which are placed on their wheels once for all of them."""

from __future__ import annotations

from logan.measures import cylinders, phase, wheel
from logan.measures.registry import Results, gives
from logan.measures.wheel_reading import read
from logan.model.record import Record


@gives(*phase.FROM_CAM, *phase.PUMP, *wheel.NAMES, *cylinders.FROM_TEETH, sensors=True)
def from_sensors(record: Record) -> Results:
    """Phases, wheel and cylinders."""
    readings = read(record)
    yield from phase.cam_phase(record, readings)
    yield from phase.pump_phase(record, readings)
    yield from wheel.crank_wheel(record, readings)
    yield from cylinders.cylinders(record, readings)


@gives(*phase.CAM, needs=("crank_cam_phase", "engine_speed"))
def from_bus(record: Record) -> Results:
    """Phase as the control module broadcasts it, where no recording gives it."""
    yield from phase.broadcast_phase(record)
