"""ASAM MDF 4 files made by hand so that little becomes much, or that keep asammdf for ever: one clear error, at once.

The blocks are those of the ASAM MDF 4.1 standard (from memory); asammdf reads what is sound among them.
"""

from __future__ import annotations

import gzip
import struct
import time
import zlib
from collections.abc import Callable, Sequence
from pathlib import Path

import bounded
import numpy as np
import pytest

from logan import capture
from logan.capture import mdf_guard, mdf_packed, mdf_reader
from logan.errors import CaptureError
from logan.model.capture import Capture, Table

asammdf = pytest.importorskip("asammdf", reason="asammdf is not installed: pip install 'python-can[mf4]'")
RECORD = struct.Struct("<dH")
ROWS = 100
VALUE, MASTER = 0, 2
NEXT, COMPOSED, NAME, CONVERSION, DATA, UNIT, COMMENT = 0, 1, 2, 4, 5, 6, 7
"""Links of a channel."""


class Blocks:
    """A file of one group of two channels, time and speed, in records of ten bytes."""

    def __init__(self, rows: int = ROWS, data: bytes | None = None, said: int | None = None, number: int = 0) -> None:
        self.content = bytearray(b"MDF     4.10    logan".ljust(28, b"\0") + struct.pack("<H34x", 410))
        self.head = self.put(b"##HD", [0] * 6, struct.pack("<Q24x", 1_700_000_000 * 10**9))
        self.name = self.text("speed")
        self.speed = self.channel(byte=8)
        self.time = self.put(b"##CN", [self.speed, 0, self.text("time"), *[0] * 5], self.place(MASTER, 0, 64, 1, 4))
        self.rows = b"".join(RECORD.pack(0.01 * k, k % 65536) for k in range(rows)) if data is None else data
        self.group = self.put(
            b"##CG", [0, self.time, *[0] * 4],
            struct.pack("<QQ8xII", number, rows if said is None else said, RECORD.size, 0),
        )  # fmt: skip
        self.data = self.put(b"##DT", [], self.rows)
        self.root = self.put(b"##DG", [0, self.group, self.data, 0], struct.pack("<B7x", number))
        self.link(self.head, 0, self.root)

    @staticmethod
    def place(kind: int, byte: int, bits: int, sync: int = 0, data_type: int = 0) -> bytes:
        return struct.pack("<4BII", kind, sync, data_type, 0, byte, bits).ljust(72, b"\0")

    def put(self, mark: bytes, links: Sequence[int] = (), data: bytes = b"", length: int | None = None) -> int:
        self.content += bytes(-len(self.content) % 8)
        at = len(self.content)
        size = 24 + 8 * len(links) + len(data)
        self.content += struct.pack("<4s4xQQ", mark, size if length is None else length, len(links))
        self.content += struct.pack(f"<{len(links)}Q", *links) + data
        return at

    def text(self, text: str) -> int:
        return self.put(b"##TX", [], text.encode() + b"\0")

    def channel(self, kind: int = VALUE, byte: int = 8, bits: int = 16, name: int = 0, composed: int = 0) -> int:
        return self.put(b"##CN", [0, composed, name or self.name, *[0] * 5], self.place(kind, byte, bits))

    def link(self, at: int, which: int, to: int) -> None:
        struct.pack_into("<Q", self.content, at + 24 + 8 * which, to)

    def packed(self, data: bytes, said: int | None = None) -> int:
        body = zlib.compress(data, 9)
        size = len(data) if said is None else said
        return self.put(b"##DZ", [], struct.pack("<2s2xIQQ", b"DT", 0, size, len(body)) + body)

    def listed(self, blocks: Sequence[int], following: int = 0) -> int:
        return self.put(b"##DL", [following, *blocks], struct.pack("<B3xIQ", 1, len(blocks), 0))

    def conversion(self, kind: int, references: Sequence[int], values: Sequence[float] = ()) -> int:
        head = struct.pack("<BBHHHdd", kind, 0, 0, len(references), len(values), 0, 0)
        return self.put(b"##CC", [0] * 4 + [*references], head + struct.pack(f"<{len(values)}d", *values))

    def array(self, sizes: Sequence[int], step: int, composed: int = 0, step_bits: int = 0) -> int:
        head = struct.pack("<BBHIiI", 0, 0, len(sizes), 0, step, step_bits)
        return self.put(b"##CA", [composed], head + struct.pack(f"<{len(sizes)}Q", *sizes))

    def with_data(self, at: int) -> Blocks:
        self.link(self.root, 2, at)
        return self

    def with_link(self, at: int, which: int, to: int) -> Blocks:
        self.link(at, which, to)
        return self


