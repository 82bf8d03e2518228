"""One log analysed: runs in a worker or in this process, and gives a row whatever happens."""

from __future__ import annotations

import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import fsspec
import msgspec

from logan import __version__
from logan.errors import LoganError
from logan.fleet.channel_table import channel_table
from logan.fleet.sources import Log
from logan.knowledge.folders import opened
from logan.model.capture import Remark
from logan.model.finding import RankedFault
from logan.model.fleet import FleetFault, FleetLog, FleetRemark, Trouble
from logan.model.measure import Provenance
from logan.pipeline.analyse import Analysis, analyse
from logan.report.json_document import clean
from logan.report.text import plain_number


@dataclass(frozen=True, slots=True)
class Task:
    """A log with all that its analysis needs; ``channels`` asks for its channels too."""

    log: Log
    key: str
    engine: str | None = None
    dbc_files: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    complaints: tuple[str, ...] = ()
    folders: tuple[str, ...] = ()
    channels: bool = False
    version: str = __version__


@dataclass(frozen=True, slots=True)
class Outcome:
    """The row, and the channels as the bytes of a Parquet file where they were asked for."""

    row: FleetLog
    channels: bytes | None = None


Work = Callable[[Task], Outcome]


class _NotReachedError(Exception):
    """Nothing to do with the log: this worker cannot work on it as it was meant."""


def analyse_log(task: Task) -> Outcome:
    """Analyse one log; an error becomes its row."""
    began = time.perf_counter()
    try:
        with tempfile.TemporaryDirectory(prefix="logan-fleet-") as folder:
            paths = _at_hand(task, Path(folder))
            try:
                outcome = _analysed(task, paths)
            except LoganError as error:
                _still_there(task)
                outcome = Outcome(failed(task, _named(str(error), task, paths), "capture"))
    except _NotReachedError as error:
        outcome = Outcome(failed(task, str(error), "not_reached"))
    except Exception as error:
        outcome = Outcome(failed(task, f"a defect of logan: {type(error).__name__}: {error}", "defect"))
    row = msgspec.structs.replace(outcome.row, seconds=time.perf_counter() - began)
    return Outcome(row, outcome.channels)


def failed(task: Task, error: str, trouble: Trouble) -> FleetLog:
    """The row of a log without a result."""
    text = " ".join(error.encode("utf-8", "replace").decode("utf-8").split())
    files = [file.name for file in task.log.files]  # what the error calls them; a copy has names of its own
    return FleetLog(key=task.key, files=files, error=text, trouble=trouble, logan_version=task.version)


def _at_hand(task: Task, folder: Path) -> list[Path]:
    """The files on this machine: those of an object store are copied under their own names."""
    if task.version != __version__:
        raise _NotReachedError(f"this worker runs logan {__version__} and not {task.version}; install the same there")
    paths = []
    for file in task.log.files:
        if file.unread:
            raise _NotReachedError(f"{file.name}: {file.unread}")
        if file.local:
            path = Path(file.address)
            if not path.is_file():
                raise _NotReachedError(f"{file.name}: this worker does not see it; share the folder with all workers")
        else:
            path = folder / Path(file.name).name
            try:
                with fsspec.open(file.address, "rb") as remote, path.open("wb") as copy:
                    while block := remote.read(1 << 22):
                        copy.write(block)
            except (OSError, ImportError, ValueError) as error:
                raise _NotReachedError(f"{file.name}: cannot be fetched ({error})") from error
        paths.append(path)
    return paths


def _still_there(task: Task) -> None:
    """A file that is gone says nothing about what it held."""
    for file in task.log.files:
        if file.local and not Path(file.address).is_file():
            raise _NotReachedError(f"{file.name}: it vanished while the fleet was analysed")


def _named(text: str, task: Task, paths: list[Path]) -> str:
    """An error with the files under the names that the user knows."""
    for file, path in zip(task.log.files, paths, strict=True):
        text = text.replace(str(path), file.name)
    return text


def _analysed(task: Task, paths: list[Path]) -> Outcome:
    found = analyse(
        paths,
        engine=task.engine,
        dbc_files=task.dbc_files,
        work=task.work,
        complaints=task.complaints,
        folders=opened(task.folders, {}),
    )
    row = _row(task, found)
    for file, digest in zip(task.log.files, row.content, strict=True):
        if file.local and digest != file.identity:
            raise _NotReachedError(f"{file.name}: it changed while the fleet was analysed; run again")
    return Outcome(row, channel_table(task.key, found.record.channels) if task.channels else None)


def _row(task: Task, found: Analysis) -> FleetLog:
    record, ranking = found.record, found.finding.ranking
    starts = [capture.start for capture in record.captures if capture.start is not None]
    row = FleetLog(
        key=task.key,
        content=[capture.sha256 for capture in record.captures],
        vehicle=record.vehicle.vin,
        vehicle_from="vin" if record.vehicle.vin else "",
        start=min(starts, default=None),
        duration_s=max((c.duration_s for c in record.captures if c.duration_s is not None), default=None),
        engine=record.profile.name,
        engine_source=record.profile_source if task.engine is None else task.engine,
        profile=msgspec.json.encode(record.profile).decode("utf-8"),
        measures=[msgspec.structs.replace(m, provenance=Provenance()) for m in found.finding.measures],
        missing=found.finding.missing,
        verdict=ranking.verdict,
        sentence=ranking.sentence,
        faults=[_fault(fault) for fault in sorted(ranking.faults, key=lambda f: -f.probability)],
        not_explained=ranking.not_explained,
        blind=sorted(ranking.blind),
        codes=[f"{code.code} {code.status}" for code in record.vehicle.codes],
        frames=sum(capture.frames for capture in record.captures),
        rejected=sum(capture.rejected for capture in record.captures),
        remarks=[_remark(remark) for remark in record.remarks],
        logan_version=task.version,
    )
    # Here and not where it is kept: what cannot be written is a bad row and not the end of the run.
    return msgspec.msgpack.decode(msgspec.msgpack.encode(row, enc_hook=plain_number), type=FleetLog)


def _fault(fault: RankedFault) -> FleetFault:
    return FleetFault(
        fault=fault.fault, title=fault.title, probability=float(fault.probability), cylinder=fault.cylinder
    )


def _remark(remark: Remark) -> FleetRemark:
    return FleetRemark(kind=remark.kind, text=clean(remark.text), count=int(remark.count), file=clean(remark.file))
