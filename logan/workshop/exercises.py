"""Exercises made ready: a record with a known truth becomes pages that show it part by part, without its verdict."""

from __future__ import annotations

import queue
import shutil
import threading
from collections.abc import Sequence
from dataclasses import replace
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

import msgspec
from sqlalchemy.exc import SQLAlchemyError

from logan import simulate
from logan.errors import LoganError
from logan.knowledge import training
from logan.knowledge.folders import Folders
from logan.knowledge.measures import MeasureInfo
from logan.model.capture import VINS_DIFFER
from logan.model.finding import Finding
from logan.model.record import Record
from logan.pipeline.analyse import analyse
from logan.report import files, html_page, json_document, moments
from logan.simulate.samples import samples
from logan.store import captures, cases, lessons
from logan.store.database import Sessions
from logan.store.persist import AGAIN_S, persist
from logan.workshop.processes import Lost, end_with_parent, in_words, outcome

LIMIT_S: Final = 900.0
WHOLE: Final = "report"
"""The page with the verdict, for after the answer."""


def page_of(folder: Path, exercise_id: int, view: str) -> Path:
    """Where a view of an exercise lies."""
    return folder / "training" / str(exercise_id) / f"{view}.html"


def tape_of(folder: Path, exercise_id: int) -> Path:
    """Where the channels of an exercise lie, to be played."""
    return folder / "training" / str(exercise_id) / "replay.npz"


def recordings(source: dict[str, Any], into: Path) -> tuple[list[Path], str | None]:
    """Simulate what a source says, under names that give nothing away: the files and the engine.

    Raises
    ------
    LoganError : it cannot be simulated
    """
    spec = samples()[source["canned"]] if "canned" in source else simulate.make_spec(**source["made"])
    written = simulate.write(simulate.run(spec), into, "road_test")
    return [path for path in written if not path.name.endswith(".truth.json")], spec.profile


def unnamed(record: Record) -> Record:
    """A record without what tells whose vehicle it is."""
    said = msgspec.structs.replace(record.vehicle, vin=None, vins={}, calibration_ids=[], cvns=[], ecu_names={})
    return replace(record, vehicle=said, remarks=tuple(r for r in record.remarks if r.kind != VINS_DIFFER))


def pages(record: Record, finding: Finding, catalogue: dict[str, MeasureInfo], title: str) -> dict[str, str]:
    """A page for each view that the record can fill, and the whole report: HTML by view."""
    hidden = msgspec.structs.replace(finding.ranking, faults=[], blind={}, hints={}, sentence="", together=None)
    document = html_page.build(record, msgspec.structs.replace(finding, ranking=hidden), catalogue)
    out = {}
    for view in training.load().view:
        shown = tuple(section for section in document.sections if section.id in view.sections)
        if shown:
            out[view.id] = html_page.page(
                replace(document, title=title, lead=view.title, summary=None, sections=shown, brand="Exercise")
            )
    out[WHOLE] = html_page.page(html_page.build(record, finding, catalogue))
    return out


def prepare(
    channel: Connection, folder: Path, exercise_id: int, title: str, source: dict[str, Any],
    stored: Sequence[tuple[str, str]], options: dict[str, Any],
) -> None:  # fmt: skip
    """One exercise, in a process of its own: its pages go to their place, what came of it through ``channel``."""
    end_with_parent()
    laid_out = page_of(folder, exercise_id, "").parent / "work"
    try:
        if "case" in source:
            plain = [(sha256, "road_test" + "".join(Path(name).suffixes[-2:])) for sha256, name in stored]
            paths, engine = captures.lay_out(folder, plain, laid_out), options.pop("engine")
        else:
            paths, engine = recordings(source, laid_out)
        found = analyse(paths, engine=engine, **options)
        record = unnamed(found.record)
        made = pages(record, found.finding, found.known.measures, title)
        for view, text in made.items():
            files.write_text(page_of(folder, exercise_id, view), text)
        tape_of(folder, exercise_id).write_bytes(moments.packed(moments.tape(record)))
        views = [view for view in made if view != WHOLE]
        channel.send((views, json_document.build(record, found.finding), ""))
    except (LoganError, OSError) as error:
        channel.send(([], None, in_words(error, laid_out, folder)))
    finally:
        shutil.rmtree(laid_out, ignore_errors=True)


class Preparer:
    """One thread that makes exercises ready, one at a time, each in a process of its own."""

    def __init__(self, sessions: Sessions, folder: Path, limit_s: float = LIMIT_S, folders: Folders = ()) -> None:
        self.sessions, self.folder, self.limit_s, self.folders = sessions, folder, limit_s, folders
        self._waiting: queue.Queue[int | None] = queue.Queue()
        self._ending = threading.Event()
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> None:
        """Take up again what was interrupted, and begin."""
        for one in reversed(lessons.exercises(self.sessions, "waiting")):
            self.add(one.id)
        self._thread.start()

    def add(self, exercise_id: int) -> None:
        """An exercise waits."""
        self._waiting.put(exercise_id)

    def stop(self) -> None:
        """End; what is being made ready waits for the next start."""
        self._ending.set()
        self._waiting.put(None)
        self._thread.join()

    def _run(self) -> None:
        while (number := self._waiting.get()) is not None and not self._ending.is_set():
            self._prepare(number)

    def _prepare(self, number: int) -> None:
        try:
            made = self._watched(number)
        except SQLAlchemyError:  # the data base is locked or away, or worse: the last one in turn, a little later
            self._ending.wait(AGAIN_S)
            return self.add(number)
        except Exception as error:  # one exercise must not keep the others from being made ready
            made = [], None, in_words(error, self.folder)
        if made is not None:
            persist(
                lambda: lessons.prepared(self.sessions, number, *made), self._ending,
                lambda error: lessons.prepared(self.sessions, number, [], None, in_words(error, self.folder)),
            )  # fmt: skip
        return None

    def _watched(self, number: int) -> tuple[list[str], dict[str, Any] | None, str] | None:
        """What came of a preparation; None where the program ends before it."""
        exercise = lessons.exercise(self.sessions, number)
        if exercise is None:
            return None
        stored: list[tuple[str, str]] = []
        options: dict[str, Any] = {"folders": self.folders}
        if "case" in exercise.source:
            case = cases.get(self.sessions, exercise.source["case"])
            if case is None:
                return [], None, "the case is not there"
            stored = [(file.sha256, file.name) for file in case.files]
            options |= {"engine": case.engine, "work": case.work, "complaints": case.complaints}
        page_of(self.folder, number, "").parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        title = f"Exercise {number}"  # the one that its trainer gave may change
        arguments = (self.folder, number, title, exercise.source, stored, options)
        try:
            found: tuple[list[str], dict[str, Any] | None, str] | None = outcome(
                prepare, arguments, self.limit_s, self._ending
            )
        except Lost as lost:
            return [], None, f"it {lost}"
        return found
