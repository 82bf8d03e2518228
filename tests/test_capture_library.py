"""Forms that python-can reads: same frames as python-can gives, and its silent losses made visible."""

from __future__ import annotations

import gzip
import sqlite3
import subprocess
import sys
import time
from importlib.util import find_spec
from pathlib import Path

import can
import numpy as np
import pytest

from logan.capture import read
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.frames import EXTENDED, FD, REMOTE, Frames

START = 1_700_000_000.0


def frames_of(capture: Capture) -> Frames:
    assert isinstance(capture.content, Frames)
    return capture.content


def message(k: int, rng: np.random.Generator, fd: bool) -> can.Message:
    extended, size = bool(k % 2), int(rng.choice((1, 8, 12, 64))) if fd else int(rng.integers(9))
    remote = not fd and k % 10 == 9
    return can.Message(
        timestamp=START + k * 0.01, arbitration_id=int(rng.integers(1 << (29 if extended else 11))),
        is_extended_id=extended, is_fd=fd, is_remote_frame=remote, channel=k % 2, dlc=size,
        data=None if remote else rng.bytes(size),
    )  # fmt: skip


@pytest.mark.parametrize(("suffix", "fd"), [("asc", True), ("asc", False), ("blf", True), ("blf", False),
                                            ("trc", False), ("csv", False), ("log", True)])  # fmt: skip
@pytest.mark.parametrize("packed", [False, True])
def test_writes_of_python_can_come_back(tmp_path: Path, suffix: str, fd: bool, packed: bool) -> None:
    rng = np.random.default_rng(3)
    sent = [message(k, rng, fd and k % 3 == 0) for k in range(300)]
    if suffix == "trc":  # its writer has no remote frames
        sent = [one for one in sent if not one.is_remote_frame]
    path = tmp_path / f"drive.{suffix}"
    with can.Logger(str(path)) as writer:
        for one in sent:
            writer.on_message_received(one)
    if packed:
        path.write_bytes(gzip.compress(path.read_bytes()))
    path = path.rename(tmp_path / "no_name_to_go_by")
    capture = read(path)
    frames = frames_of(capture)
    assert (len(frames), capture.rejected) == (len(sent), 0)
    rows = np.arange(len(sent))
    assert frames.can_id.tolist() == [one.arbitration_id for one in sent]
    assert ((frames.flags & EXTENDED) != 0).tolist() == [one.is_extended_id for one in sent]
    assert ((frames.flags & FD) != 0).tolist() == [one.is_fd for one in sent]
    assert ((frames.flags & REMOTE) != 0).tolist() == [one.is_remote_frame for one in sent]
    payload = frames.payload(rows)
    for row, one in enumerate(sent):
        if not one.is_remote_frame:
            assert payload[row, : frames.length[row]].tobytes() == bytes(one.data)
    assert frames.t_s - frames.t_s[0] == pytest.approx(
        np.array([one.timestamp for one in sent]) - START, abs=2e-3 if suffix == "trc" else 1e-5
    )


def test_sqlite(tmp_path: Path) -> None:
    path = tmp_path / "drive"
    with sqlite3.connect(path) as base:  # the table that python-can documents
        base.execute("CREATE TABLE messages (ts REAL, arbitration_id INTEGER, extended INTEGER, remote INTEGER, "
                     "error INTEGER, dlc INTEGER, data BLOB)")  # fmt: skip
        base.executemany("INSERT INTO messages VALUES (?, ?, ?, ?, ?, ?, ?)",
                         [(START + k, 0x100 + k, 0, 0, 0, 2, bytes((k, k))) for k in range(5)])  # fmt: skip
    base.close()
    capture = read(path)
    assert (capture.frames, capture.start, capture.format) == (5, START, "CAN log, SQLite data base")
    assert frames_of(capture).data[:, 1].tolist() == [0, 1, 2, 3, 4]


ASC = """date Sat Sep 30 15:06:13.191 2017
base hex  timestamps {stamps}
internal events logged
// made for this test
Begin Triggerblock Sat Sep 30 15:06:13.191 2017
   0.000000 Start of measurement
   0.100000 1  123             Rx   d 2 11 22
   0.200000 1  Statistic: D 0 R 0 XD 0 XR 0 E 0 O 0 B 0.00%
   0.300000 1  124             Rx   d 2 33 4G
   0.400000 1  125             Rx   d 4 55 66
   0.500000 1  18DAF110x       Tx   d 1 77
End TriggerBlock
"""


def test_what_python_can_passes_over_is_counted(tmp_path: Path) -> None:
    path = tmp_path / "drive.asc"
    path.write_text(ASC.format(stamps="absolute"))
    capture = read(path)
    frames = frames_of(capture)
    assert frames.can_id.tolist() == [0x123, 0x125, 0x18DAF110]
    assert (frames.t_s - frames.t_s[0]).tolist() == pytest.approx([0, 0.3, 0.4], abs=1e-6)
    assert capture.rejected == 1
    assert {(r.kind, r.count, r.places) for r in capture.remarks} == {
        ("bad_line", 1, ("line 9",)), ("not_a_frame", 1, ("line 8",)), ("length", 1, ("record 2",)),
        ("time_zone", 1, ("header",)),
    }  # fmt: skip
    assert frames.length.tolist() == [2, 2, 1]


def test_stamps_that_count_from_the_line_before(tmp_path: Path) -> None:
    path = tmp_path / "drive.asc"
    path.write_text(ASC.format(stamps="relative"))
    frames = frames_of(read(path))
    assert (frames.t_s - frames.t_s[0]).tolist() == pytest.approx([0, 0.9, 1.4], abs=1e-6)


