"""``logan fleet``: many logs analysed at once, and what they say together."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logan.cli.options import Knowledge
from logan.cli.recent_work import fitted
from logan.cli.report import RECENT_WORK

if TYPE_CHECKING:
    from logan.pipeline.progress import Progress

app = typer.Typer(
    help="Thousands of logs: analysed on all cores or machines, and judged together.", rich_markup_mode=None
)
PLAIN_EVERY_S = 10.0


@app.command()
def run(
    places: Annotated[
        list[str],
        typer.Argument(metavar="PLACE...", help="Folders, patterns (*, **), files, or addresses of object stores."),
    ],
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="For the results; the same one goes on where it was.")],
    engine: Annotated[
        str | None, typer.Option(metavar="ENGINE", help="Profile of all logs. Default: by capture.")
    ] = None,
    engine_for: Annotated[
        list[str] | None,
        typer.Option(metavar="PATTERN=ENGINE", help="Profile of the logs whose name fits. Repeatable."),
    ] = None,
    dbc: Annotated[
        list[str] | None, typer.Option(metavar="FILE", help="A signal data base beside the open ones. Repeatable.")
    ] = None,
    recent_work: Annotated[
        list[str] | None, typer.Option(metavar="WORD", help=f"Fitted just before all of them: {RECENT_WORK}.")
    ] = None,
    knowledge: Knowledge = None,
    workers: Annotated[
        int | None, typer.Option(metavar="N", min=1, help="Processes on this machine. Default: one a core.")
    ] = None,
    scheduler: Annotated[
        str | None, typer.Option(metavar="ADDRESS", help="A Dask scheduler that runs already (tcp://...).")
    ] = None,
    in_process: Annotated[bool, typer.Option("--in-process", help="No cluster: one log after the other.")] = False,
    channels: Annotated[bool, typer.Option("--channels", help="Keep every decoded channel too.")] = False,
    folder_is_vehicle: Annotated[
        bool, typer.Option("--folder-is-vehicle", help="A log's folder names its vehicle where it holds no VIN.")
    ] = False,
    retry_errors: Annotated[bool, typer.Option("--retry-errors", help="Take up logs that failed before.")] = False,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing.")] = False,
) -> None:
    """Analyse many logs, and write the fleet report.

    Each log is one task; a log that cannot be read is a row with its error. Stop it at any time: the same command goes
    on where it was. Exit status 0 where every log has a row. Needs the libraries of the extra 'fleet'.
    """
    _needs_group()
    from logan import interrupt
    from logan.errors import UsageError
    from logan.fleet import run as runs
    from logan.fleet import sources
    from logan.fleet.options import Options
    from logan.knowledge import profiles
    from logan.knowledge.folders import opened

    if scheduler is not None and (in_process or workers is not None):
        raise UsageError("a scheduler that runs has its own workers", do="leave out --workers and --in-process")
    engines = tuple(_pair(text) for text in engine_for or [])
    folders = opened(knowledge or [])
    for named in (engine, *(named for _, named in engines)):
        if named is not None:
            profiles.load(named, folders)
    options = Options(
        engine=_absolute(engine),
        engines=tuple((pattern, str(_absolute(named))) for pattern, named in engines),
        dbc_files=tuple(str(Path(file).absolute()) for file in dbc or []),
        work=tuple(fitted(recent_work)),
        folders=tuple(str(folder.absolute()) for folder in folders),
        channels=channels,
    )
    logs, passed = sources.find(places)
    todo = runs.plan(logs, options, out, retry_errors)
    if not quiet:
        typer.echo(_opening(len(logs), passed, len(todo.kept)))
    interrupt.leaves(f"what is done is kept in {out}, the same command goes on where it was")
    with _progress(not quiet) as progress:
        if in_process or not todo.tasks:
            rows = runs.run(todo, folder_is_vehicle=folder_is_vehicle, progress=progress)
        else:
            from logan.fleet import cluster

            with cluster.connected(scheduler, workers) as client:
                rows = runs.run(todo, lambda tasks: cluster.outcomes(client, tasks), folder_is_vehicle, progress)
    from logan.fleet.assess import assess

    _write(assess(rows, folders), out, knowledge, quiet)


@app.command()
def report(
    folder: Annotated[Path, typer.Argument(metavar="FOLDER", help="Results of logan fleet run.")],
    knowledge: Knowledge = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing.")] = False,
) -> None:
    """Write the fleet report again from the results, without reading a log.

    Vehicles by urgency, drift over visits, comparison with the same engine, logs without a result. Needs the libraries
    of the extra 'fleet'.
    """
    _needs_group()
    from logan.fleet import table
    from logan.fleet.assess import assess
    from logan.knowledge.folders import opened

    _write(assess(table.read(folder), opened(knowledge or [])), folder, knowledge, quiet)


def _write(fleet: object, folder: Path, knowledge: list[str] | None, quiet: bool) -> None:
    from typing import cast

    from logan.knowledge import measures
    from logan.knowledge.folders import opened
    from logan.model.fleet import Fleet
    from logan.report import files, fleet_page, fleet_text

    judged = cast("Fleet", fleet)
    page = folder / "fleet.html"
    catalogue = measures.load(opened(knowledge or []))
    files.write_all({page: fleet_page.render(judged, catalogue), folder / "fleet.json": fleet_text.json_text(judged)})
    if not quiet:
        typer.echo(fleet_text.terminal(judged))
        typer.echo(f"\nReport: {page}")


def _needs_group() -> None:
    """Dask and fsspec are asked for only where a fleet is."""
    from importlib.util import find_spec

    from logan.errors import UsageError

    absent = [name for name in ("dask", "distributed", "fsspec") if find_spec(name) is None]
    if absent:
        raise UsageError(f"fleet needs {', '.join(absent)}", do="in the project's folder: pip install '.[fleet]'")


def _pair(text: str) -> tuple[str, str]:
    from logan.errors import UsageError

    pattern, sign, named = text.rpartition("=")
    if not (pattern and sign and named):
        raise UsageError(
            f"--engine-for {text} is no pattern and engine", do="write it like --engine-for 'vans/*=ENGINE'"
        )
    return pattern, named


def _absolute(engine: str | None) -> str | None:
    """The path of a profile's file as workers see it; a name stays a name."""
    return str(Path(engine).absolute()) if engine is not None and Path(engine).is_file() else engine


def _opening(logs: int, passed: dict[str, int], kept: int) -> str:
    words = f"{logs} log{'s' if logs != 1 else ''}"
    if kept:
        words += f", {kept} of them done already"
    if passed:
        listed = ", ".join(f"{count} {ending}" for ending, count in sorted(passed.items()))
        words += f"; passed over as no captures: {listed}"
    return words


@contextmanager
def _progress(wanted: bool) -> Iterator[Progress]:
    """A bar where a person is there; else a line every ten seconds."""
    from logan.pipeline.progress import silent

    if not wanted:
        yield silent
        return
    if sys.stderr.isatty():
        from rich.console import Console
        from rich.progress import BarColumn, TextColumn, TimeRemainingColumn
        from rich.progress import Progress as Bar

        columns = (BarColumn(), TextColumn("{task.description}"), TimeRemainingColumn())
        with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
            only = bar.add_task("", total=1.0)
            yield lambda doing, share: bar.update(only, description=doing, completed=share)
        return
    last = time.monotonic()

    def line(doing: str, share: float) -> None:
        nonlocal last
        if share >= 1.0 or time.monotonic() - last >= PLAIN_EVERY_S:
            last = time.monotonic()
            typer.echo(doing, err=True)

    yield line
