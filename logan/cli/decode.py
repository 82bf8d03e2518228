"""``logan decode``: every channel of a capture as columns."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from logan.cli.options import Knowledge


class Form(StrEnum):
    """Shape of the table written with ``--out``."""

    long = "long"
    wide = "wide"


def decode(
    captures: Annotated[list[str], typer.Argument(metavar="CAPTURE...", help="Files of one road test.")],
    dbc: Annotated[
        list[str] | None, typer.Option(metavar="FILE", help="A signal data base beside the open ones. Repeatable.")
    ] = None,
    engine: Annotated[
        str | None, typer.Option(metavar="ENGINE", help="Profile that names signals to channels.")
    ] = None,
    out: Annotated[
        Path | None, typer.Option(metavar="TABLE", help="Write the values: a .csv or .parquet file.")
    ] = None,
    form: Annotated[
        Form, typer.Option(help="long: one row a value. wide: one row a time, one column a channel.")
    ] = Form.long,
    knowledge: Knowledge = None,
) -> None:
    """Decode every channel to columns.

    Prints one line a channel: unit, count, rate, lowest, median, highest; with --out it writes the values.
    """
    from logan.cli.progress import shown
    from logan.knowledge.folders import opened
    from logan.pipeline.decode import cylinders, decode_channels, summary_lines

    if out is not None:
        from logan.report import files, tables

        tables.check_kind(out)
        files.check_writable(out, inputs=[*captures, *(dbc or []), *([engine] if engine else [])])
    folders = opened(knowledge or [])
    with shown(True) as progress:
        channels = decode_channels(captures, dbc or [], engine, progress, folders)
        if out is not None:
            tables.write(channels, out, wide=form is Form.wide)
    for line in summary_lines(channels, cylinders(engine, folders)):
        typer.echo(line)
    if out is not None:
        typer.echo(f"\nTable: {out}")
