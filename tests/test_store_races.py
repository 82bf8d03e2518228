"""Two at the same moment, double clicks, sending again: nothing is lost, nothing stands twice.

Runs on the built-in data base, and on PostgreSQL where LOGAN_TEST_DATABASE names one.
"""

from __future__ import annotations

import io
import json
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

pytest.importorskip("sqlalchemy", reason="pip install '.[workshop]'")
pytest.importorskip("argon2", reason="pip install '.[workshop]'")

import sqlalchemy as sa

from logan.errors import UsageError
from logan.store import captures, cases, lessons, migrations, people
from logan.store.database import Attempt, Base, Case, Deed, Sessions, StoredFile, opened

MANY = 12
CHECK = {"text": "look at it", "cautions": [], "minutes": 1, "outcomes": ["yes", "no"]}
FAULT = {"fault": "a", "probability": 0.9, "evidence": [{"measure": "m", "weight": 1.0}], "next_checks": [CHECK]}
RESULT = {"sentence": "s", "verdict": "fault_supported", "faults": [FAULT], "vehicle": {"vin": "V" * 17}}


def at_once(doing: Callable[[int], Any]) -> list[Any]:
    with ThreadPoolExecutor(MANY) as pool:
        return list(pool.map(doing, range(MANY)))


def count(sessions: Sessions, table: type[Base]) -> int:
    with sessions() as session:
        return session.scalar(sa.select(sa.func.count()).select_from(table)) or 0


def test_the_same_capture_handed_in_by_many_at_once(sessions: Sessions, tmp_path: Path) -> None:
    def one(_k: int) -> int:
        return cases.hand_in(sessions, [captures.keep(tmp_path, io.BytesIO(b"the same bytes"), "a.log")], "Ada")

    assert len(set(at_once(one))) == MANY
    assert count(sessions, StoredFile) == 1
    assert count(sessions, Case) == MANY


def test_one_sending_is_one_case_however_often_it_comes(sessions: Sessions, tmp_path: Path) -> None:
    kept = captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")
    numbers = at_once(lambda _: cases.hand_in(sessions, [kept], "Ada", sending="mark of the form"))
    assert len(set(numbers)) == count(sessions, Case) == count(sessions, Deed) == 1
    assert cases.hand_in(sessions, [kept], "Ben", sending="mark of the form") not in numbers, "each sender's own"
    assert cases.hand_in(sessions, [kept], "Ada", sending="another mark") not in numbers
    other = captures.keep(tmp_path, io.BytesIO(b"another drive"), "b.log")
    with pytest.raises(UsageError, match=f"belongs to case {numbers[0]}"):
        cases.hand_in(sessions, [other], "Ada", sending="mark of the form")


def test_each_case_is_claimed_once(sessions: Sessions, tmp_path: Path) -> None:
    kept = captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")
    numbers = [cases.hand_in(sessions, [kept], "Ada") for _ in range(3)]
    if sessions.kw["bind"].dialect.name == "sqlite":  # one program there, whose threads ask one after another
        claimed = [cases.claim(sessions) for _ in range(MANY)]
    else:
        claimed = at_once(lambda _: cases.claim(sessions))
    assert sorted(case.id for case in claimed if case is not None) == numbers


