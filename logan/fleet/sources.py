"""Places in (folders, patterns, addresses of object stores), logs out: the files of each drive together."""

from __future__ import annotations

import hashlib
import re
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Final

import fsspec

from logan.errors import CaptureError, UsageError

PASSED_OVER: Final = frozenset({
    ".css", ".dbc", ".doc", ".docx", ".gif", ".html", ".ini", ".ipynb", ".jpeg", ".jpg", ".js", ".json", ".md",
    ".msgpack", ".parquet", ".pdf", ".png", ".py", ".rst", ".svg", ".tmp", ".toml", ".xls", ".xlsx", ".xml", ".yaml",
    ".yml",
})  # fmt: skip
"""Endings of files in a folder or pattern that are no captures; a file that is named by itself is always taken."""
_PART: Final = re.compile(r"\.[A-Za-z_]+")


@dataclass(frozen=True, slots=True)
class LogFile:
    """One file of a log.

    Parameters
    ----------
    address : absolute path of a file of this machine, else its address
    name : path under what all places have in common
    identity : SHA-256 of a file of this machine; of an object store, what it says of the object's version
    local : whether it is a file of this machine
    """

    address: str
    name: str
    identity: str
    local: bool


@dataclass(frozen=True, slots=True)
class Log:
    """The files of one drive."""

    name: str
    files: tuple[LogFile, ...]

    @property
    def folder(self) -> str:
        """Name of the folder in which it lies."""
        return PurePosixPath(self.files[0].address).parent.name

    @property
    def in_this_process(self) -> bool:
        """Whether a file lies in the memory of this process, where no worker can see it."""
        return any(file.address.startswith("memory://") for file in self.files)


def find(places: Sequence[str | Path]) -> tuple[list[Log], dict[str, int]]:
    """Logs in the order of their names, and how many files were passed over by ending.

    Files of one folder belong to one drive where their names are the same up to the ending (``0001.log.gz`` and
    ``0001.wav``), or where one continues the other's with a word (``0001.log`` and ``0001.edges.csv``).

    Raises
    ------
    UsageError : a place does not exist or holds no file, or its kind of address is not known
    CaptureError : a file cannot be read
    """
    found: dict[str, tuple[Any, str]] = {}
    passed: Counter[str] = Counter()
    for place in places:
        for file_system, path, named in _files(str(place)):
            ending = PurePosixPath(path).suffix.lower()
            if not named and ending in PASSED_OVER:
                passed[ending] += 1
            else:
                found[str(file_system.unstrip_protocol(path))] = (file_system, path)
    if not found:
        raise UsageError("no capture there", file=", ".join(map(str, places)), do="name a folder that holds captures")
    top = _common(list(found))
    files = [_file(url, *found[url], top) for url in sorted(found)]
    return _grouped(files), dict(passed)


def _files(place: str) -> Iterable[tuple[Any, str, bool]]:
    """File system, path and whether it was named by itself, for every file of a place."""
    try:
        file_system, path = fsspec.core.url_to_fs(place)
        if file_system.isfile(path):
            return [(file_system, path, True)]
        if file_system.isdir(path):
            inside = file_system.find(path)
            start = len(path.rstrip("/"))
        else:
            inside = [one for one in file_system.glob(path) if file_system.isfile(one)]
            start = len(PurePosixPath(path[: _first_sign(path)]).parent.as_posix())
    except (ImportError, ValueError) as error:
        raise UsageError(
            f"its kind of address is not known ({error})", file=place, do="install the fsspec package for it"
        ) from error
    except OSError as error:
        raise UsageError(f"cannot be reached ({error})", file=place, do="check the address and your rights") from error
    if not inside:
        raise UsageError("no such file or folder, or nothing in it", file=place, do="check the path or pattern")
    hidden = re.compile(r"(^|/)\.")
    return [(file_system, one, False) for one in inside if not hidden.search(one[start:])]


def _first_sign(pattern: str) -> int:
    return min((pattern.find(sign) for sign in "*?[" if sign in pattern), default=len(pattern))


def _common(urls: list[str]) -> str:
    """The folder that all have in common, with its slash."""
    parts = [url.split("/")[:-1] for url in urls]
    shared = []
    for level in zip(*parts, strict=False):
        if len(set(level)) > 1:
            break
        shared.append(level[0])
    return "/".join(shared) + "/" if shared else ""


def _file(url: str, file_system: Any, path: str, top: str) -> LogFile:
    local = "file" in file_system.protocol
    name = url.removeprefix(top).encode("utf-8", "replace").decode("utf-8")
    if not local:
        return LogFile(url, name, str(file_system.ukey(path)), local)
    try:
        with Path(path).open("rb") as stream:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
    except OSError as error:
        raise CaptureError((error.strerror or "cannot be read").lower(), file=path, do="check your rights") from error
    return LogFile(path, name, digest, local)


def stem(name: str) -> str:
    """A file's path without its ending, ``.gz`` not counted as one."""
    plain = name[:-3] if name.lower().endswith(".gz") else name
    path = PurePosixPath(plain)
    return str(path.with_suffix("")) if path.suffix else plain


def _grouped(files: list[LogFile]) -> list[Log]:
    stems = {stem(file.name) for file in files}
    drives: dict[str, list[LogFile]] = {}
    for file in files:
        name = stem(file.name)
        while (end := _PART.search(name, name.rfind(".") if "." in name else len(name))) and end.end() == len(name):
            if name[: end.start()] not in stems:
                break
            name = name[: end.start()]
        drives.setdefault(name, []).append(file)
    return [Log(name, tuple(members)) for name, members in sorted(drives.items())]
