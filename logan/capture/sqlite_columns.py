"""python-can's table of frames in a data base of SQLite by whole columns, where all of its rows are ordinary."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any, Final

import numpy as np

from logan.capture.can_columns import CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.model.frames import ERROR, EXTENDED, REMOTE

_ROWS_AT_ONCE: Final = 2000
_COLUMNS: Final = 7
_WIDTH: Final = 8
_LONGEST_BYTES: Final = 1 << 13
_LEAST_ROW_BYTES: Final = 4
"""Place in its page, length and number of a row at least (SQLite's file format)."""


def is_stored(path: Path) -> bool:
    """Whether the rows stand in the file: a view or a computed column can make them without end out of nothing.

    A file that is too damaged to tell counts as one whose rows do.
    """
    try:
        with closing(sqlite3.connect(path)) as base:
            roots = base.execute("SELECT rootpage FROM sqlite_master WHERE lower(name) = 'messages'").fetchall()
            hidden = base.execute("SELECT 1 FROM pragma_table_xinfo('messages') WHERE hidden").fetchall()
    except (sqlite3.Error, TypeError, ValueError):
        return True
    return all(root for (root,) in roots) and not hidden


def limit(base: sqlite3.Connection) -> None:
    """Refuse cells longer than any frame: many rows may share the pages of one that is as long as the file."""
    base.setlimit(sqlite3.SQLITE_LIMIT_LENGTH, _LONGEST_BYTES)


def most_rows(path: Path) -> int:
    """How many rows a file of that size can hold; pages that lead back to each other would give more."""
    return path.stat().st_size // _LEAST_ROW_BYTES


def columns(path: Path) -> CanColumns | None:
    """All frames; None where a row is odd or the data base damaged, for python-can to make of it what it can.

    The columns go by their order, as in python-can: time, identifier, 29 bits, remote, error, length, data.
    """
    out = CanColumns()
    out.bus(b"")
    try:
        with closing(sqlite3.connect(path)) as base:
            limit(base)
            found = base.execute("SELECT * FROM messages")
            if len(found.description) != _COLUMNS:
                return None
            left = most_rows(path)
            while rows := found.fetchmany(_ROWS_AT_ONCE):
                left -= len(rows)
                if left < 0:
                    return None
                block = _block(*zip(*rows, strict=True))
                if block is None:
                    return None
                out.append(block)
    except (sqlite3.Error, TypeError, ValueError):  # data that are no bytes, names or messages that are no text
        return None
    return out if out.rows else None


def _block(times: Sequence[Any], *others: Sequence[Any]) -> CanBlock | None:
    """Some rows; None where one is odd."""
    *cells, data = others
    t_s, *numbers = map(np.array, (times, *cells))
    if t_s.dtype.kind not in "fi" or any(column.dtype.kind != "i" for column in numbers):
        return None
    can_id, extended, remote, error, length = numbers
    whole = b"".join(data)
    size = np.fromiter(map(len, data), np.int64, len(data))
    extended, remote, error = extended != 0, remote != 0, error != 0
    if (
        not (np.abs(t_s.astype(np.float64)) < LATEST_S).all()
        or ((can_id < 0) | (can_id > np.where(extended, 0x1FFFFFFF, 0x7FF))).any()
        or ((length < 0) | (size > _WIDTH) | (size != length) & ~remote & ~error).any()
    ):
        return None
    block = CanBlock(len(t_s))
    block.kept[:] = True
    block.t_ns[:] = nanoseconds(t_s.astype(np.float64))
    block.can_id[:] = can_id
    block.flags[:] = np.where(error, ERROR, np.where(extended, EXTENDED, 0) | np.where(remote, REMOTE, 0))
    block.length[:] = np.where(remote, np.minimum(length, _WIDTH), size)
    padded = whole if (size == _WIDTH).all() else b"".join(one.ljust(_WIDTH, b"\0") for one in data)
    block.data[:] = np.where(remote, np.uint64(0), np.frombuffer(padded, "<u8"))
    return block
