"""Faults below the workshop: a killed worker, a full disk, a locked data base, a clock that jumps. Told, and passed."""

from __future__ import annotations

import errno
import multiprocessing
import os
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

pytest.importorskip("fastapi", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa
from fastapi.testclient import TestClient

from logan.store import captures, cases, lessons
from logan.store.database import Exercise, Sessions
from logan.workshop import analyst, exercises
from logan.workshop.app import make
from tests.test_workshop import HOME, ended, hand_in, token

SAMPLES = Path(__file__).parent.parent / "sample_logs"
CAPTURE = SAMPLES / "crank_signal_inverted.log.gz"
AT_A_TIME = max(1, (os.cpu_count() or 2) - 1)
REFUSED = sa.exc.DataError("a write", None, Exception("unsupported Unicode escape sequence"))
"""What a data base says of values that it will never take."""


@pytest.fixture
def client(tmp_path: Path, sessions: Sessions) -> Iterator[TestClient]:
    with TestClient(make(sessions, tmp_path), base_url=HOME, follow_redirects=False) as client:
        yield client


def until(there: Callable[[], object], what: str) -> None:
    end = time.monotonic() + 40
    while not there():
        assert time.monotonic() < end, f"{what} did not come"
        time.sleep(0.01)


def state(sessions: Sessions, case: str) -> str:
    found = cases.get(sessions, int(case.rsplit("/", 1)[1]))
    assert found is not None
    return found.state


@contextmanager
def only_reading(sessions: Sessions, *lines: str) -> Iterator[None]:
    """Every connection that is taken from now on is told these lines, which keep it from writing."""
    engine = sessions.kw["bind"]
    if engine.dialect.name != "sqlite":
        pytest.skip("how SQLite is kept from writing is SQLite's own")

    def tell(held: sa.pool.PoolProxiedConnection, *_: object) -> None:
        for line in lines:
            held.execute(line)  # type: ignore[attr-defined]

    sa.event.listen(engine, "checkout", tell)
    engine.dispose()
    yield
    sa.event.remove(engine, "checkout", tell)
    engine.dispose()


@pytest.mark.parametrize("what", ["case", "exercise"])
def test_a_worker_that_is_killed_is_told_and_its_work_can_be_done_again(
    client: TestClient, sessions: Sessions, what: str
) -> None:
    if what == "case":
        address = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name)
    else:
        made = {"token": token(client, "/training"), "source": "canned", "canned": "crank_signal_inverted"}
        address = str(client.post("/training/exercises", data=made).headers["location"])
    until(multiprocessing.active_children, "the worker")
    for worker in multiprocessing.active_children():
        worker.kill()
    until(lambda: "ended without a result" in client.get(address).text, "what happened")
    page = client.get(address).text
    assert "want of memory" in page
    assert client.get("/").status_code == 200
    if what == "exercise":
        return
    assert client.post(f"{address}/again", data={"token": token(client)}).status_code == 303
    assert ended(client, address) == "done"
    page = client.get(address).text
    assert "asked to analyse it again" in page
    assert page.count("ended without a result") == 1, "the trail keeps what happened"
    assert client.post(f"{address}/again", data={"token": token(client)}).status_code == 400, "it has not failed now"
    assert cases.get(sessions, 1).attempts == 1  # type: ignore[union-attr]


@pytest.mark.parametrize("moment", ["write", "fsync", "place"])
def test_a_disk_that_fills_up_while_a_capture_comes(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    if moment == "write":
        really = captures.Arriving.__init__

        def arriving(self: captures.Arriving, folder: Path, name: str) -> None:
            really(self, folder, name)
            taken = self._out
            self._out = SimpleNamespace(write=full, close=taken.close)  # type: ignore[assignment]

        monkeypatch.setattr(captures.Arriving, "__init__", arriving)
    elif moment == "fsync":
        monkeypatch.setattr(captures.os, "fsync", full)
    else:
        monkeypatch.setattr(captures, "_settle", full)
    fields = {"token": token(client), "sending": "one"}
    answer = client.post("/hand-in", data=fields, files={"captures": ("a.log", b"some bytes" * 100)})
    assert answer.status_code == 503
    assert "No space left on device" in answer.text
    assert "Nothing of this was taken" in answer.text
    assert "No case yet" in client.get("/").text
    assert not list((tmp_path / "captures" / "arriving").iterdir())
    monkeypatch.undo()
    answer = client.post("/hand-in", data=fields, files={"captures": ("a.log", b"some bytes" * 100)})
    assert answer.headers["location"] == "/cases/1"


def test_a_disk_that_is_full_for_the_report(client: TestClient, tmp_path: Path) -> None:
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name)
    reports = tmp_path / "reports"
    reports.rmdir()
    reports.write_text("in the way")  # which stops a writer whoever it is; a full disk could not be had here
    assert ended(client, case) == "failed"
    page = client.get(case).text
    assert "1.html" in page
    assert str(tmp_path) not in page
    reports.unlink()
    reports.mkdir()
    client.post(f"{case}/again", data={"token": token(client)})
    assert ended(client, case) == "done"
    assert client.get(f"{case}/report").status_code == 200


