"""``logan decode``: every channel of a capture as columns."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from logan.cli import decoding
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
        Form, typer.Option(metavar="FORM", help="long: one row a value. wide: one row a time, one column a channel.")
    ] = Form.long,
    knowledge: Knowledge = None,
) -> None:
    """Decode every channel to columns.

    Prints one line a channel: unit, count, rate, lowest, median, highest; with --out it writes the values.
    """
    decoding.run(captures, dbc or [], engine, out, form, knowledge or [])
