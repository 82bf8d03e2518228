"""Comparing drives: what must hold whatever the drives are, and canned logs from end to end."""

from __future__ import annotations

import errno
import gzip
import json
import os
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import NoReturn

import jsonschema
import msgspec
import pytest

from logan.comparison import Drive, compare
from logan.errors import CaptureError, KnowledgeError, UsageError
from logan.knowledge import comparison as rules
from logan.knowledge import measures, texts
from logan.model.capture import OTHER_ENGINE, Remark
from logan.model.comparison import Comparison, Difference, Value
from logan.model.measure import Measure, Missing
from logan.pipeline import compare as pipeline
from logan.pipeline.analyse import analyse
from logan.report import compare_page, compare_text, trend_words

ROOT = Path(__file__).parent.parent
SAMPLES = ROOT / "sample_logs"
SCHEMA = json.loads((ROOT / "tests" / "data" / "comparison.schema.json").read_text("utf-8"))
ENGINE = "training_rotary_six"


@cache
def drive(name: str) -> Drive:
    found = analyse([SAMPLES / f"{name}.log.gz"], engine=ENGINE)
    return Drive(f"{name}.log.gz", found.record, found.finding)


def with_measure(one: Drive, name: str, value: float, half: float, vin: str | None = "same") -> Drive:
    """The drive with one measure replaced, and a name and content of its own."""
    kept = [m for m in one.finding.measures if m.name != name]
    unit = measures.load()[name].unit
    new = Measure(
        name=name, value=value, unit=unit, low=value - half, high=value + half, n=50, statistical=half / 1.96,
        systematic=0.0,
    )  # fmt: skip
    finding = msgspec.structs.replace(one.finding, measures=[*kept, new])
    files = tuple(replace(c, sha256=f"{abs(hash((value, half))):064x}"[:64]) for c in one.record.captures)
    vehicle = one.record.vehicle if vin == "same" else msgspec.structs.replace(one.record.vehicle, vin=vin)
    return Drive(f"{name} {value}", replace(one.record, captures=files, vehicle=vehicle), finding)


def row(comparison: Comparison, name: str) -> Difference:
    return next(one for one in comparison.differences if one.measure == name)


def test_drives_that_contradict_their_profile_are_not_judged_by_its_limits() -> None:
    sure = drive("healthy_rotary_six")
    remark = Remark(OTHER_ENGINE, "the profile has 6 cylinders, a stored code names cylinder 8")
    doubtful = replace(sure, record=replace(sure.record, remarks=(*sure.record.remarks, remark)))
    judged, unjudged = compare([sure, sure]), compare([sure, doubtful])
    assert any(one.reference is not None for one in judged.differences)
    assert not any(one.reference is not None for one in unjudged.differences)
    assert any("names cylinder 8" in line for line in unjudged.remarks)


def test_a_capture_against_itself_is_the_same_and_told() -> None:
    for name in ("healthy_rotary_six", "pump_key_reversed"):
        result = compare([drive(name)] * 2)
        assert result.differences
        assert {one.outcome for one in result.differences} == {"same"}
        assert not [one for one in result.faults if one.fate in ("cleared", "new")]
        assert result.success == "not_shown"
        assert any("given twice" in remark for remark in result.remarks)


def test_two_drives_of_one_vehicle_at_one_time_are_told() -> None:
    """The canned logs carry one VIN and one start."""
    first, last = drive("fuel_supply_low"), drive("healthy_rotary_six")
    assert any("start within a minute" in remark for remark in compare([first, last]).remarks)
    later = tuple(replace(c, start=c.start and c.start + 86_400.0) for c in last.record.captures)
    next_day = replace(last, record=replace(last.record, captures=later))
    assert not any("start within a minute" in remark for remark in compare([first, next_day]).remarks)


