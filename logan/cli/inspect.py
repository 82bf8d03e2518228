"""``logan inspect``: what a capture holds."""

from __future__ import annotations

from typing import Annotated

import typer

from logan.cli.options import Knowledge


def inspect(
    captures: Annotated[list[str], typer.Argument(metavar="CAPTURE...", help="Files to look into.")],
    dbc: Annotated[
        list[str] | None, typer.Option(metavar="FILE", help="A signal data base beside the open ones. Repeatable.")
    ] = None,
    knowledge: Knowledge = None,
) -> None:
    """Show what a capture holds.

    Format, buses, identifiers and rates, control modules, services and quality.
    """
    from logan.knowledge.folders import opened
    from logan.pipeline.overview import overview_lines

    for line in overview_lines(captures, dbc or [], opened(knowledge or [])):
        typer.echo(line)
