"""Reads the bytes of a K-line or of SAE J1850 in CSV into requests and answers."""

from __future__ import annotations

import itertools
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from logan.capture import csv_columns, csv_head, csv_time, j1850_frames, kline_frames, payloads, time_unit
from logan.capture.kline_csv import byte_column
from logan.capture.kline_frames import Message, Trouble
from logan.capture.payloads import Said
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.model.frames import Payloads

_PAUSE_NS: Final = 20_500_000
"""Longer than the longest pause between bytes of one message, P1 and P4 = 20 ms (ISO 9141-2, ISO 14230-2)."""
_LONG_PAUSE_NS: Final = 150_000_000
"""No message goes on after this: P1 and what a recorder that reads in blocks may add (from memory)."""
_ECHO_NS: Final = 50_000_000
"""A tester does not repeat a request sooner: P2 runs out first, then P3 begins at 55 ms (ISO 14230-2)."""


def read(source: Source) -> Parsed:
    """Requests and answers; bytes that belong to none are counted and located.

    Raises
    ------
    CaptureError : no row has a time
    """
    tally = Tally()
    head = csv_head.parse(source)
    assert head is not None  # it was recognised by its head
    time, column = head.time_column() or 0, byte_column(head) or 0
    words = csv_time.is_text(head, time)
    text = [column, time] if words else [column]
    stamps, cells = csv_columns.read(source, head, [time, column], tally, text, ragged=True)
    value = _bytes_of(cells)
    tally.add_rows("bad_value", "no byte in hex", np.flatnonzero(value < 0), lambda row: f"row {row + 1}")
    stamps, value = stamps[value >= 0], value[value >= 0]
    if words:
        times = csv_time.words(stamps, tally)
    else:
        unit = time_unit.of_bytes(head, time)
        unit.say(tally)
        times = csv_time.numbers(csv_columns.array(stamps), unit.factor_s)
    line = csv_time.timeline(times, head.metadata, source, tally, 0)
    octets, t_ns = _once(value[line.rows].astype(np.uint8), line.t_ns, tally)
    found, framing = _framed(octets.tobytes(), np.diff(t_ns, prepend=t_ns[:1]))
    said, records = _messages(found, t_ns, tally)
    content = Payloads(payloads.messages(said, 0), line.origin_ns, bool(line.origin_ns))
    rejected = tally.total("bad_checksum") + tally.total("cut_message")
    return Parsed(content, records, rejected, tally.remarks(), head.metadata, framing)


def _bytes_of(cells: pd.Series) -> NDArray[np.int16]:
    """Values of hex cells (n,), -1 where a cell holds no byte."""
    text = cells.fillna("").astype(str).str.strip().str.lower().str.removeprefix("0x")
    table = {f"{k:02x}": k for k in range(256)} | {f"{k:x}": k for k in range(16)}
    value: NDArray[np.int16] = np.asarray(text.map(table).fillna(-1), np.int16)
    return value


def _once(
    data: NDArray[np.uint8], t_ns: NDArray[np.int64], tally: Tally
) -> tuple[NDArray[np.uint8], NDArray[np.int64]]:  # fmt: skip
    """Bytes and times without the echo of requests of which every byte was recorded as sent and again as heard."""
    kept = np.ones(len(data), bool)
    starts = np.flatnonzero(np.diff(t_ns, prepend=t_ns[:1] - 2 * _PAUSE_NS) > _PAUSE_NS)
    for start, stop in itertools.pairwise([*starts.tolist(), len(data)]):
        half = data[start:stop:2]
        if (stop - start) % 2 or not np.array_equal(half, data[start + 1 : stop : 2]):
            continue
        if all(isinstance(one, Message) for one in kline_frames.messages(half.tobytes())):
            kept[start + 1 : stop : 2] = False
            place = f"byte {start + 1}, t = {t_ns[start] / 1e9:.6f} s"
            tally.add("echo", "request recorded twice, once as its echo: counted once", place)
    return data[kept], t_ns[kept]


def _framed(data: bytes, gap_ns: NDArray[np.int64]) -> tuple[list[Message | Trouble], str]:
    """Messages and trouble under the framing that more of the bytes obey, and its name.

    Both links use the same headers in emission diagnosis; the checksum of one is not the CRC of the other.
    """
    pause, long_pause = ((gap_ns > least).astype(np.uint8).tobytes() for least in (_PAUSE_NS, _LONG_PAUSE_NS))
    of_kline = list(kline_frames.messages(data, pause, long_pause))
    of_j1850 = list(j1850_frames.messages(data, pause))
    if _covered(of_j1850) > _covered(of_kline):
        return of_j1850, "SAE J1850"
    return of_kline, "K-line"


def _covered(found: list[Message | Trouble]) -> int:
    """Bytes in whole messages."""
    return sum(one.stop - one.start for one in found if isinstance(one, Message))


def _messages(run: list[Message | Trouble], t_ns: NDArray[np.int64], tally: Tally) -> tuple[list[Said], int]:
    """Payloads in order of time, and how many messages were read, echoes among them."""
    said: list[Said] = []
    records = 0
    before: Message | None = None
    for found in run:
        first_ns, last_ns = int(t_ns[found.start]), int(t_ns[found.stop - 1])
        place = f"byte {found.start + 1}, t = {first_ns / 1e9:.6f} s"
        if not isinstance(found, Message):
            count = found.stop - found.start if found.kind == "stray_byte" else 1
            tally.add(found.kind, found.text, place, count)
            continue
        records += 1
        if (
            before is not None
            and not found.answer
            and found[2:] == before[2:]
            and first_ns - said[-1].last_ns < _ECHO_NS
        ):
            tally.add("echo", "request recorded twice, once as its echo: counted once", place)
            continue
        before = found
        said.append(Said(first_ns, last_ns, found.identifier, True, found.payload))
    return said, records
