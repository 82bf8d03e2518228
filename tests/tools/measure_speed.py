"""How long whole commands take, beside what one would write with python-can, cantools and pandas.

    python tests/tools/measure_speed.py [FRAMES] [RUNS]
    python tests/tools/measure_speed.py formats [RUNS]
    python tests/tools/measure_speed.py sensor [RUNS]

Makes a busy CAN log (48 broadcast identifiers with 192 signals, OBD requests and answers) and its data base in a
temporary folder, checks that both ways find the same values, then runs them in turn: whole processes with their start.
With ``formats``: the log in other forms, against python-can's own readers. With ``sensor``: long crank and cam
recordings of tests/tools/make_long_sensor.py. The figures of docs/performance.md are this program's output
(Linux, macOS).
"""

from __future__ import annotations

import os
import re
import statistics
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

import numpy as np
from make_long_sensor import ENGINE, write_edges, write_wav

LOGAN = [sys.executable, "-m", "logan"]

LONG = 5_000_000
IDS = 48
FIRST_ID = 0x0C4
SIGNALS = (
    ("Speed", 0, 16, "+", 0.25, 0),
    ("Trim", 16, 12, "-", 0.1, 0),
    ("Heat", 28, 12, "+", 0.1, -40),
    ("Duty", 56, 8, "+", 0.5, 0),
)

COUNT = r" (\d+) +\S+ +\S+ +\S+ +\S+  (?:DBC |service 01)"

BASELINE = """
import sys, can, cantools, pandas as pd
log, dbc = sys.argv[1:3]
base = cantools.database.load_file(dbc)
known = {message.frame_id for message in base.messages}
rows, answers = {}, []
for frame in can.LogReader(log):
    if frame.arbitration_id in known:
        values = base.decode_message(frame.arbitration_id, frame.data, decode_choices=False)
        rows.setdefault(frame.arbitration_id, []).append({"t": frame.timestamp, **values})
    elif frame.arbitration_id == 0x7E8 and frame.data[1:3] == b"\\x41\\x0c":
        answers.append((frame.timestamp, (frame.data[3] * 256 + frame.data[4]) / 4))
tables = {key: pd.DataFrame(found) for key, found in rows.items()}
print(sum(len(t) * (t.shape[1] - 1) for t in tables.values()) + len(answers))
"""


READING = """
import sqlite3, sys, time, can
from logan.capture import read
log, path, runs = sys.argv[1:4]
with can.LogReader(log) as frames:
    if path.endswith(".db"):  # python-can's own writer works in a thread that may leave frames behind
        base = sqlite3.connect(path)
        base.execute("CREATE TABLE messages (ts REAL, arbitration_id INTEGER, extended INTEGER, remote INTEGER, "
                     "error INTEGER, dlc INTEGER, data BLOB)")
        rows = ((one.timestamp, one.arbitration_id, one.is_extended_id, 0, 0, one.dlc, one.data) for one in frames)
        base.executemany("INSERT INTO messages VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
        base.commit()
        base.close()
    else:
        with can.Logger(path) as writer:
            for frame in frames:
                writer(frame)
hand, ours = [], []
for _ in range(int(runs)):
    begin = time.process_time()
    count = sum(1 for _ in can.LogReader(path))
    hand.append(time.process_time() - begin)
    begin = time.process_time()
    assert read(path).frames == count
    ours.append(time.process_time() - begin)
print(min(hand), min(ours))
"""


def write_log(folder: Path, frames: int) -> tuple[Path, Path]:
    """A log of about that many frames, 2.4 thousand a second, and its data base."""
    lines = ['VERSION ""', "", "NS_ :", "", "BS_:", "", "BU_: ECU", ""]
    for k in range(IDS):
        lines.append(f"BO_ {FIRST_ID + 11 * k} M{k:02d}: 8 ECU")
        lines += [f' SG_ M{k:02d}_{n} : {s}|{w}@1{g} ({f},{o}) [0|0] "" ECU' for n, s, w, g, f, o in SIGNALS]
        lines.append("")
    dbc = folder / "busy.dbc"
    dbc.write_text("\n".join(lines) + "\n", "ascii")
    random = np.random.default_rng(1)
    payload = random.integers(0, 256, (frames, 8), dtype=np.uint8)
    payload[10::80, 0] &= 0x1F  # engine speeds that are believed
    log = folder / "busy.log"
    with log.open("w", encoding="ascii") as out:
        for n, data in enumerate(payload):
            t_us = 417 * n
            stamp = f"({1_700_000_000 + t_us // 1_000_000}.{t_us % 1_000_000:06d}) can0 "
            if n % 80 == 0:
                out.write(f"{stamp}7DF#02010C0000000000\n")
            elif n % 80 == 10:
                out.write(f"{stamp}7E8#04410C{data[:2].tobytes().hex().upper()}AAAAAA\n")
            else:
                out.write(f"{stamp}{FIRST_ID + 11 * (n % IDS):03X}#{data.tobytes().hex().upper()}\n")
    return log, dbc


