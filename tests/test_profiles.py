"""Engine profiles as files: plain errors with line and remedy, the contract's example, the choice by capture."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.errors import KnowledgeError, UsageError
from logan.knowledge import profiles
from logan.knowledge.load import toml
from logan.model.profile import CrankWheel, EngineProfile

# The example of the contract, section 4, without its comments.
EXAMPLE = """
name = "Training diesel, inline six"
ignition = "compression"
cylinders = 6
firing_order = [1, 5, 3, 6, 2, 4]
injection = "rotary_pump"

[crank_wheel]
teeth = 60
missing = 2
first_edge_deg = 84.0
active_edge = "falling"

[cam_wheel]
edges_deg = [54.0, 174.0, 294.0, 414.0, 534.0, 654.0, 684.0]
active_edge = "falling"
tolerance_deg = 4.0

[pump]
key_offset_deg = 1.5
key_step_deg = 0.5
timing_tolerance_deg = 1.0
edges_deg = [0.0, 120.0, 240.0, 360.0, 480.0, 600.0]

[idle]
target_rpm = 800
std_limit_rpm = 12
warm_coolant_degc = 70

[limits]
supply_pressure_min_kpa_gauge = 70
rail_error_percent = 5
system_voltage_min = 13.2
thermostat_open_degc = 82
boost_error_kpa = 15

