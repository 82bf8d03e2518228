"""Reading through python-can, with what it passes over in silence made visible.

python-can gives one message at a time, so it costs some microseconds a frame; where a file or a line is ordinary, it is
read by whole columns instead. python-can drops its options for gzip files: unpacking is ours.
"""

from __future__ import annotations

import gc
import logging
import sqlite3
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path
from typing import Final, cast

import can
from can.io.blf import BLFParseError
from can.io.generic import MessageReader

from logan.capture import (
    blf_columns,
    can_library,
    can_library_messages,
    can_library_text,
    mdf_channels,
    mdf_columns,
    mdf_guard,
    sqlite_columns,
)
from logan.capture.blf_guard import GuardedBLFReader
from logan.capture.can_columns import CanColumns
from logan.capture.can_library_text import said
from logan.capture.mdf_reader import MF4Reader
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.capture.sqlite_reader import SqliteReader
from logan.capture.whole_file import as_file
from logan.errors import CaptureError
from logan.model.capture import PLACES_KEPT

logging.getLogger("can").addHandler(logging.NullHandler())  # its warnings are no lines for standard error
logging.getLogger("asammdf").addFilter(lambda _: False)  # it brings a handler of its own; its errors are raised too
_KINDS: Final[dict[str, Callable[..., MessageReader]]] = {
    ".blf": GuardedBLFReader, ".db": SqliteReader, ".mf4": MF4Reader,
}  # fmt: skip


def read(source: Source) -> Parsed:
    """All frames of a file that python-can reads; the measured channels of an MDF that holds no frames.

    Raises
    ------
    CaptureError : the library that the form needs is not installed, or nothing of the file can be read
    """
    suffix = can_library.suffix_of(source)
    if suffix in can_library_text.KINDS:
        try:
            columns, tally = can_library_text.read(source.content(), suffix)
        except CaptureError as error:
            error.file = error.file or str(source.path)
            raise
    else:
        columns, tally = _binary(source, suffix)
    frames = columns.frames(tally)
    if suffix == ".mf4" and not len(frames) and (measured := _measured(source, tally)) is not None:
        return measured
    if frames.absolute and suffix in (".asc", ".trc"):
        tally.add("time_zone", "start time without a time zone: taken as UTC", "header")
    damage = next((remark.text for remark in tally.remarks() if remark.kind == "damaged"), None)
    if damage and not len(frames):
        reason = f"holds no frame that can be read: {damage}"
        raise CaptureError(reason, file=str(source.path), do="copy it again from the recorder")
    rejected = tally.total("bad_line") + tally.total("lost_object") + columns.rows - len(frames)
    return Parsed(frames, len(frames), rejected, tally.remarks())


def _binary(source: Source, suffix: str) -> tuple[CanColumns, Tally]:
    """All frames of a binary form, and what was wrong."""
    tally, given = Tally(), source.path.stat().st_size
    if suffix == ".blf" and (ordinary := blf_columns.columns(source.content(), given)) is not None:
        columns, promised = ordinary
        _fewer(columns.rows, promised, tally)
        return columns, tally
    with as_file(source, suffix) as path:
        if suffix == ".db" and not sqlite_columns.is_stored(path):
            reason = "computes its frames instead of holding them (a view, or columns made from others)"
            raise CaptureError(reason, file=str(source.path), do="export them as a plain table named messages")
        if suffix == ".mf4":
            mdf_guard.check(path, str(source.path), given)
        if suffix == ".db" and (rows := sqlite_columns.columns(path)) is not None:
            return rows, tally
        if suffix == ".mf4" and (frames := _mdf(path, str(source.path), tally)) is not None:
            return frames, tally
    with as_file(source, suffix, copied=suffix == ".db") as path:  # python-can opens a data base to write, too
        return can_library_messages.columns(_from_binary(path, suffix, str(source.path), tally, given), tally), tally


