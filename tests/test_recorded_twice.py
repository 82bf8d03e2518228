"""One bus recorded twice counts once, and what is no second recording loses nothing.

The logs are random, so that what each recorder heard is known record by record; that two recorders of one bus hear the
same frames in the same order is how the bus works (ISO 11898-1: a frame that one node refuses is sent again for all).
"""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from logan.capture import read
from logan.model.capture import Capture, Content, Remark, Table
from logan.model.channel import Channel
from logan.model.frames import FD, Frames, FramesByKind, Messages, Payloads
from logan.pipeline import clocks
from logan.pipeline.gather import Gathered, gather

Rows = NDArray[np.bool_]


def drive(seed: int, seconds: float = 60.0, first_id: int = 0x100, steady: bool = False) -> Frames:
    """Six messages: two signals that wander, one that rises slowly, a counter of four bits, two that stand still."""
    rng = np.random.default_rng(seed)
    t_s, can_id, data = [], [], []
    shapes = ((0.01, "walk"), (0.02, "still"), (0.1, "walk"), (0.05, "counter"), (1.0, "still"), (0.1, "slow"))
    for k, (period_s, shape) in enumerate(shapes):
        n = int(seconds / period_s)
        t_s.append((np.arange(n) + rng.random()) * period_s + 0.02 * period_s * rng.random(n))
        rows = np.zeros((n, 8), np.uint8)
        if shape == "walk" and not steady:
            level = (20_000 + 120 * rng.normal(size=n).cumsum()).astype(np.int64) % 65_536
            rows[:, 0], rows[:, 1], rows[:, 2] = level >> 8, level & 255, rng.integers(0, 4, n)
        elif shape == "slow" and not steady:
            rows[:, 0] = 60 + np.arange(n) // 50
        elif shape == "counter":
            rows[:, 0] = np.arange(n) % 16
        rows[:, 7] = k
        can_id.append(np.full(n, first_id + k, np.uint32))
        data.append(rows)
    return frames(np.concatenate(t_s), np.concatenate(can_id), np.concatenate(data))


def frames(t_s: NDArray[np.float64], can_id: NDArray[np.uint32], data: NDArray[np.uint8]) -> Frames:
    order = np.argsort(t_s, kind="stable")
    none = np.zeros(len(order), np.uint8)
    return Frames(t_s[order], can_id[order], none, none, none + np.uint8(8), data[order])


def heard(bus: Frames, rows: Rows, shift_s: float = 0.0, error_s: NDArray[np.float64] | float = 0.0) -> Frames:
    """What a recorder keeps of a bus, by its own clock."""
    some = bus.take(np.flatnonzero(rows))
    return frames(some.t_s + shift_s + error_s, some.can_id, some.data)


def capture(name: str, content: Content, absolute: bool = True) -> Capture:
    if absolute and isinstance(content, Frames):
        first_s = float(content.t_s[0])
        content = Frames(
            content.t_s - first_s, content.can_id, content.flags, content.bus, content.length, content.data,
            content.fd_row, content.fd_data, round((1.7e9 + first_s) * 1e9), True, content.buses,
        )  # fmt: skip
    return Capture(name, name, "", "log", content, 1, 0, None, None)


def counted(*contents: Content | None) -> Counter[tuple[int, bytes]]:
    """How often each frame is there."""
    out: Counter[tuple[int, bytes]] = Counter()
    for content in contents:
        if isinstance(content, Frames):
            out.update(zip(content.can_id.tolist(), map(bytes, content.data), strict=True))
    return out


def twice(found: clocks.Clocks | Gathered) -> list[Remark]:
    return [remark for remark in found.remarks if remark.kind == "recorded_twice"]


