"""Injection timing error as the pump's own sensor shows it: a pump that is late injects late (docs/conventions.md)."""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np

from logan.measures.phase import PUMP, pump_phase
from logan.measures.registry import Results, all_missing, gives
from logan.measures.wheel_reading import lacking, read
from logan.model.measure import Measure
from logan.model.record import Record
from logan.model.sensor import sensors_of

FROM_PUMP: Final = {
    PUMP[0]: ("timing_error_static_deg", -1.0),
    PUMP[1]: ("timing_error_delay_ms", 1.0),
    PUMP[2]: ("timing_error_drift_deg_per_min", -1.0),
}
"""Measure of the pump's phase -> timing error and its sign: advanced is positive there, late is positive here."""
NAMES: Final = tuple(name for name, _ in FROM_PUMP.values())
NO_TIMING: Final = "not in the capture: actual and commanded injection timing"
NO_BUS: Final = f"{NO_TIMING}, or the pump's edges"


@gives(*NAMES, sensors=True)
def timing_by_pump(record: Record) -> Results:
    """Timing error from a pump sensor, where the bus gives none; it does not see what the pump does inside."""
    pump = record.profile.pump
    if pump is None or not pump.edges_deg:
        why = lacking(record, "pump", "the engine profile has no edges of the pump's sensor")
        yield from all_missing(NAMES, f"{NO_TIMING}; {why}" if "pump" in sensors_of(record.sensors) else NO_BUS)
        return
    for found in pump_phase(record, read(record)):
        name, sign = FROM_PUMP.get(found.name if isinstance(found, Measure) else found.measure, ("", 1.0))
        if not name:
            continue
        if not isinstance(found, Measure):
            yield from all_missing([name], f"{NO_BUS} ({found.why})")
            continue
        value, *bounds = (sign * float(np.asarray(x)) for x in (found.value, found.low, found.high))
        yield msgspec.structs.replace(
            found, name=name, value=value, low=min(bounds), high=max(bounds),
            notes=["of the pump's shaft, by its own sensor", *found.notes],
        )  # fmt: skip
