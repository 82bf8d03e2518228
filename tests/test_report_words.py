"""What the pages say and show of a finding: drift and key of the timing plane, cylinders, notes, names of the trade."""

from __future__ import annotations

import re
from dataclasses import replace

import msgspec
import numpy as np
import pytest
import report_sample
from hypothesis import given
from hypothesis import strategies as st

from logan.knowledge import channels
from logan.knowledge import measures as measure_files
from logan.model.channel import Channel, ChannelSet
from logan.model.finding import Evidence, Finding
from logan.model.measure import Measure, Provenance
from logan.model.profile import Pump
from logan.model.record import Record
from logan.pipeline.decode import summary_lines
from logan.ranking import words
from logan.ranking.distribution import Normal, Steps
from logan.report import chapters_back, chapters_record, cylinders, figures, html_page, timing_plane
from logan.report.text import decimals_needed, in_words, number, outside, parts, plainly

DRIFT = Measure(
    name="timing_error_drift_deg_per_min", unit="deg/min", value=-0.9, low=-0.95, high=-0.85, n=200,
    provenance=Provenance(spans_s=[(10.0, 400.0)]),
)  # fmt: skip


def drifting() -> Record:
    """The sample record, its timing running away by 0.9 degrees a minute from 10 s on."""
    record = report_sample.record()
    actual = record.channels.best["injection_timing_actual"]
    moved = replace(actual, value=actual.value - 0.9 * (actual.t_s - 10.0) / 60.0)
    return replace(record, channels=ChannelSet({**record.channels.best, "injection_timing_actual": moved}))


def page(record: Record, finding: Finding) -> str:
    return html_page.page(html_page.build(record, finding, report_sample.CATALOGUE))


def with_measures(*more: Measure) -> Finding:
    finding = report_sample.finding()
    return msgspec.structs.replace(finding, measures=[*finding.measures, *more])


# ---- the timing plane ----


def test_a_drift_is_taken_out_of_the_points() -> None:
    """The points then stand where those of the same drive without drift stand."""
    fit = timing_plane.Fit(drift=DRIFT)
    still, moved = timing_plane.points(report_sample.record()), timing_plane.points(drifting(), fit)
    assert still is not None
    assert moved is not None
    assert moved[1] == pytest.approx(still[1], abs=1e-9)
    raw = timing_plane.points(drifting())
    assert raw is not None
    assert np.ptp(raw[1]) > np.ptp(moved[1]) + 4.0


def test_a_drift_that_may_be_none_stays_in_the_points() -> None:
    unsure = timing_plane.Fit(drift=msgspec.structs.replace(DRIFT, high=0.1))
    assert unsure.drift_deg_per_min == 0.0
    assert "no drift is shown" in page(drifting(), with_measures(msgspec.structs.replace(DRIFT, high=0.1)))


def test_the_page_says_that_the_drift_is_taken_out() -> None:
    said = page(drifting(), with_measures(DRIFT))
    assert "taken out of the points" in said
    assert "the timing drifts by" in said
    assert "timing error without drift" in said


def test_a_reversed_key_between_two_steps_is_named_alone() -> None:
    """-4 * 1.4 = -5.6 degrees at the crank is no whole number of steps of 2 * 0.5 degrees (conventions, section 3)."""
    pump = Pump(key_offset_deg=1.4, key_step_deg=0.5)
    record = replace(report_sample.record(), profile=msgspec.structs.replace(report_sample.PROFILE, pump=pump))
    figure = timing_plane.figure(record)
    assert figure is not None
    names = {note["text"]: note["y"] for note in figure["layout"]["annotations"]}
    assert names["key reversed"] == pytest.approx(-5.6)
    assert "−6 key steps" not in names  # its words would overprint
    assert "−4 key steps" in names


# ---- cylinders ----


def test_an_open_interval_does_not_flatten_the_drawing() -> None:
    """A correction at its stop is at least so much: its interval has no end in the drawing."""
    small = next(m for m in report_sample.finding().measures if m.name == "cylinder_contribution_percent")
    assert isinstance(small.high, list)
    opened = msgspec.structs.replace(small, high=[100.0, *small.high[1:]])
    axis, wide = cylinders.ends([small], None), cylinders.ends([opened], None)
    assert axis is not None
    assert wide is not None
    assert wide[1] - wide[0] < 3.0 * (axis[1] - axis[0])
    assert (cylinders.beyond(small), cylinders.beyond(opened)) == (False, True)
    whiskers = [str(cylinders.draw(m, "", None)).count('class="whisker"') for m in (small, opened)]
    assert whiskers[1] == whiskers[0] - 1