@pytest.mark.parametrize("seed", range(24))
def test_what_two_recorders_heard_is_the_union_and_each_record_once(seed: int) -> None:
    rng = np.random.default_rng([7, seed])
    bus = drive(seed)
    shift_s = float(rng.choice([0.0, 0.0031, 0.5, 1.0, -7.3]))
    jitter_s, drift = float(rng.choice([0.0, 1e-6, 5e-4, 1e-3])), float(rng.choice([0.0, 0.0, 5e-5, -1e-4]))
    first, second = (rng.random(len(bus)) >= rng.choice([0.0, 0.05, 0.2, 0.4]) for _ in range(2))
    if part := int(rng.integers(3)):
        second &= bus.t_s > 20.0
        first &= bus.t_s < (40.0 if part == 2 else 60.0)
    own_s = bus.t_s * drift + rng.uniform(-jitter_s, jitter_s, len(bus))
    absolute = bool(rng.integers(2))
    one = capture("a", heard(bus, first), absolute)
    two = capture("b", heard(bus, second, shift_s, own_s[second]), absolute)
    found = clocks.common([one, two])
    (said,) = twice(found)
    whole = heard(bus, first | second)
    (united,) = [content for content in found.contents if content is not None]
    assert isinstance(united, Frames)
    assert counted(united) == counted(whole)
    assert said.count == np.count_nonzero(first & second)
    assert np.all(np.diff(united.t_s) >= 0)
    base, base_shift_s = (one, 0.0) if said.file == "b" else (two, shift_s)
    zero_s = base.content.origin_ns / 1e9 - 1.7e9 if absolute else 0.0
    late_s = np.sort(united.t_s + zero_s) - np.sort(whole.t_s) - base_shift_s
    assert np.abs(late_s).max() < 60.0 * abs(drift) + 2 * jitter_s + 2e-4
    if abs(shift_s) > 0.05:
        (told_s,) = re.findall(r"(-?[0-9.]+) s(?: later| earlier|:)", said.text)
        assert abs(float(told_s)) == pytest.approx(abs(shift_s), abs=0.01)


@pytest.mark.parametrize("seed", range(6))
def test_order_of_frames_is_kept_where_stamps_jitter_more_than_they_step(seed: int) -> None:
    """Consecutive frames of ISO 15765-2 are 1 ms apart, stamps of the second recorder late by up to 6 ms."""
    bus, rng = drive(seed), np.random.default_rng(seed)
    long_s = 10.0 + np.arange(15) / 1e3
    rows = np.zeros((15, 8), np.uint8)
    rows[:, 0], rows[:, 1:] = 0x21 + np.arange(15), rng.integers(0, 256, (15, 7))
    pairs = (bus.t_s, long_s), (bus.can_id, np.full(15, 0x7E8, np.uint32)), (bus.data, rows)
    bus = frames(*(np.concatenate(pair) for pair in pairs))
    least_s = 1e-4 * np.arange(len(bus))  # a frame of eight bytes takes 0.1 ms at 1 Mbit/s (ISO 11898-1)
    late_s = np.maximum.accumulate(bus.t_s - least_s + rng.uniform(0, 6e-3, len(bus))) + least_s - bus.t_s
    lost = (bus.can_id == 0x7E8) & (bus.data[:, 0] % 3 == 0)
    second = (bus.t_s > 5.0) & ((bus.can_id == 0x7E8) | (rng.random(len(bus)) > 0.05))
    found = clocks.common([capture("a", heard(bus, ~lost)), capture("b", heard(bus, second, 0.2, late_s[second]))])
    (united,) = [content for content in found.contents if content is not None]
    assert isinstance(united, Frames)
    assert united.data[united.can_id == 0x7E8, 0].tolist() == list(range(0x21, 0x30))


def test_clocks_that_drift_apart_by_more_than_stamps_jitter() -> None:
    """80 ppm, as of two cheap quartz clocks (common practice, no source), for a quarter of an hour."""
    bus, rng = drive(2, seconds=900.0), np.random.default_rng(2)
    first, second = (rng.random(len(bus)) > 0.1 for _ in range(2))
    found = clocks.common(
        [capture("a", heard(bus, first)), capture("b", heard(bus, second, 3.0, 8e-5 * bus.t_s[second]))]
    )
    (united,) = [content for content in found.contents if content is not None]
    assert counted(united) == counted(heard(bus, first | second))


