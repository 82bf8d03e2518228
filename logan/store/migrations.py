"""The versions of the tables: an older data base is brought up to this one in one step, a newer one is refused.

A change of the tables is one more function in ``STEPS``; what a step does, it writes out in terms of its own time and
does not use the classes of ``database``, which are those of today.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import sqlalchemy as sa

from logan.errors import UsageError

VERSION: Final = sa.Table("schema_version", sa.MetaData(), sa.Column("number", sa.Integer, nullable=False))
"""One row. The first tables had none."""
_LOCK: Final = 0x10A6A4
"""Any number, the same for every logan."""


def _vehicle_and_sending(connection: sa.Connection) -> None:
    """1 to 2: the identification number of a case's vehicle, and the mark of the form or device that handed it in."""
    for line in (
        "ALTER TABLE cases ADD COLUMN vin VARCHAR(40) NOT NULL DEFAULT ''",
        "CREATE INDEX ix_cases_vin ON cases (vin)",
        "ALTER TABLE cases ADD COLUMN sending VARCHAR(64)",
        "CREATE UNIQUE INDEX ix_cases_sending ON cases (sending)",
    ):
        connection.execute(sa.text(line))
    table = sa.table("cases", sa.column("id"), sa.column("vin"), sa.column("result", sa.JSON))
    for number in connection.scalars(sa.select(table.c.id)).all():
        result = connection.scalar(sa.select(table.c.result).where(table.c.id == number)) or {}
        vin = (result.get("vehicle") or {}).get("vin") or ""
        connection.execute(sa.update(table).where(table.c.id == number).values(vin=vin[:40]))


def _withdrawn(connection: sa.Connection) -> None:
    """2 to 3: since when an exercise or a lesson is withdrawn."""
    for table in ("exercises", "lessons"):
        connection.execute(sa.text(f"ALTER TABLE {table} ADD COLUMN withdrawn VARCHAR(32)"))


STEPS: Final[tuple[Callable[[sa.Connection], None], ...]] = (_vehicle_and_sending, _withdrawn)
"""Each takes the tables from one version to the next, the first from 1 to 2."""
PRESENT: Final = 1 + len(STEPS)


def bring_up(engine: sa.Engine, present: sa.MetaData) -> None:
    """Make the tables where there are none, else bring them to the version of this program: wholly or not at all.

    Parameters
    ----------
    present : the tables of this program

    Raises
    ------
    UsageError : the data base was made by a newer program, or its tables are none of ours
    """
    with engine.begin() as connection:
        _alone(connection)
        found = _version(connection)
        if found > PRESENT:
            raise UsageError(
                f"the data base was made by a newer logan (its tables are version {found}, this one knows {PRESENT})",
                do="install that logan again; nothing was changed",
            )
        if found == PRESENT:
            return
        if found:
            for step in STEPS[found - 1 :]:
                step(connection)
        else:
            present.create_all(connection)
        VERSION.create(connection, checkfirst=True)
        connection.execute(sa.delete(VERSION))
        connection.execute(sa.insert(VERSION).values(number=PRESENT))


def _alone(connection: sa.Connection) -> None:
    """Hold off any other program that opens the same data base until this transaction ends."""
    if connection.dialect.name == "sqlite":
        # Python's driver begins no transaction by itself before a change of tables
        connection.exec_driver_sql("BEGIN IMMEDIATE")
    elif connection.dialect.name == "postgresql":
        connection.execute(sa.text("SELECT pg_advisory_xact_lock(:number)"), {"number": _LOCK})


def _version(connection: sa.Connection) -> int:
    """The version of the tables that are there; 0 for none at all."""
    there = set(sa.inspect(connection).get_table_names())
    if VERSION.name in there:
        return int(connection.execute(sa.select(VERSION.c.number)).scalar_one())
    if not there:
        return 0
    if {"people", "cases", "deeds"} <= there:
        return 1
    raise UsageError("the data base holds tables of another program", do="name an empty one with --database")
