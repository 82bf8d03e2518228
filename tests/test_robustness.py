"""What no recorder writes: bombs, counts of 2^32, endless lines, numbers that are none, identifiers out of range.

The fuzzing itself is ``tests/tools/measure_robustness.py``; here stand what it found and the classic traps.
"""

from __future__ import annotations

import bz2
import contextlib
import gzip
import io
import lzma
import random
import re
import sqlite3
import struct
import sys
import time
import wave
import zipfile
import zlib
from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import can
import numpy as np
import pytest
from bounded import read
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logan import capture
from logan.capture import can_text_loop, csv_head, library_lines, mdf_guard
from logan.decode import dbc_file
from logan.dsp import wheel
from logan.errors import CaptureError, KnowledgeError
from logan.knowledge import load, profiles
from logan.model.capture import Capture
from logan.model.frames import Frames
from logan.model.profile import EngineProfile
from logan.model.sensor import Edges, Waveform
from logan.native import kernels

sys.path.append(str(Path(__file__).parent / "tools"))

from robustness import mutate, seeds, targets

needs_asammdf = pytest.mark.skipif(
    find_spec("asammdf") is None, reason="asammdf is not installed: pip install 'python-can[mf4]'"
)


def zipped(content: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        file.writestr("a.log", content)
    return out.getvalue()


def good(path: Path, content: bytes) -> Capture:
    found = read(path, content)
    assert isinstance(found, Capture), found
    return found


def kinds(found: Capture) -> dict[str, str]:
    return {remark.kind: remark.text for remark in found.remarks}


@pytest.mark.parametrize("head", [seeds.VCD, seeds.LOG, b"time_s,crank_v\n0.0,1.0\n0.1,2.0\n"])
def test_a_gzip_file_that_unpacks_without_end_is_refused(tmp_path: Path, head: bytes) -> None:
    packing = zlib.compressobj(9, wbits=31)
    content = packing.compress(head) + b"".join(packing.compress(bytes(1 << 20)) for _ in range(300)) + packing.flush()
    path = tmp_path / "bomb.gz"
    path.write_bytes(content)
    begin = time.process_time()
    with pytest.raises(CaptureError, match="unpacks to more than 64 MiB"):
        capture.read(path)
    assert time.process_time() - begin < 3.0


def pcap_of(length: int, link: int = 227) -> bytes:
    head = struct.pack("<IHHiIII", 0xA1B2C3D4, 2, 4, 0, 0, 65535, link)
    frame = struct.pack(">IB3x8s", 0x7E8, 8, bytes.fromhex("04410C1AF8AAAAAA"))
    whole = struct.pack("<IIII", 1_700_000_000, 0, 16, 16) + frame
    return head + whole + struct.pack("<IIII", 1_700_000_000, 1, length, length) + frame


@pytest.mark.parametrize("length", [0xFFFFFFFF, 0x80000000, 262_145])
def test_a_packet_of_4_gib_ends_the_reading_there(tmp_path: Path, length: int) -> None:
    found = good(tmp_path / "a.pcap", pcap_of(length))
    assert found.frames == 1
    assert "cut_short" in kinds(found)


@pytest.mark.parametrize("size", [0, 8, 13, 0xFFFFFFFC, 0xFFFFFFFF])
def test_a_pcapng_block_of_an_impossible_length_ends_the_reading_there(tmp_path: Path, size: int) -> None:
    whole = seeds.pcap(seeds.talk(), ng=True, cooked=False)
    found = good(tmp_path / "a.pcapng", whole + struct.pack("<III", 6, size, 0))
    assert found.frames == 8
    assert "cut_short" in kinds(found)


def blf_of(objects: bytes, packed: bool = True) -> bytes:
    """A BLF file of one container; the layout is that of python-can's writer."""
    body = zlib.compress(objects, 9) if packed else objects
    container = struct.pack("<H6xI4x", 2 if packed else 0, len(objects) & 0xFFFFFFFF) + body
    head = seeds.library_forms(seeds.talk())[".blf"][:144]
    return (
        head + struct.pack("<4sHHII", b"LOBJ", 16, 1, 16 + len(container), 10) + container + bytes(len(container) % 4)
    )


def blf_message(size: int = 48) -> bytes:
    base = struct.pack("<4sHHII", b"LOBJ", 32, 1, size, 86)
    return base + struct.pack("<IHHQ", 2, 0, 0, 0) + struct.pack("<HBBI8s8x", 1, 0, 8, 0x7E8, bytes(range(8)))[:16]


def test_a_blf_object_of_no_length_does_not_keep_the_reader(tmp_path: Path) -> None:
    found = good(tmp_path / "a.blf", blf_of(blf_message() + blf_message(size=0)))
    assert found.frames == 1
    assert any("0 bytes long" in remark.text for remark in found.remarks)


def test_a_blf_container_that_unpacks_without_end_is_damage(tmp_path: Path) -> None:
    found = read(tmp_path / "a.blf", blf_of(bytes(100 << 20)))
    assert isinstance(found, CaptureError)
    assert "unpacks to more than 16 MiB" in str(found)


def test_blf_containers_that_unpack_to_many_frames_are_damage_from_there_on(tmp_path: Path) -> None:
    """300,000 frames, each like the others, in 42 KB: python-can takes microseconds and half a kilobyte for each."""
    found = good(tmp_path / "a.blf", blf_of(blf_message()) + blf_of(blf_message() * 300_000)[144:])
    assert found.frames == 1
    assert "unpack to more than 2 MiB" in kinds(found)["damaged"]


def test_a_packed_blf_file_is_measured_by_what_was_given(tmp_path: Path) -> None:
    """Containers that are alike may be packed a thousand times again."""
    container = blf_of(blf_message() * 250)[144:]
    found = read(tmp_path / "a.blf.gz", gzip.compress(blf_of(blf_message()) + container * 20_000, 9))
    assert isinstance(found, Capture)
    assert "unpack to more than" in kinds(found)["damaged"]
    frames = [can.Message(timestamp=k / 100, arbitration_id=k % 9, is_extended_id=False) for k in range(2000)]
    packed = gzip.compress(seeds.library_forms(frames)[".blf"])
    assert good(tmp_path / "b.blf.gz", packed).frames == 2000


@pytest.mark.parametrize("pack", [lzma.compress, bz2.compress, zipped])
def test_what_is_packed_in_other_ways_is_not_unpacked(tmp_path: Path, pack: Callable[[bytes], bytes]) -> None:
    found = read(tmp_path / "a.log", pack(seeds.LOG + bytes(64 << 20)))
    assert isinstance(found, CaptureError)


def test_rows_of_sqlite_that_hold_less_than_they_give_end(tmp_path: Path) -> None:
    """A column with a default is not kept in the rows that were there before it."""
    path = tmp_path / "a.db"
    with contextlib.closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE messages (ts, arbitration_id, extended, remote, error, dlc)")
        base.executemany("INSERT INTO messages VALUES (?, 1, 0, 0, 0, 8)", [(k / 10,) for k in range(2000)])
        base.execute(f"ALTER TABLE messages ADD COLUMN data DEFAULT x'{'00' * 3000}'")
    assert good(path, path.read_bytes()).frames == 2000
    with contextlib.closing(sqlite3.connect(path)) as base, base:
        base.execute("ALTER TABLE messages RENAME COLUMN data TO note")
        base.execute(f"ALTER TABLE messages ADD COLUMN data DEFAULT x'{'00' * 900_000}'")
    assert isinstance(read(path, path.read_bytes()), CaptureError)


def test_a_blf_object_of_4_gib_is_damage(tmp_path: Path) -> None:
    found = good(tmp_path / "a.blf", blf_of(blf_message() + blf_message(size=0xFFFFFFFF) + bytes(1 << 20)))
    assert found.frames == 1


def test_a_wav_file_of_4_gib_by_its_header(tmp_path: Path) -> None:
    made = io.BytesIO()
    with wave.open(made, "wb") as file:
        file.setparams((2, 2, 10_000, 0, "NONE", ""))
        file.writeframes(np.arange(-200, 200, dtype="<i2").tobytes())
    content = bytearray(made.getvalue())
    content[4:8] = content[40:44] = b"\xff\xff\xff\xff"
    found = good(tmp_path / "a.wav", bytes(content))
    assert found.frames == 200
    assert "damaged" in kinds(found)


@pytest.mark.parametrize(
    ("name", "begin", "piece"),
    [
        ("a.log", seeds.LOG, b"(1700000000.000000) can0 7E8#" + b"00" * 1000),
        ("a.csv", b"time_s,crank_v,cam_v\n0.0,1.0,2.0\n0.1,1.0,2.0\n", b"1,2," * 500),
        ("a.csv", seeds.TABLE, b'"1","2",' * 500),
        ("a.txt", seeds.SERIAL, b"41 0C 1A F8 " * 200),
        ("a.vcd", seeds.VCD, b"1!" * 1000),
        ("a.asc", seeds.library_forms(seeds.talk())[".asc"], b"0.1 1 7E8 Rx d 8 " + b"00 " * 1000),
        ("a.trc", seeds.library_forms(seeds.talk())[".trc"], b"9) 0.1 Rx 7E8 8 " + b"00 " * 1000),
    ],
)
def test_an_endless_line_stops_nothing(tmp_path: Path, name: str, begin: bytes, piece: bytes) -> None:
    content = begin + piece * (4_000_000 // len(piece))
    assert good(tmp_path / name, content).frames >= 2


@pytest.mark.parametrize("word", [b"nan", b"inf", b"-Infinity", b"1e999", b"-1e308", b"99999999999999999999"])
def test_numbers_that_are_none(tmp_path: Path, word: bytes) -> None:
    """The rows around keep what they say, and nothing infinite comes out."""
    for name, head, row in (
        ("t.csv", b"time [s],Engine RPM [rpm],Speed [km/h]\n", b"%b,800,%b\n"),
        ("w.csv", b"time_s,crank_v,cam_v\n", b"%b,1.0,%b\n"),
        ("f.csv", b"Time [ms],ID,DLC,Data\n", b"%b,7E8,3,02 41 %.0b0C\n"),
    ):
        rows = [row % ((b"%d" % k) if k != 20 else word, b"5" if k != 30 else word) for k in range(60)]
        found = good(tmp_path / name, head + b"".join(rows))
        assert found.frames >= 58
        content = found.content
        assert content is not None
        times = content.t_s if isinstance(content, Frames | Waveform) else content.channels[0].t_s
        assert np.isfinite(np.asarray(times)).all()
        if isinstance(content, Waveform):
            assert not any(np.isinf(np.asarray(volts)).any() for volts in content.volts.values())


def test_a_number_that_float32_does_not_hold_is_no_voltage(tmp_path: Path) -> None:
    rows = b"".join(b"%.3f,%s,1.0\n" % (0.001 * k, b"1e300" if k == 7 else b"%d" % (k % 2)) for k in range(50))
    found = good(tmp_path / "w.csv", b"time_s,crank_v,cam_v\n" + rows)
    assert kinds(found)["bad_value"] == "no voltage of crank"


@pytest.mark.parametrize("word", [b"20000000", b"FFFFFFFF", b"-1", b"123456789ABCDEF012", b"-99999999999999999999999"])
def test_identifiers_out_of_range_are_counted(tmp_path: Path, word: bytes) -> None:
    rows = b"".join(b"%.1f,%b,3,02 41 0C\n" % (k, word if k == 20 else b"7E8") for k in range(40))
    found = good(tmp_path / "f.csv", b"Time [ms],ID,DLC,Data\n" + rows)
    assert (found.frames, found.rejected) == (39, 1)


def test_a_vcd_time_that_int64_does_not_hold(tmp_path: Path) -> None:
    found = good(tmp_path / "a.vcd", seeds.VCD + b"#99999999999999999999999\n1!\n#60\n0!\n")
    assert isinstance(found.content, Edges)
    assert kinds(found)["bad_line"] == "time that is no number, or too large"
    ages = seeds.VCD.replace(b"10 us", b"100 s") + b"#999999999999\n1!\n"
    assert "bad_line" in kinds(good(tmp_path / "b.vcd", ages))


def test_a_vcd_code_that_looks_like_a_time(tmp_path: Path) -> None:
    """IEEE 1364-2005, 18.2: an identifier code is any printable character, the mark of a time among them."""
    content = seeds.VCD.replace(b"1 ! crank", b"1 # crank").replace(b"!", b"#").replace(b"b1 #", b"b1 #\n#50\nb0 #")
    found = good(tmp_path / "a.vcd", content)
    assert isinstance(found.content, Edges)
    assert "bad_line" not in kinds(found)


@pytest.mark.parametrize("suffix", [".asc", ".trc", ".csv", ".blf", ".db", ".mf4"])
def test_a_file_cut_anywhere_gives_its_first_frames_or_one_error(
    tmp_path: Path, suffix: str, capfd: pytest.CaptureFixture[str]
) -> None:
    whole = seeds.library_forms(seeds.talk())[suffix]
    for end in np.linspace(1, len(whole) - 1, 12).astype(int):
        read(tmp_path / f"a{suffix}", whole[:end])
    assert capfd.readouterr() == ("", "")


@pytest.mark.parametrize("start", ["inf", "1e300", "9" * 5000, "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00"])
def test_a_start_that_no_clock_shows_is_left_out(tmp_path: Path, start: str) -> None:
    found = good(tmp_path / "a.csv", f"# start: {start}\n".encode() + seeds.EDGES)
    assert kinds(found)["bad_start"] == "start time out of range: left out"
    assert found.start is None


def test_a_line_time_of_the_year_9999_is_none(tmp_path: Path) -> None:
    lines = b"".join(b"9999-12-31T23:59:%02d 7E8 04 41 0C 1A F8\n" % k for k in range(20))
    read(tmp_path / "a.txt", b">010C\n" + lines)


def test_a_line_of_64_mib_takes_no_longer_for_each_byte(tmp_path: Path) -> None:
    head = b"time_s,crank_v\n0.0,1.0\n0.1,2.0\n"
    begin = time.process_time()
    for size in (4 << 20, 32 << 20):
        path = tmp_path / "a.csv"
        path.write_bytes(head + bytes(size))
        assert capture.read(path).frames == 2
    assert time.process_time() - begin < 10.0


@pytest.mark.parametrize("text", [
    b"a = " + b"[" * 5000, b"a = " + b"{a=" * 5000, b"a" + b".a" * 20_000 + b" = 1", b"[a" + b".a" * 20_000 + b"]",
    b"x = {" + b"a." * 20_000 + b"a = 1}", b"a = " + b"9" * 5000, b"a = " + b"[" * 300 + b"]" * 300,
])  # fmt: skip
def test_a_data_file_of_endless_depth_or_digits_is_one_clear_error(tmp_path: Path, text: bytes) -> None:
    path = tmp_path / "own.toml"
    path.write_bytes(text)
    begin = time.process_time()
    with pytest.raises(KnowledgeError, match=r"own\.toml"):
        profiles.read(path)
    with pytest.raises(KnowledgeError, match=r"own\.toml"):
        load.overlaid(path, EngineProfile, EngineProfile())
    assert time.process_time() - begin < 1.0


def test_a_table_that_is_computed_is_refused(tmp_path: Path) -> None:
    """SQLite makes its rows without end out of nothing, or one row of as many bytes as it likes."""
    path = tmp_path / "a.db"
    for table in (
        "VIEW messages AS WITH RECURSIVE t(n) AS (SELECT 1 UNION ALL SELECT n + 1 FROM t) "
        "SELECT 1.0 + n, 1, 0, 0, 0, 1, x'00' FROM t",
        "TABLE messages(ts, arbitration_id, extended, remote, error, dlc, data AS (zeroblob(500000000)))",
    ):
        path.unlink(missing_ok=True)
        with contextlib.closing(sqlite3.connect(path)) as base, base:
            base.execute(f"CREATE {table}")
        found = read(path, path.read_bytes())
        assert isinstance(found, CaptureError)
        assert "computes its frames" in str(found)


def test_pages_of_a_table_that_lead_back_to_each_other_end(tmp_path: Path) -> None:
    """Six pages, each with the next one 61 times, make 250 thousand million rows (SQLite's file format, 1.6)."""
    path = tmp_path / "a.db"
    with contextlib.closing(sqlite3.connect(path)) as base, base:
        base.execute("PRAGMA page_size = 512")
        base.execute("CREATE TABLE messages (ts, arbitration_id, extended, remote, error, dlc, data)")
        base.executemany("INSERT INTO messages VALUES (?, 1, 0, 0, 0, 1, x'00')", [(k / 10,) for k in range(5)])
    head, leaf = path.read_bytes()[:512], path.read_bytes()[512:]
    assert len(leaf) == 512
    pages = []
    for child in range(3, 9):
        cells = [struct.pack(">IB", child, 1 + k) for k in range(60)]
        places = [512 - 5 * (60 - k) for k in range(60)]
        begin = struct.pack(">BHHHBI", 5, 0, 60, places[0], 0, child) + struct.pack(">60H", *places)
        pages.append(begin.ljust(places[0], b"\0") + b"".join(cells))
    content = b"".join((head[:28], struct.pack(">I", 8), head[32:], *pages, leaf))
    found = good(path, content)
    assert found.frames <= len(content) // 4
    assert "lead back to each other" in kinds(found)["damaged"]


@needs_asammdf
@pytest.mark.parametrize(("block", "place"), [(b"##CN", 92), (b"##CN", 96), (b"##CG", 96)])
def test_an_mdf_whose_channels_lie_outside_its_records_is_refused(tmp_path: Path, block: bytes, place: int) -> None:
    """Bytes 92 and 96 of a channel are its place and its bits, byte 96 of a group is the length of its records.

    asammdf's compiled code reads where the file says, which ends the program: unguarded this test kills its runner.
    """
    whole = seeds.library_forms(seeds.talk())[".mf4"]
    assert good(tmp_path / "a.mf4", whole).frames == len(seeds.talk())
    places = [found.start() for found in re.finditer(re.escape(block), whole)]
    for at in places[:3]:
        content = bytearray(whole)
        content[at + place : at + place + 4] = b"\x00\x00\x00\x40"
        found = read(tmp_path / "a.mf4", bytes(content))
        assert isinstance(found, CaptureError)
        assert "outside its record" in str(found)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("a.txt", seeds.SERIAL + b"\n" * 65_536),
        ("a.txt", seeds.SERIAL + b"#" + b" " * 65_536),
        ("a.txt", seeds.SERIAL + (b" " * 4000 + b"x\n") * 16),
        ("a.txt", seeds.SERIAL + (b"-" * 4000 + b"x\n") * 16),
        ("a.vcd", seeds.VCD.replace(b"$enddef", b"$a " * 20_000 + b"$enddef")),
        ("a.vcd", seeds.VCD.replace(b"$end $t", b" " * 60_000 + b"$end $t")),
        ("a.csv", b"time_s,crank_v,cam_v" + b"," * 60_000 + b"\n0.0,1.0,2.0\n0.1,1.0,2.0\n"),
        ("a.csv", b"time_s,crank" + b" " * 60_000 + b"v,cam_v\n0.0,1.0,2.0\n0.1,1.0,2.0\n"),
    ],
)
def test_long_runs_of_one_mark_take_their_length_and_not_its_square(tmp_path: Path, name: str, content: bytes) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    begin = time.process_time()
    with contextlib.suppress(CaptureError):
        capture.read(path)
    assert time.process_time() - begin < 1.0 * len(content) / 65_536


