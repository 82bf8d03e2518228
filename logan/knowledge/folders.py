"""Knowledge folders: what a workshop or a command adds to the built-in data files, and which of them wins.

The order is built in < the workshop's folders (environment variable ``LOGAN_KNOWLEDGE``) < ``--knowledge``; the later
one wins. A folder mirrors the built-in data: ``faults/*.toml``, ``profiles/*.toml``, the files of ``ENTRIES``, and
``*.dbc``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import Final

from logan.errors import UsageError
from logan.knowledge.locate import DATA

VARIABLE: Final = "LOGAN_KNOWLEDGE"
ENTRIES: Final = (
    "cautions.toml",
    "work.toml",
    "complaints.toml",
    "measures.toml",
    "comparison.toml",
    "plan.toml",
    "headings.toml",
)
FOLDERS: Final = ("faults", "profiles")

Folders = tuple[Path, ...]
"""Folders beside the built-in data, the later one wins."""


def opened(given: Sequence[str | Path], environment: Mapping[str, str] = os.environ) -> Folders:
    """The folders of the environment variable, then those given; each once, where it is named last.

    Raises
    ------
    UsageError : one of them is no folder, or cannot be read
    """
    named = [(VARIABLE, part) for part in environment.get(VARIABLE, "").split(os.pathsep) if part]
    named += [("--knowledge", str(part)) for part in given]
    for origin, part in named:
        if not Path(part).is_dir():
            raise UsageError(f"{origin} names no folder", file=part, do="check the path")
        try:
            with os.scandir(part):  # a folder that may not be read looks like an empty one to all that follows
                pass
        except OSError as error:
            reason = f"the folder cannot be read ({error.strerror})"
            raise UsageError(reason, file=part, do="check its rights") from error
    paths = [Path(part) for _, part in named]
    return tuple(path for k, path in enumerate(paths) if path.resolve() not in {p.resolve() for p in paths[k + 1 :]})


def files(folders: Folders, pattern: str) -> Iterator[Path]:
    """Files of a pattern in every folder, in the order in which they win."""
    for folder in folders:
        yield from sorted(folder.glob(pattern))


def origins(folders: Folders) -> list[str]:
    """What each file of the folders adds or changes, in plain words."""
    out: list[str] = []
    known: dict[Path, str] = {
        path.relative_to(DATA): "the built-in one" for path in DATA.rglob("*.toml") if path.is_file()
    }
    for folder in folders:
        for path in sorted(p for p in folder.rglob("*") if p.suffix in (".toml", ".dbc") and p.is_file()):
            place = path.relative_to(folder)
            before = known.get(place)
            out.append(f"{folder}: {place.as_posix()} {f'goes over {before}' if before else 'is new'}")
            known[place] = f"that of {folder}"
    return out


def others(folder: Path) -> Iterator[Path]:
    """Files of a folder that nobody would read."""
    for path in sorted(p for p in folder.rglob("*") if p.is_file()):
        place = path.relative_to(folder)
        hidden = any(part.startswith(".") for part in place.parts)
        known = (
            str(place) in ENTRIES
            or (len(place.parts) == 1 and path.suffix == ".dbc")
            or (len(place.parts) == 2 and place.parts[0] in FOLDERS and path.suffix == ".toml")
            or path.suffix in (".md", ".txt")
        )
        if not hidden and not known:
            yield path
