"""Every measure of a record: importing a module makes its rules known to the registry."""

from __future__ import annotations

from logan.knowledge import measures as catalogue
from logan.knowledge.measures import MeasureInfo
from logan.measures import (  # noqa: F401  (imported for their rules)
    air,
    cylinders,
    electrical,
    idle,
    idle_hunting,
    pedal,
    phase,
    rail,
    rail_build,
    rail_events,
    registry,
    sensors,
    signal_errors,
    supply,
    thermal,
    timing,
    timing_effort,
    timing_pump,
    trims,
    wheel,
)
from logan.model.measure import Measure, Missing
from logan.model.record import Record


def compute(record: Record, info: dict[str, MeasureInfo] | None = None) -> tuple[list[Measure], list[Missing]]:
    """All measures in the order of the catalogue, and the reasons for those that are absent."""
    return registry.run(record, catalogue.load() if info is None else info)
