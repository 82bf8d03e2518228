"""Units where a person reads: every pressure and temperature of every page follows the switch, differences are scaled.

Conversion factors: NIST SP 811, appendix B; an interval of temperature converts without the shift of its zero (ibid.).
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import report_sample
from hypothesis import given
from hypothesis import strategies as st

from logan.comparison import compare
from logan.comparison.drive import Drive
from logan.knowledge import measures
from logan.model.comparison import Trend
from logan.pipeline.analyse import analyse
from logan.pipeline.plan import plan
from logan.report import compare_figures, compare_page, html_page, plan_page, plan_text
from logan.report.chapters_back import _ENDINGS
from logan.report.text import Quantity, parts, told
from logan.units import DISPLAY_US, of_difference

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_logs"
SWITCHED = re.compile(r'<(span|text)\b[^>]*class="[qu]"[^>]*>.*?</\1>', re.DOTALL)
UNSEEN = re.compile(r"<(script|style|title)\b.*?</\1>", re.DOTALL)
SI = re.compile(r".{0,40}(?:\b[kM]?Pa\b|°C|degC|\d bar\b|\d K\b).{0,40}", re.DOTALL)


def left_behind(page: str) -> list[str]:
    """Pressures and temperatures that stand in a page's words and that its switch does not reach."""
    words = re.sub(r"<[^>]+>", " ", SWITCHED.sub("#", UNSEEN.sub("", page)))
    return [found.strip() for found in SI.findall(words)]


def shown_us(value: float, unit: str) -> float:
    name, factor, offset = DISPLAY_US[unit]
    assert name == "degF"
    return value * factor + offset


def test_what_is_looked_for_is_found() -> None:
    assert left_behind("<p>at 70 kPa</p>") == ["at 70 kPa"]
    assert left_behind('<p>at <span class="q" data-unit="kPa">70 kPa</span></p>') == []


@pytest.mark.parametrize(
    ("name", "engine"),
    [
        ("fuel_supply_low", "training_rotary_six"),
        ("thermostat_stuck_open", "training_rotary_six"),
        ("pump_key_wrong", "training_rotary_six"),
        ("rail_leakdown", "training_rail_four"),
        ("healthy_spark_four", None),
    ],
)
def test_nothing_of_a_report_is_left_behind(name: str, engine: str | None) -> None:
    made = analyse([SAMPLES / f"{name}.log.gz"], engine=engine)
    page = html_page.render(made.record, made.finding)
    assert 'data-unit="kPa"' in page
    assert left_behind(page) == []


def test_nothing_of_a_comparison_is_left_behind() -> None:
    made = [
        analyse([SAMPLES / f"{name}.log.gz"], engine="training_rotary_six")
        for name in ("fuel_supply_low", "healthy_rotary_six")
    ]
    drives = [Drive(str(k), one.record, one.finding) for k, one in enumerate(made)]
    sides = [compare_page.Side(one.name, one.record, one.finding) for one in drives]
    page = compare_page.render(sides, compare(drives), measures.load())
    assert 'data-unit="kPa"' in page
    assert left_behind(page) == []


@pytest.mark.parametrize("engine", ["training_rail_four", "training_rotary_six"])
def test_nothing_of_a_plan_is_left_behind(engine: str) -> None:
    page = plan_page.render(plan((), engine, "can"))
    assert 'data-unit="kPa"' in page
    assert left_behind(page) == []


def test_a_limit_of_a_plan_has_the_unit_of_what_it_limits() -> None:
    made = plan(("rail_leakdown",), "training_rail_four", "can")
    assert re.search(r"leak-down: \d+ kPa/s and more \(limit 1800 kPa/s\)", plan_text.smallest(made.sizes[0]))
    assert "e+" not in "".join(plan_text.size(one) for one in made.smallest)


@given(st.floats(-200.0, 200.0))
def test_differences_of_temperatures_are_scaled_and_never_shifted(value: float) -> None:
    """Twice the difference reads twice as much; no difference reads nothing."""
    unit = of_difference("degC")
    assert shown_us(2.0 * value, unit) == pytest.approx(2.0 * shown_us(value, unit))
    assert shown_us(value, "degC") - shown_us(0.0, "degC") == pytest.approx(shown_us(value, unit))


def test_only_a_temperature_has_a_zero_to_shift() -> None:
    assert {unit for unit, (_, _, offset) in DISPLAY_US.items() if offset} == {"degC"}


def test_a_rate_of_temperature_is_a_difference() -> None:
    said = parts("not levelled off: 70 degC, -4.2 K a minute, limit +-1.0 K")
    assert [(p.value, p.unit) for p in said if isinstance(p, Quantity)] == [(70.0, "degC"), (-4.2, "K"), (1.0, "K")]
    assert shown_us(-4.2, "K") == pytest.approx(-7.56)
    assert told("-4.2 K a minute") == "\N{MINUS SIGN}4.2\N{NO-BREAK SPACE}°C a minute"


def test_no_text_gives_a_difference_or_rate_of_temperature_in_degc() -> None:
    wrong = re.compile(r"degC (?:a|per|added|more|less|higher|lower|above|below)\b|degC/|±\S+ degC")
    for path in [*ROOT.glob("logan/**/*.py"), *ROOT.glob("logan/knowledge/data/**/*.toml")]:
        found = [line for line in path.read_text("utf-8").splitlines() if wrong.search(line)]
        spoken = [line for line in found if not line.lstrip().startswith(("#", '"""', "source"))]
        assert spoken == [], path


def test_limits_of_the_profile_follow_the_switch() -> None:
    for ending, unit in _ENDINGS.items():
        if any(word in ending for word in ("degc", "kpa")):
            assert any(isinstance(part, Quantity) and part.unit in DISPLAY_US for part in parts(f"at 70{unit}")), ending


def test_a_drawing_over_drives_is_in_the_switchs_unit() -> None:
    trend = Trend(
        measure="warmup_plateau_degc", unit="degC", at=[1.0, 2.0, 3.0], per="drive", values=[80.0, 82.0, 84.0],
        lows=[79.0, 81.0, 83.0], highs=[81.0, 83.0, 85.0], slope=2.0, low=1.0, high=3.0, p=0.01,
        p_adjusted=0.01, shown=True,
    )  # fmt: skip
    drawn = compare_figures.over_drives(trend, None, 1, report_sample.CATALOGUE)
    assert 'class="q" data-value="79.0" data-unit="degC" data-decimals="1" data-bare="yes"' in drawn