def read(path: Path, blocks: Blocks) -> Capture | CaptureError:
    """The capture or its one clear error."""
    return bounded.read(path, blocks.content)


def speeds(found: Capture | CaptureError) -> list[list[float]]:
    assert isinstance(found, Capture), found
    assert isinstance(found.content, Table)
    return [np.asarray(channel.value).tolist() for channel in found.content.channels]


def finished_in_parts(flags: int) -> Blocks:
    made = Blocks()
    half = RECORD.size * ROWS // 2
    first, second = (made.put(b"##DT", [], part) for part in (made.rows[:half], made.rows[half:]))
    made.with_data(made.listed([first], made.listed([second])))
    made.content[:8] = b"UnFinMF "
    struct.pack_into("<H", made.content, 60, flags)
    return made


def overlapping() -> Blocks:
    made = Blocks(said=1_900_000)
    count = 4000
    begin = len(made.content) + -len(made.content) % 8
    for k in range(count):
        made.put(b"##DT", length=24 * (count - k))
    return made.with_data(made.listed([begin + 24 * k for k in range(count)]))


def channels(count: int, made: Blocks, **given: int) -> Blocks:
    last = made.speed
    for _ in range(count):
        added = made.channel(**given)
        made.link(last, NEXT, added)
        last = added
    return made


def nested(made: Blocks, depth: int) -> Blocks:
    inner = made.channel()
    for _ in range(depth):
        inner = made.channel(composed=inner)
    return made.with_link(made.speed, NEXT, inner)


def shared_groups() -> Blocks:
    made = channels(100, Blocks())
    last = made.root
    for _ in range(300):
        added = made.put(b"##DG", [0, made.group, 0, 0], bytes(8))
        made.link(last, 0, added)
        last = added
    return made


def tree() -> Blocks:
    made = Blocks()
    at = made.text("leaf")
    for _ in range(14):
        at = made.conversion(7, [at, at], [0.0])
    return made.with_link(made.speed, CONVERSION, at)


def in_a_ring(mark: bytes, links: int, which: int) -> Blocks:
    made = Blocks()
    at = made.put(mark, [0] * links, bytes(40))
    return made.with_link(at, 0, at).with_link(made.head, which, at)


def with_bit_of_validity(bit: int) -> Blocks:
    made = Blocks()
    struct.pack_into("<II", made.content, made.speed + 24 + 64 + 8, 8, 2)
    struct.pack_into("<I", made.content, made.speed + 24 + 64 + 16, bit)
    struct.pack_into("<II", made.content, made.group + 24 + 48 + 24, 9, 1)
    return made


def of_wrong_length() -> Blocks:
    """A byte of the length of a channel group: asammdf then takes what it says from other places."""
    made = Blocks()
    struct.pack_into("<Q", made.content, made.group + 8, 616)
    return made


def holding(made: Blocks, at: Callable[[Blocks], int]) -> Blocks:
    return made.with_data(at(made))


