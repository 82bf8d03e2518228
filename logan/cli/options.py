"""Options that several commands share."""

from __future__ import annotations

from typing import Annotated

import typer

Knowledge = Annotated[
    list[str] | None,
    typer.Option(
        metavar="FOLDER",
        help="A folder of your own faults, profiles, texts and .dbc files, over the built-in ones. Repeatable. "
        "The environment variable LOGAN_KNOWLEDGE names the workshop's.",
    ),
]