@pytest.mark.parametrize(
    ("cell", "name", "unit"),
    [
        ("Coolant [degC]", "Coolant", "degC"), (" Speed ( km/h ) ", "Speed", "km/h"), ("a [b] [c]", "a [b]", "c"),
        ("a [b", "a [b", ""), ("a b]", "a b]", ""), ("[rpm]", "", "rpm"), ("a [[b]", "a", "[b"),
        ("a (b) c", "a (b) c", ""),
        ("a (b]", "a (b]", ""), ("a [(b)]", "a", "(b)"), ("]", "]", ""), ("", "", ""), ("a []", "a", ""),
    ],
)  # fmt: skip
def test_a_heading_is_taken_apart(cell: str, name: str, unit: str) -> None:
    found = csv_head.heading(cell)
    assert (found.name, found.unit) == (name, unit)


SEEDS = [seed for group in seeds.of_formats().values() for seed in group]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(number=st.integers(0, 2**32))
def test_mutated_recordings_are_read_or_refused(tmp_path: Path, number: int) -> None:
    data = mutate.mutated(SEEDS, "test", number)
    (tmp_path / "input").write_bytes(data if random.Random(number).random() < 0.8 else gzip.compress(data))
    with contextlib.suppress(CaptureError):
        found = capture.read(tmp_path / "input")
        assert found.frames >= 0
        assert found.rejected >= 0


