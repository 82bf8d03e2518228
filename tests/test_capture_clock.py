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


TURNS_S = [2**32 / 1e6, 2**32 / 1e5, 2**32 / 1e3, 2**16 / 1e3, 2**24 / 1e6, 86_400.0]
"""Turns by arithmetic: a counter of so many bits of 1 us, 10 us, 1 ms; a clock that shows the time of day."""


@pytest.mark.parametrize("turn_s", TURNS_S)
def test_a_counter_that_rolled_over_keeps_the_step_at_the_seam(turn_s: float) -> None:
    """The true times are known: 77 ms lie across the seam, other steps are 10 ms and 80 ms in turn."""
    turn_ns = round(turn_s * S)
    true = np.concatenate([[0], np.cumsum(np.resize([10_000_000, 80_000_000], 200))])
    true[100:] += 77_000_000 - (true[100] - true[99])
    shown = (turn_ns - true[99] - 40_000_000 + true) % turn_ns
    found, rows, counts = settled(shown.tolist())
    assert counts == {"time_backwards": 1}
    assert [t - found[0] for t in found] == true.tolist()
    assert rows == list(range(len(shown)))


@pytest.mark.parametrize("turn_s", [2**16 / 1e3, 2**24 / 1e6])
def test_a_counter_from_another_zero_is_known_by_rolling_over_twice(turn_s: float) -> None:
    turn_ns = round(turn_s * S)
    true = np.cumsum(np.resize([10_000_000, 80_000_000], round(2.2 * turn_s / 0.045)))
    shown = (true % turn_ns) + 1_700_000_000 * S
    found, _, counts = settled(shown.tolist())
    assert counts == {"time_backwards": 2}
    assert [t - found[0] for t in found] == (true - true[0]).tolist()
    once = shown[: round(1.2 * turn_s / 0.045)]  # once may be chance: the usual step is taken
    assert settled(once.tolist())[0][-1] - once[0] != true[len(once) - 1] - true[0]


@pytest.mark.parametrize("back_s", [4294.0, 65.0, 3000.0])
def test_a_clock_that_was_set_back_by_about_a_turn_takes_the_usual_step(back_s: float) -> None:
    times = [round((back_s + 0.1 * k) * S) for k in range(-50, 1)] + [k * S // 10 for k in range(50)]
    found, _, _ = settled(times)
    assert set(np.diff(found)) == {S // 10}


@given(st.lists(st.integers(-(10**18), 10**18), max_size=40), st.sampled_from([0, S]))
def test_the_outcome_ascends_and_every_record_is_accounted_for(times: list[int], jitter_ns: int) -> None:
    found, rows, counts = settled(times, jitter_ns)
    assert found == sorted(found)
    assert len(set(rows)) == len(rows)
    assert len(rows) + counts.get("time_stray", 0) == len(times)
