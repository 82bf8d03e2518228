"""Diagnosis on two buses of one file, and two vehicle identification numbers in one.

Frames are written by python-can, long messages cut up by scapy (ISO 15765-2), values compared with the decoders of
python-OBD (SAE J1979). One identifier on two buses is two modules: ISO 15765-4 gives it a meaning on one bus alone.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import can
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from j1979_messages import messages
from msgspec import structs
from obd import commands
from obd.protocols.protocol import Message as ObdMessage
from scapy.config import conf

conf.contribs["ISOTP"] = {"use-can-isotp-kernel-module": False}

from scapy.contrib.isotp import ISOTP  # noqa: E402  (its kernel module is not asked for)

from logan.decode import by_bus, j1979, uds, vins  # noqa: E402
from logan.errors import UsageError  # noqa: E402
from logan.pipeline.decode import decode_channels  # noqa: E402
from logan.pipeline.gather import Gathered, gather  # noqa: E402

ASKED, ENGINE, GEARBOX = 0x7DF, 0x7E8, 0x7E9
FIRST_VIN, SECOND_VIN = "ZZZAAAAAAAA000001", "ZZZBBBBBBBB000002"
Said = tuple[float, str, int, bytes]


def written(path: Path, said: list[Said]) -> Path:
    """Payloads at a time, on a bus, by an identifier, as a log: each frame of a long one 1 ms after the one before."""
    frames = [
        (t + 0.001 * k, bus, identifier, part)
        for t, bus, identifier, payload in said
        for k, part in enumerate(cut_up(payload))
    ]
    with can.CanutilsLogWriter(path) as log:
        for t, bus, identifier, data in sorted(frames):
            log.on_message_received(
                can.Message(
                    timestamp=1.7e9 + t,
                    arbitration_id=identifier,
                    is_extended_id=identifier > 0x7FF,
                    data=data,
                    channel=bus,
                )
            )
    return path


def cut_up(payload: bytes) -> Iterator[bytes]:
    for frame in ISOTP(payload).fragment():
        yield bytes(frame.data)


def by_name(found: Gathered, name: str) -> dict[str, np.ndarray]:
    return {channel.ecu: channel.value for channel in found.signals if channel.name == name}


def spoken(data: bytes) -> float:
    """Engine speed of an answer by python-OBD."""
    message = ObdMessage([])
    message.data = bytearray(data)
    value = commands.RPM.decode([message]).magnitude
    return float(value)


def test_one_identifier_on_two_buses_is_two_modules(tmp_path: Path) -> None:
    slow, fast = bytes.fromhex("410C0C80"), bytes.fromhex("410C1F40")
    said = []
    for k in range(100):
        for bus, late, data in (("can0", 0.0, slow), ("can1", 0.003, fast)):
            said += [(0.05 * k + late, bus, ASKED, b"\x01\x0c"), (0.05 * k + late + 0.01, bus, ENGINE, data)]
    path = written(tmp_path / "two.log", said)
    found = gather([path])
    speeds = {ecu: set(value.tolist()) for ecu, value in by_name(found, "engine_speed").items()}
    assert speeds == {"7E8 can0": {spoken(slow)}, "7E8 can1": {spoken(fast)}} == {
        "7E8 can0": {800.0}, "7E8 can1": {2000.0},
    }  # fmt: skip
    assert found.vehicle.ecus == ["7E8 can0", "7E8 can1"]
    assert not [remark for remark in found.remarks if "request" in remark.text]
    shown = {channel.name: (len(channel), float(np.median(channel.value))) for channel in decode_channels([path])}
    assert shown == {"engine_speed": (100, 800.0), "engine_speed@7E8 can1": (100, 2000.0)}


def test_two_engines_in_one_file_are_said(tmp_path: Path) -> None:
    said = []
    for k in range(100):
        for bus, data in (("can0", b"\x41\x0c\x0c\x80"), ("can1", b"\x41\x0c\x1f\x40")):
            said += [(0.05 * k, bus, ASKED, b"\x01\x0c"), (0.05 * k + 0.01, bus, ENGINE, data)]
    (told,) = (one for one in gather([written(tmp_path / "two.log", said)]).remarks if one.kind == "several_buses")
    assert told.text.startswith("7E8 answers on several buses")


@pytest.mark.parametrize("lost", [[], [40], [0, 1, 2, 3, 4, 5], [99], list(range(0, 100, 15))])
def test_one_bus_on_two_channels_is_one_whatever_a_channel_lost(tmp_path: Path, lost: list[int]) -> None:
    """Both hear the same answers 1 ms apart, but for those that one of them lost or was not there for yet."""
    said = []
    for k in range(100):
        speed = b"\x41\x0c" + (3200 + 7 * k).to_bytes(2, "big")
        for bus, late in (("can0", 0.0), ("can1", 0.001)):
            if bus == "can0" or k not in lost:
                said += [(0.05 * k + late, bus, ASKED, b"\x01\x0c"), (0.05 * k + late + 0.01, bus, ENGINE, speed)]
    found = gather([written(tmp_path / "twice.log", said)])
    assert found.vehicle.ecus == ["7E8"]
    assert {ecu: len(value) for ecu, value in by_name(found, "engine_speed").items()} == {"7E8": 100}
    assert "same_on_two_buses" in {remark.kind for remark in found.remarks}


def test_requests_pair_on_their_own_bus(tmp_path: Path) -> None:
    """A request on the other bus stands nearer to the answer: the middle is that of the answer's own bus."""
    said = []
    for k in range(20):
        t = 0.5 * k
        said += [(t, "can0", ASKED, b"\x01\x05"), (t + 0.08, "can1", ASKED, b"\x01\x05")]
        said += [(t + 0.1, "can0", ENGINE, b"\x41\x05\x7b"), (t + 0.12, "can1", GEARBOX, b"\x41\x05\x50")]
    found = gather([written(tmp_path / "two.log", said)])
    half = {channel.ecu: channel.half_width_s for channel in found.signals}
    assert half == pytest.approx({"7E8": 0.05, "7E9": 0.02}, abs=1e-6)  # names stay: neither answers on both buses


