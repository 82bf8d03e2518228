"""Other programs' readings of service 01 answers: scapy, the obd library, tshark. For tests only."""

from __future__ import annotations

import subprocess
from collections.abc import Sequence
from pathlib import Path

from can_text import write_log
from isotp_frames import segment
from obd import commands
from obd.protocols.protocol import Message
from scapy.contrib.automotive.obd.obd import OBD
from scapy.fields import BitField, FlagsField
from scapy.packet import Raw

ISOTP_OBD = ["-d", "can.subdissector,iso15765", "-d", "iso15765.subdissector,obd-ii"]

Bits = tuple[int, int]


def by_scapy(pid: int, data: bytes) -> dict[Bits, float]:
    """Values by (first bit, length), the first bit of byte A being 0; empty where scapy has only raw bytes."""
    parameter = OBD(bytes([0x41, pid]) + data).data_records[0].payload
    out: dict[Bits, float] = {}
    if isinstance(parameter, Raw):
        return out
    at = 0
    for field in parameter.fields_desc:
        bits = int(field.size if isinstance(field, BitField) else 8 * field.sz)
        value = parameter.getfieldval(field.name)
        if isinstance(field, FlagsField):
            out |= {(at + k, 1): float(int(value) >> (bits - 1 - k) & 1) for k in range(bits)}
        elif isinstance(value, int | float):
            out[at, bits] = float(value)
        at += bits
    return out


def obd_message(payload: bytes) -> Message:
    """A whole answer as the obd library's decoders take it."""
    message = Message([])
    message.data = bytearray(payload)
    return message


def by_obd(pid: int, data: bytes) -> float | None:
    """The one number that the obd library gives for a PID, None where it gives none or something else."""
    if not commands.has_pid(1, pid):
        return None
    value = commands[1][pid].decode([obd_message(bytes([0x41, pid]) + data)])
    magnitude = getattr(value, "magnitude", None)
    return None if magnitude is None else float(magnitude)


def by_tshark(answers: Sequence[tuple[int, bytes]], folder: Path) -> list[dict[str, float]]:
    """Fields of tshark's dissector for answers that fit one frame each; without PID and sensor numbers."""
    log = folder / "answers.log"
    write_log(log, [(k / 100, 0x7E8, segment(bytes([0x41, p]) + d)[0]) for k, (p, d) in enumerate(answers)])
    return tshark_fields(log)


def tshark_fields(log: Path, *options: str) -> list[dict[str, float]]:
    """Numbers that tshark reads in each frame of a candump file, by field of its dissector."""
    listed = subprocess.run(["tshark", "-G", "fields"], capture_output=True, text=True, check=True).stdout
    names = [line.split("\t")[2] for line in listed.splitlines() if "\tobd-ii.mode01_" in line]
    names = [name for name in names if not name.endswith(("_pid", "_sensor_id"))]
    wanted = [part for name in names for part in ("-e", name)]
    command = ["tshark", "-r", str(log), *ISOTP_OBD, *options, "-T", "fields", "-E", "separator=;", *wanted]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    short = [name.removeprefix("obd-ii.mode01_") for name in names]
    rows = [zip(short, line.split(";"), strict=True) for line in text.splitlines()]
    return [{name: _number(cell) for name, cell in row if cell} for row in rows]


def _number(cell: str) -> float:
    return float(int(cell, 16)) if cell.startswith("0x") else float(cell)
