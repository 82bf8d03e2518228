"""What a reader of a format is: how it recognises a file, and what it hands over."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

import numpy as np
from msgspec import Struct, field
from numpy.typing import NDArray

from logan.capture.source import Source
from logan.model.capture import PLACES_KEPT, Content, Remark


class Guess(Struct, frozen=True):
    """How surely a file is of a format, 0..1, and what that is concluded from."""

    score: float
    reason: str


NO = Guess(0.0, "")


class Parsed(Struct, frozen=True):
    """One file's content as its reader hands it over.

    Parameters
    ----------
    content : the data
    records : frames, rows, edges or samples read
    rejected : records that could not be read
    remarks : what was wrong or unusual
    metadata : what the file says about itself
    variant : what kind of its format the file is, empty where there is only one
    """

    content: Content
    records: int
    rejected: int = 0
    remarks: tuple[Remark, ...] = ()
    metadata: dict[str, str] = field(default_factory=dict)
    variant: str = ""


class Reader(Struct, frozen=True):
    """A format declares itself.

    Parameters
    ----------
    format : plain name
    looks : judges a file by its first bytes; must be cheap
    module : name of the module whose ``read(source) -> Parsed`` reads it, imported once this reader has won
    suffixes : usual endings, which decide between near ties and nothing else
    """

    format: str
    looks: Callable[[Source], Guess]
    module: str
    suffixes: tuple[str, ...] = ()


class Tally:
    """Counts what was wrong by kind and reason, and keeps the first places."""

    def __init__(self) -> None:
        self._count: Counter[tuple[str, str]] = Counter()
        self._places: dict[tuple[str, str], list[str]] = {}

    def add(self, kind: str, text: str, place: str, count: int = 1) -> None:
        """Count something once more (or ``count`` times), with its place."""
        self._count[kind, text] += count
        places = self._places.setdefault((kind, text), [])
        if len(places) < PLACES_KEPT:
            places.append(place)

    def add_rows(self, kind: str, text: str, rows: NDArray[np.int64], place: Callable[[int], str]) -> None:
        """Count something once a row; the place is asked for the first rows only."""
        for row in rows[:PLACES_KEPT].tolist():
            self.add(kind, text, place(row))
        if len(rows) > PLACES_KEPT:
            self._count[kind, text] += len(rows) - PLACES_KEPT

    def total(self, kind: str) -> int:
        """How often something of a kind was counted."""
        return sum(count for (found, _), count in self._count.items() if found == kind)

    def remarks(self) -> tuple[Remark, ...]:
        """All of it, most frequent first."""
        return tuple(
            Remark(kind, text, count, tuple(self._places[kind, text]))
            for (kind, text), count in self._count.most_common()
        )
