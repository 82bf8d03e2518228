"""The tables, and how the data base is opened."""

from __future__ import annotations

import sqlite3
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Final

import sqlalchemy as sa
from sqlalchemy.orm import DeclarativeBase, Mapped, Session, mapped_column, relationship, sessionmaker

from logan.errors import OutputError, UsageError
from logan.store import migrations

Sessions = sessionmaker[Session]
KEPT_OPEN = 20
"""Connections that stay open; twice as many at most, which the web server's 40 threads may need."""

WAIT_S: Final = 10
"""How long an SQLite data base that another program is writing is waited for."""
BUSY: Final = (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED)


def now() -> str:
    """This moment in UTC, ISO 8601, which sorts as text."""
    return datetime.now(UTC).isoformat(timespec="milliseconds")


class Base(DeclarativeBase):
    """All tables."""

    type_annotation_map = {list[str]: sa.JSON, dict[str, Any]: sa.JSON}  # noqa: RUF012 (SQLAlchemy's own shape)


class Person(Base):
    """Somebody with an account."""

    __tablename__ = "people"
    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(sa.String(80), unique=True)
    role: Mapped[str] = mapped_column(sa.String(20))
    password: Mapped[str] = mapped_column(sa.String(200))
    made: Mapped[str] = mapped_column(sa.String(32), default=now)


class Pass(Base):
    """A signed-in browser or a recording device; only the hash of what it shows is kept."""

    __tablename__ = "passes"
    hash: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    person_id: Mapped[int] = mapped_column(sa.ForeignKey("people.id"))
    kind: Mapped[str] = mapped_column(sa.String(10))
    until: Mapped[str | None] = mapped_column(sa.String(32))
    person: Mapped[Person] = relationship(lazy="joined")


class StoredFile(Base):
    """The bytes of one capture; the same bytes twice are one file."""

    __tablename__ = "files"
    sha256: Mapped[str] = mapped_column(sa.String(64), primary_key=True)
    size: Mapped[int]
    made: Mapped[str] = mapped_column(sa.String(32), default=now)


class Case(Base):
    """One road test that was handed in, and what its analysis gave.

    ``sending`` is the hash of the sender's mark for one sending, so that the same one sent again is no second case.
    """

    __tablename__ = "cases"
    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now, index=True)
    by: Mapped[str] = mapped_column(sa.String(80))
    vehicle: Mapped[str] = mapped_column(sa.String(80), default="", index=True)
    engine: Mapped[str | None] = mapped_column(sa.String(80))
    work: Mapped[list[str]]
    complaints: Mapped[list[str]]
    state: Mapped[str] = mapped_column(sa.String(10), default="waiting", index=True)
    attempts: Mapped[int] = mapped_column(default=0)
    trouble: Mapped[str] = mapped_column(sa.Text, default="")
    sentence: Mapped[str] = mapped_column(sa.Text, default="")
    fault: Mapped[str] = mapped_column(sa.String(80), default="", index=True)
    vin: Mapped[str] = mapped_column(sa.String(40), default="", server_default="", index=True)
    sending: Mapped[str | None] = mapped_column(sa.String(64), unique=True, index=True)
    result: Mapped[dict[str, Any] | None]
    files: Mapped[list[CaseFile]] = relationship(lazy="selectin", order_by="CaseFile.place")
    reviews: Mapped[list[Review]] = relationship(lazy="selectin", order_by="Review.id")
    ticks: Mapped[list[Tick]] = relationship(lazy="selectin", order_by="Tick.id")


