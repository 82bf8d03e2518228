"""Samples of the spans of a drive: each counts once, whichever way the drive was cut."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logan.drive import segment
from logan.measures import electrical
from logan.measures.settled import joined, settled_spans, stretches
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.measure import Measure
from logan.model.profile import EngineProfile, Idle
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


def by_speed_alone(speed: np.ndarray, **more: np.ndarray) -> Record:
    """Ten values a second for an engine that idles at 800 rpm; nothing tells its pedal."""
    t_s = np.arange(len(speed)) / 10.0
    best = {"engine_speed": Channel("engine_speed", "rpm", t_s, speed)}
    best |= {name: Channel(name, "rpm", t_s, value) for name, value in more.items()}
    profile = EngineProfile(idle=Idle(target_rpm=800.0))
    channels = ChannelSet(best)
    return Record((), channels, segment(channels, profile), profile)


def times_of(record: Record) -> np.ndarray:
    spans = settled_spans(record, "idle_warm")
    parts = stretches(record.channels.best["engine_speed"], spans)
    return np.concatenate([part.t_s for part in parts])


def test_a_raised_speed_that_is_held_is_not_judged_as_idle() -> None:
    t_s = np.arange(900) / 10.0
    speed = np.where((t_s > 30.0) & (t_s < 60.0), 1050.0, 800.0)
    used = times_of(by_speed_alone(speed))
    assert not ((used > 30.0) & (used < 65.0)).any()
    assert np.ptp(used) > 80.0
    # where the control module asks for it, it is its idle
    asked = times_of(by_speed_alone(speed, idle_speed_target=speed))
    assert ((asked > 40.0) & (asked < 55.0)).any()
    # and so it is where it never idles otherwise
    assert len(times_of(by_speed_alone(np.full(900, 1050.0)))) > 800


def test_a_soft_blip_is_not_judged_as_idle_but_hunting_is() -> None:
    t_s = np.arange(900) / 10.0
    blip = 800.0 + 300.0 * np.exp(-0.5 * ((t_s - 45.0) / 1.0) ** 2)
    used = times_of(by_speed_alone(blip))
    assert not ((used > 44.0) & (used < 50.0)).any()
    assert len(used) > 600
    for hertz in (0.15, 0.5, 1.0, 2.0):
        swing = 800.0 + 150.0 * np.sin(2.0 * np.pi * hertz * t_s)
        assert len(times_of(by_speed_alone(swing))) > 800, hertz