def test_service_22_codes_and_refusals_stay_apart_too(tmp_path: Path) -> None:
    """ISO 14229-1: 62 F40C, 59 02, 7F; the codes P0133 and P0087 of SAE J2012."""
    said = []
    for bus, late, speed, code in (("can0", 0.0, "0C80", "013300"), ("can1", 0.02, "1F40", "008700")):
        for k, (asked, told) in enumerate(
            (("22F40C", f"62F40C{speed}"), ("1902FF", f"5902FF{code}09"), ("22F45C", "7F2231"))
        ):
            said += [(k + late, bus, 0x7E0, bytes.fromhex(asked)), (k + late + 0.01, bus, ENGINE, bytes.fromhex(told))]
    found = gather([written(tmp_path / "two.log", said)])
    assert {ecu: v.tolist() for ecu, v in by_name(found, "engine_speed").items()} == {
        "7E8 can0": [800.0], "7E8 can1": [2000.0],
    }  # fmt: skip
    assert {(one.code, one.ecu) for one in found.vehicle.codes} == {("P0133", "7E8 can0"), ("P0087", "7E8 can1")}
    assert {(one.ecu, one.count) for one in found.vehicle.refusals} == {("7E8 can0", 1), ("7E8 can1", 1)}


@pytest.mark.parametrize("lost", [0, 1])
def test_a_gateways_copies_are_left_out_and_said(tmp_path: Path, lost: int) -> None:
    said = []
    for k in range(50):
        answer = b"\x41\x0c" + (3200 + k).to_bytes(2, "big")
        for bus, late in (("can0", 0.0), ("can1", 0.002)):
            said += [(0.1 * k + late, bus, ASKED, b"\x01\x0c"), (0.1 * k + late + 0.01, bus, ENGINE, answer)]
    said = said[: len(said) - 2 * lost]  # the record ends before the last copy
    found = gather([written(tmp_path / "two.log", said)])
    assert {ecu: len(value) for ecu, value in by_name(found, "engine_speed").items()} == {"7E8": 50}
    told = {remark.kind: remark for remark in found.remarks}
    assert set(told) == {"same_on_two_buses"}
    assert told["same_on_two_buses"].count == 50 - lost
    assert found.vehicle.services == {"01": 50}


def test_a_log_of_one_bus_keeps_its_names(tmp_path: Path) -> None:
    said = [(0.1, "can3", ENGINE, b"\x41\x0c\x0c\x80"), (0.2, "can0", 0x123, b"\x01\x02\x03\x04\x05\x06\x07")]
    found = gather([written(tmp_path / "one.log", said)])
    assert list(by_name(found, "engine_speed")) == ["7E8"]


def vin(text: str) -> bytes:
    return b"\x49\x02\x01" + text.encode()


