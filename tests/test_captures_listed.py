"""Every recording of the folder of real recordings is read with the counts of the list beside it.

The list was made with other readers (python-can, asammdf, scapy, pandas, plain line readers). Where ours tell
something else, the reason stands here.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from logan.capture import read
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.frames import ERROR, EXTENDED, Frames

CAN_SECTION, TABLE_SECTION, EDGE_SECTION = 1, 3, 5
REFUSED = {
    "broadcast_petrol/empty.log": "is empty",
    "broadcast_petrol/tiny.log": "not recognised as a capture",  # 14 identifiers without data
    "broadcast_petrol/no_time_column.csv": "without a column of times",
    "pcap/doip.pcap.gz": "holds 172 packets, none of them a CAN frame",
    "pcap/doip_functional_request.pcap.gz": "holds 27 packets, none of them a CAN frame",
}
"""No frames with times by the list either; the one clear error says why."""
MORE = {
    "pcap/canfd.pcap.gz": 4,
    "binary_damaged/FileWithTruncatedCompressedLogContainer.blf": 1,
    "binary_damaged/FileWithTruncatedUncompressedLogContainer.blf": 1,
}
"""What the list's readers did not count: scapy has no layer for CAN FD under a cooked header, tshark reads 4; an object
that the header of a cut BLF file promises and that went with its end is one of the rejected records.
"""
ELSEWHERE = {
    "direction_flag/column_text_rx_flag.txt", "drive_tables_b/raw_pid_bytes.txt", "logger_text/logger_semicolon.txt",
    "serial_facts/exchanges.jsonl",
}  # fmt: skip
"""Recordings and facts that the list has no counts of; tests of their readers have."""


class Row(NamedTuple):
    """A line of the list: its section, records, seconds where it has them, identifiers of 11 and 29 bits."""

    section: int
    records: int
    duration_s: float | None
    identifiers: str


def listed(captures: Path) -> dict[str, Row]:
    rows, section = {}, 0
    for line in (captures / "README.md").read_text("utf-8").splitlines():
        if line.startswith("## "):
            section = int(line.split()[1])
        elif re.match(r"\| \w+/\S+ \| \d+ \|", line):
            name, records, duration_s, identifiers = (cell.strip() for cell in line.strip("|").split("|")[:4])
            rows[name] = Row(section, int(records), float(duration_s) if duration_s else None, identifiers)
    return rows


def differences(capture: Capture, row: Row) -> list[str]:
    """What a capture tells otherwise than its line of the list."""
    found = []
    records, duration_s = capture.frames + capture.rejected, capture.duration_s
    if isinstance(capture.content, Frames):
        frames = capture.content
        plain = frames.flags & ERROR == 0
        records -= int((~plain).sum())  # the list leaves error frames out
        if row.section == CAN_SECTION:
            t_s = frames.t_s[plain]
            duration_s = float(np.ptp(t_s)) if len(t_s) else None
            counts = [
                len(np.unique(frames.can_id[plain & (frames.flags & EXTENDED == flag)])) for flag in (0, EXTENDED)
            ]
            moved = any(remark.kind == "identifier" for remark in capture.remarks)  # said to be 11 bit, above 7FF
            ours = "{} / {}".format(*(reversed(counts) if moved else counts))
            if row.identifiers not in ("", "0 / 0", ours):  # 0 / 0: not counted
                found.append(f"identifiers {ours}")
    if records != row.records:
        found.append(f"{records} records")
    step_s = 0.06 if row.section not in (CAN_SECTION, TABLE_SECTION) else 0.0011  # as the list rounds
    if row.section != EDGE_SECTION and row.duration_s is not None and abs((duration_s or 0) - row.duration_s) > step_s:
        found.append(f"{duration_s} s")
    return found


def test_every_listed_recording_is_read_with_its_counts(captures: Path) -> None:
    rows = listed(captures)
    assert len(rows) > 80
    said, refused = {}, {}
    for name in rows.keys() | REFUSED.keys():
        try:
            capture = read(captures / name, hashed=False)
        except CaptureError as error:
            refused[name] = str(error)
            continue
        row = rows[name]._replace(records=rows[name].records + MORE.get(name, 0))
        if differences(capture, row):
            said[name] = differences(capture, row)
    assert said == {}
    assert refused.keys() == REFUSED.keys()
    assert not any(rows[name].records for name in refused if name in rows)
    assert all(reason in refused[name] for name, reason in REFUSED.items())


def test_no_recording_is_left_out(captures: Path) -> None:
    about = {"SOURCE.md", "LICENSE.txt", "README.md"}
    there = {f"{path.relative_to(captures)}" for path in captures.rglob("*")
             if path.is_file() and path.name not in about and path.suffix not in (".dbc", ".xml")
             and not path.name.endswith("_transcript.txt")}  # fmt: skip
    assert there - ELSEWHERE == listed(captures).keys() | REFUSED.keys()
    tests = "".join(path.read_text("utf-8") for path in Path(__file__).parent.glob("test_capture_*.py"))
    for name in ELSEWHERE:
        assert Path(name).stem in tests, name


@pytest.mark.parametrize(
    ("row", "said"),
    [
        (Row(1, 1457, 7.941, "6 / 0"), []),
        (Row(1, 1458, 7.941, "6 / 0"), ["1457 records"]),
        (Row(1, 1457, 7.951, "6 / 0"), ["7.94"]),
        (Row(1, 1457, 7.941, "5 / 1"), ["identifiers 6 / 0"]),
    ],
)
def test_a_difference_would_be_seen(captures: Path, row: Row, said: list[str]) -> None:
    found = differences(read(captures / "library_formats" / "issue_1256.asc"), row)
    assert len(found) == len(said)
    assert all(one.startswith(text) for one, text in zip(found, said, strict=True))
