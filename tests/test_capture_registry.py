"""Which reader reads what: by content, with one clear error for everything else."""

from __future__ import annotations

import gzip
import hashlib
import os
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logan.capture import all_readers, can_text, read, registry
from logan.capture.reader import NO, Guess, Reader
from logan.capture.source import BLOCK_BYTES, Source
from logan.errors import CaptureError
from logan.model.frames import Frames

LOG = b"(1700000000.000000) can0 123#01\n(1700000000.100000) can0 123#02\n"


def written(folder: Path, content: bytes, name: str = "drive.log") -> Path:
    path = folder / name
    path.write_bytes(content)
    return path


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty"),
        (gzip.compress(b"", mtime=0), "is empty"),
        (bytes(100), "only zero bytes"),
        (b"PK\x03\x04" + bytes(30), "ZIP"),
        (b"%PDF-1.7", "PDF"),
        (gzip.compress(gzip.compress(LOG, mtime=0), mtime=0), "gzip inside gzip"),
        (gzip.compress("time_s,engine_speed [rpm]\n0,800\n".encode("utf-16"), mtime=0), "UTF-16 inside gzip"),
        (b"MDF     3.30    " + bytes(100), "before version 4"),
        (b"\x00\x01\x02\x03" * 50, "binary content"),
        (b"0x1dc\n\n0x136\n", "begins with '0x1dc'"),
        (b"Dear diary\n", "begins with 'Dear diary'"),
        (b"\x1f\x8b\x08\x00broken", "gzip compression is damaged"),
        (b"\n \n\n", "only blank lines"),
    ],
)
def test_what_is_not_recognised_is_one_clear_line(tmp_path: Path, content: bytes, said: str) -> None:
    path = written(tmp_path, content)
    with pytest.raises(CaptureError, match=re.escape(said)) as caught:
        read(path)
    assert str(path) in str(caught.value)
    assert caught.value.do
    assert "\n" not in str(caught.value)


def test_no_file_and_a_folder(tmp_path: Path) -> None:
    with pytest.raises(CaptureError, match="No such file"):
        read(tmp_path / "absent.log")
    with pytest.raises(CaptureError, match="is a folder"):
        read(tmp_path)


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="this system has no named pipes")
def test_a_pipe_is_refused_at_once_and_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "drive.log")
    with pytest.raises(CaptureError, match="is a pipe"):
        read(tmp_path / "drive.log")


def test_hash_name_and_path(tmp_path: Path) -> None:
    path = written(tmp_path, LOG)
    capture = read(str(path))
    assert (capture.name, capture.path) == ("drive.log", str(path))
    assert capture.sha256 == hashlib.sha256(LOG).hexdigest()
    assert (capture.start, capture.duration_s, capture.frames, capture.rejected) == (1.7e9, 0.1, 2, 0)


def test_a_bomb_is_refused(tmp_path: Path) -> None:
    path = written(tmp_path, gzip.compress(LOG * 20_000, mtime=0), "drive.log.gz")
    with pytest.raises(CaptureError, match="unpacks to more than 1 MiB"):
        Source(path, limit=1 << 20).content()
    assert len(Source(path, limit=2 << 20).content()) == 20_000 * len(LOG)


def reader(name: str, score: float, suffix: str) -> Reader:
    return Reader(name, lambda source: Guess(score, f"because of {name}") if score else NO, "absent", (suffix,))


@pytest.fixture
def readers(monkeypatch: pytest.MonkeyPatch) -> Callable[..., None]:
    def use(*given: Reader) -> None:
        monkeypatch.setattr(all_readers, "READERS", given)

    return use


def test_a_near_tie_says_both_reasons(tmp_path: Path, readers: Callable[..., None]) -> None:
    readers(reader("one", 0.8, ".x"), reader("two", 0.85, ".y"), reader("three", 0.3, ".log"))
    with pytest.raises(CaptureError) as caught:
        all_readers.choose(Source(written(tmp_path, LOG)))
    assert "because of one" in str(caught.value)
    assert "because of two" in str(caught.value)
    assert "three" not in str(caught.value)


def test_the_name_decides_a_near_tie_and_nothing_else(tmp_path: Path, readers: Callable[..., None]) -> None:
    readers(reader("one", 0.8, ".log"), reader("two", 0.85, ".y"))
    assert all_readers.choose(Source(written(tmp_path, LOG)))[0].format == "one"
    readers(reader("one", 0.7, ".log"), reader("two", 0.85, ".y"))
    chosen, guess = all_readers.choose(Source(written(tmp_path, LOG)))
    assert (chosen.format, guess.reason) == ("two", "because of two")