def test_neighbours_of_a_lost_frame_are_not_taken_for_it() -> None:
    """A message every 5 ms that never changes, of which either recorder loses others, beside one that does change."""
    rng = np.random.default_rng(3)
    still, other = 0.005 * np.arange(4000), 0.0025 + 0.01 * np.arange(2000)
    ids = np.repeat(np.array([1, 2], np.uint32), [4000, 2000])
    data = np.zeros((6000, 8), np.uint8)
    data[4000:, :4] = rng.integers(0, 256, (2000, 4))
    bus = frames(np.concatenate([still, other]), ids, data)
    place = np.rint(bus.t_s / 0.005).astype(int) % 4
    first, second = (bus.can_id == 2) | (place != 0), (bus.can_id == 2) | (place != 1)
    late_s = rng.uniform(0, 0.003, len(bus))
    found = clocks.common([capture("a", heard(bus, first)), capture("b", heard(bus, second, 0.0, late_s[second]))])
    united = [content for content in found.contents if content is not None]
    assert len(united) == 1
    assert counted(*united)[2, bytes(data[-1])] == 1
    assert sum(counted(*united).values()) == pytest.approx(len(bus), rel=0.02), (
        "stamps jitter by more than half of 5 ms"
    )
    assert sum(counted(*united).values()) >= len(bus)


@pytest.mark.parametrize("seed", range(4))
def test_three_recorders_of_one_bus(seed: int) -> None:
    bus, rng = drive(seed), np.random.default_rng(seed)
    kept = [(rng.random(len(bus)) > 0.2) & (bus.t_s > begin) & (bus.t_s < begin + 30) for begin in (0, 28, 14)]
    files = [capture(str(k), heard(bus, rows, 0.3 * k)) for k, rows in enumerate(kept)]
    found = clocks.common(files)
    assert len(twice(found)) == 2
    assert counted(*found.contents) == counted(heard(bus, np.logical_or.reduce(kept)))


def test_a_bus_that_only_one_of_them_heard_stays() -> None:
    """A recorder of two buses beside one of the second alone, which calls it otherwise."""
    one, two = drive(1), drive(2, first_id=0x300)
    both = frames(*(np.concatenate([getattr(b, c) for b in (one, two)]) for c in ("t_s", "can_id", "data")))
    bus = (both.can_id >= 0x300).astype(np.uint8)
    wide = Frames(both.t_s, both.can_id, both.flags, bus, both.length, both.data, buses=("body", "engine"))
    wide = wide.take(np.flatnonzero(np.random.default_rng(1).random(len(wide)) > 0.1))
    narrow = heard(two, np.ones(len(two), bool), 0.01)
    for files in ((wide, narrow), (narrow, wide)):
        found = clocks.common([capture(str(k), content) for k, content in enumerate(files)])
        (united,) = [content for content in found.contents if content is not None]
        assert isinstance(united, Frames)
        assert counted(united) == counted(heard(both, both.can_id >= 0x300), wide.take(np.flatnonzero(wide.bus == 0)))
        names = np.array(united.buses)[united.bus]
        assert len(set(names[united.can_id < 0x300])) == len(set(names[united.can_id >= 0x300])) == 1
        assert set(names[united.can_id < 0x300]) != set(names[united.can_id >= 0x300])


def test_long_frames_that_differ_behind_their_eighth_byte_are_others() -> None:
    rng = np.random.default_rng(8)
    n = 2000
    long = np.zeros((n, 64), np.uint8)
    long[:, 60:] = rng.integers(0, 256, (n, 4))

    def fd(rows: NDArray[np.int64], shift_s: float, payload: NDArray[np.uint8]) -> Frames:
        k = len(rows)
        one = np.ones(k, np.uint8)
        t_s, ids = rows * 0.01 + shift_s, np.full(k, 0x55, np.uint32)
        return Frames(t_s, ids, FD * one, 0 * one, 64 * one, payload[rows, :8], np.arange(k), payload[rows])

    kept = [np.flatnonzero(rng.random(n) > 0.2) for _ in range(2)]
    found = clocks.common([capture(str(k), fd(rows, 0.02 * k, long)) for k, rows in enumerate(kept)])
    (united,) = [content for content in found.contents if content is not None]
    assert isinstance(united, Frames)
    assert np.array_equal(united.fd_row, np.arange(len(united)))
    assert np.array_equal(united.fd_data, long[np.union1d(*kept)])
    other = long.copy()
    other[:, 60:] = rng.integers(0, 256, (n, 4))
    assert not twice(clocks.common([capture("a", fd(kept[0], 0, long)), capture("b", fd(kept[1], 0.003, other))]))


