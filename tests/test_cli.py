"""The commands, from the outside: a process of its own each, as a user would run them."""

from __future__ import annotations

import gzip
import json
import os
import re
import subprocess
import sys
from pathlib import Path

import jsonschema
import pytest

from logan.cli.recent_work import fitted
from logan.errors import UsageError

ROOT = Path(__file__).parent.parent
LOG = ROOT / "sample_logs" / "pump_key_reversed.log.gz"
SCHEMA = json.loads((ROOT / "tests" / "data" / "finding.schema.json").read_text("utf-8"))


def logan(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "logan", *map(str, arguments)],
        cwd=cwd, capture_output=True, text=True, encoding="utf-8", timeout=120,
        env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONUTF8": "1", "XDG_CACHE_HOME": str(cwd / "cache")},
    )  # fmt: skip


def refused(result: subprocess.CompletedProcess[str], *said: str) -> None:
    """Exit status 2, one clear line, no traceback."""
    assert result.returncode == 2, result.stderr
    assert len(result.stderr.strip().splitlines()) == 1, result.stderr
    assert "Traceback" not in result.stderr
    for text in said:
        assert text in result.stderr


def test_report_writes_the_contract(tmp_path: Path) -> None:
    result = logan("report", LOG, "--engine", "training_rotary_six", "--json", "finding.json", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    finding = json.loads((tmp_path / "finding.json").read_text("utf-8"))
    jsonschema.validate(finding, SCHEMA)
    total = sum(fault["probability"] for fault in finding["faults"]) + finding["not_explained"]
    assert total == pytest.approx(1.0, abs=1e-6)
    assert (tmp_path / f"{LOG.name}.report.html").read_text("utf-8").startswith("<!DOCTYPE html>")
    assert finding["faults"][0]["fault"] == "pump_key_reversed"
    assert result.stdout.strip()


def test_quiet_prints_nothing_and_html_goes_where_it_is_told(tmp_path: Path) -> None:
    result = logan("report", LOG, "--html", "out.html", "--quiet", cwd=tmp_path)
    assert (result.returncode, result.stdout) == (0, "")
    assert {path.name for path in tmp_path.iterdir()} - {"cache"} == {"out.html"}


def test_compressed_and_plain_give_the_same_finding(tmp_path: Path) -> None:
    plain = tmp_path / "drive.log"
    plain.write_bytes(gzip.decompress(LOG.read_bytes()))
    findings = []
    for capture in (LOG, plain):
        assert logan("report", capture, "--json", "f.json", "--quiet", cwd=tmp_path).returncode == 0
        findings.append(json.loads((tmp_path / "f.json").read_text("utf-8")))
    for finding in findings:
        for entry in (*finding["measures"].values(), *finding["data_quality"]["remarks"]):
            entry.pop("from", None)
            entry.pop("file", None)
    assert findings[0]["measures"] == findings[1]["measures"]
    assert findings[0]["faults"] == findings[1]["faults"]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("empty.log", b"", "empty"),
        ("noise.bin", bytes(range(256)) * 40, "noise.bin"),
        ("words.txt", b"once upon a time\n" * 50, "words.txt"),
    ],
)
def test_unreadable_captures(tmp_path: Path, name: str, content: bytes, said: str) -> None:
    (tmp_path / name).write_bytes(content)
    refused(logan("report", name, cwd=tmp_path), name, said)
    assert {path.name for path in tmp_path.iterdir()} - {"cache"} == {name}, "nothing half-written stays"


def test_frames_that_nobody_can_decode_make_a_report_that_says_so(tmp_path: Path) -> None:
    (tmp_path / "unknown.log").write_bytes(b"(1.000000) can0 123#0011223344556677\n" * 50)
    done = logan("report", "unknown.log", "--json", "x.json", cwd=tmp_path)
    assert done.returncode == 0
    assert "--dbc" in done.stdout
    found = json.loads((tmp_path / "x.json").read_text("utf-8"))
    assert found["verdict"] == "insufficient_evidence"
    assert found["capture"]["files"][0]["frames"] == 50
    assert any("--dbc" in remark["text"] for remark in found["data_quality"]["remarks"])


def test_other_misuse(tmp_path: Path) -> None:
    (tmp_path / "broken.dbc").write_text("BO_ x: this is no data base", "utf-8")
    (tmp_path / "wrong.toml").write_text('name = "x"\n[pump]\nkey_ofset_deg = 1.5\n', "utf-8")
    refused(logan("report", "absent.log", cwd=tmp_path), "absent.log")
    refused(logan("report", tmp_path, cwd=tmp_path), "folder")
    refused(logan("report", LOG, "--dbc", "broken.dbc", cwd=tmp_path), "broken.dbc")
    refused(logan("report", LOG, "--engine", "wrong.toml", cwd=tmp_path), "wrong.toml", "line 3", "key_offset_deg")
    refused(logan("report", LOG, "--engine", "no_such_profile", cwd=tmp_path), "training_rotary_six")
    refused(logan("report", LOG, "--recent-work", "paint", cwd=tmp_path), "paint")
    refused(logan("report", LOG, LOG, cwd=tmp_path), "same bytes")
    refused(logan("report", LOG, "--html", "no/such/folder/x.html", cwd=tmp_path), "folder")
    refused(logan("report", cwd=tmp_path), "CAPTURE")
    refused(logan("report", "--no-such-option", cwd=tmp_path), "see logan report --help")
    refused(logan("reprot", cwd=tmp_path), "reprot", "see logan --help")
    refused(logan("plan", "--suspect", "no_such_fault", cwd=tmp_path), "no_such_fault", "logan explain lists all")
    refused(logan("decode", LOG, "--out", "table.docx", cwd=tmp_path), "table.docx")
    assert not list(tmp_path.glob("*.html"))


