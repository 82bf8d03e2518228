"""Answers of services 01 and 02 cut into their parameters, all messages at once.

An answer holds one to six groups of a PID and its data, one after the other, and nothing says where one ends but the
length that the standard gives its PID (SAE J1979). The walk goes from group to group in all messages at the same time.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.dsp.grouping import distinct, group
from logan.knowledge import obd
from logan.model.capture import PLACES_KEPT, Remark
from logan.model.frames import Messages

# the rest of an answer counts as fill from three equal bytes on, from two of the usual ones (ISO 15765-4 leaves the
# value open; 00, 55, AA, CC and FF are common practice, no source); a run so long proves it whatever follows
_FILL_LEAST = 3
_FILL_CHECKED = 64
_USUAL_FILL = np.isin(np.arange(256), (0x00, 0x55, 0xAA, 0xCC, 0xFF))
# identifiers that a remark spells out
_NAMED = 12


class Pieces(Struct, frozen=True):
    """Data of parameters in answers, in order of the messages within each group.

    Parameters
    ----------
    row : (n,) int64, message
    pid : (n,) uint8
    begin : (n,) int64, first data byte in the messages' blob
    size : (n,) int64, data bytes
    """

    row: NDArray[np.int64]
    pid: NDArray[np.uint8]
    begin: NDArray[np.int64]
    size: NDArray[np.int64]

    def __len__(self) -> int:
        return len(self.row)

    def take(self, at: NDArray[Any]) -> Pieces:
        """Some of them."""
        return Pieces(self.row[at], self.pid[at], self.begin[at], self.size[at])

    def by_sender(self, messages: Messages) -> Iterator[tuple[int, int, Pieces]]:
        """Identifier, PID and the pieces of each sender's parameter."""
        senders = group(messages.source[self.row])
        found = group((senders.slot.astype(np.uint32) << np.uint32(8)) | self.pid)
        for k, at in found.rows_of(np.ones(len(found.keys), bool)).items():
            key = int(found.keys[k])
            yield int(senders.keys[key >> 8]), key & 0xFF, self.take(at)

    def data(self, messages: Messages) -> NDArray[np.uint8]:
        """Data bytes, (n, longest size), zero beyond the size of each."""
        width = int(self.size.max(initial=0))
        at = self.begin[:, None] + np.arange(width)
        if (self.size == width).all():
            return np.take(messages.blob, at)
        inside = np.arange(width) < self.size[:, None]
        return np.where(inside, messages.blob[np.minimum(at, len(messages.blob) - 1)], np.uint8(0))


def split(
    messages: Messages, rows: NDArray[np.int64], header: int, asked: NDArray[np.bool_] | None, service: str
) -> tuple[Pieces, list[Remark]]:
    """Cut answers into parameters.

    Parameters
    ----------
    rows : (n,) messages that are positive answers
    header : bytes in front of the data of each parameter: the PID, in service 02 the frame number too
    asked : (256,) bool, PIDs that any request named; None where no request was recorded. What follows the first
        parameter of an answer counts only if its PID was asked for, or, where that is unknown, if the whole answer
        can be read this way and is no fill of equal bytes.
    service : number of the service, for the remarks
    """
    walk = _Walk(messages, rows, header, asked)
    form = np.zeros(len(rows), np.int64)
    levels, end = walk.run(form)
    if any(walk.varies[level.pid].any() for level in levels):
        form = walk.form_of_senders(end, walk.run(form + 1)[1])
        levels, end = walk.run(form)
    if asked is None:
        is_even = end == walk.stop
        levels = [levels[0], *(level.take(is_even[level.row]) for level in levels[1:])] if levels else []
    parts = [Pieces(rows[level.row], level.pid, level.begin, level.size) for level in levels]
    return _joined(parts), _remarks(walk, levels, end, service)


