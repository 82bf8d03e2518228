"""The open data base of SAE J1939-71 against cantools, published bytes and real recordings; and who it is not for."""

from __future__ import annotations

import contextlib
import csv
import math
from pathlib import Path

import cantools.database
import numpy as np
import pytest
from can_text import Row, frames_of, read_log
from hypothesis import given, settings
from hypothesis import strategies as st
from tools import make_j1939_dbc

from logan.decode import broadcast, dbc, j1939
from logan.decode.j1939_bus import pgn_of_each, speaking
from logan.decode.plan import MessagePlan
from logan.knowledge.channels import load as contract_channels
from logan.knowledge.locate import dbc_open
from logan.model.channel import Channel
from logan.model.frames import Frames
from logan.model.vehicle import Vehicle
from logan.transport import j1939_tp

PATH = dbc_open() / "j1939.dbc"
PLANS, _ = dbc.load([PATH])
ORACLE = cantools.database.load_file(PATH)


def channels_of(frames: Frames, plans: tuple[MessagePlan, ...] = PLANS) -> dict[str, Channel]:
    found, _ = broadcast.decode(frames, plans, "f")
    return {channel.name: channel for channel in found}


def value(can_id: int, text: str, name: str) -> float:
    return float(channels_of(frames_of([(0.0, can_id, bytes.fromhex(text))]))[name].value[0])


def test_files_are_those_of_the_fact_table() -> None:
    text, table = make_j1939_dbc.make()
    assert PATH.read_text("utf-8") == text
    assert PATH.with_suffix(".csv").read_text("utf-8") == table


def test_every_message_is_a_parameter_group() -> None:
    assert all(plan.pgn == (plan.frame_id >> 8 & 0x3FFFF) for plan in PLANS)
    assert {message.protocol for message in ORACLE.messages} == {"j1939"}
    names = [signal.name for plan in PLANS for signal in plan.signals]
    assert len(set(names)) == len(names)


# published values: worked examples of public tutorials, pretty_j1939 0.0.6 (W081), bytes of public code (W084)
@pytest.mark.parametrize(
    ("can_id", "text", "name", "expected"),
    [
        (0x0CF00400, "FFFFFF6813FFFFFF", "engine_speed", 621.0),
        (0x0CF00400, "F07D7D8025FFFFFF", "engine_speed", 1200.0),
        (0x0CF00400, "F07D7D8025FFFFFF", "driver_demand_torque", 0.0),
        (0x0CF00400, "F07D7D8025FFFFFF", "actual_engine_torque", 0.0),
        (0x18FEEE00, "7D50FFFFFFFFFFFF", "engine_coolant_temperature", 85.0),
        (0x18FEEE00, "7D50FFFFFFFFFFFF", "fuel_temperature_1", 40.0),
        (0x18FEDB00, "FFFF1D35FFFFFFFF", "injector_metering_rail_1_pressure", 53.11328125),
    ],
)
def test_published_values(can_id: int, text: str, name: str, expected: float) -> None:
    assert value(can_id, text, name) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("raw", ["FFFF", "00FF", "00FE", "FFFE"])
def test_not_available_and_error(raw: str) -> None:
    """Engine speed FFxx is not available, FExx an error of the sensor (SAE J1939-71, 5.1.4)."""
    assert math.isnan(value(0x0CF00400, "FFFFFF" + raw + "FFFFFF", "engine_speed"))


def test_marks_above_the_range_of_values_are_none() -> None:
    """FB to FD, and FBxx to FDxx, are reserved or mark a state of the parameter (SAE J1939-71, 5.1.4)."""
    channels = channels_of(frames_of([(k, 0x18FEEE00, bytes([0xFA + k, 0xFF]) + b"\xff" * 6) for k in range(6)]))
    coolant = channels["engine_coolant_temperature"]
    assert coolant.value[0] == 210.0
    assert np.isnan(coolant.value[1:]).all()
    assert coolant.invalid == {broadcast.NO_VALUE: 3, broadcast.ERROR_INDICATED: 1, broadcast.NOT_AVAILABLE: 1}
    assert value(0x0CF00400, "FFFFFFFFFAFFFFFF", "engine_speed") == 8031.875
    assert math.isnan(value(0x0CF00400, "FFFFFF00FBFFFFFF", "engine_speed"))


