"""Service 01, PID by PID: scapy, the obd library and tshark say what each signal is; the fact table says the rest.

scapy and tshark both follow one public article, so where they agree they count once; the obd library is independent of
them. From PID 84 up no library decodes anything: there the fact table alone is the witness, with the sources that it
names. All known disagreements stand in ``DISAGREEMENTS``; one that is not listed fails, and so does one that is gone.
"""

from __future__ import annotations

import csv
import random
from collections import Counter, defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import cantools
import numpy as np
import pytest
from conftest import needs_program
from j1979_messages import messages
from j1979_oracles import by_obd, by_scapy, by_tshark, obd_message
from obd import commands
from tools import make_obd_dbc

from logan.decode import j1979
from logan.decode.j1979_values import load_plans
from logan.knowledge import obd
from logan.knowledge.locate import dbc_open

DATA = Path(__file__).parent / "data" / "obd"
PLANS = load_plans()
VALUE_KINDS = ("numeric", "enum", "flag")


class Disagreement(NamedTuple):
    """One oracle against the fact table, with an answer that shows it."""

    oracle: str
    pids: tuple[int, ...]
    signal: str
    data: str
    says: float | None
    ours: float
    why: str


WIDE_O2 = tuple(range(0x24, 0x2C))
PUMPED_O2 = tuple(range(0x34, 0x3C))
DISAGREEMENTS = [
    Disagreement("scapy", (0x10,), "mass_air_flow", "20D0", None, 84.0,
                 "one byte (0.32); obd and tshark: two bytes, 0.01 g/s"),
    Disagreement("scapy", PUMPED_O2, "o2_sensor_*_wide_current", "80008000", 128.0, 0.0,
                 "no offset; tshark: -128 mA"),
    Disagreement("scapy", (0x6B,), "egr_temperature_sensor_*_wide", "1050000000", 40.0, 280.0,
                 "knows the normal range only; the support bit of the wide range says 4 degC a bit"),
    Disagreement("scapy", (0x6F,), "turbocharger_compressor_inlet_pressure_sensor_*_wide", "046400", 100.0, 800.0,
                 "knows the normal range only; the support bit of the wide range says 8 kPa a bit"),
    Disagreement("scapy", (0x74,), "turbocharger_*_rpm", "0103E80000", 1000.0, 10000.0,
                 "1 rpm a bit; three sources: 10 rpm, and a charger turns faster than 65535 rpm"),
    Disagreement("scapy", (0x7A, 0x7B), "particulate_filter_bank*_delta_pressure", "01FFF600000000", 327.58, -0.1,
                 "offset binary; other sources: twos complement"),
    Disagreement("obd", (0x32,), "evap_vapour_pressure", "FFFF", -64.25, -0.25,
                 "extends the sign of the low byte; scapy and tshark: of 16 bits"),
    Disagreement("obd", (0x54,), "evap_vapour_pressure_alternative", "0001", -32766.0, 1.0,
                 "offset 32767; scapy: twos complement"),
]  # fmt: skip

# scapy and obd print 0.0000305 (obd, scapy) and 0.000122 (scapy) for 2 and 8 in 65536
COARSE = {*WIDE_O2, *PUMPED_O2, 0x44}

# PIDs with a signal that only one of the three programs reads, and with one that none of them reads
ONE_ORACLE = set(
    bytes.fromhex(
        "12 13 14 15 16 17 18 19 1A 1B 1D 1E 4F 55 56 57 58 5F 64 65 66 67 68 69 6A 6B 6C 6F 72 73 74 75 "
        "76 77 78 79 7A 7B 7C 7D 7E "
    )
)
NO_ORACLE = set(
    bytes.fromhex(
        "6D 6E 70 71 7F 81 82 83 84 85 86 87 88 89 8A 8B 8C 8D 8E 8F 90 91 92 93 94 96 98 99 9A 9B 9C 9D "
        "9E 9F A1 A2 A3 A4 A5 A6 A7 A8 A9 AA AB AD AE AF B0 B1 B2 B3 B4 B6 B7 B8 B9 BA BB BC BD BE BF C1 "
        "C2 C4 C6 C7 C8 C9 CA CB D2 D3 "
    )
)


