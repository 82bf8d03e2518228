"""Pages beside a case's report, made when they are first asked for, each in a process of its own, and kept.

The plan of the next recording, for what this one left open; a case against an earlier one of the same vehicle; the
trend over all of them.
"""

from __future__ import annotations

import hashlib
import secrets
import shutil
import threading
from collections.abc import Callable, Sequence
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any, Final

from logan.errors import LoganError
from logan.knowledge.folders import Folders
from logan.pipeline import compare as comparing
from logan.pipeline import plan as planning
from logan.report import compare_page, files, plan_page
from logan.store import captures
from logan.store.database import Case
from logan.workshop.processes import Lost, end_with_parent, in_words, outcome

LIMIT_S: Final = 300.0
ONE: Final = threading.Lock()
IN_QUESTION: Final = 0.1
"""Probability from which a fault of a finding is one that the next recording should tell."""
MOST_SUSPECTS: Final = 4
LEAST_DRIVES: Final = 3
MOST_DRIVES: Final = 12
"""So many road tests, the last ones, on a page of trends."""


def plan_of(folder: Path, case_id: int) -> Path:
    """Where the plan of the next recording lies."""
    return folder / "reports" / f"{case_id}.plan.html"


def comparison_of(folder: Path, before: int, after: int) -> Path:
    """Where the comparison of two cases lies."""
    return folder / "reports" / f"{before}-{after}.compare.html"


def history_of(folder: Path, numbers: Sequence[int]) -> Path:
    """Where the trend over these cases lies."""
    line = hashlib.sha256("-".join(map(str, numbers)).encode()).hexdigest()[:16]
    return folder / "reports" / f"{numbers[-1]}.{line}.history.html"


def suspects(result: dict[str, Any]) -> list[str]:
    """Faults that the next recording should tell: those in question, else all that fit (an empty list)."""
    likely = [fault["fault"] for fault in result["faults"] if fault["probability"] >= IN_QUESTION]
    return list(dict.fromkeys(likely))[:MOST_SUSPECTS]


def write_plan(target: Path, faults: Sequence[str], engine: str | None, folders: Folders) -> None:
    """Plan the recording that tells these faults."""
    files.write_text(target, plan_page.render(planning.plan(faults, engine, folders=folders)))


def write_comparison(
    target: Path, folder: Path, drives: Sequence[tuple[str, Sequence[tuple[str, str]]]], engine: str | None,
    work: Sequence[str], folders: Folders,
) -> None:  # fmt: skip
    """Compare drives, (name, its files as hash and name) each, in order of time."""
    into = folder / "work" / f"compare_{secrets.token_hex(6)}"
    try:
        places = [_flat(folder, stored, into / name) for name, stored in drives]
        compared = comparing.compare(places, engine=engine, work=work, folders=folders)
        sides = [compare_page.Side(drive.name, drive.record, drive.finding) for drive in compared.drives]
        files.write_text(target, compare_page.render(sides, compared.comparison, compared.catalogue))
    finally:
        shutil.rmtree(into, ignore_errors=True)


def _flat(folder: Path, stored: Sequence[tuple[str, str]], into: Path) -> Path:
    """The files of one drive side by side in a folder."""
    paths = captures.lay_out(folder, list(stored), into / "parts")
    for place, path in enumerate(paths):
        target = into / path.name
        path.rename(target if not target.exists() else into / f"{place}_{path.name}")
    shutil.rmtree(into / "parts")
    return into


def made(target: Path, writer: Callable[..., None], *arguments: object) -> str:
    """Have a page made where it is not there yet; empty, or why it cannot be made."""
    with ONE:  # a page that two ask for is made once, and many that are asked for do not fill the machine
        if target.exists():
            return ""
        target.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        try:
            return str(outcome(_run, (writer, target, *arguments), LIMIT_S))
        except Lost as lost:
            return f"it {lost}"


def _run(channel: Connection, writer: Callable[..., None], *arguments: object) -> None:
    end_with_parent()
    try:
        writer(*arguments)
        channel.send("")
    except (LoganError, OSError) as error:
        channel.send(in_words(error))


def drive_name(case: Case) -> str:
    """A case as a drive of a comparison."""
    return f"case_{case.id}_{case.made[:10]}"
