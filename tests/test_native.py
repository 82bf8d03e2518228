"""The compiled loops against their twins in numpy: same results on any input, and never a byte outside their arrays."""

from __future__ import annotations

import gzip
import importlib
import itertools
import platform
import sys
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec import structs
from msgspec.structs import fields

from logan import cache, parallel
from logan.capture import can_text_layout, can_text_loop, read
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.can_sorter import CanSorter
from logan.capture.can_text_block import Block
from logan.capture.can_text_loop import Task
from logan.capture.can_text_plain import LATEST_S
from logan.capture.reader import Tally
from logan.capture.source import SPARE_BYTES, Source
from logan.decode import broadcast, extract
from logan.decode.plan import MessagePlan, SignalPlan
from logan.dsp import grouping
from logan.dsp.median import median
from logan.model.frames import EXTENDED, Frames, FramesByKind
from logan.native import engine, image, kernels

WITHOUT = "llvmlite is not installed: pip install llvmlite"
compiled = pytest.mark.skipif(not kernels.at_hand(), reason=WITHOUT)

COLUMNS = ("kept", "t_ns", "can_id", "flags", "bus", "length", "data")
HOSTILE = [
    b"(1700000000.000001) can0 123#0102", b"(1700000000.000001) can0 123#0102\r", b"(1700000000.000002) can1 7FF#",
    b"(1700000000.000003) can0 800#00", b"(1700000000.000003) can0 12345678#0011223344556677",
    b"(1700000000.000003) can0 3FFFFFFF#00", b"(1700000000.000003) can0 40000000#00",
    b"(17000000/0.000003) can0 123#00",
    b"(1700000000.000:03) can0 123#00", b"(1700000000.000004) can0 123#00 R", b"(1700000000.000004) can0 123#00 t",
    b"(1700000000.000004) can0 123# T", b"(1700000000.000004) can0 123#001", b"(1700000000.000004) can0 123#R4",
    b"(1700000000.000004) can0 123#R", b"(1700000000.000004) can0 123##1001122334455667788AABBCCDD",
    b"(1700000000.000004) can0 123#001122334455667788", b"(1700000000.000004) can0 20000080#0000000000000000",
    b"(9999999999.999999) can0 123#00", b"(1700000000.000004) can0 12\0#00", b"(1700000000.000004) can0 123",
    b"(1700000000.000004) can0 12345678", b"(1700000000.000004) can0 ", b"(1700000000.000004) can0", b"(1", b"", b"\r",
    b"(0.5) a_very_long_interface_name_here 1FFFFFFF#a1B2c3", b"(12.123456789) x 7ff#FFFFFFFFFFFFFFFF",
    b"(1700000000.000004)  can0 123#00", b"# comment: here", b"\0\0\0\0", b"\xff" * 40,
]  # fmt: skip


def block_of(text: bytes) -> tuple[np.ndarray[Any, np.dtype[np.uint8]], int]:
    buffer = np.zeros(len(text) + SPARE_BYTES, np.uint8)
    buffer[: len(text)] = np.frombuffer(text, np.uint8)
    return buffer, len(text)


def finished(text: bytes, known: list[can_text_layout.Layout], *, by_loop: bool) -> tuple[CanBlock, list[Any]]:
    """One block by the compiled loop or by its twin, with all that follows; and what was wrong."""
    columns, tally, layouts = CanColumns(), Tally(), list(known)
    tables = can_text_layout.tables(layouts, columns.bus)
    buffer, size = block_of(text)
    if by_loop:
        task = Task(columns, len(text))
        task.read(buffer, size, tables)
        block = task.block()
    else:
        block = Block.whole(buffer, size, columns)
    block.finish(1, layouts, tally, {})
    return block.out, [(r.text, r.count, r.places) for r in tally.remarks()]


def layouts_of(*lines: bytes) -> list[can_text_layout.Layout]:
    return [layout for line in lines if (layout := can_text_layout.learn(line))]


KNOWN = layouts_of(
    b"(1700000000.000001) can0 123#", b"(1700000000.000001) can1 123#", b"(0.5) a_very_long_interface_name_here 123#",
    b"(12.123456789) x 123#",
)  # fmt: skip


