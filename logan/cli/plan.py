"""``logan plan``: what to record, and how to drive, so that these faults can be told."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logan.cli.options import Knowledge


def plan(
    suspect: Annotated[
        list[str] | None, typer.Option(metavar="FAULT", help="A fault to be told; may be given again. None: all.")
    ] = None,
    engine: Annotated[str | None, typer.Option(metavar="ENGINE", help="A profile that ships, or a TOML file.")] = None,
    interface: Annotated[str, typer.Option(metavar="KIND", help="serial or can.")] = "serial",
    requests_per_second: Annotated[
        float | None, typer.Option(metavar="RATE", help="Requests a second that the interface reaches.")
    ] = None,
    html: Annotated[Path | None, typer.Option(metavar="FILE", help="Write a page with the road-test card.")] = None,
    json: Annotated[Path | None, typer.Option(metavar="FILE", help="Write the plan for a machine.")] = None,
    knowledge: Knowledge = None,
) -> None:
    """Plan a recording: signals, how often to ask, hook-ups, the drive, and the smallest error it would show."""
    import msgspec

    from logan.knowledge.folders import opened
    from logan.pipeline import plan as planning
    from logan.report import files, plan_page, plan_text

    outputs = [path for path in (html, json) if path is not None]
    files.check_writable(*outputs, inputs=[engine] if engine else [])
    made = planning.plan(suspect or [], engine, interface, requests_per_second, opened(knowledge or []))
    written = {}
    if html is not None:
        written[html] = plan_page.render(made)
    if json is not None:
        written[json] = msgspec.json.format(msgspec.json.encode(made)).decode() + "\n"
    if written:
        files.write_all(written)
    typer.echo(plan_text.text(made))
