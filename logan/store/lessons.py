"""The training room kept: exercises, lessons, and how far each trainee is."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy.orm import Session

from logan.errors import UsageError
from logan.store.cases import note
from logan.store.database import Attempt, Exercise, Lesson, LessonItem, Sessions, now

GOOD_ENGINE: Final = "no_fault"
"""What stands for "nothing is wrong" in an answer and in a truth."""
LONGEST: Final = 120
EXERCISE: Final = "exercise"
LESSON: Final = "lesson"


def make(sessions: Sessions, by: str, title: str, story: str, source: dict[str, Any], truth: dict[str, Any]) -> int:
    """Enter an exercise that waits for its preparation; its number."""
    with sessions.begin() as session:
        exercise = Exercise(by=by, title=_named(title, "exercise"), story=story, source=source, truth=truth, views=[])
        session.add(exercise)
        session.flush()
        note(session, by, f"made training exercise {exercise.id}")
        return exercise.id


def prepared(
    sessions: Sessions, exercise_id: int, views: Sequence[str], result: dict[str, Any] | None, trouble: str = ""
) -> None:
    """Keep what the preparation of an exercise gave."""
    with sessions.begin() as session:
        exercise = session.get_one(Exercise, exercise_id)
        exercise.state = "failed" if trouble else "done"
        exercise.views, exercise.result, exercise.trouble = list(views), result, trouble


def exercises(sessions: Sessions, state: str = "") -> list[Exercise]:
    """All exercises, the newest first, or those of one state."""
    query = sa.select(Exercise).order_by(Exercise.id.desc())
    with sessions() as session:
        return list(session.scalars(query.where(Exercise.state == state) if state else query))


def exercise(sessions: Sessions, exercise_id: int) -> Exercise | None:
    """One exercise."""
    with sessions() as session:
        return session.get(Exercise, exercise_id)


def cases_behind(sessions: Sessions) -> set[int]:
    """Numbers of the cases that exercises are made from which stand open, or which somebody has still to answer."""
    begun = sa.select(Attempt.exercise_id).where(Attempt.answer.is_(None))
    with sessions() as session:
        open_ = sa.or_(Exercise.withdrawn.is_(None), Exercise.id.in_(begun))
        sources = session.scalars(sa.select(Exercise.source).where(open_))
        return {source["case"] for source in sources if "case" in source}


def rename(sessions: Sessions, by: str, kind: str, number: int, title: str) -> None:
    """Give an exercise or a lesson (``kind``: ``EXERCISE`` or ``LESSON``) another title.

    Raises
    ------
    UsageError : no title, or one that is too long
    """
    with sessions.begin() as session:
        found = _either(session, kind, number)
        old, found.title = found.title, _named(title, kind)
        if found.title != old:
            note(session, by, f"renamed training {kind} {number}, which was {old!r}")


def withdraw(sessions: Sessions, by: str, kind: str, number: int, away: bool) -> None:
    """Withdraw an exercise or a lesson, or take it up again; what was done in it stays."""
    with sessions.begin() as session:
        found = _either(session, kind, number)
        if (found.withdrawn is not None) != away:
            found.withdrawn = now() if away else None
            note(session, by, f"{'withdrew' if away else 'took up again'} training {kind} {number}")


def compose(sessions: Sessions, by: str, title: str, chosen: Sequence[int]) -> str:
    """Make a lesson of exercises in that order; its link.

    Raises
    ------
    UsageError : no exercise, one that is not there, no title
    """
    unique = list(dict.fromkeys(chosen))
    with sessions.begin() as session:
        ready = sa.select(Exercise.id).where(Exercise.state == "done", Exercise.withdrawn.is_(None))
        found = set(session.scalars(ready.where(Exercise.id.in_(unique))))
        if not unique or found != set(unique):
            raise UsageError("a lesson needs exercises that are ready", do="choose at least one that is ready")
        lesson = Lesson(by=by, title=_named(title, "lesson"), link=secrets.token_urlsafe(12))
        lesson.items = [LessonItem(place=k, exercise_id=number) for k, number in enumerate(unique)]
        session.add(lesson)
        session.flush()
        note(session, by, f"composed training lesson {lesson.id}")
        return lesson.link


def lessons(sessions: Sessions) -> list[Lesson]:
    """All lessons, the newest first."""
    with sessions() as session:
        return list(session.scalars(sa.select(Lesson).order_by(Lesson.id.desc())))


def lesson(sessions: Sessions, link: str) -> Lesson | None:
    """The lesson of a link."""
    with sessions() as session:
        return session.scalars(sa.select(Lesson).where(Lesson.link == link)).first()


def attempts(sessions: Sessions, lesson_id: int) -> list[Attempt]:
    """All attempts at a lesson's exercises, by name."""
    with sessions() as session:
        return list(
            session.scalars(sa.select(Attempt).where(Attempt.lesson_id == lesson_id).order_by(Attempt.who, Attempt.id))
        )


def begin(sessions: Sessions, lesson_id: int, exercise_id: int, who: str) -> int:
    """The attempt of a trainee at an exercise, begun where there is none yet; its number.

    Raises
    ------
    UsageError : it is not begun yet, and the exercise or the lesson has been withdrawn
    """
    mine = sa.select(Attempt.id).where(
        Attempt.lesson_id == lesson_id, Attempt.exercise_id == exercise_id, Attempt.who == who
    )
    try:
        with sessions.begin() as session:
            found = session.scalars(mine).first()
            if found is None:
                if session.get_one(Exercise, exercise_id).withdrawn or session.get_one(Lesson, lesson_id).withdrawn:
                    raise UsageError("this has been withdrawn and is not begun any more", do="ask your trainer")
                attempt = Attempt(lesson_id=lesson_id, exercise_id=exercise_id, who=who, seen=[])
                session.add(attempt)
                session.flush()
                found = attempt.id
            return found
    except sa.exc.IntegrityError:  # begun twice at once: the other one stands
        with sessions() as session:
            return session.scalars(mine).one()


def attempt(sessions: Sessions, attempt_id: int) -> Attempt | None:
    """One attempt with its exercise and lesson."""
    with sessions() as session:
        return session.get(Attempt, attempt_id)


def see(sessions: Sessions, attempt_id: int, view: str) -> None:
    """A trainee asks to see a part of the record; asking again costs nothing, after the answer neither."""
    with sessions.begin() as session:
        found = _held(session, attempt_id)
        if view not in found.seen and found.answer is None:
            found.seen = [*found.seen, view]
            found.stepped = now()


def commit(sessions: Sessions, attempt_id: int, answer: dict[str, Any], score: dict[str, Any]) -> None:
    """Keep the answer of a trainee.

    Raises
    ------
    UsageError : there is an answer already
    """
    with sessions.begin() as session:
        found = _held(session, attempt_id)
        if found.answer is not None:
            raise UsageError("this exercise has been answered already", do="go on with the next one")
        found.answer, found.score, found.stepped = answer, score, now()


def _held(session: Session, attempt_id: int) -> Attempt:
    """An attempt that nobody else changes until this transaction ends: a write holds it on every data base."""
    session.execute(sa.update(Attempt).where(Attempt.id == attempt_id).values(stepped=Attempt.stepped))
    return session.get_one(Attempt, attempt_id)


def _either(session: Session, kind: str, number: int) -> Exercise | Lesson:
    return session.get_one(Exercise, number) if kind == EXERCISE else session.get_one(Lesson, number)


def _named(title: str, what: str) -> str:
    if not title.strip() or len(title) > LONGEST:
        raise UsageError(f"the {what} has no title or one that is too long", do=f"use 1 to {LONGEST} characters")
    return title.strip()
