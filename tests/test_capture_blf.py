"""BLF by whole columns against python-can's own reader: the same frames, or left to it."""

from __future__ import annotations

from pathlib import Path

import can
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logan.capture import blf_columns, can_library_messages, can_library_read, read
from logan.capture.reader import Tally
from logan.model.frames import EXTENDED, REMOTE, SENT, Frames

COLUMNS = ("t_s", "can_id", "flags", "bus", "length", "data")


def written(path: Path, count: int, **options: int) -> list[can.Message]:
    random = np.random.default_rng(7)
    sent = [
        can.Message(
            timestamp=1_700_000_000.0 + 0.001 * k, arbitration_id=int(random.integers(1 << (29 if k % 3 else 11))),
            is_extended_id=bool(k % 3), is_remote_frame=k % 50 == 9, is_rx=bool(k % 4), channel=(3, 0, 1)[k % 7 % 3],
            dlc=k % 9, data=None if k % 50 == 9 else random.bytes(k % 9),
        )
        for k in range(count)
    ]  # fmt: skip
    with can.BLFWriter(str(path), **options) as writer:
        for one in sent:
            writer.on_message_received(one)
    return sent


def by_library(path: Path) -> Frames:
    tally = Tally()
    return can_library_messages.columns(can_library_read._from_binary(path, ".blf", "x", tally), tally).frames(tally)


def by_columns(content: bytes) -> Frames | None:
    found = blf_columns.columns(content, len(content))
    return None if found is None else found[0].frames(Tally())


def assert_same(ours: Frames, theirs: Frames) -> None:
    for name in COLUMNS:
        np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name), name)
    assert (ours.origin_ns, ours.absolute, ours.buses) == (theirs.origin_ns, theirs.absolute, theirs.buses)


def test_what_python_can_writes(tmp_path: Path) -> None:
    path = tmp_path / "drive.blf"
    sent = written(path, 20_000)
    ours = by_columns(path.read_bytes())
    assert ours is not None
    assert_same(ours, by_library(path))
    assert ours.can_id.tolist() == [one.arbitration_id for one in sent]
    assert ((ours.flags & EXTENDED) != 0).tolist() == [one.is_extended_id for one in sent]
    assert ((ours.flags & REMOTE) != 0).tolist() == [one.is_remote_frame for one in sent]
    assert ((ours.flags & SENT) != 0).tolist() == [not one.is_rx for one in sent]
    assert [row[:n].tobytes() for row, n in zip(ours.data, ours.length, strict=True) if n] == [
        bytes(one.data) if not one.is_remote_frame else bytes(one.dlc) for one in sent if one.dlc
    ]


@pytest.fixture(scope="module")
def plain(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, bytes]:
    """A file of unpacked objects, so that a spoilt byte reaches them; and a place for its spoilt copies."""
    path = tmp_path_factory.mktemp("blf") / "plain.blf"
    written(path, 40, compression_level=0)
    return path.with_name("spoilt.blf"), path.read_bytes()


@given(st.lists(st.tuples(st.integers(0, 2500), st.sampled_from([0, 1, 2, 8, 9, 10, 73, 86, 100, 255])), max_size=3),
       st.integers(0, 200))  # fmt: skip
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_spoilt_file_means_the_same_or_is_left(
    plain: tuple[Path, bytes], spoilt: list[tuple[int, int]], cut: int
) -> None:
    path, whole = plain
    content = bytearray(whole)
    for at, byte in spoilt:
        content[at % len(content)] = byte
    content = content[: len(content) - (cut if cut < 20 else 0)]
    ours = by_columns(bytes(content))
    if ours is not None:
        path.write_bytes(content)
        assert_same(ours, by_library(path))


def test_a_recorder_that_lost_power_ends_within_an_object_and_that_is_said(tmp_path: Path) -> None:
    path = tmp_path / "drive.blf"
    written(path, 20_000)
    whole = read(path).frames
    content = bytearray(path.read_bytes())
    content[16:24] = (144).to_bytes(8, "little")  # the header as it stands before the file is closed
    content[24:44] = bytes(20)
    path.write_bytes(content[: len(content) * 6 // 10])
    capture = read(path)
    assert 0 < capture.frames < whole
    assert any(
        remark.kind in ("truncated", "cut_short", "library_stopped") or "ends" in remark.text
        for remark in capture.remarks
    )


@pytest.mark.parametrize("share", [0.3, 0.9])
def test_what_a_cut_file_lost_is_counted_as_rejected(tmp_path: Path, share: float) -> None:
    """The header says how many objects there were: those that went with the end were not read."""
    path = tmp_path / "drive.blf"
    sent = written(path, 5_000, max_container_size=4096)
    content = path.read_bytes()
    path.write_bytes(content[: int(len(content) * share)])
    capture = read(path)
    assert 0 < capture.frames < len(sent)
    assert capture.frames + capture.rejected == int.from_bytes(content[32:36], "little") == len(sent)
    assert not any("Error" in remark.text for remark in capture.remarks), "a library's own word says nothing here"


def test_objects_that_are_no_frames_are_counted_as_before(tmp_path: Path) -> None:
    path = tmp_path / "drive.blf"
    written(path, 30)
    capture = read(path)
    content = bytearray(path.read_bytes())
    content[32:36] = (99).to_bytes(4, "little")
    path.write_bytes(content)
    (remark,) = (remark for remark in read(path).remarks if remark.kind == "not_a_frame")
    assert (capture.frames, remark.count, read(path).rejected) == (30, 69, 0)