@pytest.mark.parametrize(
    ("before", "after", "shown"),
    [(62.4, 109.6, ("62.4 kPa", "109.6 kPa", "47.2 kPa")), (62.0, 110.0, ("62 kPa", "110 kPa", "48 kPa"))],
)
def test_shown_numbers_add_up(before: float, after: float, shown: tuple[str, ...]) -> None:
    good, name = drive("healthy_rotary_six"), "supply_pressure_min_kpa_gauge"
    result = row(compare([with_measure(good, name, v, 0.5) for v in (before, after)]), name)
    cells = [str(cell).replace("\u00a0", " ") for cell in compare_page._row(result, measures.load())[1:4]]
    assert tuple(cells) == shown


def test_order_swapped_swaps_signs() -> None:
    there = compare([drive("fuel_supply_low"), drive("healthy_rotary_six")])
    back = compare([drive("healthy_rotary_six"), drive("fuel_supply_low")])
    mirror = {"better": "worse", "worse": "better"}
    assert len(there.differences) == len(back.differences) > 20
    for one, other in zip(there.differences, back.differences, strict=True):
        assert (one.measure, one.cylinder) == (other.measure, other.cylinder)
        assert one.difference == pytest.approx(-other.difference)
        assert (one.low, one.high) == pytest.approx((-other.high, -other.low))
        assert other.outcome == mirror.get(one.outcome, one.outcome)


def test_a_measure_missing_on_both_sides_changes_nothing() -> None:
    def without(one: Drive) -> Drive:
        lost = Missing(measure="made_up", why="nobody recorded it", capture_hint="")
        return replace(one, finding=msgspec.structs.replace(one.finding, missing=[*one.finding.missing, lost]))

    pair = drive("fuel_supply_low"), drive("healthy_rotary_six")
    assert compare(pair) == compare([without(one) for one in pair])


def test_missing_on_one_side_is_told_with_the_reason() -> None:
    good = drive("healthy_rotary_six")
    poor = replace(
        good,
        finding=msgspec.structs.replace(
            good.finding,
            measures=[m for m in good.finding.measures if m.name != "running_voltage_v"],
            missing=[Missing(measure="running_voltage_v", why="no voltage", capture_hint="")],
        ),
    )
    refused = {one.measure: one.why for one in compare([good, poor]).not_comparable}
    assert refused == {"running_voltage_v": "missing after: no voltage"}


@pytest.mark.parametrize(
    ("before", "after", "half", "outcome"),
    [
        (12.0, 14.2, 0.05, "better"),
        (14.2, 12.0, 0.05, "worse"),
        (14.2, 14.25, 0.05, "same"),
        (14.2, 14.3, 0.01, "same"),  # surely another value, and surely of no importance
        (14.2, 14.3, 3.0, "cannot_tell"),
    ],
)
def test_outcomes_by_the_limit_of_the_profile(before: float, after: float, half: float, outcome: str) -> None:
    base = drive("healthy_rotary_six")
    pair = [with_measure(base, "running_voltage_v", value, half) for value in (before, after)]
    found = row(compare(pair), "running_voltage_v")
    assert found.outcome == outcome
    assert found.beyond_before == (before == 12.0)


@pytest.mark.parametrize(
    ("before", "after", "half", "outcome"),
    [
        (-6.0, 0.1, 0.2, "better"),
        (0.1, -6.0, 0.2, "worse"),
        (-3.0, 3.0, 0.2, "changed"),
        (3.0, 2.0, 0.2, "better"),
    ],
)
def test_a_target_in_the_middle_is_neared_from_both_sides(
    before: float, after: float, half: float, outcome: str
) -> None:
    base = drive("healthy_rotary_six")
    pair = [with_measure(base, "timing_error_static_deg", value, half) for value in (before, after)]
    assert row(compare(pair), "timing_error_static_deg").outcome == outcome


def test_without_a_limit_it_only_changed() -> None:
    base = drive("healthy_rotary_six")
    pair = [with_measure(base, "crank_half_order_rpm", value, 0.1) for value in (0.2, 9.0)]
    assert row(compare(pair), "crank_half_order_rpm").outcome == "changed"


