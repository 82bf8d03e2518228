"""CAN text logs: the fast reader against its plain twin, against python-can, and on damaged files."""

from __future__ import annotations

import gzip
import hashlib
import itertools
from pathlib import Path

import can
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import can_text_plain, read
from logan.capture.can_text_plain import FD_LENGTHS, Row
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, REMOTE, SENT, Frames


def frames_of(capture: Capture) -> Frames:
    assert isinstance(capture.content, Frames)
    return capture.content


def rows_of(frames: Frames) -> list[tuple[int, str, int, int, bytes, int]]:
    t_ns = np.round(frames.t_s * 1e9).astype(np.int64) + frames.origin_ns
    out = []
    for k in range(len(frames)):
        size = 0 if frames.flags[k] & REMOTE else int(frames.length[k])
        data = frames.payload(np.array([k]))[0, :size].tobytes()
        out.append((int(t_ns[k]), frames.buses[frames.bus[k]], int(frames.can_id[k]), int(frames.flags[k]), data,
                    int(frames.length[k])))  # fmt: skip
    return out


def written(folder: Path, text: bytes, name: str = "drive.log") -> Path:
    path = folder / name
    path.write_bytes(text)
    return path


FORMS = b"""(0.5) can0 123#
(0001.25) can0 7FF#1122334455667788
(1.250001) vcan10 1FFFFFFF#a1B2c3
(1.3) can0 00000123#01
(1.4) can0 123##0
(1.45) can0 12345678##3AABBCCDDEEFF001122334455
(1.5) can0 123#R
(1.5) can0 123#R4
(1.6) can0 12345678#r8 T
(1.7) can0 123#01 R
(1.8) can0 123#01 T
(1.9) can0 20000080#0000000000000000
(2.0) 0 123#1122334455667788_9
  (2.1)  can0   123#01\t
(2.123456789) a_very_long_interface_name_of_40_characters 123#01
"""


def test_every_form_of_the_contract(tmp_path: Path) -> None:
    frames = frames_of(read(written(tmp_path, FORMS)))
    assert [row[1:] for row in rows_of(frames)][:6] == [
        ("can0", 0x123, 0, b"", 0),
        ("can0", 0x7FF, 0, bytes.fromhex("1122334455667788"), 8),
        ("vcan10", 0x1FFFFFFF, EXTENDED, b"\xa1\xb2\xc3", 3),
        ("can0", 0x123, EXTENDED, b"\x01", 1),
        ("can0", 0x123, FD, b"", 0),
        ("can0", 0x12345678, EXTENDED | FD | BRS | ESI, bytes.fromhex("AABBCCDDEEFF001122334455"), 12),
    ]
    by_time = {round(t_ns / 1e9, 6): row for t_ns, *row in rows_of(frames)}
    assert by_time[1.6] == ["can0", 0x12345678, EXTENDED | REMOTE | SENT, b"", 8]
    assert by_time[1.7] == ["can0", 0x123, 0, b"\x01", 1]
    assert by_time[1.8] == ["can0", 0x123, SENT, b"\x01", 1]
    assert by_time[1.9] == ["can0", 0x80, ERROR, bytes(8), 8]
    assert by_time[2.1] == ["can0", 0x123, 0, b"\x01", 1]


@pytest.mark.parametrize(
    ("line", "reason"),
    [
        (b"(1.0) can0 1234#01", "identifier of neither 3 nor 8"),
        (b"(1.0) can0 800#01", "identifier above 7FF"),
        (b"(1.0) can0 40000000#01", "identifier above 1FFFFFFF"),
        (b"(1.0) can0 123#0", "odd number"),
        (b"(1.0) can0 123#0G", "not hex"),
        (b"(1.0) can0 123#112233445566778899", "more than 8"),
        (b"(1.0) can0 123##0112233445566778899", "not a data length"),
        (b"(1.0) can0 123##", "flag digit"),
        (b"(99999999999.0) can0 123#01", "out of range"),
        (b"(16234", "not of the form"),
        (b"user@host:~$ ls", "not of the form"),
        (b"--", "not of the form"),
        (b"\x9f\x9f\x9f\x00", "not of the form"),
        ("(1.0) can0 １２３#01".encode(), "not of the form"),
    ],
)
def test_a_bad_line_is_counted_located_and_explained(tmp_path: Path, line: bytes, reason: str) -> None:
    good = b"(1.000000) can0 123#01\n"
    capture = read(written(tmp_path, good * 3 + line + b"\n" + good))
    assert (capture.frames, capture.rejected) == (4, 1)
    (remark,) = capture.remarks
    assert reason in remark.text
    assert (remark.kind, remark.count, remark.places) == ("bad_line", 1, ("line 4",))


def test_blank_lines_comments_line_ends_and_a_byte_order_mark(tmp_path: Path) -> None:
    text = b"\xef\xbb\xbf# driver: A\r\n\r\n(1700000000.000000) can0 123#01\r\n\n(1700000000.500000) can0 123#02 R\r\n"
    capture = read(written(tmp_path, text + b"(1700000001.0) can0 123#03"))
    assert (capture.frames, capture.rejected, capture.remarks) == (3, 0, ())
    assert capture.metadata == {"driver": "A"}
    assert (capture.start, capture.duration_s) == (1_700_000_000.0, 1.0)
    assert frames_of(capture).data[:, 0].tolist() == [1, 2, 3]


