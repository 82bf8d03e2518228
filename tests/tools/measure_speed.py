"""How long whole commands take, beside what one would write with python-can, cantools and pandas.

    python tests/tools/measure_speed.py [FRAMES] [RUNS]
    python tests/tools/measure_speed.py sensor [RUNS]

Makes a busy CAN log (48 broadcast identifiers with 192 signals, OBD requests and answers) and its data base in a
temporary folder, checks that both ways find the same values, then runs them in turn: whole processes with their start.
With ``sensor``: long crank and cam recordings of tests/tools/make_long_sensor.py, their time and memory (Linux, macOS).
The figures of docs/performance.md are this program's output.
"""

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import numpy as np
from make_long_sensor import ENGINE, write_edges, write_wav

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


def run(command: list[str]) -> tuple[float, str]:
    """Wall seconds and standard output."""
    begin = time.perf_counter()
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    return time.perf_counter() - begin, done.stdout


def measure_sensor(runs: int) -> None:
    """Report on long sensor recordings: seconds, and the most memory that a process had at a time."""
    with tempfile.TemporaryDirectory() as name:
        edges, sound = Path(name) / "edges.csv", Path(name) / "drive.wav"
        write_edges(edges, 10_000_000)
        write_wav(sound, 600)
        for file in (edges, sound):
            command = [sys.executable, "-m", "logan", "report", str(file), "--engine", ENGINE, "--quiet"]
            command += ["--html", f"{name}/page.html", "--json", f"{name}/page.json"]
            took, most = [], []
            for _ in range(runs):
                begin = time.perf_counter()
                child = os.posix_spawn(command[0], command, os.environ)
                _, status, usage = os.wait4(child, 0)
                assert status == 0, command
                took.append(time.perf_counter() - begin)
                most.append(usage.ru_maxrss / (1 << 20 if sys.platform == "darwin" else 1 << 10))
            print(
                f"{file.name}, {file.stat().st_size / 1e6:.0f} MB: {statistics.median(took):.1f} s, {max(most):.0f} MiB"
            )


def main() -> None:
    """Measure and print a table."""
    if sys.argv[1:2] == ["sensor"]:
        measure_sensor(int(sys.argv[2]) if len(sys.argv) > 2 else 3)
        return
    frames = int(sys.argv[1]) if len(sys.argv) > 1 else 100_000
    runs = int(sys.argv[2]) if len(sys.argv) > 2 else 5
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        log, dbc = write_log(folder, frames)
        logan = [sys.executable, "-m", "logan"]
        page = str(folder / "page.html")
        ways = {
            "logan decode": [*logan, "decode", str(log), "--dbc", str(dbc)],
            "logan report": [*logan, "report", str(log), "--dbc", str(dbc), "--quiet", "--html", page],
            "logan --help": [*logan, "--help"],
            "by hand": [sys.executable, "-c", BASELINE, str(log), str(dbc)],
        }
        first = {way: run(command)[1] for way, command in ways.items()}  # warm-up
        ours = sum(int(count) for count in re.findall(COUNT, first["logan decode"], re.MULTILINE))
        assert ours == int(first["by hand"]), (ours, first["by hand"])
        took: dict[str, list[float]] = {way: [] for way in ways}
        for _ in range(runs):
            for way, command in ways.items():
                took[way].append(run(command)[0])
        print(f"{frames} frames, {log.stat().st_size / 1e6:.1f} MB, {ours} values, median of {runs} runs in turn")
        hand = statistics.median(took["by hand"])
        for way, seconds in took.items():
            middle = statistics.median(seconds)
            print(f"{way:14} {middle:8.3f} s   {hand / middle:6.1f} x as fast as by hand")


if __name__ == "__main__":
    main()