class Reading(NamedTuple):
    """An answer and what we read in it."""

    pid: int
    data: bytes
    values: dict[str, float]


def payloads(pid: int) -> Iterator[bytes]:
    """Answers of a PID: all zero, all one, and random ones, some with every support bit set."""
    dice = random.Random(pid)
    length = min(obd.pid_lengths()[pid])
    yield bytes(length)
    yield b"\xff" * length
    for first in (None, None, 0xFF, 0xFF, 0x0F, 0x33):
        data = bytearray(dice.randbytes(length))
        data[0] = data[0] if first is None else first
        yield bytes(data)


def read(answers: list[tuple[int, bytes]]) -> list[Reading]:
    """What we read in answers, each decoded in one go with all others."""
    said = [(float(k), 0x7E8, bytes([0x41, pid]) + data) for k, (pid, data) in enumerate(answers)]
    found, _, _ = j1979.decode(messages(said))
    readings = [Reading(pid, data, {}) for pid, data in answers]
    for channel in found:
        assert channel.source.startswith("service 01 PID ")
        pid = int(channel.source[-2:], 16)
        for k, value in zip(channel.t_s.astype(int), channel.value, strict=True):
            assert readings[k].pid == pid
            readings[k].values[channel.name] = float(value)
    return readings


@pytest.fixture(scope="module")
def readings() -> list[Reading]:
    return read([(pid, data) for pid in PLANS for data in payloads(pid)])


def matches(pattern: str, signal: str) -> bool:
    head, _, tail = pattern.partition("*")
    return signal.startswith(head) and signal.endswith(tail) if "*" in pattern else signal == pattern


def known(oracle: str) -> set[tuple[int, str]]:
    """PID and signal of all disagreements of an oracle."""
    rows = [row for row in DISAGREEMENTS if row.oracle == oracle and row.says is not None]
    return {
        (pid, signal.name)
        for row in rows for pid in row.pids for signal in PLANS[pid].signals if matches(row.signal, signal.name)
    }  # fmt: skip


def scapy_pairs(readings: list[Reading]) -> Iterator[tuple[int, str, float, float]]:
    """PID, signal, what scapy reads and what we read, wherever scapy has a field of the same bits."""
    for pid, data, values in readings:
        fields = by_scapy(pid, data)
        for signal in PLANS[pid].signals:
            theirs = fields.get((signal.first_bit, signal.length))
            if theirs is not None and signal.name in values:
                yield pid, signal.name, theirs, values[signal.name]


def obd_signal(pid: int) -> str | None:
    """The signal that the one number of the obd library is: of the oxygen sensors the voltage or the current."""
    names = [s.name for s in PLANS[pid].signals if obd.pid_signals()[pid, s.name].kind in VALUE_KINDS]
    if len(names) > 1 and (pid in range(0x14, 0x1C) or pid in WIDE_O2 or pid in PUMPED_O2):
        names = [name for name in names if name.endswith(("voltage", "current"))]
    return names[0] if len(names) == 1 or pid in range(0x06, 0x0A) or pid in range(0x55, 0x59) else None


def obd_pairs(readings: list[Reading]) -> Iterator[tuple[int, str, float, float]]:
    for pid, data, values in readings:
        if pid == 0x01:
            status = commands.STATUS.decode([obd_message(b"\x41\x01" + data)])
            yield pid, "mil_on", float(status.MIL), values["mil_on"]
            yield pid, "dtc_count", float(status.DTC_count), values["dtc_count"]
        theirs = by_obd(pid, data)
        name = obd_signal(pid)
        if theirs is not None and name is not None:
            yield pid, name, theirs, values[name]