def assert_same(text: bytes) -> None:
    ours, said = finished(text, KNOWN, by_loop=True)
    twin, said_by_twin = finished(text, KNOWN, by_loop=False)
    assert said == said_by_twin
    for name in COLUMNS:  # what stands in rows that are not kept is no matter
        np.testing.assert_array_equal(getattr(ours, name) * ours.kept, getattr(twin, name) * twin.kept, name)


@compiled
@given(st.lists(st.sampled_from(HOSTILE), max_size=12), st.booleans())
@settings(max_examples=300, deadline=None)
def test_hostile_lines_mean_the_same(lines: list[bytes], crlf: bool) -> None:
    assert_same(b"".join(line + (b"\r\n" if crlf else b"\n") for line in lines))


@compiled
@given(st.data())
@settings(max_examples=300, deadline=None)
def test_spoilt_lines_mean_the_same(data: st.DataObject) -> None:
    text = bytearray(b"".join(line + b"\n" for line in data.draw(st.lists(st.sampled_from(HOSTILE[:20]), min_size=1))))
    for _ in range(data.draw(st.integers(1, 4))):
        text[data.draw(st.integers(0, len(text) - 1))] = data.draw(st.integers(0, 255))
    assert_same(bytes(text) + b"\n")


@compiled
def test_a_million_mutated_lines_stay_inside_their_arrays() -> None:
    random = np.random.default_rng(5)
    lines = 50_000
    stamps = random.integers(0, 10**6, lines)
    ids = random.integers(0, 0x800, lines)
    sizes = random.integers(0, 9, lines)
    whole = b"".join(
        b"(170000%04d.%06d) can%d %s#%s\n"
        % (k % 10_000, stamps[k], k % 3 % 2, b"%03X" % ids[k] if k % 5 else b"%08X" % (ids[k] << 17), b"5A" * sizes[k])
        for k in range(lines)
    )
    clean, size = block_of(whole)
    columns = CanColumns()
    tables = can_text_layout.tables(KNOWN, columns.bus)
    seen = 0
    for turn in range(20):
        buffer = clean.copy()
        at = random.integers(0, size - 1, lines // 2)
        buffer[at] = random.integers(0, 256, len(at)) if turn % 2 else random.choice(list(b"0#) (.:/gG\n\rRT"), len(at))
        ends = kernels.line_ends(buffer, size, np.empty(size + 2, np.int64))
        np.testing.assert_array_equal(ends, np.flatnonzero(buffer[:size] == 10))
        guarded = {f.name: np.full(len(ends) + 64, 0xA5, kind) for f, kind in zip(fields(kernels.TextRows),
                   (np.uint8, np.int64, np.uint32, np.uint8, np.uint8, np.uint8, np.uint64), strict=True)}  # fmt: skip
        guarded["kept"][32:-32] = 0
        rows = kernels.TextRows(**{name: column[32:-32] for name, column in guarded.items() if name != "kept"},
                                kept=guarded["kept"][32:-32].view(np.bool_))  # fmt: skip
        left = kernels.can_text(buffer, size, ends, tables, LATEST_S * 10**9, rows)
        for name, column in guarded.items():
            assert (np.concatenate([column[:32], column[-32:]]) == 0xA5).all(), name
        assert len(left) + int(rows.kept.sum()) == len(ends)
        block = Block.whole(buffer, size, columns)
        rest = np.arange(len(ends))
        for layout in KNOWN:
            rest = block.by_layout(layout, rest)
        kept = rows.kept
        assert block.out.kept[kept].all()  # what the loop takes, the twin takes, and nothing is different in it
        for name in COLUMNS[1:]:
            np.testing.assert_array_equal(getattr(rows, name)[kept], getattr(block.out, name)[kept], name)
        seen += len(ends)
    assert seen >= 1_000_000 * 0.95


def tables_of(shift: int) -> kernels.SignalTables:
    return kernels.signal_tables([shift], [8], [False], [False], [1.0], [0.0])


@compiled
def test_sizes_and_kinds_that_do_not_fit_are_refused() -> None:
    buffer = np.full(200, 10, np.uint8)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.line_ends(buffer, 200, np.empty(202, np.int64))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.line_ends(buffer, 50, np.empty(51, np.int64))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.line_ends(buffer, 50, np.empty(52, np.int32))  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="do not fit"):
        kernels.signals(np.zeros((3, 8), np.uint8), tables_of(60))
    crooked = np.zeros(25, np.uint8)[1:].reshape(3, 8)  # no word begins where the processor wants one
    with pytest.raises(ValueError, match="do not fit"):
        kernels.signals(crooked, tables_of(0))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.extents(crooked, tables_of(0), np.zeros(1), np.ones(1))
    with pytest.raises(ValueError, match="do not fit"):
        kernels.extents(np.zeros((3, 8), np.uint8), tables_of(0), np.zeros(2), np.ones(2))
    for data in (np.zeros((0, 8), np.uint8), np.zeros((3, 7), np.uint8)):
        with pytest.raises(ValueError, match="do not fit"):
            kernels.extents(data, tables_of(0), np.zeros(1), np.ones(1))
    four = np.arange(3, dtype=np.uint32), *3 * [np.zeros(3, np.uint8)]
    for times, slot in ((np.zeros(3, np.int64), np.zeros(2, np.uint16)), (np.zeros(3), np.zeros(3, np.uint16))):
        with pytest.raises(ValueError, match="do not fit"):
            kernels.kinds(*four, times, kernels.KindTable(), slot)  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="do not fit"):
        kernels.kinds(
            *four, np.zeros(3, np.int64), kernels.KindTable(keys=np.empty(9, np.uint64)), np.zeros(3, np.uint16)
        )
    three, words = np.zeros(3, np.int64), np.zeros(3, np.uint64)
    for slots, place, room in (([0, 5, 0], [0, 1], 9), ([1, 1, 1], [0, 2], 4), ([0, 1, 0], [-5, 1], 9)):
        out = np.zeros(room, np.int64), np.zeros(room, np.uint64)
        with pytest.raises(ValueError, match="do not fit"):
            kernels.put_together(np.array(slots, np.uint16), np.array(place), three, words, *out)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.put_together(np.zeros(3, np.uint16), np.zeros(1, np.int64), three, words, three, words[:2])
    with pytest.raises(ValueError, match="do not fit"):
        kernels.rows_of_slots(np.array([0, 5], np.uint16), np.ones(5, bool))
    columns = CanColumns()
    tables = can_text_layout.tables(KNOWN, columns.bus)
    line = np.frombuffer(HOSTILE[0].ljust(300), np.uint8).copy()
    for ends in ([10, 5], [-1, 5], [10, 172]):
        with pytest.raises(ValueError, match="do not fit"):
            kernels.can_text(line, 172, np.array(ends), tables, 1, CanBlock(2).rows())
    wide = structs.replace(tables, size=tables.size + 40)
    with pytest.raises(ValueError, match="do not fit"):
        kernels.can_text(line, 172, np.array([10]), wide, 1, CanBlock(1).rows())


