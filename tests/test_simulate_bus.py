"""The simulator's bus: read back with python-can, cantools and scapy, none of which had a part in making it."""

from __future__ import annotations

import functools
import io
import logging
from pathlib import Path
from typing import Any

import can
import cantools
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logan import simulate
from logan.errors import OutputError, UsageError
from logan.knowledge.locate import dbc_open
from logan.simulate import can_log, monitors, parameters, samples
from logan.simulate.simulation import Simulation

START = 1_750_000_000.0
LINE_BITS = 130 / 500_000


@functools.cache
def short_drive(profile: str, **more: Any) -> Simulation:
    return simulate.run(simulate.make_spec(profile=profile, drive="short_test", duration_s=75, seed=5, **more))


@pytest.fixture(scope="module")
def rotary_log(tmp_path_factory: pytest.TempPathFactory) -> list[can.Message]:
    paths = simulate.write(short_drive("training_rotary_six"), tmp_path_factory.mktemp("log"), "drive")
    assert [p.name for p in paths] == ["drive.log", "drive.truth.json"]
    return list(can.CanutilsLogReader(paths[0]))


def test_every_line_is_read_by_another_library(rotary_log: list[can.Message]) -> None:
    frames = short_drive("training_rotary_six").frames
    assert frames is not None
    assert len(rotary_log) == len(frames)
    assert [m.arbitration_id for m in rotary_log[:500]] == frames.identifier[:500].tolist()
    assert [m.is_extended_id for m in rotary_log[:500]] == frames.extended[:500].tolist()
    times = np.array([m.timestamp for m in rotary_log])
    assert np.abs(times - START - frames.time_s).max() < 2e-6
    assert np.diff(times).min() > LINE_BITS - 2e-6  # one bus: no two frames at once


def test_broadcast_decodes_to_the_exact_values(rotary_log: list[can.Message]) -> None:
    """cantools reads every signal of the profile; each is the exact value within its step and its sensor's noise."""
    simulation = short_drive("training_rotary_six")
    database = cantools.database.load_file(dbc_open() / "training.dbc")
    known = {m.frame_id for m in database.messages}
    decoded: dict[str, list[tuple[float, float]]] = {}
    for message in rotary_log:
        if message.is_extended_id and message.arbitration_id in known:
            kind = database.get_message_by_frame_id(message.arbitration_id)
            values = database.decode_message(message.arbitration_id, message.data, decode_choices=False)
            for name, value in values.items():
                decoded.setdefault(f"{kind.name}.{name}", []).append((message.timestamp - START, value))
    profile = parameters.profile("training_rotary_six")
    assert set(profile.channels) <= set(decoded)
    tolerance = {"engine_speed": 6.0, "coolant_temperature": 0.51, "intake_manifold_pressure": 2.0,
                 "injection_timing_actual": 0.5, "fuel_rate": 0.2, "control_module_voltage": 0.15,
                 "vehicle_speed": 0.2, "fuel_supply_pressure": 6.0}  # fmt: skip
    for signal, name in profile.channels.items():
        if name in tolerance:
            time, value = np.array(decoded[signal]).T
            exact = simulation.signals.exact(name, time)
            assert np.percentile(np.abs(value - exact), 98) < tolerance[name], name
            assert np.abs(np.median(value - exact)) < tolerance[name] / 5, name
    target = np.array(decoded["EngineState.IdleTarget"])[:, 1]
    assert set(target) == {800}


def answers(profile: str) -> tuple[list[tuple[float, bytes]], list[bytes]]:
    """Payloads of the control module by scapy's reassembly, with their time, and all requests to all."""
    logging.getLogger("scapy").setLevel(logging.ERROR)
    from scapy.contrib.isotp import ISOTP, ISOTPMessageBuilder
    from scapy.layers.can import CAN

    frames = short_drive(profile).frames
    assert frames is not None
    answer, request = (0x18DAF110, 0x18DB33F1) if profile == "training_rail_four" else (0x7E8, 0x7DF)
    out: list[tuple[float, bytes]] = []
    builder = ISOTPMessageBuilder(use_ext_address=False, basecls=ISOTP)
    for row in np.flatnonzero(frames.identifier == answer):
        data = frames.data[row, : frames.length[row]].tobytes()
        frame = CAN(identifier=answer, flags="extended" if frames.extended[row] else "", length=len(data), data=data)
        frame.time = float(frames.time_s[row])
        builder.feed(frame)
        while len(builder):
            message = builder.pop()
            out.append((float(frames.time_s[row]), bytes(message.data)))
    asked = [frames.data[row].tobytes() for row in np.flatnonzero(frames.identifier == request)]
    return out, asked


