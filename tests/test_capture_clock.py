"""A recorder's clock: disorder, strays, set back, rolled over."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logan.capture import clock
from logan.capture.reader import Tally

S = 10**9


def settled(times: list[int], jitter_ns: int = clock.JITTER_NS) -> tuple[list[int], list[int], dict[str, int]]:
    t_ns, tally = np.array(times, np.int64), Tally()
    rows = clock.settle(t_ns, tally, jitter_ns)
    rows = np.arange(len(t_ns)) if rows is None else rows
    return t_ns[rows].tolist(), rows.tolist(), {r.kind: r.count for r in tally.remarks()}


def test_good_times_are_left_alone() -> None:
    assert settled([1, 1, 2, 5]) == ([1, 1, 2, 5], [0, 1, 2, 3], {})
    assert settled([]) == ([], [], {})


def test_small_disorder_is_sorted() -> None:
    assert settled([0, 3000, 2000, 4000]) == ([0, 2000, 3000, 4000], [0, 2, 1, 3], {"time_disorder": 1})


@pytest.mark.parametrize("at", [0, 1, 5, 9])
def test_one_stamp_from_the_future_goes(at: int) -> None:
    times = [k * S for k in range(10)]
    times[at] = 10**18
    expected = [k * S for k in range(10) if k != at]
    found, _, counts = settled(times)
    if at == 9:
        assert (found, counts) == (times, {})  # the last one may be a pause
    else:
        assert (found, counts) == (expected, {"time_stray": 1})


@pytest.mark.parametrize("at", [1, 5, 9])
def test_one_stamp_from_the_past_goes(at: int) -> None:
    times = [(100 + k) * S for k in range(10)]
    times[at] = 0
    found, _, counts = settled(times)
    assert (found, counts) == ([(100 + k) * S for k in range(10) if k != at], {"time_stray": 1})


def test_a_clock_set_back_or_rolled_over_goes_on() -> None:
    times = [(k + 4290) * S for k in range(5)] + [k * S for k in range(5)]
    found, rows, counts = settled(times)
    assert found == [(k + 4290) * S for k in range(10)]
    assert rows == list(range(10))
    assert counts == {"time_backwards": 1}


@given(st.lists(st.integers(-(10**18), 10**18), max_size=40), st.sampled_from([0, S]))
def test_the_outcome_ascends_and_every_record_is_accounted_for(times: list[int], jitter_ns: int) -> None:
    found, rows, counts = settled(times, jitter_ns)
    assert found == sorted(found)
    assert len(set(rows)) == len(rows)
    assert len(rows) + counts.get("time_stray", 0) == len(times)
