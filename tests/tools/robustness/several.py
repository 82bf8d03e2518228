"""Several files as one input: the files of one drive, a table with the headings that explain it, a knowledge folder.

The files of an input stand one behind the other, ``SPLIT`` between them.
"""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import numpy as np

from logan import capture, channels
from logan.knowledge import headings
from logan.knowledge.folders import ENTRIES, origins
from logan.model.profile import EngineProfile
from logan.pipeline import analyse, knowledge_check
from logan.pipeline.gather import gather
from robustness import seeds

SPLIT: Final = b"\n====\n"
MOST_FILES: Final = 4
KNOWLEDGE: Final = (
    *ENTRIES, "faults/boost_leak.toml", "faults/own_fault.toml", "profiles/own.toml", "signals.dbc",
    "profiles/training_rail_four.toml", "notes.md", "unread.toml",
)  # fmt: skip
"""What the files of a knowledge folder are called, by the first byte of each."""
HEADINGS: Final = b"""[[heading]]
met = "Takt"
means = "time"
[[heading]]
met = "Kanal 7"
means = "fuel_rail_pressure_actual"
unit = "bar"
factor = 0.1
offset = -2.0
[[heading]]
met = "Umdr."
means = "engine_speed"
[[heading]]
met = "Geber A"
means = "crank"
"""
OWN_TABLE: Final = b"Takt;UMDR. [1/min];Kanal  7;Kanal 8\n" + b"".join(
    b"%.1f;%d;%d;1\n" % (0.5 * k, 800 + k, 3020 + k) for k in range(20)
)
OWN_LEVELS: Final = b"Takt,Geber A,cam\n" + b"".join(b"%.2f,%d,%d\n" % (0.01 * k, k % 2, k // 8 % 2) for k in range(20))


def _log(begin_s: float, first: int) -> bytes:
    """Answers to PID 0C (SAE J1979), engine speed rising."""
    return b"".join(b"(%.6f) can0 7E8#04410C%04XAAAAAA\n" % (begin_s + 0.5 * k, 4 * (first + k)) for k in range(12))


def drive_seeds() -> list[bytes]:
    """Parts of one recording, other recorders beside it or of the same, clocks of a day, of none, hours apart."""
    start = b"# start: 2023-11-14T22:13:21Z\n"
    relative, absolute = _log(0.0, 800), _log(1.7e9, 800)
    return [SPLIT.join(files) for files in (
        (relative, _log(6.5, 812)), (absolute, _log(1.7e9 + 7, 812), _log(1.7e9 + 3600, 900)),
        (relative, seeds.EDGES), (absolute, start + seeds.EDGES), (absolute, seeds.TABLE_UNIX), (absolute, seeds.TABLE),
        (seeds.TABLE_DATE, seeds.TABLE_COMMA), (seeds.SERIAL, seeds.KLINE, seeds.PID_LINES), (seeds.LOG, seeds.SAMPLES),
        (absolute, start + seeds.LEVELS, seeds.VCD),
        (absolute, _log(1.7e9 + 0.0031, 800)), (_log(31.0, 800), absolute), (seeds.TABLE, b"\n" + seeds.TABLE),
    )]  # fmt: skip


def heading_seeds() -> list[bytes]:
    """Headings, then what they explain."""
    return [HEADINGS + SPLIT + OWN_TABLE, HEADINGS + SPLIT + OWN_LEVELS, HEADINGS + SPLIT + seeds.TABLE]


def knowledge_seeds() -> list[bytes]:
    """Folders of some files, each begun by the number of its name."""

    def file(name: str, content: bytes) -> bytes:
        return bytes((KNOWLEDGE.index(name),)) + content

    def built_in(name: str, size: int) -> bytes:
        return (seeds.DATA / name).read_bytes()[:size].rpartition(b"\n\n")[0] + b"\n"

    leak = (seeds.DATA / "faults" / "boost_leak.toml").read_bytes()
    return [SPLIT.join(files) for files in (
        (file("headings.toml", HEADINGS), file("signals.dbc", seeds.DBC)),
        (file("faults/own_fault.toml", leak), file("work.toml", built_in("work.toml", 1500))),
        (file("faults/boost_leak.toml", b'title = "Boost pipe off"\n'), file("notes.md", b"ours")),
        (file("profiles/own.toml", next((seeds.DATA / "profiles").glob("*.toml")).read_bytes()),),
        (file("measures.toml", built_in("measures.toml", 1500)),),
        (file("complaints.toml", built_in("complaints.toml", 900)), file("notes.md", b"ours")),
        (file("plan.toml", built_in("plan.toml", 2000)), file("cautions.toml", built_in("cautions.toml", 900))),
        (file("comparison.toml", (seeds.DATA / "comparison.toml").read_bytes()), file("unread.toml", b"a = 1\n")),
    )]  # fmt: skip


Write = Callable[[str, bytes], Path]


def drive(write: Write) -> Callable[[bytes], bool]:
    """Read the files of one drive, put them on their clocks, and the sensors on the log's."""

    def call(data: bytes) -> bool:
        paths = [write(f"drive/{k}", part) for k, part in enumerate(data.split(SPLIT)[:MOST_FILES])]
        gathered = gather(paths)
        found, _ = channels.build(gathered.signals, EngineProfile())
        sensors, _ = analyse._on_the_log(gathered, found)
        for channel in gathered.signals:
            assert np.isfinite(channel.t_s).all(), f"a time of {channel.name} is none"
            assert (np.diff(channel.t_s) >= 0).all(), f"times of {channel.name} step back"
        assert all(one.offset_s is None or np.isfinite(one.offset_s) for one in sensors)
        return len(paths) > 1

    return call


def own_headings(write: Write) -> Callable[[bytes], bool]:
    """Load a workshop's headings and read a table with them."""

    def call(data: bytes) -> bool:
        text, _, table = data.partition(SPLIT)
        own = headings.load((write(f"headings/{headings.NAME}", text).parent,))
        capture.read(write("table.csv", table), hashed=False, headings=own)
        return True

    return call


def knowledge(folder: Path) -> Callable[[bytes], bool]:
    """Check a folder: each mistake is one of the list, none escapes; and what the folder changes can be said."""

    def call(data: bytes) -> bool:
        shutil.rmtree(folder, ignore_errors=True)
        for part in data.split(SPLIT)[:MOST_FILES]:
            path = folder / KNOWLEDGE[part[0] % len(KNOWLEDGE) if part else 0]
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(part[1:])
        found: list[Any] = knowledge_check.mistakes((folder,))
        assert all("\n" not in str(one) for one in found), "a mistake of more than one line"
        origins((folder,))
        return not found

    return call
