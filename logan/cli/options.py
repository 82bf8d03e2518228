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


def fitted(words: list[str] | None) -> list[str]:
    """The words of recent work.

    Raises
    ------
    UsageError : "none" stands beside something that was fitted
    """
    from logan.errors import UsageError

    others = [word for word in words or [] if word != "none"]
    if others and "none" in (words or []):
        raise UsageError(
            f"--recent-work: none was fitted, and {', '.join(dict.fromkeys(others))} was",
            do="give none alone, or only what was fitted",
        )
    return words or []