def compare(pairs: Iterator[tuple[int, str, float, float]], oracle: str, rounding: float) -> set[tuple[int, str]]:
    """Signals that the oracle reads; fails where one differs that should not, or the other way round."""
    seen = set()
    differing: dict[tuple[int, str], tuple[float, float]] = {}
    for pid, name, theirs, ours in pairs:
        seen.add((pid, name))
        allowed = rounding + (7e-4 * abs(ours) if pid in COARSE else 1e-9 * abs(ours))
        if abs(theirs - ours) > allowed:
            differing[pid, name] = (theirs, ours)
    assert {key: pair for key, pair in differing.items() if key not in known(oracle)} == {}
    assert known(oracle) - differing.keys() == set(), "the oracle has learned: take the row out of DISAGREEMENTS"
    return seen


def test_scapy(readings: list[Reading]) -> None:
    """scapy 2.6+, contrib.automotive.obd: values rounded to three digits behind the point."""
    seen = compare(scapy_pairs(readings), "scapy", rounding=6e-4)
    assert len(seen) >= 230


def test_obd_library(readings: list[Reading]) -> None:
    """The obd library's decoders; of a PID with two values it gives one."""
    seen = compare(obd_pairs(readings), "obd", rounding=1e-9)
    assert len({pid for pid, _ in seen}) >= 75


@needs_program("tshark")
def test_tshark(readings: list[Reading], tmp_path: Path) -> None:
    """tshark's obd-ii dissector, in double precision."""
    assert len(tshark_seen(readings, tmp_path)) >= 100


def tshark_seen(readings: list[Reading], folder: Path) -> set[tuple[int, str]]:
    short = [reading for reading in readings if len(reading.data) <= 5]
    seen = set()
    for (pid, data, values), fields in zip(
        short, by_tshark([(r.pid, r.data) for r in short], folder), strict=True
    ):  # fmt: skip
        for field, theirs in fields.items():
            if pid == 0x12:  # the raw byte of four flags
                flags = sum(int(values[s.name]) << (7 - s.first_bit) for s in PLANS[pid].signals)
                assert flags == int(theirs) & 0x0F
                seen |= {(pid, s.name) for s in PLANS[pid].signals}
                continue
            name = tshark_signal(pid, field, list(values))
            assert values[name] == pytest.approx(theirs, rel=1e-6, abs=1e-9), f"PID {pid:02X} {data.hex()} {field}"
            seen.add((pid, name))
    return seen


def tshark_signal(pid: int, field: str, names: list[str]) -> str:
    """The signal that a field of tshark is."""
    if len(names) == 1:
        return names[0]
    if pid == 0x03:
        return {"fuel_system1_status": "fuel_system_a_status", "fuel_system2_status": "fuel_system_b_status"}[field]
    ending = {
        "oxygen_sensor_voltage": "voltage", "oxygen_sensor_current": "current",
        "oxygen_sensor_fuel_air_ratio": "equivalence_ratio",
    }[field]  # fmt: skip
    return next(name for name in names if name.endswith(ending))


@pytest.mark.parametrize("row", DISAGREEMENTS, ids=lambda row: f"{row.oracle}_{row.pids[0]:02X}")
def test_disagreement(row: Disagreement) -> None:
    """What the oracle says and what we say to one answer."""
    pid, data = row.pids[0], bytes.fromhex(row.data)
    signal = next(s for s in PLANS[pid].signals if matches(row.signal, s.name))
    theirs = by_obd(pid, data) if row.oracle == "obd" else by_scapy(pid, data).get((signal.first_bit, signal.length))
    assert theirs == (None if row.says is None else pytest.approx(row.says))
    assert read([(pid, data)])[0].values[signal.name] == pytest.approx(row.ours)


@needs_program("tshark")
def test_how_many_oracles(readings: list[Reading], tmp_path: Path) -> None:
    """No check may vanish unseen: how many signals two programs read, how many one, and where it is fewer."""
    scapy_reads = {pair[:2] for pair in scapy_pairs(readings)}
    obd_reads = {pair[:2] for pair in obd_pairs(readings)}
    count = Counter([*scapy_reads, *obd_reads, *tshark_seen(readings, tmp_path)])
    least: dict[int, int] = {}
    for reading in readings:
        for name in reading.values:
            least[reading.pid] = min(least.get(reading.pid, 3), count[reading.pid, name])
    assert sum(number >= 2 for number in count.values()) == 106
    assert len(count) == 251
    assert {pid for pid, n in least.items() if n == 1} == ONE_ORACLE
    assert {pid for pid, n in least.items() if n == 0} == NO_ORACLE