TOO_MUCH, RING, OUTSIDE = "comes to more than", "reached on two ways", "outside its record"
HOSTILE: dict[str, tuple[Callable[[], Blocks], str]] = {
    "packed block of zeros": (
        lambda: holding(Blocks(said=9_000_000), lambda made: made.packed(bytes(90_000_000))), TOO_MUCH),
    "packed block that says less": (
        lambda: holding(Blocks(), lambda made: made.packed(bytes(90_000_000), 1000)), "more than it says"),
    "list with one block many times": (
        lambda: holding(Blocks(said=200_000), lambda made: made.listed([made.data] * 2000)), RING),
    "list that leads to itself": (
        lambda: (made := Blocks()).with_data(made.listed([made.data])).with_link(made.content.rindex(b"##DL"), 0,
                                                                                made.content.rindex(b"##DL")), RING),
    "head of lists that leads to itself": (
        lambda: (made := Blocks()).with_data(at := made.put(b"##HL", [0], bytes(8))).with_link(at, 0, at), RING),
    "blocks that lie within each other": (overlapping, TOO_MUCH),
    "data groups in a ring": (lambda: (made := Blocks()).with_link(made.root, 0, made.root), RING),
    "channel groups in a ring": (lambda: (made := Blocks()).with_link(made.group, 0, made.group), RING),
    "channels in a ring": (lambda: (made := Blocks()).with_link(made.speed, NEXT, made.time), RING),
    "channel composed of itself": (lambda: (made := Blocks()).with_link(made.speed, COMPOSED, made.time), RING),
    "channels composed of others without end": (lambda: nested(Blocks(), 100), "composed of others"),
    "history in a ring": (lambda: in_a_ring(b"##FH", 2, 1), RING),
    "attachments in a ring": (lambda: in_a_ring(b"##AT", 4, 3), RING),
    "events in a ring": (lambda: in_a_ring(b"##EV", 5, 4), RING),
    "groups that share their channels": (shared_groups, RING),
    "records without number": (lambda: Blocks(said=1 << 40), "records, which its size does not"),
    "many channels of the same packed bytes": (
        lambda: channels(60, holding(Blocks(said=500_000), lambda made: made.packed(bytes(5_000_000)))), TOO_MUCH),
    "packed records of several groups": (
        lambda: holding(Blocks(number=1), lambda made: made.packed(b"\1" * 11 * 300_000)), TOO_MUCH),
    "array of 2^30 elements": (
        lambda: (made := Blocks()).with_link(made.speed, COMPOSED, made.array([1 << 30], 0)), TOO_MUCH),
    "array outside its record": (
        lambda: (made := Blocks()).with_link(made.speed, COMPOSED, made.array([2], 1000)), OUTSIDE),
    "bit of validity outside its record": (lambda: with_bit_of_validity(1 << 31), OUTSIDE),
    "long text as the name of many channels": (
        lambda: channels(2000, made := Blocks(), name=made.text("n" * 300_000)), TOO_MUCH),
    "tree of conversions": (tree, TOO_MUCH),
    "conversion that leads to itself": (
        lambda: (made := Blocks()).with_link(made.speed, CONVERSION, at := made.conversion(7, [0, 0], [0.0]))
        .with_link(at, 4, at), RING),
    "lists of an unfinished recording": (lambda: finished_in_parts(1 << 2 | 1 << 4), "was not finished"),
    "block of a wrong length": (of_wrong_length, "is not as long as its kind is"),
}  # fmt: skip


@pytest.mark.parametrize("name", HOSTILE)
def test_a_file_that_makes_much_of_little_is_refused(tmp_path: Path, name: str) -> None:
    make, reason = HOSTILE[name]
    found = read(tmp_path / "a.mf4", make())
    assert isinstance(found, CaptureError), found
    assert reason in str(found)


