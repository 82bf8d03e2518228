"""Boost pressure against its command under load."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp import stats
from logan.dsp.decompose import student_95
from logan.dsp.robust import huber_fit
from logan.measures.align import PLATEAU_S, longest_gap_s, measure, near, pair, sources, windows
from logan.measures.conditions import UNDER_LOAD_PERCENT
from logan.measures.registry import Results, gives
from logan.model.measure import Missing
from logan.model.record import Record

NAME: Final = "boost_error_kpa"
ANSWER_S: Final = 1.5
"""A turbocharger has answered most of a change of command after this time (common practice, no source)."""
STEADY_KPA_PER_S: Final = 10.0
"""The command changes by less than this: what the charger's delay then costs stays below the usual limit."""
FEWEST: Final = 3
SENSOR_KPA: Final = 1.0
"""Standard uncertainty of a manifold pressure sensor about its calibration (assumed)."""


@gives(NAME, needs=("intake_manifold_pressure", "boost_pressure_commanded", "calculated_load"))
def boost_error(record: Record) -> Results:
    """Actual minus commanded where load and command are steady; negative is too little."""
    actual = record.channels.best["intake_manifold_pressure"]
    commanded = record.channels.best["boost_pressure_commanded"]
    load = record.channels.best["calculated_load"]
    both = pair(actual, commanded)
    if both is None:
        why = "actual and commanded boost pressure do not overlap in time"
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    loaded = near(load, both.t_s) >= UNDER_LOAD_PERCENT
    if np.count_nonzero(loaded) < FEWEST:
        why = f"the load never stayed at {UNDER_LOAD_PERCENT:.0f} % while boost pressure was recorded"
        yield Missing(measure=NAME, why=why, capture_hint="")
        return
    before = np.interp(both.t_s - ANSWER_S, both.grid_s, both.grid)
    slope = np.abs(both.commanded - before) / ANSWER_S
    entered = _since_true(both.t_s, loaded, longest_gap_s(actual)) >= ANSWER_S
    steady = loaded & entered & (slope < STEADY_KPA_PER_S)
    notes = []
    if np.count_nonzero(steady) < FEWEST:
        steady = loaded
        notes = ["the load was never steady: the delay of the charger is part of the error"]
    t_s, error = both.t_s[steady], both.error[steady]
    cut = windows(t_s, PLATEAU_S)
    plateau = cut.middle(error)
    if len(plateau) >= FEWEST:
        fit = huber_fit(np.ones((len(plateau), 1)), plateau)
        value, noise, freedom = float(fit.coefficients[0]), float(np.sqrt(fit.covariance[0, 0])), fit.freedom
    else:
        found = stats.mean(error)
        value, noise, freedom = found.value, found.sd, found.n_eff - 1.0
    # what the charger's delay adds when all loaded values count is told as half a difference
    with_delay = 0.5 * abs(float(np.median(both.error[loaded])) - value)
    systematic = float(np.sqrt(SENSOR_KPA**2 + both.resolution**2 + with_delay**2))
    yield measure(
        NAME, "kPa", value, noise, systematic, student_95(freedom), len(error),
        sources([actual, commanded, load], cut.spans(np.ones(len(plateau), bool))), notes,
    )  # fmt: skip


def _since_true(t_s: NDArray[np.float64], flag: NDArray[np.bool_], gap_s: float) -> NDArray[np.float64]:
    """Time since a flag last became true, (n,); 0 where it is false. What it was within a gap is not known."""
    fresh = np.diff(np.concatenate([[-np.inf], t_s])) > gap_s
    fresh[1:] |= flag[1:] & ~flag[:-1]
    start = np.maximum.accumulate(np.where(fresh, np.arange(len(t_s)), 0))
    return np.where(flag, t_s - t_s[start], 0.0)