class CaseFile(Base):
    """A file of a case under the name that it had where it came from."""

    __tablename__ = "case_files"
    case_id: Mapped[int] = mapped_column(sa.ForeignKey("cases.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    sha256: Mapped[str] = mapped_column(sa.ForeignKey("files.sha256"))
    name: Mapped[str] = mapped_column(sa.String(200))


class Review(Base):
    """A verdict of the lead or a note; later ones never replace earlier ones."""

    __tablename__ = "reviews"
    id: Mapped[int] = mapped_column(primary_key=True)
    case_id: Mapped[int] = mapped_column(sa.ForeignKey("cases.id"), index=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    by: Mapped[str] = mapped_column(sa.String(80))
    kind: Mapped[str] = mapped_column(sa.String(20))
    text: Mapped[str] = mapped_column(sa.Text, default="")


class Tick(Base):
    """A check that was made on the vehicle and how it came out; the last outcome of one check counts."""

    __tablename__ = "ticks"
    id: Mapped[int] = mapped_column(primary_key=True)
    case_id: Mapped[int] = mapped_column(sa.ForeignKey("cases.id"), index=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    by: Mapped[str] = mapped_column(sa.String(80))
    fault: Mapped[str] = mapped_column(sa.String(80))
    text: Mapped[str] = mapped_column(sa.Text)
    outcome: Mapped[str] = mapped_column(sa.String(10))


class Deed(Base):
    """Who did what and when; rows are only ever added."""

    __tablename__ = "deeds"
    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    by: Mapped[str] = mapped_column(sa.String(80))
    what: Mapped[str] = mapped_column(sa.Text)
    case_id: Mapped[int | None] = mapped_column(sa.ForeignKey("cases.id"), index=True)


class Exercise(Base):
    """A record whose truth is known, with its verdict hidden from trainees.

    ``source`` says what it is made from: ``{"canned": name}``, ``{"made": keywords of simulate.make_spec}`` or
    ``{"case": number}``; ``truth`` holds fault, cylinder and words; ``views`` are those that this record has;
    ``withdrawn`` since when nobody begins it any more.
    """

    __tablename__ = "exercises"
    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    by: Mapped[str] = mapped_column(sa.String(80))
    title: Mapped[str] = mapped_column(sa.String(120))
    story: Mapped[str] = mapped_column(sa.Text, default="")
    source: Mapped[dict[str, Any]]
    truth: Mapped[dict[str, Any]]
    state: Mapped[str] = mapped_column(sa.String(10), default="waiting", index=True)
    trouble: Mapped[str] = mapped_column(sa.Text, default="")
    views: Mapped[list[str]]
    result: Mapped[dict[str, Any] | None]
    withdrawn: Mapped[str | None] = mapped_column(sa.String(32))


class Lesson(Base):
    """Exercises in an order, under a link that a class gets."""

    __tablename__ = "lessons"
    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    by: Mapped[str] = mapped_column(sa.String(80))
    title: Mapped[str] = mapped_column(sa.String(120))
    link: Mapped[str] = mapped_column(sa.String(24), unique=True)
    withdrawn: Mapped[str | None] = mapped_column(sa.String(32))
    items: Mapped[list[LessonItem]] = relationship(lazy="selectin", order_by="LessonItem.place")


class LessonItem(Base):
    """An exercise at its place in a lesson."""

    __tablename__ = "lesson_items"
    lesson_id: Mapped[int] = mapped_column(sa.ForeignKey("lessons.id"), primary_key=True)
    place: Mapped[int] = mapped_column(primary_key=True)
    exercise_id: Mapped[int] = mapped_column(sa.ForeignKey("exercises.id"))
    exercise: Mapped[Exercise] = relationship(lazy="joined")


class Attempt(Base):
    """One trainee at one exercise of a lesson: what was asked to be seen, in order, and the answer."""

    __tablename__ = "attempts"
    __table_args__ = (sa.UniqueConstraint("lesson_id", "exercise_id", "who"),)
    id: Mapped[int] = mapped_column(primary_key=True)
    made: Mapped[str] = mapped_column(sa.String(32), default=now)
    stepped: Mapped[str] = mapped_column(sa.String(32), default=now)
    lesson_id: Mapped[int] = mapped_column(sa.ForeignKey("lessons.id"), index=True)
    exercise_id: Mapped[int] = mapped_column(sa.ForeignKey("exercises.id"))
    who: Mapped[str] = mapped_column(sa.String(80))
    seen: Mapped[list[str]]
    answer: Mapped[dict[str, Any] | None]
    score: Mapped[dict[str, Any] | None]
    exercise: Mapped[Exercise] = relationship(lazy="joined")
    lesson: Mapped[Lesson] = relationship(lazy="joined")


FILE: Final = "workshop.sqlite3"


def there(folder: Path, url: str | None = None) -> bool:
    """Whether there is a data base, without making one; a server's is taken to be there until it is opened."""
    if url is None:
        return (folder / FILE).is_file()
    try:
        named = sa.make_url(url)
    except sa.exc.ArgumentError:
        return True  # opening it says what is wrong
    if named.get_backend_name() != "sqlite" or not named.database or named.database == ":memory:":
        return True
    return named.database.startswith("file:") or Path(named.database).is_file()


def make_folder(folder: Path) -> None:
    """Make a data folder, for nobody else to read, where there is none.

    Raises
    ------
    OutputError : it cannot be made
    """
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    except OSError as error:
        raise OutputError("the data folder cannot be made", file=str(folder), do="name another with --data") from error


def opened(folder: Path, url: str | None = None) -> Sessions:
    """Open the data base of a data folder, or the one that a URL names; its tables are made or brought up to date.

    The folder is made where the data base lies in it.

    Raises
    ------
    OutputError : the folder cannot be made
    UsageError : the data base cannot be opened, or a newer program made it
    """
    if url is None:
        make_folder(folder)
    try:
        engine = sa.create_engine(
            url or f"sqlite:///{folder / FILE}",
            pool_size=KEPT_OPEN,
            max_overflow=KEPT_OPEN,
            pool_pre_ping=True,  # a connection that the data base has dropped is replaced before anybody sees it
        )
        if engine.dialect.name == "sqlite":
            sa.event.listen(engine, "connect", _sqlite)
        migrations.bring_up(engine, Base.metadata)
    except (sa.exc.SQLAlchemyError, ModuleNotFoundError) as error:
        why = str(error).splitlines()[0]
        raise UsageError(f"the data base cannot be opened: {why}", do="check --data and --database") from error
    return sessionmaker(engine, expire_on_commit=False)


def _sqlite(connection: Any, _record: object) -> None:
    """Readers do not wait for a writer, references hold, and what was committed survives a power cut."""
    for line in (f"busy_timeout={1000 * WAIT_S}", "foreign_keys=ON", "synchronous=FULL"):
        connection.execute(f"PRAGMA {line}")
    give_up = time.monotonic() + WAIT_S
    while True:
        try:
            connection.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            # another is just doing the same; SQLite does not wait by itself in this one
            if error.sqlite_errorcode & 0xFF not in BUSY or time.monotonic() > give_up:
                raise
            time.sleep(0.01)
        else:
            return
