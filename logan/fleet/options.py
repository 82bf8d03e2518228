"""How the logs are to be analysed, and the hash under which a result so made is kept."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from fnmatch import fnmatchcase
from pathlib import Path

import msgspec

from logan import __version__
from logan.errors import KnowledgeError
from logan.fleet.sources import Log


class Options(msgspec.Struct, frozen=True, kw_only=True):
    """As for one report, for all logs alike; ``engines`` names further engines by a pattern of the log's name."""

    engine: str | None = None
    engines: tuple[tuple[str, str], ...] = ()
    dbc_files: tuple[str, ...] = ()
    work: tuple[str, ...] = ()
    complaints: tuple[str, ...] = ()
    folders: tuple[str, ...] = ()
    channels: bool = False

    def engine_of(self, log: Log) -> str | None:
        """The engine of a log: of the first pattern that its name fits, else the common one."""
        return next((engine for pattern, engine in self.engines if fnmatchcase(log.name, pattern)), self.engine)


class Keys:
    """Hashes of results; what all logs share is read once.

    Raises
    ------
    KnowledgeError : a file that the options name cannot be read
    """

    def __init__(self, options: Options) -> None:
        self.options = options
        self.shared = hashlib.sha256()
        _add(self.shared, __version__, *options.work, "", *options.complaints)
        for path in _files((*options.dbc_files, *options.folders)):
            _add(self.shared, path.name, _content(path))
        self.engines: dict[str | None, bytes] = {}

    def of(self, log: Log) -> str:
        """The hash for a log: the names and contents of its files, the version, the engine and all other options."""
        engine = self.options.engine_of(log)
        if engine not in self.engines:
            given = Path(engine or "")
            self.engines[engine] = _content(given) if given.is_file() else str(engine).encode()
        digest = self.shared.copy()
        _add(digest, self.engines[engine])
        for file in log.files:
            _add(digest, Path(file.name).name, file.identity)
        return digest.hexdigest()


def _files(paths: tuple[str, ...]) -> Iterator[Path]:
    for path in map(Path, paths):
        if path.is_dir():
            yield from sorted(one for one in path.rglob("*") if one.is_file())
        else:
            yield path


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as error:
        reason = (error.strerror or "cannot be read").lower()
        raise KnowledgeError(reason, file=str(path), do="check the path") from error


def _add(digest: hashlib._Hash, *parts: str | bytes) -> None:
    for part in parts:
        data = part.encode("utf-8", "surrogateescape") if isinstance(part, str) else part
        digest.update(len(data).to_bytes(8, "little") + data)
