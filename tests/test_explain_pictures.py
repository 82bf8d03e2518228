"""Pictures of an explained fault show it: on the canned drives, whose truth is known, against those of good engines."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from logan.knowledge import measures
from logan.model.finding import Finding
from logan.model.record import Record
from logan.pipeline.analyse import analyse
from logan.pipeline.explain import explain
from logan.report import explain_views
from logan.report.document import Chart, Drawing
from logan.report.explain_pairs import Drive, levels, plots
from logan.report.explain_views import SEEN, blocks

SAMPLES = Path(__file__).parent.parent / "sample_logs"
CATALOGUE = measures.load()


@cache
def driven(name: str) -> tuple[Record, Finding]:
    files = sorted(path for path in SAMPLES.glob(f"{name}.*.gz"))
    found = analyse(files)
    return found.record, found.finding


@pytest.mark.parametrize(
    ("fault", "good", "first"),
    [
        ("cam_signal_delay", "healthy_rotary_six", "phase"),
        ("crank_wheel_runout", "healthy_rail_four", "crank wheel, runout"),
        ("pump_timing_drift", "healthy_rotary_six", "drift"),
        ("idle_hunting", "healthy_rotary_six", "speed"),
        ("boost_leak", "healthy_rail_four", "boost"),
        ("thermostat_stuck_open", "healthy_rail_four", "temperature"),
        ("charging_voltage_low", "healthy_rail_four", "voltage"),
    ],
)
def test_the_first_picture_shows_the_fault(fault: str, good: str, first: str) -> None:
    told = replace(explain(fault), healthy=driven(good), faulty=driven(fault))
    drawn = blocks(told, CATALOGUE)
    assert isinstance(drawn[0], Chart | Drawing)
    assert first in (drawn[0].id if isinstance(drawn[0], Chart) else drawn[0].caption)
    for one in drawn:
        if isinstance(one, Chart):
            assert one.figure["layout"]["yaxis"]["range"][0] < one.figure["layout"]["yaxis"]["range"][1]


def test_hunting_is_drawn_where_it_is_measured_on_an_axis_of_its_size() -> None:
    """A swing of 40 rpm fills at least a third of its axis; over the whole drive it would be a hair."""
    drives = Drive("good engine", *driven("healthy_rotary_six")), Drive("with the fault", *driven("idle_hunting"))
    found = plots("speed", "idle_hunt_amplitude_rpm", drives)
    charts = [one for one in found.blocks if isinstance(one, Chart)]
    assert found.apart > 0.3
    for chart in charts:
        low, high = chart.figure["layout"]["yaxis"]["range"]
        assert high - low < 400.0
        start, end = chart.figure["layout"]["xaxis"]["range"]
        assert end - start < 60.0
        assert chart.title.endswith(", where it is measured")


def test_no_picture_is_drawn_in_which_both_drives_look_alike() -> None:
    """The same drive twice: what cannot differ is not shown, and a main sign is given as its number."""
    same = driven("healthy_rotary_six")
    told = replace(explain("idle_hunting"), healthy=same, faulty=same)
    assert not [one for one in blocks(told, CATALOGUE) if isinstance(one, Chart)]
    for sign in told.signs:
        drives = Drive("good engine", *same), Drive("with the fault", *same)
        for one in explain_views._pictures(sign.measure, drives, CATALOGUE):
            assert one.apart < SEEN


def test_a_number_of_both_drives_stands_with_its_interval() -> None:
    drives = Drive("good engine", *driven("healthy_rail_four")), Drive("with the fault", *driven("crank_wheel_runout"))
    found = levels("crank_wheel_runout_percent", drives, CATALOGUE)
    (drawing,) = found.blocks
    assert isinstance(drawing, Drawing)
    for drive in drives:
        value = drive.measures["crank_wheel_runout_percent"].value
        assert isinstance(value, float)
        assert np.isfinite(value)
        decimals = CATALOGUE["crank_wheel_runout_percent"].decimals
        assert f"{drive.words}: {value:.{decimals}f}" in drawing.svg
