"""Samples of the spans of a drive: each counts once, whichever way the drive was cut."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logan.measures import electrical
from logan.measures.settled import joined, settled_spans, stretches
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.measure import Measure
from logan.model.profile import EngineProfile
from logan.model.record import Record

ROWS = 1800
RUNNING = ("idle_warm", "tip_in", "pull", "overrun", "cruise")


def drive(value: np.ndarray, name: str, unit: str) -> Record:
    """A table of one row a second whose states change on rows, as they do where all columns share their instants."""
    t_s = np.arange(float(ROWS))
    borders = [0.0, 300.0, 305.0, 320.0, 340.0, t_s[-1]]
    spans = tuple(Span(state, a, b) for state, (a, b) in zip(RUNNING, itertools.pairwise(borders), strict=True))
    channels = (Channel(name, unit, t_s, value), Channel("engine_speed", "rpm", t_s, np.full(ROWS, 1500.0)))
    best = {channel.name: channel for channel in channels}
    return Record((), ChannelSet(best), DriveStates(spans), EngineProfile())


def test_a_table_of_1800_rows_gives_1800_values_of_the_voltage() -> None:
    volts = np.full(ROWS, 14.0)
    volts[[300, 305, 320, 340]] = 12.0  # the rows on which a state changes
    (found,) = electrical.running_voltage(drive(volts, "control_module_voltage", "V"))
    assert isinstance(found, Measure)
    assert found.n == ROWS
    assert found.value == pytest.approx(volts.mean(), rel=1e-12)


@given(st.lists(st.integers(0, 100), min_size=2, max_size=12, unique=True), st.sets(st.integers(0, 10)))
def test_every_sample_within_adjacent_spans_counts_once(borders: list[int], left_out: set[int]) -> None:
    t_s = np.arange(0.0, 100.5, 0.5)
    pairs = [pair for k, pair in enumerate(itertools.pairwise(sorted(map(float, borders)))) if k not in left_out]
    inside = np.zeros(len(t_s), bool)
    for begin, end in pairs:
        inside |= (t_s >= begin) & (t_s <= end)
    found = joined(stretches(Channel("engine_speed", "rpm", t_s, t_s), pairs))
    np.testing.assert_array_equal(found, t_s[inside])


def test_settled_idles_cut_by_a_target_that_steps_share_no_sample() -> None:
    record = drive(np.full(ROWS, 800.0), "idle_speed_target", "rpm")
    record.channels.best["idle_speed_target"].value[100:] = 900.0
    spans = settled_spans(record, *RUNNING, settle_s=0.0, trim=True)
    times = np.concatenate([part.t_s for part in stretches(record.channels.best["engine_speed"], spans)])
    assert len(np.unique(times)) == len(times)
