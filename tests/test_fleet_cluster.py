"""Clusters of Dask: one started from its own command line, one of this machine; workers, schedulers and runs killed."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from fleet_killer import deadly
from fleet_logs import SAMPLES, write_logs

from logan.errors import ClusterError
from logan.fleet import cluster, run, sources
from logan.fleet.options import Options

TESTS = Path(__file__).parent
ENVIRONMENT = os.environ | {
    "PYTHONPATH": os.pathsep.join([str(TESTS.parent), str(TESTS), os.environ.get("PYTHONPATH", "")]),
    "OMP_NUM_THREADS": "1",
    "OPENBLAS_NUM_THREADS": "1",
}
PATIENCE_S = 90.0
LOGS = 40


def rows(out: Path) -> pa.Table:
    """The data set without the time that each log took."""
    return pq.read_table(out / "logs").drop_columns(["seconds"])


def until(true: Callable[[], bool], what: str) -> None:
    deadline = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < deadline, f"waited too long for {what}"
        time.sleep(0.02)


def done(out: Path) -> int:
    return len(list((out / "done").glob("*.msgpack"))) if (out / "done").is_dir() else 0


class Cluster:
    """A scheduler and workers as ``dask scheduler`` and ``dask worker`` start them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            self.port = free.getsockname()[1]
        self.address = f"tcp://127.0.0.1:{self.port}"
        self.scheduler: subprocess.Popen[bytes]
        self.workers: list[subprocess.Popen[bytes]] = []
        self.started: list[subprocess.Popen[bytes]] = []
        self.start()

    def dask(self, *arguments: str) -> subprocess.Popen[bytes]:
        """A process of Dask's own command line."""
        command = [sys.executable, "-m", "dask", *arguments]
        process = subprocess.Popen(
            command, env=ENVIRONMENT, cwd=self.folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        self.started.append(process)
        return process

    def start(self) -> None:
        """Start the scheduler."""
        self.scheduler = self.dask("scheduler", "--host", "127.0.0.1", "--port", str(self.port), "--no-dashboard")

    def add(self, nanny: bool = False) -> None:
        """Add a worker of one thread."""
        watched = "--nanny" if nanny else "--no-nanny"
        self.workers.append(
            self.dask("worker", self.address, "--nthreads", "1", watched, "--no-dashboard", "--death-timeout", "60")
        )


@contextmanager
def started(folder: Path, workers: int, nanny: bool = False) -> Iterator[Cluster]:
    one = Cluster(folder)
    try:
        for _ in range(workers):
            one.add(nanny)
        yield one
    finally:
        for process in one.started:
            if nanny and process.poll() is None:
                process.terminate()  # it ends its own child
                try:
                    process.wait(10)
                except subprocess.TimeoutExpired:
                    process.kill()
            process.kill()
            process.wait()


def command(logs: Path, out: Path, *more: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-m", "logan", "fleet", "run", str(logs), "--out", str(out), *more],
        env=ENVIRONMENT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True,
        # a shell's background job ignores Ctrl-C, and hands that on
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL), start_new_session=True,
    )  # fmt: skip


@pytest.fixture(scope="module")
def logs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("fleet")
    write_logs(folder, LOGS - 5, ("pump_key_reversed", "idle_hunting", "healthy_spark_four"), bad=2)
    return folder


@pytest.fixture(scope="module")
def alone(logs: Path, tmp_path_factory: pytest.TempPathFactory) -> pa.Table:
    out = tmp_path_factory.mktemp("alone")
    process = command(logs, out, "--in-process", "--quiet")
    _, errors = process.communicate()
    assert process.returncode == 0, errors
    return rows(out)


def test_killed_worker_killed_run_killed_scheduler_and_the_same_rows(
    logs: Path, alone: pa.Table, tmp_path: Path
) -> None:
    """Whatever is killed in mid-run, nothing is lost but the logs in hand; the rows are those of one process."""
    out = tmp_path / "out"
    with started(tmp_path, workers=2) as dask:
        first = command(logs, out, "--scheduler", dask.address)
        until(lambda: done(out) >= 8, "the first logs")
        dask.workers[0].send_signal(signal.SIGKILL)
        reached = done(out)
        until(lambda: done(out) >= reached + 6, "logs after the loss of a worker")
        assert first.poll() is None
        first.send_signal(signal.SIGKILL)
        first.wait()
        kept = done(out)
        assert kept < LOGS
        dask.add()

        second = command(logs, out, "--scheduler", dask.address)
        until(lambda: done(out) >= kept + 6, "logs of the second run")
        dask.scheduler.send_signal(signal.SIGKILL)
        _, errors = second.communicate(timeout=PATIENCE_S)
        assert second.returncode == 2, errors
        assert "scheduler is lost" in errors
        assert "Traceback" not in errors
        kept = done(out)
        assert kept < LOGS
        for worker in dask.workers:
            worker.kill()

        dask.start()
        dask.add()
        dask.add()
        third = command(logs, out, "--scheduler", dask.address)
        printed, errors = third.communicate(timeout=PATIENCE_S)
        assert third.returncode == 0, errors
        assert printed.startswith(f"{LOGS} logs, {kept} of them done already")
    assert rows(out).equals(alone)
    assert alone.num_rows == LOGS
    assert sum(error is not None for error in alone["error"].to_pylist()) == 2


