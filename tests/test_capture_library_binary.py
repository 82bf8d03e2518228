"""SQLite and ASAM MDF by whole columns against python-can's own readers: the same frames, or left to them."""

from __future__ import annotations

import datetime
import sqlite3
import subprocess
import sys
from contextlib import closing
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import can
import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from logan.capture import can_library_messages, can_library_read, read, sqlite_columns
from logan.capture.can_columns import CanColumns
from logan.capture.reader import Tally
from logan.model.capture import Table
from logan.model.frames import ERROR, FD, REMOTE, Frames

COLUMNS = ("t_s", "can_id", "flags", "bus", "length", "data", "fd_row", "fd_data")
needs_asammdf = pytest.mark.skipif(
    find_spec("asammdf") is None, reason="asammdf is not installed: pip install 'python-can[mf4]'"
)


def by_library(path: Path, suffix: str) -> Frames:
    tally = Tally()
    messages = can_library_read._from_binary(path, suffix, "x", tally)
    return can_library_messages.columns(messages, tally).frames(tally)


def assert_same(found: CanColumns, path: Path, suffix: str) -> Frames:
    ours, theirs = found.frames(Tally()), by_library(path, suffix)
    for name in COLUMNS:
        np.testing.assert_array_equal(getattr(ours, name), getattr(theirs, name), name)
    assert (ours.origin_ns, ours.absolute, ours.buses) == (theirs.origin_ns, theirs.absolute, theirs.buses)
    return ours


def table(path: Path, rows: list[tuple[Any, ...]]) -> None:
    """The table that python-can documents."""
    path.unlink(missing_ok=True)
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE messages (ts REAL, arbitration_id INTEGER, extended INTEGER, remote INTEGER, "
                     "error INTEGER, dlc INTEGER, data BLOB)")  # fmt: skip
        base.executemany("INSERT INTO messages VALUES (?, ?, ?, ?, ?, ?, ?)", rows)


def row(k: int, data: bytes, *, extended: bool = False, remote: bool = False, error: bool = False) -> tuple[Any, ...]:
    return (1.7e9 + k / 300, 0x18DAF100 + k % 7 if extended else k % 0x800, extended, remote, error, len(data), data)


@pytest.mark.parametrize("more", ["", ", note TEXT DEFAULT 'x'"])
def test_columns_of_sqlite_in_another_order_go_by_their_names(tmp_path: Path, more: str) -> None:
    path = tmp_path / "a.db"
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE messages (Arbitration_ID INTEGER, ts REAL, data BLOB, dlc INTEGER, "
                     f"extended INTEGER, remote INTEGER, error INTEGER{more})")  # fmt: skip
        base.executemany(
            f"INSERT INTO messages ({', '.join(sqlite_columns.NAMES)}) VALUES (?, ?, ?, ?, ?, ?, ?)",
            [row(k, bytes([k, 7]), extended=k % 3 == 0) for k in range(20)],
        )
    assert sqlite_columns.columns(path) is None
    found = read(path)
    assert isinstance(found.content, Frames)
    assert found.remarks == ()
    assert found.content.can_id.tolist() == [row(k, b"", extended=k % 3 == 0)[1] for k in range(20)]
    assert found.content.data[:, 0].tolist() == [*range(20)]


@pytest.mark.parametrize("kind", ["REAL", "INTEGER", ""])
def test_whole_numbers_of_sqlite_are_whole_whatever_their_column_is_of(tmp_path: Path, kind: str) -> None:
    """A column of floating-point numbers keeps whole ones as such and hands them out as the others."""
    path = tmp_path / "a.db"
    with closing(sqlite3.connect(path)) as base, base:
        base.execute(f"CREATE TABLE messages (t, id {kind}, e {kind}, r {kind}, x {kind}, size {kind}, data BLOB)")
        base.executemany("INSERT INTO messages VALUES (?, ?, ?, ?, ?, ?, ?)", [row(k, b"abc") for k in range(20)])
    found = sqlite_columns.columns(path)
    assert found is not None
    assert len(assert_same(found, path, ".db")) == 20


