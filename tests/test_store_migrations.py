"""The tables of older versions are brought up without loss; newer ones are refused and left alone."""

from __future__ import annotations

import gzip
import sqlite3
import threading
from contextlib import closing
from pathlib import Path

import pytest

pytest.importorskip("sqlalchemy", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa

from logan.errors import UsageError
from logan.store import cases, lessons, migrations, people
from logan.store.database import Base, opened

FIRST = Path(__file__).parent / "data" / "workshop_schema_1.sql.gz"
"""A data base as the program wrote it when it had tables of version 1: a case of each state, a lesson, two people."""

LATER = ("vin", "sending", "withdrawn")


def old(folder: Path) -> Path:
    """Lay the data base of version 1 into a data folder."""
    folder.mkdir(exist_ok=True)
    path = folder / "workshop.sqlite3"
    with closing(sqlite3.connect(path)) as base:
        base.executescript(gzip.decompress(FIRST.read_bytes()).decode("utf-8"))
    return path


def rows(path: Path) -> dict[str, list[tuple[object, ...]]]:
    """Everything that stands in a data base, but the columns and tables that came after version 1."""
    with closing(sqlite3.connect(path)) as base:
        names = [name for (name,) in base.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]
        out = {}
        for name in names:
            columns = [column[1] for column in base.execute(f"PRAGMA table_info({name})") if column[1] not in LATER]
            listed = ", ".join(f'"{column}"' for column in columns)
            out[name] = base.execute(f"SELECT {listed} FROM {name}").fetchall()
        return {name: found for name, found in out.items() if name != "schema_version"}


def test_an_older_data_base_loses_nothing(tmp_path: Path) -> None:
    path = old(tmp_path)
    before = rows(path)
    assert len(before["cases"]) == 3
    sessions = opened(tmp_path)
    assert rows(path) == before
    done = cases.get(sessions, 1)
    assert done is not None
    assert done.vin == done.result["vehicle"]["vin"]
    assert cases.claim(sessions).id == 3, "what waited still waits"
    cases.finish(sessions, 3, done.result)
    with sessions.begin() as session:
        session.get_one(type(done), 3).vehicle = ""
    assert [one.id for one in cases.others_of_the_vehicle(sessions, done)] == [3]
    assert people.checked(sessions, "Ada", "a long enough password") is not None
    assert lessons.attempts(sessions, 1)[0].score == {"sum": 90}


def test_the_tables_are_those_of_a_new_data_base(tmp_path: Path) -> None:
    shapes = []
    for name in ("old", "new"):
        if name == "old":
            old(tmp_path / name)
        look = sa.inspect(opened(tmp_path / name).kw["bind"])
        shapes.append(
            {
                table: (
                    {column["name"]: (str(column["type"]), column["nullable"]) for column in look.get_columns(table)},
                    sorted((index["name"], tuple(index["column_names"])) for index in look.get_indexes(table)),
                )
                for table in look.get_table_names()
            }
        )
    assert shapes[0] == shapes[1]
    assert set(shapes[1]) == {*Base.metadata.tables, "schema_version"}


def test_a_step_that_fails_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = old(tmp_path)
    before = rows(path)

    def broken(connection: sa.Connection) -> None:
        connection.execute(sa.text("DROP TABLE reviews"))
        raise sa.exc.OperationalError("x", {}, Exception("disk is full"))

    monkeypatch.setattr(migrations, "STEPS", (*migrations.STEPS, broken))
    monkeypatch.setattr(migrations, "PRESENT", migrations.PRESENT + 1)
    with pytest.raises(UsageError, match="cannot be opened"):
        opened(tmp_path)
    assert rows(path) == before
    monkeypatch.undo()
    opened(tmp_path)
    assert rows(path) == before


def test_a_newer_or_foreign_data_base_is_refused_and_left_alone(tmp_path: Path) -> None:
    opened(tmp_path / "newer")
    path = tmp_path / "newer" / "workshop.sqlite3"
    with closing(sqlite3.connect(path)) as base:
        base.execute("UPDATE schema_version SET number = 99")
        base.execute("CREATE TABLE of_the_future (a INTEGER)")
        base.commit()
    before = rows(path)
    with pytest.raises(UsageError, match=r"newer logan .*99"):
        opened(tmp_path / "newer")
    assert rows(path) == before
    (tmp_path / "foreign").mkdir()
    with closing(sqlite3.connect(tmp_path / "foreign" / "workshop.sqlite3")) as base:
        base.execute("CREATE TABLE stock (a INTEGER)")
        base.commit()
    with pytest.raises(UsageError, match="another program"):
        opened(tmp_path / "foreign")


def test_two_that_open_at_once_bring_it_up_once(tmp_path: Path) -> None:
    path = old(tmp_path)
    before = rows(path)
    wrong: list[Exception] = []

    def open_it() -> None:
        try:
            opened(tmp_path)
        except Exception as error:  # what went wrong in a thread is told by the test
            wrong.append(error)

    threads = [threading.Thread(target=open_it) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert wrong == []
    assert rows(path) == before


def test_one_that_another_is_just_bringing_up_is_waited_for(tmp_path: Path) -> None:
    path = old(tmp_path)
    with closing(sqlite3.connect(path, isolation_level=None, check_same_thread=False)) as other:
        other.execute("BEGIN IMMEDIATE")
        ready = threading.Timer(0.3, lambda: other.execute("COMMIT"))
        ready.start()
        opened(tmp_path)
        ready.join()
    with closing(sqlite3.connect(path)) as base:
        assert base.execute("SELECT number FROM schema_version").fetchall() == [(migrations.PRESENT,)]