def test_local_cluster_gives_the_same_rows_and_survives_ctrl_c(logs: Path, alone: pa.Table, tmp_path: Path) -> None:
    """A terminal sends Ctrl-C to the workers too; the usual port of a scheduler's page is taken: no word of either."""
    out = tmp_path / "out"
    with socket.socket() as beside:
        with suppress(OSError):
            beside.bind(("127.0.0.1", 8787))
            beside.listen()
        for reached in (
            lambda: (out / "done").is_dir() and time.sleep(1.0) is None,  # the workers are starting
            lambda: done(out) >= max(5, began + 3),  # noqa: B023  (called before it changes; else the former run did them)
        ):
            began = done(out)
            process = command(logs, out, "--workers", "2")
            until(reached, "the first logs")
            os.killpg(process.pid, signal.SIGINT)
            _, errors = process.communicate(timeout=PATIENCE_S)
            assert process.returncode == 130, errors
            said = f"logan: interrupted; what is done is kept in {out}, the same command goes on where it was"
            lines = [line for line in errors.splitlines() if f" of {LOGS} logs" not in line]  # how far it is
            assert lines == [said]
    kept = done(out)
    assert 5 <= kept < LOGS
    second = command(logs, out, "--workers", "2")
    printed, errors = second.communicate(timeout=2 * PATIENCE_S)
    assert second.returncode == 0, errors
    assert f"{kept} of them done already" in printed
    assert errors.splitlines()[-1].startswith(f"{LOGS} of {LOGS} logs")
    assert rows(out).equals(alone)


def test_a_log_that_ends_its_worker_twice_is_a_row(tmp_path: Path) -> None:
    """Two are tried twice, and the one that then goes well has its result; the others suffer nothing."""
    place = tmp_path / "logs"
    write_logs(place, 6, bad=0)
    for name in ("deadly", "once"):
        (place / f"{name}.log.gz").write_bytes((SAMPLES / "charging_voltage_low.log.gz").read_bytes() + name.encode())
    (place / "once.log.gz").write_bytes((SAMPLES / "charging_voltage_low.log.gz").read_bytes())
    todo = run.plan(sources.find([place])[0], Options(), tmp_path / "out")
    with started(tmp_path, workers=2, nanny=True) as dask, cluster.connected(dask.address) as client:
        found = {one.log: one for one in run.run(todo, lambda tasks: cluster.outcomes(client, tasks, deadly))}
    assert {name for name, one in found.items() if one.error} == {"deadly"}
    assert found["deadly"].trouble == "worker_lost"
    assert "lost 2 times" in (found["deadly"].error or "")
    assert found["once"].verdict is not None
    assert (place / "deadly.log.tries.tmp").read_text() == "xx"
    assert (place / "once.log.tries.tmp").read_text() == "xx"
    # It is kept: going on does not end two more workers.
    assert run.plan(sources.find([place])[0], Options(), tmp_path / "out").tasks == []


def test_runs_on_one_scheduler_know_nothing_of_each_other(tmp_path: Path) -> None:
    """Each counts its own tries, and nothing of a run is left with the scheduler, be it ever so many logs."""
    place = tmp_path / "logs"
    write_logs(place, 3, bad=0)
    found = []
    with started(tmp_path, workers=1) as dask, cluster.connected(dask.address) as client:
        for k in range(cluster.MOST_LOSSES + 2):
            todo = run.plan(sources.find([place])[0], Options(), tmp_path / f"out{k}")
            found.append([row.trouble for row in run.run(todo, lambda tasks: cluster.outcomes(client, tasks))])
        until(lambda: not client.run_on_scheduler(_variables), "the scheduler to forget")
    assert found == [[""] * 3] * len(found)


def _variables(dask_scheduler: Any) -> int:
    return len(dask_scheduler.extensions["variables"].variables)


def test_no_scheduler_and_no_worker_are_told(tmp_path: Path) -> None:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        nobody = f"tcp://127.0.0.1:{free.getsockname()[1]}"
    with pytest.raises(ClusterError, match="no scheduler answers"), cluster.connected(nobody, connect_s=1):
        pass
    with (
        started(tmp_path, workers=0) as dask,
        pytest.raises(ClusterError, match="no worker"),
        cluster.connected(dask.address, patience_s=1),
    ):
        pass


def test_workers_of_this_machine_keep_their_memory() -> None:
    with cluster.connected(workers=1) as client:
        found = client.run(os.environ.copy)
    (environment,) = found.values()
    assert "MALLOC_TRIM_THRESHOLD_" not in environment
    assert environment["OMP_NUM_THREADS"] == "1"
