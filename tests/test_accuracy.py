"""The accuracy cases themselves: the sums, and a few runs of the cases with a known least error."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
import scipy.stats

sys.path.insert(0, str(Path(__file__).parent / "tools"))

from accuracy import Case, Sample, summarise, wilson
from accuracy.crank_cam import CASES, TERMS
from measure_accuracy import modules

EVERY = [pytest.param(case, id=name) for cases in modules().values() for name, case in cases.items()]


@pytest.mark.parametrize(("hits", "n"), [(0, 20), (19, 20), (950, 1000)])
def test_interval_of_a_share(hits: int, n: int) -> None:
    """scipy.stats.binomtest as the reference."""
    reference = scipy.stats.binomtest(hits, n).proportion_ci(method="wilson")
    assert wilson(hits, n) == pytest.approx((reference.low, reference.high), abs=1e-6)


def test_a_row_counts_what_it_should() -> None:
    runs = [{"x": Sample(1.0, 0.5, 1.5, 1.2, 0.1)}, {"x": (2.0, 1.9, 2.1, 1.8)}, {}]
    row = summarise("case", "x", runs)
    assert (row.runs, row.given, row.coverage) == (3, 2, 0.5)
    assert row.bias == pytest.approx(0.0)
    assert row.rms == pytest.approx(0.2)
    assert row.half_width == pytest.approx(0.3)
    assert row.bound_ratio == pytest.approx(2.0)


@pytest.mark.parametrize("case", EVERY)
def test_every_case_runs_and_gives_the_rows_that_it_names(case: Case) -> None:
    """A measure that moved to another module, or was renamed, would leave its row as it was for ever."""
    runs = [case.run(seed) for seed in range(3)]
    assert {name for run in runs for name in run} == set(case.measures)
    for sample in (Sample(*one) for run in runs for one in run.values()):
        assert np.isfinite(sample.truth)
        assert sample.low <= sample.value <= sample.high


@pytest.mark.parametrize(("case", "measure"), [("clean edges, one speed", TERMS[0])] + [
    ("clean edges, many speeds", term) for term in TERMS
])  # fmt: skip
def test_the_phase_is_near_its_least_error(case: str, measure: str) -> None:
    """Within 1.5 of the Cramer-Rao bound; sixteen runs know their own ratio to a fifth."""
    row = summarise(case, measure, [CASES[case].run(seed) for seed in range(16)])
    assert row.given == 16
    assert row.bound_ratio < 1.5 * (1.0 + 1.96 / np.sqrt(2.0 * 16))


def test_intervals_hold_the_truth_with_all_that_does_not_average_out() -> None:
    """With a coverage of 92 % four of sixteen runs miss with a chance of 1 in 40."""
    runs = [CASES["workshop recording"].run(seed) for seed in range(16)]
    for measure in TERMS:
        row = summarise("workshop recording", measure, runs)
        assert row.coverage >= 0.75
