"""Grouping by key against numpy's own sort-based answer."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.dsp.grouping import among, group, rows_of_slots


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(0, 2047) | st.integers(0, 2**32 - 1), max_size=300))
def test_same_as_unique(keys: list[int]) -> None:
    column = np.array(keys, np.uint32)
    groups = group(column)
    distinct, inverse = np.unique(column, return_inverse=True)
    assert groups.keys.tolist() == distinct.tolist()
    assert groups.slot.tolist() == inverse.tolist()


@pytest.mark.parametrize("spread", [100, 60_000, 3_000_000, 2**32 - 1])
def test_rows_of_wanted_keys(spread: int) -> None:
    """Few keys and many, dense and scattered: each has its slot type and its way through the tables."""
    column = np.random.default_rng(1).integers(0, spread, 200_000).astype(np.uint32)
    groups = group(column)
    wanted = groups.keys % 3 == 0
    rows = groups.rows_of(wanted)
    assert len(rows) == int(wanted.sum())
    for k in list(rows)[:50]:
        assert rows[k].tolist() == np.flatnonzero(column == groups.keys[k]).tolist()
    assert rows_of_slots(groups.slot, wanted).tolist() == np.flatnonzero(column % 3 == 0).tolist()


@given(st.lists(st.integers(0, 30)), st.lists(st.integers(0, 30)))
def test_among_is_isin(values: list[int], some: list[int]) -> None:
    one, other = np.array(values, np.uint32), np.array(some, np.uint32)
    np.testing.assert_array_equal(among(one, other), np.isin(one, other))