def _measured(source: Source, tally: Tally) -> Parsed | None:
    """The measured channels of an MDF without frames, None where it has none either."""
    with as_file(source, ".mf4") as path:
        reader = cast("can.MF4Reader", _open(MF4Reader, str(path), str(source.path)))
        try:
            table, rows = mdf_channels.read(reader, tally)
        except Exception as error:  # the library under it may raise anything on a damaged file
            tally.add("damaged", f"its channels cannot be read ({said(error)})", "channels")
            return None
        finally:
            with suppress(OSError, AttributeError):
                reader.stop()
    return Parsed(table, rows, 0, tally.remarks(), variant="measured channels") if table.channels else None


def _mdf(path: Path, file: str, tally: Tally) -> CanColumns | None:
    """All frames of an MDF by whole columns, where it is ordinary; measured channels beside them are counted."""
    reader = cast("can.MF4Reader", _open(MF4Reader, str(path), file))
    try:
        frames = mdf_columns.columns(reader)
        if beside := mdf_channels.beside_frames(reader):
            text = "measured channels beside the frames of the bus, not read: save them as a file of their own"
            tally.add("channels_not_read", text, ", ".join(beside[:PLACES_KEPT]), len(beside))
        return frames
    except Exception:  # the library under it may raise anything on a damaged file: it comes again where it is counted
        return None
    finally:
        with suppress(OSError, AttributeError):
            reader.stop()


def _open(kind: Callable[[str], MessageReader], path: str, file: str) -> MessageReader:
    """A reader of python-can, or one clear error."""
    try:
        return kind(path)
    except NotImplementedError as error:
        raise CaptureError(
            "ASAM MDF needs the library asammdf, which is not installed", file=file,
            do="in the project's folder: pip install '.[mf4]'",
        ) from error  # fmt: skip
    except Exception as error:  # the library under it may raise anything on a damaged file
        reason = f"cannot be opened ({said(error)})"
        _let_go(error)
        raise CaptureError(reason, file=file, do="copy it again from the recorder") from None


def _let_go(error: Exception) -> None:
    """Free what a failed opening left half-made: asammdf's own end of it fails and would write to standard error."""
    told, sys.unraisablehook = sys.unraisablehook, lambda _: None
    try:
        error.with_traceback(None)
        error.__context__ = error.__cause__ = None
        gc.collect()
    finally:
        sys.unraisablehook = told


def _until_damage(reader: MessageReader, tally: Tally) -> Iterator[can.Message]:
    """All messages up to the place where a binary file is damaged."""
    count = 0
    try:
        for message in reader:
            count += 1
            yield message
    except Exception as error:  # the library under it may raise anything on a damaged file
        why = str(error) if isinstance(error, BLFParseError) else said(error)
        tally.add("damaged", f"damaged from here on ({why})", f"after frame {count}")
    finally:
        try:
            reader.stop()
        except (OSError, sqlite3.Error, AttributeError) as error:
            tally.add("damaged", f"could not be closed ({said(error)})", f"after frame {count}")


def _from_binary(path: Path, suffix: str, file: str, tally: Tally, given: int = 0) -> Iterator[can.Message]:
    """All messages of a binary form; what a BLF header promises beyond them is counted."""
    reader = _open(_KINDS[suffix], str(path), file)
    if isinstance(reader, GuardedBLFReader):
        reader.given = given
    most = sqlite_columns.most_rows(path) if suffix == ".db" else None
    count = 0
    for message in _until_damage(reader, tally):
        count += 1
        if most is not None and count > most:
            tally.add("damaged", "holds more frames than fit into its size: its pages lead back to each other", "table")
            return
        yield message
    if isinstance(reader, can.BLFReader):
        size = path.stat().st_size
        if size < reader.file_size:
            tally.add("damaged", f"cut short: {size} of {reader.file_size} bytes", f"after frame {count}")
        _fewer(count, reader.object_count, tally)


def _fewer(count: int, promised: int, tally: Tally) -> None:
    """Count the objects that a BLF header promises beyond the frames; where the file is damaged they went with that."""
    if count < promised and tally.total("damaged"):
        text = "objects lost with the damage (some may have been no CAN frames)"
        tally.add("lost_object", text, f"{count} of {promised} objects were read", promised - count)
    elif count < promised:
        text = "objects that are no CAN frames, or lost"
        tally.add("not_a_frame", text, f"{count} of {promised} objects", promised - count)
