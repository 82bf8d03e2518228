"""``logan knowledge check``: each kind of mistake, seeded into a folder, gives one line with the right place."""

from __future__ import annotations

import errno
import os
from pathlib import Path
from typing import NoReturn

import pytest

from logan.cli import main
from logan.knowledge import faults, profiles
from logan.knowledge.locate import DATA

FAULT = (DATA / "faults" / "pump_key_wrong.toml").read_text("utf-8")
PROFILE = (DATA / "profiles" / "training_rotary_six.toml").read_text("utf-8")
CAUTION = '[[caution]]\nid = "{}"\ntext = "Keep clear"\nsource = "judgement"\n'

SEEDED = [
    ("faults/pump_key_wrong.toml", FAULT, 'prior = 0.025', 'prior = "often"', "a number"),
    ("faults/pump_key_wrong.toml", FAULT, 'prior = 0.025', "prior = 1.5", "between 0 and 1"),
    ("faults/pump_key_wrong.toml", FAULT, "most = 12", "moast = 8", "did you mean most"),
    ("faults/pump_key_wrong.toml", FAULT, 'kind = "steps"', 'kind = "stepps"', "line"),
    ("faults/pump_key_wrong.toml", FAULT, 'key = "pump.key_step_deg", factor', 'key = "pump.step", factor', "no key"),
    ("faults/pump_key_wrong.toml", FAULT, '"idle_speed_std_rpm"', '"idle_speed_st_rpm"', "idle_speed_std_rpm"),
    ("faults/pump_key_wrong.toml", FAULT, "timing_gears = 3", "timing_geers = 3", "timing_gears"),
    ("faults/pump_key_wrong.toml", FAULT, "hard_start = 0.4", "hard_stort = 0.4", "hard_start"),
    ("faults/pump_key_wrong.toml", FAULT, 'family = "injection_timing"', 'family = "timing"', "family"),
    ("faults/pump_key_wrong.toml", FAULT, "pump_timing_drift = 0.3", "pump_timing_drft = 0.3", "pump_timing_drift"),
    ("faults/pump_key_wrong.toml", FAULT, '"timing_set_wrong"]', '"timing_wrong"]', "timing_set_wrong"),
    ("faults/pump_key_wrong.toml", FAULT, 'stage = "look"', 'stage = "apart"', "trade's order"),
    ("faults/pump_key_wrong.toml", FAULT, 'stage = "look"', 'stage = "listen"', '"listen"'),
    ("faults/pump_key_wrong.toml", FAULT, 'source = "judgement"', 'source = " "', "judgement and the reason"),
    ("faults/pump_key_wrong.toml", FAULT, 'id = "pump_key_wrong"', 'id = "key_wrong"', "same name"),
    ("profiles/mine.toml", PROFILE, "target_rpm = 800", "target_rpm = 8", "cannot be 8 rpm"),
    ("profiles/mine.toml", PROFILE, '= "vehicle_speed"', '= "speed_of_road"', "no channel"),
    ("cautions.toml", CAUTION.format("low_pressure_fuel"), 'text = "Keep clear"', 'text = 7', "text in quotes"),
    ("cautions.toml", CAUTION.format("low_pressure_fuel"), '"low_pressure_fuel"', '"falling_parts"', "used by no"),
]  # fmt: skip


def check(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, list[str], str]:
    with pytest.raises(SystemExit) as stop:
        main(["knowledge", "check", *arguments])
    out, err = capsys.readouterr()
    return int(stop.value.code or 0), err.splitlines(), out


def test_the_built_in_files_are_right(capsys: pytest.CaptureFixture[str]) -> None:
    assert check(capsys) == (0, [], "nothing wrong was found\n")


@pytest.mark.parametrize(("file", "text", "right", "mistake", "said"), SEEDED)
def test_a_mistake_gives_one_line(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], file: str, text: str, right: str, mistake: str, said: str
) -> None:
    path = tmp_path / file
    path.parent.mkdir(exist_ok=True)
    assert right in text
    path.write_text(text.replace(right, mistake, 1), "utf-8")
    status, lines, _ = check(capsys, str(tmp_path))
    assert status == 2
    assert len(lines) == 1, lines
    line = text[: text.index(right)].count("\n") + right[: right.index(right.split("\n")[-1])].count("\n") + 1
    assert lines[0].startswith(str(path))
    assert said in lines[0]
    if "trade's order" not in said:
        assert f"line {line}:" in lines[0]


