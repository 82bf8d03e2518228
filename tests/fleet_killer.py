"""What a worker of a test runs: the analysis, but some logs end the process that reads them."""

from __future__ import annotations

import os
from pathlib import Path

from logan.fleet.task import Outcome, Task, analyse_log


def deadly(task: Task) -> Outcome:
    """A log called ``deadly`` ends its worker each time, ``once`` only the first time; each try leaves a mark."""
    name = Path(task.log.name).name
    if name in ("deadly", "once"):
        tries = Path(task.log.files[0].address).with_suffix(".tries.tmp")
        with tries.open("a") as marks:
            marks.write("x")
        if name == "deadly" or tries.stat().st_size == 1:
            os._exit(9)
    return analyse_log(task)
