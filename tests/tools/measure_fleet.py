"""How long a thousand logs take in one process and on two workers, and whether kills change a row.

    python tests/tools/measure_fleet.py [LOGS] [--keep FOLDER]

Simulates LOGS drives (default 1,000; about 100,000 frames each, every fault and engine in turn, each its own seed),
then runs ``logan fleet run`` three times as whole processes: one process; two workers; two workers of which one is
killed (SIGKILL) after a quarter of the logs, then the whole run after a half, and the same command again. The rows must
be the same each time (all but the seconds that they took). docs/fleet.md quotes what this prints (Linux, macOS).
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import pyarrow.dataset

from logan import simulate
from logan.simulate import parameters

LOGAN = [sys.executable, "-c", "import sys; from logan.cli import main; sys.exit(main())"]
SECONDS = 310.0
VANS = 40
DAY_S = 86_400.0
ASIDE = {"seconds"}
"""Columns that say how a row came about, not what was found."""


def write_drive(folder: Path, number: int, seconds: float = SECONDS) -> int:
    """One simulated drive; its frames."""
    engines, faults = sorted(parameters.engines()), sorted(parameters.faults())
    engine = engines[number % len(engines)]
    injection = parameters.profile(engine).injection
    fitting = [None, *(f for f in faults if not (fits := parameters.faults()[f].fits) or injection in fits)]
    fault = fitting[(number // len(engines)) % len(fitting)]
    van, visit = number % VANS, number // VANS
    bus = {"vin": f"{parameters.engine(engine).vin[:12]}{van:05d}", "start_unix_s": 1.75e9 + DAY_S * visit}
    words = {"profile": engine, "seed": 10_000 + number, "duration_s": seconds, "bus": bus}
    spec = simulate.make_spec(**words, **({"fault": fault} if fault else {}))
    for path in simulate.write(simulate.run(spec), folder / f"van_{van:02d}", f"drive_{number:04d}"):
        if path.suffix == ".log":
            with path.open("rb") as lines:
                return sum(1 for _ in lines)
        path.unlink()
    raise AssertionError("no log was written")


def fleet(logs: Path, out: Path, *how: str) -> subprocess.Popen[bytes]:
    """Start a run over all logs."""
    places = [*LOGAN, "fleet", "run", str(logs / "*" / "*.log"), "--out", str(out), "--folder-is-vehicle", "--quiet"]
    return subprocess.Popen([*places, *how])


def timed(logs: Path, out: Path, *how: str) -> float:
    """Seconds of a whole run."""
    start = time.perf_counter()
    if fleet(logs, out, *how).wait():
        raise AssertionError(f"fleet run {how} failed")
    return time.perf_counter() - start


def finished(out: Path) -> int:
    """Logs whose result is kept so far."""
    return sum(1 for _ in (out / "done").glob("*.msgpack"))


def workers_of(process: int) -> list[int]:
    """Processes below another one, the one that has computed most last: a worker (Linux, proc(5))."""
    below: dict[int, list[int]] = {}
    spent: dict[int, int] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = stat.read_text("utf-8", "replace").rpartition(")")[2].split()
        except OSError:
            continue
        below.setdefault(int(fields[1]), []).append(int(stat.parent.name))
        spent[int(stat.parent.name)] = int(fields[11]) + int(fields[12])
    found, todo = [], [process]
    while todo:
        children = below.get(todo.pop(), [])
        found += children
        todo += children
    return sorted(found, key=lambda number: spent[number])


def killed(logs: Path, out: Path, count: int) -> float:
    """Seconds of a run of which a worker and then the whole was killed, and of the run that goes on."""
    start = time.perf_counter()
    process = fleet(logs, out, "--workers", "2")
    for share, whole in ((0.25, False), (0.5, True)):
        while finished(out) < share * count and process.poll() is None:
            time.sleep(0.5)
        if process.poll() is not None:
            raise AssertionError("the run ended before it could be killed: take more logs")
        os.kill(process.pid if whole else workers_of(process.pid)[-1], signal.SIGKILL)
    process.wait()
    time.sleep(5.0)  # the workers see that nobody is there any more
    if fleet(logs, out, "--workers", "2").wait():
        raise AssertionError("the run that goes on failed")
    return time.perf_counter() - start


def rows(out: Path) -> list[str]:
    """The rows of a run in the order of the logs, without what says how they came about."""
    table = pyarrow.dataset.dataset(out / "logs").to_table()
    kept = table.drop_columns([name for name in table.column_names if name in ASIDE])
    return sorted(repr(row) for row in kept.to_pylist())


def main(arguments: list[str]) -> int:
    """Measure, and print the figures."""
    keep = arguments[arguments.index("--keep") + 1] if "--keep" in arguments else None
    numbers = [word for word in arguments if word.isdigit()]
    count = int(numbers[0]) if numbers else 1000
    folder = Path(keep or tempfile.mkdtemp(prefix="fleet_"))
    try:
        with ProcessPoolExecutor(2) as pool:
            frames = list(pool.map(write_drive, [folder / "drives"] * count, range(count), chunksize=8))
        size = sum(path.stat().st_size for path in (folder / "drives").rglob("*.log"))
        print(f"{count} logs, {sum(frames) / count:,.0f} frames each, {size / 1e9:.1f} GB", flush=True)
        one = timed(folder / "drives", folder / "one", "--in-process")
        print(f"one process: {one:.0f} s, {1000 * one / count:.0f} ms a log", flush=True)
        two = timed(folder / "drives", folder / "two", "--workers", "2")
        print(f"two workers: {two:.0f} s, {1000 * two / count:.0f} ms a log, {one / two:.2f} times as fast", flush=True)
        third = killed(folder / "drives", folder / "killed", count)
        print(f"two workers, one killed, all killed, gone on: {third:.0f} s", flush=True)
        expected = rows(folder / "one")
        same = [rows(folder / other) == expected for other in ("two", "killed")]
        print(f"rows: {len(expected)}; the same on two workers: {same[0]}; the same after the kills: {same[1]}")
        return 0 if all(same) and len(expected) == count else 1
    finally:
        if keep is None:
            shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