def test_payloads_of_two_transcripts() -> None:
    rng = np.random.default_rng(4)
    n = 300
    blob = rng.integers(0, 256, (n, 6)).astype(np.uint8)

    def said(rows: NDArray[np.int64], shift_s: float) -> Payloads:
        k = len(rows)
        t_s = rows * 0.3 + shift_s
        return Payloads(Messages(
            t_s, t_s, np.full(k, 0x7E8, np.uint32), np.full(k, -1, np.int16), np.zeros(k, bool), np.zeros(k, np.uint8),
            6 * np.arange(k), np.full(k, 6, np.int32), blob[rows].ravel(),
        ))  # fmt: skip

    kept = [np.flatnonzero(rng.random(n) > 0.3) for _ in range(2)]
    found = clocks.common([capture(str(k), said(rows, 40.0 * k)) for k, rows in enumerate(kept)])
    (united,) = [content for content in found.contents if content is not None]
    assert isinstance(united, Payloads)
    rows = np.union1d(*kept)
    assert [united.messages.payload(k) for k in range(len(united.messages))] == list(map(bytes, blob[rows]))
    assert len(twice(found)) == 1


# What is given as files


def poll_log(
    path: Path, seed: int, zero: float = 1.7e9, shift_s: float = 0.0, digits: int = 6, rows: slice = slice(None)
) -> Path:
    """A tester that asks for engine speed and coolant temperature (SAE J1979 PID 0C, 05), ten times a second."""
    rng = np.random.default_rng(seed)
    lines = []
    for k in range(600):
        asked = 0.1 * k + 0.01 * rng.random()
        speed = int(4 * (800 + rng.normal(0, 8)))
        for late, text in (
            (0.0, "7DF#02010C0000000000"), (0.0043, f"7E8#04410C{speed:04X}000000"),
            (0.0501, "7DF#0201050000000000"), (0.0547, "7E8#0341057B00000000"),
        ):  # fmt: skip
            lines.append(f"({round(zero + asked + late + shift_s, digits):.6f}) can0 {text}\n")
    path.write_text("".join(lines[rows]))
    return path


def sizes(found: Gathered) -> dict[str, list[int]]:
    out: dict[str, list[int]] = {}
    for channel in found.signals:
        out.setdefault(channel.name, []).append(len(channel.t_s))
    return out


@pytest.mark.parametrize(
    ("how", "said"),
    [
        ({"shift_s": 0.0031}, "stamped 0.0031 s later"), ({"digits": 3}, "for 60.0 s: what"),
        ({"shift_s": 1.0}, "stamped 1.0000 s later"), ({"shift_s": -1.0, "digits": 3}, "stamped 1.000"),
        ({"zero": 0.0}, "where its time 0 is"),
    ],
)  # fmt: skip
def test_a_second_recording_of_a_drive_adds_nothing(tmp_path: Path, how: dict[str, float], said: str) -> None:
    one = poll_log(tmp_path / "a.log", 1)
    alone, both = gather([one]), gather([one, poll_log(tmp_path / "b.log", 1, **how)])  # type: ignore[arg-type]
    (remark,) = twice(both)
    assert remark.count == 2400
    assert said in remark.text
    assert len(alone.signals) == len(both.signals)
    for before, after in zip(alone.signals, both.signals, strict=True):
        assert np.array_equal(before.value, after.value)
        assert np.diff(after.t_s) == pytest.approx(np.diff(before.t_s), abs=2e-3)
    assert all(remark.kind != "no_common_clock" for remark in both.remarks)


@pytest.mark.parametrize("shift_s", [0.0031, -0.02])
def test_a_second_recording_of_speeds_that_come_again_and_again(tmp_path: Path, shift_s: float) -> None:
    """Thirteen speeds in turn, none of which stands alone: a clock that is nearly the same tells the twins."""
    files = []
    for name, late in (("a.log", 0.0), ("b.log", shift_s)):
        lines = [
            f"({1.7e9 + 0.1 * k + late + more:.6f}) can0 {text}\n"
            for k in range(600)
            for more, text in (
                (0.0, "7DF#02010C0000000000"), (0.004, f"7E8#04410C{4 * (800 + 5 * (7919 * k % 13)):04X}000000"),
                (0.05, "7DF#0201050000000000"), (0.054, "7E8#0341057B00000000"),
            )
        ]  # fmt: skip
        files.append(tmp_path / name)
        files[-1].write_text("".join(lines))
    both = gather(files)
    assert [remark.count for remark in twice(both)] == [2400]
    assert sizes(both) == sizes(gather(files[:1]))


