"""Service 22 in the layout of SAE J1979: F4xx are the parameters, F6xx the monitor tests, F8xx the vehicle information.

Source: SAE J1979-2 and ISO 27145-3, data identifiers with the meaning and scaling of SAE J1979-DA (from memory); F190,
the VIN, ISO 14229-1 annex C. F5xx are parameters beyond FF, of which no free table gives the layout.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence, Set
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.decode.j1979_pids import places
from logan.dsp.grouping import distinct
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.frames import Messages

_VIN: Final = 0xF190
_VIN_BYTES: Final = 17
_PARAMETERS, _MORE_PARAMETERS, _TESTS, _INFORMATION = 0xF4, 0xF5, 0xF6, 0xF8
_SERVICE: Final = {_PARAMETERS: 0x01, _TESTS: 0x06, _INFORMATION: 0x09}
_STANDARD: Final = (*_SERVICE, _MORE_PARAMETERS)
_ANSWER: Final = 0x40
_TEST_BYTES: Final = 8  # test, scaling, value, lowest and highest allowed value
_SHOWN: Final = 12
_TRIED: Final = 8
"""So many of the answers that begin alike are looked at; the layout with the most identifiers holds for all."""
_MOST_STEPS: Final = 20_000
"""Places tried in one answer; a longer search means that it cannot be split for certain."""
_NONE: Final = np.empty(0, np.int64)


class _Said:
    """Data identifiers found so far, each as a message of SAE J1979 that lies in the blob where its original does."""

    def __init__(self, messages: Messages) -> None:
        self.blob = messages.blob.copy()
        self.row: list[NDArray[np.int64]] = [_NONE]
        self.begin: list[NDArray[np.int64]] = [_NONE]
        self.size: list[NDArray[np.int64]] = [_NONE]
        self.more: list[NDArray[np.uint8]] = []
        self.end = len(self.blob)
        self.unknown: Counter[int] = Counter()
        self.first_row: dict[int, int] = {}

    def add(self, rows: NDArray[np.int64], begin: NDArray[np.int64], did: int, data: int, told: bool) -> None:
        """One identifier in several messages.

        Parameters
        ----------
        rows, begin : (k,) messages, and where in the blob the identifier begins in each
        data : bytes behind it
        told : whether they are answers
        """
        high, low = (_INFORMATION, 0x02) if did == _VIN else (did >> 8, did & 0xFF)
        if high not in _SERVICE:
            if told:
                self.unknown[did] += len(rows)
                self.first_row[did] = min(int(rows[0]), self.first_row.get(did, int(rows[0])))
            return
        self.blob[begin], self.blob[begin + 1] = _SERVICE[high] | _ANSWER * told, low
        size = data + 2
        if high == _TESTS and told and low % 0x20 and data > _TEST_BYTES and data % _TEST_BYTES == 0:
            begin, size = self._tests(begin, data)
        self.row.append(rows)
        self.begin.append(begin)
        self.size.append(np.full(len(rows), size))

    def _tests(self, begin: NDArray[np.int64], data: int) -> tuple[NDArray[np.int64], int]:
        """Several tests of one monitor: SAE J1979 repeats its number in front of each; where they begin, their size."""
        whole = self.blob[begin[:, None] + np.arange(data + 2)]
        tests = whole[:, 2:].reshape(len(begin), -1, _TEST_BYTES)
        number = np.broadcast_to(whole[:, None, 1:2], (*tests.shape[:2], 1))
        body = np.concatenate([number, tests], axis=2).reshape(len(begin), -1)
        out = np.concatenate([whole[:, :1], body], axis=1)
        self.more.append(out.ravel())
        at: NDArray[np.int64] = self.end + out.shape[1] * np.arange(len(begin))
        self.end += out.size
        return at, out.shape[1]


def as_j1979(
    messages: Messages, requests: NDArray[np.int64], answers: NDArray[np.int64]
) -> tuple[Messages, list[Remark]]:
    """Requests and answers of service 22 as messages of services 01, 06 and 09, in order of the originals.

    Parameters
    ----------
    requests, answers : (n,) rows of service 22 and 62
    """
    said = _Said(messages)
    asked: set[frozenset[int]] = set()
    for rows, content in _alike(messages, requests, None):
        dids = _numbers(content)
        if len(dids) > 1:
            asked.add(frozenset(dids))
        for k, did in enumerate(dids):
            said.add(rows, messages.start[rows] + 1 + 2 * k, did, 0, False)
    together = None if not len(requests) else sorted(asked, key=sorted)
    short, answers = answers[messages.length[answers] < 3], answers[messages.length[answers] >= 3]
    plain = _fitting(messages, answers)
    for rows, content in _alike(messages, plain, 3):
        said.add(rows, messages.start[rows] + 1, content[1] << 8 | content[2], int(messages.length[rows[0]]) - 3, True)
    for group, _ in _alike(messages, np.setdiff1d(answers, plain), 3):
        rest = group
        while len(rest):
            tried = [messages.payload(row) for row in rest[:: -(-len(rest) // _TRIED)].tolist()]
            layout = max((_groups(payload[1:], together) for payload in tried), key=len)
            place = 1 + np.cumsum([0, *(2 + len(data) for _, data in layout[:-1])])
            head = np.frombuffer(b"".join(did.to_bytes(2, "big") for did, _ in layout), np.uint8)
            told = messages.blob[messages.start[rest, None] + (place[:, None] + np.arange(2)).ravel()]
            same = (told == head).all(axis=1)
            for (did, data), at in zip(layout, place.tolist(), strict=True):
                said.add(rest[same], messages.start[rest[same]] + at, did, len(data), True)
            rest = rest[~same]
    row = np.concatenate(said.row)
    order = np.argsort(row, kind="stable")
    row = row[order]
    out = Messages(
        t_s=messages.t_s[row],
        t_first_s=messages.t_first_s[row],
        source=messages.source[row],
        address=messages.address[row],
        extended=messages.extended[row],
        bus=messages.bus[row],
        start=np.concatenate(said.begin)[order],
        length=np.concatenate(said.size)[order].astype(np.int32),
        blob=np.concatenate([said.blob, *said.more]),
    )
    remarks = list(_remarks(messages, said.unknown, said.first_row))
    if len(short):
        text = "service 22: answers too short for an identifier"
        remarks.append(Remark("cut_message", text, len(short), places(messages, short)))
    return out, remarks


def _alike(messages: Messages, rows: NDArray[np.int64], width: int | None) -> Iterator[tuple[NDArray[np.int64], bytes]]:
    """Messages of one length that begin alike (``width`` bytes; None: all of them), and those bytes."""
    for size in distinct(messages.length[rows]).tolist():
        of_size = rows[messages.length[rows] == size]
        begin = messages.matrix(of_size, min(width or size, size))
        heads, which = np.unique(begin, axis=0, return_inverse=True)
        order = np.argsort(which.ravel(), kind="stable")
        parts = np.split(of_size[order], np.cumsum(np.bincount(which.ravel()))[:-1])
        yield from zip(parts, (head.tobytes() for head in heads), strict=True)


def _numbers(payload: bytes) -> list[int]:
    """Identifiers that a request names."""
    return [payload[k] << 8 | payload[k + 1] for k in range(1, len(payload) - 1, 2)]


def _fitting(messages: Messages, answers: NDArray[np.int64]) -> NDArray[np.int64]:
    """Answers that hold one parameter, by its length."""
    rows = answers[messages.length[answers] >= 4]
    head = messages.matrix(rows, 3)
    rows, pid = rows[head[:, 1] == _PARAMETERS], head[head[:, 1] == _PARAMETERS, 2]
    size = messages.length[rows] - 3
    fits = np.zeros(len(rows), bool)
    for known in distinct(pid).tolist():
        fits |= (pid == known) & np.isin(size, obd.pid_lengths().get(known, ()))
    out: NDArray[np.int64] = rows[fits]
    return out


def _sizes(did: int) -> Iterable[int] | None:
    """How many data bytes an identifier may have; None where nothing says."""
    if did >> 8 == _PARAMETERS:
        return obd.pid_lengths().get(did & 0xFF)
    return (_VIN_BYTES,) if did == _VIN else None


def _groups(body: bytes, together: Sequence[Set[int]] | None) -> list[tuple[int, bytes]]:
    """Identifiers of an answer with their data: as many as fit to the last byte, else one that has all of it.

    Parameters
    ----------
    together : identifiers that one request named; None where no request was recorded
    """
    first = int.from_bytes(body[:2], "big")
    for dids in () if together is None else together:
        found = _walk(body, dids) if first in dids else None
        if found is not None:
            return found
    found = _walk(body, None) if together is None else None
    return [(first, body[2:])] if found is None else found


def _walk(body: bytes, dids: Set[int] | None) -> list[tuple[int, bytes]] | None:
    """Identifiers and data of an answer; None where they do not come out even, or only after too many ways."""
    trail, ways, left = [0], [iter(_ends(body, dids, 0))], [dids]
    for _ in range(_MOST_STEPS):
        if not trail:
            return None
        end = next(ways[-1], None)
        if end is None:
            del trail[-1], ways[-1], left[-1]
        elif end == len(body):
            return [(_did(body, at), body[at + 2 : stop]) for at, stop in pairwise([*trail, end])]
        else:
            dids = left[-1]
            left.append(None if dids is None else dids - {_did(body, trail[-1])})
            trail.append(end)
            ways.append(iter(_ends(body, left[-1], end)))
    return None


def _did(body: bytes, at: int) -> int:
    return int.from_bytes(body[at : at + 2], "big")


def _ends(body: bytes, dids: Set[int] | None, at: int) -> Iterable[int]:
    """Where the data of the identifier at a place may end: before a further one, or with the answer.

    Data of unknown length may end before any identifier that was asked for; without a request, at the end only.
    """
    did = _did(body, at)
    if len(body) - at < 3 or not (did in dids if dids is not None else did >> 8 in _STANDARD):
        return ()
    sizes = _sizes(did)
    if sizes is not None:
        return [at + 2 + size for size in sizes if at + 2 + size <= len(body)]
    return range(at + 3, len(body) + 1) if dids is not None else (len(body),)


def _remarks(messages: Messages, unknown: Counter[int], first_row: dict[int, int]) -> Iterator[Remark]:
    for kind, text, chosen in (
        (
            "parameters_without_layout",
            "service 22: parameters F5xx, whose layout no free table gives, not decoded",
            {did for did in unknown if did >> 8 == _MORE_PARAMETERS},
        ),
        (
            "identifiers_not_decoded",
            "service 22: data identifiers that the standards leave to the maker or that say nothing of the engine, not"
            " decoded",
            {did for did in unknown if did >> 8 != _MORE_PARAMETERS},
        ),
    ):
        if chosen:
            yield _listed(messages, kind, text, chosen, unknown, first_row)


def _listed(
    messages: Messages, kind: str, text: str, dids: Set[int], count: Counter[int], first_row: dict[int, int]
) -> Remark:
    names = [f"{did:04X} x {count[did]}" for did in sorted(dids)]
    shown = f"{', '.join(names[:_SHOWN])}{' ...' if len(names) > _SHOWN else ''}"
    rows = np.array(sorted(first_row[did] for did in dids), np.int64)
    return Remark(kind, f"{text}: {shown}", sum(count[did] for did in dids), places(messages, rows))