class Spent(NamedTuple):
    """What a whole process took: time on the clock, time of all its threads on processors, most memory at a time."""

    wall_s: float
    cpu_s: float
    memory_mib: float


def run(command: list[str], output: Path) -> Spent:
    """Run a command with its start and end; what it prints goes to a file."""
    begin = time.perf_counter()
    with output.open("wb") as stream:
        child = os.posix_spawn(
            command[0], command, os.environ, file_actions=[(os.POSIX_SPAWN_DUP2, stream.fileno(), 1)]
        )
        _, status, usage = os.wait4(child, 0)
    assert status == 0, command
    unit = 1 << 20 if sys.platform == "darwin" else 1 << 10
    return Spent(time.perf_counter() - begin, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / unit)


def least(runs: list[Spent]) -> Spent:
    """The least of each figure: other work on the machine only adds."""
    return Spent(*map(min, zip(*runs, strict=True)))


def measure_sensor(runs: int, folder: Path) -> None:
    """Report on long sensor recordings."""
    edges, sound = folder / "edges.csv", folder / "drive.wav"
    write_edges(edges, 10_000_000)
    write_wav(sound, 600)
    for file in (edges, sound):
        command = [*LOGAN, "report", str(file), "--engine", ENGINE, "--quiet"]
        command += ["--html", str(folder / "page.html"), "--json", str(folder / "page.json")]
        took = [run(command, folder / "out") for _ in range(runs)]
        middle, most = statistics.median(one.wall_s for one in took), max(one.memory_mib for one in took)
        print(f"{file.name}, {file.stat().st_size / 1e6:.0f} MB: {middle:.1f} s, {most:.0f} MiB")


def measure_formats(runs: int, folder: Path) -> None:
    """Other forms of the same frames, read in one process by python-can alone and by logan: seconds of processor."""
    log, _ = write_log(folder, 100_000)
    for suffix in ("blf", "asc", "csv", "trc", "db", "mf4"):
        run([sys.executable, "-c", READING, str(log), str(folder / f"busy.{suffix}"), str(runs)], folder / "out")
        hand, ours = map(float, (folder / "out").read_text().split())
        print(f"{suffix}: python-can {hand:.2f} s, logan {ours:.2f} s, {hand / ours:.1f} x as fast")


def measure_log(runs: int, folder: Path, frames: int) -> None:
    """Whole commands on one log, in turn with the same done by hand."""
    log, dbc = write_log(folder, frames)
    page = ["--html", str(folder / "page.html"), "--json", str(folder / "page.json")]
    ways = {
        "logan decode": [*LOGAN, "decode", str(log), "--dbc", str(dbc)],
        "logan report": [*LOGAN, "report", str(log), "--dbc", str(dbc), "--quiet", *page],
        "logan --help": [*LOGAN, "--help"],
        "by hand": [sys.executable, "-c", BASELINE, str(log), str(dbc)],
    }
    outputs = {way: folder / f"{way}.txt" for way in ways}
    took: dict[str, list[Spent]] = {way: [] for way in ways}
    ours_alone = [way for way in ways if way != "by hand"]
    long = frames >= LONG  # by hand that takes minutes: once, between two rows of ours
    turns = [*runs * [ours_alone], ["by hand"], *runs * [ours_alone]] if long else runs * [list(ways)]
    for turn in turns:
        for way in turn:
            took[way].append(run(ways[way], outputs[way]))
    ours = sum(int(count) for count in re.findall(COUNT, outputs["logan decode"].read_text(), re.MULTILINE))
    assert ours == int(outputs["by hand"].read_text())
    print(f"{frames} frames, {log.stat().st_size / 1e6:.1f} MB, {ours} values, least of {runs} runs in turn", end="; ")
    print(f"load {os.getloadavg()[0]:.0f} on {os.cpu_count()} cores")
    hand = least(took["by hand"])
    for way, spent in took.items():
        one = least(spent)
        print(f"{way:14} {one.wall_s:8.2f} s   {hand.wall_s / one.wall_s:6.1f} x   on processors {one.cpu_s:7.2f} s"
              f"   {hand.cpu_s / one.cpu_s:6.1f} x   {one.memory_mib:6.0f} MiB")  # fmt: skip
        if long:
            middle = statistics.median(row.wall_s for row in spent)
            print(f"  middle {middle:.2f} s of", *(f"{row.wall_s:.2f}" for row in spent))


def main() -> None:
    """Measure and print."""
    what = sys.argv[1] if len(sys.argv) > 1 else "100000"
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 3
    with tempfile.TemporaryDirectory() as name:
        if what == "sensor":
            measure_sensor(runs, Path(name))
        elif what == "formats":
            measure_formats(runs, Path(name))
        else:
            measure_log(runs, Path(name), int(what))


if __name__ == "__main__":
    main()
