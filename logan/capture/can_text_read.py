"""CAN text log, ``(seconds.fraction) channel ID#DATA``.

Long files are read by a compiled loop where there is one; what it leaves, and any other file, goes through its twin in
numpy.
"""

from __future__ import annotations

from typing import Final

from logan.capture import can_text_loop
from logan.capture.can_columns import CanColumns
from logan.capture.can_sorter import CanSorter
from logan.capture.can_text_block import Block
from logan.capture.can_text_layout import Layout
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.native import kernels

_USUAL_LINE_BYTES: Final = 46
_SHORT_LINE_BYTES: Final = 20


def read(source: Source) -> Parsed:
    """All frames of a CAN text log; lines that hold none are counted with their number and the reason."""
    expected, tally = _expected(source), Tally()
    layouts: list[Layout] = []
    metadata: dict[str, str] = {}
    if kernels.pays(source.path.stat().st_size // _USUAL_LINE_BYTES):
        columns = CanColumns(expected, CanSorter(expected))
        can_text_loop.read(source, columns, layouts, tally, metadata)
    else:
        columns = CanColumns(expected)
        for buffer, size, line in source.line_blocks():
            Block.whole(buffer, size, columns).finish(line, layouts, tally, metadata)
    frames = columns.frames(tally)
    rejected = tally.total("bad_line") + columns.rows - len(frames)
    return Parsed(frames, len(frames), rejected, tally.remarks(), metadata)


def _expected(source: Source) -> int:
    """About how many frames the file has, going by its beginning; never out of proportion to its size."""
    lines = source.head.count(b"\n") * 1.02 / max(len(source.head), 1)
    return 1 + int(source.path.stat().st_size * min(lines, 1 / _SHORT_LINE_BYTES))
