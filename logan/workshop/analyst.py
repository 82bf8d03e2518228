"""Analyses in processes of their own, each with a time limit; none is lost when the program ends."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

from logan.errors import LoganError
from logan.knowledge.folders import Folders
from logan.pipeline.analyse import analyse
from logan.report import files, html_page, json_document
from logan.store import captures, cases
from logan.store.database import Case, Sessions
from logan.store.persist import persist
from logan.workshop.processes import PROGRESS, Lost, end_with_parent, in_words, outcome

LIMIT_S: Final = 900.0
IDLE_S: Final = 1.0


def report_of(folder: Path, case_id: int) -> Path:
    """Where the report of a case lies."""
    return folder / "reports" / f"{case_id}.html"


def work(channel: Connection, paths: Sequence[Path], options: dict[str, Any], report: Path) -> None:
    """One analysis, in its own process: progress and the result go through ``channel``, the report to its place."""
    end_with_parent()
    try:
        found = analyse(paths, **options, progress=lambda doing, share: channel.send((PROGRESS, doing, share)))
        page = html_page.render(found.record, found.finding, found.known.measures)
        files.write_text(report, page)
        channel.send(("done", json_document.build(found.record, found.finding)))
    except (LoganError, OSError) as error:
        channel.send(("failed", in_words(error, *(path.parent for path in paths), report.parent.parent)))


class Analysts:
    """Threads that each look after one analysis at a time.

    Parameters
    ----------
    count : analyses at a time
    limit_s : longest time of one
    folders : knowledge folders
    """

    def __init__(
        self, sessions: Sessions, folder: Path, count: int, limit_s: float = LIMIT_S, folders: Folders = ()
    ) -> None:
        self.sessions, self.folder, self.limit_s, self.folders = sessions, folder, limit_s, folders
        self.progress: dict[int, tuple[str, float]] = {}
        self._wake, self._ending, self._one = threading.Event(), threading.Event(), threading.Lock()
        self._threads = [threading.Thread(target=self._run, daemon=True) for _ in range(count)]

    def start(self) -> None:
        """Take up again what was interrupted, and begin."""
        captures.sweep(self.folder)
        report_of(self.folder, 0).parent.mkdir(exist_ok=True, mode=0o700)
        cases.resume(self.sessions)
        for thread in self._threads:
            thread.start()

    def wake(self) -> None:
        """Something new waits."""
        self._wake.set()

    def stop(self) -> None:
        """End; what is being analysed waits for the next start."""
        self._ending.set()
        self._wake.set()
        for thread in self._threads:
            thread.join()

    def _run(self) -> None:
        while not self._ending.is_set():
            self._wake.clear()
            try:
                with self._one:
                    case = cases.claim(self.sessions)
            except Exception:  # the data base is locked or away, its disk full, or worse: what waits goes on waiting
                case = None
            if case is None:
                self._wake.wait(IDLE_S)
            else:
                self._analyse(case)

    def _analyse(self, case: Case) -> None:
        laid_out = self.folder / "work" / str(case.id)
        try:
            paths = captures.lay_out(self.folder, [(file.sha256, file.name) for file in case.files], laid_out)
            found = self._watched(case, paths)
        except OSError as error:
            found = ("failed", f"the capture cannot be read from the data folder: {error.strerror}")
        except Exception as error:  # one case must not keep the others from being looked at
            found = ("failed", in_words(error, self.folder))
        finally:
            shutil.rmtree(laid_out, ignore_errors=True)
        if found is not None:
            result, trouble = (found[1], "") if found[0] == "done" else (None, found[1])
            persist(
                lambda: cases.finish(self.sessions, case.id, result, trouble), self._ending,
                lambda error: cases.finish(self.sessions, case.id, None, in_words(error, self.folder)),
            )  # fmt: skip
        self.progress.pop(case.id, None)  # after it: whoever watches must not see the bar fall back

    def _watched(self, case: Case, paths: Sequence[Path]) -> tuple[str, Any] | None:
        """What came of an analysis; None where the program ends before it."""
        options = {
            "engine": case.engine, "work": case.work, "complaints": case.complaints, "folders": self.folders,
        }  # fmt: skip

        def told(doing: str, share: float) -> None:
            self.progress[case.id] = (doing, share)

        try:
            found: tuple[str, Any] | None = outcome(
                work, (paths, options, report_of(self.folder, case.id)), self.limit_s, self._ending, told
            )
        except Lost as lost:
            return "failed", f"the analysis {lost}; analyse it again, or hand in a shorter part of the recording"
        return found
