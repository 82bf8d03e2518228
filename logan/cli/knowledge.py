"""``logan knowledge check``: whether the data files are right."""

from __future__ import annotations

from typing import Annotated

import typer

app = typer.Typer(help="The data files: faults, engine profiles, texts, signal data bases.", rich_markup_mode=None)


@app.callback()
def _group() -> None:
    """Keep ``check`` a command of its own name."""


@app.command()
def check(
    folders: Annotated[
        list[str] | None,
        typer.Argument(metavar="FOLDER...", help="Folders of your own, the later one wins. None: LOGAN_KNOWLEDGE."),
    ] = None,
) -> int:
    """Check data files: every mistake with its file, line, what is wrong and what to do.

    Checks the built-in files and the folders over them, and lists what each folder adds or changes. Exit status 2
    where something is wrong.
    """
    from logan.knowledge.folders import opened, origins
    from logan.pipeline.knowledge_check import mistakes

    paths = opened(folders or [])
    found = mistakes(paths)
    for line in origins(paths):
        typer.echo(line)
    for folder in paths:
        if not origins((folder,)):
            typer.echo(f"{folder}: holds no data file, nothing was added to the built-in ones")
    for error in found:
        typer.echo(str(error), err=True)
    if found:
        typer.echo(f"{len(found)} mistake{'s' if len(found) > 1 else ''}")
        return 2
    typer.echo("nothing wrong was found")
    return 0
