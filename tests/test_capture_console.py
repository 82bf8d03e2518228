"""CAN text as SocketCAN tools print it on a screen."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logan.capture import read
from logan.model.capture import Capture
from logan.model.frames import BRS, ERROR, EXTENDED, FD, REMOTE, SENT, Frames


def frames_of(capture: Capture) -> Frames:
    assert isinstance(capture.content, Frames)
    return capture.content


def printed(folder: Path, text: str) -> Capture:
    path = folder / "screen.log"
    path.write_text(text)
    return read(path)


def test_every_form(tmp_path: Path) -> None:
    capture = printed(
        tmp_path,
        """user@bench:~$ show can0
 (1700000000.000000)  can0  7E8   [8]  03 41 0D 3C 00 00 00 00
 (1700000000.100000)  can0  18DAF110   [3]  02 10 03   '...'

 (1700000000.200000)  can1  TX - -  7DF   [2]  01 0C
 (1700000000.300000)  can1  RX B -  123  [12]  00 01 02 03 04 05 06 07 08 09 0A 0B
 (1700000000.400000)  can0  123   [4]  remote request
 (1700000000.500000)  can0  20000004   [8]  00 08 00 00 00 00 00 00   ERRORFRAME
 (1700000000.600000)  can0  7E8   [0]
 (1700000000.700000)  can0  7E8   [8]  03 41 0D
""",
    )
    frames = frames_of(capture)
    assert capture.format == "CAN text as printed"
    assert frames.can_id.tolist() == [0x7E8, 0x18DAF110, 0x7DF, 0x123, 0x123, 4, 0x7E8]
    assert frames.flags.tolist() == [0, EXTENDED, SENT, FD | BRS, REMOTE, ERROR, 0]
    assert frames.length.tolist() == [8, 3, 2, 12, 4, 8, 0]
    assert frames.payload(np.array([3]))[0, :12].tolist() == list(range(12))
    assert frames.t_s.tolist() == pytest.approx([k / 10 for k in range(7)])
    assert (capture.start, capture.rejected, frames.buses) == (1_700_000_000.0, 2, ("can0", "can1"))
    assert {place for remark in capture.remarks for place in remark.places} == {"line 1", "line 10"}


def test_without_times_that_is_said(tmp_path: Path) -> None:
    capture = printed(tmp_path, "  can0  7E8   [2]  03 41\n  can0  7E9   [2]  03 42\n")
    assert (capture.frames, capture.start) == (2, None)
    assert [remark.kind for remark in capture.remarks] == ["no_time"]


def test_times_that_count_from_the_frame_before(tmp_path: Path) -> None:
    steps = [0.0, 0.01, 0.002, 0.03, 0.004, 0.02, 0.001]
    capture = printed(tmp_path, "".join(f" (00{step:.6f})  can0  7E8   [1]  03\n" for step in steps))
    assert frames_of(capture).t_s == pytest.approx(np.cumsum(steps))
    assert [remark.kind for remark in capture.remarks] == ["time_differences"]


def test_dates(tmp_path: Path) -> None:
    capture = printed(tmp_path, " (2023-11-14 22:13:20.250000)  can0  7E8   [1]  03\n")
    assert capture.start == 1_700_000_000.25


def test_a_date_that_no_clock_shows_is_no_time(tmp_path: Path) -> None:
    """64 bits of nanoseconds reach from 1677 to 2262."""
    capture = printed(tmp_path, " (00030120@00)  can0  7E8   [1]  03\n (2023-11-14 22:13:20)  can0  7E8   [1]  03\n")
    assert (capture.frames, capture.rejected) == (1, 1)
    assert [remark.places for remark in capture.remarks] == [("line 1",)]