@settings(max_examples=25, deadline=None)
@given(st.lists(st.binary(min_size=21, max_size=21), min_size=1, max_size=4))
def test_same_as_cantools(payloads: list[bytes]) -> None:
    """Every signal of every message, but for the values that J1939 keeps for "not available" and "error"."""
    for message in ORACLE.messages:
        rows: list[Row] = [
            (float(k), message.frame_id, payload[: message.length]) for k, payload in enumerate(payloads)
        ]
        ours = channels_of(frames_of(rows))
        for k, payload in enumerate(payloads):
            theirs = message.decode(payload[: message.length], decode_choices=False)
            for name, expected in theirs.items():
                got = ours[name].value[k]
                assert math.isnan(got) or got == pytest.approx(expected, rel=1e-12), name


def test_same_layout_as_a_published_data_base(captures: Path) -> None:
    """Two signals of a data base that comes with a real recording; it states their numbers (SPN) too."""
    theirs = cantools.database.load_file(captures / "obd_can" / "j1939_demo.dbc")
    ours = {signal.spn: signal for message in ORACLE.messages for signal in message.signals}
    compared = 0
    for signal in (signal for message in theirs.messages for signal in message.signals):
        own = ours[signal.spn]
        for key in ("start", "length", "byte_order", "is_signed", "scale", "offset", "unit"):
            assert getattr(own, key) == getattr(signal, key), (signal.name, key)
        compared += 1
    assert compared == 2


def test_real_recording(captures: Path) -> None:
    """Read by independent programs (list beside the captures)."""
    frames = read_log(captures / "obd_can" / "j1939_heavy_c.log")
    found = channels_of(frames)
    for name, low, high, tolerance in (
        ("engine_speed", 646.5, 653.8, 0.06), ("injector_metering_rail_1_pressure", 65.1, 66.0, 0.06),
        ("engine_coolant_temperature", 71, 72, 0), ("fuel_rate", 2.45, 2.85, 1e-9),
        ("wheel_based_vehicle_speed", 0, 0, 0),
    ):  # fmt: skip
        assert np.nanmin(found[name].value) == pytest.approx(low, abs=tolerance), name
        assert np.nanmax(found[name].value) == pytest.approx(high, abs=tolerance), name
    assert len(found["injector_metering_rail_1_pressure"]) == 254
    # the engine configuration comes in 25 multi-packet messages: the idle speed that it states is the one measured
    said, _ = j1939_tp.reassemble(frames)
    idle = channels_of(j1939.as_frames(said))["engine_speed_at_idle_point_1"]
    assert len(idle) == 25
    assert set(idle.value) == {650.0}
    assert idle.value[0] == pytest.approx(np.nanmedian(found["engine_speed"].value), abs=1.0)


def tractor_rows(path: Path) -> list[Row]:
    """Frames of the two table formats of that folder, in plain Python; rows that are not whole are left out."""
    rows: list[Row] = []
    with path.open(encoding="utf-8", errors="replace", newline="") as file:
        for line in csv.DictReader(file):
            with contextlib.suppress(ValueError):
                if "pgn" in line:
                    to_one = int(line["pgn"]) >> 8 & 0xFF < 240
                    pgn = int(line["pgn"]) | (int(line["destination"]) if to_one else 0)
                    can_id = int(line["priority"]) << 26 | pgn << 8 | int(line["source"])
                    rows.append((float(line["time"]) / 1000, can_id, bytes.fromhex(line["data"])))
                elif len(line["ID"]) == 8:
                    rows.append((0.0, int(line["ID"], 16), bytes.fromhex(line["Data"])[:8]))
    return rows