@pytest.fixture(scope="module")
def every() -> dict[str, targets.Target]:
    return targets.all_targets()


NEW = {
    "twins: CAN text log": 60, "twins: broadcast signals": 80, "twins: frames to ISO 15765-2": 200,
    "twins: CAN log, ASC text": 60,
    "twins: CAN log, TRC text": 60, "twins: CAN log, CSV of python-can": 60, "twins: CAN log, BLF binary": 400,
    "twins: CAN log, SQLite data base": 200, "twins: CAN log, ASAM MDF 4": 4, "a drive of several files": 12,
    "headings TOML and a table": 40, "knowledge folder": 6, "form of an upload": 400, "pages of the workshop": 120,
}  # fmt: skip
"""Inputs of the targets that no other test mutates."""
LOOPS = ("twins: CAN text log", "twins: broadcast signals", "twins: frames to ISO 15765-2")


@pytest.mark.parametrize("name", NEW)
def test_mutations_are_taken_or_refused_and_twins_agree(every: dict[str, targets.Target], name: str) -> None:
    if name not in every:
        pytest.skip("pip install '.[workshop]'")
    if name in LOOPS and not kernels.at_hand():
        pytest.skip("llvmlite is not installed: pip install llvmlite")
    target, taken = every[name], 0
    for data in [*target.seeds, *(mutate.mutated(target.seeds, name, number) for number in range(NEW[name]))]:
        with contextlib.suppress(*targets.REFUSED):
            taken += target.call(data)
    assert taken