def test_relative_times_are_kept_as_they_are(tmp_path: Path) -> None:
    capture = read(written(tmp_path, b"(-1.5) can0 123#01\n(37.167999) can0 123#02\n"))
    assert frames_of(capture).t_s.tolist() == [-1.5, 37.167999]
    assert (capture.start, frames_of(capture).absolute, frames_of(capture).origin_ns) == (None, False, 0)


def test_gzip_is_seen_through_and_hashed_as_given(tmp_path: Path) -> None:
    packed = gzip.compress(FORMS)
    capture = read(written(tmp_path, packed, "drive.log.gz"))
    assert capture.frames == read(written(tmp_path, FORMS)).frames
    assert capture.sha256 == hashlib.sha256(packed).hexdigest()


def test_name_does_not_matter(tmp_path: Path) -> None:
    for name in ("drive.asc", "drive.csv", "drive", "drive.blf"):
        assert read(written(tmp_path, FORMS, name)).format == "CAN text log"


HEX = "0123456789abcdefABCDEF"
good_line = st.builds(
    lambda s, digits, channel, ident, tail, end: (
        f"({s:0{digits}d}{end}".encode() + f") {channel} {ident}{tail}".encode()
    ),
    st.integers(0, 3_000_000_000),
    st.sampled_from([1, 5, 10]),
    st.sampled_from(["can0", "can1", "vcan0", "0", "interface_name_x"]),
    st.one_of(
        st.integers(0, 0x8FF).map(lambda k: f"{k:03X}"),
        st.integers(0, 0x4FFFFFFF).map(lambda k: f"{k:08x}"),
        st.text(HEX, min_size=1, max_size=9),
    ),
    st.one_of(
        st.text(HEX, max_size=20).map(lambda d: "#" + d),
        st.binary(max_size=8).map(lambda d: "#" + d.hex()),
        st.sampled_from(sorted(FD_LENGTHS)).map(lambda n: "##1" + "5a" * n),
        st.text(HEX, max_size=140).map(lambda d: "##" + d),
        st.sampled_from(["#R", "#r5", "#R9", "#", "##", "", "#11 R", "#11 T", "#1122 r", "#112 t", "##0 T", "# R"]),
    ),
    st.one_of(st.just(""), st.text("0123456789", max_size=11).map(lambda f: "." + f)),
)
edits = st.tuples(st.integers(0, 200), st.integers(0, 255), st.sampled_from(["keep", "keep", "set", "cut", "insert"]))


def _edited(line: bytes, edit: tuple[int, int, str]) -> bytes:
    at, value, how = edit
    at = min(at, max(0, len(line) - 1))
    if how == "set":
        line = line[:at] + bytes((value,)) + line[at + 1 :]
    elif how == "insert":
        line = line[:at] + bytes((value,)) + line[at:]
    elif how == "cut":
        line = line[:at]
    return line.replace(b"\n", b"")


@settings(max_examples=250, deadline=None)
@given(st.lists(st.builds(_edited, good_line, edits), min_size=1, max_size=30), st.sampled_from([b"\n", b"\r\n"]))
def test_fast_reader_means_what_the_plain_one_means(
    tmp_path_factory: pytest.TempPathFactory, lines: list[bytes], end: bytes
) -> None:
    plain = [can_text_plain.parse(line) for line in lines]
    rows = [row for row in plain if isinstance(row, Row)]
    rows = [row._replace(t_ns=k * 1000 + row.t_ns % 1000) for k, row in enumerate(rows)]  # the clock has its own tests
    times = iter(rows)
    text = []
    for line, row in zip(lines, plain, strict=True):
        if isinstance(row, Row):
            stamp = next(times).t_ns
            line = b"(0.%09d" % stamp + line[line.index(b")") :]
        text.append(line)
    # two good lines first, so that the file is recognised and the common layout known
    lead = [b"(0.000000000) can0 123#01", b"(0.000000000) vcan0 123#01"]
    path = written(tmp_path_factory.mktemp("log"), end.join([*lead, *text]) + end)
    capture = read(path)
    got = rows_of(frames_of(capture))[2:]
    assert got == [(r.t_ns, r.channel.decode("utf-8", "replace"), *r[2:]) for r in rows]
    assert capture.rejected == sum(isinstance(row, str) for row in plain)


@settings(max_examples=200, deadline=None)
@given(st.lists(good_line, min_size=1, max_size=20))
def test_time_stamps_are_exact(tmp_path_factory: pytest.TempPathFactory, lines: list[bytes]) -> None:
    rows = [row for row in map(can_text_plain.parse, lines) if isinstance(row, Row)]
    if not rows or any(b.t_ns < a.t_ns for a, b in itertools.pairwise(rows)):
        lines = lines[:1]
        rows = [row for row in map(can_text_plain.parse, lines) if isinstance(row, Row)]
    if not rows:
        return
    frames = frames_of(read(written(tmp_path_factory.mktemp("log"), b"\n".join(lines))))
    origin = rows[0].t_ns if frames.absolute else 0
    assert frames.t_s.tolist() == [(row.t_ns - origin) / 1e9 for row in rows]


