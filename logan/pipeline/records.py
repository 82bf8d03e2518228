"""The records of a file as numbers that are equal where their content is."""

from __future__ import annotations

import zlib
from typing import Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.model.capture import Table
from logan.model.frames import ERROR, EXTENDED, REMOTE, Frames, FramesByKind, Payloads

Recorded = Frames | Payloads | Table
"""What can be recorded twice: other contents have no records of their own."""
Rows = NDArray[np.int64]
Times = NDArray[np.float64]
Words = NDArray[np.uint64]

_MIX: Final = (np.uint64(0x9E3779B97F4A7C15), np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB))  # odd
MARKS: Final = 65_536
"""So many records, of all of a file, have words that are low enough to be marks."""
_HIGHEST: Final = 2**64 - 1


class Records(Struct, frozen=True):
    """The records of a file, in any order.

    Parameters
    ----------
    t_s : (n,) s on the session's axis
    word : (n,) equal where the content is
    stream : (n,) uint32, what can be told apart without reading the content: an identifier, a column
    row : (n,) where the file's content holds it; of a table the columns follow each other
    """

    t_s: Times
    word: Words
    stream: NDArray[np.uint32]
    row: Rows

    def some(self, which: NDArray[np.bool_] | Rows) -> Records:
        """Those at some places."""
        return Records(self.t_s[which], self.word[which], self.stream[which], self.row[which])


class Marks(Struct, frozen=True):
    """Records of a file whose words stand once in it and are not above a number, by word.

    Parameters
    ----------
    t_s, word : (n,) as of the records
    below : the number
    """

    t_s: Times
    word: Words
    below: int


def alike(one: Recorded, other: Recorded) -> bool:
    """Whether two files are of one kind, so that their records can be the same."""
    return any(isinstance(one, kind) and isinstance(other, kind) for kind in (Frames, Payloads, Table))


def ends_s(content: Recorded, shift_s: float) -> tuple[float, float]:
    """First and last time of a content on the axis."""
    if isinstance(content, Frames):
        ends = content.ends_s
    elif isinstance(content, Payloads):
        ends = float(content.messages.t_s.min()), float(content.messages.t_s.max())
    else:
        columns = [channel.t_s for channel in content.channels if len(channel)]
        ends = min(float(t_s[0]) for t_s in columns), max(float(t_s[-1]) for t_s in columns)
    return ends[0] + shift_s, ends[1] + shift_s


def records_of(content: Recorded, shift_s: float, within: tuple[float, float]) -> Records:
    """The records between two times on the axis."""
    within = within[0] - shift_s, within[1] - shift_s
    if isinstance(content, FramesByKind):
        parts = [_of_kind(content, kind, within) for kind in range(len(content.kinds.count))]
        row = np.concatenate(parts)
        counts = [len(part) for part in parts]
        t_s, data = content.t_by_kind[row], content.data_by_kind[row]
        names = ("can_id", "flags", "length")
        can_id, flags, length = (np.repeat(getattr(content.kinds, name), counts) for name in names)
    elif isinstance(content, Frames):
        row = np.flatnonzero((content.t_s >= within[0]) & (content.t_s <= within[1]))
        some = content.take(row)
        t_s, data = some.t_s, np.ascontiguousarray(some.data).view("<u8")[:, 0].astype(np.uint64)
        can_id, flags, length = some.can_id, some.flags, some.length
        if len(some.fd_row):
            long = some.fd_data.view("<u8").astype(np.uint64)  # (m, 8)
            for column in range(long.shape[1]):
                data[some.fd_row] = _mixed(data[some.fd_row], long[:, column])
    elif isinstance(content, Payloads):
        return _of_payloads(content, shift_s)
    else:
        return _of_table(content, shift_s)
    stream = can_id | (flags & EXTENDED).astype(np.uint32) << np.uint32(31)
    what = stream.astype(np.uint64) | length.astype(np.uint64) << np.uint64(32)
    what |= (flags & (REMOTE | ERROR)).astype(np.uint64) << np.uint64(40)
    return Records(t_s + shift_s, _mixed(data, what), stream, row)


def marks_of(content: Recorded, shift_s: float) -> Marks:
    """A few records by which two files can be compared at little cost."""
    every = records_of(content, shift_s, (-np.inf, np.inf))
    below = _HIGHEST if len(every.word) <= MARKS else _HIGHEST // len(every.word) * MARKS
    some = every.some(every.word <= np.uint64(below))
    order = np.argsort(some.word)
    word = some.word[order]
    alone = np.ones(len(word), bool)
    alone[1:] &= word[1:] != word[:-1]
    alone[:-1] &= word[1:] != word[:-1]
    return Marks(some.t_s[order][alone], word[alone], below)


def _of_kind(content: FramesByKind, kind: int, within: tuple[float, float]) -> Rows:
    rows = content.kinds.rows(kind)
    first, last = np.searchsorted(content.t_by_kind[rows], within)
    return np.arange(rows.start + first, rows.start + last)


def _of_payloads(content: Payloads, shift_s: float) -> Records:
    said = content.messages
    number = (zlib.crc32(said.payload(k)) | zlib.adler32(said.payload(k)) << 32 for k in range(len(said)))
    word = np.fromiter(number, np.uint64, len(said))
    stream = said.source.astype(np.uint32)
    return Records(said.t_s + shift_s, _mixed(word, stream.astype(np.uint64)), stream, np.arange(len(said)))


def _of_table(content: Table, shift_s: float) -> Records:
    channels = content.channels
    counts = [len(channel) for channel in channels]
    value = np.concatenate([channel.value for channel in channels]) + 0.0  # one zero
    value[np.isnan(value)] = np.nan
    stream = np.repeat(np.array([zlib.crc32(channel.name.encode()) for channel in channels], np.uint32), counts)
    t_s = np.concatenate([channel.t_s for channel in channels]) + shift_s
    return Records(t_s, _mixed(value.view(np.uint64), stream.astype(np.uint64)), stream, np.arange(len(value)))


def _mixed(content: Words, what: Words) -> Words:
    """A number for content and what it is of, whose bits depend on all of theirs."""
    out = (content ^ what * _MIX[0]) * _MIX[1]
    out ^= out >> np.uint64(29)
    out = (out ^ what) * _MIX[2]
    return out ^ out >> np.uint64(32)
