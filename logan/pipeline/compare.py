"""Several drives of one vehicle in, each analysed like a report, and their comparison out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from logan import comparison
from logan.comparison import Drive
from logan.errors import CaptureError
from logan.knowledge.folders import Folders
from logan.knowledge.measures import MeasureInfo
from logan.model.comparison import Comparison
from logan.pipeline.analyse import analyse
from logan.pipeline.progress import Progress, silent


@dataclass(frozen=True, slots=True)
class Compared:
    """The drives in the order given, what came of comparing them, and the words of the measures."""

    drives: tuple[Drive, ...]
    comparison: Comparison
    catalogue: dict[str, MeasureInfo]


def files_of(drive: str | Path) -> list[Path]:
    """The capture files of one drive: the file itself, or all files of a folder in the order of their names.

    Raises
    ------
    CaptureError : a folder without files, or one that cannot be read
    """
    path = Path(drive)
    if not path.is_dir():
        return [path]
    try:
        inside = sorted(file for file in path.iterdir() if file.is_file() and not file.name.startswith("."))
    except OSError as error:
        reason = f"the folder cannot be read ({error.strerror})"
        raise CaptureError(reason, file=str(path), do="check its rights") from error
    if not inside:
        raise CaptureError("is a folder without files", file=str(path), do="put the files of one drive in it")
    return inside


def compare(
    captures: Sequence[str | Path],
    *,
    engine: str | None = None,
    dbc_files: Sequence[str | Path] = (),
    work: Sequence[str] = (),
    different_vehicles: bool = False,
    folders: Folders = (),
    progress: Progress = silent,
) -> Compared:
    """Analyse each capture and compare the first with the last, and where there are more, the trend over all.

    Parameters
    ----------
    captures : one a drive, in order of time; a folder counts as the files of one drive
    work : what was fitted just before the last drive
    engine, dbc_files, folders : as for ``analyse``, the same for all drives

    Raises
    ------
    LoganError : wrong usage, an unreadable capture, a wrong data file, or different vehicles
    """
    drives = []
    for k, capture in enumerate(captures):

        def share(doing: str, done: float, k: int = k) -> None:
            progress(doing, (k + done) / len(captures))

        last = k == len(captures) - 1
        found = analyse(
            files_of(capture),
            engine=engine,
            dbc_files=dbc_files,
            work=work if last else (),
            folders=folders,
            progress=share,
        )
        drives.append(Drive(Path(capture).name, found.record, found.finding))
    return Compared(tuple(drives), comparison.compare(drives, work, different_vehicles, folders), found.known.measures)
