"""System voltage while the engine runs."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.dsp import stats
from logan.measures.align import sources, step_of
from logan.measures.estimate import from_estimate
from logan.measures.registry import Results, gives
from logan.measures.settled import joined, settled_spans, stretches
from logan.model.measure import Missing
from logan.model.record import Record

NAME: Final = "running_voltage_v"
RUNNING: Final = ("idle_cold", "idle_warm", "tip_in", "cruise", "pull", "overrun")
AFTER_START_S: Final = 5.0
"""The alternator takes over within some seconds of the start (common practice, no source)."""
CALIBRATION_V: Final = 0.03
"""Standard uncertainty of a control module's own voltmeter (assumed; its wiring adds to it in practice)."""


@gives(NAME, needs=("control_module_voltage", "engine_speed"))
def running_voltage(record: Record) -> Results:
    """Mean voltage from a few seconds after each start until the engine stops."""
    channel = record.channels.best["control_module_voltage"]
    states = record.states.spans
    starts = [
        span.end_s for span in states if span.state in ("cranking", "run_up", "key_on", "stopped")
    ]  # the voltage is low before, and recovers after
    spans = []
    for begin, end in settled_spans(record, *RUNNING, settle_s=0.0, trim=False):
        latest = max((start for start in starts if start <= begin), default=-np.inf)
        begin = max(begin, latest + AFTER_START_S)
        if end > begin:
            spans.append((begin, end))
    volts = joined(stretches(channel, spans))
    if len(volts) < 3:
        why = f"{len(volts)} values of the voltage from {AFTER_START_S:.0f} s after a start while the engine runs"
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    systematic = float(np.hypot(CALIBRATION_V, step_of(channel) / np.sqrt(12.0)))
    yield from_estimate(NAME, "V", stats.mean(volts), systematic, len(volts), sources([channel], spans))
