"""Long crank and cam recordings, to measure how long they take and how much memory.

    python tests/tools/make_long_sensor.py edges.csv 10000000     # lines, one an edge
    python tests/tools/make_long_sensor.py drive.wav 600          # seconds, 48 kHz, two channels of 16 bits

A wheel of 60 places with two empty ones and a cam, as the profile training_rotary_six has them, at a speed that
swings between 700 and 3000 rpm; the numbers are invented. The same call gives the same file.
"""

from __future__ import annotations

import sys
import wave
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

ENGINE = "training_rotary_six"
TEETH_DEG = 84.0 + 6.0 * np.arange(58)
CAM_DEG = np.array([54.0, 174.0, 294.0, 414.0, 534.0, 654.0, 684.0])
TOOTH_DEG, MARK_DEG = 3.0, 8.0  # width of a tooth of the crank and of a mark of the cam
MIDDLE_RPM, SWING_RPM, PERIOD_S = 1850.0, 1150.0, 120.0
RATE_HZ = 48_000
FULL_SCALE, COIL_PEAK, NOISE = 32767, 0.7, 0.002
BLOCK_S = 10


def angle_deg(t_s: Array) -> Array:
    """Crank angle after the start, degrees: the integral of a speed that swings."""
    turn = 2 * np.pi / PERIOD_S
    return 6.0 * (MIDDLE_RPM * t_s + SWING_RPM / turn * np.sin(turn * t_s))


def write_edges(path: Path, lines: int) -> None:
    """Every edge a line: time to the microsecond, channel, edge."""
    marks = [
        (TEETH_DEG, 360.0, "crank,falling"), (TEETH_DEG - TOOTH_DEG, 360.0, "crank,rising"),
        (CAM_DEG, 720.0, "cam,falling"), (CAM_DEG - MARK_DEG, 720.0, "cam,rising"),
    ]  # fmt: skip
    pattern_deg = np.concatenate([deg + turn for deg, cycle, _ in marks for turn in np.arange(0.0, 720.0, cycle)])
    pattern_deg %= 720.0
    words = np.array([word for deg, cycle, word in marks for _ in range(round(720 / cycle)) for _ in deg])
    order = np.argsort(pattern_deg)
    pattern_deg, words = pattern_deg[order], words[order]
    cycles = -(-lines // len(pattern_deg))
    t_s = np.arange(0.0, 720.0 * cycles / 6.0 / (MIDDLE_RPM - SWING_RPM) + 1.0, 0.001)
    at_deg = angle_deg(t_s)
    with path.open("w", encoding="ascii") as out:
        out.write(f"# engine: {ENGINE}\ntime_s,channel,edge\n")
        for first in range(0, cycles, 500):
            deg = (np.arange(first, min(first + 500, cycles))[:, None] * 720.0 + pattern_deg).ravel()
            deg = deg[: max(0, lines - first * len(pattern_deg))]
            when = np.interp(deg, at_deg, t_s).tolist()
            what = np.tile(words, 500)[: len(when)].tolist()
            out.write("".join(f"{t:.6f},{word}\n" for t, word in zip(when, what, strict=True)))


def write_wav(path: Path, seconds: int) -> None:
    """Two coils: a tooth passes where the voltage falls through zero, and the voltage grows with speed."""
    random = np.random.default_rng(7)
    with wave.open(str(path), "wb") as out:
        out.setnchannels(2)
        out.setsampwidth(2)
        out.setframerate(RATE_HZ)
        for begin in range(0, seconds, BLOCK_S):
            t_s = begin + np.arange(min(BLOCK_S, seconds - begin) * RATE_HZ) / RATE_HZ
            deg = angle_deg(t_s)
            share = COIL_PEAK * np.gradient(deg, t_s) / 6.0 / (MIDDLE_RPM + SWING_RPM)
            both = np.column_stack([share * crank_coil(deg), share * cam_coil(deg)])
            both += random.normal(0.0, NOISE, both.shape)
            out.writeframes(np.rint(both * FULL_SCALE).astype("<i2").tobytes())


def crank_coil(deg: Array) -> Array:
    """One wave a tooth, none where the two teeth are missing."""
    since = (deg - TEETH_DEG[0] + TOOTH_DEG) % 360.0
    return np.where(since < 6.0 * len(TEETH_DEG), np.sin(since / 6.0 * 2 * np.pi), 0.0)


def cam_coil(deg: Array) -> Array:
    """One wave a mark."""
    out = np.zeros(len(deg))
    for mark in CAM_DEG:
        since = (deg - mark + MARK_DEG) % 720.0
        near = since < 2 * MARK_DEG
        out[near] = np.sin(since[near] / MARK_DEG * np.pi)
    return out


def main() -> None:
    """Write the file that the command line names."""
    path, size = Path(sys.argv[1]), int(sys.argv[2])
    (write_wav if path.suffix == ".wav" else write_edges)(path, size)


if __name__ == "__main__":
    main()