@pytest.mark.parametrize("profile", sorted(parameters.engines()))
def test_answers_decode_with_another_library(profile: str) -> None:
    from scapy.all import load_contrib

    load_contrib("automotive.obd.obd")
    from scapy.contrib.automotive.obd.obd import OBD

    simulation, (found, asked) = short_drive(profile), answers(profile)
    engine = parameters.engines()[profile]
    assert len(found) == len(asked) > 500
    values: dict[int, list[tuple[float, float]]] = {}
    for time, payload in found:
        if payload[0] == 0x41 and payload[1] not in (0x00, 0x20, 0x40, 0x60, 0x01, 0x10, 0x6D, 0x70):
            record = OBD(payload).data_records[0]
            values.setdefault(payload[1], []).append((time, float(record.data)))
    checks = {0x0C: ("speed_over_cycle", 60.0), 0x05: ("coolant_temperature", 1.0), 0x0D: ("vehicle_speed", 1.0),
              0x42: ("control_module_voltage", 0.2), 0x5D: ("injection_timing_actual", 0.5),
              0x23: ("fuel_rail_pressure_actual", 2500.0), 0x49: ("pedal", 1.0),
              0x06: ("short_term_fuel_trim_1", 1.5)}  # fmt: skip
    for pid, (name, tolerance) in checks.items():
        if pid in engine.pids:
            time, value = np.array(values[pid]).T
            error = value - simulation.signals.exact(name, time - 0.004)
            assert np.percentile(np.abs(error), 95) < tolerance, name
    assert set(engine.pids) - {0x10, 0x6D, 0x70} == set(values)


@pytest.mark.parametrize("profile", sorted(parameters.engines()))
def test_identity_and_readiness(profile: str) -> None:
    found, _ = answers(profile)
    payloads = [p for _, p in found]
    engine = parameters.engines()[profile]
    vin = next(p for p in payloads if p[:3] == b"\x49\x02\x01")
    assert vin[3:].decode() == engine.vin
    assert len(engine.vin) == 17
    assert not set(engine.vin) & set("IOQ")  # ISO 3779 (from memory): letters that a VIN never holds
    # check digit: weights and values of 49 CFR 565.15 (from memory)
    digit = dict(
        zip(
            "0123456789ABCDEFGHJKLMNPRSTUVWXYZ",
            [*range(10), *range(1, 9), *range(1, 6), 7, 9, *range(2, 10)],
            strict=True,
        )
    )
    total = sum(
        digit[c] * w for c, w in zip(engine.vin, [8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2], strict=True)
    )
    assert engine.vin[8] == "0123456789X"[total % 11]
    calibration = next(p for p in payloads if p[:3] == b"\x49\x04\x01")
    assert calibration[3:].rstrip(b"\0").decode() == engine.calibration
    # SAE J1979 PID 01, byte B bit 3: compression ignition (fact held by three open sources)
    readiness = next(p for p in payloads if p[:2] == b"\x41\x01")
    assert bool(readiness[3] & 0x08) == (parameters.profile(profile).ignition == "compression")
    # PID 00: bit 7 of byte A is PID 01
    fields = {p[1]: int.from_bytes(p[2:6], "big") for p in payloads if p[0] == 0x41 and p[1] % 0x20 == 0}
    named = {base + 32 - bit for base, field in fields.items() for bit in range(32) if field >> bit & 1}
    assert {p for p in named if p % 0x20} == {1, *engine.pids}


def test_pressure_pids_of_several_bytes() -> None:
    # open tables of SAE J1979: 6D bytes B-C commanded, D-E actual, 10 kPa a bit; 70 bytes B-C and D-E, 1/32 kPa a bit
    simulation = short_drive("training_rail_v8")
    found, _ = answers("training_rail_v8")
    rail = [(t, p) for t, p in found if p[:2] == b"\x41\x6d"]
    assert all(len(p) == 13 and p[2] == 7 for _, p in rail)
    time = np.array([t for t, _ in rail])
    command = np.array([int.from_bytes(p[3:5], "big") * 10 for _, p in rail])
    actual = np.array([int.from_bytes(p[5:7], "big") * 10 for _, p in rail])
    assert np.median(np.abs(command - simulation.signals.exact("fuel_rail_pressure_commanded", time))) < 300
    assert np.median(np.abs(actual - simulation.signals.exact("fuel_rail_pressure_actual", time))) < 600
    boost = [(t, p) for t, p in found if p[:2] == b"\x41\x70"]
    manifold = np.array([int.from_bytes(p[5:7], "big") / 32 for _, p in boost])
    exact = simulation.signals.exact("intake_manifold_pressure", np.array([t for t, _ in boost]))
    assert np.median(np.abs(manifold - exact)) < 1.5