@pytest.mark.parametrize(
    ("before", "after", "outcome"),
    [(-0.2, -0.4, "worse"), (-0.4, -0.6, "worse"), (-0.6, -0.1, "better"), (0.1, 0.6, "worse"), (0.6, 0.1, "better")],
)
def test_an_error_without_a_limit_is_worse_farther_from_nothing(before: float, after: float, outcome: str) -> None:
    """A drift is best at 0 (the definition of an error), whichever way it goes."""
    good, name = drive("healthy_rotary_six"), "timing_error_drift_deg_per_min"
    pair = [with_measure(good, name, value, 0.02) for value in (before, after)]
    assert row(compare(pair), name).outcome == outcome


@pytest.mark.parametrize(
    ("before", "after", "outcome"), [(32.0, 1.0, "better"), (1.0, 32.0, "worse"), (2.0, 2.5, "same")]
)
def test_a_leak_while_cranking_is_judged_by_cylinder(before: float, after: float, outcome: str) -> None:
    """Even cylinders lose alike, so each is best at 0, the mean; what the wheel feigns cancels unless it is new."""
    base, name = drive("healthy_rotary_six"), "cylinder_cranking_loss_percent"

    def lost(first: float) -> Drive:
        value = [first, -first, 0.0, 0.0, 0.0, 0.0]
        new = Measure(
            name=name, value=value, unit="%", low=[v - 4.0 for v in value], high=[v + 4.0 for v in value], n=13,
            statistical=0.2, systematic=2.05,
        )  # fmt: skip
        files = tuple(replace(c, sha256=f"{abs(hash(first)):064x}"[:64]) for c in base.record.captures)
        finding = msgspec.structs.replace(base.finding, measures=[*base.finding.measures, new])
        return Drive(f"{name} {first}", replace(base.record, captures=files), finding)

    pair = [lost(before), lost(after)]
    made, new_wheel = (
        [one for one in compare(pair, work).differences if one.measure == name] for work in ((), ("tone_wheel",))
    )
    assert [one.cylinder for one in made] == [1, 2, 3, 4, 5, 6]
    assert [one.outcome for one in made] == [outcome] * 2 + ["same"] * 4
    assert all(b.high - b.low > 1.3 * (a.high - a.low) for a, b in zip(made, new_wheel, strict=True))
    assert {one.outcome for one in new_wheel[2:]} == {"cannot_tell"}


def test_every_fault_that_was_open_before_is_listed_and_named() -> None:
    """One cylinder is weak; the record before cannot tell fuel from compression (its truth: compression)."""
    drives = []
    for name in ("cylinder_compression_low", "healthy_rail_four"):
        found = analyse([SAMPLES / f"{name}.log.gz"], engine="training_rail_four")
        drives.append(Drive(name, found.record, found.finding))
    ranked = {one.fault: one.probability for one in drives[0].finding.ranking.faults}
    assert ranked["cylinder_compression_low"] > 0.1
    made = compare(drives)
    assert {one.fault for one in made.faults} == {"cylinder_fuel_low", "cylinder_compression_low"}
    assert made.faults[0].before > made.faults[1].before
    for one in made.faults:
        assert one.title in made.sentence
    if len({one.fate for one in made.faults}) == 1:  # else each is named with its own
        assert "which the record before does not tell apart" in made.sentence
    if any(one.fate == "cannot_tell" for one in made.faults):
        assert made.success == "not_shown"


def test_a_difference_that_chance_may_make_says_so_and_small_sizes_are_not_rounded_away() -> None:
    alone = row(compare([drive("fuel_supply_low"), drive("healthy_rotary_six")]), "idle_speed_std_rpm")
    shown = msgspec.structs.replace(alone, outcome="cannot_tell", low=-11.8, high=-0.7)
    assert "chance" in compare_page._by_chance(shown)
    assert compare_page._by_chance(msgspec.structs.replace(shown, high=0.7)) == ""
    assert compare_page._by_chance(msgspec.structs.replace(shown, outcome="changed")) == ""
    assert [compare_page._fine(value, 0) for value in (0.5, 0.25, 15.0)] == [1, 2, 0]


