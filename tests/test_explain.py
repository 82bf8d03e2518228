"""``logan explain``: from the command line, what stands in the text and on the page."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from logan import ranking
from logan.cli import main
from logan.knowledge import faults, measures, profiles
from logan.knowledge.faults import STAGES
from logan.ranking import apart

ENGINES = {"rotary": "training_rotary_six", "rail": "training_rail_four", "spark": "training_spark_four"}


def run(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    with pytest.raises(SystemExit) as stop:
        main(["explain", *arguments])
    out, err = capsys.readouterr()
    return int(stop.value.code or 0), " ".join(out.split()), err


def test_all_faults_are_listed_with_a_line_each(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["explain"])
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[0] for line in lines] == list(faults.load().faults)


@pytest.mark.parametrize("name", list(faults.load().faults))
def test_every_fault_is_explained(capsys: pytest.CaptureFixture[str], name: str) -> None:
    fault = faults.load().faults[name]
    status, out, _ = run(capsys, name)
    assert status == 0
    assert fault.title in out
    stages = [STAGES.index(check.stage) for check in fault.checks]
    assert len(stages) >= 2
    assert stages == sorted(stages)
    places = [out.index(check.text[1:40]) for check in fault.checks]
    assert places == sorted(places)
    assert "service manual" in out


def test_values_are_those_of_the_engine(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """A reversed key moves timing by -4 times the key's offset at the crank: the pump turns at half its speed."""
    shipped = (profiles.FOLDER / "training_rotary_six.toml").read_text("utf-8")
    own = tmp_path / "own.toml"
    own.write_text(shipped.replace("key_offset_deg = 1.5", "key_offset_deg = 2.0"), "utf-8")
    assert "Timing error, fixed part: about \N{MINUS SIGN}6.00°" in run(capsys, "pump_key_reversed")[1]
    assert (
        "Timing error, fixed part: about \N{MINUS SIGN}8.00°"
        in run(capsys, "pump_key_reversed", "--engine", str(own))[1]
    )


def test_an_unknown_name_brings_a_near_one(capsys: pytest.CaptureFixture[str]) -> None:
    status, _, err = run(capsys, "bost_leak")
    assert status == 2
    assert "did you mean boost_leak" in err
    assert len(err.splitlines()) == 1


def test_an_engine_that_cannot_have_it(capsys: pytest.CaptureFixture[str]) -> None:
    status, out, _ = run(capsys, "pump_key_reversed", "--engine", ENGINES["rail"])
    assert status == 0
    assert "cannot have this fault: it needs compression ignition with rotary pump" in out


def test_an_engine_that_may_lack_the_part(capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing in a profile says whether the engine is charged."""
    _, out, _ = run(capsys, "boost_leak", "--engine", ENGINES["rail"])
    assert "Only an engine with a turbocharger or another charger can have this fault." in out


def test_compression_tells_a_weak_cylinder_from_a_starved_one() -> None:
    """Both weaken the contribution; only a leak lowers compression and loses work (common practice, no source)."""
    catalogue, info = faults.load(), measures.load()
    profile = profiles.load(ENGINES["rotary"])[0]
    near = apart.neighbours(catalogue.faults["cylinder_compression_low"], catalogue, profile, info)
    assert near[0].fault == "cylinder_fuel_low"
    cranking = {info[f"cylinder_{name}_percent"].title for name in ("compression", "cranking_loss")}
    assert {difference.title for difference in near[0].differences[:2]} == cranking


@pytest.mark.parametrize("name", ["pump_key_wrong", "pump_key_reversed"])
def test_facts_of_the_trade_stand_in_the_texts(capsys: pytest.CaptureFixture[str], name: str) -> None:
    """common practice, no source."""
    out = run(capsys, name)[1]
    for fact in (
        "12 o'clock when the pump goes on",
        "no adjustment",
        "half crank speed",
        "must match that of its pump",
    ):
        assert fact in out


def test_facts_of_the_reversed_key_and_the_cam_sensor(capsys: pytest.CaptureFixture[str]) -> None:
    """common practice, no source."""
    assert "may set a trouble code" in run(capsys, "pump_key_reversed")[1]
    assert "top dead centre of cylinder 1" in run(capsys, "cam_phase_offset")[1]


def test_the_page_shows_both_drives_and_says_that_they_are_simulated(
    capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    page = tmp_path / "page.html"
    assert run(capsys, "cam_phase_offset", "--html", str(page))[0] == 0
    text = page.read_text("utf-8")
    assert "Simulated, good engine" in text
    assert "Simulated, with the fault" in text
    assert "are simulated, not measured" in text
    assert "observed 9.0 degrees late" in text or "observed 8.9 degrees late" in text or "observed 9.1" in text
    assert 'id="background"' in text


def test_both_pictures_share_one_scale(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    page = tmp_path / "page.html"
    assert run(capsys, "fuel_supply_low", "--html", str(page))[0] == 0
    found = re.search(r'id="data">(.*?)</script>', page.read_text("utf-8"), re.S)
    assert found
    ranges = {name: one["layout"]["yaxis"]["range"] for name, one in json.loads(found[1])["figures"].items()}
    assert len(ranges) >= 4
    for name, ends in ranges.items():
        if name.endswith("-good-engine"):
            assert ends == ranges[name.replace("good-engine", "with-the-fault")]


def test_a_fault_of_a_workshop_is_explained(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "faults").mkdir()
    (tmp_path / "faults" / "boost_leak.toml").write_text('title = "Hose off"\n', "utf-8")
    assert "Hose off" in run(capsys, "boost_leak", "--knowledge", str(tmp_path))[1]


def test_no_two_faults_are_told_apart_by_the_same_words() -> None:
    known = ranking.knowledge()
    often = 0
    for name in ("training_rotary_six", "training_rail_four", "training_spark_four"):
        profile = profiles.load(name)[0]
        for fault in known.catalogue.faults.values():
            for neighbour in apart.neighbours(fault, known.catalogue, profile, known.measures):
                for one in neighbour.differences:
                    assert one.here != one.there, (fault.id, neighbour.fault, one.title)
                    often += " cases" in one.here
    assert often > 0


@pytest.mark.parametrize("fault", ["pump_key_wrong", "boost_leak"])
def test_no_sentence_ends_twice(capsys: pytest.CaptureFixture[str], fault: str) -> None:
    out = run(capsys, fault)[1]
    assert "If not: " in out
    assert not re.search(r"[?.!][.?!] |[?.!][.?!]$", out)