def python_can_rows(path: Path) -> list[tuple[float, str, int, bool, bool, bool, bool, bool, bytes, int]]:
    with can.LogReader(str(path)) as messages:
        return [
            (m.timestamp, str(m.channel), m.arbitration_id, m.is_extended_id, m.is_fd, m.is_remote_frame,
             m.bitrate_switch, m.is_rx, bytes(m.data), m.dlc)
            for m in messages
        ]  # fmt: skip


def same_as_python_can(path: Path) -> int:
    frames = frames_of(read(path))
    theirs = python_can_rows(path)
    ours = [
        (t_ns / 1e9, bus, can_id, bool(flags & EXTENDED), bool(flags & FD), bool(flags & REMOTE), bool(flags & BRS),
         not flags & SENT, data, length)
        for t_ns, bus, can_id, flags, data, length in rows_of(frames)
    ]  # fmt: skip
    assert [row[1:] for row in ours] == [row[1:] for row in theirs]
    assert [row[0] for row in ours] == pytest.approx([row[0] for row in theirs], abs=1e-6)
    return len(ours)


def test_against_python_can_on_its_own_logs(tmp_path: Path) -> None:
    rng = np.random.default_rng(7)
    path = tmp_path / "all.log"
    with can.CanutilsLogWriter(str(path)) as writer:
        for k in range(3000):
            extended = bool(rng.integers(2))
            fd = rng.random() < 0.3
            remote = not fd and rng.random() < 0.1
            size = int(rng.choice(sorted(FD_LENGTHS))) if fd else int(rng.integers(9))
            writer.on_message_received(
                can.Message(
                    timestamp=1_700_000_000 + k * 0.001, channel=f"can{rng.integers(3)}", is_extended_id=extended,
                    arbitration_id=int(rng.integers(1 << (29 if extended else 11))), is_fd=fd, is_remote_frame=remote,
                    bitrate_switch=fd and bool(rng.integers(2)), is_rx=bool(rng.integers(2)), dlc=size,
                    data=None if remote else rng.bytes(size),
                )
            )  # fmt: skip
    assert same_as_python_can(path) == 3000


@pytest.mark.parametrize(
    ("name", "count"),
    [
        ("broadcast_petrol/coolant_sensor_unplugged.log", 7090),
        ("broadcast_petrol/engine_start.log", 12711),
        ("broadcast_petrol/same_timestamps.log", 1215),
        ("direction_flag/candump_rx_flag.log", 300),
        ("obd_can/ev_uds_multiframe_b1.log", 4024),
        ("uds_multiframe/uds_van_candump.log", 8060),
    ],
)
def test_against_python_can_on_real_logs(captures: Path, name: str, count: int) -> None:
    assert same_as_python_can(captures / name) == count


@pytest.mark.parametrize(("name", "count"), [("obd_can/obd_car_a_02.log", 73785), ("obd_can/j1939_heavy_c.log", 57849)])
def test_counts_of_long_real_logs(captures: Path, name: str, count: int) -> None:
    capture = read(captures / name)
    assert (capture.frames, capture.rejected) == (count, 0)


DRIVE = b"".join(b"(%d.5) can0 %03X#%08X\n" % (k, k % 2048, k * 977) for k in range(50_000))


@pytest.mark.parametrize("harm", ["cut", "end cut", "wrong sum", "junk behind", "a bit"])
def test_a_damaged_gzip_file_gives_what_lies_before_the_damage(tmp_path: Path, harm: str) -> None:
    packed = bytearray(gzip.compress(DRIVE))
    if harm == "cut":
        del packed[len(packed) // 2 :]
    elif harm == "end cut":
        del packed[-5:]
    elif harm == "wrong sum":
        packed[-6] ^= 0xFF
    elif harm == "junk behind":
        packed += b"\x01\x02 not gzip"
    else:
        packed[len(packed) // 2] ^= 0x10
    capture = read(written(tmp_path, bytes(packed), "drive.log.gz"))
    said = [remark for remark in capture.remarks if remark.kind == "damaged"]
    assert len(said) == 1
    assert "unpacked bytes" in said[0].text
    assert capture.frames > (20_000 if harm in ("cut", "a bit") else 49_999 if harm != "end cut" else 49_000)
    assert capture.frames <= 50_000
    frames = capture.content
    assert isinstance(frames, Frames)
    if harm == "cut":  # every frame that is given is one that was recorded, to the last
        k = np.arange(capture.frames)
        assert np.array_equal(frames.can_id, k % 2048)
        assert np.array_equal(frames.data[:, :4].view(">u4").ravel(), k * 977)


def test_a_gzip_file_damaged_from_the_start_is_one_clear_error(tmp_path: Path) -> None:
    packed = gzip.compress(DRIVE)
    with pytest.raises(CaptureError, match="gzip compression is damaged"):
        read(written(tmp_path, packed[:12] + b"\xff" * 40, "drive.log.gz"))