def test_codes_are_reported_once_confirmed() -> None:
    simulation = simulate.run(
        simulate.make_spec(profile="training_rotary_six", drive="idle_only", fault="pump_key_reversed", seed=2)
    )
    assert [c.printed for c in simulation.codes] == ["P0216"]
    frames = simulation.frames
    assert frames is not None
    codes = [frames.data[k, :8].tobytes() for k in np.flatnonzero(frames.identifier == 0x7E8)]
    confirmed = [c for c in codes if c[1] == 0x43]
    pending = [c for c in codes if c[1] == 0x47]
    assert [c[2] for c in confirmed] == [0, 1]  # none at the start of the record, one at its end
    assert confirmed[-1][3:5] == b"\x02\x16"
    assert pending[-1][3:5] == b"\x02\x16"
    readiness = [c for c in codes if c[1:3] == b"\x41\x01"]
    assert [c[3] for c in readiness] == [0x00, 0x81]


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.booleans(), st.integers(0, 2**29 - 1), st.binary(max_size=8), st.integers(0, 10**9)),
        min_size=1,
        max_size=30,
    )
)
def test_any_frames_survive_the_text_log(rows: list[tuple[bool, int, bytes, int]]) -> None:
    parts = [
        can_log.frames(
            np.array([micros / 1e6]), number if far else number & 0x7FF, far, np.frombuffer(data, np.uint8)[None, :]
        )
        for far, number, data, micros in rows
    ]
    merged = can_log.merge(parts)
    read = list(can.CanutilsLogReader(io.StringIO(can_log.text(merged, START, "can1").decode())))
    assert [m.arbitration_id for m in read] == merged.identifier.tolist()
    assert [m.is_extended_id for m in read] == merged.extended.tolist()
    assert [bytes(m.data) for m in read] == [d[:n].tobytes() for d, n in zip(merged.data, merged.length, strict=True)]
    assert [m.timestamp - START for m in read] == pytest.approx(merged.time_s, abs=2e-6)
    assert {m.channel for m in read} == {"can1"}


def test_samples_command_says_how_to_use_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert samples.main([]) == 2
    assert "FOLDER" in capsys.readouterr().err


def test_held_since() -> None:
    condition = np.array([False, True, True, False, True])
    assert monitors.held_since(condition) == pytest.approx([0, 0.1, 0.2, 0, 0.1])


def test_same_seed_same_bytes() -> None:
    spec = simulate.make_spec(
        profile="training_spark_four", drive="idle_only", duration_s=9, fault="mixture_lean", sensors={"seconds": 8.0}
    )
    first, second = simulate.run(spec), simulate.run(spec)
    other = simulate.run(simulate.make_spec(profile="training_spark_four", drive="idle_only", duration_s=9, seed=2))
    assert first.log() == second.log() != other.log()
    assert first.recording is not None
    assert second.recording is not None
    assert first.recording.files() == second.recording.files()
    assert first.truth() == second.truth()


def test_damage_is_as_large_as_asked() -> None:
    whole = simulate.run(simulate.make_spec(drive="idle_only", duration_s=8))
    hurt = simulate.run(
        simulate.make_spec(
            drive="idle_only", duration_s=8, damage={"lost_share": 0.2, "cut_lines": 7, "garbled_lines": 5}
        )
    )
    assert whole.frames is not None
    assert hurt.frames is not None
    assert len(hurt.frames) / len(whole.frames) == pytest.approx(0.8, abs=0.05)
    lines = hurt.log().splitlines()
    assert len(lines) == len(hurt.frames)
    assert sum(b"?" in line for line in lines) == 5
    full = {len(b"(1750000000.000000) can0 ") + n for n in (8 + 17, 3 + 17, 3 + 13, 3 + 9)}
    assert sum(len(line) not in full for line in lines) == pytest.approx(7, abs=2)


@pytest.mark.parametrize(
    ("keywords", "words"),
    [
        ({"profile": "no_such"}, "training_rotary_six"),
        ({"drive": "no_such"}, "short_test"),
        ({"fault": "no_such"}, "pump_key_wrong"),
        ({"fault": "rail_leakdown"}, "does not exist on"),
        ({"fault": "pump_key_wrong", "size": 1.5}, "whole number"),
        ({"fault": "cylinder_fuel_low", "cylinder": 7}, "no cylinder 7"),
        ({"fault": "cam_phase_offset", "size": 400}, "outside"),
        ({"seed": "x"}, "seed"),
        ({"colour": 1}, "colour"),
        ({"sensors": {"seconds": -1.0}}, "length of the sensors' recording, s"),
        ({"damage": {"lost_share": 1.0}}, "frames lost, %"),
        ({"fault": "idle_hunting", "frequency_hz": 9.0}, "frequency"),
    ],
    ids=lambda v: str(v)[:30],
)
def test_wrong_usage_is_refused_in_one_line(keywords: dict[str, Any], words: str) -> None:
    with pytest.raises(UsageError) as caught:
        simulate.make_spec(**keywords)
    assert words in str(caught.value)
    assert "\n" not in str(caught.value)


def test_folder_that_cannot_be_written(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file")
    simulation = simulate.run(simulate.make_spec(drive="idle_only", duration_s=2))
    with pytest.raises(OutputError):
        simulate.write(simulation, tmp_path / "taken", "drive")
