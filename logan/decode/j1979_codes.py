"""Trouble codes (services 03, 07, 0A), test results (06) and refusals (7F)."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from logan.decode.dtc import code_of, describe
from logan.decode.j1979_pids import places
from logan.decode.j1979_values import ecu_name
from logan.knowledge import obd
from logan.model.capture import Remark
from logan.model.frames import Messages
from logan.model.vehicle import MonitorTest, Refusal, TroubleCode

STATUS_OF_SERVICE = {0x03: "confirmed", 0x07: "pending", 0x0A: "permanent"}

RESPONSE_PENDING = 0x78
_TEST_BYTES = 9
_BITMAP_BYTES = 5


def trouble_codes(
    messages: Messages, rows: dict[int, NDArray[np.int64]]
) -> tuple[list[TroubleCode], list[Remark]]:  # fmt: skip
    """Codes that modules reported, each once for each status, at the time when it was first told.

    Parameters
    ----------
    rows : service -> its positive answers
    """
    found: dict[tuple[str, str, str], float] = {}
    cut: list[int] = []
    for service, status in STATUS_OF_SERVICE.items():
        for source, payload, row in distinct(messages, rows.get(service)):
            numbers, is_whole = _code_numbers(payload)
            if not is_whole:
                cut.append(row)
            for number in numbers:
                found.setdefault((code_of(number), status, ecu_name(source)), float(messages.t_first_s[row]))
    codes = []
    for (code, status, ecu), t_s in found.items():
        title, family = describe(code)
        codes.append(TroubleCode(code=code, status=status, ecu=ecu, title=title, t_s=t_s, family=family))
    remarks = []
    if cut:
        text = "answers with trouble codes hold another number of codes than they announce"
        remarks.append(Remark("code_count_differs", text, len(cut), places(messages, np.array(cut))))
    return codes, remarks


def _code_numbers(payload: bytes) -> tuple[list[int], bool]:
    """Codes in an answer, and whether it holds as many as it announces.

    On CAN a count comes first; on the older links there is none and empty places are 0000 (SAE J1979).
    """
    has_count = len(payload) % 2 == 0
    body = payload[2:] if has_count else payload[1:]
    numbers = [body[k] << 8 | body[k + 1] for k in range(0, len(body) - 1, 2)]
    codes = [number for number in numbers if number]
    if not has_count:
        return codes, True
    announced = payload[1]
    return codes, announced == len(numbers) or announced == len(codes)


def monitor_tests(messages: Messages, rows: NDArray[np.int64] | None) -> tuple[list[MonitorTest], list[Remark]]:
    """Results of service 06, of each module, monitor and test the last one."""
    found: dict[tuple[int, int, int], MonitorTest] = {}
    not_run: set[tuple[int, int, int]] = set()
    odd: list[int] = []
    unscaled: Counter[int] = Counter()
    for source, payload, row in distinct(messages, rows):
        body = payload[1:]
        if len(body) % _TEST_BYTES:
            # bit maps of the supported monitors, the older links' layout, or a damaged answer
            if len(body) % _BITMAP_BYTES or any(b % 0x20 for b in body[::_BITMAP_BYTES]):
                odd.append(row)
            continue
        for k in range(0, len(body), _TEST_BYTES):
            record = body[k : k + _TEST_BYTES]
            key = (source, record[0], record[1])
            if not any(record[3:]):
                not_run.add(key)
                continue
            if record[2] not in obd.scalings():
                unscaled[record[2]] += 1
            found[key] = _test(source, record)
    remarks = []
    if odd:
        text = "service 06: answers that are not in the layout for CAN; not decoded"
        remarks.append(Remark("monitor_test_unread", text, len(odd), places(messages, np.array(odd))))
    if waiting := not_run - found.keys():
        text = "service 06: tests whose value and limits are all zero: not run since codes were cleared"
        remarks.append(Remark("monitor_test_not_run", text, len(waiting)))
    if unscaled:
        text = f"service 06: unknown scaling ids, raw values kept: {', '.join(f'{k:02X}' for k in sorted(unscaled))}"
        remarks.append(Remark("unknown_scaling", text, unscaled.total()))
    return list(found.values()), remarks


def _test(source: int, record: bytes) -> MonitorTest:
    """One record of nine bytes: monitor, test, scaling, value, lowest and highest allowed value."""
    monitor, test, scaling_id = record[:3]
    scaling = obd.scalings().get(scaling_id)
    signed = scaling is not None and scaling.signed
    scale, offset, unit = (scaling.scale, scaling.offset, scaling.unit) if scaling else (1.0, 0.0, "raw")
    value, low, high = (
        int.from_bytes(record[k : k + 2], "big", signed=signed) * scale + offset for k in (3, 5, 7)
    )  # fmt: skip
    name = obd.monitor_names().get(monitor, f"monitor {monitor:02X}")
    of_test = obd.test_names().get(test, f"test {test:02X}")
    return MonitorTest(
        ecu=ecu_name(source), monitor_id=monitor, test_id=test, name=f"{name}: {of_test}",
        value=value, low=low, high=high, unit=unit, passed=low <= value <= high,
    )  # fmt: skip


def pending(messages: Messages, rows: NDArray[np.int64], service: int | None = None) -> NDArray[np.int64]:
    """Those of some negative responses that ask for more time before the answer, for one service or for any."""
    if not len(rows):
        return rows
    data = messages.matrix(rows, 3)
    asks = (messages.length[rows] >= 3) & (data[:, 2] == RESPONSE_PENDING)
    if service is not None:
        asks &= data[:, 1] == service
    chosen: NDArray[np.int64] = rows[asks]
    return chosen


def refusals(messages: Messages, rows: NDArray[np.int64]) -> list[Refusal]:
    """Negative responses, equal ones counted together; "response pending" is none."""
    data = messages.matrix(rows, 3)
    keys = messages.source[rows].astype(np.int64) << 16 | data[:, 1].astype(np.int64) << 8 | data[:, 2]
    is_refusal = (messages.length[rows] >= 3) & (data[:, 2] != RESPONSE_PENDING)
    distinct, counts = np.unique(keys[is_refusal], return_counts=True)
    meanings = obd.negative_responses() if len(distinct) else {}
    return [
        Refusal(
            ecu=ecu_name(key >> 16), service=key >> 8 & 0xFF, code=key & 0xFF,
            meaning=meanings.get(key & 0xFF, "reason not in the standard"), count=count,
        )
        for key, count in zip(distinct.tolist(), counts.tolist(), strict=True)
    ]  # fmt: skip


def distinct(messages: Messages, rows: NDArray[np.int64] | None) -> Iterator[tuple[int, bytes, int]]:
    """Sender, payload and first row of distinct answers, in order of their last time."""
    seen: dict[tuple[int, bytes], int] = {}
    for row in [] if rows is None else rows.tolist():
        key = (int(messages.source[row]), messages.payload(row))
        seen[key] = seen.pop(key, row)
    for (source, payload), row in seen.items():
        yield source, payload, row
