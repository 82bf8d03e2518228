"""Tables of CAN frames under foreign headings: real recordings by their counts, and frames made with python-can."""

from __future__ import annotations

import random
from pathlib import Path

import can
import numpy as np
import pytest

from logan.capture import read
from logan.errors import CaptureError
from logan.model.frames import EXTENDED, SENT, Frames


def frames_of(path: Path) -> Frames:
    content = read(path).content
    assert isinstance(content, Frames)
    return content


def some_frames(count: int) -> list[can.Message]:
    dice = random.Random(5)
    out = []
    for k in range(count):
        wide = dice.random() < 0.5
        out.append(
            can.Message(
                timestamp=100.0 + 0.01 * k, is_extended_id=wide,
                arbitration_id=dice.randrange(0x800, 1 << 29) if wide else dice.randrange(0x100, 0x800),
                data=dice.randbytes(dice.randrange(9)),
            )
        )  # fmt: skip
    return out


@pytest.mark.parametrize(
    ("heading", "row"),
    [
        ("Time [ms],ID,DLC,Data", "{t_ms:.3f},{id:X},{n},{spaced}"),
        ("timestamp;type;id;data", "{t:.6f};0;{id:x};{joined}"),
        ("Marked,Time,Bus,Identifier,Length,Payload,Errors", ",{t_ms:.3f}ms,one,0x{id:X},{n},{spaced},"),
    ],
)
def test_same_frames_as_python_can_made(tmp_path: Path, heading: str, row: str) -> None:
    made = some_frames(200)
    lines = [
        row.format(t=m.timestamp, t_ms=1e3 * m.timestamp, id=m.arbitration_id, n=m.dlc, joined=m.data.hex(),
                   spaced=m.data.hex(" ").upper())
        for m in made
    ]  # fmt: skip
    path = tmp_path / "frames.csv"
    path.write_text("\n".join([heading, *lines, ""]), "utf-8")
    got = frames_of(path)
    assert got.can_id.tolist() == [m.arbitration_id for m in made]
    assert ((got.flags & EXTENDED) != 0).tolist() == [m.is_extended_id for m in made]
    assert [got.data[k, : got.length[k]].tobytes() for k in range(len(got))] == [bytes(m.data) for m in made]
    assert got.t_s == pytest.approx([m.timestamp for m in made], abs=1e-6)


def test_identifiers_from_j1939_fields(tmp_path: Path) -> None:
    """SAE J1939-21: priority, parameter group and source make the identifier; EEC1 of the engine is 0CF00400."""
    path = tmp_path / "fields.csv"
    path.write_text(
        "no,time,pgn,priority,source,destination,data\n"
        + "".join(f"{k},{10 * k},61444,3,0,255,F0 FF 94 24 1C FF FF FF \n" for k in range(20))
        + "20,205,59904,6,0,3,00 EE 00 \n",
        "utf-8",
    )
    got = frames_of(path)
    assert hex(got.can_id[0]) == "0xcf00400"
    assert hex(got.can_id[-1]) == "0x18ea0300"
    assert got.t_s[-1] == pytest.approx(0.205), "without a unit: every 10 s would be far too seldom for EEC1"


def test_damaged_rows_are_counted_and_located(tmp_path: Path) -> None:
    path = tmp_path / "damaged.csv"
    path.write_text(
        "Time,ID,DLC,Data\n1ms,7E8,2,01 0C\n?,7E8,2,01 0C\n2ms,,2,0C\n3ms,7E8,3,01 0C\n4ms,7E8,2,01 0G\n5ms,7E8,1,AA\n",
        "utf-8",
    )
    capture = read(path)
    assert (capture.frames, capture.rejected) == (2, 4)
    assert sum(remark.count for remark in capture.remarks) == 4
    path.write_text("ID,Data\n7E8,01\n7E8,02\n", "utf-8")
    with pytest.raises(CaptureError, match="without a column of times"):
        read(path)