def test_a_new_part_shares_no_error_with_the_old_one() -> None:
    base = drive("healthy_rotary_six")
    name = "cam_phase_at_speed_deg"
    other = with_measure(base, "running_voltage_v", 14.0, 0.1)
    kept, fitted = (row(compare([base, other], work), name) for work in ((), ("cam_sensor",)))
    assert kept.shared > 0.0 == fitted.shared
    assert fitted.high - fitted.low > kept.high - kept.low


def test_vehicles() -> None:
    base = drive("healthy_rotary_six")
    other = with_measure(base, "running_voltage_v", 14.0, 0.1, vin="00TRNXXXXX0000099")
    with pytest.raises(UsageError, match="different vehicles"):
        compare([base, other])
    allowed = compare([base, other], different_vehicles=True)
    assert all(one.shared == 0.0 for one in allowed.differences)
    assert any("different vehicles" in remark for remark in allowed.remarks)
    unknown = with_measure(base, "running_voltage_v", 14.0, 0.1, vin=None)
    assert any("No VIN" in remark for remark in compare([base, unknown]).remarks)


def test_other_conditions_are_not_compared() -> None:
    base = drive("healthy_rotary_six")
    coolant = base.record.channels.best["coolant_temperature"]
    cold = replace(base.record.channels, best=base.record.channels.best | {
        "coolant_temperature": replace(coolant, value=coolant.value - 45.0)})  # fmt: skip
    other = with_measure(base, "running_voltage_v", 14.0, 0.1)
    other = replace(other, record=replace(other.record, channels=cold))
    refused = {one.measure: one.why for one in compare([base, other]).not_comparable}
    assert "coolant temperature" in refused["idle_speed_mean_rpm"]
    assert "running_voltage_v" not in refused


def test_a_repair_that_worked() -> None:
    result = compare([drive("fuel_supply_low"), drive("healthy_rotary_six")])
    assert result.success == "worked"
    assert [(one.fault, one.fate) for one in result.faults] == [("fuel_supply_low", "cleared")]
    assert row(result, "supply_pressure_min_kpa_gauge").outcome == "better"


def test_a_fault_that_came() -> None:
    result = compare([drive("healthy_rotary_six"), drive("pump_key_reversed")])
    assert result.success == "not_shown"
    assert [(one.fault, one.fate) for one in result.faults] == [("pump_key_reversed", "new")]
    assert row(result, "timing_error_static_deg").outcome == "worse"


@pytest.mark.parametrize(
    ("before", "after", "why"),
    [(4, 2, "the same fault, in cylinder 2"), (4, None, "not both records name"), (None, 4, "not both records name")],
)
def test_one_fault_in_another_cylinder_is_not_cleared(before: int | None, after: int | None, why: str) -> None:
    def in_cylinder(number: int | None, half: float) -> Drive:
        one = with_measure(drive("pump_key_reversed"), "idle_speed_mean_rpm", 800.0, half)
        ranking = one.finding.ranking
        first = msgspec.structs.replace(ranking.faults[0], cylinder=number)
        faults = [first, *ranking.faults[1:]]
        finding = msgspec.structs.replace(one.finding, ranking=msgspec.structs.replace(ranking, faults=faults))
        return replace(one, finding=finding)

    result = compare([in_cylinder(before, 2.0), in_cylinder(after, 3.0)])
    old = next(one for one in result.faults if one.cylinder == before)
    assert old.fate == "cannot_tell"
    assert why in old.why
    assert result.success == "not_shown"


