"""A record judged by the profile of another engine: said at the top, and no fault by limits that are not its own.

The records are our simulator's; which of them is of which engine stands in their truth files.
"""

from __future__ import annotations

import gzip
from dataclasses import replace
from pathlib import Path

import msgspec
import numpy as np
import pytest

from logan.knowledge import profiles
from logan.model.capture import NOT_NAMED, OTHER_ENGINE, OTHER_IDLE, PERHAPS_OTHER
from logan.model.channel import Channel, ChannelSet
from logan.model.drive import DriveStates, Span
from logan.model.vehicle import Vehicle
from logan.pipeline.analyse import analyse
from logan.pipeline.other_engine import contradictions, idle_target
from logan.report import html_page, terminal

SAMPLES = Path(__file__).parent.parent / "sample_logs"
SIX, FOUR, EIGHT = (
    profiles.load(name)[0] for name in ("training_rotary_six", "training_rail_four", "training_rail_v8")
)


def channel(name: str, values: list[float], source: str = "") -> Channel:
    return Channel(name, "", np.arange(float(len(values))), np.array(values), source=source)


def said(
    profile: object,
    *channels: Channel,
    told: tuple[str, ...] = (),
    calibration: str = "",
    cylinder: int = 0,
    ignition: str = "",
    kind: str = OTHER_ENGINE,
) -> str:
    found = ChannelSet({one.name: one for one in channels})
    vehicle = Vehicle(calibration_ids=[calibration] if calibration else [], ignition=ignition or None)
    remarks = list(contradictions(profile, vehicle, [cylinder] if cylinder else [], found, told, ()))
    assert all(remark.kind == kind for remark in remarks)
    return " ".join(remark.text for remark in remarks)


@pytest.mark.parametrize("name", ["healthy_rotary_six", "fuel_supply_low"])
@pytest.mark.parametrize("engine", ["training_rail_four", "training_rail_v8", "training_spark_four"])
def test_no_fault_by_the_limits_of_another_engine(name: str, engine: str) -> None:
    made = analyse([SAMPLES / f"{name}.log.gz"], engine=engine)
    ranking = made.finding.ranking
    assert ranking.verdict == "insufficient_evidence"
    assert ranking.sentence.startswith("The record is not of the engine that the profile describes")
    assert not [piece for one in ranking.faults for piece in one.evidence if piece.kind == "measure" and piece.weight]
    assert "the profile is of another engine" in terminal.text(made.record, made.finding)
    page = html_page.render(made.record, made.finding)
    assert "Beware" in page
    assert "beyond the limit" not in page


def test_edges_are_not_judged_by_the_wheels_of_another_engine() -> None:
    both = [SAMPLES / f"healthy_rotary_six.{kind}" for kind in ("log.gz", "edges.csv.gz")]
    assert analyse(both, engine="training_rail_four").finding.ranking.verdict == "insufficient_evidence"
    alone = analyse(both[1:], engine="training_rail_four")
    assert alone.finding.ranking.verdict == "insufficient_evidence"
    assert any("not the one that a file names" in remark.text for remark in alone.record.remarks)


@pytest.mark.parametrize(
    "stem", ["healthy_rotary_six", "healthy_rail_four", "healthy_spark_four", "charging_voltage_low"]
)
def test_no_record_contradicts_its_own_engine(stem: str) -> None:
    own = msgspec.json.decode((SAMPLES / f"{stem}.truth.json").read_bytes())["profile"]
    files = [path for path in (SAMPLES / f"{stem}.log.gz", SAMPLES / f"{stem}.edges.csv.gz") if path.exists()]
    kinds = {remark.kind for remark in analyse(files, engine=own).record.remarks}
    assert not kinds & {OTHER_ENGINE, PERHAPS_OTHER, OTHER_IDLE}


def test_a_cylinder_that_the_engine_has_not() -> None:
    moving = [0.0, 0.4, -1.2, 0.8]
    assert "fuel correction of cylinder 6" in said(FOUR, channel("cylinder_6_fuel_correction", moving))
    by_other = channel("Cylinder6", moving, "DBC BalanceB.Cylinder6")
    assert "fuel correction of cylinder 6" in said(FOUR, by_other)
    assert said(SIX, by_other) == ""
    # the filler of a frame of fixed length, and a slot that only ever holds zero
    for filler in ([-250.0] * 9, [0.0] * 9):
        assert said(FOUR, channel("cylinder_6_fuel_correction", filler)) == ""
    assert "a stored code names cylinder 5" in said(FOUR, cylinder=5)