@pytest.mark.parametrize(
    ("name", "rows", "duration_s"),
    [
        ("j1939_tractor/scope_fault_left_sensor_1of3.csv", 1905, 5.109),
        ("j1939_tractor/scope_idle.csv", 1895, 9.55),
        ("j1939_tractor/scope_running_control.csv", 1864, 5.149),
        ("j1939_tractor/scope_startup_truncated.csv", 1999, 4.403),
        ("j1939_tractor/usb_high_rpm_1.csv", 7736, 29.61),
        ("j1939_tractor/usb_idle10s.csv", 6753, 21.579),
        ("j1939_tractor/usb_start_1.csv", 7519, 29.215),
    ],
)
def test_real_tables(captures: Path, name: str, rows: int, duration_s: float) -> None:
    """Rows and lengths of open recordings (MIT) as an independent reader counted them; every row is read or refused."""
    capture = read(captures / name)
    assert capture.frames + capture.rejected == rows
    assert capture.frames >= 0.85 * rows
    assert capture.duration_s == pytest.approx(duration_s, abs=0.002)
    frames = capture.content
    assert isinstance(frames, Frames)
    speed = frames.data[(frames.can_id & 0x00FFFF00) == 0x00F00400, 3:5].copy().view("<u2")[:, 0] * 0.125
    assert len(speed) > 30
    assert np.all(speed <= 1300.0)


def test_stamps_with_the_day_of_the_month(captures: Path) -> None:
    capture = read(captures / "logger_text" / "logger_semicolon.txt")
    frames = capture.content
    assert isinstance(frames, Frames)
    assert frames.can_id.tolist() == [0x7DF, 0x7E8] * 4
    assert ((frames.flags & SENT) != 0).tolist() == [True, False] * 4
    assert capture.start == pytest.approx(1483237351.683)  # 2017-01-01 02:22:31.683 by the comment in its head
    assert frames.t_s[-1] == pytest.approx(0.118)


def test_text_in_columns(captures: Path) -> None:
    capture = read(captures / "direction_flag" / "column_text_rx_flag.txt")
    twin = read(captures / "direction_flag" / "candump_rx_flag.log")
    a, b = capture.content, twin.content
    assert isinstance(a, Frames)
    assert isinstance(b, Frames)
    assert a.can_id.tolist() == b.can_id.tolist()
    assert np.array_equal(a.data, b.data)


FRAME = bytes.fromhex("04410C1AF8000000")  # 1726 rpm: published example of SAE J1979 PID 0C


@pytest.mark.parametrize(
    ("heading", "row"),
    [
        (
            "Time (s),CAN ID (hex),DLC," + ",".join(f"Byte {k}" for k in range(8)),
            "0x7E8,8,0x04,0x41,0x0C,0x1A,0xF8,0,0,0",
        ),
        ("Time,ID,DLC," + ",".join(f"D{k}" for k in range(1, 9)), "7E8,8,4,41,C,1A,F8,0,0,0"),
        ("Time,ID,DLC," + ",".join(f"D{k}" for k in range(8)), "2024,8,4,65,12,26,248,0,0,0"),
        ("Time,ID,Data", "7E8h,04 41 0C 1A F8 00 00 00"),
        ("Time,ID,Data", "2024,04 41 0C 1A F8 00 00 00"),
    ],
)
def test_ways_of_writing_identifiers_and_bytes(tmp_path: Path, heading: str, row: str) -> None:
    """2024 = 7E8 hexadecimal; how tables write it: common practice, no source."""
    path = tmp_path / "frames.csv"
    path.write_text(heading + "\n" + "".join(f"{0.1 * k:.1f},{row}\n" for k in range(9)))
    capture = read(path)
    assert isinstance(capture.content, Frames)
    assert capture.content.can_id.tolist() == [0x7E8] * 9
    assert not (capture.content.flags & EXTENDED).any()
    assert {data.tobytes() for data in capture.content.data} == {FRAME}
    expected = {"decimal_ids"} if "2024" in row else set()
    assert {remark.kind for remark in capture.remarks} == (expected | {"decimal_bytes"} if ",65," in row else expected)


def test_decimal_identifiers_of_29_bits(tmp_path: Path) -> None:
    path = tmp_path / "frames.csv"
    path.write_text("Time,ID,Data\n" + "".join(f"{0.1 * k:.1f},{0x0CF00400 + k % 2 * 256},00 01\n" for k in range(9)))
    capture = read(path)
    assert isinstance(capture.content, Frames)
    assert set(capture.content.can_id.tolist()) == {0x0CF00400, 0x0CF00500}
    assert (capture.content.flags & EXTENDED).all()


def test_hexadecimal_identifiers_of_digits_alone_stay_so(tmp_path: Path) -> None:
    path = tmp_path / "frames.csv"
    path.write_text("Time,ID,Data\n" + "".join(f"{0.1 * k:.1f},{100 + k},00 01\n" for k in range(9)))
    capture = read(path)
    assert isinstance(capture.content, Frames)
    assert capture.content.can_id.tolist() == [0x100 + k for k in range(9)]
    assert not capture.remarks
