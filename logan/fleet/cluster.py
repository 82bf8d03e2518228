"""The logs on a Dask cluster: one of this machine, or one that runs already."""

from __future__ import annotations

import asyncio
import logging
import time
import uuid
from collections.abc import Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import ExitStack, contextmanager, suppress
from multiprocessing import resource_tracker
from typing import Any, Final

import dask
from distributed import Client, LocalCluster, Variable, get_client, wait
from distributed.comm.core import CommClosedError
from distributed.scheduler import KilledWorker
from distributed.utils import LoopRunner

from logan import interrupt
from logan.errors import ClusterError
from logan.fleet.task import Outcome, Task, Work, analyse_log, failed

MOST_LOSSES: Final = 2
AHEAD: Final = 2
"""Tasks given out for each thread: one that runs, and one that waits beside it."""
NO_PAGE: Final = {"dashboard": False, "dashboard_address": "127.0.0.1:0"}
"""The scheduler opens a port for it all the same: any that is free, not the usual one of a scheduler beside it."""
LOOK_S: Final = 2.0
PATIENCE_S: Final = 60.0
CONNECT_S: Final = 10.0
ANSWER_S: Final = 30.0
_LOST: Final = (CancelledError, asyncio.CancelledError, CommClosedError, OSError)


@contextmanager
def connected(
    scheduler: str | None = None,
    workers: int | None = None,
    patience_s: float = PATIENCE_S,
    connect_s: float = CONNECT_S,
) -> Iterator[Client]:
    """A client of the scheduler at an address, or of workers of this machine: processes of one thread each.

    Raises
    ------
    ClusterError : nobody answers at that address, or no worker comes
    """
    settings = {
        "distributed.worker.multiprocessing-method": "spawn",
        "distributed.comm.timeouts.connect": "10s",
        "distributed.worker.preload": ["logan.fleet.worker"],
        # else each array's memory goes back to the system and is asked for anew: a third of a log's time
        "distributed.nanny.pre-spawn-environ.MALLOC_TRIM_THRESHOLD_": None,
    }
    with dask.config.set(settings), _quiet():
        if scheduler is None:
            with _here(workers) as client:
                yield client
            return
        try:
            client = Client(scheduler, timeout=connect_s)
        except (OSError, ValueError, TimeoutError) as error:
            do = "check the address, which dask scheduler prints when it starts"
            raise ClusterError(f"no scheduler answers ({error})", file=scheduler, do=do) from error
        try:
            client.wait_for_workers(1, timeout=patience_s)
            yield client
        except TimeoutError as error:
            raise ClusterError("it has no worker", file=scheduler, do="start dask worker with its address") from error
        finally:
            with suppress(Exception):  # what is lost already cannot be closed
                client.close(timeout=2)


@contextmanager
def _here(workers: int | None) -> Iterator[Client]:
    """A client of workers of this machine. Ctrl-C is heard by this thread alone, and while they start it waits."""
    runner = LoopRunner()
    resource_tracker.ensure_running()  # else the first worker's start starts it, and makes the thread hear Ctrl-C again
    with ExitStack() as opened:
        try:
            with interrupt.waits():
                with interrupt.unheard():
                    runner.start()
                opened.callback(runner.stop)
                cluster = LocalCluster(
                    n_workers=workers, threads_per_worker=1, processes=True, dashboard_address=None, silence_logs=60,
                    scheduler_kwargs=NO_PAGE, loop=runner.loop,
                )  # fmt: skip
                client = opened.enter_context(Client(opened.enter_context(cluster)))
            yield client
        except KeyboardInterrupt:
            interrupt.enough()
            raise


@contextmanager
def _quiet() -> Iterator[None]:
    """What is lost is told once, by this program: not with the traces that distributed writes to its log."""
    before = logging.root.manager.disable
    logging.disable(logging.CRITICAL)
    try:
        yield
    finally:
        logging.disable(before)


def outcomes(
    client: Client, tasks: Sequence[Task], work: Work = analyse_log, patience_s: float = PATIENCE_S
) -> Iterator[tuple[Task, Outcome]]:
    """Each task with its outcome, as they come.

    A log whose worker is lost is given to another one; after the second loss while it ran, its row is an error.

    Raises
    ------
    ClusterError : the scheduler is lost, or there has been no worker for ``patience_s``
    """
    waiting = list(reversed(tasks))
    running: dict[Any, Task] = {}
    marks: dict[str, Variable] = {}
    this_run = uuid.uuid4().hex
    room, seen = 0, time.monotonic()
    looked = -LOOK_S
    try:
        while waiting or running:
            if time.monotonic() - looked >= LOOK_S:
                room, looked = AHEAD * sum(client.nthreads().values()), time.monotonic()
                seen = looked if room else seen
                if time.monotonic() - seen > patience_s:
                    raise ClusterError("every worker is lost", do="start workers, then run the same command again")
            while waiting and len(running) < room:
                task = waiting.pop()
                if task.key not in marks:
                    marks[task.key] = Variable(f"logan-{this_run}-{task.key}", client=client)
                    marks[task.key].set(0, timeout=ANSWER_S)
                running[client.submit(_guarded, task, work, marks[task.key].name, pure=False)] = task
            try:
                done = wait(list(running), timeout=LOOK_S, return_when="FIRST_COMPLETED").done
            except TimeoutError:
                continue
            for future in done:
                task = running.pop(future)
                outcome = _outcome(future, task, marks[task.key])
                if outcome is None:
                    waiting.append(task)
                else:
                    marks.pop(task.key).delete()
                    yield task, outcome
    except _LOST as error:
        raise ClusterError(
            "the scheduler is lost", do="start it again, then run the same command: what is done is kept"
        ) from error
    finally:
        with suppress(Exception):
            client.cancel(list(running))
            for mark in marks.values():
                mark.delete()


def _outcome(future: Any, task: Task, mark: Variable) -> Outcome | None:
    """What came of a task; None where others that ran beside it may have been to blame."""
    try:
        outcome: Outcome = future.result()
        return outcome
    except KilledWorker:
        return None if mark.get(timeout=ANSWER_S) < MOST_LOSSES else _lost(task)
    except _LOST:
        raise
    except Exception as error:
        return Outcome(failed(task, f"a worker could not run it: {type(error).__name__}: {error}", "not_reached"))


def _guarded(task: Task, work: Work, mark: str) -> Outcome:
    """Run in a worker: count the try with the scheduler, which outlives this process, and do not start a third time."""
    tries = Variable(mark, client=get_client())
    count = tries.get(timeout=ANSWER_S)
    if count >= MOST_LOSSES:
        return _lost(task)
    tries.set(count + 1, timeout=ANSWER_S)
    return work(task)


def _lost(task: Task) -> Outcome:
    text = f"its worker was lost {MOST_LOSSES} times while it was analysed: too little memory, or a defect"
    return Outcome(failed(task, text, "worker_lost"))
