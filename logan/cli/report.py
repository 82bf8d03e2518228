"""``logan report``: the whole main job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logan.cli.options import Knowledge, fitted

RECENT_WORK = (
    "pump, pump_key, crank_sensor, cam_sensor, tone_wheel, timing_gears, injectors, head, lift_pump, pedal or none"
)


def report(
    captures: Annotated[list[str], typer.Argument(metavar="CAPTURE...", help="Files of one road test, in any mix.")],
    engine: Annotated[
        str | None, typer.Option(metavar="ENGINE", help="A profile that ships, or a TOML file. Default: by capture.")
    ] = None,
    dbc: Annotated[
        list[str] | None, typer.Option(metavar="FILE", help="A signal data base beside the open ones. Repeatable.")
    ] = None,
    recent_work: Annotated[
        list[str] | None, typer.Option(metavar="WORD", help=f"Fitted just before: {RECENT_WORK}. Repeatable.")
    ] = None,
    complaint: Annotated[
        list[str] | None, typer.Option(metavar="WORD", help="What the driver complains of. Repeatable.")
    ] = None,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Default: the first capture's name + .report.html.")
    ] = None,
    json: Annotated[Path | None, typer.Option(metavar="FILE", help="Also write the finding as JSON.")] = None,
    knowledge: Knowledge = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing.")] = False,
) -> None:
    """Measure a road test and rank the likely faults.

    Reads and decodes the captures, measures timing, phase, idle and pressures, and writes the report as one HTML file.
    """
    from logan.cli.progress import shown
    from logan.knowledge.folders import opened
    from logan.pipeline.analyse import analyse
    from logan.report import files, html_page, json_document, terminal

    target = html or Path(f"{Path(captures[0]).name}.report.html")
    given = [*captures, *(dbc or []), *([engine] if engine else [])]
    files.check_writable(*(path for path in (target, json) if path is not None), inputs=given)
    with shown(not quiet) as progress:
        analysis = analyse(
            captures,
            engine=engine,
            dbc_files=dbc or [],
            work=fitted(recent_work),
            complaints=complaint or [],
            folders=opened(knowledge or []),
            progress=progress,
        )
        outputs = {target: html_page.render(analysis.record, analysis.finding, analysis.known.measures)}
        if json is not None:
            outputs[json] = json_document.text(analysis.record, analysis.finding)
    files.write_all(outputs)
    if not quiet:
        typer.echo(terminal.text(analysis.record, analysis.finding))
        typer.echo(f"\nReport: {target}")