def test_other_mistakes(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A stray file, a broken signal data base and a measure that nothing computes: one line each."""
    (tmp_path / "fault").mkdir()
    (tmp_path / "fault" / "a.toml").write_text("", "utf-8")
    (tmp_path / "ours.dbc").write_text("BO_ what\n", "utf-8")
    words = 'name = "idle_tone"\nunit = "Hz"\ntitle = "a"\nmeaning = "b"\nhint = "c"\ngroup = "Idle"\n'
    (tmp_path / "measures.toml").write_text(f"[[measure]]\n{words}", "utf-8")
    status, lines, _ = check(capsys, str(tmp_path))
    assert status == 2
    assert len(lines) == 3, lines
    for name in ("a.toml", "ours.dbc", "measures.toml, line 2"):
        assert any(name in line for line in lines)


def test_fewer_than_two_checks(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "faults").mkdir()
    parts = FAULT.split("[[checks]]")
    (tmp_path / "faults" / "pump_key_wrong.toml").write_text("[[checks]]".join(parts[:2]), "utf-8")
    assert any("fewer than two" in line for line in check(capsys, str(tmp_path))[1])
    (tmp_path / "faults" / "pump_key_wrong.toml").write_text("whole = true\n" + parts[0], "utf-8")
    status, lines, _ = check(capsys, str(tmp_path))
    assert (status, len(lines)) == (2, 1)
    assert "checks" in lines[0]


def test_what_overrides_what(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    first, second = tmp_path / "workshop", tmp_path / "mine"
    for folder, prior in ((first, 0.1), (second, 0.2)):
        (folder / "faults").mkdir(parents=True)
        (folder / "faults" / "boost_leak.toml").write_text(f"prior = {prior}\n", "utf-8")
    (second / "profiles").mkdir()
    (second / "profiles" / "ours.toml").write_text(PROFILE, "utf-8")
    status, _, out = check(capsys, str(first), str(second))
    assert status == 0
    assert f"{first}: faults/boost_leak.toml goes over the built-in one" in out
    assert f"{second}: faults/boost_leak.toml goes over that of {first}" in out
    assert f"{second}: profiles/ours.toml is new" in out
    before = faults.load().faults["boost_leak"]
    after = faults.load(folders=(first, second)).faults["boost_leak"]
    assert after.prior == 0.2
    assert after.checks == before.checks
    assert profiles.load("ours", (first, second))[0] == profiles.load("training_rotary_six")[0]


def test_a_folder_that_is_none(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, lines, _ = check(capsys, str(tmp_path / "absent"))
    assert status == 2
    assert "names no folder" in lines[0]


def test_a_folder_that_may_not_be_read_is_not_taken_for_an_empty_one(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(path: object) -> NoReturn:
        raise PermissionError(errno.EACCES, "Permission denied", str(path))

    monkeypatch.setattr(os, "scandir", refused)  # rights alone stop nobody who tests as the system's administrator
    status, lines, _ = check(capsys, str(tmp_path))
    assert status == 2
    assert "cannot be read (Permission denied); check its rights" in lines[0]


def test_the_environment_names_the_workshops_folder(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "faults").mkdir()
    (tmp_path / "faults" / "boost_leak.toml").write_text("prior = 0.1\n", "utf-8")
    monkeypatch.setenv("LOGAN_KNOWLEDGE", str(tmp_path))
    assert "boost_leak.toml goes over the built-in one" in check(capsys)[2]


def test_the_worked_examples_of_the_guide_are_right(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    guide = Path(__file__).parent.parent / "docs" / "knowledge.md"
    blocks = [part.split("```")[0] for part in guide.read_text("utf-8").split("```toml\n")[1:]]
    (tmp_path / "faults").mkdir()
    for name, block in zip(("headings", "faults/boost_leak", "faults/boost_hose_soft"), blocks, strict=True):
        (tmp_path / f"{name}.toml").write_text(block, "utf-8")
    assert check(capsys, str(tmp_path))[:2] == (0, [])
