"""A progress line for whatever takes longer than a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from logan.pipeline.progress import Progress, silent

SHOW_AFTER_S = 1.0


@contextmanager
def shown(wanted: bool) -> Iterator[Progress]:
    """Give a function to report progress to; it draws on standard error after a second, if a person is there."""
    if not wanted or not sys.stderr.isatty():
        yield silent
        return
    started = time.monotonic()
    bar = None

    def show(doing: str, share: float) -> None:
        nonlocal bar
        if bar is None and time.monotonic() - started > SHOW_AFTER_S:
            from rich.console import Console
            from rich.progress import Progress as Bar

            bar = Bar(console=Console(stderr=True), transient=True)
            bar.start()
            bar.add_task(doing, total=1.0)
        if bar is not None:
            bar.update(bar.task_ids[0], description=doing, completed=share)

    try:
        yield show
    finally:
        if bar is not None:
            bar.stop()
