"""Missing crank and cam edges as the control module counts them, for records without a crank / cam recording."""

from __future__ import annotations

from logan.measures.edge_counts import COUNTERS, counted
from logan.measures.registry import Results, gives
from logan.model.record import Record

CRANK, CAM = COUNTERS


@gives(CRANK, needs=(COUNTERS[CRANK], "engine_speed"))
def crank_errors(record: Record) -> Results:
    """Rate of crank signal errors by the control module's own counter."""
    yield counted(record, CRANK)


@gives(CAM, needs=(COUNTERS[CAM], "engine_speed"))
def cam_errors(record: Record) -> Results:
    """Rate of cam signal errors by the control module's own counter."""
    yield counted(record, CAM)
