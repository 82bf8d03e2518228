"""python-can's reader of a data base of SQLite, which takes columns by their order, with its columns by their names."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from typing import Final

import can

from logan.capture.sqlite_columns import NAMES

_LONGEST_BYTES: Final = 1 << 13
_ALL: Final = "SELECT * FROM messages"
_BY_NAME: Final = "SELECT ts, arbitration_id, extended, remote, error, dlc, data FROM messages"


class SqliteReader(can.SqliteReader):
    """python-can's reader; columns go by their names where all seven are there, else by their order.

    Whole numbers in a column of floating-point numbers stay whole. Cells longer than any frame are refused: many rows
    may share the pages of one that is as long as the file.
    """

    def __iter__(self) -> Iterator[can.Message]:  # type: ignore[override]
        """All messages.

        Raises
        ------
        sqlite3.Error, ValueError : the data base is damaged, or its table has another number of columns
        """
        self._conn.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST_BYTES)
        every = self._cursor.execute(f"{_ALL} LIMIT 0").description
        is_named = {*NAMES} <= {name.lower() for name, *_ in every}
        for time, *numbers, data in self._cursor.execute(_BY_NAME if is_named else _ALL):
            yield self._assemble_message((time, *map(_whole, numbers), data))


def _whole(number: object) -> object:
    return int(number) if isinstance(number, float) and number.is_integer() else number