def test_an_injection_that_the_engine_has_not() -> None:
    rail = channel("fuel_rail_pressure_actual", [300.0, 32_000.0, 61_000.0, 90_000.0])
    assert "rotary injection pump" in said(SIX, rail, kind=PERHAPS_OTHER)
    assert said(FOUR, rail) == ""
    duty = channel("timing_actuator_duty", [20.0, 31.0, 44.0, 52.0])
    assert "no rail pressure" in said(FOUR, duty, kind=PERHAPS_OTHER)
    assert said(FOUR, duty, rail) == ""
    assert said(FOUR, channel("timing_actuator_duty", [0.0] * 9)) == ""


@pytest.mark.parametrize("wrong", [[655_350.0], [np.inf, np.inf], [655_350.0, 655_350.0, 655_340.0], [np.nan]])
def test_a_disturbed_pressure_is_none_of_a_rail(wrong: list[float]) -> None:
    """FF FF is what a bus says where there is no value; what only so few values reach is nothing that was held."""
    assert said(SIX, channel("fuel_rail_pressure_actual", [300.0, 310.0, 320.0, 300.0, 310.0, *wrong])) == ""


def test_one_hint_alone_only_warns_and_two_decide() -> None:
    """A control module may send the kind of its monitors wrongly (bit 3 of byte B of PID 01, SAE J1979)."""
    rail = channel("fuel_rail_pressure_actual", [300.0, 32_000.0, 61_000.0, 90_000.0])
    assert "readiness says spark ignition" in said(FOUR, ignition="spark", kind=PERHAPS_OTHER)
    assert "rail pressures of 32000 kPa and more" in said(SIX, rail, ignition="spark", kind=OTHER_ENGINE)


def test_a_name_or_a_calibration_of_another_engine() -> None:
    assert SIX.name in said(FOUR, told=(SIX.name,))
    assert said(FOUR, told=("some engine of a workshop", FOUR.name)) == ""
    assert "calibration TRAIN-ROTARY6-03" in said(FOUR, calibration="TRAIN-ROTARY6-03")
    for found in (said(FOUR, told=(SIX.name,)), said(FOUR, calibration="TRAIN-ROTARY6-03")):
        assert found.endswith("name the right one with --engine training_rotary_six")
    assert said(FOUR, channel("cylinder_6_fuel_correction", [0.0, 1.0, 2.0])).endswith("the right one with --engine")
    assert said(FOUR, calibration="OTHER-1") == ""
    # a workshop's own copy of a profile, renamed and with a limit of its own, is the same engine
    copy = msgspec.structs.replace(SIX, name="ours", calibrations=[])
    assert said(copy, told=(SIX.name,), calibration="TRAIN-ROTARY6-03") == ""


@pytest.mark.parametrize(("asked", "told"), [(820.0, True), (700.0, False)])
def test_an_idle_far_from_the_profiles_is_told_and_decides_nothing(asked: float, told: bool) -> None:
    states = DriveStates(spans=(Span("idle_warm", 0.0, 10.0),))
    found = ChannelSet({"idle_speed_target": channel("idle_speed_target", [asked] * 10)})
    kinds = [remark.kind for remark in idle_target(EIGHT, found, states)]
    assert kinds == ([OTHER_IDLE] if told else [])
    assert list(idle_target(EIGHT, found, replace(states, spans=()))) == []


def test_faults_that_the_other_engine_cannot_have_stay_in_the_race() -> None:
    """A code of rail pressure, judged by the profile of a rotary pump: the rail is the likeliest all the same."""
    found = analyse([SAMPLES / "rail_pressure_low.log.gz"], engine="training_rotary_six").finding.ranking
    assert {"rail_pressure_low", "rail_leakdown", "rail_pressure_unstable"} <= {one.fault for one in found.faults}


def test_a_known_calibration_names_the_engine(tmp_path: Path) -> None:
    """Without --engine the one profile whose calibration the control module reports is taken, and that is said."""
    found = analyse([SAMPLES / "pump_key_reversed.log.gz"])
    assert found.record.profile.name == SIX.name
    assert found.record.profile_source.endswith("recognised by the calibration TRAIN-ROTARY6-03")
    assert found.finding.ranking.faults[0].fault == "pump_key_reversed"
    assert profiles.recognised([]) is None
    assert profiles.recognised(["TRAIN-ROTARY6-03", "TRAIN-RAIL8-0012"]) is None