def test_two_copies_without_a_clock_are_one(tmp_path: Path) -> None:
    one = poll_log(tmp_path / "a.log", 1, zero=0.0, rows=slice(0, 1600))
    two = poll_log(tmp_path / "b.log", 1, zero=-20.0, rows=slice(800, None))
    found = gather([one, two])
    assert sizes(found) == sizes(gather([poll_log(tmp_path / "c.log", 1)]))
    assert not [remark for remark in found.remarks if remark.kind == "no_common_clock"]


def test_an_overlap_of_six_frames(tmp_path: Path) -> None:
    one, two = (
        poll_log(tmp_path / name, 1, rows=rows) for name, rows in (("a.log", slice(1206)), ("b.log", slice(1200, None)))
    )
    found = gather([one, two])
    (remark,) = twice(found)
    assert remark.count == 6
    assert sizes(found) == sizes(gather([poll_log(tmp_path / "c.log", 1)]))


def test_a_vin_of_which_each_recorder_lost_another_frame(tmp_path: Path) -> None:
    """ISO 15765-2: a first frame and two consecutive ones; neither file holds all three."""
    vin = b"ZZZTESTVAN0000001"
    said = ["7DF#0209020000000000", f"7E8#1014490201{vin[:3].hex()}", "7E0#3000000000000000",
            f"7E8#21{vin[3:10].hex()}", f"7E8#22{vin[10:].hex()}"]  # fmt: skip
    lines = [f"({1.7e9 - 2.0 + 0.01 * k:.6f}) can0 {text.upper()}\n" for k, text in enumerate(said)]
    files = []
    for name, lost in (("a.log", 3), ("b.log", 4)):
        path = poll_log(tmp_path / name, 1)
        rest = path.read_text().splitlines(keepends=True) + lines[:lost] + lines[lost + 1 :]
        path.write_text("".join(sorted(rest)))
        assert gather([path]).vehicle.vin is None
        files.append(path)
    found = gather(files)
    assert found.vehicle.vin == vin.decode()
    assert "lost_consecutive_frame" not in {remark.kind for remark in found.remarks}


def test_long_logs_whose_columns_are_kept_by_kind(tmp_path: Path) -> None:
    bus, rng = drive(5, seconds=300.0), np.random.default_rng(5)
    kept = [rng.random(len(bus)) > 0.2 for _ in range(2)]
    contents = []
    for k, rows in enumerate(kept):
        some = heard(bus, rows, 1.7e9 + 0.25 * k)
        path = tmp_path / f"{k}.log"
        path.write_text("".join(
            f"({t:.6f}) can0 {i:03X}#{bytes(d).hex().upper()}\n"
            for t, i, d in zip(some.t_s.tolist(), some.can_id.tolist(), some.data, strict=True)
        ))  # fmt: skip
        contents.append(read(path))
    found = clocks.common(contents)
    by_kind = [isinstance(one.content, FramesByKind) for one in contents]
    assert all(by_kind) or not any(by_kind)
    assert counted(*found.contents) == counted(heard(bus, kept[0] | kept[1]))
    assert twice(found)[0].count == np.count_nonzero(kept[0] & kept[1])


def table(t_s: NDArray[np.float64], absolute: bool = True, **columns: NDArray[np.float64]) -> Table:
    channels = tuple(Channel(name, "", t_s, value) for name, value in columns.items())
    return Table(channels, int(1.7e9) * 10**9 if absolute else 0, absolute)


