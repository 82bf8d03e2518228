"""What a closed loop hides: the effort that it takes to hold injection timing, and where that effort is at its end.

A controller that drives the error to zero within its reach shows a fault in its duty, not in the error. One record has
no healthy baseline to compare the duty with, but it shows how the duty wanders at equal speed, load and command, and
how long it stands at a stop with an error left.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.decompose import decompose
from logan.dsp.robust import mad_sigma
from logan.measures.align import FINEST_S, PLATEAU_S, measure, near, pair, rounding, sources, step_of, windows
from logan.measures.registry import Results, all_missing, gives
from logan.measures.timing import DRIFT_S
from logan.measures.timing_rows import FEW_ROWS, STOP_PERCENT, running_mask
from logan.model.measure import Measure, Missing
from logan.model.record import Record

LOST: Final = "timing_authority_lost_percent"
DRIFT: Final = "timing_duty_drift_percent_per_min"
LEFT_DEG: Final = 0.5
"""An error that the controller would have driven to zero had it been able to."""
PRIOR_DRIFT: Final = 5.0
"""Percent a minute: a duty that wanders faster is at its stop before the drive is over (assumed)."""

Array = NDArray[np.float64]


@gives(
    LOST, DRIFT, needs=("timing_actuator_duty", "injection_timing_actual", "injection_timing_commanded", "engine_speed")
)
def timing_effort(record: Record) -> Results:
    """Time at a stop with an error left, and the drift of the duty at equal conditions."""
    names = ("timing_actuator_duty", "injection_timing_actual", "injection_timing_commanded", "engine_speed")
    duty_channel, actual, commanded, speed_channel = (record.channels.best[name] for name in names)
    joined = pair(actual, commanded, finest_s=FINEST_S)
    if joined is None:
        yield from all_missing((LOST, DRIFT), "commanded and actual timing were not recorded at the same time")
        return
    t_s = joined.t_s
    duty, speed = near(duty_channel, t_s), near(speed_channel, t_s)
    load_channel = record.channels.get("calculated_load")
    load = near(load_channel, t_s) if load_channel is not None else np.zeros(len(t_s))
    good = running_mask(record, t_s) & np.isfinite(duty) & np.isfinite(load)
    if np.count_nonzero(good) < 2 * FEW_ROWS:
        yield from all_missing((LOST, DRIFT), "the duty was hardly recorded while the engine ran")
        return
    cut = windows(t_s[good], max(PLATEAU_S, 2.0 * joined.period_s))
    # a mean of duty that moves within its row by more than a step is hardly rounded
    within = float(np.mean(cut.mean(np.square(duty[good])) - np.square(cut.mean(duty[good]))))
    rounded = rounding(step_of(duty_channel), within)
    stopped = cut.mean(((duty[good] <= STOP_PERCENT) | (duty[good] >= 100.0 - STOP_PERCENT)).astype(float))
    duty, command, error, speed, load = (
        cut.mean(value[good]) for value in (duty, joined.commanded, joined.error, speed, load)
    )
    spans = cut.spans(np.ones(len(duty), bool))
    origin = sources([duty_channel, actual, commanded, speed_channel, load_channel], spans)
    at_stop = stopped > 0.5
    doubt = mad_sigma(np.diff(error)) / np.sqrt(2.0)
    lost, fewest, most = (at_stop & (np.abs(error) > left) for left in (LEFT_DEG, LEFT_DEG + doubt, LEFT_DEG - doubt))
    share, apart = float(np.mean(lost)), 0.5 * float(np.mean(most) - np.mean(fewest))
    # the share is that of this record: in doubt are the stretches at each end of a spell, and one more or less
    noise = float(np.hypot(0.5 * np.sqrt(np.count_nonzero(np.diff(lost))), 0.75)) / len(lost)
    n = int(cut.count.sum())
    found = measure(LOST, "%", 100.0 * share, 100.0 * noise, 100.0 * apart, 1.96, n, origin, floor=0.0)
    yield found
    # a row that touches the stop shows less effort than it needs; next to one that stands there it may be a stray value
    beside = np.pad(at_stop, 1)
    free = (stopped == 0.0) & ~at_stop & ~beside[2:] & ~beside[:-2]
    rows = [x[free] for x in (duty, command, speed, load)]
    yield from _drift(cut.t_s[free], rows, rounded, step_of(duty_channel), found)


def _drift(t_s: Array, rows: list[Array], rounded: float, step: float, same: Measure) -> Iterator[Measure | Missing]:
    """Trend of the duty where it is off its stops, with command, speed and load taken out."""
    span_s = float(np.ptp(t_s)) if len(t_s) else 0.0
    if len(t_s) < FEW_ROWS or span_s < DRIFT_S:
        yield from all_missing([DRIFT], f"only {span_s:.0f} s of duty off its stops, a drift needs {DRIFT_S:.0f} s")
        return
    duty, *conditions = rows
    centred = [(x - x.mean()) / max(float(np.std(x)), 1e-9) for x in conditions]
    squares = [x**2 - np.mean(x**2) for x in centred]
    design = np.column_stack([np.ones(len(t_s)), (t_s - t_s[0]) / 60.0, *centred, *squares])
    prior = np.array([np.inf, PRIOR_DRIFT, *[100.0] * (len(centred) + len(squares))])
    fit = decompose(duty, t_s, [(1.0, design)], prior)
    value, noise, unknown = fit.at(np.eye(len(prior))[1])
    systematic = float(np.hypot(unknown, fit.shared(duty, step, rounded)[1]))
    yield measure(DRIFT, "%/min", value, noise, systematic, fit.quantile(), same.n, same.provenance)
