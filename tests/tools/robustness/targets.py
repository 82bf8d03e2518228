"""What is called with an input: every reader, transport, decoder and loader of knowledge, each alone."""

from __future__ import annotations

import gzip
import importlib
import struct
import tempfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from pathlib import Path

import numpy as np

from logan import capture
from logan.capture import all_readers, can_library, can_library_text, j1850_frames, kline_frames
from logan.capture.reader import Reader
from logan.capture.source import Source
from logan.decode import broadcast, dbc, j1939, j1979, uds
from logan.dsp import sync, wheel
from logan.errors import LoganError
from logan.knowledge import comparison, faults, measures, plan, profiles, texts
from logan.knowledge.locate import dbc_open
from logan.knowledge.obd import PIDS_DBC
from logan.model.frames import ERROR, EXTENDED, FD, FD_WIDTH, REMOTE, Frames, Messages
from logan.pipeline.analyse import analyse
from logan.transport import isotp, j1939_tp
from robustness import seeds, several, twins

RECORD = struct.Struct("<BIB8s")
"""A frame of an input: ms since the one before, identifier with flag bits as SocketCAN has them, length, data."""


@dataclass(frozen=True, slots=True)
class Target:
    """What an input is handed to.

    Parameters
    ----------
    seeds : samples from which inputs are mutated
    call : takes the bytes; returns whether they were taken (False: refused before reading)
    fixed_bytes : memory that it takes whatever it is handed, beyond the buffers that all have
    """

    seeds: Sequence[bytes]
    call: Callable[[bytes], bool]
    fixed_bytes: int = 0


class _Scratch:
    """A file in memory that each input is written to."""

    def __init__(self) -> None:
        shm = Path("/dev/shm")
        self._folder = tempfile.TemporaryDirectory(dir=shm if shm.is_dir() else None)

    @property
    def folder(self) -> Path:
        return Path(self._folder.name)

    def write(self, name: str, content: bytes) -> Path:
        path = self.folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
        return path


def frames(data: bytes) -> Frames:
    """An input as frames of one bus."""
    count = len(data) // RECORD.size
    raw = np.frombuffer(
        data[: count * RECORD.size], np.dtype([("dt", "u1"), ("id", "<u4"), ("n", "u1"), ("data", "8u1")])
    )
    word = raw["id"]
    extended, remote, error = word >> 31 & 1 == 1, word >> 30 & 1 == 1, word >> 29 & 1 == 1
    long = (raw["n"] > 8) & ~remote & ~error
    length = np.where(long, np.minimum(raw["n"], FD_WIDTH), np.minimum(raw["n"], 8)).astype(np.uint8)
    inside = np.arange(8) < length[:, None]
    short = np.where(inside, raw["data"], 0).astype(np.uint8)
    rows = np.flatnonzero(long)
    wide = np.where(np.arange(FD_WIDTH) < length[rows, None], np.tile(raw["data"][rows], 8), 0).astype(np.uint8)
    return Frames(
        t_s=np.cumsum(raw["dt"]) / 1e3,
        can_id=np.where(extended, word & 0x1FFFFFFF, word & 0x7FF).astype(np.uint32),
        flags=(extended * EXTENDED | long * FD | remote * REMOTE | error * ERROR).astype(np.uint8),
        bus=np.zeros(count, np.uint8), length=length, data=short, fd_row=rows, fd_data=wide,
    )  # fmt: skip


_SPEAKERS = (0x7E0, 0x7E8, 0x7DF, 0x7E9, 0x18DA10F1, 0x18DAF110, 0x18DB33F1, 0x6E0)


def payloads(data: bytes) -> Messages:
    """An input as diagnostic messages: who speaks, length, bytes, again and again."""
    said: list[tuple[int, bytes]] = []
    at = 0
    while at + 2 <= len(data):
        size = data[at + 1]
        said.append((_SPEAKERS[data[at] % len(_SPEAKERS)], data[at + 2 : at + 2 + size]))
        at += 2 + size
    length = np.array([len(body) for _, body in said], np.int32)
    source = np.array([who for who, _ in said], np.uint32)
    t_s = 0.05 * np.arange(len(said))
    return Messages(
        t_s=t_s, t_first_s=t_s, source=source, address=np.full(len(said), -1, np.int16), extended=source > 0x7FF,
        bus=np.zeros(len(said), np.uint8), start=(np.cumsum(length) - length).astype(np.int64), length=length,
        blob=np.frombuffer(b"".join(body for _, body in said), np.uint8),
    )  # fmt: skip


def _reads(reader: Reader, scratch: _Scratch) -> Callable[[bytes], bool]:
    module = importlib.import_module(reader.module)
    name = f"input{reader.suffixes[0] if reader.suffixes else ''}"

    def call(data: bytes) -> bool:
        source = Source(scratch.write(name, data))
        if not reader.looks(source).score:
            return False
        module.read(source)
        return True

    return call


def _words(scratch: _Scratch) -> Callable[[bytes], bool]:
    """Which of the entries of a knowledge folder an input is: the one whose table it names first."""
    loads = {
        "caution": ("cautions.toml", texts.cautions), "word": ("work.toml", texts.work),
        "measure": ("measures.toml", measures.load),
        "condition": ("comparison.toml", comparison.load), "interface": ("plan.toml", plan.load),
    }  # fmt: skip

    def call(data: bytes) -> bool:
        known = {key: data.find(f"[{key}".encode()) for key in loads}
        key = min(loads, key=lambda k: known[k] if known[k] >= 0 else len(data))
        name, load = loads[key]
        path = scratch.write(f"{key}/{name}", data)
        load((path.parent,))
        return True

    return call


