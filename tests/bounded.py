"""A capture read within the time and memory that its size allows."""

from __future__ import annotations

import time
import tracemalloc
from pathlib import Path

from logan import capture
from logan.errors import CaptureError
from logan.model.capture import Capture

MEMORY_FACTOR = 20
FIXED_BYTES = 64 << 20
"""Buffers of the readers, whatever the size of the file."""


def read(path: Path, content: bytes) -> Capture | CaptureError:
    """The capture or its one clear error, within the time and memory that its size allows."""
    path.write_bytes(content)
    tracemalloc.start()
    begin = time.process_time()
    out: Capture | CaptureError
    try:
        out = capture.read(path)
    except CaptureError as error:
        out = error
    used_s, peak = time.process_time() - begin, tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert isinstance(out, Capture) or "\n" not in str(out)
    assert used_s < 3.0 * max(1.0, len(content) / 65536)  # tracemalloc makes it three times as slow
    assert peak < MEMORY_FACTOR * len(content) + FIXED_BYTES
    return out
