"""Numbered lines of an adapter's text (``0: 49 02 01 ...``) put together to answers, as ISO 15765-2 joins frames.

Without headers nothing says from which control module a line comes. Lines of two answers at the same time belong
together for certain only where it makes no difference which is taken for which.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from logan.capture.obd_answers import without_fill
from logan.capture.reader import Tally

_NUMBER: Final = re.compile("([0-9A-Fa-f]):")
_NUMBERS: Final = 16
_MOST_OPEN: Final = 8
"""Control modules that answer one request (ISO 15765-4)."""


class Answer(NamedTuple):
    """A whole answer: line and time of what completed it."""

    line: int
    t_ns: int | None
    data: bytes


@dataclass(slots=True, eq=False)
class _Open:
    """An answer on its way: first line, time, its length (0 where unknown), its lines so far.

    ``certain`` of the lines, none at all where even their number is in doubt, can be of no other answer; ``mixed`` are
    those with which it shares the others.
    """

    line: int
    t_ns: int | None
    size: int
    parts: list[bytes] = field(default_factory=list)
    got: int = 0
    certain: int = 0
    mixed: list[_Open] = field(default_factory=list)

    def takes(self, number: int) -> bool:
        return len(self.parts) % _NUMBERS == number and not self.is_whole()

    def is_whole(self) -> bool:
        return bool(self.size) and self.got >= self.size

    def data(self) -> bytes:
        data = b"".join(self.parts)
        return data[: self.size] if self.size else without_fill(data)

    def units(self) -> list[object]:
        """What cannot be taken apart: the beginning with the length, then each line; None for what is missing."""
        units: list[object] = [(self.size, b"".join(self.parts[: self.certain])), *self.parts[self.certain :]]
        return units


class NumberedLines:
    """The numbered lines of one exchange."""

    def __init__(self, tally: Tally) -> None:
        self._tally = tally
        self._open: list[_Open] = []
        self._lengths: list[int] = []

    def length(self, size: int) -> None:
        """The length of an answer, which stands before its first line."""
        self._lengths.append(size)

    def go_on(self, text: str) -> bool:
        """Whether a piece of text is a line of what has begun."""
        match = _NUMBER.match(text)
        return match is not None and (match[1] != "0" or bool(self._lengths))

    def line(self, line: int, t_ns: int | None, number: int, data: bytes) -> list[Answer]:
        """One line; the answers that it completes."""
        able = [] if number == 0 and self._lengths else [one for one in self._open if one.takes(number)]
        out: list[Answer] = []
        if not able and number:
            text = "numbered line without the lines before it"
            self._tally.add("lost_consecutive_frame", text, f"line {line}")
            return out
        if not able:
            if len(self._open) >= _MOST_OPEN:
                out = self._finish(self._open[0].mixed or [self._open[0]])
            able = [_Open(line, t_ns, self._lengths.pop(0) if self._lengths else 0)]
            self._open += able
        if len(able) > 1:
            _mix(able)
        mine = max(able, key=lambda one: one.size or math.inf)  # else the longer one could come to lack a line
        mine.parts.append(data)
        mine.got += len(data)
        group = mine.mixed or [mine]
        if all(one.is_whole() for one in group):
            out += [one._replace(line=line, t_ns=t_ns) for one in self._finish(group)]
        return out

    def close(self) -> list[Answer]:
        """The exchange is over: what is open is whole only where no length was said."""
        out: list[Answer] = []
        while self._open:
            out += self._finish(self._open[0].mixed or [self._open[0]])
        self._lengths = []
        return out

    def _finish(self, group: list[_Open]) -> list[Answer]:
        """The answers of a group that can be told apart; the rest is counted."""
        self._open = [one for one in self._open if one not in group]
        if _is_ambiguous(group):
            text = "answers left out: their numbered lines came mixed, and without headers none tells whose it is"
            for one in group:
                self._tally.add("mixed_answers", text, f"line {one.line}")
            return []
        for one in group:
            if one.size and not one.is_whole():
                text = f"answer cut short: {one.got} of {one.size} bytes"
                self._tally.add("lost_consecutive_frame", text, f"line {one.line}")
        return [Answer(one.line, one.t_ns, one.data()) for one in group if one.is_whole() or not one.size]


def _mix(able: list[_Open]) -> None:
    """The next line may be of any of these; what is sixteen lines behind another is not told apart."""
    group: list[_Open] = []
    level = {len(one.parts) for one in able}
    for one in able:
        if not one.mixed:
            one.certain = len(one.parts)
        group += [other for other in one.mixed or [one] if other not in group]
    certain = min(one.certain for one in group) if len(level) == 1 else 0
    for one in group:
        one.mixed, one.certain = group, certain


def _is_ambiguous(group: list[_Open]) -> bool:
    """Whether other answers could be put together of the same lines: they differ in more than one place."""
    columns: dict[int, set[object]] = {}
    longest = max(len(one.parts) for one in group)
    for one in group:
        units = one.units()
        if not one.is_whole():
            units += [None] * (1 + longest - len(one.parts))
        for place, unit in enumerate(units):
            columns.setdefault(place, set()).add(unit)
    return len(group) > 1 and (not group[0].certain or sum(len(values) > 1 for values in columns.values()) > 1)