@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize(
    ("shift_s", "round_s"), [(0.0, 0.001), (0.0, 0.01), (0.4, 0.0), (-3.0, 0.1), (0.0, 1.0), (7.0, 1.0)]
)
def test_tables_with_rounded_or_moved_times(absolute: bool, shift_s: float, round_s: float) -> None:
    rng = np.random.default_rng(6)
    t_s = np.cumsum(rng.uniform(0.3, 0.5, 500))
    columns = {
        "speed": np.round(800 + 40 * rng.normal(size=500)), "coolant": 60.0 + np.arange(500) // 25,
        "lamp": np.zeros(500), "rail": np.round(30 + rng.normal(size=500).cumsum(), 2),
    }  # fmt: skip
    own_s = t_s + shift_s
    if round_s:
        own_s = np.round(own_s / round_s) * round_s
    whole = table(t_s, absolute, **columns)
    copy = table(own_s[100:], absolute, **{name: value[100:] for name, value in columns.items()})
    found = clocks.common([capture("a", whole), capture("b", copy)])
    (said,) = twice(found)
    assert (said.file, said.count) == ("b", 400)
    assert found.contents == (whole, None)
    early = table(t_s[:300], absolute, **{name: value[:300] for name, value in columns.items()})
    late = table(own_s[200:], absolute, **{name: value[200:] for name, value in columns.items()})
    found = clocks.common([capture("a", early), capture("b", late)])
    (said,) = twice(found)
    assert said.count == 100
    joined: dict[str, list[tuple[float, float]]] = {name: [] for name in columns}
    for content, shift in zip(found.contents, found.shift_s, strict=True):
        assert isinstance(content, Table)
        for channel in content.channels:
            joined[channel.name] += zip((channel.t_s + shift).tolist(), channel.value.tolist(), strict=True)
    assert {name: [v for _, v in sorted(pairs, key=lambda p: round(p[0], 6))] for name, pairs in joined.items()} == {
        name: value.tolist() for name, value in columns.items()
    }


def test_two_exports_of_a_drive_with_different_columns() -> None:
    rng = np.random.default_rng(6)
    columns = {name: np.round(50 + rng.normal(size=300).cumsum(), 1) for name in "abcdefg"}
    t_s = np.arange(300.0)
    one, two = table(t_s, a=columns["a"], b=columns["b"]), table(t_s + 2.5, **{n: columns[n] for n in "bcdefg"})
    found = clocks.common([capture("a", one), capture("b", two)])
    assert [remark.file for remark in twice(found)] == ["b"]
    left = found.contents[1]
    assert isinstance(left, Table)
    assert [channel.name for channel in left.channels] == list("cdefg")
    assert left.channels[0].t_s + found.shift_s[1] == pytest.approx(t_s)


# Near misses


def test_two_testers_on_one_bus_keep_all_that_each_asked(tmp_path: Path) -> None:
    """Each log holds its own tester's questions alone; engine speed is asked for by both, at instants of their own."""
    files, alone = [], 0
    for k, pids in enumerate((("0C", "05", "1F"), ("0C", "0D", "0F", "1F"))):
        rng = np.random.default_rng(k)
        lines = []
        for row in range(1500):
            pid, t_s = pids[row % len(pids)], row * (0.11 + 0.02 * k) + 0.01 * rng.random()
            value = {
                "0C": f"{int(4 * (1500 + 600 * np.sin(t_s / 9) + rng.normal(0, 3))):04X}", "1F": f"{int(t_s):04X}",
                "05": f"{100 + int(t_s / 20):02X}", "0D": f"{int(30 + 20 * np.sin(t_s / 9)):02X}", "0F": "3C",
            }[pid]  # fmt: skip
            size = len(value) // 2
            lines.append(f"({1.7e9 + t_s:.6f}) can0 7DF#0201{pid}\n")
            lines.append(f"({1.7e9 + t_s + 0.006:.6f}) can0 7E8#{2 + size:02X}41{pid}{value}{'AA' * (5 - size)}\n")
        files.append(tmp_path / f"{k}.log")
        files[-1].write_text("".join(lines))
        alone += sum(len(channel.t_s) for channel in gather([files[-1]]).signals)
    both = gather(files)
    assert not twice(both)
    assert sum(len(channel.t_s) for channel in both.signals) == alone


@pytest.mark.parametrize("absolute", [True, False])
@pytest.mark.parametrize("steady", [True, False])
def test_two_buses_of_which_one_passes_some_messages_on(absolute: bool, steady: bool) -> None:
    """The gateway sends on two of six messages, the fastest not among them, 1.5 ms later."""
    one, two = drive(1), drive(2, first_id=0x300, steady=steady)
    passed = one.take(np.flatnonzero((one.can_id == 0x102) | (one.can_id == 0x103)))
    pairs = [(passed.t_s + 0.0015, two.t_s), (passed.can_id, two.can_id), (passed.data, two.data)]
    found = clocks.common([
        capture("a", one, absolute), capture("b", frames(*(np.concatenate(pair) for pair in pairs)), absolute),
    ])  # fmt: skip
    assert not twice(found)
    assert counted(*found.contents) == counted(one, passed, two)


