"""``logan report``: the whole main job."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logan.cli import reporting
from logan.cli.options import Knowledge

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
    json: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Also write the finding as JSON; - with --quiet: print it.")
    ] = None,
    knowledge: Knowledge = None,
    quiet: Annotated[bool, typer.Option("--quiet", help="Print nothing.")] = False,
) -> None:
    """Measure a road test and rank the likely faults.

    Reads and decodes the captures, measures timing, phase, idle and pressures, and writes the report as one HTML file.
    """
    reporting.run(
        captures, engine, dbc or [], recent_work or [], complaint or [], html, json, knowledge or [], quiet=quiet
    )