def test_an_unknown_date_leaves_times_from_the_start(tmp_path: Path) -> None:
    path = tmp_path / "drive.asc"
    path.write_text(ASC.format(stamps="absolute").replace("Sep", "wrz"))
    capture = read(path)
    assert (capture.frames, capture.start) == (3, None)
    assert any(r.kind == "no_start_time" for r in capture.remarks)
    assert frames_of(capture).t_s[0] == pytest.approx(0.1)


def test_a_cut_binary_file_gives_what_it_holds(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    path = tmp_path / "drive.blf"
    with can.BLFWriter(str(path), max_container_size=2000) as writer:
        for k in range(500):
            writer.on_message_received(message(k, rng, False))
    path.write_bytes(path.read_bytes()[:-900])
    capture = read(path)
    assert 300 < capture.frames < 500
    assert any(r.kind == "damaged" and "cut short" in r.text for r in capture.remarks)


def test_a_header_alone_is_one_clear_error(tmp_path: Path) -> None:
    for name, head in (("a.blf", b"LOGG\x90\0\0\0"), ("a.db", b"SQLite format 3\0 messages")):
        (tmp_path / name).write_bytes(head)
        with pytest.raises(CaptureError) as caught:
            read(tmp_path / name)
        assert name in str(caught.value)


def test_a_binary_form_is_named_by_its_letters(tmp_path: Path) -> None:
    with can.Logger(tmp_path / "a.blf") as log:
        log.on_message_received(can.Message(timestamp=1.0, arbitration_id=0x7E8, data=[1]))
    assert read(tmp_path / "a.blf").recognised.startswith("begins with 'LOGG' (")


def test_python_can_is_loaded_only_when_it_is_needed() -> None:
    code = "import logan.capture, sys; print([m for m in ('can', 'pandas', 'scipy', 'cantools') if m in sys.modules])"
    assert _run(code) == "[]"


def _run(code: str) -> str:
    root = Path(__file__).parent.parent
    return subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    ).stdout.strip()


REAL = {
    "library_formats/issue_1256.asc": 1457, "library_formats/issue_1299.asc": 4, "library_formats/logfile.asc": 20,
    "library_formats/logfile_errorframes.asc": 12, "library_formats/single_frame.asc": 1,
    "library_formats/test_CanErrorFrames.asc": 4, "library_formats/test_CanFdMessage.asc": 3,
    "library_formats/test_CanMessage.asc.gz": 2, "library_formats/issue_1905.blf": 22,
    "library_formats/test_CanFdMessage64.blf": 2, "library_formats/test_CanErrorFrameExt.blf": 2,
    "library_formats/test_CanMessage_V1_0_BUS1.trc": 11, "library_formats/test_CanMessage_V1_1.trc": 11,
    "library_formats/test_CanMessage_V1_3.trc": 11, "library_formats/test_CanMessage_V2_0_BUS1.trc": 11,
    "library_formats/test_CanMessage_V2_1.trc": 11, "broadcast_petrol/low_coolant_temp.trc": 1461,
    "binary_damaged/FileWithTruncatedCanMessage.blf": 1, "binary_damaged/FileWithUnknownObjectType.blf": 1,
    "binary_damaged/FileWithTruncatedCompressedLogContainer.blf": 1, "binary_damaged/FileWithoutLogContainers.blf": 0,
}  # fmt: skip
"""Frames counted by independent readers, error frames included."""


def test_counts_of_real_files(captures: Path) -> None:
    assert {name: read(captures / name).frames for name in REAL} == REAL


@pytest.mark.skipif(find_spec("asammdf") is None, reason="asammdf is not installed: pip install 'python-can[mf4]'")
def test_mdf_holds_the_same_frames_as_the_text_log(captures: Path) -> None:
    for name, frames in (("ev_uds_multiframe_b1", 4024), ("obd_car_a_02", 73785)):
        binary = read(captures / "obd_can" / f"{name}.mf4")
        text = frames_of(read(captures / "obd_can" / f"{name}.log"))
        assert binary.frames == frames
        assert np.array_equal(frames_of(binary).can_id, text.can_id)
        assert np.array_equal(frames_of(binary).data, text.data)
        assert frames_of(binary).t_s == pytest.approx(text.t_s, abs=1e-6)


def test_without_its_library_mdf_says_what_to_install(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("can.io.mf4.asammdf", None)
    (tmp_path / "a.mf4").write_bytes(b"MDF     4.10    ".ljust(64, b"\0"))
    with pytest.raises(CaptureError, match="pip install"):
        read(tmp_path / "a.mf4")


def test_a_damaged_header_ends_in_one_clear_error(tmp_path: Path) -> None:
    path = tmp_path / "drive.trc"
    path.write_text(
        ";$FILEVERSION=2.1\n;$STARTTIME=x44548.6\n;$COLUMNS=N,O,T,B,I,d,R,L,D\n1 1059.9 DT 1 0300 Rx - 1 00\n"
    )
    with pytest.raises(CaptureError, match="header is damaged"):
        read(path)


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "America/New_York"])
def test_a_date_without_zone_means_the_same_on_every_machine(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, zone: str
) -> None:
    path = tmp_path / "drive.asc"
    path.write_text(ASC.format(stamps="absolute"))
    monkeypatch.setenv("TZ", zone)
    time.tzset()
    try:
        assert read(path).start == pytest.approx(1_506_783_973.191 + 0.1, abs=1e-5)
    finally:
        monkeypatch.undo()
        time.tzset()
