"""python-can's table of frames in a data base of SQLite by whole columns, where all of its rows are ordinary.

The library hands over the data base as it stands, its pages whole; the rows are read out of the pages, all at once.

Source: SQLite, "Database File Format", chapters 1.6 (B-tree Pages) and 2.1 (Record Format).
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from logan.capture import hexwords
from logan.capture.can_columns import CanBlock, CanColumns, nanoseconds
from logan.capture.can_text_plain import LATEST_S
from logan.dsp.grouping import distinct
from logan.model.frames import ERROR, EXTENDED, REMOTE

NAMES: Final = ("ts", "arbitration_id", "extended", "remote", "error", "dlc", "data")
"""Columns of python-can's table, in its order."""
_COLUMNS: Final = len(NAMES)
_WIDTH: Final = 8
_DEEPEST: Final = 20
_LEAF, _INTERIOR = 13, 5
_LEAF_HEAD, _INTERIOR_HEAD = 8, 12
_ONE_BYTE: Final = 0x7F
_LONGEST_NUMBER: Final = 9
_SIZES: Final = np.array([0, 1, 2, 3, 4, 6, 8, 8, 0, 0])
"""Bytes of a value by serial type: NULL, integers, the largest of eight bytes, a float, the constants 0 and 1."""
_FLOAT, _ONE, _BLOB = 7, 9, 12
_LONGEST_CELL: Final = 2 * _LONGEST_NUMBER + _ONE_BYTE
_LEAST_ROW_BYTES: Final = 4
"""Place in its page, length and number of a row at least (SQLite's file format)."""
_LEAST_FRAME_BYTES: Final = _LEAST_ROW_BYTES + 1 + _COLUMNS
"""The same with the kinds of all columns."""

Numbers = NDArray[np.int64]


def read_only(path: Path) -> sqlite3.Connection:
    """Open for reading alone: else closing it would write into the capture what its journal still holds."""
    return sqlite3.connect(f"{path.resolve().as_uri()}?mode=ro", uri=True)


def is_stored(path: Path) -> bool:
    """Whether the rows stand in the file: a view or a computed column can make them without end out of nothing.

    A file that is too damaged to tell counts as one whose rows do.
    """
    try:
        with closing(read_only(path)) as base:
            roots = base.execute("SELECT rootpage FROM sqlite_master WHERE lower(name) = 'messages'").fetchall()
            hidden = base.execute("SELECT 1 FROM pragma_table_xinfo('messages') WHERE hidden").fetchall()
    except (sqlite3.Error, TypeError, ValueError):
        return True
    return all(root for (root,) in roots) and not hidden


def most_rows(path: Path) -> int:
    """How many rows a file of its size and its journal can hold; pages that lead back to each other would give more."""
    parts = (path, path.with_name(f"{path.name}-wal"))
    return sum(part.stat().st_size for part in parts if part.exists()) // _LEAST_ROW_BYTES


def columns(path: Path) -> CanColumns | None:
    """All frames; None where a row is odd or the data base damaged, for python-can to make of it what it can.

    The columns go by their order, as in python-can: time, identifier, 29 bits, remote, error, length, data. Where
    the names say another order, they go by their names, which is left to the reader of single rows.
    """
    try:
        with closing(read_only(path)) as base:
            kept_as = base.execute("SELECT rootpage FROM sqlite_master WHERE type = 'table' AND name = 'messages'")
            (root,) = kept_as.fetchone()
            names = [name.lower() for name, *_ in base.execute("SELECT * FROM messages LIMIT 0").description]
            if len(names) != _COLUMNS or ({*names} == {*NAMES} and names != [*NAMES]):
                return None
            (page_bytes,) = base.execute("PRAGMA page_size").fetchone()
            content = base.serialize()
    except (sqlite3.Error, TypeError, ValueError, AttributeError):
        # no such table, names that are no text, a library without that function
        return None
    rows = _Rows(content, page_bytes)
    cells = rows.cells(root - 1)
    block = None if cells is None else rows.block(cells)
    if block is None:
        return None
    out = CanColumns()
    out.bus(b"")
    out.append(block)
    return out