def test_a_table_of_sqlite_by_columns(tmp_path: Path) -> None:
    random = np.random.default_rng(3)
    rows = [
        row(k, random.bytes(k % 9), extended=k % 3 == 0, remote=k % 50 == 9, error=k % 90 == 10) for k in range(5000)
    ]
    table(tmp_path / "a.db", rows)
    found = sqlite_columns.columns(tmp_path / "a.db")
    assert found is not None
    ours = assert_same(found, tmp_path / "a.db", ".db")
    assert len(ours) == 5000
    assert ((ours.flags & REMOTE) != 0).sum() == sum(one[3] for one in rows) - sum(one[3] and one[4] for one in rows)
    assert ((ours.flags & ERROR) != 0).sum() == sum(one[4] for one in rows)


ODD = st.one_of(
    st.integers(-2, 70), st.integers(-(2**63), 2**63 - 1), st.floats(), st.none(), st.text(max_size=3),
    st.binary(max_size=12),
)  # fmt: skip


@given(st.lists(st.tuples(st.integers(0, 39), st.integers(0, 6), ODD), max_size=3))
@settings(max_examples=200, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_odd_cells_mean_the_same_or_are_left(tmp_path: Path, odd: list[tuple[int, int, Any]]) -> None:
    rows = [list(row(k, bytes(range(k % 9)), extended=k % 2 == 0)) for k in range(40)]
    for at, cell, value in odd:
        rows[at][cell] = value
    path = tmp_path / "odd.db"
    table(path, [tuple(one) for one in rows])
    found = sqlite_columns.columns(path)
    assert found is not None or odd
    if found is not None:
        assert_same(found, path, ".db")
        assert read(path).frames + read(path).rejected == 40  # a time far from its neighbours is set aside


def test_a_table_of_another_shape_is_left(tmp_path: Path) -> None:
    path = tmp_path / "a.db"
    with closing(sqlite3.connect(path)) as base, base:
        base.execute("CREATE TABLE messages (ts REAL, arbitration_id INTEGER)")
        base.execute("INSERT INTO messages VALUES (1.0, 2)")
    assert sqlite_columns.columns(path) is None
    for name, content in (
        ("cut.db", path.read_bytes()[:5000]),
        ("no_text.db", path.read_bytes().replace(b"arbitration_id INTEGER", b"\xe7rbitration_id INTEGER")),
        ("no_name.db", path.read_bytes().replace(b"messages", b"message\xe7")),
    ):
        (tmp_path / name).write_bytes(content)
        assert sqlite_columns.columns(tmp_path / name) is None


@pytest.mark.parametrize("page_bytes", [512, 4096, 65536])
@pytest.mark.parametrize("journal", ["delete", "wal"])
def test_trees_of_sqlite_of_every_depth(page_bytes: int, journal: str, tmp_path: Path) -> None:
    """Rows that were deleted and put in between, row numbers of every length, what still stands in a journal."""
    path = tmp_path / "a.db"
    random = np.random.default_rng(page_bytes)
    with closing(sqlite3.connect(path)) as base:
        base.execute(f"PRAGMA page_size = {page_bytes}")
        base.execute(f"PRAGMA journal_mode = {journal}")
        base.execute("CREATE TABLE notes (text TEXT)")
        base.execute("CREATE TABLE messages (ts REAL, arbitration_id INTEGER, extended INTEGER, remote INTEGER, "
                     "error INTEGER, dlc INTEGER, data BLOB)")  # fmt: skip
        for first in (1, 2**20, 2**50):
            rows = [(first + k, *row(k, random.bytes(k % 9), extended=k % 3 == 0)) for k in range(9000)]
            insert = "INSERT INTO messages (rowid, ts, arbitration_id, extended, remote, error, dlc, data) "
            base.executemany(insert + "VALUES (?, ?, ?, ?, ?, ?, ?, ?)", rows)
            base.execute("INSERT INTO notes VALUES (?)", ("x" * 2000,))
        base.execute("DELETE FROM messages WHERE rowid % 7 = 3")
        base.execute("UPDATE messages SET ts = CAST(ts AS INTEGER) WHERE rowid % 11 = 3")
        base.commit()
        found = sqlite_columns.columns(path)
        assert found is not None
        assert found.rows == base.execute("SELECT COUNT(*) FROM messages").fetchone()[0] > 20_000
        assert_same(found, path, ".db")


def test_spoilt_pages_of_sqlite_are_left_or_read_without_harm(tmp_path: Path) -> None:
    path, spoilt = tmp_path / "a.db", tmp_path / "b.db"
    table(path, [row(k, bytes(range(k % 9))) for k in range(3000)])
    whole, random = path.read_bytes(), np.random.default_rng(2)
    places = [(root, value) for root in range(4096, 4096 + 40) for value in (0, 1, 5, 13, 127, 255)]
    for place, value in [*places, *[(0, whole[0])] * 300]:
        content = bytearray(whole)
        content[place] = value
        spots = random.integers(0, len(whole), 6).tolist() + random.integers(0, len(whole) // 4096, 3).tolist()
        for at in spots if not place else ():
            content[at if at > 40 else at * 4096 + int(random.integers(0, 60))] = int(random.integers(0, 256))
        spoilt.write_bytes(content)
        found = sqlite_columns.columns(spoilt)
        assert found is None or found.rows <= 6000


def written_mdf(path: Path, kinds: tuple[str, ...], count: int = 200) -> list[can.Message]:
    random = np.random.default_rng(5)
    sent = []
    for k in range(count):
        kind, extended = kinds[k % len(kinds)], bool(k % 2)
        size = int(random.choice((1, 8, 12, 64))) if kind == "fd" else k % 9
        sent.append(can.Message(
            timestamp=1.7e9 + k / 128, arbitration_id=int(random.integers(1 << (29 if extended else 11))),
            is_extended_id=extended, is_fd=kind == "fd", is_remote_frame=kind == "remote", is_rx=bool(k % 3),
            is_error_frame=kind == "error", bitrate_switch=kind == "fd" and k % 4 == 0, channel=(3, 1)[k % 5 == 0],
            dlc=size, data=random.bytes(size) if kind in ("data", "fd") else None,
        ))  # fmt: skip
    with can.MF4Writer(path) as writer:
        for one in sent:
            writer.on_message_received(one)
    return sent


@needs_asammdf
@pytest.mark.parametrize("kinds", [("data",), ("data", "fd"), ("fd",)])
def test_mdf_by_columns(tmp_path: Path, kinds: tuple[str, ...]) -> None:
    path = tmp_path / "a.mf4"
    sent = written_mdf(path, kinds)
    found = can_library_read._mdf(path, "x", Tally())
    assert found is not None
    ours = assert_same(found, path, ".mf4")
    assert ours.can_id.tolist() == [one.arbitration_id for one in sent]
    assert ((ours.flags & FD) != 0).tolist() == [one.is_fd for one in sent]
    held = ours.payload(np.arange(len(ours)))
    assert [data[:size].tobytes() for data, size in zip(held, ours.length, strict=True)] == [
        bytes(one.data) for one in sent
    ]


@needs_asammdf
@pytest.mark.parametrize("kind", ["remote", "error"])
def test_mdf_with_other_frames_is_left(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "a.mf4"
    sent = written_mdf(path, ("data", kind), 40)
    assert can_library_read._mdf(path, "x", Tally()) is None
    assert read(path).frames == len(sent)


@needs_asammdf
def test_real_mdf_files_by_columns(captures: Path) -> None:
    for name in ("ev_uds_multiframe_b1", "obd_car_a_05_short", "j1939_heavy_c"):
        path = captures / "obd_can" / f"{name}.mf4"
        found = can_library_read._mdf(path, "x", Tally())
        assert found is not None, name
        assert_same(found, path, ".mf4")


@pytest.mark.parametrize("odd", [False, True])
def test_a_recorder_killed_in_its_journal_loses_no_frame_and_its_file_is_not_touched(odd: bool, tmp_path: Path) -> None:
    path = tmp_path / "killed.db"
    with can.SqliteWriter(str(path)) as writer:
        writer.on_message_received(can.Message(timestamp=0.0, arbitration_id=0x100, is_extended_id=False, data=[1]))
    rows = (
        f"[({'None' if odd else 1.0}, 256, 0, 0, 0, 1, b'x')] + [(2.0 + k, 256, 0, 0, 0, 1, b'y') for k in range(99)]"
    )
    code = (
        f"import os, sqlite3; base = sqlite3.connect({str(path)!r}, isolation_level=None); "
        "base.execute('PRAGMA journal_mode=wal'); base.execute('PRAGMA wal_autocheckpoint=0'); "
        f"base.executemany('INSERT INTO messages VALUES (?,?,?,?,?,?,?)', {rows}); os._exit(0)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)
    journal = path.with_name("killed.db-wal")
    before = path.read_bytes(), journal.read_bytes()
    found = read(path)
    assert (path.read_bytes(), journal.read_bytes()) == before
    assert len(found.content) + found.rejected == 101
    assert len(found.content) == (100 if odd else 101)


@needs_asammdf
def test_measured_channels_of_an_mdf_without_frames(tmp_path: Path) -> None:
    """Written by asammdf: conversion y = a x + b, invalidation bits, two rates; NIST SP 811 for the degrees."""
    asammdf = pytest.importorskip("asammdf", reason="asammdf is not installed: pip install 'python-can[mf4]'")
    path = tmp_path / "a.mf4"
    fast, slow = np.arange(100) * 0.1, np.arange(50) * 0.2 + 0.05
    mdf = asammdf.MDF(version="4.10")
    mdf.header.start_time = datetime.datetime(2023, 11, 14, 22, 13, 20, tzinfo=datetime.UTC)
    mdf.append([asammdf.Signal(np.full(100, 212.0), fast, name="Coolant", unit="°F")])
    mdf.append([
        asammdf.Signal((np.arange(50) % 3).astype("u1"), slow, name="Gear", conversion={"a": 2, "b": 1}),
        asammdf.Signal(np.arange(50.0), slow, name="Rail", unit="bar", invalidation_bits=np.arange(50) % 2 == 0),
        asammdf.Signal(np.array([b"abc"] * 50), slow, name="Word", encoding="utf-8"),
    ])  # fmt: skip
    mdf.save(path, compression=2)
    mdf.close()
    capture = read(path)
    assert isinstance(capture.content, Table)
    found = {channel.name: channel for channel in capture.content.channels}
    assert (found["Coolant"].unit, found["Coolant"].value.tolist()) == ("degC", pytest.approx([100.0] * 100))
    assert found["Gear"].value.tolist() == [1 + 2 * (k % 3) for k in range(50)]
    assert found["Rail"].value.tolist() == [100.0 * k for k in range(1, 50, 2)]
    assert found["Rail"].t_s == pytest.approx(slow[1::2])
    assert (capture.start, capture.duration_s) == (1_700_000_000.0, pytest.approx(9.9))
    assert [(remark.kind, remark.places) for remark in capture.remarks] == [("not_numbers", ("Word",))]


@needs_asammdf
def test_measured_channels_beside_frames_are_counted(tmp_path: Path) -> None:
    asammdf = pytest.importorskip("asammdf", reason="asammdf is not installed: pip install 'python-can[mf4]'")
    path = tmp_path / "a.mf4"
    written_mdf(path, ("data",), 40)
    mdf = asammdf.MDF(path)
    mdf.append([asammdf.Signal(np.arange(9.0), np.arange(9) * 0.1, name=name) for name in ("Boost", "Rail")])
    mdf.save(tmp_path / "b.mf4")
    mdf.close()
    capture = read(tmp_path / "b.mf4")
    assert (capture.frames, type(capture.content)) == (40, Frames)
    assert [(r.kind, r.count, r.places) for r in capture.remarks] == [("channels_not_read", 2, ("Boost, Rail",))]


def test_pages_that_all_point_to_one_row_are_not_rows_without_end(tmp_path: Path) -> None:
    """SQLite, "Database File Format", 1.6: the number of cells stands at 3, their places from 8 on."""
    table(tmp_path / "a.db", [row(k, bytes(8)) for k in range(2000)])
    assert sqlite_columns.columns(tmp_path / "a.db") is not None
    content = bytearray((tmp_path / "a.db").read_bytes())
    page_bytes = int.from_bytes(content[16:18], "big")
    for at in range(page_bytes, len(content), page_bytes):
        if content[at] == 13:  # a leaf
            place, count = content[at + 8 : at + 10], page_bytes // 3
            content[at + 3 : at + 5] = count.to_bytes(2, "big")
            content[at + 8 : at + 8 + 2 * count] = place * count
    (tmp_path / "b.db").write_bytes(content)
    assert sqlite_columns.columns(tmp_path / "b.db") is None
