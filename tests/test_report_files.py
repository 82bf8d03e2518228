"""A result file is there whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan.errors import OutputError
from logan.report import files


def test_writes_and_replaces(tmp_path: Path) -> None:
    target = tmp_path / "finding.json"
    target.write_text("old", "utf-8")
    files.write_text(target, "new é\n")
    assert target.read_bytes() == "new é\n".encode()
    assert [p.name for p in tmp_path.iterdir()] == ["finding.json"]


def test_nothing_half_written_stays(tmp_path: Path) -> None:
    good, bad = tmp_path / "report.html", tmp_path / "folder"
    bad.mkdir()
    (bad / "inside").write_text("x", "utf-8")
    with pytest.raises(OutputError) as caught:
        files.write_all({bad: "text", good: "text"})
    assert str(bad) in str(caught.value)
    assert "\n" not in str(caught.value)
    assert sorted(p.name for p in tmp_path.iterdir()) == ["folder"]


def test_a_failed_second_file_keeps_the_first_old_one(tmp_path: Path) -> None:
    first = tmp_path / "report.html"
    first.write_text("old", "utf-8")
    with pytest.raises(OutputError, match="no such file"):
        files.write_all({first: "new", tmp_path / "absent" / "finding.json": "{}"})
    assert first.read_text("utf-8") == "old"
    assert [p.name for p in tmp_path.iterdir()] == ["report.html"]


def test_an_interrupted_write_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "replace", full)
    with pytest.raises(OutputError, match="no space left"):
        files.write_text(tmp_path / "report.html", "text")
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("case", ["twice", "folder", "absent"])
def test_refused_before_the_work(tmp_path: Path, case: str) -> None:
    paths = {
        "twice": (tmp_path / "a", tmp_path / "x" / ".." / "a"),
        "folder": (tmp_path,),
        "absent": (tmp_path / "no" / "a",),
    }
    with pytest.raises(OutputError) as caught:
        files.check_writable(*paths[case])
    assert caught.value.do
