"""Real recordings, and bytes that no control module would send."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest
from can_text import frames_of, read_log, write_log
from conftest import needs_program
from hypothesis import given, settings
from hypothesis import strategies as st
from j1979_messages import messages
from j1979_oracles import by_scapy, tshark_fields

from logan.decode import j1979
from logan.decode.j1979_values import load_plans
from logan.model.channel import Channel
from logan.model.frames import Messages
from logan.transport import isotp

ANSWERS = 7267
"""Answers of service 01 in the recording of a car by its own description: ten parameters, no requests."""

TSHARK_FIELD = {
    "calculated_engine_load": "engine_load", "engine_coolant_temperature": "engine_coolant_temp",
    "intake_manifold_absolute_pressure": "intake_manifold_absolute_pressure", "engine_speed": "engine_rpm",
    "vehicle_speed": "vehicle_speed", "absolute_throttle_position": "throttle_position",
    "fuel_level": "fuel_tank_level_input", "barometric_pressure": "absolute_barometric_pressure",
    "control_module_voltage": "control_module_voltage", "actual_engine_torque": "torque_actual_engine",
}  # fmt: skip


@pytest.fixture(scope="module")
def car(captures: Path) -> Messages:
    said, _ = isotp.reassemble(read_log(captures / "obd_can" / "obd_car_a_02.log"))
    return said


def value_at(found: list[Channel]) -> dict[float, tuple[str, float]]:
    """Time of each answer -> signal and value."""
    return {t: (c.name, v) for c in found for t, v in zip(c.t_s.tolist(), c.value.tolist(), strict=True)}


def test_every_answer_of_a_car_as_scapy_reads_it(car: Messages) -> None:
    found, vehicle, remarks = j1979.decode(car)
    assert vehicle.services == {"01": ANSWERS}
    assert sum(map(len, found)) == ANSWERS
    assert [remark.kind for remark in remarks] == ["answers_without_requests"]
    ours = value_at(found)
    plans = load_plans()
    read: dict[bytes, float] = {}
    for row in range(len(car)):
        payload = car.payload(row)
        name, value = ours[float(car.t_first_s[row])]
        if payload not in read:
            [signal] = [s for s in plans[payload[1]].signals if s.name == name]
            read[payload] = by_scapy(payload[1], payload[2:])[signal.first_bit, signal.length]
        assert value == pytest.approx(read[payload], abs=6e-4)


@needs_program("tshark")
def test_every_answer_of_a_car_as_tshark_reads_it(captures: Path, car: Messages, tmp_path: Path) -> None:
    lines = (captures / "obd_can" / "obd_car_a_02.log").read_text().splitlines()
    log = tmp_path / "answers.log"
    log.write_text("\n".join(line for line in lines if " 7E8#" in line) + "\n")
    theirs = tshark_fields(log)
    assert len(theirs) == len(car) == ANSWERS
    ours = value_at(j1979.decode(car)[0])
    for row, fields in enumerate(theirs):
        name, value = ours[float(car.t_first_s[row])]
        assert fields == {TSHARK_FIELD[name]: pytest.approx(value, rel=1e-6)}


def test_uds_recording_gives_no_services(captures: Path) -> None:
    """Another protocol on the same identifiers: nothing is made of it but its refusals."""
    said, _ = isotp.reassemble(read_log(captures / "obd_can" / "ev_uds_multiframe_b1.log"))
    found, vehicle, _ = j1979.decode(said)
    assert not found
    assert not vehicle.codes
    assert not vehicle.services


IDENTIFIERS = st.sampled_from([0x7DF, 0x7E0, 0x7E8, 0x7E9, 0x18DB33F1, 0x18DA10F1, 0x18DAF110, 0x123])
SERVICE = st.one_of(st.integers(0x41, 0x4A), st.integers(0x00, 0x0A), st.just(0x7F), st.integers(0, 255))
PAYLOADS = st.builds(lambda service, rest: bytes([service]) + rest, SERVICE, st.binary(max_size=48))
TIMES = st.floats(0, 1e5, allow_nan=False)


@settings(max_examples=300, deadline=None)
@given(st.lists(st.tuples(TIMES, IDENTIFIERS, st.one_of(PAYLOADS, st.just(b""))), max_size=30))
def test_any_bytes_at_all(said: list[tuple[float, int, bytes]]) -> None:
    found, vehicle, remarks = j1979.decode(messages(said), "any.log")
    for channel in found:
        assert len(channel.t_s) == len(channel.value) > 0
        assert (np.diff(channel.t_s) >= 0).all()
        assert np.isfinite(channel.t_s).all()
        assert np.isfinite(channel.value).sum() + sum(channel.invalid.values()) == len(channel)
        assert channel.half_width_s >= 0.0
    for text in (vehicle.vin or "", *vehicle.calibration_ids, *vehicle.ecu_names.values()):
        assert text.isascii()
        assert text == "" or text.isprintable()
    for remark in remarks:
        assert remark.count > 0
        assert remark.file == "any.log"
    assert j1979.merge([vehicle, vehicle]).ecus == vehicle.ecus


def test_odd_bytes_take_no_long_time() -> None:
    """Thousands of random answers, none like another, and one of the greatest length."""
    dice = np.random.default_rng(5)
    said = [(k * 1e-3, 0x7E8, bytes([0x41 + k % 10]) + dice.bytes(6)) for k in range(20_000)]
    said.append((30.0, 0x7E8, b"\x41" + b"\x0d\x10" * 2047))
    begin = time.perf_counter()
    j1979.decode(messages(said))
    assert time.perf_counter() - begin < 5.0


def test_hundred_thousand_answers() -> None:
    """Columns, not a loop: 0.03 s on two cores of 2023; the limit leaves room for a busy machine."""
    parameters = bytes.fromhex("0D05 0F0B 3349 112F 0445")
    said = [(k * 0.01, 0x7E8 + k % 2, bytes([0x41, parameters[k % 10], k & 0xFF])) for k in range(100_000)]
    answers = messages(said)
    j1979.decode(answers)
    begin = time.perf_counter()
    found, _, _ = j1979.decode(answers)
    assert time.perf_counter() - begin < 0.5
    assert sum(map(len, found)) == 100_000


def test_candump_to_values_with_long_answers(tmp_path: Path) -> None:
    """Through transport: request, flow control and an answer of two frames, as the standard prints them."""
    rows = [
        (0.000, 0x7DF, bytes.fromhex("02016D0000000000")), (0.020, 0x7E8, bytes.fromhex("100D416D07271027")),
        (0.021, 0x7E0, bytes.fromhex("3000000000000000")), (0.030, 0x7E8, bytes.fromhex("21745A0000000000")),
    ]  # fmt: skip
    write_log(tmp_path / "rail.log", rows)
    said, _ = isotp.reassemble(frames_of(rows))
    found, _, remarks = j1979.decode(said)
    assert {c.name: float(c.value[0]) for c in found} == {
        "fuel_rail_pressure_a_commanded": 100_000.0, "fuel_rail_pressure_a": 101_000.0, "fuel_rail_temperature_a": 50.0
    }  # fmt: skip
    assert found[0].t_s == pytest.approx([0.01])
    assert not remarks
