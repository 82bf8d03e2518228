"""One replay from file to bus, as the command line asks for it."""

from __future__ import annotations

from collections.abc import Iterator

import can
import numpy as np

from logan.capture import read
from logan.errors import UsageError
from logan.model.frames import Frames
from logan.training import answers, buses
from logan.training.replay import Kept, Replay
from logan.transport import isotp


def play(
    capture: str,
    *,
    to: str,
    channel: str | None,
    speed: float,
    begin_s: float,
    until_s: float | None,
    loops: int,
    answer: bool,
    bench: bool,
) -> Iterator[str]:
    """Play a capture; yields what happens in plain words.

    Raises
    ------
    UsageError : the capture holds no CAN frames, or the target may not or cannot be used
    CaptureError : the capture cannot be read
    KeyboardInterrupt : Ctrl-C ended it, after what was sent until then has been told
    """
    frames = read(capture).content
    if not isinstance(frames, Frames) or not len(frames):
        raise UsageError("holds no CAN frames", file=capture, do="replay takes CAN logs")
    frames = frames.from_zero()
    bus = buses.open_bus(to, channel, bench)
    try:
        send = bus.send if not answer else _silent
        player = Replay(
            frames, send, speed=speed, begin_s=begin_s, end_s=np.inf if until_s is None else until_s, loops=loops
        )
        if bench:
            yield buses.BENCH_CAUTION
        yield f"{len(frames)} frames, {frames.t_s[-1]:.1f} s, to {to} {channel or ''}".rstrip() + "; Ctrl-C stops"
        if answer:
            yield from _answering(bus, frames, player)
        else:
            yield _told(_run(player))
        if player.stopped:
            raise KeyboardInterrupt
    finally:
        bus.shutdown()


def _answering(bus: can.BusABC, frames: Frames, player: Replay) -> Iterator[str]:
    modules = answers.recorded(isotp.reassemble(frames)[0])
    station = answers.Answering(bus, modules, lambda: player.now_s)
    names = ", ".join(f"{module.source:X}" for module in modules)
    yield f"answering for {names}; the values follow the recording"
    station.start()
    try:
        _run(player)
    finally:
        station.stop()
    yield f"answered {station.answered} requests; {station.unknown} asked for something that was not recorded"


def _run(player: Replay) -> Kept:
    try:
        return player.run()
    except KeyboardInterrupt:
        player.stop()
        return player.run()


def _told(kept: Kept) -> str:
    return (
        f"sent {kept.sent} frames; late by {1e3 * kept.median_s:.3f} ms (median), {1e3 * kept.worst_s:.1f} ms (worst)"
    )


def _silent(message: can.Message) -> None:
    """Frames that only drive the clock of the recording."""
