"""``logan explain``: what a fault is, how it shows, how it is told apart, what to check."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from logan.cli.options import Knowledge


def explain(
    fault: Annotated[str | None, typer.Argument(metavar="FAULT", help="Its name. Without it all are listed.")] = None,
    engine: Annotated[
        str | None, typer.Option(metavar="ENGINE", help="A profile that ships, or a TOML file: values for that engine.")
    ] = None,
    html: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write a page with pictures that the simulator draws.")
    ] = None,
    knowledge: Knowledge = None,
) -> None:
    """Explain a fault before it is met.

    What it is, what it does to the signals, how it is told from its neighbours, and the checks in the trade's order.
    """
    from logan.knowledge.folders import opened
    from logan.pipeline import explain as explaining

    folders = opened(knowledge or [])
    if fault is None:
        rows = explaining.listed(folders)
        width = max(len(name) for name, _ in rows)
        for name, title in rows:
            typer.echo(f"{name:<{width}}  {title}")
        return
    explanation = explaining.explain(fault, engine, folders)
    if html is not None:
        from logan.cli.progress import shown
        from logan.knowledge import measures
        from logan.report import explain_page, files

        files.check_writable(html, inputs=[engine] if engine else [])
        with shown(True) as progress:
            explanation = explaining.with_drives(explanation, engine, folders, progress)
            page = explain_page.render(explanation, measures.load(folders))
        files.write_all({html: page})
    from logan.report import explain_text

    typer.echo(explain_text.text(explanation))
    if html is not None:
        typer.echo(f"\nPage: {html}")
