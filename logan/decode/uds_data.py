"""Service 22 in the layout of SAE J1979: F4xx are the parameters, F6xx the monitor tests, F8xx the vehicle information.

Source: SAE J1979-2 and ISO 27145-3, data identifiers with the meaning and scaling of SAE J1979-DA (from memory); F190,
the VIN, ISO 14229-1 annex C. F5xx are parameters beyond FF, of which no free table gives the layout.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence, Set
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.decode.j1979_pids import places
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


def as_j1979(
    messages: Messages, requests: NDArray[np.int64], answers: NDArray[np.int64]
) -> tuple[Messages, list[Remark]]:
    """Requests and answers of service 22 as messages of services 01, 06 and 09, in order of the originals.

    Parameters
    ----------
    requests, answers : (n,) rows of service 22 and 62
    """
    asked = {frozenset(_numbers(messages.payload(row))) for row in requests[messages.length[requests] > 3].tolist()}
    together = None if not len(requests) else sorted(asked, key=sorted)
    blob = messages.blob.copy()
    start, length = messages.start.copy(), messages.length.copy()
    plain = np.concatenate([_single(messages, requests, 3, 3), _fitting(messages, answers)])
    service = np.where(np.isin(plain, requests), 0x01, 0x41)
    blob[start[plain] + 1] = service
    start[plain] += 1
    length[plain] -= 1
    rows, begins, sizes, extra = list(plain), list(start[plain]), list(length[plain]), [blob]
    end = len(blob)
    unknown: Counter[int] = Counter()
    first_row: dict[int, int] = {}
    for of, told in ((requests, False), (answers, True)):
        for row in np.setdiff1d(of, plain).tolist():
            payload = messages.payload(row)
            groups = _groups(payload[1:], together) if told else [(did, b"") for did in _numbers(payload)]
            for did, data in groups:
                said = _translated(did, data, told)
                if said is not None:
                    rows.append(row)
                    begins.append(end)
                    sizes.append(len(said))
                    extra.append(np.frombuffer(said, np.uint8))
                    end += len(said)
                elif told:
                    unknown[did] += 1
                    first_row.setdefault(did, row)
    order = np.argsort(np.array(rows, np.int64), kind="stable")
    row = np.array(rows, np.int64)[order]
    out = Messages(
        t_s=messages.t_s[row],
        t_first_s=messages.t_first_s[row],
        source=messages.source[row],
        address=messages.address[row],
        extended=messages.extended[row],
        bus=messages.bus[row],
        start=np.array(begins, np.int64)[order],
        length=np.array(sizes, np.int32)[order],
        blob=np.concatenate(extra),
    )
    return out, list(_remarks(messages, unknown, first_row))


def _numbers(payload: bytes) -> list[int]:
    """Identifiers that a request names."""
    return [payload[k] << 8 | payload[k + 1] for k in range(1, len(payload) - 1, 2)]


def _single(messages: Messages, rows: NDArray[np.int64], shortest: int, longest: int) -> NDArray[np.int64]:
    """Those rows of some length whose first identifier is a parameter."""
    rows = rows[(messages.length[rows] >= shortest) & (messages.length[rows] <= longest)]
    chosen: NDArray[np.int64] = rows[messages.matrix(rows, 2)[:, 1] == _PARAMETERS]
    return chosen


def _fitting(messages: Messages, answers: NDArray[np.int64]) -> NDArray[np.int64]:
    """Answers that hold one parameter, by its length."""
    rows = _single(messages, answers, 4, np.iinfo(np.int32).max)
    pid, size = messages.matrix(rows, 3)[:, 2], messages.length[rows] - 3
    fits = np.zeros(len(rows), bool)
    for known in np.unique(pid).tolist():
        fits |= (pid == known) & np.isin(size, obd.pid_lengths().get(known, ()))
    return rows[fits]


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
        found = _walk(body, dids, 0) if first in dids else None
        if found is not None:
            return found
    found = _walk(body, None, 0) if together is None else None
    return [(first, body[2:])] if found is None else found


def _walk(body: bytes, dids: Set[int] | None, at: int) -> list[tuple[int, bytes]] | None:
    """Identifiers and data from a place on; None where they do not come out even.

    Data of unknown length may end before any identifier that was asked for; without a request, at the end only.
    """
    if at == len(body):
        return []
    did = int.from_bytes(body[at : at + 2], "big")
    if len(body) - at < 3 or not (did in dids if dids is not None else did >> 8 in _STANDARD):
        return None
    sizes = _sizes(did)
    if sizes is not None:
        ends = [at + 2 + size for size in sizes]
    else:
        ends = list(range(at + 3, len(body) + 1)) if dids is not None else [len(body)]
    for end in ends:
        rest = _walk(body, None if dids is None else dids - {did}, end) if end <= len(body) else None
        if rest is not None:
            return [(did, body[at + 2 : end]), *rest]
    return None


def _translated(did: int, data: bytes, told: bool) -> bytes | None:
    """The same in SAE J1979, None where that has nothing like it."""
    high, low = (_INFORMATION, 0x02) if did == _VIN else (did >> 8, did & 0xFF)
    if high not in _SERVICE:
        return None
    head = bytes((_SERVICE[high] | _ANSWER * told, low))
    if high == _TESTS and told and low % 0x20 and len(data) % _TEST_BYTES == 0:
        # SAE J1979 repeats the monitor's number in front of each test
        return head[:1] + b"".join(head[1:] + data[k : k + _TEST_BYTES] for k in range(0, len(data), _TEST_BYTES))
    return head + data


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