SAMPLES = {
    "CAN text log": LOG,
    "CAN text as printed": b"  can0  7E8   [2]  03 41\n",
    "CAN log, ASC text": b"date Sat Sep 30 15:06:13.191 2017\nbase hex  timestamps absolute\n",
    "CAN log, TRC text": b";$FILEVERSION=1.1\n;$STARTTIME=44548.6\n",
    "CAN log, CSV of python-can": b"timestamp,arbitration_id,extended,remote,error,dlc,data\n1.0,0x1,0,0,0,1,AA==\n",
    "CAN log, BLF binary": b"LOGG" + bytes(200),
    "CAN log, SQLite data base": b"SQLite format 3\0" + bytes(50) + b"CREATE TABLE messages",
    "CAN log, ASAM MDF 4": b"MDF     4.10    ",
    "sensor edges, CSV": b"time_s,channel,edge\n0,crank,rising\n",
    "sensor edges, CSV of level changes": b"time,crank\n0,1\n1,0\n",
    "sensor waveform, CSV": b"time_s,crank_v,cam_v\n0,1.5,2\n1,0,0\n",
    "sensor edges, VCD": b"$var wire 1 ! crank $end $enddefinitions $end\n#0\n",
    "sensor waveform, WAV": b"RIFF\0\0\0\0WAVEfmt ",
    "channel table, CSV": b"time_s,engine_speed [rpm]\n0,800\n1,801\n",
    "packet capture": b"\xd4\xc3\xb2\xa1\2\0\4\0" + bytes(8) + b"\0\0\4\0\xe3\0\0\0",
    "table of CAN frames": b"Time [ms],ID,DLC,Data\n" + b"1.5,7E8,3,02 41 0C\n" * 9,
    "serial bus bytes, CSV": b"time_s,byte\n0.0,C2\n0.001,33\n",
    "serial transcript": b"010C\r41 0C 1A F8 \r\r>",
    "parameter lines": b"1.5:0c1af8,\n1.6:057b,\n1.8:0d00,\n",
}


def test_every_reader_knows_its_own_and_only_its_own(tmp_path: Path) -> None:
    known = {one.format for one in all_readers.READERS}
    assert known == set(SAMPLES), "a new reader needs a sample here"
    for name, content in SAMPLES.items():
        source = Source(written(tmp_path, content, "no_ending"))
        sure = [one.format for one in all_readers.READERS if one.looks(source).score > 0.5]
        assert sure == [name]
        assert registry.choose(source)[0].format == name


NAMES = st.text(st.characters(codec="ascii", categories=["L", "N", "P", "S"]), min_size=1, max_size=12)


@given(st.lists(st.tuples(st.integers(0, 10**9), NAMES, st.integers(0, 0x7FF), st.binary(max_size=8)), min_size=1))
@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_where_each_line_is_of_a_can_text_log_no_other_reader_need_be_asked(
    tmp_path: Path, frames: list[tuple[int, str, int, bytes]]
) -> None:
    text = "".join(f"({t}.000001) {name} {can_id:03X}#{data.hex()}\n" for t, name, can_id, data in frames)
    source = Source(written(tmp_path, text.encode()))
    assert can_text.looks(source).score == 1.0
    assert all_readers.choose(source)[0] is can_text.READER


@settings(max_examples=80, deadline=None)
@given(st.one_of(st.binary(max_size=300), st.text(max_size=300).map(str.encode)), st.sampled_from(["", *SAMPLES]))
def test_no_content_breaks_the_program(tmp_path_factory: pytest.TempPathFactory, junk: bytes, before: str) -> None:
    path = written(tmp_path_factory.mktemp("junk"), SAMPLES.get(before, b"") + junk)
    said = str(path)
    try:
        capture = read(path)
        assert capture.frames >= 0
        assert capture.rejected >= 0
    except CaptureError as error:
        said = str(error)
    assert str(path) in said


def test_lines_across_blocks_and_a_line_longer_than_a_block(tmp_path: Path) -> None:
    text = b"".join(b"(%d.%06d) can0 %03X#%016X\n" % (1_700_000_000 + k // 1000, k % 1000 * 1000, k % 2048, k)
                    for k in range(60_000))  # fmt: skip
    assert len(text) > 2 * BLOCK_BYTES
    half = text.index(b"\n", len(text) // 2) + 1
    capture = read(written(tmp_path, text[:half] + b"x" * (3 * BLOCK_BYTES) + b"\n" + text[half:-1] + b"\r\n(17"))
    frames = capture.content
    assert isinstance(frames, Frames)
    assert capture.frames == 60_000
    assert np.array_equal(frames.data.view(">u8")[:, 0], np.arange(60_000))
    number = text[:half].count(b"\n") + 1
    places = {place for remark in capture.remarks for place in remark.places}
    assert places == {f"line {number}", "line 60002"}