class _Rows:
    """The pages of a data base, and the rows in them.

    Parameters
    ----------
    content : all pages
    page_bytes : size of each
    """

    def __init__(self, content: bytes, page_bytes: int) -> None:
        self._bytes = np.frombuffer(content + bytes(_LONGEST_CELL), np.uint8)
        self._page_bytes = page_bytes
        self._pages = len(content) // page_bytes
        self._word, self._half, self._quarter = (self._numbers(kind) for kind in (">u8", ">u4", ">u2"))

    def _numbers(self, kind: str) -> NDArray[Any]:
        """The number that begins at each byte, without a copy."""
        return np.ndarray((len(self._bytes) - _WIDTH,), kind, self._bytes, strides=(1,))

    def cells(self, root: int) -> Numbers | None:
        """Where each row of a table begins, in their order; None where its pages are no tree."""
        level = np.array([root])
        for _ in range(_DEEPEST):
            if not len(level) or len(level) > self._pages or level.min() < 0 or level.max() >= self._pages:
                return None
            kinds = self._bytes[level * self._page_bytes]
            if (kinds == _LEAF).all():
                return self._cells_of(level, _LEAF_HEAD)
            if not (kinds == _INTERIOR).all():
                return None
            cells = self._cells_of(level, _INTERIOR_HEAD)
            if cells is None:
                return None
            children = self._half[cells]
            last = self._half[level * self._page_bytes + _LEAF_HEAD]  # the right-most child stands in the page's head
            level = np.insert(children, np.cumsum(self._count(level, _INTERIOR_HEAD)), last).astype(np.int64) - 1
        return None

    def _count(self, pages: Numbers, head: int) -> Numbers:
        """How many cells there are in each of some pages, as far as their places can stand in it."""
        return np.minimum(self._quarter[pages * self._page_bytes + 3].astype(np.int64), (self._page_bytes - head) // 2)

    def _cells_of(self, pages: Numbers, head: int) -> Numbers | None:
        """Where each cell of some pages begins, by the places behind their heads; None where no file holds so many."""
        count = self._count(pages, head)
        if count.sum() * _LEAST_FRAME_BYTES > len(self._bytes):  # pages that lead back to each other
            return None
        begin = np.repeat(pages * self._page_bytes, count)
        nth = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count)
        begin += np.minimum(self._quarter[begin + head + 2 * nth], self._page_bytes - 1)
        return begin

    def block(self, cells: Numbers) -> CanBlock | None:
        """The rows that begin there as frames; None where one is odd."""
        if not len(cells):
            return None
        at = cells + 1 + self._number_bytes(cells + 1)  # behind the payload's size and the row's number
        head = self._word[at].astype(np.uint64)
        heads = distinct(head)
        which = np.searchsorted(heads, head)
        head_bytes, *kind = heads.astype(">u8").view(np.uint8).reshape(-1, 1 + _COLUMNS).astype(np.int64).T
        size = np.array([np.where(k < _BLOB, _SIZES[np.minimum(k, _ONE)], (k - _BLOB) >> 1) for k in kind])
        is_odd = (head_bytes != 1 + _COLUMNS) | (kind[-1] < _BLOB) | (kind[-1] & 1 == 1) | (size[-1] > _WIDTH)
        for k, one in enumerate(kind[:-1]):
            is_odd |= (one == 0) | (one > _ONE) | (one == _FLOAT) & (k > 0)
        payload = (1 + _COLUMNS + size.sum(axis=0))[which]
        if is_odd.any() or (self._bytes[cells] != payload).any():  # which is below 128, and so one byte
            return None
        if (cells % self._page_bytes + at - cells + payload > self._page_bytes).any():
            return None
        begin = 1 + _COLUMNS + np.cumsum(size, axis=0) - size

        def integers(k: int) -> Numbers:
            constant: Numbers = (kind[k] == _ONE).astype(np.int64)[which]
            if not size[k].any():
                return constant
            words = self._word[at + begin[k][which]].astype(np.uint64).view(np.int64)
            whole: Numbers = np.where((size[k] == 0)[which], constant, words >> np.minimum(64 - 8 * size[k], 63)[which])
            return whole

        t_s = integers(0).astype(np.float64)
        if (kind[0] == _FLOAT).any():
            floats = self._word[at + begin[0][which]].astype(np.uint64).view(np.float64)
            t_s = np.where((kind[0] == _FLOAT)[which], floats, t_s)
        words = hexwords.view(self._bytes)[at + begin[-1][which]] & hexwords.low_bytes(size[-1])[which]
        return _block(t_s, [integers(k) for k in range(1, _COLUMNS - 1)], size[-1][which], words)

    def _number_bytes(self, at: Numbers) -> Numbers:
        """Bytes that numbers of variable length take: all but the last one have the highest bit set."""
        out, goes_on = np.ones(len(at), np.int64), np.ones(len(at), bool)
        for k in range(_LONGEST_NUMBER - 1):
            goes_on &= self._bytes[at + k] > _ONE_BYTE
            if not goes_on.any():
                break
            out += goes_on
        return out


def _block(t_s: NDArray[np.float64], numbers: list[Numbers], size: Numbers, words: NDArray[Any]) -> CanBlock | None:
    """Frames out of columns; None where one is odd."""
    can_id, extended, remote, error, length = numbers
    is_long, is_remote, is_error = extended != 0, remote != 0, error != 0
    if (
        not (np.abs(t_s) < LATEST_S).all()
        or ((can_id < 0) | (can_id > np.where(is_long, 0x1FFFFFFF, 0x7FF))).any()
        or ((length < 0) | (size != length) & ~is_remote & ~is_error).any()
    ):
        return None
    block = CanBlock(len(t_s))
    block.kept[:] = True
    block.t_ns[:] = nanoseconds(t_s)
    block.can_id[:] = can_id
    block.flags[:] = np.where(is_error, ERROR, np.where(is_long, EXTENDED, 0) | np.where(is_remote, REMOTE, 0))
    block.length[:] = np.where(is_remote, np.minimum(length, _WIDTH), size)
    block.data[:] = np.where(is_remote, np.uint64(0), words)
    return block
