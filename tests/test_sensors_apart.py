"""Crank, cam and pump in files of their own: said, with what to do, and what is to be done does it.

The edges are a sample's, of which its truth file says that the cam target is off.
"""

from __future__ import annotations

import gzip
from pathlib import Path

import pytest

from logan.model.capture import NOT_NAMED, SENSOR_ALONE
from logan.pipeline.analyse import Analysis, analyse
from logan.report import html_page, terminal

SAMPLES = Path(__file__).parent.parent / "sample_logs"
FOUR = "training_rail_four"
EDGES = gzip.decompress((SAMPLES / "cam_phase_offset.edges.csv.gz").read_bytes()).decode().splitlines()
ROWS = [line for line in EDGES if line[0].isdigit()]


def edges(folder: Path, name: str, *sensors: str, after_s: float = 0.0, of: str = "") -> Path:
    """The rows of some sensors, one sensor after the other; ``of`` stands for the name of the sensor of the rows."""
    lines = ["time_s,channel,edge"]
    for sensor in sensors:
        for t_s, channel, flank in (row.split(",") for row in ROWS):
            if channel == (of or sensor):
                lines.append(f"{float(t_s) + after_s:.6f},{sensor},{flank}")
    path = folder / name
    path.write_text("\n".join(lines) + "\n", "ascii")
    return path


def alone(found: Analysis) -> dict[str, str]:
    return {remark.file: remark.text for remark in found.record.remarks if remark.kind == SENSOR_ALONE}


@pytest.mark.parametrize("after_s", [0.0, 1.75e9])
def test_a_cam_beside_the_file_of_its_crank_is_said_to_be_unused(tmp_path: Path, after_s: float) -> None:
    crank, cam = (edges(tmp_path, f"{name}.csv", name, after_s=after_s) for name in ("crank", "cam"))
    found = analyse([crank, cam], engine=FOUR)
    assert list(alone(found)) == ["cam.csv"]
    assert "the crank edges stand in crank.csv" in alone(found)["cam.csv"]
    missing = {one.measure: one.why for one in found.finding.missing}
    assert missing["cam_phase_error_deg"].endswith("only in another one")
    assert missing["pump_phase_error_deg"] == "the engine profile has no pump edges"
    said = terminal.text(found.record, found.finding)
    assert "cam.csv: its cam edges are not used" in said
    assert "put the rows of all into one" in said
    assert "its cam edges are not used" in html_page.render(found.record, found.finding)


def test_the_rows_of_both_in_one_file_are_judged(tmp_path: Path) -> None:
    found = analyse([edges(tmp_path, "both.csv", "crank", "cam")], engine=FOUR)
    assert alone(found) == {}
    assert found.finding.ranking.faults[0].fault == "cam_phase_offset"


def test_a_pump_in_a_file_of_its_own_leaves_crank_and_cam_as_they_are(tmp_path: Path) -> None:
    both, pump = edges(tmp_path, "both.csv", "crank", "cam"), edges(tmp_path, "pump.csv", "pump", of="cam")
    found = analyse([both, pump], engine=FOUR)
    assert list(alone(found)) == ["pump.csv"]
    assert found.finding.ranking.faults[0].fault == "cam_phase_offset"


def test_a_cam_without_any_crank_asks_for_the_crank(tmp_path: Path) -> None:
    cam = edges(tmp_path, "cam.csv", "cam")
    for engine in (FOUR, None):
        found = analyse([cam], engine=engine)
        assert "record the crank beside them" in alone(found)["cam.csv"]
        missing = {one.measure: one for one in found.finding.missing}
        for name in ("cam_phase_error_deg", "crank_dropouts_per_1000rev"):
            assert missing[name].why == "no crank edges in the recording"
            assert "--engine" not in missing[name].capture_hint
        assert NOT_NAMED not in {remark.kind for remark in found.record.remarks}
        said = terminal.text(found.record, found.finding)
        assert "The crank recording could not be used" not in said
        assert "record the crank beside them" in said


def test_a_cam_alone_is_not_tried_by_the_speed_of_a_log(tmp_path: Path) -> None:
    found = analyse([SAMPLES / "cam_phase_offset.log.gz", edges(tmp_path, "cam.csv", "cam")])
    assert list(alone(found)) == ["cam.csv"]
    assert "not_aligned" not in {remark.kind for remark in found.record.remarks}
