"""``logan compare``: did the repair work?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logan.cli.options import Knowledge
from logan.cli.recent_work import fitted
from logan.cli.report import RECENT_WORK


def compare(
    captures: Annotated[
        list[str],
        typer.Argument(
            metavar="BEFORE AFTER [MORE...]",
            help="One capture a drive, in order of time; a folder holds the files of one drive.",
        ),
    ],
    engine: Annotated[
        str | None, typer.Option(metavar="ENGINE", help="A profile that ships, or a TOML file. Default: by capture.")
    ] = None,
    dbc: Annotated[
        list[str] | None, typer.Option(metavar="FILE", help="A signal data base beside the open ones. Repeatable.")
    ] = None,
    recent_work: Annotated[
        list[str] | None,
        typer.Option(metavar="WORD", help=f"Fitted before the last drive: {RECENT_WORK}. Repeatable."),
    ] = None,
    different_vehicles: Annotated[
        bool, typer.Option("--different-vehicles", help="Compare although the VINs differ.")
    ] = False,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Default: the last capture's name + .compare.html.")
    ] = None,
    json: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Also write the comparison as JSON; - with --quiet: print it.")
    ] = None,
    knowledge: Knowledge = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing.")] = False,
) -> None:
    """Compare drives of one vehicle: what is better, worse or the same, and which faults are cleared.

    The first drive is compared with the last; three drives and more also give the trend of every measure.
    """
    from logan.cli.progress import shown
    from logan.errors import UsageError
    from logan.knowledge.folders import opened
    from logan.pipeline import compare as pipeline
    from logan.report import compare_page, compare_text, files

    if len(captures) < 2:
        raise UsageError("nothing to compare with", do="name one capture before and one after the repair")
    to_screen = files.on_standard_output(json, quiet)
    if to_screen:
        json = None
    target = html or Path(f"{Path(captures[-1]).resolve().name}.compare.html")
    given: list[str | Path] = [
        *(file for drive in captures for file in pipeline.files_of(drive)),
        *(dbc or []),
        *([engine] if engine else []),
    ]
    files.check_writable(*(path for path in (target, json) if path is not None), inputs=given)
    with shown(not quiet) as progress:
        compared = pipeline.compare(
            captures,
            engine=engine,
            dbc_files=dbc or [],
            work=fitted(recent_work),
            different_vehicles=different_vehicles,
            folders=opened(knowledge or []),
            progress=progress,
        )
        sides = [compare_page.Side(drive.name, drive.record, drive.finding) for drive in compared.drives]
        outputs = {target: compare_page.render(sides, compared.comparison, compared.catalogue)}
        document = compare_text.json_text(sides, compared.comparison) if json is not None or to_screen else ""
        if json is not None:
            outputs[json] = document
    files.write_all(outputs)
    if to_screen:
        typer.echo(document, nl=False)
    if not quiet:
        typer.echo(compare_text.terminal(compared.comparison, compared.catalogue))
        typer.echo(f"\nReport: {target}")
        if json is not None:
            typer.echo(f"JSON: {json}")
