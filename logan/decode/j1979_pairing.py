"""Requests put together with their answers, and when a polled value was true.

A control module measures somewhere between the request and the first frame of its answer; the middle is the best guess
and half the way the honest doubt.
"""

from __future__ import annotations

from typing import Any, Final

import numpy as np
from msgspec import Struct
from numpy.typing import NDArray

from logan.dsp.median import median
from logan.model.frames import Messages

P2_STAR_S: Final = 5.0
"""Longest time to an answer after "response pending", s (ISO 15765-4 and ISO 14229-2: P2* = 5000 ms)."""

_FUNCTIONAL = 0


def is_request_id(source: NDArray[np.uint32], extended: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Identifiers that a tester uses, (n,): 7DF, 7E0..7E7, 18DB33F1, 18DAxxF1 (ISO 15765-4)."""
    short = (source == 0x7DF) | ((source & 0xFFFFFFF8) == 0x7E0)
    long = (source == 0x18DB33F1) | ((source & 0xFFFF00FF) == 0x18DA00F1)
    matches: NDArray[np.bool_] = np.where(extended, long, short)
    return matches


def is_answer_id(source: NDArray[np.uint32], extended: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Identifiers that control modules answer with, (n,): 7E8..7EF, 18DAF1xx (ISO 15765-4)."""
    matches: NDArray[np.bool_] = np.where(extended, (source >> 8) == 0x18DAF1, (source & 0xFFFFFFF8) == 0x7E8)
    return matches


def _answering(source: NDArray[np.uint32], extended: NDArray[np.bool_]) -> NDArray[np.uint32]:
    """Identifier of the module that a request is for, (n,); 0 where it is for all, or for nobody that we know."""
    short = np.where((source & 0xFFFFFFF8) == 0x7E0, source + np.uint32(8), np.uint32(_FUNCTIONAL))
    module = (source >> np.uint32(8)) & np.uint32(0xFF)
    long = np.where((source & 0xFFFF00FF) == 0x18DA00F1, 0x18DAF100 | module, np.uint32(_FUNCTIONAL))
    return np.where(extended, long, short).astype(np.uint32)


class Timing(Struct, frozen=True):
    """When the values of one parameter were true.

    Parameters
    ----------
    t_s : (n,) float64, s, in order of the answers
    half_width_s : half of the median time between request and answer, 0 where no answer has a request
    unpaired : (n,) bool, answers without a request
    """

    t_s: NDArray[np.float64]
    half_width_s: float
    unpaired: NDArray[np.bool_]


class Waits:
    """Answers 7F xx 78, by which a module asks for more time for one service; the request it has then is answered."""

    def __init__(self, messages: Messages, rows: NDArray[np.int64]) -> None:
        """Sort them.

        Parameters
        ----------
        rows : (n,) the messages
        """
        rows = rows[np.argsort(messages.t_s[rows], kind="stable")]
        self._t_s, self._source = messages.t_s[rows], messages.source[rows]

    def starts(self, source: int, asked_s: NDArray[np.float64], answer_s: NDArray[np.float64]) -> NDArray[np.float64]:
        """From when the time to an answer counts, (n,): from its last 7F xx 78, else from its request.

        Between the request, the 7F xx 78 and the answer no more than P2* may pass; a chain that broke is none.

        Parameters
        ----------
        asked_s, answer_s : (n,) float64, s, requests and first frames of their answers
        """
        wait_s = self._t_s[self._source == source]
        if not len(wait_s):
            return asked_s
        chain = np.cumsum(np.diff(wait_s, prepend=-np.inf) > P2_STAR_S)
        first = np.minimum(np.searchsorted(wait_s, asked_s, side="right"), len(wait_s) - 1)
        last = np.searchsorted(wait_s, answer_s, side="right") - 1
        waited = (last >= first) & (chain[last] == chain[first]) & (wait_s[first] > asked_s)
        waited &= wait_s[first] - asked_s <= P2_STAR_S
        return np.where(waited, wait_s[last], asked_s)


class Requests:
    """The requests of one service, by parameter."""

    def __init__(
        self, messages: Messages, rows: NDArray[np.int64], items: int, step: int = 1, waits: Waits | None = None
    ) -> None:
        """Read them.

        Parameters
        ----------
        rows : (n,) messages that are requests of the service
        items : how many parameters one request may name
        step : bytes that each takes in the request
        waits : how modules asked for more time for the service
        """
        self._waits = waits
        length = messages.length[rows]
        width = min(1 + items * step, max(1, int(length.max(initial=1))))
        bytes_of = messages.matrix(rows, width)
        names = bytes_of[:, 1::step]
        there = np.arange(1, width, step) < length[:, None]
        row, column = np.nonzero(there)
        order = np.argsort(messages.t_s[rows][row], kind="stable")
        row, column = row[order], column[order]
        self._t_s = messages.t_s[rows][row]
        self._pid = names[row, column]
        self._target = _answering(messages.source[rows], messages.extended[rows])[row]
        self.asked: NDArray[np.bool_] | None = None
        if len(rows):
            self.asked = np.zeros(256, bool)
            self.asked[self._pid] = True
        self._of_pid: dict[int, NDArray[Any]] = {}

    def timing(self, pid: int, source: int, t_first_s: NDArray[np.float64]) -> Timing:
        """Pair the answers of one module with the requests of a parameter.

        Each answer takes the last request before it, within P2*; a request is answered once by each module. A module
        that asked for more time has P2* anew (ISO 14229-2), and has not measured before. An answer whose request was
        not recorded is put where the others' middle would be.

        Parameters
        ----------
        t_first_s : (n,) float64, s, first frame of each answer
        """
        if self.asked is None or not self.asked[pid]:
            return Timing(t_first_s, 0.0, np.ones(len(t_first_s), bool))
        if pid not in self._of_pid:
            self._of_pid[pid] = np.flatnonzero(self._pid == pid)
        mine = self._of_pid[pid]
        target = self._target[mine]
        asked_s = self._t_s[mine[(target == _FUNCTIONAL) | (target == source)]]
        order = np.argsort(t_first_s, kind="stable")
        sorted_s = t_first_s[order]
        last = np.searchsorted(asked_s, sorted_s, side="right") - 1
        paired = last >= 0
        paired[1:] &= last[1:] != last[:-1]
        delay_s = np.full(len(sorted_s), np.inf)
        if len(asked_s):
            start_s = asked_s[np.maximum(last, 0)]
            delay_s = sorted_s - (start_s if self._waits is None else self._waits.starts(source, start_s, sorted_s))
        paired &= delay_s <= P2_STAR_S
        half_s = 0.5 * median(delay_s[paired]) if paired.any() else 0.0
        t_s = np.empty(len(order))
        t_s[order] = sorted_s - np.where(paired, 0.5 * np.where(paired, delay_s, 0.0), half_s)
        unpaired = np.empty(len(order), bool)
        unpaired[order] = ~paired
        return Timing(t_s, half_s, unpaired)