def test_what_the_record_after_could_not_show_is_not_cleared(tmp_path: Path) -> None:
    lines = gzip.decompress((SAMPLES / "healthy_rotary_six.log.gz").read_bytes()).splitlines(keepends=True)
    short = tmp_path / "short.log"
    short.write_bytes(b"".join(lines[: len(lines) // 20]))  # key on and a few seconds of idle: no load was asked for
    result = pipeline.compare([SAMPLES / "fuel_supply_low.log.gz", short], engine=ENGINE).comparison
    assert result.success == "not_shown"
    assert [(one.fault, one.fate) for one in result.faults] == [("fuel_supply_low", "cannot_tell")]
    assert "could not have shown" in result.faults[0].why


def test_trend_towards_a_limit() -> None:
    base = drive("healthy_rotary_six")
    sinking = [with_measure(base, "running_voltage_v", 14.4 - 0.15 * k, 0.05) for k in range(7)]
    trends = {one.measure: one for one in compare(sinking).trends if one.cylinder is None}
    found = trends["running_voltage_v"]
    assert found.shown
    assert found.towards_limit
    assert found.per == "drive"
    assert found.steps == []
    assert found.slope == pytest.approx(-0.15)
    assert found.reaches is not None
    likely, early, late = found.reaches
    assert likely == pytest.approx(1.0 + (14.4 - 13.2) / 0.15)
    assert early <= likely <= late
    sides = [compare_page.Side(one.name, one.record, one.finding) for one in sinking]
    jsonschema.validate(json.loads(compare_text.json_text(sides, compare(sinking))), SCHEMA)
    silent = trends["idle_speed_mean_rpm"]
    assert not silent.shown
    assert silent.reaches is None
    assert trend_words.reach_words(found).startswith("reaches it in about")
    deep = [with_measure(base, "running_voltage_v", 13.0 - 0.15 * k, 0.05) for k in range(7)]
    (past,) = (one for one in compare(deep).trends if one.measure == "running_voltage_v")
    assert past.reaches is None
    assert trend_words.reach_words(past) == "is beyond it already"
    near = msgspec.structs.replace(found, reaches=(found.at[-1], found.at[-1], found.at[-1] + 0.6))
    assert (
        trend_words.reach_words(near) == "is about at it now, or reaches it within 0.6 drives if it goes on like this"
    )


def test_few_drives_that_go_one_way_are_named_though_no_trend_is_shown() -> None:
    """Five in one order come by chance in 2 of 120 (Kendall 1938), which among so many numbers is nothing rare.

    By its size their fall is none either, as far as intervals as wide as that can tell.
    """
    base = drive("healthy_rotary_six")
    sinking = compare([with_measure(base, "running_voltage_v", 14.4 - 0.15 * k, 0.4) for k in range(5)])
    assert not [one for one in sinking.trends if one.shown]
    exact = compare([with_measure(base, "running_voltage_v", 14.4 - 0.15 * k, 0.05) for k in range(5)])
    assert [one.measure for one in exact.trends if one.shown] == ["running_voltage_v"]
    said = compare_text.terminal(sinking, measures.load()).splitlines()
    (line,) = (line for line in said if line.startswith("No trend is shown."))
    assert "which 5 drives cannot yet tell from chance" in line
    assert "System voltage, engine running. Record further drives." in line
    still = compare([base, base, base])
    assert "No trend is shown." in compare_text.terminal(still, measures.load()).splitlines()


def test_three_drives_are_too_few_for_a_trend() -> None:
    base = drive("healthy_rotary_six")
    three = [with_measure(base, "running_voltage_v", 14.4 - 0.15 * k, 0.05) for k in range(3)]
    assert not any(one.shown for one in compare(three).trends)


def test_step_between_drives() -> None:
    base = drive("healthy_rotary_six")
    levels = [14.2, 14.22, 14.19, 14.21, 13.5, 13.52, 13.49]
    stepped = [with_measure(base, "running_voltage_v", value, 0.05) for value in levels]
    assert {one.measure: one.steps for one in compare(stepped).trends}["running_voltage_v"] == [4]


def test_rules_name_what_is_known() -> None:
    _, known = rules.load()
    assert set(known) <= set(measures.load())
    contract = {name for name, info in measures.load().items() if info.core}
    assert contract <= set(known), "every measure of the contract says from when a change matters"
    assert {word for entry in known.values() for word in entry.broken_by} <= set(texts.work())


def test_a_workshop_says_what_matters(tmp_path: Path) -> None:
    (tmp_path / "comparison.toml").write_text('[[measure]]\nmeasure = "running_voltage_v"\nmatters = 5\n', "utf-8")
    base = drive("healthy_rotary_six")
    pair = [with_measure(base, "running_voltage_v", value, 0.05) for value in (14.2, 12.0)]
    assert row(compare(pair), "running_voltage_v").outcome == "worse"
    assert row(compare(pair, folders=(tmp_path,)), "running_voltage_v").outcome == "same"
    (tmp_path / "comparison.toml").write_text(
        '[[measure]]\nmeasure = "running_voltage_v"\nmatters = 5\nalike = ["moon"]\n', "utf-8"
    )
    with pytest.raises(KnowledgeError, match="moon is no condition"):
        rules.load((tmp_path,))


def test_outside_text_cannot_act_in_the_page() -> None:
    base = drive("healthy_rotary_six")
    hostile = replace(with_measure(base, "running_voltage_v", 14.0, 0.1), name="<script>alert(1)</script>\u202e")
    result = compare([base, hostile])
    sides = [compare_page.Side(one.name, one.record, one.finding) for one in (base, hostile)]
    page = compare_page.render(sides, result, measures.load())
    assert "<script>alert" not in page
    assert "\u202e" not in page
    assert all(line.isprintable() for line in compare_text.terminal(result, measures.load()).splitlines())


def test_json_has_no_number_that_json_does_not_know() -> None:
    result = compare([drive("healthy_rotary_six"), drive("pump_key_reversed")])
    odd = msgspec.structs.replace(result.differences[0], after=Value(value=float("nan"), low=0.0, high=float("inf")))
    sides = [compare_page.Side(one.name, one.record, one.finding) for one in (drive("healthy_rotary_six"),) * 2]
    text = compare_text.json_text(sides, msgspec.structs.replace(result, differences=[odd]))
    json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))


def logan(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "logan", "compare", *map(str, arguments)],
        cwd=cwd, capture_output=True, text=True, encoding="utf-8", timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1"},
    )  # fmt: skip


