"""Decimation keeps every part's extremes and never grows."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logan.report.decimate import min_max, thinned


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
    t_s, value = thinned(np.array([0.0, 1.0, 11.0, 12.0]), np.array([5.0, 5.0, 6.0, 6.0]))
    assert t_s.tolist() == [0.0, 1.0, 6.0, 11.0, 12.0]
    assert np.isnan(value).tolist() == [False, False, True, False, False]
    assert value[[0, 4]] == pytest.approx([5.0, 6.0])


@given(st.lists(st.integers(100, 9_900), max_size=5, unique=True), st.integers(100, 3_000))
def test_every_gap_of_a_thinned_record_is_open(starts: list[int], points: int) -> None:
    whole = np.arange(10_000.0)
    t_s = whole[~np.isin(whole // 100, np.array(starts) // 100)]
    drawn_s, value = thinned(t_s, np.sin(t_s), points)
    for start in starts:
        hole = start // 100 * 100 + 50.0
        if t_s[0] < hole < t_s[-1]:
            right = np.searchsorted(drawn_s, hole)
            assert np.isnan(value[[right - 1, min(right, len(value) - 1)]]).any()


def test_one_point() -> None:
    t_s, value = thinned(np.array([3.0]), np.array([4.0]))
    assert (t_s.tolist(), value.tolist()) == ([3.0], [4.0])
