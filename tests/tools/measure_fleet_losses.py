"""Whether a fleet of a thousand logs gives the same rows however it is run, and whatever is lost on the way.

    python tests/tools/measure_fleet_losses.py [LOGS] [--logs FOLDER] [--keep FOLDER]
    python tests/tools/measure_fleet_losses.py --small FILES

Simulates LOGS short drives (default 1,000, every fault and engine in turn; or takes those of a folder), damages every
25th, and runs ``logan fleet run`` over them as whole processes: in one process; on two workers; through a ``file://``
pattern; on a scheduler and two workers started by Dask's own command line; there again, with a worker killed (SIGKILL)
after a quarter of the logs; on two workers, killed after a half and gone on; interrupted (SIGINT) after a half and gone
on. Every row must be the same each time, but for the seconds that it took. Prints what memory the run's processes hold
after a quarter of the logs and near the end, what a result occupies on disk and takes to be looked up, too. With
``--small`` it makes so many files of a few bytes instead, which are no captures, and prints what a run computes until
its first result. docs/fleet.md quotes what it prints (Linux).
"""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager
from pathlib import Path

from measure_fleet import LOGAN, finished, rows, workers_of, write_drive

from logan.fleet.store import Store

SECONDS = 12.0
DASK = [sys.executable, "-m", "dask"]
ALIKE = os.environ | {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1"}
"""As a nanny sets it: with more threads in one worker the last digit of a number may differ."""
Run = subprocess.Popen[bytes]


def damage(folder: Path) -> None:
    """Of every 25th log, in turn: nothing left, half left, words in its place, the same bytes as the log before."""
    logs = sorted(folder.rglob("*.log"))
    for turn, k in enumerate(range(24, len(logs), 25)):
        data = logs[k].read_bytes()
        left = (b"", data[: len(data) // 2], f"Dear workshop {k}\n".encode(), logs[k - 1].read_bytes())
        logs[k].write_bytes(left[turn % len(left)])


def fleet(place: str, out: Path, *how: str) -> Run:
    """Start a run."""
    command = [*LOGAN, "fleet", "run", place, "--out", str(out), "--folder-is-vehicle", "--quiet", *how]
    # a shell's background job ignores Ctrl-C, and hands that on
    return subprocess.Popen(command, preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL))


def until(run: Run, out: Path, count: float) -> None:
    """Wait for so many results."""
    while finished(out) < count:
        if run.poll() is not None:
            raise AssertionError("the run ended before it could be disturbed: take more logs")
        time.sleep(0.1)


def whole(run: Run) -> None:
    """Wait for the end of a run, which must be a good one."""
    if code := run.wait():
        raise AssertionError(f"a run failed: {code}")


def memory_mb(run: Run) -> tuple[float, float]:
    """Resident memory of a run's own process, and of the largest below it (Linux, proc(5))."""

    def of(process: int) -> float:
        try:
            return int(Path(f"/proc/{process}/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE") / 1e6
        except OSError:
            return 0.0

    return of(run.pid), max(map(of, workers_of(run.pid)), default=0.0)


@contextmanager
def cluster() -> Iterator[tuple[str, list[Run]]]:
    """Address of a scheduler, and its two workers, as Dask's command line starts them."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    address = f"tcp://127.0.0.1:{port}"
    worker = [*DASK, "worker", address, "--nthreads", "1", "--no-nanny", "--no-dashboard"]
    commands = [[*DASK, "scheduler", "--host", "127.0.0.1", "--port", str(port), "--no-dashboard"], worker, worker]
    started = [
        subprocess.Popen(one, env=ALIKE, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL) for one in commands
    ]
    try:
        yield address, started[1:]
    finally:
        for process in started:
            process.kill()
            process.wait()


def ways(logs: Path, count: int) -> dict[str, Callable[[Path], None]]:
    """What is done to a run of so many results, by name."""
    two = ("--workers", "2")

    def local(out: Path) -> None:
        run = fleet(str(logs), out, *two)
        for share in (0.25, 0.95):
            until(run, out, share * count)
            print("  after {:.0%}: {:.0f} MB itself, {:.0f} MB a worker".format(share, *memory_mb(run)), flush=True)
        whole(run)

    def address(out: Path) -> None:
        whole(fleet(f"{logs.as_uri()}/**", out, *two))

    def scheduler(out: Path) -> None:
        with cluster() as (where, _):
            whole(fleet(str(logs), out, "--scheduler", where))

    def worker_lost(out: Path) -> None:
        with cluster() as (where, workers):
            run = fleet(str(logs), out, "--scheduler", where)
            until(run, out, 0.25 * count)
            workers[0].kill()
            whole(run)

    def ended(sign: signal.Signals) -> Callable[[Path], None]:
        def both(out: Path) -> None:
            run = fleet(str(logs), out, *two)
            until(run, out, 0.5 * count)
            run.send_signal(sign)
            run.wait()
            whole(fleet(str(logs), out, *two))

        return both

    return {
        "two workers": local, "two workers, a file:// pattern": address,
        "scheduler of its own": scheduler, "scheduler of its own, a worker killed": worker_lost,
        "killed and gone on": ended(signal.SIGKILL), "interrupted and gone on": ended(signal.SIGINT),
    }  # fmt: skip


def computed_s(process: int) -> float:
    """Seconds of computing that a process has spent so far, its children left out (Linux, proc(5))."""
    fields = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def kept(out: Path) -> None:
    """Print what one result occupies on disk, in whole blocks, and how long it takes to look it up."""
    files, store = sorted((out / "done").glob("*.msgpack")), Store(out)
    size = sum(path.stat().st_blocks * 512 for path in files) / len(files)
    start = time.perf_counter()
    found = sum(store.load(path.stem) is not None for path in files)
    each = (time.perf_counter() - start) / len(files)
    print(f"  {found} results looked up, {1000 * each:.2f} ms each; one occupies {size / 1000:.1f} kB", flush=True)


def small(folder: Path, count: int) -> None:
    """Print what many files cost by their number alone."""
    places, out = folder / "small", folder / "out"
    for number in range(count):
        place = places / f"van_{number % 100:02d}" / f"{number:05d}.log"
        place.parent.mkdir(parents=True, exist_ok=True)
        place.write_text(f"file {number}\n")
    run = fleet(str(places), out, "--in-process")
    until(run, out, 1)
    print(f"{count} files: {computed_s(run.pid):.1f} s of computing until the first result", flush=True)
    run.kill()
    run.wait()


def main(arguments: list[str]) -> int:
    """Run every way, and print whether its rows are those of one process."""
    named = {word: arguments[k + 1] for k, word in enumerate(arguments) if word.startswith("--")}
    numbers = [word for word in arguments if word.isdigit()]
    folder = Path(named.get("--keep") or tempfile.mkdtemp(prefix="fleet_"))
    logs = Path(named.get("--logs") or folder / "drives").absolute()
    try:
        if "--small" in named:
            small(folder, int(named["--small"]))
            return 0
        if "--logs" not in named:
            count = int(numbers[0]) if numbers else 1000
            with ProcessPoolExecutor(2) as pool:
                list(pool.map(write_drive, [logs] * count, range(count), [SECONDS] * count, chunksize=8))
            damage(logs)
        start, alone = time.perf_counter(), folder / "alone"
        whole(fleet(str(logs), alone, "--in-process"))
        expected, count = rows(alone), finished(alone)
        print(f"one process: {time.perf_counter() - start:.0f} s, {len(expected)} rows, {count} results", flush=True)
        kept(alone)
        good = True
        for number, (name, way) in enumerate(ways(logs, count).items()):
            start, out = time.perf_counter(), folder / f"way_{number}"
            way(out)
            same = rows(out) == expected
            good &= same
            print(f"{name}: {time.perf_counter() - start:.0f} s, the same rows: {same}", flush=True)
        return 0 if good else 1
    finally:
        if "--keep" not in named:
            shutil.rmtree(folder, ignore_errors=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
