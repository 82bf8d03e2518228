"""The logs one after the other in this process: nothing to start, nothing to lose."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from logan.fleet.task import Outcome, Task, Work, analyse_log


def outcomes(tasks: Sequence[Task], work: Work = analyse_log) -> Iterator[tuple[Task, Outcome]]:
    """Each task with its outcome, in the order given."""
    for task in tasks:
        yield task, work(task)