@pytest.mark.parametrize("absolute", [True, False])
def test_successive_drives_of_one_vehicle(absolute: bool) -> None:
    """Each begins with the same idle counter and warm-up; the seconds since the start are counted anew in each."""
    drives = []
    for seed in (1, 2):
        one = drive(seed)
        seconds = np.zeros((60, 8), np.uint8)
        seconds[:, 6] = np.arange(60)
        columns = (one.t_s, np.arange(60.0)), (one.can_id, np.full(60, 0x400, np.uint32)), (one.data, seconds)
        drives.append(frames(*(np.concatenate(pair) for pair in columns)))
    for shift_s in (0.0, 4.0, 600.0):
        later = heard(drives[1], np.ones(len(drives[1]), bool), shift_s)
        found = clocks.common([capture("a", drives[0], absolute), capture("b", later, absolute)])
        assert not twice(found)
        assert counted(*found.contents) == counted(*drives)


def test_a_vehicle_that_stands_tells_nothing() -> None:
    """Constant payloads and a counter of four bits, recorded at two times, neither with a clock."""
    stands = [drive(seed, steady=True) for seed in (1, 2)]
    assert not twice(clocks.common([capture(str(k), one, absolute=False) for k, one in enumerate(stands)]))


def test_a_table_and_a_log_of_one_drive_stay_apart(tmp_path: Path) -> None:
    one, path = poll_log(tmp_path / "a.log", 1), tmp_path / "b.csv"
    (speed,) = [channel for channel in gather([one]).signals if "0C" in channel.source]
    rows = [f"{t:.3f},{v:g}\n" for t, v in zip(speed.t_s.tolist(), speed.value.tolist(), strict=True)]
    path.write_text("# start: 2023-11-14T22:13:20+00:00\ntime [s],Engine RPM [rpm]\n" + "".join(rows))
    found = gather([one, path])
    assert not twice(found)
    assert sum(len(channel.t_s) for channel in found.signals) == 600 * 3


def test_two_testers_tables_of_slow_and_fast_signals() -> None:
    rng = np.random.default_rng(2)

    def asked(first_s: float) -> Table:
        t_s = first_s + np.arange(600) + 0.2 * rng.random(600)
        speed = np.round(1500 + 600 * np.sin(t_s / 9) + rng.normal(0, 3, 600))
        return table(t_s, speed=speed, coolant=60.0 + t_s // 20, seconds=np.floor(t_s), lamp=np.zeros(600))

    tables = asked(0.0), asked(0.4)
    found = clocks.common([capture(str(k), one) for k, one in enumerate(tables)])
    assert not twice(found)
    assert found.contents == tables


@pytest.mark.parametrize("absolute", [True, False])
def test_two_drives_with_the_seconds_since_each_start(absolute: bool) -> None:
    """A count that begins anew in each drive is the same in both, engine speed beside it is not."""
    tables = []
    for seed in (1, 2):
        speed = np.round(800 + 10 * np.random.default_rng(seed).normal(size=600))
        tables.append(table(np.arange(600.0), absolute, speed=speed, seconds=np.arange(600.0)))
    if absolute:
        tables[1] = table(np.arange(600.0) + 300.3, absolute, **{c.name: c.value for c in tables[1].channels})
    found = clocks.common([capture(str(k), one) for k, one in enumerate(tables)])
    assert not twice(found)
    assert found.contents == tuple(tables)


def test_files_that_do_not_overlap_are_not_compared(monkeypatch: pytest.MonkeyPatch) -> None:
    """Nor is a single one: a fleet and the parts of a drive pay nothing."""

    def refuse(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("logan.pipeline.same_records.recorded_twice", refuse)
    monkeypatch.setattr("logan.pipeline.clocks.marks_of", refuse)
    bus = drive(1)
    parts = [heard(bus, rows) for rows in (bus.t_s < 30, bus.t_s > 30)]
    for absolute in (True, False):
        assert clocks.common([capture(str(k), one, absolute) for k, one in enumerate(parts)])
    assert clocks.common([replace(capture("a", bus))])
