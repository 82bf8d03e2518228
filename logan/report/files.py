"""Writing results: a file is there whole or not at all."""

from __future__ import annotations

import os
import secrets
from collections.abc import Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from typing import Final

from logan import interrupt
from logan.errors import OutputError, UsageError

STANDARD_OUTPUT: Final = "-"


def check_writable(*paths: Path, inputs: Sequence[str | Path] = ()) -> None:
    """Refuse early what could not be written in the end, or would destroy what is read.

    Parameters
    ----------
    inputs : files that the command reads

    Raises
    ------
    OutputError : a path is a folder, its folder is absent or closed, or two outputs share a path
    """
    read = {Path(path).resolve() for path in inputs}
    seen: set[Path] = set()
    for path in paths:
        if str(path) == STANDARD_OUTPUT:
            raise OutputError(
                "stands for standard output, which this is not written to", file=str(path), do="name a file"
            )
        if path.resolve() in read:
            raise OutputError(
                "is read by this command and would be overwritten", file=str(path), do="name another file"
            )
        if path.resolve() in seen:
            raise OutputError("is named for two outputs", file=str(path), do="give each output a name of its own")
        seen.add(path.resolve())
        try:
            taken, folder, regular = path.exists(), path.is_dir(), path.is_file()
        except OSError as error:
            raise _refused(path, error) from error
        if folder:
            raise OutputError("is a folder", file=str(path), do="name a file in it")
        if taken and not regular:
            raise OutputError("is a device or pipe, not a file", file=str(path), do="name a file")
        if not path.parent.is_dir():
            raise OutputError("its folder does not exist", file=str(path), do="make the folder or name another one")
        if not os.access(path.parent, os.W_OK):
            raise OutputError("its folder may not be written to", file=str(path), do="name a folder of your own")


def on_standard_output(json: str | Path | None, quiet: bool) -> bool:
    """Whether the JSON goes to standard output: ``--json -``, together with ``--quiet``.

    Raises
    ------
    UsageError : the words for people would stand there too
    """
    if json is None or str(json) != STANDARD_OUTPUT:
        return False
    if not quiet:
        reason = "--json - goes to standard output, where the words for people stand"
        raise UsageError(reason, do="add --quiet, or name a file")
    return True


def write_text(path: Path, text: str) -> None:
    """Write a file under a temporary name beside it, then put it in place.

    Raises
    ------
    OutputError : it cannot be written; nothing half-written stays
    """
    write_all({path: text})


def write_all(outputs: Mapping[Path, str]) -> None:
    """Write several files, none of which is put in place before all are written.

    Raises
    ------
    OutputError : one cannot be written; nothing half-written stays
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for named, text in outputs.items():
            path = named.resolve()  # through a link to its target
            temporary = path.with_name(f".{secrets.token_hex(6)}.part")
            waiting.append((temporary, path))
            try:
                with temporary.open("x", encoding="utf-8", errors="replace", newline="\n") as out:
                    out.write(text)
            except OSError as error:
                raise _refused(path, error) from error
        with interrupt.waits():
            while waiting:
                temporary, path = waiting[0]
                try:
                    temporary.replace(path)
                except OSError as error:
                    raise _refused(path, error) from error
                waiting.pop(0)
            interrupt.wrote(*outputs)
    finally:
        for temporary, _ in waiting:
            with suppress(OSError):
                temporary.unlink()


def _refused(path: Path, error: OSError) -> OutputError:
    reason = (error.strerror or "cannot be written").lower()
    return OutputError(reason, file=str(path), do="name another place, or free some space")
