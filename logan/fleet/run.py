"""The whole run: what is done already is kept, the rest is analysed, and the rows become a data set."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import msgspec

from logan.errors import UsageError
from logan.fleet import in_process, table
from logan.fleet.options import Keys, Options
from logan.fleet.sources import Log, in_short
from logan.fleet.store import Store
from logan.fleet.task import Outcome, Task
from logan.knowledge import measures
from logan.knowledge.folders import opened
from logan.model.fleet import FleetLog
from logan.pipeline.progress import Progress, silent

Engine = Callable[[Sequence[Task]], Iterator[tuple[Task, Outcome]]]


@dataclass(frozen=True, slots=True)
class Plan:
    """What there is to do: ``tasks`` still, ``kept`` already, by hash, and each log with its hash."""

    store: Store
    options: Options
    logs: list[tuple[Log, str]]
    tasks: list[Task]
    kept: dict[str, FleetLog]


def plan(logs: Sequence[Log], options: Options, out: Path, again: bool = False) -> Plan:
    """Look up what is done already; ``again`` takes up logs whose row is an error.

    Raises
    ------
    KnowledgeError : a file of the options cannot be read
    """
    store, keys = Store(out), Keys(options)
    kept: dict[str, FleetLog] = {}
    tasks: dict[str, Task] = {}
    pairs = [(log, keys.of(log)) for log in logs]
    for log, key in pairs:
        if key in kept or key in tasks:
            continue
        row = store.load(key, options.channels)
        if row is not None and not (again and row.error):
            kept[key] = row
        else:
            tasks[key] = Task(
                log, key, options.engine_of(log), options.dbc_files, options.work, options.complaints,
                options.folders, options.channels,
            )  # fmt: skip
    return Plan(store, options, pairs, list(tasks.values()), kept)


def run(
    todo: Plan,
    engine: Engine = in_process.outcomes,
    folder_is_vehicle: bool = False,
    progress: Progress = silent,
) -> list[FleetLog]:
    """Analyse what is still to do, keep each result as it comes, and write the data set.

    Parameters
    ----------
    engine : gives each task with its outcome, in any order
    folder_is_vehicle : the folder of a log names its vehicle where no VIN was recorded in it

    Raises
    ------
    UsageError : a log lies in the memory of this process and the work is done elsewhere
    LoganError : the cluster is lost or the disk refuses; what is done stays
    """
    if engine is not in_process.outcomes and any(task.log.in_this_process for task in todo.tasks):
        raise UsageError("memory:// is seen by this process alone", do="add --in-process")
    todo.store.make()
    rows = dict(todo.kept)
    bad = sum(1 for row in rows.values() if row.error)
    total = len(todo.kept) + len(todo.tasks)
    noun = "log" if total == 1 else "logs"
    progress(f"{len(rows)} of {total} {noun}", len(rows) / max(total, 1))
    for task, outcome in engine(todo.tasks):
        todo.store.save(outcome)
        rows[task.key] = outcome.row
        bad += outcome.row.error is not None
        words = f"{len(rows)} of {total} {noun}" + (f", {bad} bad" if bad else "")
        progress(words, len(rows) / total)
    out = _named(todo.logs, rows, folder_is_vehicle)
    folders = opened(todo.options.folders, {})
    table.write(out, measures.load(folders), todo.store)
    return out


def _named(logs: Sequence[tuple[Log, str]], rows: dict[str, FleetLog], folder_is_vehicle: bool) -> list[FleetLog]:
    """A row a log under its own name; of logs with the same files all but the first are copies.

    Where folders are vehicles and the logs of one hold one VIN, those without are of that vehicle, too.
    """
    first: dict[tuple[str, ...], str] = {}
    vins: dict[str, set[str]] = {}
    for log, key in logs:
        if rows[key].vehicle is not None:
            vins.setdefault(log.folder, set()).add(rows[key].vehicle or "")
    names = in_short({log.folder for log, _ in logs})
    out = []
    for log, key in logs:
        row = rows[key]
        content = tuple(sorted(row.content or [file.identity for file in log.files]))
        original = first.setdefault(content, log.name)
        files = [file.name for file in log.files]
        row = msgspec.structs.replace(
            row,
            log=log.name,
            files=files,
            error=None if row.error is None else _about(row.error, dict(zip(row.files, files, strict=False))),
            copy_of=None if original == log.name else original,
        )
        if folder_is_vehicle:
            row = msgspec.structs.replace(row, folder=names[log.folder])
        if folder_is_vehicle and row.vehicle is None and row.error is None:
            vin = vins.get(log.folder, set())
            named = min(vin) if len(vin) == 1 else names[log.folder]
            row = msgspec.structs.replace(row, vehicle=named, vehicle_from="folder")
        out.append(row)
    return out


def _about(error: str, names: dict[str, str]) -> str:
    """An error that was met at a copy, with the names of this log's own files."""
    if all(met == own for met, own in names.items()):
        return error
    longest_first = sorted(names, key=len, reverse=True)
    pattern = rf"(?<![\w/.-])(?:{'|'.join(map(re.escape, longest_first))})(?![\w/-])"
    return re.sub(pattern, lambda met: names[met[0]], error)