def test_only_the_cylinder_in_question_stands_out_and_not_by_colour_alone() -> None:
    measure = next(m for m in report_sample.finding().measures if m.name == "cylinder_contribution_percent")
    drawing = str(cylinders.draw(measure, "Contribution", None, marked={4}))
    assert drawing.count('class="suspect"') == 1
    assert drawing.count('class="frame"') == 1
    assert "cylinder 4: −7.9 %, 95 % interval −10.2 to −5.6 %, in question" in drawing
    assert 'class="suspect"' not in str(cylinders.draw(measure, "Contribution", None))


def test_two_drawings_on_one_axis_have_the_same_lines() -> None:
    small = next(m for m in report_sample.finding().measures if m.name == "cylinder_contribution_percent")
    large = msgspec.structs.replace(small, value=[10.0 * v for v in small.value])  # type: ignore[union-attr]
    axis = cylinders.ends([small, large], None)
    one, other = (re.findall(r'class="grid"[^>]*y1="([\d.]+)"', str(cylinders.draw(m, "", None, axis)))
                  for m in (small, large))  # fmt: skip
    assert one == other


def test_the_numbers_of_the_evidence_are_set_beside_those_of_the_table() -> None:
    finding = report_sample.finding()
    first = msgspec.structs.replace(
        finding.ranking.faults[0], cylinder=4,
        evidence=[Evidence(kind="measure", name="cylinder_contribution_percent", observed="-9.7 %", expected="",
                           weight=2.0, text="weak")],
    )  # fmt: skip
    ranking = msgspec.structs.replace(finding.ranking, faults=[first, *finding.ranking.faults[1:]])
    section = chapters_record.cylinder_chart(msgspec.structs.replace(finding, ranking=ranking), report_sample.CATALOGUE)
    assert section is not None
    said = " ".join(item for block in section.blocks if block.kind == "bullets" for item in block.items)
    assert "Contribution of cylinder 4: −7.9" in said
    assert "-9.7 % from the median of the others" in said
    table = next(block for block in section.blocks if block.kind == "table")
    assert [row[0] for row in table.rows][3] == "4, in question"


# ---- evidence, names ----


def test_a_note_of_a_measure_stands_at_the_evidence() -> None:
    finding = report_sample.finding()
    noted = [
        msgspec.structs.replace(m, notes=["at its stop for 40 s"]) if m.name == "timing_error_static_deg" else m
        for m in finding.measures
    ]
    said = page(report_sample.record(), msgspec.structs.replace(finding, measures=noted))
    assert re.search(r'<tr role="row" class="for"><th[^>]*>.*?Note: <bdi>at its stop for', said)


def test_counts_start_at_zero() -> None:
    t_s = np.arange(0.0, 100.0)
    count = Channel("cam_signal_errors", "", t_s, np.zeros(100))
    record = replace(report_sample.record(), channels=ChannelSet({"cam_signal_errors": count}))
    plot = next(one for one in figures.time_plots(record) if one.panel.id == "signal")
    assert plot.figure["layout"]["yaxis"]["range"][0] == 0.0
    assert plot.figure["layout"]["yaxis"]["range"][1] >= 1.0


def test_abbreviations_are_written_as_the_standard_writes_them() -> None:
    """SAE J1979: NMHC catalyst, NOx, EGR/VVT, PM filter."""
    assert plainly("nmhc_catalyst_completions") == "NMHC catalyst completions"
    assert plainly("egr_vvt", capital=False) == "EGR/VVT"
    assert plainly("nox_aftertreatment") == "NOx aftertreatment"
    section = chapters_back.vehicle(report_sample.record())
    assert section is not None
    assert not re.search(r"\b(egr|vvt|nmhc)\b", str(section.blocks))