def fact_rows() -> list[dict[str, str]]:
    with (DATA / "pids_service01.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_row_of_the_fact_table(readings: list[Reading]) -> None:
    """Each signal is bits of the table's place, times its scale, plus its offset, in whole-number arithmetic."""
    by_pid: dict[int, list[dict[str, str]]] = defaultdict(list)
    for row in fact_rows():
        by_pid[int(row["pid"], 16)].append(row)
    checked = set()
    for pid, data, values in readings:
        for row in by_pid[pid]:
            if row["signal"] not in values:
                continue
            start, length = int(row["start_bit_msb0"]), int(row["length"])
            raw = int.from_bytes(data, "big") >> (8 * len(data) - start - length) & ((1 << length) - 1)
            if row["signed"] == "1" and raw >> (length - 1):
                raw -= 1 << length
            expected = raw * float(row["scale"]) + float(row["offset"])
            # the table prints scales with nine to twelve digits
            assert values[row["signal"]] == pytest.approx(expected, rel=1e-8), (row["pid"], row["signal"])
            assert float(row["min"]) - 1e-6 <= values[row["signal"]] <= float(row["max"]) * (1 + 1e-7) + 1e-6
            checked.add((pid, row["signal"]))
    wanted = {
        (fact.pid, fact.signal) for fact in obd.pid_signals().values() if fact.in_dbc and fact.kind in VALUE_KINDS
    }
    third_bank = {(pid, s) for pid, s in wanted if pid in range(0x06, 0x0A) and s[-1] in "34"}
    assert wanted - checked == third_bank


def test_unsupported_signals_are_left_out() -> None:
    """PID 6D with rail A alone, PID 70 with nothing at all."""
    [rail, boost] = read([(0x6D, bytes.fromhex("0727102774 5A2710277450")), (0x70, bytes(10))])
    assert rail.values == {
        "fuel_rail_pressure_a_commanded": 100_000.0, "fuel_rail_pressure_a": 101_000.0, "fuel_rail_temperature_a": 50.0
    }  # fmt: skip
    assert boost.values == {}


def test_written_files_are_those_of_the_generator() -> None:
    dbc, table = make_obd_dbc.make()
    assert (dbc_open() / "obd2_service01.dbc").read_text("utf-8") == dbc
    assert (dbc_open() / "obd2_service01.csv").read_text("utf-8") == table


def test_cantools_reads_the_dbc_unmodified(readings: list[Reading]) -> None:
    """A self-check of DBC and extraction; ranges, units and value texts come through."""
    database = cantools.database.load_file(dbc_open() / "obd2_service01.dbc")
    assert len(database.messages) == len({row["pid"] for row in fact_rows()}) == 207
    for pid, data, values in readings:
        message = database.get_message_by_frame_id(0x100 + pid)
        decoded = message.decode(data, decode_choices=False, allow_truncated=True)
        for name, value in values.items():
            assert value == pytest.approx(float(decoded[name]), rel=1e-12)
    speed = database.get_message_by_name("PID_0C_engine_speed").get_signal_by_name("engine_speed")
    assert (speed.unit, speed.maximum) == ("rpm", 16383.75)
    fuel = database.get_message_by_frame_id(0x151).get_signal_by_name("fuel_type")
    assert str(fuel.choices[4]) == "diesel"


def test_enumerations_carry_their_meaning() -> None:
    found, _, _ = j1979.decode(
        messages([(0.0, 0x7E8, bytes.fromhex("415104")), (1.0, 0x7E8, bytes.fromhex("41030200"))])
    )
    by_name = {channel.name: channel for channel in found}
    assert by_name["fuel_type"].labels[int(by_name["fuel_type"].value[0])] == "diesel"
    status = by_name["fuel_system_a_status"]
    assert status.labels[int(status.value[0])] == "closed loop with oxygen sensor feedback"
    assert np.array_equal(by_name["fuel_system_b_status"].value, [0.0])
