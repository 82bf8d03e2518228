"""The sources hold nothing that bandit (Apache-2.0, offline) warns of, but what pyproject.toml explains."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

pytest.importorskip("bandit", reason="pip install '.[test]'")

ROOT = Path(__file__).parent.parent


def scan(*places: str) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "bandit", "-q", "-c", "pyproject.toml", "-r", *places]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)


def test_the_scan_is_clean() -> None:
    done = scan("logan")
    assert done.returncode == 0, done.stdout


def test_the_scan_sees_what_it_should(tmp_path: Path) -> None:
    (tmp_path / "wrong.py").write_text("import subprocess\nsubprocess.call(input(), shell=True)\n")
    done = scan(str(tmp_path))
    assert done.returncode == 1
    assert "shell=True" in done.stdout