def _sensor_seeds() -> list[bytes]:
    """Steps between crank edges in us, of three wheels."""
    out = []
    for teeth, missing in ((60, 2), (36, 1), (24, 0)):
        steps = np.full(6 * (teeth - missing), 60e6 / 800 / teeth)
        if missing:
            steps[teeth - missing - 1 :: teeth - missing] *= 1 + missing
        out.append(steps.astype("<u2").tobytes())
    return out


def _sensor(data: bytes) -> bool:
    """Edges on a 60-2 wheel and their place in the cycle."""
    t_s = np.cumsum(np.frombuffer(data[: len(data) // 2 * 2], "<u2").astype(np.float64) / 1e6)
    teeth_deg = 6.0 * np.arange(58)
    sync.synchronise(wheel.decode(t_s, teeth_deg), t_s[::25], np.array([54.0, 174.0, 294.0, 414.0, 534.0, 654.0]))
    return True


def all_targets() -> dict[str, Target]:
    """Every target by name."""
    scratch = _Scratch()
    formats = seeds.of_formats()
    plans = dbc.load([path for path in sorted(dbc_open().glob("*.dbc")) if path.name != PIDS_DBC])[0]
    out = {reader.format: Target(formats[reader.format], _reads(reader, scratch)) for reader in all_readers.READERS}
    every = [seed for group in formats.values() for seed in group]

    def recognise(data: bytes) -> bool:
        capture.read(scratch.write("input", data))
        return True

    def gz(data: bytes) -> bool:
        capture.read(scratch.write("input.gz", data))
        return True

    def isotp_(data: bytes) -> bool:
        isotp.reassemble(frames(data))
        return True

    def isotp_twice(data: bytes) -> bool:
        twins.messages(frames(data))
        return True

    def j1939_(data: bytes) -> bool:
        content = frames(data)
        long, _ = j1939_tp.reassemble(content)
        j1939.decode(content, long, "input")
        return True

    def broadcast_(data: bytes) -> bool:
        broadcast.decode(frames(data), plans, "input")
        return True

    def broadcast_twice(data: bytes) -> bool:
        twins.signals(frames(data), plans)
        return True

    def services(data: bytes) -> bool:
        said = payloads(data)
        j1979.decode(said, "input")
        uds.decode(said, "input")
        return True

    def kline(data: bytes) -> bool:
        list(kline_frames.messages(data))
        return True

    def j1850(data: bytes) -> bool:
        list(j1850_frames.messages(data))
        return True

    def signals(data: bytes) -> bool:
        found = dbc._parse(data, Path("input.dbc"))
        bus = frames(seeds.of_frames()[2] + struct.pack("<BIB8s", 1, 291, 8, b"\x11\x22\x33\x44\x55\x66\x77\x88"))
        broadcast.decode(bus, found.messages, "input")
        return True

    def profile(data: bytes) -> bool:
        profiles.read(scratch.write("profile.toml", data))
        return True

    def fault(data: bytes) -> bool:
        path = scratch.write("knowledge/faults/crank_signal_dropout.toml", data)
        faults.load(folders=(path.parents[1],))
        return True

    def report(data: bytes) -> bool:
        analyse([scratch.write("input", data)])
        return True

    knowledge = seeds.of_knowledge()
    out |= {
        "any file": Target(every, recognise),
        "gzip": Target([gzip.compress(seed, mtime=0) for seed in every], gz),
        "frames to ISO 15765-2": Target(seeds.of_frames(), isotp_),
        "frames to J1939": Target(seeds.of_frames(), j1939_),
        "frames to broadcast signals": Target(seeds.of_frames(), broadcast_),
        "payloads to services": Target(seeds.of_payloads(), services),
        "K-line bytes": Target([seeds.KLINE_BYTES], kline),
        "J1850 bytes": Target([bytes.fromhex("686AF1010017486B10410CCE00A1")], j1850),
        "DBC": Target([seeds.DBC], signals),
        "profile TOML": Target(knowledge["profile TOML"], profile),
        "fault TOML": Target(knowledge["fault TOML"], fault),
        "words TOML": Target(knowledge["words TOML"], _words(scratch)),
        "crank edges to teeth": Target(_sensor_seeds(), _sensor),
        "whole report": Target([seeds.LOG, seeds.EDGES, seeds.TABLE, seeds.SERIAL, seeds.KLINE], report),
        "a drive of several files": Target(several.drive_seeds(), several.drive(scratch.write)),
        "headings TOML and a table": Target(several.heading_seeds(), several.own_headings(scratch.write)),
        "knowledge folder": Target(several.knowledge_seeds(), several.knowledge(scratch.folder / "own")),
        "twins: CAN text log": Target(formats["CAN text log"], twins.can_text),
        "twins: frames to ISO 15765-2": Target(seeds.of_frames(), isotp_twice),
        "twins: broadcast signals": Target(seeds.of_frames(), broadcast_twice),
    }  # fmt: skip
    if all(find_spec(name) for name in ("fastapi", "argon2", "sqlalchemy", "python_multipart")):
        shop = importlib.import_module("robustness.shop")
        out["form of an upload"] = Target(shop.FORMS, shop.parts(scratch.folder / "parts"))
        out["pages of the workshop"] = Target(shop.REQUESTS, shop.Pages(scratch.folder / "shop"), shop.HASHING_BYTES)
    for reader in all_readers.READERS:
        if reader.module == can_library._MODULE:
            suffix = reader.suffixes[0]
            is_text = suffix in can_library_text.KINDS
            call = twins.lines(suffix) if is_text else twins.binary(suffix, scratch.write)
            out[f"twins: {reader.format}"] = Target(formats[reader.format], call)
    return out


REFUSED = (LoganError,)
"""The one clear line that the command prints."""