def test_real_tractor_without_codes(captures: Path) -> None:
    """DM1 of the senders 6, 71, 3 and 23, twice each and with no code: read by an independent program; 0 claims."""
    frames = frames_of(tractor_rows(captures / "j1939_tractor" / "usb_high_rpm_1.csv"))
    vehicle, _ = j1939.decode(frames, j1939_tp.reassemble(frames)[0], "f")
    assert vehicle.codes == []
    assert vehicle.ecus == ["SA 00", "SA 03", "SA 06", "SA 17", "SA 47"]
    assert vehicle.services == {"DM1": 8}


@pytest.mark.parametrize(
    ("name", "low", "high", "count"),
    [
        ("scope_idle.csv", 898.5, 901.75, 250), ("scope_running_control.csv", 898.5, 901.25, 212),
        ("usb_high_rpm_1.csv", 0.0, 1259.5, 1480), ("usb_start_1.csv", 0.0, 1010.5, 1460),
    ],
)  # fmt: skip
def test_real_tractor(captures: Path, name: str, low: float, high: float, count: int) -> None:
    """Engine speed and how many values, read by independent programs (list beside the captures)."""
    frames = frames_of(tractor_rows(captures / "j1939_tractor" / name))
    assert speaking(frames).tolist() == [True]
    speed = channels_of(frames)["engine_speed"]
    assert (np.nanmin(speed.value), np.nanmax(speed.value)) == (low, high)
    assert np.isfinite(speed.value).sum() == count


# Whose identifiers are no parameter groups


def carrying(*can_ids: int) -> list[Row]:
    return [(0.01 * k, can_id, bytes(range(8))) for k, can_id in enumerate(can_ids)]


@pytest.mark.parametrize(
    "can_ids",
    [
        pytest.param([0x18DAF110, 0x18DA10F1, 0x18DB33F1], id="ISO 15765-4"),
        pytest.param([0x0EF00400, 0x1AFEEE00], id="extended data page"),
        pytest.param([0x10000123, 0x10000124, 0x00000456], id="low numbers"),
        pytest.param([0x0CF00400, 0x10210040, 0x10242040, 0x1024C060], id="one of four looks so"),
        pytest.param([0x18FEEEFF], id="sent by nobody"),
        pytest.param([0x400, 0x7E8], id="11 bit"),
        pytest.param([], id="nothing"),
    ],
)
def test_other_networks(can_ids: list[int]) -> None:
    frames = frames_of(carrying(*can_ids))
    assert speaking(frames).tolist() == [False]
    assert channels_of(frames) == {}
    vehicle, remarks = j1939.decode(frames, j1939_tp.reassemble(frames)[0], "f")
    assert vehicle == Vehicle()
    assert remarks == []


@pytest.mark.parametrize(
    "can_ids",
    [
        pytest.param([0x0CF00400], id="one group"),
        pytest.param([0x0C000003], id="torque and speed control"),
        pytest.param([0x18FECA00, 0x18EAFFF9, 0x18EEFF00, 0x1CECFF00, 0x1CEBFF00], id="transport and claims"),
        pytest.param([0x18FEEE00, 0x18DAF100, 0x18DA00F1], id="diagnosis by ISO 15765 beside"),
        pytest.param([0x0CF00400, 0x18D900F9, 0x18D8F900, 0x18C300F9, 0x18E300F9], id="diagnosis by J1939 beside"),
        pytest.param([0x18FEEE00, 0x7E8, 0x7E0], id="11 bit beside"),
        pytest.param([0x18FEEE00, 0x1AF00110, 0x1AF00111, 0x1AF00112], id="reserved identifiers beside"),
    ],
)
def test_buses_of_j1939(can_ids: list[int]) -> None:
    assert speaking(frames_of(carrying(*can_ids))).tolist() == [True]