def test_command(tmp_path: Path) -> None:
    before = tmp_path / "before"
    before.mkdir()
    for name in ("pump_key_reversed.log.gz", "pump_key_reversed.edges.csv.gz"):
        (before / name).write_bytes((SAMPLES / name).read_bytes())
    after = SAMPLES / "healthy_rotary_six.log.gz"
    done = logan(before, after, "--engine", ENGINE, "--recent-work", "pump_key", "--json", "c.json", cwd=tmp_path)
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("The repair worked: “Pump drive key fitted backwards”")
    document = json.loads((tmp_path / "c.json").read_text("utf-8"))
    jsonschema.validate(document, SCHEMA)
    assert document["success"] == "worked"
    assert [len(one["files"]) for one in document["drives"]] == [2, 1]
    assert document["drives"][1]["recent_work"] == ["pump_key"]
    assert not document["drives"][0]["recent_work"]
    assert "The repair worked" in (tmp_path / f"{after.name}.compare.html").read_text("utf-8")


def test_command_refuses_in_one_line(tmp_path: Path) -> None:
    alone = logan(SAMPLES / "healthy_rotary_six.log.gz", cwd=tmp_path)
    empty = tmp_path / "empty"
    empty.mkdir()
    nothing = logan(empty, SAMPLES / "healthy_rotary_six.log.gz", cwd=tmp_path)
    for result, said in ((alone, "nothing to compare with"), (nothing, "folder without files")):
        assert result.returncode == 2
        assert said in result.stderr
        assert len(result.stderr.strip().splitlines()) == 1


def test_a_folder_that_may_not_be_read_is_one_clear_line(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refused(path: Path) -> NoReturn:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(Path, "iterdir", refused)  # rights alone stop nobody who tests as the system's administrator
    with pytest.raises(CaptureError, match="cannot be read"):
        pipeline.files_of(tmp_path)