def test_what_only_looks_like_it_is_read(tmp_path: Path) -> None:
    """Packed data, lists of blocks, arrays and bits of validity as they ought to be."""
    path, wanted = tmp_path / "a.mf4", [float(k) for k in range(ROWS)]
    assert speeds(read(path, Blocks())) == [wanted]
    made = Blocks()
    assert speeds(read(path, made.with_data(made.packed(made.rows)))) == [wanted]
    made = Blocks()
    parts = [made.put(b"##DT", [], made.rows[:500]), made.packed(made.rows[500:])]
    lists = made.listed(parts[:1], made.listed(parts[1:]))
    assert speeds(read(path, made.with_data(made.put(b"##HL", [lists], bytes(8))))) == [wanted]
    made = Blocks()
    struct.pack_into("<I", made.content, made.speed + 24 + 64 + 8, 8)
    bytes_of = speeds(read(path, made.with_link(made.speed, COMPOSED, made.array([2], 1))))
    assert bytes_of == [wanted, [0.0] * ROWS]
    assert speeds(read(path, with_bit_of_validity(7))) == [wanted]
    assert speeds(read(path, finished_in_parts(1))) == [wanted]
    assert speeds(read(path, nested(Blocks(), 3)))[0] == wanted


def test_an_empty_file_is_left_to_the_library(tmp_path: Path) -> None:
    (tmp_path / "a.mf4").touch()
    mdf_guard.check(tmp_path / "a.mf4", "a.mf4")


def test_a_packed_recording_of_many_still_channels_is_read(tmp_path: Path) -> None:
    """A vehicle that stands: 150 times its size, measured on files of asammdf."""
    made = channels(200, Blocks(6000))
    found = read(tmp_path / "a.mf4", made.with_data(made.packed(made.rows)))
    assert len(speeds(found)) == 201


def test_values_of_any_length_that_share_one_long_one_are_refused(tmp_path: Path) -> None:
    data = b"".join(struct.pack("<dQ", 0.01 * k, 0) for k in range(3000))
    made = Blocks(3000, data)
    struct.pack_into("<I", made.content, made.group + 24 + 48 + 24, 16)
    values = made.put(b"##SD", [], struct.pack("<I", 30_000) + bytes(30_000))
    text = made.put(b"##CN", [0, 0, made.name, 0, 0, values, 0, 0], made.place(1, 8, 64, 0, 6))
    found = read(tmp_path / "a.mf4", made.with_link(made.time, NEXT, text))
    assert isinstance(found, CaptureError)
    assert "the values of speed come to more than 16 MiB" in str(found)


@pytest.mark.parametrize(
    ("formula", "is_plain"),
    [
        ("X1*0.5+3", True), ("X**2 * 1.5e-3 - X1/.25", True), ("where(X1>0,sqrt(X1),-log10(2*X1))", True),
        ("9**9**9**9*X1", False), ("2**(10**9)*X1", False), ("X1+(1<<40000000000)", False), ("open('a','w')", False),
        ("X1*" * 400 + "X1", False), ("(((((9)**9)**9)**9)**9)**9", False), ("X2", False), ("f.a", False),
    ],
)  # fmt: skip
def test_a_formula_is_computed_only_where_it_is_plain(tmp_path: Path, formula: str, is_plain: bool) -> None:
    """asammdf hands the text of a formula to an interpreter."""
    made = Blocks()
    conversion = made.conversion(3, [made.text(formula)])
    found = read(tmp_path / "a.mf4", made.with_link(made.speed, CONVERSION, conversion))
    assert isinstance(found, Capture)
    assert isinstance(found.content, Table) == is_plain
    assert any(remark.kind == "formula" for remark in found.remarks) != is_plain
    of_times = Blocks()
    conversion = of_times.conversion(3, [of_times.text(formula)])
    found = read(tmp_path / "a.mf4", of_times.with_link(of_times.time, CONVERSION, conversion))
    assert isinstance(found, Capture)
    assert any(remark.kind == "formula" for remark in found.remarks) != is_plain


def test_a_formula_among_the_frames_of_a_bus_is_refused_too(tmp_path: Path) -> None:
    made = Blocks()
    made.link(made.speed, CONVERSION, made.conversion(3, [made.text("9**9**9*X1")]))
    struct.pack_into("<H", made.content, made.group + 24 + 48 + 16, mdf_reader.BUS_EVENT)
    found = read(tmp_path / "a.mf4", made)
    assert isinstance(found, CaptureError)
    assert "formula of speed not understood" in str(found)


