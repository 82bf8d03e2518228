"""Every reader looks at a file's first bytes, the surest wins, a near tie is an error.

A reader is one module that declares a ``Reader``; it becomes known by its line in ``READERS``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from logan.capture import (
    can_console,
    can_library,
    can_text,
    channel_table,
    frame_table,
    kline_csv,
    pcap,
    pid_lines,
    sensor_csv,
    sensor_vcd,
    sensor_wav,
    serial_text,
)
from logan.capture.reader import Guess, Reader
from logan.capture.source import Source
from logan.capture.unknown import describe
from logan.errors import CaptureError

READERS: Final[tuple[Reader, ...]] = (
    can_text.READER,
    can_console.READER,
    *can_library.READERS,
    pcap.READER,
    frame_table.READER,
    kline_csv.READER,
    serial_text.READER,
    pid_lines.READER,
    *sensor_csv.READERS,
    sensor_vcd.READER,
    sensor_wav.READER,
    channel_table.READER,
)  # fmt: skip

_FIRST_BYTES: Final = 64
_HEADED: Final = 0.95
"""Score of a file with the header of its format."""
NEAR_TIE: Final = 0.1
"""Scores closer than this do not decide."""


def choose(source: Source) -> tuple[Reader, Guess]:
    """The reader of a file, by its content, and why; the name decides between near ties only.

    Raises
    ------
    CaptureError : no reader knows the file, or several do
    """
    if b"\0" in source.head[:_FIRST_BYTES]:  # no text: the looks at texts, which take longest, have nothing to say
        plain = [(reader, guess) for reader in can_library.BINARY if (guess := reader.looks(source)).score]
        if len(plain) == 1:
            return plain[0]
    guesses = [(reader.looks(source), reader) for reader in READERS if reader is not serial_text.READER]
    if max(guess.score for guess, _ in guesses) < _HEADED:  # a transcript takes longest to look for
        guesses.append((serial_text.READER.looks(source), serial_text.READER))
    guesses.sort(key=lambda pair: -pair[0].score)
    likely = [(guess, reader) for guess, reader in guesses if guess.score > max(0.0, guesses[0][0].score - NEAR_TIE)]
    if not likely:
        reason, do = describe(source)
        raise CaptureError(reason, file=str(source.path), do=do)
    if len(likely) == 1:
        return likely[0][1], likely[0][0]
    named = [(reader, guess) for guess, reader in likely if Path(source.name).suffix.lower() in reader.suffixes]
    if len(named) == 1:
        return named[0]
    raise CaptureError(
        "may be of several formats: " + ", or ".join(_said(guess, reader) for guess, reader in likely),
        file=str(source.path),
        do="give it the usual ending of its format",
    )


def _said(guess: Guess, reader: Reader) -> str:
    return f"{reader.format} ({guess.score:.2f}: {guess.reason})"