@pytest.mark.parametrize(
    ("said", "taken", "told"),
    [
        # both are engines': the first that was said
        ([(0.0, "can1", ENGINE, vin(SECOND_VIN)), (0.5, "can0", ENGINE, vin(FIRST_VIN))], SECOND_VIN,
         ("7E8 can0", "7E8 can1")),
        ([(0.0, "can0", GEARBOX, vin(SECOND_VIN)), (1.0, "can0", ENGINE, vin(FIRST_VIN))], FIRST_VIN, ("7E9", "7E8")),
        ([(0.0, "can0", ENGINE, vin(FIRST_VIN)), (1.0, "can0", ENGINE, vin(SECOND_VIN))], FIRST_VIN, ("7E8",)),
        ([(0.0, "can0", ENGINE, vin(FIRST_VIN)), (1.0, "can0", ENGINE, vin(SECOND_VIN)),
          (2.0, "can0", ENGINE, vin(FIRST_VIN))], FIRST_VIN, ("7E8",)),
        ([(0.0, "can0", ENGINE, vin(FIRST_VIN)), (1.0, "can0", ENGINE, b"\x62\xf1\x90" + SECOND_VIN.encode())],
         FIRST_VIN, ("7E8",)),
        ([(k + 0.1 * n, "can0", 0x18DAF110, b"\x49\x02" + bytes((n + 1,)) + f"\0\0\0{text}".encode()[4 * n :][:4])
          for k, text in enumerate((FIRST_VIN, SECOND_VIN)) for n in range(5)], FIRST_VIN, ("18DAF110",)),
    ],
    ids=["two buses", "gearbox first", "one says two", "first again", "by service 22", "in parts"],
)  # fmt: skip
def test_two_vins_in_one_file_are_said(tmp_path: Path, said: list[Said], taken: str, told: tuple[str, ...]) -> None:
    """No number is lost, none wins by being the last; a module from another vehicle: common practice, no source."""
    found = gather([written(tmp_path / "two.log", said)])
    remark = next(remark for remark in found.remarks if remark.kind == "vin_differs")
    assert remark.count == 2
    assert all(word in remark.text for word in (FIRST_VIN, SECOND_VIN, *told))
    assert found.vehicle.vin == taken


def test_a_module_of_another_vehicle_does_not_part_the_files(tmp_path: Path) -> None:
    both = [(0.0, "can0", ENGINE, vin(FIRST_VIN)), (1.0, "can0", GEARBOX, vin(SECOND_VIN))]
    first = written(tmp_path / "first.log", both)
    second = written(tmp_path / "second.log", [(9.0, "can0", GEARBOX, vin(SECOND_VIN))])
    third = written(tmp_path / "third.log", [(19.0, "can0", ENGINE, vin("ZZZCCCCCCCC000003"))])
    assert gather([second, first]).vehicle.vin == FIRST_VIN
    with pytest.raises(UsageError, match=f"{FIRST_VIN}.*ZZZCCCCCCCC000003"):
        gather([first, third])


def test_only_differing_numbers_are_told() -> None:
    assert not list(vins.differing({"7E8": [FIRST_VIN], "7E9": [FIRST_VIN]}))
    assert vins.chosen({}) is None


TRAFFIC = st.lists(
    st.tuples(
        st.integers(0, 2), st.sampled_from((ASKED, 0x7E0, ENGINE, GEARBOX, 0x51C)),
        st.one_of(
            st.sampled_from([bytes.fromhex(h) for h in (
                "010C", "410C0C80", "410C1F40", "03", "43010133", "22F40C", "62F40C0C80", "1902FF", "5902FF01330009",
                "7F0131", "490201", "4101820765E5",
            )]),
            st.binary(max_size=12),
        ),
    ),
    max_size=30,
)  # fmt: skip


@given(TRAFFIC)
@settings(max_examples=300, deadline=None)
def test_what_each_bus_says_by_itself_is_what_all_say(said: list[tuple[int, int, bytes]]) -> None:
    """Nothing is lost, nothing goes over to another bus: each bus alone is the witness."""
    whole = messages([(0.2 * k, identifier, data) for k, (_, identifier, data) in enumerate(said)])
    whole = structs.replace(whole, bus=np.array([bus for bus, _, _ in said], np.uint8))
    for family, (channels, vehicle, remarks) in zip(
        (j1979.decode, uds.decode), by_bus.decode(whole, ("a", "b", "c"), ""), strict=True
    ):
        alone = []
        for bus in range(3):
            some = [(0.2 * k, identifier, data) for k, (b, identifier, data) in enumerate(said) if b == bus]
            alone.append(family(messages(some)))
        ours = sorted((c.name, c.ecu[:3], c.t_s.tolist(), c.value.tolist()) for c in channels)
        theirs = sorted((c.name, c.ecu, c.t_s.tolist(), c.value.tolist()) for found, _, _ in alone for c in found)
        assert repr(ours) == repr(theirs)  # values that are no numbers are equal here
        told = sorted((code.code, code.status, code.ecu[:3]) for code in vehicle.codes)
        assert told == sorted((c.code, c.status, c.ecu) for _, one, _ in alone for c in one.codes)
        assert sum(vehicle.services.values()) == sum(sum(one.services.values()) for _, one, _ in alone)
        assert len({code.ecu for code in vehicle.codes}) == len(
            {(bus, code.ecu) for bus, (_, one, _) in enumerate(alone) for code in one.codes}
        )
        assert {r.kind for r in remarks} - {"same_on_two_buses", "several_buses"} == {
            r.kind for _, _, some in alone for r in some
        }