@pytest.mark.parametrize("why", ["full", "locked"])
def test_an_analysis_that_cannot_be_entered_waits_until_it_can(
    client: TestClient, sessions: Sessions, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, why: str
) -> None:
    """``max_page_count`` makes SQLite say what it says on a full disk; a second writer that does not end locks it."""
    tries: list[int] = []
    really = cases.finish

    def finish(*arguments: object) -> None:
        tries.append(1)
        really(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(cases, "finish", finish)
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name)
    until(lambda: state(sessions, case) == "running", "the analysis")
    line = "PRAGMA max_page_count=1" if why == "full" else "PRAGMA busy_timeout=20"
    with only_reading(sessions, line):
        other = sa.create_engine(f"sqlite:///{tmp_path / 'workshop.sqlite3'}").connect()
        if why == "locked":
            other.exec_driver_sql("BEGIN IMMEDIATE")
        until(lambda: len(tries) >= 2, "a second try")
        assert state(sessions, case) == "running", "nothing is lost, and the page says how far it is"
        assert client.get(case).status_code == 200
        said = client.post(f"{case}/review", data={"token": token(client), "kind": "note", "text": "x" * 9_000})
        assert said.status_code == 503
        assert ("full" if why == "full" else "locked") in said.text
        other.close()
    assert ended(client, case) == "done"
    assert [deed.what for deed in cases.trail(sessions, 1)] == ["handed in 1 capture", "analysed"]


def test_what_waits_is_taken_up_when_the_data_base_is_free_again(
    client: TestClient, sessions: Sessions, tmp_path: Path
) -> None:
    with only_reading(sessions, "PRAGMA busy_timeout=20"):
        other = sa.create_engine(f"sqlite:///{tmp_path / 'workshop.sqlite3'}").connect()
        other.exec_driver_sql("BEGIN IMMEDIATE")
        time.sleep(1.5)  # the analysts look for work meanwhile, and are refused
        other.close()
    assert ended(client, hand_in(client, b"nothing that a bus ever said")) == "failed"


@pytest.mark.parametrize(
    "trouble",
    [
        sa.exc.InterfaceError("claim", None, Exception("connection already closed")),
        sa.exc.DatabaseError("claim", None, Exception("database disk image is malformed")),
        RuntimeError("a defect"),
    ],
    ids=["away", "damaged", "defect"],
)
def test_an_analyst_goes_on_whatever_the_data_base_says(
    client: TestClient, monkeypatch: pytest.MonkeyPatch, trouble: Exception
) -> None:
    monkeypatch.setattr(analyst, "IDLE_S", 0.05)
    asked: list[int] = []
    with monkeypatch.context() as patch:

        def claim(_: Sessions) -> None:
            asked.append(1)
            raise trouble

        patch.setattr(cases, "claim", claim)
        until(lambda: len(asked) > AT_A_TIME, "a second try")
    assert ended(client, hand_in(client, b"nothing that a bus ever said")) == "failed"