def test_the_help_that_is_named_is_that_of_the_command(tmp_path: Path) -> None:
    refused(logan("fleet", "run", "--out", "x", cwd=tmp_path), "see logan fleet run --help")
    refused(logan("fleet", "rum", cwd=tmp_path), "see logan fleet --help")
    refused(logan("people", "add", "someone", cwd=tmp_path), "see logan people add --help")


def test_json_on_standard_output_is_json_alone(tmp_path: Path) -> None:
    """``-`` for standard output: POSIX, Utility Syntax Guideline 13."""
    refused(logan("report", LOG, "--json", "-", cwd=tmp_path), "add --quiet")
    refused(logan("compare", LOG, LOG, "--json", "-", cwd=tmp_path), "add --quiet")
    refused(logan("report", LOG, "--html", "-", cwd=tmp_path), "name a file")
    refused(logan("plan", "--json", "-", cwd=tmp_path), "name a file")
    result = logan("report", LOG, "--json", "-", "--quiet", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    named = logan("report", LOG, "--json", "finding.json", cwd=tmp_path)
    assert named.stdout.splitlines()[-1] == "JSON: finding.json"
    assert result.stdout == (tmp_path / "finding.json").read_text("utf-8")
    assert not (tmp_path / "-").exists()


def test_an_output_never_overwrites_what_is_read(tmp_path: Path) -> None:
    table = tmp_path / "drive.csv"
    table.write_text("time [s],engine_speed [rpm]\n" + "".join(f"{k},800\n" for k in range(90)), "utf-8")
    before = table.read_bytes()
    refused(logan("report", "drive.csv", "--json", "drive.csv", cwd=tmp_path), "drive.csv", "overwritten")
    refused(logan("decode", "drive.csv", "--out", "./drive.csv", cwd=tmp_path), "drive.csv", "overwritten")
    assert table.read_bytes() == before
    if hasattr(os, "mkfifo"):
        os.mkfifo(tmp_path / "pipe")
        refused(logan("report", "drive.csv", "--html", "pipe", cwd=tmp_path), "pipe", "not a file")
        assert not (tmp_path / "pipe").is_file()
    refused(logan("report", "drive.csv", "--html", "x" * 300, cwd=tmp_path), "too long")


def test_files_without_a_common_clock_are_not_mixed(tmp_path: Path) -> None:
    for name, rpm in (("a.csv", 800), ("b.csv", 2000)):
        rows = "".join(f"{k},{rpm}\n" for k in range(60))
        (tmp_path / name).write_text("time [s],engine_speed [rpm]\n" + rows, "utf-8")
    result = logan("decode", "a.csv", "b.csv", cwd=tmp_path)
    rows = [line.split() for line in result.stdout.splitlines() if line.startswith("engine_speed")]
    assert sorted((row[2], row[4], row[6]) for row in rows) == [("60", "2000", "2000"), ("60", "800", "800")]


@pytest.mark.parametrize("form", ["long", "wide"])
@pytest.mark.parametrize("kind", ["csv", "parquet"])
def test_decode_writes_tables(tmp_path: Path, form: str, kind: str) -> None:
    import pandas as pd

    result = logan("decode", LOG, "--out", f"t.{kind}", "--form", form, cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    line = next(row for row in result.stdout.splitlines() if row.startswith("engine_speed "))
    table = pd.read_csv(tmp_path / "t.csv") if kind == "csv" else pd.read_parquet(tmp_path / "t.parquet")
    if form == "long":
        speed = table[(table.channel == "engine_speed") & (table.source == line.split("  ")[-1].strip())]["value"]
    else:
        speed = table["engine_speed [rpm]"]
    # As the line says: unit, count, rate, lowest, median, highest.
    assert f"{speed.max():.6g}" == line.split()[6]
    assert table["time_s"].is_monotonic_increasing


def test_inspect_names_what_is_there(tmp_path: Path) -> None:
    result = logan("inspect", LOG, cwd=tmp_path)
    assert "recognised: 400 of the first 400 lines read (time) channel ID#DATA (certainty 1.00 of 1)" in result.stdout
    assert result.returncode == 0, result.stderr
    for text in ("CAN text log", "7E8", "services", "Quality"):
        assert text in result.stdout


def test_inspect_names_no_rate_where_no_line_has_a_time(tmp_path: Path) -> None:
    (tmp_path / "session.txt").write_text("".join(f">010C\n7E8 04 41 0C 0C {k:02X}\n" for k in range(40)), "utf-8")
    result = logan("inspect", "session.txt", cwd=tmp_path)
    assert result.returncode == 0, result.stderr
    assert re.search(r"^ +7E8 +40$", result.stdout, re.MULTILINE), result.stdout
    assert "no time" in result.stdout
    assert "per s" not in result.stdout


def test_start_is_light() -> None:
    """Help and ``import logan`` load nothing heavy."""
    code = "import sys, logan, logan.cli.running; print(sorted(m for m in sys.modules if '.' not in m))"
    loaded = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    for heavy in ("'numpy'", "'scipy'", "'pandas'", "'can'", "'cantools'", "'plotly'", "'rich'", "'jinja2'"):
        assert heavy not in loaded


def test_report_does_not_load_the_slow_libraries(tmp_path: Path) -> None:
    code = (
        "import sys; import logan; from logan.report import html_page;"
        f"a = logan.analyse([{str(LOG)!r}]); html_page.render(a.record, a.finding); print(sorted(sys.modules))"
    )
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(tmp_path)}
    for _ in range(2):  # the first run fills the plan cache
        loaded = subprocess.run(
            [sys.executable, "-c", code], cwd=tmp_path, capture_output=True, text=True, check=True, env=environment
        ).stdout
    for heavy in ("'pandas'", "'can'", "'cantools'", "'plotly'", "'scipy.signal'", "'scipy.stats'"):
        assert heavy not in loaded


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no /dev/full")
def test_a_full_disk_behind_standard_output_is_no_defect() -> None:
    command = [sys.executable, "-m", "logan", "decode", str(LOG)]
    with Path("/dev/full").open("wb") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr == "logan: standard output: no space left; free some, or send it elsewhere\n"


@pytest.mark.parametrize("command", [["decode", str(LOG)], ["inspect", str(LOG)], ["explain"], ["plan"]])
def test_a_reader_that_goes_away_is_no_fault(command: list[str]) -> None:
    """As ``| head -1`` does: the rest of the output has nowhere to go."""
    made = subprocess.Popen(
        [sys.executable, "-m", "logan", *command], stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=ROOT
    )
    assert made.stdout is not None
    made.stdout.close()
    said = made.communicate(timeout=120)[1]
    assert (made.returncode, said) == (0, b"")


def test_another_engine_and_another_vehicle_are_told(tmp_path: Path) -> None:
    diesel = ROOT / "sample_logs" / "healthy_rotary_six.log.gz"
    other = ROOT / "sample_logs" / "healthy_rail_four.log.gz"
    page = tmp_path / "x.html"
    judged = logan("report", diesel, "--engine", "training_spark_four", "--html", page, cwd=tmp_path)
    assert judged.returncode == 0
    assert "readiness says compression ignition" in judged.stdout
    assert "Beware" in page.read_text("utf-8")
    own = logan("report", diesel, "--engine", "training_rotary_six", "--html", page, cwd=tmp_path)
    assert "readiness says" not in own.stdout
    refused(logan("report", diesel, other, cwd=tmp_path), "different vehicles", "one road test")


def test_a_code_of_a_cylinder_that_the_engine_has_not_is_told(tmp_path: Path) -> None:
    """P0275 names cylinder 5 (SAE J2012); its bytes are 02 75 (ISO 15031-6)."""
    said = tmp_path / "codes.txt"
    said.write_text(">03\n7E8 04 43 01 02 75\n>0100\n7E8 06 41 00 BE 1F A8 13\n", "utf-8")
    judged = logan("report", said, "--engine", "training_rail_four", "--html", tmp_path / "x.html", cwd=tmp_path)
    assert "has 4 cylinders, a stored code names cylinder 5" in " ".join(judged.stdout.split())


@pytest.mark.parametrize("words", [("none", "pump"), ("pump", "none", "pump_key")])
def test_nothing_fitted_beside_something_is_refused(words: tuple[str, ...]) -> None:
    with pytest.raises(UsageError, match="none was fitted, and pump"):
        fitted(list(words))


def test_what_was_fitted_is_taken() -> None:
    assert [fitted(words) for words in (None, ["none"], ["pump", "pump_key"])] == [[], ["none"], ["pump", "pump_key"]]


def test_a_screen_without_all_characters_gets_the_report(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "logan", "report", str(LOG), "--json", str(tmp_path / "it.json")],
        capture_output=True, cwd=ROOT, env={**os.environ, "PYTHONIOENCODING": "ascii"},
    )  # fmt: skip
    assert (ran.returncode, ran.stderr) == (0, b"")
    assert (tmp_path / "it.json").exists()
    assert ran.stdout.isascii()
    assert len(ran.stdout) > 500


@pytest.mark.skipif(os.name != "posix", reason="closes standard output by a POSIX shell")
def test_without_standard_output_the_work_is_done(tmp_path: Path) -> None:
    page = tmp_path / "it.json"
    line = f"exec {sys.executable} -m logan report {LOG} --json {page} >&-"
    ran = subprocess.run(["sh", "-c", line], stderr=subprocess.PIPE, cwd=ROOT)
    assert (ran.returncode, ran.stderr, page.exists()) == (0, b"", True)
