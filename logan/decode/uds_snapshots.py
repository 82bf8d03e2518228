"""Values stored with a trouble code (service 19, report 04) whose identifiers are parameters of SAE J1979 (F4xx).

Source: ISO 14229-1, answer to reportDTCSnapshotRecordByDTCNumber: code and status, then for each record its number, how
many identifiers it has, and each with its data; SAE J1979-2 stores freeze frames so (from memory).
"""

from __future__ import annotations

from typing import Final, NamedTuple

import numpy as np
from msgspec import structs
from numpy.typing import NDArray

from logan.decode import j1979, uds_codes
from logan.decode.j1979_codes import distinct
from logan.knowledge import obd
from logan.model.frames import Messages
from logan.model.vehicle import FreezeFrame

_REPORT: Final = 0x04
_RECORDS: Final = 6
"""First byte behind service, report, code and status."""
_PARAMETERS: Final = 0xF4
_FREEZE_ANSWER: Final = 0x42
_MOST: Final = 256
"""Records told apart, as many as a frame number of service 02 can."""

Item = tuple[int, bytes]


class _Record(NamedTuple):
    row: int
    code: str
    items: list[Item]


def read(messages: Messages, rows: NDArray[np.int64] | None) -> tuple[list[FreezeFrame], set[int]]:
    """Stored values, numbered for each module, and the answers that they were read from.

    Parameters
    ----------
    rows : positive answers of service 19
    """
    last: dict[tuple[int, bytes, int], _Record] = {}
    read_from: set[int] = set()
    for source, payload, row in distinct(messages, rows):
        if len(payload) <= _RECORDS or payload[1] != _REPORT:
            continue
        found = _records(payload)
        if found is None:
            continue
        read_from.add(row)
        code = uds_codes.name_of(int.from_bytes(payload[2:5], "big"))
        last |= {(source, payload[2:5], number): _Record(row, code, items) for number, items in found}
    kept = list(last.values())
    read_from -= {record.row for record in kept[_MOST:]}
    kept = kept[:_MOST]
    if not kept:
        return [], read_from
    frames = j1979.decode(_as_service_02(messages, kept))[1].freeze_frames
    count: dict[str, int] = {}
    out = []
    for frame in sorted(frames, key=lambda one: one.number):
        number = count[frame.ecu] = count.get(frame.ecu, -1) + 1
        out.append(structs.replace(frame, number=number, code=kept[frame.number].code))
    return out, read_from


def _records(payload: bytes) -> list[tuple[int, list[Item]]] | None:
    """Number and identifiers of each record; None where they do not come out even, or are too many.

    Places are tried from the first on, each once: parameters may have several lengths.
    """
    reached: dict[int, list[tuple[int, list[Item]]]] = {_RECORDS: []}
    for at in range(_RECORDS, len(payload) - 1):
        before = reached.get(at)
        if before is not None and len(before) < _MOST:
            for end, items in _items(payload, at + 2, payload[at + 1]).items():
                reached.setdefault(end, [*before, (payload[at], items)])
    return reached.get(len(payload))


def _items(payload: bytes, at: int, count: int) -> dict[int, list[Item]]:
    """So many identifiers with data from a place on, by where they may end; none where their number is not told."""
    ways: dict[int, list[Item]] = {at: []} if count else {}
    for _ in range(count):
        further: dict[int, list[Item]] = {}
        for begin, items in ways.items():
            if begin + 2 < len(payload) and payload[begin] == _PARAMETERS:
                pid = payload[begin + 1]
                for end in (begin + 2 + size for size in obd.pid_lengths().get(pid, ())):
                    if end <= len(payload):
                        further.setdefault(end, [*items, (pid, payload[begin + 2 : end])])
        ways = further
    return ways


def _as_service_02(messages: Messages, records: list[_Record]) -> Messages:
    """Each identifier as an answer of service 02, the record's place in the list as its frame number."""
    parts = [
        (record.row, bytes((_FREEZE_ANSWER, pid, number)) + data)
        for number, record in enumerate(records)
        for pid, data in record.items
    ]
    row = np.array([row for row, _ in parts], np.int64)
    length = np.array([len(part) for _, part in parts], np.int32)
    return Messages(
        t_s=messages.t_s[row], t_first_s=messages.t_first_s[row], source=messages.source[row],
        address=messages.address[row], extended=messages.extended[row], bus=messages.bus[row],
        start=np.cumsum(length, dtype=np.int64) - length, length=length,
        blob=np.frombuffer(b"".join(part for _, part in parts), np.uint8),
    )  # fmt: skip
