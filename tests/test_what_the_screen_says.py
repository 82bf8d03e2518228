"""What a person reads first: why a crank recording gave nothing, who refused what, and errors that name what to do."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logan.cli import main
from logan.errors import UsageError
from logan.measures.wheel_reading import seen_wheel
from logan.model.sensor import Edges, SensorCapture
from logan.pipeline.overview import overview_lines
from logan.training.buses import open_bus


def crank(teeth: int, missing: int, turns: int = 12) -> SensorCapture:
    """A wheel of equal pitches with one gap at 900 rpm that swings by 3 % twice a turn."""
    at = np.concatenate([turn + np.arange(teeth - missing) / teeth for turn in range(turns)])
    t_s = (at + 0.03 / (4.0 * np.pi) * np.sin(4.0 * np.pi * at)) / 15.0
    return SensorCapture("crank.csv", Edges({"crank": t_s}, {}, 0.0))


@pytest.mark.parametrize(("teeth", "missing"), [(60, 2), (36, 1), (24, 1)])
def test_a_wheel_is_named_whatever_the_profile_says(teeth: int, missing: int) -> None:
    assert f"({teeth}-{missing})" in seen_wheel(crank(teeth, missing), "rising")


def test_a_wheel_without_a_gap_is_not_named() -> None:
    assert seen_wheel(crank(36, 0), "rising") == ""


def test_an_overview_names_refusals_and_does_not_invent_an_identifier(tmp_path: Path) -> None:
    """Answer 7F 22 31: request out of range (ISO 14229-1); headers are off, so no identifier was recorded."""
    path = tmp_path / "tester.txt"
    path.write_text("10 03\n50 03 00 32 01 F4\n22 F4 0C\n62 F4 0C 0C 80\n22 F4 05\n7F 22 31\n" * 5, encoding="ascii")
    said = "\n".join(overview_lines([path]))
    assert "service 22 x 5" in said
    assert "(7F 22 31)" in said
    assert "stand in where the recording gives no CAN identifier" in said


def test_a_name_that_is_missing_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["report", ""])
    assert "a capture without a name" in capsys.readouterr().err


def test_no_two_marks_end_a_sentence(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["knowledge"])
    assert ".;" not in capsys.readouterr().err


def test_an_empty_knowledge_folder_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["knowledge", "check", str(tmp_path)])
    assert "holds no data file" in capsys.readouterr().out


def test_every_target_of_a_replay_is_named() -> None:
    with pytest.raises(UsageError, match="udp, vcan, virtual or page"):
        open_bus("nowhere", None, False)