def test_a_twin_that_differs_is_seen(every: dict[str, targets.Target], monkeypatch: pytest.MonkeyPatch) -> None:
    """Each comparison with a fault put into one of its two ways."""
    changed = {
        "twins: CAN log, ASC text": (library_lines.Ordinary, "read_words"),
        "twins: CAN log, CSV of python-can": (library_lines.Ordinary, "read_cells"),
        "twins: CAN text log": (can_text_loop.Task, "read"),
    }
    for name, (owner, method) in changed.items():
        if owner is can_text_loop.Task and not kernels.at_hand():
            continue
        true_way = getattr(owner, method)

        def wrong_way(self: Any, *given: Any, true_way: Any = true_way) -> None:
            true_way(self, *given)
            out = self.block().out if isinstance(self, can_text_loop.Task) else self.out
            out.can_id[out.kept] ^= 1

        monkeypatch.setattr(owner, method, wrong_way)
        with pytest.raises(AssertionError, match="can_id"):
            every[name].call(every[name].seeds[0])


def test_a_search_that_is_sure_of_no_edge_adds_nothing() -> None:
    """It held no edge of which the tooth was sure, and its first one was asked for."""
    data = mutate.mutated(targets._sensor_seeds(), "crank edges to teeth", 862)
    edge_s = np.cumsum(np.frombuffer(data, "<u2") / 1e6)
    plain, searched = (wheel.decode(edge_s, 6.0 * np.arange(58), thorough) for thorough in (False, True))
    assert searched.t_s.tolist() == plain.t_s.tolist()
    assert searched.tooth.tolist() == plain.tooth.tolist()


