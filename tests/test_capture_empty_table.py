"""Tables with a heading and no value under it: what the user reads of them. The forms: common practice, no source."""

from __future__ import annotations

import gzip
import subprocess
import sys
from pathlib import Path

import pytest

from logan.capture import read
from logan.errors import CaptureError
from logan.model.capture import Table

HEADING = "Time [s],Engine RPM [rpm],CoolantTemperature [degC],Boiler [bar]\n"
UNDERSTOOD = "headings understood: Time [s], Engine RPM [rpm] as engine_speed, CoolantTemperature [degC]; "


def refused(tmp_path: Path, text: str, name: str = "drive.csv") -> CaptureError:
    path = tmp_path / name
    path.write_bytes(gzip.compress(text.encode()) if name.endswith(".gz") else text.encode())
    with pytest.raises(CaptureError) as caught:
        read(path)
    return caught.value


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("", "heading and no rows"),
        ("\n\n", "heading and no rows"),
        (",,,\n" * 3, "whose 3 rows hold no value;"),
        ("0.0,,,\n0.5,,,\n", "whose 2 rows hold no value;"),
        ("0.0,,,\n", "whose one row holds no value;"),
        ("".join(f"{k},,,\n" for k in range(1000)), "whose 1000 rows hold no value;"),
        ("0.0,-,-,-\n0.5,-,N/A,-\n", "whose 2 rows hold no value, only '-' and 'N/A';"),
        ("".join(f"{k},-,-,-\n" for k in range(1000)), "whose first 299 rows hold no value, only '-';"),
    ],
)
@pytest.mark.parametrize("name", ["drive.csv", "drive.csv.gz"])
def test_file_headings_lack_and_next_step_are_said(tmp_path: Path, rows: str, said: str, name: str) -> None:
    error = refused(tmp_path, HEADING + rows, name)
    assert error.file.endswith(name)
    assert said in error.reason
    assert UNDERSTOOD in error.reason
    assert "not understood: Boiler" in error.reason
    assert error.do.startswith("record again")


def test_headings_of_the_trade_in_semicolons_and_without_time(tmp_path: Path) -> None:
    assert "Zeit as time, Drehzahl [rpm] as engine_speed" in refused(tmp_path, "Zeit;Drehzahl [U/min]\n;\n;\n").reason
    untimed = refused(tmp_path, "Engine RPM [rpm],Coolant [C]\n").reason
    assert "none of them is known as time" in untimed


@pytest.mark.parametrize("heading", ["time_s,channel,edge", "time_s,crank_v,cam_v", "time_s,crank,cam", "time_s,byte"])
def test_sensor_and_byte_tables_too(tmp_path: Path, heading: str) -> None:
    commas = "," * heading.count(",")
    assert "headings understood: time_s as time" in refused(tmp_path, f"{heading}\n").reason
    assert "whose 2 rows hold no value" in refused(tmp_path, f"{heading}\n{commas}\n{commas}\n").reason


def test_values_that_begin_late_are_read(tmp_path: Path) -> None:
    """An adapter that gets its first answer after minutes: the rows before it have times alone."""
    path = tmp_path / "late.csv"
    path.write_text("time [s],engine_speed [rpm]\n" + "".join(f"{k},{800 if k > 500 else ''}\n" for k in range(600)))
    content = read(path).content
    assert isinstance(content, Table)
    assert len(content.channels[0]) == 99


def test_other_text_is_not_called_an_empty_table(tmp_path: Path) -> None:
    for text in ("hello, world\n", "name, place\nJune, here\nMay, there\n", "a,b,c\n,,\n"):
        assert "not recognised" in refused(tmp_path, text).reason


def test_the_terminal_says_it_in_one_line(tmp_path: Path) -> None:
    (tmp_path / "drive.csv").write_text(HEADING)
    command = [sys.executable, "-m", "logan", "report", "drive.csv", "--json", "out.json"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("logan: drive.csv: is a table with a heading and no rows; headings understood: Time ")
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "out.json").exists()


def test_a_sensor_column_without_values_is_shown_without_a_warning(tmp_path: Path) -> None:
    (tmp_path / "trace.csv").write_text("time_s,crank_v,cam_v\n" + "".join(f"{k / 100},{k % 7},\n" for k in range(99)))
    command = [sys.executable, "-W", "error", "-m", "logan", "inspect", "trace.csv"]
    done = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "cam: 99 samples, no value" in done.stdout
    assert done.stderr == ""
