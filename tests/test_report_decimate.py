"""Decimation keeps every part's extremes and never grows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logan.report.decimate import min_max, with_gaps


@given(st.integers(1, 20_000), st.integers(4, 2_000), st.integers(0, 2**32 - 1))
def test_extremes_stay(n: int, points: int, seed: int) -> None:
    value = np.random.default_rng(seed).normal(size=n)
    rows = min_max(value, points)
    assert len(rows) <= max(points, 1)
    assert (np.diff(rows) > 0).all()
    assert rows[0] == 0
    assert rows[-1] == n - 1
    assert value[rows].max() == value.max()
    assert value[rows].min() == value.min()


@given(st.integers(2_001, 30_000), st.data())
def test_a_lone_spike_stays(n: int, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, n - 1))
    value = np.zeros(n)
    value[at] = data.draw(st.sampled_from([-1.0, 1.0]))
    assert at in min_max(value)


def test_a_short_record_stays_whole() -> None:
    assert min_max(np.arange(10.0)).tolist() == list(range(10))


def test_no_line_bridges_a_gap() -> None:
    t_s, value = with_gaps(np.array([0.0, 1.0, 11.0, 12.0]), np.array([5.0, 5.0, 6.0, 6.0]), gap_s=5.0)
    assert t_s.tolist() == [0.0, 1.0, 6.0, 11.0, 12.0]
    assert np.isnan(value).tolist() == [False, False, True, False, False]
    assert value[[0, 4]] == pytest.approx([5.0, 6.0])