[channels]
"PumpState.TimingDesired" = "injection_timing_commanded"
"""


def line_of(text: str, part: str) -> int:
    return next(k for k, line in enumerate(text.splitlines(), 1) if part in line)


def test_the_contracts_example_loads(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_text(EXAMPLE, "utf-8")
    profile, source = profiles.load(path)
    assert source == f"file {path}"
    assert profile.pump is not None
    assert profile.pump.key_offset_deg == 1.5
    assert profile.crank_wheel == CrankWheel(teeth=60, missing=2, first_edge_deg=84.0)
    assert profile.channels == {"PumpState.TimingDesired": "injection_timing_commanded"}


MISTAKES = [
    ("teeth = 60", 'teeth = "60"', "crank_wheel.teeth must be a whole number, not text"),
    ("teeth = 60", "teeth = 60.5", "crank_wheel.teeth must be a whole number, not a number"),
    ("teeth = 60", "tooth = 60", "tooth is no known key; did you mean teeth"),
    ("teeth = 60", "teeth = 0", "crank_wheel.teeth cannot be 0"),
    ("missing = 2", "missing = 60", "missing 60 must be 0 or more and less than teeth"),
    ("missing = 2", "missing = -1", "missing -1 must be 0 or more"),
    ("first_edge_deg = 84.0", "first_edge_deg = 444", "first_edge_deg 444 is not within 0..360"),
    ('ignition = "compression"', 'ignition = "diesel"', "write one of 'compression', 'spark'"),
    ("cylinders = 6", "cylinders = 0", "cylinders cannot be 0"),
    ("firing_order = [1, 5, 3, 6, 2, 4]", "firing_order = [1, 5, 3, 6, 2, 2]", "does not name every cylinder"),
    ("firing_order = [1, 5, 3, 6, 2, 4]", "firing_order = [1, 3, 4, 2]", "4 entries, but the engine has 6 cylinders"),
    ("edges_deg = [54.0,", "edges_deg = [754.0,", "cam_wheel.edges_deg holds 754, which is not within 0..720"),
    ("edges_deg = [54.0, 174.0,", "edges_deg = [174.0, 174.0,", "cam_wheel.edges_deg holds an edge twice"),
    ("edges_deg = [54.0,", 'edges_deg = ["a",', "cam_wheel.edges_deg[1] must be a number, not text"),
    ("key_step_deg = 0.5", "key_step_deg = -0.5", "pump.key_step_deg must be more than 0"),
    ("key_step_deg = 0.5", "key_step_deg = nan", "pump.key_step_deg is not a finite number"),
    ("key_step_deg = 0.5", 'active_edge = "down"', "write one of 'rising', 'falling'"),
    ("target_rpm = 800", "target_rpm = 80000", "idle.target_rpm cannot be 80000 rpm"),
    ("thermostat_open_degc = 82", "thermostat_open_degc = 355", "limits.thermostat_open_degc cannot be 355 degC"),
    ("[idle]", "[idel]", "idel is no known key; did you mean idle"),
    ("rail_error_percent = 5", "rail_error = 5", "rail_error is no known key; did you mean rail_error_percent"),
    ("boost_error_kpa = 15", "boost_error_kpa = true", "must be a number, not true or false"),
    ("cylinders = 6", "cylinders == 6", "is no valid TOML"),
]  # fmt: skip


@pytest.mark.parametrize(("right", "mistake", "said"), MISTAKES, ids=[m[1] for m in MISTAKES])
def test_a_mistake_is_named_with_its_line(tmp_path: Path, right: str, mistake: str, said: str) -> None:
    path = tmp_path / "engine.toml"
    text = EXAMPLE.replace(right, mistake, 1)
    assert text != EXAMPLE
    path.write_text(text, "utf-8")
    with pytest.raises(KnowledgeError) as caught:
        profiles.load(path)
    message = str(caught.value)
    assert message.startswith(f"{path}, line {line_of(text, mistake)}: ")
    assert said in message
    assert caught.value.do


def test_a_file_that_cannot_be_read_is_named(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_bytes(b'name = "\xff\xfe"')
    with pytest.raises(KnowledgeError, match="is no UTF-8 text"):
        profiles.load(path)


def test_wheel_may_be_given_by_its_edges_but_not_twice(tmp_path: Path) -> None:
    path = tmp_path / "engine.toml"
    path.write_text("[crank_wheel]\nedges_deg = [10.0, 130.0, 250.0]\n", "utf-8")
    wheel = profiles.load(path)[0].crank_wheel
    assert wheel is not None
    assert wheel.angles_deg() == [10.0, 130.0, 250.0]
    path.write_text("[crank_wheel]\nteeth = 3\nedges_deg = [10.0, 130.0, 250.0]\n", "utf-8")
    with pytest.raises(KnowledgeError, match=r"edges_deg stands beside teeth"):
        profiles.load(path)
    path.write_text('[crank_wheel]\nactive_edge = "rising"\n', "utf-8")
    with pytest.raises(KnowledgeError, match="tells neither teeth nor edges_deg"):
        profiles.load(path)


def test_an_empty_profile_is_allowed(tmp_path: Path) -> None:
    path = tmp_path / "empty.toml"
    path.write_text("", "utf-8")
    assert profiles.load(path)[0] == EngineProfile()


def test_every_shipped_profile_loads_by_name() -> None:
    assert len(profiles.names()) >= 4
    for name in profiles.names():
        profile, source = profiles.load(name)
        assert profile.ignition in ("compression", "spark")
        assert name in source


@pytest.mark.parametrize("name", ["training_rotary_sixx", "nothing_like_it"])
def test_an_unknown_name_lists_the_known(name: str) -> None:
    with pytest.raises(UsageError) as caught:
        profiles.load(name)
    assert name in str(caught.value)
    assert "training_rotary_six" in str(caught.value)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("training_rail_fou", "; did you mean training_rail_four? Or give the path of a TOML file"),
        (
            "nothing_like_it",
            "; known are training_rail_four, training_rail_v8, training_rotary_six, training_spark_four; or give the "
            "path of a TOML file",
        ),
    ],
)
def test_a_hint_is_a_sentence(name: str, said: str) -> None:
    with pytest.raises(UsageError) as caught:
        profiles.load(name)
    assert str(caught.value).endswith(said)


def test_a_path_that_is_no_file_is_said_so(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="no such engine profile"):
        profiles.load(tmp_path / "gone.toml")


@pytest.mark.parametrize(
    ("ignition", "channels", "told", "injection"),
    [
        ("compression", [], "compression", None),
        ("spark", ["injection_timing_commanded"], "spark", None),
        (None, ["injection_timing_commanded"], "compression", None),
        (None, ["timing_actuator_duty"], "compression", "rotary_pump"),
        ("compression", ["fuel_rail_pressure_commanded"], "compression", "common_rail"),
        (None, ["short_term_fuel_trim_1"], "spark", None),
        (None, ["engine_speed"], None, None),
    ],
)
def test_choice_takes_what_the_capture_tells_and_no_engine_numbers(
    ignition: str | None, channels: list[str], told: str | None, injection: str | None
) -> None:
    profile, source, assumed = profiles.choose(ignition, channels)
    assert (profile.ignition, profile.injection) == (told, injection)
    assert (profile.cylinders, profile.firing_order, profile.crank_wheel) == (None, [], None)
    assert (profile.cam_wheel, profile.pump, profile.idle.target_rpm) == (None, None, None)
    assert "training" not in profile.name.lower()
    assert source == "chosen from the capture"
    assert any("not judged" in text for text in assumed)


@settings(max_examples=60, deadline=None)
@given(st.text(max_size=120))
def test_any_text_is_a_profile_or_a_clear_error(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.getbasetemp() / "any.toml"
    path.write_text(text, "utf-8", errors="replace")
    try:
        outcome: object = toml(path, EngineProfile)[0]
    except KnowledgeError as error:
        outcome = error
    if isinstance(outcome, KnowledgeError):
        assert str(path) in str(outcome)
        assert outcome.do
    else:
        assert isinstance(outcome, EngineProfile)
