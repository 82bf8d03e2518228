"""Plainly written lines of the two commands whose start is most of their time, read without the command-line library.

That library takes as long to load as a short log to decode. Help, mistakes and whatever else is unusual are left to it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Final

from logan.cli import decoding, reporting

ONE: Final = "one"
MANY: Final = "many"
FLAG: Final = "flag"

OPTIONS: Final = {
    "decode": {"--dbc": MANY, "--engine": ONE, "--out": ONE, "--form": ONE, "--knowledge": MANY},
    "report": {
        "--engine": ONE, "--dbc": MANY, "--recent-work": MANY, "--complaint": MANY, "--html": ONE, "--json": ONE,
        "--knowledge": MANY, "--quiet": FLAG,
    },
}  # fmt: skip
"""What the library knows of them, which a test compares."""
FORMS: Final = ("long", "wide")
RUN: Final[dict[str, Callable[..., None]]] = {"decode": decoding.run, "report": reporting.run}


def command(given: Sequence[str]) -> Callable[[], None] | None:
    """What a line asks for, ready to run; None where the library is to read it."""
    known = OPTIONS.get(given[0])
    if known is None or sys.platform == "win32":  # where the library also fills in names for * and ?
        return None
    captures: list[str] = []
    options: dict[str, Any] = {}
    words = iter(given[1:])
    for word in words:
        if not word.startswith("-"):
            captures.append(word)
        elif not _take(word, words, known, options):
            return None
    if not captures or options.get("form", FORMS[0]) not in FORMS:
        return None
    return lambda: RUN[given[0]](captures, **options)


def _take(word: str, words: Iterator[str], known: dict[str, str], options: dict[str, Any]) -> bool:
    """Take one option with its value; False where it is not plainly written."""
    name, equals, value = word.partition("=")
    kind = known.get(name)
    key = name.removeprefix("--").replace("-", "_")
    if kind is None or (kind != MANY and key in options):
        return False
    if kind == FLAG:
        options[key] = True
        return not equals
    if not equals:
        value = next(words, "-")
    if kind == MANY:
        options.setdefault(key, []).append(value)
    else:
        options[key] = value
    return not value.startswith("-")