EDGES = (SAMPLES / "cam_phase_offset.edges.csv.gz").read_bytes()


def edges(folder: Path, engine: str, name: str = "edges.csv") -> Path:
    """The sample's edges with another name of the engine in their header, or without one."""
    head, _, rest = gzip.decompress(EDGES).decode().partition("\n")
    assert head.startswith("# engine: ")
    path = folder / name
    path.write_text(f"# engine: {engine}\n{rest}" if engine else rest, "utf-8")
    return path


@pytest.mark.parametrize("engine", [FOUR.name, "training_rail_four", " training_rail_four  "])
def test_a_files_header_names_the_engine(tmp_path: Path, engine: str) -> None:
    """What the file is of stands in its truth file: the cam target is off, and only the profile's wheel shows it."""
    truth = msgspec.json.decode((SAMPLES / "cam_phase_offset.truth.json").read_bytes())
    found = analyse([edges(tmp_path, engine)])
    assert (truth["profile"], found.record.profile.name) == ("training_rail_four", FOUR.name)
    assert found.record.profile_source.endswith("training_rail_four, named in the header of edges.csv")
    assert found.record.engine_known
    assert found.finding.ranking.faults[0].fault == "cam_phase_offset"
    assert "named in the header of edges.csv" in html_page.render(found.record, found.finding)
    assert NOT_NAMED not in {remark.kind for remark in found.record.remarks}


@pytest.mark.parametrize("engine", ["", "Training diesel, inline four", "training", "Workshop lorry 7"])
def test_edges_of_an_engine_that_nothing_names_ask_for_its_name(tmp_path: Path, engine: str) -> None:
    found = analyse([edges(tmp_path, engine)])
    text = terminal.text(found.record, found.finding)
    page = html_page.render(found.record, found.finding)
    first = text.splitlines()[0]
    assert "The engine was not named" in first
    assert "--engine" in first
    for place in (text, page.split('<section id="faults"')[0]):
        assert "With --engine NAME they can be" in place
        assert all(name in place for name in profiles.names())
        assert not engine or engine in place
    missing = {one.measure: one for one in found.finding.missing}
    for name in ("crank_dropouts_per_1000rev", "cam_phase_error_deg", "cylinder_contribution_percent"):
        assert missing[name].why == "no engine profile was given"
        assert "--engine" in missing[name].capture_hint
    # what is not in this recording is not told to be
    assert missing["pump_phase_error_deg"].why == "no pump edges in the recording"
    assert "--engine" not in missing["pump_phase_error_deg"].capture_hint
    assert "--engine" in missing["idle_speed_mean_rpm"].capture_hint
    assert not [one for one in missing.values() if "the engine profile has no" in one.why]
    assert "nor does the engine profile give how far the cam" not in page
    assert "--engine" in found.finding.ranking.hints["cam_phase_offset"]
    assert "--engine" not in found.finding.ranking.hints["boost_leak"]


def test_two_files_that_name_two_engines_decide_for_none(tmp_path: Path) -> None:
    files = [edges(tmp_path, FOUR.name), SAMPLES / "healthy_rotary_six.edges.csv.gz"]
    found = analyse(files)
    assert not found.record.engine_known
    assert any(SIX.name in r.text and FOUR.name in r.text for r in found.record.remarks if r.kind == NOT_NAMED)


def test_pump_edges_that_are_there_are_not_said_to_lack() -> None:
    found = analyse([SAMPLES / "crank_signal_inverted.wav"]).finding
    why = {one.measure: one.why for one in found.missing}["timing_error_static_deg"]
    assert "or the pump" not in why
    assert "no engine profile was given" in why


def test_a_calibration_goes_before_a_header(tmp_path: Path) -> None:
    """What the control module says of itself is sure, what somebody wrote into a file may be a copy: it then doubts."""
    log = tmp_path / "log.log"
    log.write_bytes(b"# engine: training_rail_four\n" + gzip.decompress((SAMPLES / "mixture_lean.log.gz").read_bytes()))
    assert analyse([log]).record.profile_source.startswith("shipped profile training_spark_four, recognised by")
    assert profiles.recognised([], told={"training_rail_four": "a.csv"}) is not None
    assert profiles.recognised([], told={"training_rail_four": "a.csv", SIX.name: "b.csv"}) is None