def test_what_only_looks_large_is_read(tmp_path: Path) -> None:
    """Texts of a signal data base, numbers in a list and comments of a data file hold no sizes and no keys."""
    path = tmp_path / "a.dbc"
    path.write_text(
        'VERSION ""\nBU_: E\nBO_ 256 M: 8 E\n SG_ S : 0|8@1+ (1,0) [0|0] "" E\n'
        'CM_ BO_ 256 "Rev:20240131|checked, overflow at: 4294967295 | of a counter";\n',
        "utf-8",
    )
    assert [plan.name for plan in dbc_file.parse(path.read_bytes(), path)[0]] == ["M"]
    words = tmp_path / "a.toml"
    words.write_text(f"# {'.' * 200}\nedges_deg = [{', '.join(f'{k}.5' for k in range(300))}]\n", "utf-8")
    assert len(load._decoded(words.read_text("utf-8"), words)["edges_deg"]) == 300


@needs_asammdf
def test_an_mdf_with_values_of_any_length_is_no_damaged_one(tmp_path: Path) -> None:
    """ASAM MDF 4.1, channel group with the flag of values of any length: its sizes are the bytes of all values."""
    path = tmp_path / "a.mf4"
    with can.MF4Writer(path) as writer:
        writer.on_message_received(
            can.Message(timestamp=1.7e9, arbitration_id=0x100, is_extended_id=False, data=b"abc")
        )
    content = bytearray(path.read_bytes())
    last = struct.unpack_from("<Q", content, 64 + 24)[0]
    while following := struct.unpack_from("<Q", content, last + 24)[0]:
        last = following
    content += bytes(-len(content) % 8)
    group = len(content)
    content += struct.pack("<4s4xQQ48x", b"##CG", 104, 6) + struct.pack("<QQHHIII", 1, 0, 1, 0, 0, 3_000_000, 0)
    added = len(content)
    content += struct.pack("<4s4xQQ", b"##DG", 64, 4) + struct.pack("<4Q", 0, group, 0, 0) + struct.pack("<B7x", 1)
    struct.pack_into("<Q", content, last + 24, added)
    path.write_bytes(content)
    mdf_guard.check(path, "a.mf4")
    assert capture.read(path).frames == 1


def test_a_number_of_more_than_64_bits_in_a_profile_is_refused_or_read(tmp_path: Path) -> None:
    path = tmp_path / "a.toml"
    path.write_text("cylinders = 4\nfiring_order = [1, 3, 4, 99999999999999999999]\n", "utf-8")
    with contextlib.suppress(KnowledgeError):
        assert profiles.load(str(path))[0].cylinders == 4


@pytest.mark.parametrize(
    ("name", "text"),
    [
        (
            "superscript.csv",
            "time,data\n" + "".join(f"{k}0,48 6B 10 41 0C 1A F8 2A\n" for k in range(9)) + "0\u00b9010,48\n",
        ),
        ("no_sensor.csv", "time,,cam\n0.00,0,0\n0.01,1,0\n0.02,0,0\n0"),
        ("huge.csv", "time,engine_speed\n" + "".join(f"{k},1e308\n" for k in range(9))),
    ],
)
def test_tables_that_a_search_found(name: str, text: str, tmp_path: Path) -> None:
    path = tmp_path / name
    path.write_text(text, "utf-8")
    with contextlib.suppress(CaptureError):
        capture.read(path)
