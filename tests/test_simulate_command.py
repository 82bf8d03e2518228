"""``logan simulate``: what it writes, read with python-can and the standard library, and what it refuses."""

from __future__ import annotations

import gzip
import io
import json
import re
import wave
from contextlib import chdir, redirect_stderr, redirect_stdout
from dataclasses import dataclass
from pathlib import Path

import can
import numpy as np
import pytest

from logan.cli import main

SHORT = ("--drive", "idle_only", "--seconds", "12")


@dataclass(frozen=True)
class Result:
    returncode: int
    stdout: str
    stderr: str


def simulate(*arguments: str | Path, cwd: Path) -> Result:
    """The command as a user types it, in this process: starting another forty times would take most of the time."""
    out, err, status = io.StringIO(), io.StringIO(), 0
    with chdir(cwd), redirect_stdout(out), redirect_stderr(err):
        try:
            main(["simulate", *map(str, arguments)])
        except SystemExit as leaving:
            status = int(leaving.code or 0)
    return Result(status, out.getvalue(), err.getvalue())


def truth(path: Path) -> dict[str, object]:
    return json.loads(path.read_text("utf-8"))


def messages(path: Path) -> list[can.Message]:
    with can.CanutilsLogReader(path) as log:
        return list(log)


def test_good_engine_without_a_fault_named(tmp_path: Path) -> None:
    result = simulate(*SHORT, "--out", "new/folder", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    folder = tmp_path / "new" / "folder"
    assert {p.name for p in folder.iterdir()} == {"healthy.log", "healthy.truth.json"}
    assert truth(folder / "healthy.truth.json")["faults"] == []
    times = [m.timestamp for m in messages(folder / "healthy.log")]
    assert times[-1] - times[0] == pytest.approx(12, abs=1)


def test_pair_of_faults_with_sizes_and_cylinder_and_every_form(tmp_path: Path) -> None:
    forms = [word for form in ("edges", "waveform", "wav", "vcd") for word in ("--record", form)]
    result = simulate(
        *SHORT, *forms, "--engine", "training_rail_four", "--fault", "charging_voltage_low", "--size", "1.5",
        "--fault", "cylinder_fuel_low", "--size", "40", "--cylinder", "3",
        "--record-seconds", "4", "--record-rate", "20000", "--stem", "pair", "--compress", cwd=tmp_path,
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    faults = truth(tmp_path / "pair.truth.json")["faults"]
    assert [(f["fault"], f["size"], f["cylinder"]) for f in faults] == [  # type: ignore[attr-defined]
        ("charging_voltage_low", 1.5, None), ("cylinder_fuel_low", 40.0, 3)
    ]  # fmt: skip
    assert set(result.stdout.split()) == {p.name for p in tmp_path.iterdir()}
    with wave.open(str(tmp_path / "pair.wav")) as sound:
        assert (sound.getframerate(), sound.getnframes()) == (20_000, 80_000)
    assert gzip.decompress((tmp_path / "pair.vcd.gz").read_bytes()).startswith(b"$")


def test_requests_as_asked(tmp_path: Path) -> None:
    """Addresses of ISO 15765-4; service 01 with several PIDs in one request (SAE J1979)."""
    result = simulate(
        *SHORT, "--no-broadcast", "--no-background", "--pid", "0C", "--pid", "05", "--pids-per-request", "2",
        "--physical", "--id-bits", "29", cwd=tmp_path,
    )  # fmt: skip
    assert result.returncode == 0, result.stderr
    log = messages(tmp_path / "healthy.log")
    assert {m.arbitration_id for m in log} == {0x18DA10F1, 0x18DAF110}
    polled = [m.data[1:4] for m in log if m.arbitration_id == 0x18DA10F1 and m.data[0] == 3]
    assert polled
    assert set(map(bytes, polled)) == {b"\x01\x0c\x05"}
    answers = [m.data for m in log if m.arbitration_id == 0x18DAF110 and m.data[:3] == b"\x06\x41\x0c"]
    assert len(answers) == len(polled)
    rpm = np.array([(d[3] * 256 + d[4]) / 4 for d in answers])
    assert rpm[-5:] == pytest.approx(800, rel=0.1)
    assert all(d[5] == 0x05 and 60 < d[6] - 40 < 100 for d in answers)


def test_vehicle_and_time_as_asked(tmp_path: Path) -> None:
    """VIN by service 09 (SAE J1979) over several frames (ISO 15765-2), put together here by hand; times by python-can.

    Unix time by the calendar of POSIX from 1 January 1970, counted out below.
    """
    vin = "00TRNR6X8M0000123"
    days = 56 * 365 + 14 + 31 + 28 + 1  # 56 years with 14 leap days, then January, February and one day
    for zone, unix_s in (("", days * 86400 + 8 * 3600), ("+01:00", days * 86400 + 7 * 3600)):
        result = simulate(
            *SHORT, "--vin", vin, "--start", f"2026-03-02T08:00{zone}", "--overwrite", "--stem", "one", cwd=tmp_path
        )
        assert result.returncode == 0, result.stderr
        found = messages(tmp_path / "one.log")
        assert found[0].timestamp == pytest.approx(unix_s, abs=0.5)
        answers = [bytes(m.data) for m in found if m.arbitration_id == 0x7E8]
        at = next(k for k, data in enumerate(answers) if data[2:5] == b"\x49\x02\x01")
        assert (answers[at][5:] + answers[at + 1][1:] + answers[at + 2][1:])[:17].decode() == vin
    assert truth(tmp_path / "one.truth.json")["vin"] == vin


def test_damage_is_in_the_log(tmp_path: Path) -> None:
    plain = simulate(*SHORT, "--stem", "plain", cwd=tmp_path)
    bad = simulate(
        *SHORT, "--stem", "bad", "--gaps", "1", "--gap-seconds", "3", "--cut-lines", "2", "--garbled-lines", "2",
        "--clock-steps", "1", "--clock-step-seconds", "-5", cwd=tmp_path,
    )  # fmt: skip
    assert (plain.returncode, bad.returncode) == (0, 0), bad.stderr
    stamp = re.compile(r"\((\d+\.\d{6})\)")
    times = {}
    for name in ("plain", "bad"):
        lines = (tmp_path / f"{name}.log").read_text("utf-8").splitlines()
        times[name] = np.array([float(m[1]) for line in lines if (m := stamp.match(line))])
    assert len(times["bad"]) < 0.9 * len(times["plain"])
    steps = np.diff(times["bad"])
    assert steps.min() == pytest.approx(-5, abs=0.2) or steps.min() == pytest.approx(-2, abs=0.2)  # a gap at the step
    assert np.diff(times["plain"]).min() > 0


def test_recorder_loses_edges_and_the_end_of_its_files(tmp_path: Path) -> None:
    common = (*SHORT, "--record", "edges", "--record", "vcd", "--record-start", "6", "--record-seconds", "5")
    plain = simulate(*common, "--stem", "plain", cwd=tmp_path)
    lossy = simulate(*common, "--stem", "lossy", "--lost-edges", "20", cwd=tmp_path)
    hurt = simulate(*common, "--stem", "hurt", "--cut-file", "40", "--garbled-lines", "9", cwd=tmp_path)
    assert (plain.returncode, lossy.returncode, hurt.returncode) == (0, 0, 0), hurt.stderr
    for ending, mark in (("edges.csv", ","), ("vcd", "#")):
        whole, part = ((tmp_path / f"{stem}.{ending}").read_text("utf-8").count(mark) for stem in ("plain", "lossy"))
        assert part / whole == pytest.approx(0.8, abs=0.03)
    assert (tmp_path / "plain.log").read_bytes() == (tmp_path / "lossy.log").read_bytes()
    for ending in ("edges.csv", "log", "vcd"):
        size = (tmp_path / f"hurt.{ending}").stat().st_size / (tmp_path / f"plain.{ending}").stat().st_size
        assert size == pytest.approx(0.6, abs=1e-3)
    assert 2 <= (tmp_path / "hurt.edges.csv").read_text("utf-8").count("?") <= 9
    assert truth(tmp_path / "hurt.truth.json")["spec"]["damage"]["cut_share"] == 0.4  # type: ignore[index]


def test_answers_come_as_late_as_asked(tmp_path: Path) -> None:
    """Between a request and its answer the control module may take 50 ms at most (ISO 15765-4, from memory)."""
    late = {}
    for latency in (0.004, 0.04):
        arguments = ("--latency", latency, "--poll-interval", "0.1", "--no-broadcast", "--no-background", "--overwrite")
        assert simulate(*SHORT, *arguments, cwd=tmp_path).returncode == 0
        log = messages(tmp_path / "healthy.log")
        asked = np.array([m.timestamp for m in log if m.arbitration_id == 0x7DF and m.data[:3] == b"\x02\x01\x0c"])
        came = np.array([m.timestamp for m in log if m.arbitration_id == 0x7E8 and m.data[1:3] == b"\x41\x0c"])
        late[latency] = came - asked
        assert late[latency].mean() == pytest.approx(latency, rel=0.15)
    assert late[0.04].max() < 0.06


def test_longer_than_the_script_drives_it_again(tmp_path: Path) -> None:
    script = tmp_path / "mine.toml"
    script.write_text(
        'coolant_start_degc = 70.0\n[[step]]\ndo = "key"\nseconds = 1\n[[step]]\ndo = "start"\nseconds = 10\n'
        '[[step]]\ndo = "idle"\nseconds = 4\n[[step]]\ndo = "rev"\nseconds = 3\npedal = 15\n',
        "utf-8",
    )
    result = simulate("--drive", script, "--seconds", "25", "--no-background", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    assert truth(tmp_path / "healthy.truth.json")["duration_s"] == pytest.approx(25, abs=0.2)


def test_own_profile(tmp_path: Path) -> None:
    mine = tmp_path / "mine.toml"
    mine.write_text(
        'name = "Workshop engine"\nignition = "compression"\ncylinders = 4\nfiring_order = [1, 3, 4, 2]\n'
        'injection = "common_rail"\n[idle]\ntarget_rpm = 900\n',
        "utf-8",
    )
    result = simulate(*SHORT, "--engine", mine, cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    assert truth(tmp_path / "healthy.truth.json")["profile"] == str(mine)
    refused(simulate(*SHORT, "--engine", mine, "--record", "edges", "--stem", "b", cwd=tmp_path), "key crank_wheel")


def test_same_seed_same_bytes(tmp_path: Path) -> None:
    for name, seed in (("a", "3"), ("b", "3"), ("c", "4")):
        assert simulate(*SHORT, "--seed", seed, "--stem", name, cwd=tmp_path).returncode == 0
    a, b, c = ((tmp_path / f"{name}.log").read_bytes() for name in "abc")
    assert a == b != c


@pytest.mark.parametrize(("word", "named"), [("faults", "rail_leakdown"), ("profiles", "training_rail_v8"),
                                             ("drives", "compression_test")])  # fmt: skip
def test_lists(word: str, named: str, tmp_path: Path) -> None:
    assert named in simulate("--list", word, cwd=tmp_path).stdout
    assert not list(tmp_path.iterdir())


def refused(result: Result, *said: str) -> None:
    assert result.returncode == 2, result.stdout
    assert len(result.stderr.strip().splitlines()) == 1, result.stderr
    for text in said:
        assert text in result.stderr


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["--fault", "boost_leek"], "boost_leek"),
        (["--fault", "mixture_lean"], "another kind"),
        (["--fault", "boost_leak", "--size", "4000"], "outside 3 to 120"),
        (["--size", "3"], "more sizes (1) than faults (0)"),
        (["--seconds", "1e12"], "length of the drive, s: 1e+12 is outside 0.1 to 86400"),
        (["--seconds", "nan"], "length of the drive, s: nan"),
        (["--fault", "boost_leak", "--onset", "nan"], "an onset of 0 s"),
        (["--coolant-start", "900"], "coolant at the start, degC: 900 is outside -40 to 120"),
        (["--torsion", "11"], "how soft the crank is: 11 is outside 0 to 10"),
        (["--slower", "1e-9"], "times slower that messages are sent: 1e-09"),
        (["--poll-interval", "0"], "time from one request to the next, s: 0 "),
        (["--latency", "-1"], "time from a request to its answer, s: -1 "),
        (["--lost", "100"], "frames lost, %: 100 is outside 0 to 99"),
        (["--lost-edges", "-1"], "edges lost, %: -1"),
        (["--cut-file", "101"], "cut from the end of each file, %: 101 "),
        (["--record", "wav", "--record-rate", "1e5", "--record-seconds", "2000"], "samples of a recording: 2e+08"),
        (["--record", "edges", "--record-start", "-1"], "begin of the sensors' recording, s: -1"),
        (["--record", "edges", "--record-start", "999"], "would begin at 999 s, when the drive is over (156 s)"),
        (["--record", "wav", "--record-noise", "nan"], "noise of the sensors, V: nan"),
        (["--fault", "boost_leak", "--onset", "999"], "would begin at 999 s, when the drive is over (156 s)"),
        (["--fault", "boost_leak", "--fault", "boost_leak"], "boost_leak is named twice"),
        (
            ["--fault", "cylinder_fuel_low", "--fault", "cylinder_fuel_low", "--cylinder", "2", "--cylinder", "2"],
            "named twice in cylinder 2",
        ),
        (["--where", "nowhere"], "take one of: idle, cruise, both"),
        (["--fault", "boost_leak", "--where", "cruise"], "--where changes nothing"),
        (["--onset", "20"], "--onset changes nothing"),
        (["--fault", "boost_leak", "--frequency", "2"], "--frequency changes nothing"),
        (["--fault", "boost_leak", "--cylinder", "2"], "leave out --cylinder"),
        (["--fault", "cylinder_fuel_low", "--cylinder", "9"], "no cylinder 9"),
        (["--engine", "absent.toml"], "absent.toml"),
        (["--drive", "short_tset"], "did you mean short_test"),
        (["--pid", "6D"], "does not answer PID 6D"),
        (["--pid", "zz"], "hexadecimal"),
        (["--record", "mp3"], "edges, waveform, wav, vcd"),
        (["--no-can"], "nothing would be recorded"),
        (["--list", "cars"], "drives, faults, profiles"),
        (["--stem", "a/b"], "--out"),
        (["--id-bits", "12"], "11 or 29 bits"),
        (["--vin", "00TRNR6X8M000012"], "17 capital letters and digits"),
        (["--vin", "00TRNO6X8M0000123"], "none of them I, O or Q (ISO 3779)"),
        (["--vin", "00trnr6x8m0000123"], "17 capital letters"),
        (["--vin", "00TRNR6X8M0000123", "--no-polling"], "without a tester that asks for it"),
        (["--vin", "00TRNR6X8M0000123", "--no-can", "--record", "edges"], "in the CAN log alone"),
        (["--start", "2026-03-02"], "no date with a time of day"),
        (["--start", "yesterday"], "no date with a time of day"),
        (["--start", "2026-02-30T08:00"], "no date with a time of day"),
        (["--start", "1969-12-31T08:00"], "outside the years 1980 to 2099"),
    ],
)
def test_refuses_in_one_line_and_writes_nothing(arguments: list[str], said: str, tmp_path: Path) -> None:
    refused(simulate(*arguments, cwd=tmp_path), said)
    assert not list(tmp_path.iterdir())


def test_overwrites_only_when_told(tmp_path: Path) -> None:
    (tmp_path / "healthy.log").write_text("mine", "utf-8")
    refused(simulate(*SHORT, cwd=tmp_path), "healthy.log", "is there already", "--overwrite")
    assert {p.name: p.read_text("utf-8") for p in tmp_path.iterdir()} == {"healthy.log": "mine"}
    assert simulate(*SHORT, "--overwrite", cwd=tmp_path).returncode == 0
    assert (tmp_path / "healthy.log").stat().st_size > 1000


def test_a_fault_that_would_begin_after_the_drive_has_ended_early_is_refused(tmp_path: Path) -> None:
    """The script's time at most is known before it is driven; an engine that starts at once ends it some s earlier."""
    end_s = truth_of_a_good_drive(tmp_path)
    onset = str(round(end_s + 1.0, 1))
    refused(simulate("--drive", "idle_only", "--fault", "boost_leak", "--onset", onset, cwd=tmp_path), "would begin at")


def truth_of_a_good_drive(folder: Path) -> float:
    assert simulate("--drive", "idle_only", "--stem", "good", cwd=folder).returncode == 0
    end_s = truth(folder / "good.truth.json")["duration_s"]
    assert end_s + 1.0 < 80.0  # the steps of idle_only together
    return float(end_s)