def test_what_frames_of_zstandard_say() -> None:
    """RFC 8878, 3.1.1.1: the size of the content in 1, 2, 4 or 8 bytes, 256 more in two of them."""
    mark = struct.pack("<I", 0xFD2FB528)
    for head, size in (
        (struct.pack("<BB", 0x20, 200), 200),
        (struct.pack("<BBH", 0x40, 0, 1000), 1256),
        (struct.pack("<BBI", 0x80, 0, 1 << 20), 1 << 20),
        (struct.pack("<BQ", 0xE0, 1 << 40), 1 << 40),
    ):
        body = (mark + head).ljust(18, b"\0")
        assert mdf_packed.unpacks_to_more(2, body, size - 1)
        assert not mdf_packed.unpacks_to_more(2, body, size)
        assert mdf_packed.unpacks_to_more(2, body + body, 2 * size - 1)  # frames may stand one behind the other
    assert not mdf_packed.unpacks_to_more(2, bytes(100), 0)


def test_a_file_packed_as_a_whole_is_measured_by_what_was_given(tmp_path: Path) -> None:
    """Blocks that are packed already, and alike, may be packed a hundred times again."""
    path, made = tmp_path / "a.mf4.gz", Blocks(said=1_000_000)
    made.with_data(made.listed([made.packed(bytes(4 << 20)) for _ in range(400)]))
    assert len(made.content) * mdf_guard.RATIO > 300 << 20
    path.write_bytes(gzip.compress(made.content, 9))
    begin = time.process_time()
    with pytest.raises(CaptureError, match="comes to more than 16 MiB"):
        capture.read(path)
    assert time.process_time() - begin < 1.0
    path.write_bytes(gzip.compress(Blocks().content))
    assert len(speeds(capture.read(path))) == 1


@pytest.mark.parametrize("version", ["4.00", "4.10", "4.20"])
@pytest.mark.parametrize("packed", [0, 1, 2])
def test_what_asammdf_writes_comes_back(tmp_path: Path, version: str, packed: int) -> None:
    """Numbers, formulas, bits of validity, texts, arrays and structures, by the library's own reading of each."""
    path, t_s = tmp_path / "a.mf4", np.arange(500) * 0.01
    wave, count = np.sin(t_s), np.arange(500, dtype="u2")
    with asammdf.MDF(version=version) as made:
        groups = [
            [asammdf.Signal(wave + k, t_s, name=f"wave {k}", comment="of a sensor") for k in range(5)],
            [asammdf.Signal(count, t_s, name="formula", conversion={"formula": "X1*0.5+3"}),
             asammdf.Signal(count, t_s, name="line", conversion={"a": 2.0, "b": 1.0}),
             asammdf.Signal(count, t_s, name="valid", invalidation_bits=count % 3 == 0)],
            [asammdf.Signal(np.array([b"no %d" % k for k in count]), t_s, name="text", encoding="utf-8"),
             asammdf.Signal(count % 3, t_s, name="state", conversion={"val_0": 0, "text_0": b"off", "default": b"on"})],
            [asammdf.Signal(np.rec.fromarrays([np.outer(wave, np.ones(6)).reshape(-1, 2, 3)], names="map"), t_s,
                            name="map")],
            [asammdf.Signal(np.rec.fromarrays([wave, count], names="a,b"), t_s, name="both")],
        ]  # fmt: skip
        for group in groups:
            made.append(group, common_timebase=True)
        made.attach(b"notes " * 1000, file_name="notes.txt")
        made.save(path, compression=packed)
    found = capture.read(path)
    assert isinstance(found.content, Table)
    ours = {channel.name: channel for channel in found.content.channels}
    assert {"wave 4", "formula", "line", "valid", "state", "map[1][2]", "a", "b"} <= ours.keys()
    with asammdf.MDF(path) as again:
        for name, channel in ours.items():
            theirs = again.get(name, raw=True).physical(ignore_value2text_conversions=True)
            np.testing.assert_array_equal(channel.value, theirs.samples.astype(float), name)
            np.testing.assert_array_equal(channel.t_s, theirs.timestamps, name)