@pytest.fixture
def long_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything through the compiled loops, however short."""
    assert kernels.at_hand()
    monkeypatch.setattr(parallel, "MANY", 0)
    monkeypatch.setattr(extract, "_LONG_ROWS", 0)


@pytest.fixture
def short_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing through the compiled loops."""
    monkeypatch.setattr(kernels, "pays", lambda _: False)


def frames_of(path: Path) -> Frames:
    content = read(path).content
    assert isinstance(content, Frames)
    return content


@compiled
@pytest.mark.parametrize("end", [b"\n", b"\r\n"])
@pytest.mark.parametrize("last", [b"\n", b"", b"(1700000001.0000", b"(1700000001.000000) can0 123#0"])
def test_a_file_of_many_blocks(end: bytes, last: bytes, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Blocks end inside lines; identifiers are more than 254, layouts more than one; the last line is cut off."""
    lines = [
        b"(17000000%02d.%06d) %s %s#%s" % (k // 1000, k % 1000, (b"can0", b"can1", b"longer_name")[k % 97 % 3],
        b"%03X" % (k % 700) if k % 7 else b"%08X" % (k * 77), b"A%X" % (k % 16) * (k % 9))
        for k in range(60_000)
    ]  # fmt: skip
    path = tmp_path / "drive.log"
    path.write_bytes(end.join(lines) + end + last)
    with monkeypatch.context() as numpy_alone:
        numpy_alone.setattr(kernels, "pays", lambda _: False)
        plain = read(path)
    assert kernels.pays(1)
    fast = read(path)
    assert (fast.frames, fast.rejected, fast.remarks) == (plain.frames, plain.rejected, plain.remarks)
    assert isinstance(plain.content, Frames)
    assert isinstance(fast.content, Frames)
    assert fast.content.buses == plain.content.buses
    for name in (*Frames.COLUMNS, "fd_row", "fd_data"):
        np.testing.assert_array_equal(getattr(fast.content, name), getattr(plain.content, name))


def step_back(lines: list[bytes]) -> None:
    lines[50_000], lines[50_001] = lines[50_001], lines[50_000]


def jump_back(lines: list[bytes]) -> None:
    lines[40_000:] = [line.replace(b"(17", b"(16") for line in lines[40_000:]]


def long_frame(lines: list[bytes]) -> None:
    lines[45_000] = lines[45_000].partition(b"#")[0] + b"##1" + b"AB" * 12


def too_many_kinds(lines: list[bytes]) -> None:
    lines[30_000:] = [
        b"%s#%s" % (line.partition(b"#")[0][:-3] + b"%03X" % (k % 0x7FF), b"00" * (k % 9))
        for k, line in enumerate(lines[30_000:])
    ]


def others_later(lines: list[bytes]) -> None:
    lines[30_000:] = [line.replace(b" 12", b" 34") for line in lines[30_000:]]


@compiled
@pytest.mark.parametrize("change", [step_back, jump_back, long_frame, too_many_kinds, others_later])
@pytest.mark.parametrize("packed", [False, True])
def test_a_log_that_turns_out_otherwise(
    change: Callable[[list[bytes]], None], packed: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What lets frames be kept by kind holds for the first blocks, and then no more; a packed file looks shorter."""
    lines = [b"(17000000%02d.%06d) can0 12%X#%02X" % (k // 1000, k % 1000, k % 9, k % 256) for k in range(60_000)]
    change(lines)
    path = tmp_path / ("drive.log.gz" if packed else "drive.log")
    text = b"\n".join(lines) + b"\n"
    path.write_bytes(gzip.compress(text, 1) if packed else text)
    with monkeypatch.context() as numpy_alone:
        numpy_alone.setattr(kernels, "pays", lambda _: False)
        plain = read(path)
    monkeypatch.setattr(kernels, "pays", lambda _: True)
    fast = read(path)
    assert (fast.frames, fast.rejected, fast.remarks) == (plain.frames, plain.rejected, plain.remarks)
    assert isinstance(plain.content, Frames)
    assert isinstance(fast.content, FramesByKind) == (change is others_later)
    assert isinstance(fast.content, Frames)
    for name in (*Frames.COLUMNS, "fd_row", "fd_data"):
        np.testing.assert_array_equal(getattr(fast.content, name), getattr(plain.content, name))


FRAMES = st.lists(
    st.tuples(st.sampled_from([*range(5), 2**28]), st.sampled_from([0, EXTENDED]), st.sampled_from([0, 1]),
              st.integers(0, 8), st.integers(0, 2**64 - 1)),
    min_size=1, max_size=60,
)  # fmt: skip


def frames_from(rows: list[tuple[int, int, int, int, int]], t_s: np.ndarray[Any, np.dtype[np.float64]]) -> Frames:
    can_id, flags, bus, length, words = (np.array(column, np.uint64) for column in zip(*rows, strict=True))
    data = words.view(np.uint8).reshape(-1, 8)
    return Frames(t_s, can_id.astype(np.uint32), *(c.astype(np.uint8) for c in (flags, bus, length)), data)


@compiled
@given(FRAMES, st.data())
@settings(max_examples=200, deadline=None)
def test_frames_are_grouped_alike(rows: list[tuple[int, int, int, int, int]], data: st.DataObject) -> None:
    frames = frames_from(rows, np.arange(len(rows)) * 0.5)
    by_loop = grouping.identifiers(frames)
    twin = grouping.group(np.where(frames.flags & EXTENDED, frames.can_id | np.uint32(1 << 31), frames.can_id))
    np.testing.assert_array_equal(by_loop.keys, twin.keys)
    np.testing.assert_array_equal(by_loop.number[by_loop.slot], twin.slot)
    np.testing.assert_array_equal(by_loop.counts, np.bincount(by_loop.slot))
    wanted = np.array(data.draw(st.lists(st.booleans(), min_size=len(twin.keys), max_size=len(twin.keys))))
    (ours, number), (theirs, number_of_twin) = (one.pick(frames, wanted) for one in (by_loop, twin))
    np.testing.assert_array_equal(number, number_of_twin)
    for name in Frames.COLUMNS:
        np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name))
    for slot, some in by_loop.rows_of(wanted[by_loop.number]).items():
        np.testing.assert_array_equal(some, np.flatnonzero(by_loop.slot == slot))


@compiled
@given(FRAMES, st.lists(st.integers(0, 3), min_size=60, max_size=60), st.integers(0, 60), st.integers(1, 9))
@settings(max_examples=200, deadline=None)
def test_frames_by_kind_are_the_same_frames(
    rows: list[tuple[int, int, int, int, int]], steps: list[int], split: int, expected: int
) -> None:
    """Put together in two pieces, with too little room at first."""
    frames = frames_from(rows, np.zeros(len(rows)))
    t_ns = np.cumsum(steps[: len(rows)]) * 10**9 + 17 * 10**17
    columns = {name: getattr(frames, name) for name in ("can_id", "flags", "bus", "length")}
    columns |= {"t_ns": t_ns, "data": frames.data.view(np.uint64)[:, 0]}
    sorter = CanSorter(expected)
    for piece in (slice(0, split), slice(split, None)):
        put = sorter.add({name: column[piece] for name, column in columns.items()})
        assert put is not None
        if split % 2:  # else when it is needed
            put()
    for name, column in sorter.columns().items():
        np.testing.assert_array_equal(column, columns[name], name)
    found = sorter.frames(10**17, ("a", "b"))
    np.testing.assert_array_equal(found.t_s, (t_ns - t_ns[0]) / 1e9)
    for name in Frames.COLUMNS[1:]:
        np.testing.assert_array_equal(getattr(found, name), getattr(frames, name), name)
    assert found.ends_s == (found.t_s[0], found.t_s[-1])
    assert found.longest_step_s == np.diff(found.t_s, prepend=0.0).max()
    assert found.flags_met == frames.flags_met
    backwards = {name: column[::-1].copy() for name, column in columns.items()}
    assert (CanSorter(9).add(backwards) is not None) == (t_ns[0] == t_ns[-1])
    last = {name: column[-1:] for name, column in columns.items()}
    assert not sorter.add(last | {"t_ns": t_ns[-1:] - 1})
    np.testing.assert_array_equal(sorter.columns()["can_id"], frames.can_id)


NUMBERS = st.one_of(
    st.floats(allow_nan=False, allow_infinity=False), st.sampled_from([0.0, -0.0, 1.0, 1e308, -1e308, 5e-324, 1e-310]),
    st.integers(0, 9).map(float),
)  # fmt: skip


@compiled
@given(st.lists(NUMBERS, min_size=1, max_size=300), st.integers(1, 40), NUMBERS, NUMBERS)
@settings(max_examples=300, deadline=None)
def test_numbers_between_two_are_found(numbers: list[float], times: int, low: float, high: float) -> None:
    x = np.array([*numbers * times, np.nan])
    found = kernels.between(x, low, high)
    assert found is not None
    below, some = found
    assert below == np.count_nonzero(x < low)
    np.testing.assert_array_equal(some, x[(x >= low) & (x <= high)])


@pytest.mark.parametrize("n", [1, 2, 3, 1_499, 1_501, 50_000, 200_003])
def test_medians_of_many_kinds_of_numbers(n: int) -> None:
    random = np.random.default_rng(7)
    for x in (
        random.integers(0, 2, n) * 1.0, random.normal(size=n) ** 9, np.arange(n) // (n // 2 + 1) * 1e-3,
        np.arange(n) * 0.1, random.integers(0, 256, n) * 0.5,
        np.r_[np.zeros(n // 2), 1e200, np.ones(n - n // 2)], np.full(n, 3.5), np.exp(random.uniform(-30, 30, n)),
        np.where(np.arange(n) % (max(n // 512, 1)) == 0, 5.0, random.normal(size=n)),  # a sample that misleads
    ):  # fmt: skip
        assert median(x) == np.median(x)


@compiled
def test_too_many_identifiers_go_the_plain_way() -> None:
    n = 5_000
    none, slot = np.zeros(n, np.uint8), np.empty(n, np.uint16)
    ids, times = np.arange(n, dtype=np.uint32), np.zeros(n, np.int64)
    assert kernels.kinds(ids, none, none, none, times, kernels.KindTable(), slot) is None
    few = kernels.kinds(*(column[:4096] for column in (ids, none, none, none, times)), kernels.KindTable(), slot[:4096])
    assert few is not None
    assert (few == 1).all()


@st.composite
def signals(draw: st.DrawFn) -> SignalPlan:
    length = draw(st.integers(1, 64))
    big = draw(st.booleans())
    first = draw(st.integers(0, 64 - length))
    number = st.floats(-1e6, 1e6, allow_subnormal=False).filter(lambda x: x != 0.0)
    return SignalPlan(
        name="S", start_bit=first ^ 7 if big else first, length=length, big_endian=big, signed=draw(st.booleans()),
        scale=draw(number), offset=draw(st.one_of(st.just(0.0), number)),
    )  # fmt: skip


@compiled
@given(signals(), st.lists(st.binary(min_size=8, max_size=8), min_size=1, max_size=20))
@settings(max_examples=500, deadline=None)
def test_signals_are_decoded_alike_to_the_last_bit(signal: SignalPlan, payloads: list[bytes]) -> None:
    data = np.frombuffer(b"".join(payloads), np.uint8).reshape(-1, 8)
    few = extract._LONG_ROWS
    extract._LONG_ROWS = 0
    try:
        got = extract.together(data, [signal])["S"]
    finally:
        extract._LONG_ROWS = few
    assert got.tobytes() == extract.physical(data, signal).tobytes()


@compiled
@pytest.mark.parametrize("n", [1, 1_499, 1_501, 70_000])
@pytest.mark.parametrize(
    "signal",
    [
        SignalPlan(name="S", start_bit=5, length=16, scale=0.25, offset=-3.0),
        SignalPlan(name="S", start_bit=7, length=12, big_endian=True, signed=True, scale=-0.1),
        SignalPlan(name="S", start_bit=0, length=64, signed=True, scale=1e-9),
        SignalPlan(name="S", start_bit=63, length=1),
    ],
)
def test_one_look_finds_the_ends_and_the_middle(signal: SignalPlan, n: int) -> None:
    data = np.random.default_rng(n).integers(0, 256, (n, 8), dtype=np.uint8)
    data[: n // 3] = 1  # very many of one value
    value = extract.physical(data, signal)
    other = SignalPlan(name="O", start_bit=3, length=9, scale=-0.25, offset=7.0)  # beside another one
    of_other = extract.physical(data, other)
    assert extract.extents(data, [signal, other, signal]) == [
        (value.min(), np.median(value), value.max()),
        (of_other.min(), np.median(of_other), of_other.max()),
        (value.min(), np.median(value), value.max()),
    ]


@compiled
def test_what_one_thread_meets_ends_the_other(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C while rows are put in place: no block may stay behind that is begun, never read, and waited for."""
    path = tmp_path / "long.log"
    path.write_bytes(b"(1700000000.000001) can0 123#0011223344556677\n" * 100_000)
    finish, puts = Block.finish, itertools.count()

    def stopped(*given: Any) -> Callable[[], None]:
        put = finish(*given)

        def once() -> None:
            if next(puts) == 3:
                raise KeyboardInterrupt
            put()

        return once

    monkeypatch.setattr(Block, "finish", stopped)
    met: list[str] = []

    def reading() -> None:
        try:
            can_text_loop.read(Source(path), CanColumns(), [], Tally(), {})
        except (KeyboardInterrupt, RuntimeError) as error:
            met.append(type(error).__name__)

    thread = threading.Thread(target=reading, daemon=True)
    thread.start()
    thread.join(60.0)
    assert met == ["KeyboardInterrupt"]


@compiled
def test_extents_of_many_signals_that_stand_still_take_room_for_a_few(monkeypatch: pytest.MonkeyPatch) -> None:
    n = 70_000
    rooms: list[int] = []
    kernel = kernels.extents

    def counted(data: Any, tables: kernels.SignalTables, *ends: Any) -> kernels.Extents | None:
        rooms.append(tables.count * len(data))
        return kernel(data, tables, *ends)

    monkeypatch.setattr(kernels, "extents", counted)
    monkeypatch.setattr(kernels, "pays", lambda rows: rows > 1)
    monkeypatch.setattr(extract, "_MOST_ROOM", 3 * n)
    flags = [SignalPlan(name=f"S{k}", start_bit=2 * k, length=2, offset=k) for k in range(32)]
    found = extract.extents(np.full((n, 8), 0xFF, np.uint8), flags)
    assert found == [(3.0 + k, 3.0 + k, 3.0 + k) for k in range(32)]
    assert (sum(rooms), max(rooms)) == (32 * n, 3 * n)


@compiled
@pytest.mark.usefixtures("long_ways")
def test_broadcast_messages_with_short_frames(tmp_path: Path) -> None:
    path = tmp_path / "drive.log"
    path.write_bytes(
        b"".join(b"(1.%06d) can0 123#%s\n" % (k, b"0102030405060708"[: 16 - k % 3 * 2]) for k in range(300))
    )
    first = SignalPlan(name="A", start_bit=0, length=16, scale=0.5)
    last = SignalPlan(name="B", start_bit=56, length=8, offset=-1.0)
    plan = MessagePlan(frame_id=0x123, extended=False, name="M", length_bytes=8, signals=(first, last))
    (a, b), remarks = broadcast.decode(frames_of(path), [plan], "drive.log")
    assert np.unique(a.value).tolist() == [0x201 * 0.5]
    assert np.isnan(b.value).sum() == 200
    assert [remark.count for remark in remarks] == [200]


@compiled
def test_signals_of_a_message_in_several_kinds_of_frames(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two lengths, on two buses, sent and received: in the order of the file whichever way they are kept."""
    marks = (b"", b" T", b" R")
    path = tmp_path / "drive.log"
    path.write_bytes(
        b"".join(
            b"(1.%06d) can%d 123#%s%s\n" % (k // 3, k % 5 % 2, b"%04X" % k * (1 + k % 2), marks[k % 3])
            for k in range(9999)
        )
    )
    plan = MessagePlan(frame_id=0x123, extended=False, name="M", length_bytes=2,
                       signals=(SignalPlan(name="A", start_bit=7, length=16, big_endian=True),))  # fmt: skip
    with monkeypatch.context() as numpy_alone:
        numpy_alone.setattr(kernels, "pays", lambda _: False)
        plain, _ = broadcast.decode(frames_of(path), [plan], "drive.log")
    monkeypatch.setattr(kernels, "pays", lambda _: True)
    frames = frames_of(path)
    assert isinstance(frames, FramesByKind)
    fast, _ = broadcast.decode(frames, [plan], "drive.log")
    assert [one.ecu for one in fast] == [one.ecu for one in plain] == ["can0", "can1"]
    for ours, theirs in zip(fast, plain, strict=True):
        np.testing.assert_array_equal(ours.t_s, theirs.t_s)
        np.testing.assert_array_equal(ours.value, theirs.value)


def test_code_is_kept_and_spoilt_code_made_anew(tmp_path: Path) -> None:
    compiler = engine.Compiler(pytest.importorskip("llvmlite.binding", reason=WITHOUT))
    compiler.object_code(tmp_path)
    (kept,) = tmp_path.iterdir()
    whole = kept.read_bytes()
    kept.write_bytes(whole[:-100])
    assert compiler.object_code(tmp_path) == whole[4:]
    assert kept.read_bytes() == whole
    kept.chmod(0o666)
    assert cache.kept_code(kept) is None


LINUX_PC = pytest.mark.skipif(
    sys.platform != "linux" or platform.machine() != "x86_64", reason="images are made of x86-64 code for Linux alone"
)


@LINUX_PC
def test_an_image_runs_without_the_compiler_and_only_where_it_is_whole(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("llvmlite.binding", reason=WITHOUT)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    engine.library.cache_clear()
    engine.is_light.cache_clear()
    try:
        assert engine.library() is not None
        assert engine.is_light()
        (kept,) = (tmp_path / "logan").glob("*.image")
        whole = kept.read_bytes()
        buffer, ends = np.full(64 + kernels.SPARE_BYTES, 10, np.uint8), np.empty(5, np.int64)
        for _ in range(2):
            library = engine.Library(image.Image(kept).address_of)
            assert library.function("line_ends", 3)(buffer.ctypes.data, 3, ends.ctypes.data) == 3
            assert ends[:3].tolist() == [0, 1, 2]
        for spoilt in (whole[:-1], whole[:5000] + bytes([whole[5000] ^ 1]) + whole[5001:], b"", b"{}", whole[:4096]):
            kept.write_bytes(spoilt)
            with pytest.raises((ValueError, OSError, msgspec.MsgspecError)):
                image.Image(kept)
        engine.library.cache_clear()
        assert engine.library() is not None
        assert kept.read_bytes() == whole
        kept.chmod(0o666)
        with pytest.raises(PermissionError):
            image.Image(kept)
    finally:
        engine.library.cache_clear()
        engine.is_light.cache_clear()


def test_of_other_object_code_no_image_is_made() -> None:
    llvm = pytest.importorskip("llvmlite.binding", reason=WITHOUT)
    llvm.initialize_all_targets()
    llvm.initialize_all_asmprinters()

    def compiled_for(triple: str, text: str) -> bytes:
        machine = llvm.Target.from_triple(triple).create_target_machine(reloc="pic", codemodel="small")
        return bytes(machine.emit_object(llvm.parse_assembly(text)))

    plain = "define i64 @f(i64 %x) {\n %y = add i64 %x, 1\n ret i64 %y\n}"
    made = image.made(compiled_for("x86_64-unknown-linux-gnu", plain))
    assert made is not None
    assert b'"f":0' in made[: image.PAGE]
    for triple in ("aarch64-unknown-linux-gnu", "x86_64-pc-windows-msvc", "x86_64-apple-macosx"):
        assert image.made(compiled_for(triple, plain)) is None
    outside = "declare i64 @g(i64)\ndefine i64 @f(i64 %x) {\n %y = call i64 @g(i64 %x)\n ret i64 %y\n}"
    assert image.made(compiled_for("x86_64-unknown-linux-gnu", outside)) is None
    changing = "@v = global i64 7\ndefine i64 @f() {\n %y = load i64, ptr @v\n ret i64 %y\n}"
    assert image.made(compiled_for("x86_64-unknown-linux-gnu", changing)) is None


def test_without_llvmlite_numpy_does_it(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def absent(name: str) -> Any:
        raise ImportError(name)

    monkeypatch.setattr(importlib, "import_module", absent)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    engine.library.cache_clear()
    kernels._function.cache_clear()
    try:
        assert not kernels.at_hand()
        assert kernels.signals(np.zeros((3, 8), np.uint8), tables_of(0)) is None
    finally:
        engine.library.cache_clear()
        kernels._function.cache_clear()


def test_an_old_llvm_leaves_numpy(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    llvm = pytest.importorskip("llvmlite.binding", reason=WITHOUT)
    monkeypatch.setattr(llvm, "llvm_version_info", (15, 0, 7))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    engine.library.cache_clear()
    try:
        assert engine.library() is None
    finally:
        engine.library.cache_clear()


def test_a_folder_that_cannot_be_written_only_costs_time(tmp_path: Path) -> None:
    compiler = engine.Compiler(pytest.importorskip("llvmlite.binding", reason=WITHOUT))
    (tmp_path / "file").write_bytes(b"")
    library = compiler.loaded(compiler.object_code(tmp_path / "file" / "logan"))
    buffer, ends = np.full(64 + kernels.SPARE_BYTES, 10, np.uint8), np.empty(5, np.int64)
    assert library.function("line_ends", 3)(buffer.ctypes.data, 3, ends.ctypes.data) == 3
    assert ends[:3].tolist() == [0, 1, 2]


def test_text_that_llvm_refuses_leaves_numpy(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    pytest.importorskip("llvmlite.binding", reason=WITHOUT)
    spoilt = tmp_path / "kernels.ll"
    spoilt.write_text("define i64 @line_ends(unheard of) {", "ascii")
    monkeypatch.setattr(engine, "TEXT", spoilt)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    engine.library.cache_clear()
    try:
        assert engine.library() is None
    finally:
        engine.library.cache_clear()
