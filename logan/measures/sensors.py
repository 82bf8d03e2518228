"""Measures from crank, cam and pump recordings, which are placed on their wheels once for all of them."""

from __future__ import annotations

from logan.measures import cylinders, edge_counts, phase, wheel
from logan.measures.registry import Results, gives
from logan.measures.wheel_reading import read
from logan.model.record import Record


@gives(*phase.FROM_CAM, *phase.PUMP, *wheel.NAMES, *cylinders.FROM_TEETH, sensors=True)
def from_sensors(record: Record) -> Results:
    """Phases, wheel and cylinders."""
    readings = read(record)
    yield from edge_counts.weighed(record, phase.cam_phase(record, readings))
    yield from phase.pump_phase(record, readings)
    yield from edge_counts.weighed(record, wheel.crank_wheel(record, readings))
    yield from cylinders.cylinders(record, readings)


@gives(*phase.CAM, needs=phase.BROADCAST)
def from_bus(record: Record) -> Results:
    """Phase as the control module broadcasts it, where no recording gives it."""
    yield from phase.broadcast_phase(record)
