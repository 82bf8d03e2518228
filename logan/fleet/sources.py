"""Places in (folders, patterns, addresses of object stores), logs out: the files of each drive together."""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
from collections import Counter, deque
from collections.abc import Iterable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Any, Final

import fsspec
from fsspec.utils import glob_translate

from logan.errors import UsageError

PASSED_OVER: Final = frozenset({
    ".css", ".dbc", ".doc", ".docx", ".gif", ".html", ".ini", ".ipynb", ".jpeg", ".jpg", ".js", ".json", ".md",
    ".msgpack", ".parquet", ".pdf", ".png", ".py", ".rst", ".svg", ".tmp", ".toml", ".xls", ".xlsx", ".xml", ".yaml",
    ".yml",
})  # fmt: skip
"""Endings of files in a folder or pattern that are no captures; a file that is named by itself is always taken."""
AT_ONCE: Final = 4
"""Files that are hashed at a time."""
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
    unread : why it cannot be read, empty where it can
    """

    address: str
    name: str
    identity: str
    local: bool
    unread: str = ""


@dataclass(frozen=True, slots=True)
class Log:
    """The files of one drive."""

    name: str
    files: tuple[LogFile, ...]

    @property
    def folder(self) -> str:
        """Address of the folder in which it lies."""
        return str(PurePosixPath(self.files[0].address).parent)

    @property
    def in_this_process(self) -> bool:
        """Whether a file lies in the memory of this process, where no worker can see it."""
        return any(file.address.startswith("memory://") for file in self.files)


def find(places: Sequence[str | Path]) -> tuple[list[Log], dict[str, int]]:
    """Logs in the order of their names, and how many files were passed over by ending.

    Files of one folder belong to one drive where their names are the same up to the ending (``0001.log.gz`` and
    ``0001.wav``), or where one continues the other's with a word (``0001.log`` and ``0001.edges.csv``). One that cannot
    be read is among them and says why.

    Raises
    ------
    UsageError : a place does not exist or holds no file, or its kind of address is not known
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
    # hashing lets go of the interpreter, and files of a share are waited for
    with ThreadPoolExecutor(AT_ONCE) as pool:
        files = list(pool.map(lambda url: _file(url, *found[url], top), sorted(found)))
    return _grouped(files), dict(passed)


def _files(place: str) -> Iterable[tuple[Any, str, bool]]:
    """File system, path and whether it was named by itself, for every file of a place."""
    try:
        file_system, path = fsspec.core.url_to_fs(place)
        if file_system.isfile(path):
            return [(file_system, path, True)]
        local = "file" in file_system.protocol
        if file_system.isdir(path):
            top = path.rstrip("/")
            inside = _below(top) if local else file_system.find(path)
        else:
            top = path[: _first_sign(path)].rpartition("/")[0]
            if local:
                inside = _below(top, path) if _first_sign(path) < len(path) else []
            else:
                inside = [one for one in file_system.glob(path) if file_system.isfile(one)]
    except (ImportError, ValueError) as error:
        raise UsageError(
            f"its kind of address is not known ({error})", file=place, do="install the fsspec package for it"
        ) from error
    except OSError as error:
        raise UsageError(f"cannot be reached ({error})", file=place, do="check the address and your rights") from error
    if not inside:
        raise UsageError("no such file or folder, or nothing in it", file=place, do="check the path or pattern")
    hidden = re.compile(r"(^|/)\.")
    return [(file_system, one, False) for one in inside if not hidden.search(one[len(top) :])]


def _below(top: str, pattern: str = "") -> list[str]:
    """Files of this machine in a folder, of a pattern those that fit, and folders that cannot be listed.

    Links to folders are followed once all else is listed, and no folder is entered twice.
    """
    fits = re.compile(glob_translate(pattern)) if pattern else None
    levels = pattern.count("/") if pattern and "**" not in pattern else None
    out: list[str] = []
    met: set[str] = set()
    waiting = deque([top or "/"])

    def refused(error: OSError) -> None:
        if not isinstance(error, FileNotFoundError):
            out.append(str(error.filename))

    while waiting:
        for here, folders, names in os.walk(waiting.popleft(), onerror=refused):
            real = os.path.realpath(here)
            folder = Path(here).as_posix().rstrip("/")
            if real in met or (levels is not None and folder.count("/") > levels):
                folders.clear()
                continue
            met.add(real)
            paths = [f"{folder}/{name}" for name in names]
            out += [path for path in paths if fits is None or fits.match(path)]
            waiting += [path for name in folders if Path(path := f"{folder}/{name}").is_symlink()]
    return out


def in_short(folders: Iterable[str]) -> dict[str, str]:
    """Each folder's name: the last part of its address, with as many before it as tell it from the others."""
    names: dict[str, str] = {}
    rest, count = set(folders), 0
    while rest:
        count += 1
        short = {
            folder: "/".join([part for part in PurePosixPath(folder).parts if part != "/"][-count:]) for folder in rest
        }
        met = Counter(short.values())
        names |= {folder: name for folder, name in short.items() if met[name] == 1}
        rest -= names.keys()
    return names


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
    address = path if local else url
    name = url.removeprefix(top).encode("utf-8", "replace").decode("utf-8")
    try:
        return LogFile(address, name, _digest(path) if local else str(file_system.ukey(path)), local)
    except OSError as error:
        return LogFile(address, name, url, local, (error.strerror or str(error) or "cannot be read").lower())


def _digest(path: str) -> str:
    if not stat.S_ISREG(Path(path).stat().st_mode):
        raise OSError(errno.EINVAL, "neither a file nor a folder that can be listed")
    with Path(path).open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


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
