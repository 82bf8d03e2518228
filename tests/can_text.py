"""CAN frames for tests: columns from plain rows, and a plain reader of SocketCAN text logs (``(t) bus ID#DATA``)."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import numpy as np

from logan.model.frames import EXTENDED, FD, FD_WIDTH, REMOTE, Frames

Row = tuple[float, int, bytes]


def frames_of(
    rows: Iterable[Row], *, extended: bool | None = None, flags: Iterable[int] | None = None,
    bus: Iterable[int] | None = None, buses: tuple[str, ...] = ("can0",),
) -> Frames:  # fmt: skip
    """Columns of (time, identifier, data); identifiers above 7FF have 29 bits where ``extended`` is not given."""
    rows = list(rows)
    data = np.zeros((len(rows), 8), np.uint8)
    long: dict[int, bytes] = {}
    for k, (_, _, payload) in enumerate(rows):
        data[k, : min(8, len(payload))] = np.frombuffer(payload[:8], np.uint8)
        if len(payload) > 8:
            long[k] = payload
    fd_data = np.zeros((len(long), FD_WIDTH), np.uint8)
    for k, payload in enumerate(long.values()):
        fd_data[k, : len(payload)] = np.frombuffer(payload, np.uint8)
    marks = [
        (EXTENDED if (can_id > 0x7FF if extended is None else extended) else 0) | (FD if len(payload) > 8 else 0)
        for _, can_id, payload in rows
    ]
    if flags is not None:
        marks = [mark | more for mark, more in zip(marks, flags, strict=True)]
    return Frames(
        t_s=np.array([t for t, _, _ in rows], np.float64),
        can_id=np.array([can_id for _, can_id, _ in rows], np.uint32),
        flags=np.array(marks, np.uint8),
        bus=np.zeros(len(rows), np.uint8) if bus is None else np.array(list(bus), np.uint8),
        length=np.array([len(payload) for _, _, payload in rows], np.uint8),
        data=data,
        fd_row=np.array(list(long), np.int64),
        fd_data=fd_data,
        buses=buses,
    )


def read_log(path: Path) -> Frames:
    """A SocketCAN text log as the recorder writes it, one frame a line; lines of another shape are left out."""
    rows: list[Row] = []
    flags: list[int] = []
    with path.open() as lines:
        for line in lines:
            parts = line.split()
            if len(parts) < 3 or "#" not in parts[2]:
                continue
            name, _, text = parts[2].partition("#")
            remote = text.startswith("R")
            fd = text.startswith("#")
            rows.append((float(parts[0].strip("()")), int(name, 16), b"" if remote else bytes.fromhex(text[2 * fd :])))
            flags.append((EXTENDED if len(name) == 8 else 0) | (REMOTE if remote else 0))
    first = rows[0][0] if rows else 0.0
    return frames_of([(t - first, can_id, data) for t, can_id, data in rows], extended=False, flags=flags)


def write_log(path: Path, rows: Iterable[Row]) -> None:
    """A SocketCAN text log for programs that read one."""
    with path.open("w") as out:
        for t, can_id, data in rows:
            name = f"{can_id:08X}" if can_id > 0x7FF else f"{can_id:03X}"
            mark = "##0" if len(data) > 8 else "#"
            out.write(f"({1_700_000_000 + t:.6f}) can0 {name}{mark}{data.hex().upper()}\n")
