"""A long CAN text log by the compiled loop, by two threads.

Each takes a block of lines and reads it. What depends on what came before is done for one block at a time, in their
order: lines that the loop left, the numbers of lines, and where frames are to go; they go there side by side again.
"""

from __future__ import annotations

import itertools
import threading
from collections import deque
from collections.abc import Callable
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan import parallel
from logan.capture import can_text_layout
from logan.capture.can_columns import CanBlock, CanColumns, Columns, room_for
from logan.capture.can_text_block import Block, Rows
from logan.capture.can_text_layout import Layout
from logan.capture.can_text_plain import LATEST_S
from logan.capture.reader import Tally
from logan.capture.source import BLOCK_BYTES, HEAD_BYTES, Source
from logan.native import kernels

_BUFFERS: Final = 4
_LEAST_BYTES: Final = 1 << 18
_MOST_BYTES: Final = 1 << 21
"""The system gives large pages for buffers of twice that, which saves the loop a tenth of its time."""


def read(source: Source, columns: CanColumns, layouts: list[Layout], tally: Tally, metadata: dict[str, str]) -> None:
    """Read all blocks of a file; see ``Block.finish``."""
    _learn(source, layouts)
    block_bytes = min(_MOST_BYTES, max(_LEAST_BYTES, source.path.stat().st_size // 64))
    blocks = source.blocks(block_bytes, _BUFFERS)
    tasks = itertools.cycle([Task(columns, 2 * max(block_bytes, BLOCK_BYTES)) for _ in range(_BUFFERS)])
    tables = can_text_layout.tables((), columns.bus)
    waiting: deque[tuple[Task, bool]] = deque()
    taking, finishing = threading.Lock(), threading.Lock()
    line = 1

    def finish_first() -> Callable[[], None]:
        nonlocal line
        task, is_piece = waiting.popleft()
        block = task.block()
        task.last = block.finish(line, layouts, tally, metadata)
        line += 0 if is_piece else len(block.stop)
        return task.last

    def work(_: int) -> None:
        nonlocal tables
        found = True
        while found:
            finished = []
            with finishing:
                # each thread fills a buffer next, and none that still waits may be among them
                while waiting and (waiting[0][0].done.is_set() or len(waiting) > _BUFFERS - 2):
                    finished.append(finish_first())
                if len(layouts) > len(tables.size):
                    tables = can_text_layout.tables(layouts, columns.bus)
            for put in finished:  # before a block is taken: one that is begun and never read would be waited for
                put()
            with taking:
                given, task = tables, next(tasks)
                buffer, size, is_piece = next(blocks, (None, 0, False))
                found = buffer is not None
                if found:
                    task.done.clear()
                    waiting.append((task, is_piece))
            if buffer is not None:
                task.read(buffer, size, given)

    parallel.each(work, range(2))
    while waiting:
        finish_first()()


def _learn(source: Source, layouts: list[Layout]) -> None:
    """Learn the layouts of the first lines: the blocks that are begun before one is known are read the slow way."""
    for buffer, size, is_piece in itertools.islice(source.blocks(HEAD_BYTES), 1):
        if not is_piece:
            Block.whole(buffer, size, CanColumns()).finish(1, layouts, Tally(), {})


class Task:
    """Reads one block after the other, always in the same room.

    Parameters
    ----------
    most : bytes that a block may have
    """

    def __init__(self, columns: CanColumns, most: int) -> None:
        self.columns = columns
        self.done = threading.Event()
        self.last: Callable[[], None] = lambda: None
        self._ends: Rows = np.empty(most + 2, np.int64)
        self._rows: Columns = room_for(0)
        self._block: Block | None = None

    def read(self, buffer: NDArray[np.uint8], size: int, layouts: kernels.Layouts) -> None:
        """Read the lines of some layouts by the compiled loop."""
        self._block = None
        try:
            self.last()
            stop = kernels.line_ends(buffer, size, self._ends)
            if len(self._rows["t_ns"]) < len(stop):
                self._rows = room_for(len(stop) + len(stop) // 8)
            out = CanBlock(len(stop), {name: column[: len(stop)] for name, column in self._rows.items()})
            left = kernels.can_text(buffer, size, stop, layouts, LATEST_S * 10**9, out.rows())
            self._block = Block(buffer, stop, self.columns, out, left)
        finally:
            self.done.set()

    def block(self) -> Block:
        """What it read, once it is done."""
        self.done.wait()
        if self._block is None:
            raise RuntimeError("the block before could not be read")
        return self._block
