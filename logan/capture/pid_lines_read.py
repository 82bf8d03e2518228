"""Reads lines of time, parameter and data as answers of service 01."""

from __future__ import annotations

from typing import Final

import numpy as np

from logan.capture import clock, payloads, start_time
from logan.capture.can_text_plain import LATEST_S
from logan.capture.payloads import Said
from logan.capture.pid_lines import LINE, fits
from logan.capture.reader import Parsed, Tally
from logan.capture.source import Source
from logan.model.frames import Payloads

_ENGINE: Final = 0x7E8
"""Nothing says which module answered: the engine's is written (ISO 15765-4)."""
_ANSWER: Final = b"\x41"
_JITTER_NS: Final = 0  # one recorder wrote one line after the other


def read(source: Source) -> Parsed:
    """The lines as answers, in order of time; other lines are counted and located."""
    tally = Tally()
    metadata: dict[str, str] = {}
    times: list[int] = []
    said: list[bytes] = []
    for number, line in enumerate(source.content().decode("utf-8", "replace").splitlines(), 1):
        if line.lstrip().startswith("#"):
            key, colon, value = line.strip().lstrip("# \t").partition(":")
            if colon:
                metadata.setdefault(key.strip(), value.strip())
            continue
        match = LINE.fullmatch(line)
        data = bytes.fromhex(match["hex"]) if match else b""
        if match and int(match["s"]) > LATEST_S:
            tally.add("bad_line", "time stamp out of range", f"line {number}")
        elif match and fits(data):
            times.append(int(match["s"]) * 10**9 + int((match["frac"] or "0").ljust(9, "0")))
            said.append(_ANSWER + data)
        elif match:
            tally.add("bad_line", "parameter that is unknown or has another number of bytes", f"line {number}")
        elif any(map(str.isalnum, line)):
            tally.add("bad_line", "no time, colon and parameter with data", f"line {number}")
    t_ns = np.array(times, np.int64)
    rows = clock.settle(t_ns, tally, _JITTER_NS)
    kept = range(len(said)) if rows is None else rows.tolist()
    answers = [Said(int(t_ns[k]), int(t_ns[k]), _ENGINE, False, said[k]) for k in kept]
    origin_ns = start_time.origin_ns(metadata, tally) or 0
    rejected = tally.total("bad_line") + len(said) - len(answers)
    content = Payloads(payloads.messages(answers, 0), origin_ns, bool(origin_ns))
    return Parsed(content, len(answers), rejected, tally.remarks(), metadata)
