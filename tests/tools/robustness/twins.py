"""Two ways through the code that must say the same: whatever an input is, a difference is a failure."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np

from logan.capture import (
    blf_columns,
    can_library_messages,
    can_library_read,
    can_library_text,
    can_text_block,
    can_text_layout,
    can_text_loop,
    mdf_guard,
    sqlite_columns,
)
from logan.capture.can_columns import CanBlock, CanColumns
from logan.capture.library_lines import Lines
from logan.capture.reader import Tally
from logan.capture.source import SPARE_BYTES
from logan.decode import broadcast, extract
from logan.decode.plan import MessagePlan
from logan.errors import CaptureError
from logan.model.frames import Frames
from logan.native import kernels
from logan.transport import isotp

Write = Callable[[str, bytes], Path]


def _same(one: Any, other: Any, what: str) -> None:
    if isinstance(one, np.ndarray):
        assert one.dtype == other.dtype, f"{what}: {one.dtype} and {other.dtype}"
        assert np.array_equal(one, other, equal_nan=one.dtype.kind == "f"), f"{what} differs"
    else:
        assert one == other, f"{what}: {one!r} and {other!r}"


def _same_frames(one: Frames, other: Frames) -> None:
    for name in (*Frames.COLUMNS, "fd_row", "fd_data", "origin_ns", "absolute", "buses"):
        _same(getattr(one, name), getattr(other, name), name)


def _said(tally: Tally) -> list[Any]:
    return sorted((r.kind, r.text, r.count, r.places) for r in tally.remarks())


def lines(suffix: str) -> Callable[[bytes], bool]:
    """ASC, TRC or CSV by whole columns, and each line through python-can."""

    def call(data: bytes) -> bool:
        columns, tally = can_library_text.read(data, suffix)
        text = io.StringIO(data.decode("utf-8-sig", "replace"), newline=None)
        split = Lines(text.read().encode())
        slow, slow_tally = can_library_text._nothing_ordinary(split, suffix)
        _same(columns.rows, slow.rows, "rows")
        _same_frames(columns.frames(tally), slow.frames(slow_tally))
        _same(_said(tally), _said(slow_tally), "remarks")
        return columns.rows > 0

    return call


def binary(suffix: str, write: Write) -> Callable[[bytes], bool]:
    """BLF, SQLite or MDF by whole columns, where those take it, and each message through python-can."""

    def by_columns(data: bytes, path: Path) -> CanColumns | None:
        if suffix == ".blf":
            found = blf_columns.columns(data, len(data))
            return found[0] if found is not None else None
        return sqlite_columns.columns(path) if suffix == ".db" else can_library_read._mdf(path, "input", Tally())

    def call(data: bytes) -> bool:
        path = write(f"twin{suffix}", data)
        if suffix == ".mf4":
            mdf_guard.check(path, "input")
        quick = by_columns(data, path)
        if quick is None:
            return False
        tally, slow_tally = Tally(), Tally()
        messages = can_library_read._from_binary(path, suffix, "input", slow_tally)
        slow = can_library_messages.columns(messages, slow_tally).frames(slow_tally)
        _same_frames(quick.frames(tally), slow)
        return True

    return call


def _finished(
    text: bytes, known: list[can_text_layout.Layout], by_loop: bool
) -> tuple[CanBlock, Tally, dict[str, str]]:
    columns, tally, layouts = CanColumns(), Tally(), list(known)
    metadata: dict[str, str] = {}
    buffer = np.zeros(len(text) + SPARE_BYTES, np.uint8)
    buffer[: len(text)] = np.frombuffer(text, np.uint8)
    if by_loop:
        task = can_text_loop.Task(columns, len(text))
        task.read(buffer, len(text), can_text_layout.tables(layouts, columns.bus))
        block = task.block()
    else:
        block = can_text_block.Block.whole(buffer, len(text), columns)
    block.finish(1, layouts, tally, metadata)()
    return block.out, tally, metadata


def can_text(data: bytes) -> bool:
    """A CAN text log by the compiled loops and by numpy; the layouts are those of its own first lines."""
    if not kernels.at_hand():
        raise CaptureError("no compiled loops here", do="pip install llvmlite")
    text = data.removesuffix(b"\n") + b"\n"
    known = [found for line in text.split(b"\n", 6)[:6] if (found := can_text_layout.learn(line.rstrip(b"\r")))]
    ours, tally, metadata = _finished(text, known, by_loop=True)
    twin, twin_tally, twin_metadata = _finished(text, known, by_loop=False)
    _same(ours.kept, twin.kept, "kept")
    for name in ("t_ns", "can_id", "flags", "bus", "length", "data"):
        _same(getattr(ours, name)[ours.kept], getattr(twin, name)[twin.kept], name)
    for mine, other in zip((ours.long_row, ours.long_data), (twin.long_row, twin.long_data), strict=True):
        _same([part.tolist() for part in mine], [part.tolist() for part in other], "long data")
    _same((_said(tally), metadata), (_said(twin_tally), twin_metadata), "remarks")
    return bool(ours.kept.any())


@contextmanager
def _loops(wanted: bool) -> Iterator[None]:
    """Everything through the compiled loops, however short, or nothing."""
    pays, long_rows = kernels.pays, extract._LONG_ROWS
    kernels.pays = lambda _: wanted
    extract._LONG_ROWS = 0 if wanted else 1 << 60  # type: ignore[misc]
    try:
        yield
    finally:
        kernels.pays, extract._LONG_ROWS = pays, long_rows  # type: ignore[misc]


def messages(frames: Frames) -> None:
    """Messages of ISO 15765-2 by the compiled loop, where it takes the frames, and by numpy."""
    if not kernels.at_hand():
        raise CaptureError("no compiled loops here", do="pip install llvmlite")
    found = []
    for wanted in (True, False):
        with _loops(wanted):
            found.append(isotp.reassemble(frames))
    (ours, said), (theirs, said_by_twin) = found
    _same(said, said_by_twin, "remarks")
    for name in ours.__struct_fields__:
        _same(getattr(ours, name), getattr(theirs, name), name)


def signals(frames: Frames, plans: tuple[MessagePlan, ...]) -> None:
    """Broadcast signals by the compiled loops and by numpy."""
    if not kernels.at_hand():
        raise CaptureError("no compiled loops here", do="pip install llvmlite")
    found = []
    for wanted in (True, False):
        with _loops(wanted):
            channels, remarks = broadcast.decode(frames, plans, "input")
            values = [(c.name, c.source, c.ecu, c.unit, dict(c.invalid), c.t_s, np.asarray(c.value)) for c in channels]
            found.append((values, remarks))
    (ours, said), (theirs, said_by_twin) = found
    _same(said, said_by_twin, "remarks")
    _same([one[:5] for one in ours], [one[:5] for one in theirs], "signals")
    for one, other in zip(ours, theirs, strict=True):
        _same(one[5], other[5], f"times of {one[0]}")
        _same(one[6], other[6], f"values of {one[0]}")