def test_reviews_and_checks_sent_twice_stand_once(sessions: Sessions, tmp_path: Path) -> None:
    number = cases.hand_in(sessions, [captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")], "Ada")
    cases.finish(sessions, number, RESULT)
    for _ in range(2):
        cases.review(sessions, number, "Ada", "agree", "")
        cases.tick(sessions, number, "Ada", "a", CHECK["text"], "confirmed")
    cases.tick(sessions, number, "Ada", "a", CHECK["text"], "undone")
    cases.tick(sessions, number, "Ada", "a", CHECK["text"], "confirmed")
    found = cases.get(sessions, number)
    assert found is not None
    assert [one.kind for one in found.reviews] == ["agree"]
    assert [one.outcome for one in found.ticks] == ["confirmed", "undone", "confirmed"]


def test_clicks_of_a_trainee_at_once_are_all_kept_and_one_answer_counts(sessions: Sessions) -> None:
    exercise = lessons.make(sessions, "Ada", "One", "", {"canned": "x"}, {"fault": "a"})
    lessons.prepared(sessions, exercise, [f"view {k}" for k in range(MANY)], RESULT)
    lesson = lessons.lesson(sessions, lessons.compose(sessions, "Ada", "First day", [exercise]))
    assert lesson is not None
    begun = at_once(lambda _: lessons.begin(sessions, lesson.id, exercise, "Ben"))
    assert len(set(begun)) == count(sessions, Attempt) == 1
    at_once(lambda k: lessons.see(sessions, begun[0], f"view {k}"))
    seen = lessons.attempt(sessions, begun[0])
    assert seen is not None
    assert sorted(seen.seen) == sorted(f"view {k}" for k in range(MANY))

    def answer(k: int) -> bool:
        try:
            lessons.commit(sessions, begun[0], {"ranking": [str(k)]}, {"sum": k})
        except UsageError:
            return False
        return True

    assert sum(at_once(answer)) == 1


def test_a_clock_that_jumps_changes_neither_order_nor_what_is_kept(
    sessions: Sessions, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept = captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")
    first = cases.hand_in(sessions, [kept], "Ada", vehicle="van 7")
    back = datetime.now(UTC) - timedelta(days=400)
    monkeypatch.setattr("logan.store.database.datetime", SimpleNamespace(now=lambda _zone: back))
    second = cases.hand_in(sessions, [kept], "Ada", vehicle="van 7")
    assert [one.id for one in cases.find(sessions)] == [second, first]
    assert cases.find(sessions, until=f"{back:%Y-%m-%d}")[0].id == second
    claimed = cases.claim(sessions)
    assert claimed is not None
    assert claimed.id == first
    cases.finish(sessions, first, RESULT)
    assert [deed.by for deed in cases.trail(sessions, first)] == ["Ada", "logan"]
    people.add(sessions, "Ada", "lead", "a long enough password")
    shown = people.give_pass(sessions, "Ada", "browser")
    monkeypatch.setattr(people, "now", lambda: "2999-01-01T00:00:00.000+00:00")
    assert people.holder(sessions, shown, "browser") is None, "a clock far ahead ends what has a time limit"


def test_what_json_can_hold_comes_back(sessions: Sessions, tmp_path: Path) -> None:
    kept = captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")
    number = cases.hand_in(sessions, [kept], "Ä漢😀", vehicle="'; DROP TABLE cases; --")
    result = {**RESULT, "odd": ["\x00", "\ud800", "😀", 1e-300, 2**53]}
    cases.finish(sessions, number, json.loads(json.dumps(result)))
    found = cases.get(sessions, number)
    assert found is not None
    assert found.result == result
    cases.finish(sessions, number, None, "line of the log \x00 is no number")
    assert cases.find(sessions, words="'; DROP TABLE")[0].id == number


@pytest.mark.skipif("LOGAN_TEST_DATABASE" not in os.environ, reason="no PostgreSQL data base is named to test on")
def test_postgresql_of_version_1_is_brought_up(sessions: Sessions, tmp_path: Path, database: str) -> None:
    number = cases.hand_in(sessions, [captures.keep(tmp_path, io.BytesIO(b"bytes"), "a.log")], "Ada")
    cases.finish(sessions, number, RESULT)
    with sessions.kw["bind"].begin() as connection:  # what came after version 1, taken away
        for line in (
            "ALTER TABLE cases DROP COLUMN vin", "ALTER TABLE cases DROP COLUMN sending", "DROP TABLE schema_version",
            "ALTER TABLE exercises DROP COLUMN withdrawn", "ALTER TABLE lessons DROP COLUMN withdrawn",
        ):  # fmt: skip
            connection.execute(sa.text(line))
    at_once(lambda _: opened(tmp_path, database))
    found = cases.get(opened(tmp_path, database), number)
    assert found is not None
    assert found.vin == "V" * 17
    with sessions.kw["bind"].begin() as connection:
        assert connection.scalar(sa.select(migrations.VERSION.c.number)) == migrations.PRESENT
