"""The tester's talk in a simulated log, read by libraries that had no part in it: can-isotp and obd."""

from __future__ import annotations

import functools
import logging
from collections import deque

import can
import isotp
import numpy as np
import obd
import pytest
from obd.protocols import ISO_15765_4_11bit_500k, ISO_15765_4_29bit_500k

from logan import simulate
from logan.simulate import parameters
from logan.simulate.simulation import Simulation

logging.getLogger("obd").setLevel(logging.CRITICAL)
PROFILES = sorted(parameters.engines())
IDS = {11: (0x7E0, 0x7E8), 29: (0x18DA10F1, 0x18DAF110)}


@functools.cache
def drive(profile: str, bits: int, fault: str = "") -> Simulation:
    more = {"fault": fault} if fault else {}
    bus = {"ids": bits, "broadcast": False, "background": False, "physical": True}
    return simulate.run(simulate.make_spec(profile=profile, drive="short_test", duration_s=40, seed=3, bus=bus, **more))


def messages(simulation: Simulation) -> list[can.Message]:
    """The frames as another library holds them, by way of the log's text."""
    lines = simulation.log().decode().splitlines()
    out = []
    for line in lines:
        stamp, _, frame = line.split()
        identifier, data = frame.split("#")
        out.append(can.Message(
            timestamp=float(stamp[1:-1]), arbitration_id=int(identifier, 16), is_extended_id=len(identifier) == 8,
            data=bytes.fromhex(data),
        ))  # fmt: skip
    return out


def line(message: can.Message, bits: int) -> str:
    """A frame in hexadecimal as serial adapters print it."""
    return f"{message.arbitration_id:0{8 if bits == 29 else 3}X}{message.data.hex().upper()}"


def payloads(simulation: Simulation, bits: int) -> list[bytes]:
    """Answers of the engine's module as can-isotp reassembles them; what it would send back itself goes nowhere."""
    request, answer = IDS[bits]
    mode = isotp.AddressingMode.Normal_11bits if bits == 11 else isotp.AddressingMode.Normal_29bits
    queue = deque(
        isotp.CanMessage(arbitration_id=answer, data=m.data, extended_id=bits == 29)
        for m in messages(simulation)
        if m.arbitration_id == answer
    )
    errors: list[Exception] = []
    stack = isotp.TransportLayerLogic(
        rxfn=lambda _: queue.popleft() if queue else None, txfn=lambda _: None, error_handler=errors.append,
        address=isotp.Address(mode, txid=request, rxid=answer),
    )  # fmt: skip
    out = []
    while queue:
        stack.process()
        while stack.available():
            out.append(bytes(stack.recv() or b""))
    stack.process()
    while stack.available():
        out.append(bytes(stack.recv() or b""))
    assert not errors
    return out


@pytest.mark.parametrize("bits", [11, 29])
@pytest.mark.parametrize("profile", PROFILES)
def test_obd_reads_each_answer(profile: str, bits: int) -> None:
    """Both the frames and the scaling by the obd library; values against the exact run."""
    simulation = drive(profile, bits)
    kind = ISO_15765_4_11bit_500k if bits == 11 else ISO_15765_4_29bit_500k
    _, answer = IDS[bits]
    protocol = kind(
        [line(m, bits) for m in messages(simulation) if m.arbitration_id == answer][:1]
    )  # which module is which
    checks = {"RPM": ("speed_over_cycle", 60.0), "COOLANT_TEMP": ("coolant_temperature", 1.0),
              "SPEED": ("vehicle_speed", 1.0), "INTAKE_PRESSURE": ("intake_manifold_pressure", 4.0),
              "CONTROL_MODULE_VOLTAGE": ("control_module_voltage", 0.25),
              "FUEL_INJECT_TIMING": ("injection_timing_actual", 0.6),
              "FUEL_RAIL_PRESSURE_DIRECT": ("fuel_rail_pressure_actual", 2500.0),
              "SHORT_FUEL_TRIM_1": ("short_term_fuel_trim_1", 1.5)}  # fmt: skip
    seen: dict[str, list[tuple[float, float]]] = {name: [] for name in checks}
    for m in messages(simulation):
        if m.arbitration_id == answer and m.data[0] < 8 and m.data[1] == 0x41 and obd.commands.has_pid(1, m.data[2]):
            command = obd.commands[1][m.data[2]]
            if command.name in checks:
                value = command(protocol([line(m, bits)])).value
                seen[command.name].append((m.timestamp - simulate.Bus().start_unix_s, float(value.magnitude)))
    pids = parameters.engines()[profile].pids
    found = [name for name, rows in seen.items() if rows]
    assert {"RPM", "COOLANT_TEMP", "SPEED"} <= set(found)
    assert ("SHORT_FUEL_TRIM_1" in found) == (0x06 in pids)
    for name in found:
        channel, tolerance = checks[name]
        time, value = np.array(seen[name]).T
        off = np.abs(value - simulation.signals.exact(channel, time - 0.004))
        assert np.percentile(off, 95) < tolerance, name


@pytest.mark.parametrize("bits", [11, 29])
@pytest.mark.parametrize("profile", PROFILES)
def test_identity_by_can_isotp(profile: str, bits: int) -> None:
    found = payloads(drive(profile, bits), bits)
    engine = parameters.engines()[profile]
    assert b"\x49\x02\x01" + engine.vin.encode() in found
    assert next(p for p in found if p[:3] == b"\x49\x04\x01")[3:].rstrip(b"\0") == engine.calibration.encode()
    assert {payload[0] for payload in found} == {0x41, 0x43, 0x47, 0x49}


def test_codes_by_obd_are_those_of_the_truth() -> None:
    simulation = drive("training_rail_v8", 11, "pedal_tracks_disagree")
    told = {c["code"] for c in simulation.truth()["codes"] if c["confirmed_s"] is not None}
    assert told == {"P2138"}
    answers = [line(m, 11) for m in messages(simulation) if m.arbitration_id == 0x7E8 and m.data[1] == 0x43]
    first, last = (obd.commands.GET_DTC(ISO_15765_4_11bit_500k([a])([a])).value for a in (answers[0], answers[-1]))
    assert first == []
    assert {code for code, _ in last} == told