def test_channels_are_called_as_the_trade_calls_them() -> None:
    assert in_words("not in the capture: fuel_rail_pressure_actual, cylinder_3_fuel_correction") == (
        "not in the capture: actual fuel rail pressure, fuel correction of cylinder 3"
    )
    assert in_words("my_own_name.log stays, so does some_word") == "my_own_name.log stays, so does some_word"
    titles = [info.words for info in channels.load().values()]
    assert len(set(titles)) == len(titles)
    assert not [title for title in titles if "_" in title]


def test_a_time_of_minutes_and_seconds_is_no_quantity() -> None:
    assert parts("four times (2:00 min)") == ["four times (2:00 min)"]


def test_steps_are_told_in_words_from_their_numbers() -> None:
    """-6.00 is six steps of 1.00; -5.60 is no whole number of them."""
    info, name, step = measure_files.load(), "timing_error_static_deg", Steps(1.0, 0.15, 12)
    assert words.beside(Normal(-6.0, 0.25), step, name, info) == "about -6.00 deg, which is 6 such steps too"
    assert (
        words.beside(Normal(-5.6, 0.25), step, name, info) == "about -5.60 deg, which is no whole number of such steps"
    )
    assert words.beside(Normal(-6.0, 0.25), Normal(0.0, 1.0), name, info) == "about -6.00 deg"


def test_a_cylinder_that_is_not_fitted_is_marked() -> None:
    t_s = np.arange(3.0)
    found = [
        Channel(name, "%", t_s, np.full(3, -250.0)) for name in ("Cylinder6", "Cylinder7", "cylinder_8_x", "Speed")
    ]
    lines = list(summary_lines(found, 6))[1:]
    assert ["not fitted" in line for line in lines] == [False, True, True, False]
    assert not any("not fitted" in line for line in summary_lines(found))


@pytest.mark.parametrize(
    ("unit", "low", "value", "high", "shown"),
    [
        # scalings of SAE J1979 appendix E, from memory: 06 and 86 are 0.000305 (a count), 3B 0.0001, 0A 0.000122 V
        ("V", 0.000122, 0.000244, 0.000488, ("0.000244\u00a0V", "0.000122 to 0.000488\u00a0V")),
        ("", 0.0, 0.000305, 0.01525, ("0.000305", "0.000000 to 0.015250")),
        ("kPa", 0.0, 655.35, 655.34, ("655.35\u00a0kPa", "0.00 to 655.34\u00a0kPa")),
        ("", 0.0, 65_534.0, 65_535.0, ("65534", "0 to 65535")),
        ("V", -0.5, 0.0, 0.5, ("0.0\u00a0V", "\N{MINUS SIGN}0.5 to 0.5\u00a0V")),
    ],
)
def test_values_of_on_board_tests_bear_the_digits_that_they_need(
    unit: str, low: float, value: float, high: float, shown: tuple[str, str]
) -> None:
    record = report_sample.record()
    one = msgspec.structs.replace(record.vehicle.monitor_tests[0], unit=unit, low=low, value=value, high=high)
    section = chapters_back.vehicle(
        replace(record, vehicle=msgspec.structs.replace(record.vehicle, monitor_tests=[one]))
    )
    assert section is not None
    table = next(block for block in section.blocks if getattr(block, "caption", "") == "On-board test results")
    assert tuple(map(str, table.rows[0][1:3])) == shown  # type: ignore[union-attr]


@given(st.integers(1, 65_535), st.integers(-7, 3))
def test_neighbours_of_16_bits_read_apart(count: int, exponent: int) -> None:
    values = [count * 10.0**exponent, (count - 1) * 10.0**exponent]
    decimals = decimals_needed(*values)
    assert number(values[0], decimals) != number(values[1], decimals)
    assert "e" not in number(values[0], decimals)


@pytest.mark.parametrize("longest", range(30, 110, 7))
def test_a_long_reason_is_cut_between_words(longest: int) -> None:
    reason = (
        "the profile is not the one of the calibration, so nothing is judged by its limits and angles here; name it"
    )
    cut = outside(reason, longest)
    assert len(cut) <= longest
    assert cut == reason or " … " in cut
    assert set(cut.split()) - {"…"} <= set(reason.split())
    endless = outside("x" * 60 + " " + "y" * 200, longest)
    assert longest - 30 < len(endless) <= longest, "a name without blanks is cut where it must be"
