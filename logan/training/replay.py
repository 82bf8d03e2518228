"""A recording played again with its own timing; how well the times were kept is measured."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import can
import numpy as np
from numpy.typing import NDArray

from logan.errors import UsageError
from logan.model.frames import BRS, ERROR, ESI, EXTENDED, FD, REMOTE, Frames

Array = NDArray[np.float64]

SPIN_S: Final = 0.0005
"""The last part of a wait is spent looking at the clock: a sleeping thread wakes up late."""
LOOK_S: Final = 0.05
"""How often a paused or waiting replay looks whether it has been told something."""


@dataclass(frozen=True, slots=True)
class Kept:
    """How a replay kept its times.

    Parameters
    ----------
    sent : frames sent
    median_s, worst_s : lateness of a frame against its time in the recording, s
    """

    sent: int
    median_s: float
    worst_s: float


class Replay:
    """Plays the frames of a recording; ``pause``, ``resume``, ``seek`` and ``stop`` may come from other threads.

    Parameters
    ----------
    frames : what to play, times ascending
    send : takes one message
    speed : times faster than it was
    begin_s, end_s : the part to play, s on the axis of the frames
    loops : how often, 0 for without end
    """

    def __init__(
        self,
        frames: Frames,
        send: Callable[[can.Message], None],
        *,
        speed: float = 1.0,
        begin_s: float = -np.inf,
        end_s: float = np.inf,
        loops: int = 1,
    ) -> None:
        if not speed > 0.0:
            raise UsageError(f"speed {speed:g} is not above 0", do="give 1 for the speed of the recording")
        inside = (frames.t_s >= begin_s) & (frames.t_s <= end_s) & ((frames.flags & ERROR) == 0)
        self._rows = np.flatnonzero(inside)
        if not len(self._rows):
            raise UsageError("nothing of the recording lies in that time", do="look at its length with logan inspect")
        self._frames, self._send, self._speed, self._loops = frames, send, speed, loops
        self._lock = threading.Condition()
        self._paused = self._stopped = False
        self._wanted: int | None = None
        self._late: list[float] = []
        self._now_s = float(frames.t_s[self._rows[0]])

    @property
    def now_s(self) -> float:
        """Time of the frame played last, on the axis of the recording."""
        return self._now_s

    def pause(self) -> None:
        """Hold after the frame that is being sent."""
        with self._lock:
            self._paused = True

    def resume(self) -> None:
        """Go on where it was held."""
        with self._lock:
            self._paused = False
            self._lock.notify_all()

    def seek(self, t_s: float) -> None:
        """Go on from the first frame at or after a time."""
        with self._lock:
            at = int(np.searchsorted(self._frames.t_s[self._rows], t_s))
            self._wanted = min(at, len(self._rows) - 1)
            self._lock.notify_all()

    def stop(self) -> None:
        """End before the next frame."""
        with self._lock:
            self._stopped = True
            self._lock.notify_all()

    @property
    def stopped(self) -> bool:
        """Whether it was told to end before its end."""
        return self._stopped

    def run(self) -> Kept:
        """Play to the end; returns how the times were kept."""
        played = 0
        while not self._stopped and (self._loops == 0 or played < self._loops):
            self._once()
            played += 1
        late = np.array(self._late) if self._late else np.zeros(1)
        return Kept(len(self._late), float(np.median(late)), float(late.max()))

    def _once(self) -> None:
        t_s = self._frames.t_s[self._rows]
        k = 0
        start, offset = time.perf_counter(), t_s[0]
        while k < len(t_s):
            due = start + (t_s[k] - offset) / self._speed
            if not self._wait(due):
                with self._lock:
                    if self._stopped:
                        return
                    while self._paused and not self._stopped and self._wanted is None:
                        self._lock.wait(LOOK_S)
                    if self._wanted is not None:
                        k, self._wanted = self._wanted, None
                start, offset = time.perf_counter(), t_s[k]
                continue
            self._send(message(self._frames, int(self._rows[k])))
            self._late.append(time.perf_counter() - due)
            self._now_s = float(t_s[k])
            k += 1

    def _wait(self, due: float) -> bool:
        """Wait until a time; False where it was told to hold, stop or go elsewhere."""
        while True:
            if self._paused or self._stopped or self._wanted is not None:
                return False
            left = due - time.perf_counter()
            if left <= 0.0:
                return True
            if left > SPIN_S:
                time.sleep(min(left - SPIN_S, LOOK_S))


def message(frames: Frames, row: int) -> can.Message:
    """One frame as python-can sends it; its time is that of the recording."""
    flags, length = int(frames.flags[row]), int(frames.length[row])
    data = frames.payload(np.array([row]))[0, :length].tobytes()
    return can.Message(
        timestamp=float(frames.t_s[row]),
        arbitration_id=int(frames.can_id[row]),
        is_extended_id=bool(flags & EXTENDED),
        is_remote_frame=bool(flags & REMOTE),
        is_fd=bool(flags & FD),
        bitrate_switch=bool(flags & BRS),
        error_state_indicator=bool(flags & ESI),
        dlc=length,
        data=None if flags & REMOTE else data,
        check=True,
    )