@pytest.mark.parametrize("moment", ["look", "keep"])
def test_a_defect_fails_one_case_and_the_next_is_analysed(
    client: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    really = cases.finish
    tried: list[int] = []

    def failing(*_: object) -> None:
        raise ValueError(f"so it is of {tmp_path}/captures")

    def finish(held: Sessions, case_id: int, result: dict[str, Any] | None, trouble: str = "") -> None:
        tried.append(case_id)
        if len(tried) == 1:
            raise REFUSED
        really(held, case_id, result, trouble)

    with monkeypatch.context() as patch:
        patch.setattr(*(captures, "lay_out", failing) if moment == "look" else (cases, "finish", finish))
        case = hand_in(client, b"nothing that a bus ever said")
        assert ended(client, case) == "failed"
        page = client.get(case).text
    assert f"a defect of logan: {'ValueError' if moment == 'look' else 'DataError'}" in page
    assert str(tmp_path) not in page
    assert ended(client, hand_in(client, b"nothing that a bus ever said")) == "failed"
    assert "a defect" not in client.get("/cases/2").text


def trouble_of_exercise(client: TestClient, sessions: Sessions) -> str:
    """Why an exercise of a case that is not there was not made ready."""
    number = lessons.make(sessions, "Ada", "A case", "", {"case": 77}, {"fault": "no_fault"})
    client.app.state.preparer.add(number)  # type: ignore[attr-defined]
    made = sa.select(Exercise.trouble).where(Exercise.id == number, Exercise.state != "waiting")

    def trouble() -> str | None:
        with sessions() as session:
            return session.scalars(made).first()

    until(trouble, "what happened")
    return trouble() or ""


@pytest.mark.parametrize("moment", ["look", "keep"])
def test_a_defect_fails_one_exercise_and_the_next_is_made_ready(
    client: TestClient, sessions: Sessions, monkeypatch: pytest.MonkeyPatch, moment: str
) -> None:
    really = lessons.prepared
    tried: list[int] = []

    def failing(*_: object) -> None:
        raise KeyError("files")

    def prepared(held: Sessions, number: int, views: list[str], result: dict[str, Any] | None, trouble: str) -> None:
        tried.append(number)
        if len(tried) == 1:
            raise REFUSED
        really(held, number, views, result, trouble)

    with monkeypatch.context() as patch:
        patch.setattr(*(cases, "get", failing) if moment == "look" else (lessons, "prepared", prepared))
        said = trouble_of_exercise(client, sessions)
    assert said.startswith(f"a defect of logan: {'KeyError' if moment == 'look' else 'DataError'}")
    assert trouble_of_exercise(client, sessions) == "the case is not there"


def test_an_exercise_waits_for_a_data_base_that_is_away(
    client: TestClient, sessions: Sessions, monkeypatch: pytest.MonkeyPatch
) -> None:
    really = lessons.exercise
    asked: list[int] = []

    def exercise(held: Sessions, number: int) -> Exercise | None:
        asked.append(number)
        if len(asked) < 3:
            raise sa.exc.InterfaceError("a read", None, Exception("connection already closed"))
        return really(held, number)

    monkeypatch.setattr(exercises, "AGAIN_S", 0.05)
    monkeypatch.setattr(lessons, "exercise", exercise)
    assert trouble_of_exercise(client, sessions) == "the case is not there"
    assert asked == [1, 1, 1]


def test_a_data_base_that_drops_its_connections(client: TestClient, sessions: Sessions) -> None:
    engine = sessions.kw["bind"]
    if engine.dialect.name != "postgresql":
        pytest.skip("no PostgreSQL data base is named to test on")
    case = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name)
    until(lambda: state(sessions, case) == "running", "the analysis")
    drop = sa.text(
        "SELECT count(pg_terminate_backend(pid)) FROM pg_stat_activity "
        "WHERE datname = current_database() AND pid <> pg_backend_pid()"
    )
    other = sa.create_engine(engine.url)
    with other.connect() as connection:
        assert connection.scalar(drop) > 0
    other.dispose()
    assert client.get(case).status_code == 200
    assert ended(client, case) == "done"


def test_a_clock_that_jumps_back_during_an_analysis(
    client: TestClient, sessions: Sessions, monkeypatch: pytest.MonkeyPatch
) -> None:
    first = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, vehicle="van 7")
    until(lambda: state(sessions, first) == "running", "the analysis")
    back = datetime.now(UTC) - timedelta(days=400)
    monkeypatch.setattr("logan.store.database.datetime", SimpleNamespace(now=lambda _zone: back))
    monkeypatch.setattr(time, "time", back.timestamp)
    assert ended(client, first) == "done"
    second = hand_in(client, CAPTURE.read_bytes(), CAPTURE.name, vehicle="van 7")
    assert ended(client, second) == "done"
    page = client.get("/").text
    assert page.index(f'href="{second}"') < page.index(f'href="{first}"'), "the newest first, by number"
    assert "before this one" in client.get(second).text
    assert [deed.what for deed in cases.trail(sessions, 1)] == ["handed in 1 capture", "analysed"]