def test_random_identifiers_are_no_j1939() -> None:
    rng = np.random.default_rng(1939)
    for _ in range(200):
        frames = frames_of(carrying(*rng.integers(0, 1 << 29, 40).tolist()), extended=True)
        assert speaking(frames).tolist() == [False]


def test_many_senders_of_one_message_each_are_no_j1939() -> None:
    broadcasts = [0x18F00000 + 0x10100 * k % 0xF0000 + k for k in range(60)]
    assert speaking(frames_of(carrying(*broadcasts))).tolist() == [False]


def test_each_bus_for_itself() -> None:
    rows = carrying(0x18FEEE00, 0x0CF00400, 0x0CF00400, 0x10210040, 0x10242040, 0x1024C060)
    frames = frames_of(rows, bus=[0, 0, 1, 1, 1, 1], buses=("can0", "can1"))
    assert speaking(frames).tolist() == [True, False]
    found, remarks = broadcast.decode(frames, PLANS, "f")
    assert {channel.name: channel.t_s.tolist() for channel in found}["engine_speed"] == [0.01]
    assert [(r.kind, r.count, r.places) for r in remarks] == [("not_j1939", 1, ("t = 0.020 s, id CF00400",))]


def test_private_identifiers_match_first() -> None:
    plans, remarks = dbc.load([PATH, dbc_open() / "training.dbc"])
    assert remarks == []
    private = [plan for plan in plans if plan.pgn is None]
    frames = frames_of(carrying(*(plan.frame_id for plan in private)))
    assert speaking(frames).tolist() == [False]
    assert channels_of(frames, plans).keys() == {signal.name for plan in private for signal in plan.signals}


@pytest.mark.parametrize(
    "name",
    ["obd_can/obd_car_a_02.log", "obd_can/ev_uds_multiframe_b1.log", "uds_multiframe/uds_van_candump.log",
     "broadcast_petrol/engine_start.log", "direction_flag/candump_rx_flag.log"],
)  # fmt: skip
def test_real_recordings_of_other_networks(captures: Path, name: str) -> None:
    frames = read_log(captures / name)
    found, _ = broadcast.decode(frames, PLANS, "f")
    assert found == []
    assert j1939.decode(frames, j1939_tp.reassemble(frames)[0], "f") == (Vehicle(), [])


@given(st.integers(0, (1 << 29) - 1))
def test_group_number_in_columns(can_id: int) -> None:
    assert int(pgn_of_each(np.array([can_id], np.uint32))[0]) == dbc.pgn_of(can_id)


@given(st.integers(0, (1 << 29) - 1))
def test_group_number_as_can_j1939_reads_it(can_id: int) -> None:
    """Known error of can-j1939 2.0.12: it keeps the destination in the number of a group to one address."""
    reference = pytest.importorskip("j1939", reason="pip install can-j1939")
    message = reference.MessageId(can_id=can_id)
    group = reference.ParameterGroupNumber()
    group.from_message_id(message)
    expected = group.value & 0x1FF00 if group.is_pdu1_format else group.value
    # it knows no extended data page
    assert dbc.pgn_of(can_id) & 0x1FFFF == expected


def test_contract_channels_have_their_parameters() -> None:
    """Contract channels that SAE J1939-71 carries in the groups of the data base."""
    signals = {signal.name for plan in PLANS for signal in plan.signals}
    carried = {name for name, info in contract_channels().items() if signals & {name, *info.names, *info.instead}}
    assert carried >= {
        "engine_speed", "vehicle_speed", "calculated_load", "coolant_temperature", "intake_air_temperature",
        "oil_temperature", "fuel_temperature", "intake_manifold_pressure", "barometric_pressure", "mass_air_flow",
        "control_module_voltage", "accelerator_pedal_d", "idle_validation", "fuel_supply_pressure",
        "fuel_rail_pressure_actual", "fuel_rate", "torque_actual", "starter_active", "idle_speed_target",
    }  # fmt: skip
