"""The workshop as a program: kill -9 at any moment loses nothing that was acknowledged."""

from __future__ import annotations

import random
import socket
import subprocess
import sys
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import pytest

pytest.importorskip("httpx", reason="pip install '.[test]'")
pytest.importorskip("sqlalchemy", reason="pip install '.[workshop]'")
pytest.importorskip("uvicorn", reason="pip install '.[workshop]'")

import httpx
import sqlalchemy as sa
from workshop_program import Program

from logan.cli import main
from logan.store.database import opened

CAPTURE = Path(__file__).parent.parent / "sample_logs" / "pump_key_reversed.log.gz"


def column(folder: Path, name: str, database: str | None = None) -> list[Any]:
    """One column of the cases, read beside the running program."""
    with sa.create_engine(database or f"sqlite:///{folder / 'workshop.sqlite3'}").connect() as base:
        return list(base.scalars(sa.text(f"SELECT {name} FROM cases")))


def test_kill_during_upload_and_analysis(tmp_path: Path, database: str | None) -> None:
    acknowledged: list[int] = []
    chance = random.Random(7)
    data = CAPTURE.read_bytes()
    for wanted in ("any moment", "running"):
        program = Program(tmp_path, database)

        def keep_handing_in(program: Program = program) -> None:
            with suppress(httpx.TransportError):
                while len(acknowledged) < 4:
                    acknowledged.append(program.hand_in(data))

        sender = threading.Thread(target=keep_handing_in)
        sender.start()
        time.sleep(chance.uniform(0.2, 1.5))
        for _ in range(200):
            if wanted == "any moment" or wanted in column(tmp_path, "state", database):
                break
            time.sleep(0.02)
        program.kill()
        sender.join()
    program = Program(tmp_path, database)
    try:
        if not acknowledged:
            acknowledged.append(program.hand_in(data))
        assert [program.ended(case) for case in acknowledged] == ["done"] * len(acknowledged)
        assert max(column(tmp_path, "attempts", database)) >= 2, "no analysis was interrupted: the test proved nothing"
        assert not list((tmp_path / "captures").glob("arriving/*"))
    finally:
        program.kill()


def test_beyond_this_machine_needs_accounts(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "logan", "serve", "--data", str(tmp_path), "--host", "0.0.0.0"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=30, check=False)
    assert done.returncode == 2
    assert "no accounts" in done.stderr
    assert "logan people add" in done.stderr


def test_a_start_that_is_refused_leaves_nothing_behind(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    new = tmp_path / "new"
    with socket.create_server(("127.0.0.1", 0)) as taken:
        for more in (
            ["--host", "0.0.0.0"],
            ["--port", str(taken.getsockname()[1])],
            ["--host", "no.such.name.invalid"],
        ):
            with pytest.raises(SystemExit) as ended:
                main(["serve", "--data", str(new), *more])
            assert ended.value.code == 2
            assert not new.exists(), more
    for command in (["list"], ["close", "NAME"], ["pass", "NAME"], ["change", "NAME", "--role", "lead"]):
        for place in ([], ["--database", f"sqlite:///{tmp_path / 'absent.sqlite3'}"]):
            capsys.readouterr()
            with pytest.raises(SystemExit) as ended:
                main(["people", *command, "--data", str(new), *place])
            assert ended.value.code == 2
            assert "there is no data base" in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_no_accounts_are_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    opened(tmp_path)
    with pytest.raises(SystemExit) as ended:
        main(["people", "list", "--data", str(tmp_path)])
    assert ended.value.code == 0
    assert capsys.readouterr().err == "No accounts.\n"


def test_accounts_by_command(tmp_path: Path) -> None:
    people = [sys.executable, "-m", "logan", "people"]
    add = [*people, "add", "first lead", "--role", "lead", "--data", str(tmp_path)]
    made = subprocess.run(add, input="a long enough password\n", capture_output=True, text=True, check=False)
    assert made.returncode == 0, made.stderr
    again = subprocess.run(add, input="a long enough password\n", capture_output=True, text=True, check=False)
    assert again.returncode == 2
    listed = subprocess.run([*people, "list", "--data", str(tmp_path)], capture_output=True, text=True, check=True)
    assert "first lead\tlead" in listed.stdout