class _Walk:
    """The walk through all answers of a service; positions count from the start of the blob, rows within it."""

    def __init__(
        self, messages: Messages, rows: NDArray[np.int64], header: int, asked: NDArray[np.bool_] | None
    ) -> None:
        self.messages, self.rows, self.header, self.asked = messages, rows, header, asked
        self.start = messages.start[rows]
        self.stop = self.start + messages.length[rows]
        # row 0: the short form of parameters of two lengths, row 1: the long one; -1: no such PID
        self.table = np.full((2, 256), -1, np.int64)
        for pid, lengths in obd.pid_lengths().items():
            self.table[:, pid] = min(lengths), max(lengths)
        self.varies = self.table[0] != self.table[1]

    def run(self, form: NDArray[np.int64]) -> tuple[list[Pieces], NDArray[np.int64]]:
        """The first parameters of all messages, then the second ones, ...; and where each message's walk ended, (n,).

        Parameters
        ----------
        form : (n,) row of the table of lengths for each message
        """
        blob = self.messages.blob
        end = self.start + 1
        active = np.flatnonzero(end < self.stop)
        levels: list[Pieces] = []
        while len(active):
            at, stop = end[active], self.stop[active]
            pid = blob[at]
            size = self.table[form[active], pid]
            begin = at + self.header
            room = stop - begin
            good = (size >= 0) & (room > 0)
            if not levels:
                # an answer that is shorter than its one parameter today: older editions gave some fewer bytes
                size = np.minimum(size, room)
            else:
                good &= size <= room
                good &= self.asked[pid] if self.asked is not None else ~_is_fill(blob, at, stop)
            if not good.all():
                active, pid, begin, size = active[good], pid[good], begin[good], size[good]
            levels.append(Pieces(active, pid, begin, size))
            end[active] = begin + size
            active = active[end[active] < self.stop[active]]
        return levels, end

    def form_of_senders(self, end_short: NDArray[np.int64], end_long: NDArray[np.int64]) -> NDArray[np.int64]:
        """Which form the sender of each message uses, (n,): the one that makes more of its answers come out even.

        A control module of more than two banks sends two bytes for every fuel trim, any other one.
        """
        senders = group(self.messages.source[self.rows])
        gain = (end_long == self.stop).astype(np.int64) - (end_short == self.stop)
        total = np.bincount(senders.slot, weights=gain, minlength=len(senders.keys))
        return np.take((total > 0).astype(np.int64), senders.slot)


def _is_fill(blob: NDArray[np.uint8], at: NDArray[np.int64], stop: NDArray[np.int64]) -> NDArray[np.bool_]:
    """Whether the rest of each message is one byte over and over, (n,)."""
    width = min(int((stop - at).max()), _FILL_CHECKED)
    first = blob[at]
    column = at[:, None] + np.arange(width)
    same = (blob[np.minimum(column, len(blob) - 1)] == first[:, None]) | (column >= stop[:, None])
    filled: NDArray[np.bool_] = same.all(axis=1) & ((stop - at >= _FILL_LEAST) | _USUAL_FILL[first])
    return filled


def _joined(parts: list[Pieces]) -> Pieces:
    """Pieces of all levels, in order of the messages."""
    if len(parts) == 1:
        return parts[0]
    if not parts:
        none = np.empty(0, np.int64)
        return Pieces(none, none.astype(np.uint8), none, none)
    whole = Pieces(
        np.concatenate([part.row for part in parts]),
        np.concatenate([part.pid for part in parts]),
        np.concatenate([part.begin for part in parts]),
        np.concatenate([part.size for part in parts]),
    )
    return whole.take(np.argsort(whole.row, kind="stable"))


def _remarks(walk: _Walk, levels: list[Pieces], end: NDArray[np.int64], service: str) -> list[Remark]:
    """What could not be read of the answers."""
    messages, rows = walk.messages, walk.rows
    is_empty = walk.start + 1 >= walk.stop
    is_left = (end == walk.start + 1) & ~is_empty
    remarks = []
    if is_left.any():
        pid = messages.blob[walk.start[is_left] + 1]
        numbers = np.bincount(pid, minlength=256)
        known = (walk.table[1] >= 0) & (numbers > 0)
        for kind, text, which in (
            ("unknown_pid", "parameters that the signal data base does not know", ~known & (numbers > 0)),
            ("answer_without_data", "answers that end before their data", known),
        ):
            if which.any():
                names = [f"PID {k:02X} x {numbers[k]}" for k in np.flatnonzero(which)]
                text = f"service {service}: {text}: {', '.join(names[:_NAMED])}{' ...' if len(names) > _NAMED else ''}"
                remarks.append(_remark(messages, rows[is_left][which[pid]], kind, text))
    if is_empty.any():
        remarks.append(_remark(messages, rows[is_empty], "empty_answer", f"service {service}: answers of one byte"))
    is_surplus = (end < walk.stop) & ~is_left & ~is_empty
    if is_surplus.any():
        text = f"service {service}: answers with more bytes than their parameters have; the rest is left out"
        remarks.append(_remark(messages, rows[is_surplus], "surplus_bytes", text))
    if levels:
        first = levels[0]
        is_short = first.size < walk.table[0][first.pid]
        if is_short.any():
            names = [f"PID {k:02X}" for k in distinct(first.pid[is_short])]
            text = f"service {service}: answers shorter than their parameter: {', '.join(names[:_NAMED])}"
            remarks.append(_remark(messages, rows[first.row[is_short]], "short_answer", text))
    return remarks


def _remark(messages: Messages, rows: NDArray[np.int64], kind: str, text: str) -> Remark:
    return Remark(kind, text, len(rows), places(messages, rows))


def places(messages: Messages, rows: NDArray[np.int64]) -> tuple[str, ...]:
    """When and from whom the first few of some messages came."""
    return tuple(f"t = {messages.t_s[row]:.3f} s, id {messages.source[row]:X}" for row in rows[:PLACES_KEPT])
