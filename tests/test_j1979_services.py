"""Services 02 to 0A, several parameters in an answer, requests and answers: published examples and libraries."""

from __future__ import annotations

import csv
import random
from pathlib import Path

import numpy as np
import pytest
from j1979_messages import Said, decode, kinds, messages
from j1979_oracles import obd_message
from msgspec.structs import replace
from obd import commands
from obd.decoders import parse_dtc
from obd.UnitsAndScaling import UAS_IDS
from scapy.contrib.automotive.obd.obd import OBD
from udsoncan import Response

from logan.decode import dtc, j1979
from logan.knowledge import obd
from logan.model.vehicle import Vehicle

ENGINE, GEARBOX = 0x7E8, 0x7E9
ENGINE_29 = 0x18DAF110


def examples(*topics: str) -> list[dict[str, str]]:
    """Worked examples: published ones, and ones that a named library computed."""
    path = Path(__file__).parent / "data" / "obd" / "worked_examples.csv"
    with path.open(encoding="utf-8", newline="") as file:
        rows = [row for row in csv.DictReader(file) if row["topic"] in topics]
    assert rows
    return rows


def by_id(row: dict[str, str]) -> str:
    return f"{row['id']}_{row['field'].replace(' ', '_').replace('/', '')}"


@pytest.mark.parametrize("row", examples("service01"), ids=by_id)
def test_worked_value(row: dict[str, str]) -> None:
    found, _, _ = decode((0.0, ENGINE, row["input"]))
    if row["id"] == "W023":  # the source prints the bits; rail B is marked as not supported, so nothing is shown
        assert row["field"] not in found
        return
    channel = found[row["field"]]
    assert channel.value[0] == pytest.approx(float(row["expected"]), abs=5e-3 if row["unit"] == "%" else 1e-3)
    assert channel.unit == row["unit"]


@pytest.mark.parametrize("row", examples("service01 support"), ids=by_id)
def test_worked_supported_pids(row: dict[str, str]) -> None:
    _, vehicle, _ = decode((0.0, ENGINE, row["input"]))
    assert vehicle.supported_pids == {"7E8": [int(pid, 16) for pid in row["expected"].split()]}


def test_worked_readiness() -> None:
    spark, compression = (decode((0.0, ENGINE, row["input"]))[1] for row in examples("service01 monitor"))
    assert (spark.mil, spark.ignition) == (True, "spark")
    states = dict.fromkeys(("catalyst", "oxygen_sensor", "oxygen_sensor_heater"), "complete")
    assert (
        spark.readiness.items() >= (states | {"evaporative_system": "incomplete", "egr_vvt": "not supported"}).items()
    )
    assert (compression.mil, compression.ignition) == (True, "compression")
    assert compression.readiness == {
        "misfire": "complete", "fuel_system": "complete", "comprehensive_component": "complete",
        "nmhc_catalyst": "complete", "nox_aftertreatment": "complete", "boost_pressure": "incomplete",
        "exhaust_gas_sensor": "complete", "particulate_filter": "not supported", "egr_vvt": "not supported",
    }  # fmt: skip


OBD_MONITORS = {
    "misfire": "MISFIRE_MONITORING", "fuel_system": "FUEL_SYSTEM_MONITORING",
    "comprehensive_component": "COMPONENT_MONITORING", "catalyst": "CATALYST_MONITORING",
    "heated_catalyst": "HEATED_CATALYST_MONITORING", "evaporative_system": "EVAPORATIVE_SYSTEM_MONITORING",
    "secondary_air": "SECONDARY_AIR_SYSTEM_MONITORING", "oxygen_sensor": "OXYGEN_SENSOR_MONITORING",
    "oxygen_sensor_heater": "OXYGEN_SENSOR_HEATER_MONITORING", "egr_vvt": "EGR_VVT_SYSTEM_MONITORING",
    "nmhc_catalyst": "NMHC_CATALYST_MONITORING", "nox_aftertreatment": "NOX_SCR_AFTERTREATMENT_MONITORING",
    "boost_pressure": "BOOST_PRESSURE_MONITORING", "exhaust_gas_sensor": "EXHAUST_GAS_SENSOR_MONITORING",
    "particulate_filter": "PM_FILTER_MONITORING",
}  # fmt: skip


def test_readiness_as_the_obd_library_reads_it() -> None:
    """All monitors of both ignition types but the gasoline particulate filter, which the library does not know."""
    dice = random.Random(1)
    for _ in range(200):
        data = dice.randbytes(4)
        _, vehicle, _ = decode((0.0, ENGINE, "4101" + data.hex()))
        status = commands.STATUS.decode([obd_message(b"\x41\x01" + data)])
        assert (vehicle.mil, vehicle.ignition) == (status.MIL, status.ignition_type)
        told = {name: state for name, state in vehicle.readiness.items() if name != "gasoline_particulate_filter"}
        assert len(told) == (9 if status.ignition_type == "compression" else 10)
        for name, state in told.items():
            test = getattr(status, OBD_MONITORS[name])
            # the library calls a monitor complete or not even where it is not supported
            expected = "not supported" if not test.available else "complete" if test.complete else "incomplete"
            assert state == expected


def test_readiness_of_several_modules_and_this_drive_cycle() -> None:
    """The worse state counts; a gearbox without monitors does not decide the ignition type."""
    _, vehicle, remarks = decode(
        (0.0, GEARBOX, "410100040000"), (0.1, ENGINE, "4101000F0000"), (0.2, ENGINE, "4101810F0100"),
        (0.3, GEARBOX, "410100440000"), (0.4, ENGINE, "4141000F0101"),
    )  # fmt: skip
    assert vehicle.ignition == "compression"
    assert vehicle.mil is True
    assert vehicle.readiness["comprehensive_component"] == "incomplete"
    assert vehicle.readiness["nmhc_catalyst"] == "complete"
    assert vehicle.readiness["nmhc_catalyst_this_drive_cycle"] == "incomplete"
    assert "ignition_type_differs" not in kinds(remarks)
    assert vehicle.ecus == ["7E8", "7E9"]
    _, _, remarks = decode((0.0, ENGINE, "4101000F0100"), (0.1, GEARBOX, "410100070100"))
    assert kinds(remarks)["ignition_type_differs"] == 2


@pytest.mark.parametrize("row", examples("service03", "dtc"), ids=by_id)
def test_worked_codes(row: dict[str, str]) -> None:
    payload = row["input"] if row["topic"] == "service03" else "43 01 " + row["input"]
    for service, status in (("43", "confirmed"), ("47", "pending"), ("4A", "permanent")):
        _, vehicle, remarks = decode((2.0, ENGINE, service + payload[2:]))
        assert [code.code for code in vehicle.codes] == row["expected"].split()
        assert {(code.status, code.ecu, code.t_s) for code in vehicle.codes} == {(status, "7E8", 2.0)}
        assert not remarks


def test_every_code_as_the_obd_library_writes_it() -> None:
    for number in range(1, 1 << 16):
        assert dtc.code_of(number) == parse_dtc(number.to_bytes(2, "big"))[0].upper()


def test_titles() -> None:
    """Sentences in our words; families go on to the ranking; makers' codes are called so (SAE J2012)."""
    assert dtc.describe("P0340") == ("Camshaft position sensor A, bank 1: circuit fault", "cam")
    assert dtc.describe("P0016")[1] == "crank_cam_correlation"
    assert dtc.describe("P0301") == ("Cylinder 1 misfire", "misfire")
    assert dtc.describe("P0087")[1] == "rail"
    assert dtc.describe("P1234") == ("Power train: code of the maker", "")
    assert dtc.describe("P3400") == ("Power train: code without a title here", "")
    assert dtc.describe("U0100") == ("Network: code without a title here", "")
    assert len(obd.code_titles()) > 1100
    for code, parts in obd.code_titles().items():
        title, family = dtc.describe(code)
        assert family == parts.family
        assert title.isascii()
        assert title[0] == "1" or title[0].isupper()
        assert "  " not in title
        assert not title.endswith((":", ","))


def test_codes_are_told_once_and_bad_counts_are_remarked() -> None:
    _, vehicle, remarks = decode(
        (1.0, ENGINE, "43010087"), (2.0, ENGINE, "43010087"), (3.0, GEARBOX, "43010087"), (4.0, ENGINE, "4300"),
        (5.0, ENGINE, "43020087"), (6.0, ENGINE, "43008700000000"),
    )  # fmt: skip
    assert [(code.code, code.ecu, code.t_s) for code in vehicle.codes] == [("P0087", "7E8", 1.0), ("P0087", "7E9", 3.0)]
    assert kinds(remarks) == {"code_count_differs": 1}
    assert vehicle.services == {"03": 6}


def test_scalings_as_the_obd_library_reads_them() -> None:
    """Service 06, every unit-and-scaling id."""
    dice = random.Random(2)
    seen = 0
    for scaling_id, scaling in obd.scalings().items():
        for raw in (b"\x00\x01", b"\x80\x00", b"\xff\xff", dice.randbytes(2)):
            if scaling.quantity == "true_false":  # the library makes a truth of it
                continue
            theirs = float(UAS_IDS[scaling_id](raw).magnitude)
            record = bytes([0x46, 0xA2, 0x0B, scaling_id]) + raw + b"\x00\x01\x00\x01"
            _, vehicle, _ = decode((0.0, ENGINE, record.hex()))
            assert vehicle.monitor_tests[0].value == pytest.approx(theirs, rel=1e-5)
            seen += 1
    assert seen == 4 * 91
    for row in examples("service06 scaling"):
        scaling_id = int(row["context" if "UAS" in row["context"] else "field"].split("UAS ")[-1], 16)
        record = f"46A20B{scaling_id:02X}{row['input']}00010001"
        _, vehicle, _ = decode((0.0, ENGINE, record))
        assert vehicle.monitor_tests[0].value == pytest.approx(float(row["expected"]))


def test_monitor_tests() -> None:
    """W058 of the worked examples, and several records in one answer as scapy reads them."""
    [row] = examples("service06")
    _, vehicle, _ = decode((0.0, ENGINE, row["input"]))
    [test] = vehicle.monitor_tests
    value, low, high = (float(text) for text in row["expected"].split(" / "))
    assert (test.value, test.low, test.high, test.unit, test.passed) == (value, low, high, "count", True)
    assert test.name == "misfire cylinder 1 data: misfire count average last 10 cycles"

    payload = bytes.fromhex("4621800A10000800180021810A200008001800A20C2400010000FFFF050B81FFFE00000001")
    _, vehicle, _ = decode((0.0, ENGINE, payload.hex()))
    theirs = OBD(payload).data_records
    assert len(theirs) == len(vehicle.monitor_tests) == 4
    for record, test in zip(theirs, vehicle.monitor_tests, strict=True):
        values = record.standardized_test if hasattr(record, "standardized_test") else record.payload
        assert test.monitor_id == record.mid
        assert (test.value, test.low, test.high) == pytest.approx(
            (float(values.test_value), float(values.min_limit), float(values.max_limit)), rel=1e-3
        )
    assert [test.passed for test in vehicle.monitor_tests] == [True, False, True, False]


def test_monitor_tests_that_say_nothing() -> None:
    _, vehicle, remarks = decode(
        (0.0, ENGINE, "4600C0000001"), (1.0, ENGINE, "46A20B24000000000000"), (2.0, ENGINE, "46A20BEE000100000002"),
        (3.0, ENGINE, "4601020304"),
    )  # fmt: skip
    assert [test.unit for test in vehicle.monitor_tests] == ["raw"]
    assert kinds(remarks) == {"unknown_scaling": 1, "monitor_test_unread": 1}
    _, vehicle, remarks = decode((1.0, ENGINE, "46A20B24000000000000"))
    assert not vehicle.monitor_tests
    assert kinds(remarks) == {"monitor_test_not_run": 1}


def test_worked_vin() -> None:
    """On CAN in one answer, on older links in five parts; scapy reads the first the same way."""
    on_can, in_parts = examples("service09 vin")
    _, vehicle, _ = decode((0.0, ENGINE, on_can["input"]))
    assert vehicle.vin == on_can["expected"]
    theirs = OBD(bytes.fromhex(on_can["input"])).data_records[0].payload.vehicle_identification_numbers
    assert [vin.decode() for vin in theirs] == [vehicle.vin]
    parts = [
        part.replace("48 6B 10 49 02", "..").strip(" .").removesuffix(" ck") for part in in_parts["input"].split("|")
    ]
    said = [(float(k), ENGINE, f"49 02 {part}") for k, part in enumerate(parts)]
    _, vehicle, _ = decode(*reversed(said))
    assert vehicle.vin == in_parts["expected"]
    _, vehicle, remarks = decode(*said[:2], *said[3:])
    assert vehicle.vin is None
    assert "part 3 of the vehicle identification number" in remarks[0].text


NEUTRAL_VIN = "1" * 17


def test_vin_without_count_and_odd_ones() -> None:
    assert decode((0.0, ENGINE, "4902" + NEUTRAL_VIN.encode().hex()))[1].vin == NEUTRAL_VIN
    padded = b"\x00\x00\x00" + NEUTRAL_VIN.encode()
    assert decode((0.0, ENGINE, "490201" + padded.hex()))[1].vin == NEUTRAL_VIN
    for body, kind in (
        (b"", "information_empty"), (b"11111", "vin_incomplete"), (b"<b>1\x1b[31m1111\xff11", "vin_incomplete"),
        (b"1111111111111111I", "vin_odd"),
    ):  # fmt: skip
        _, vehicle, remarks = decode((0.0, ENGINE, "490201" + body.hex()))
        assert kinds(remarks) == {kind: 1}
        assert vehicle.vin is None or vehicle.vin.isprintable()
    _, vehicle, remarks = decode(
        (0.0, ENGINE, "490201" + NEUTRAL_VIN.encode().hex()), (1.0, GEARBOX, "490201" + (b"2" * 17).hex())
    )
    assert vehicle.vin == NEUTRAL_VIN
    assert not remarks
    assert vehicle.vins == {"7E8": [NEUTRAL_VIN], "7E9": ["2" * 17]}


def test_vehicle_information() -> None:
    """Calibrations, their verification numbers, counters and names; the layout as scapy reads it."""
    calibrations = b"TRAIN-CAL-0001\x00\x00" + b"TRAIN-CAL-0002\x00\x00"
    name = b"ECM\x00-EngineControl\x00\x00"
    counters = b"".join(k.to_bytes(2, "big") for k in range(100, 118))
    payloads = {
        "calibration": b"\x49\x04\x02" + calibrations, "cvn": b"\x49\x06\x02" + bytes.fromhex("0012ABCD89ABCDEF"),
        "counters": b"\x49\x0b\x12" + counters, "name": b"\x49\x0a\x01" + name,
    }  # fmt: skip
    _, vehicle, remarks = decode(*((float(k), ENGINE, p.hex()) for k, p in enumerate(payloads.values())))
    assert not remarks
    theirs = {key: OBD(payload).data_records[0].payload for key, payload in payloads.items()}
    assert vehicle.calibration_ids == ["TRAIN-CAL-0001", "TRAIN-CAL-0002"]
    assert vehicle.calibration_ids == [
        c.rstrip(b"\x00").decode() for c in theirs["calibration"].calibration_identifications
    ]
    assert vehicle.cvns == ["0012ABCD", "89ABCDEF"]
    assert vehicle.cvns == [bytes(c).hex().upper() for c in theirs["cvn"].calibration_verification_numbers]
    assert vehicle.ecu_names == {"7E8": "ECM-EngineControl"}
    assert vehicle.counters["ignition_cycles"] == 101
    assert vehicle.counters["boost_pressure_conditions"] == 115
    assert list(vehicle.counters.values()) == list(range(100, 118))


def test_information_without_a_count() -> None:
    """Seen in recordings: control modules that leave out the number of items."""
    name, calibration = b"TCM\x00-GearboxControl\x00", b"TRAIN-CAL-0001\x00\x00"
    _, vehicle, remarks = decode(
        (0.0, ENGINE, "490A" + name.hex()), (1.0, ENGINE, "4904" + calibration.hex()),
        (2.0, ENGINE, "4906" + "0012ABCD89ABCDEF"), (3.0, ENGINE, "4908" + "00010002"),
    )  # fmt: skip
    assert not remarks
    assert vehicle.ecu_names == {"7E8": "TCM-GearboxControl"}
    assert vehicle.calibration_ids == ["TRAIN-CAL-0001"]
    assert vehicle.cvns == ["0012ABCD", "89ABCDEF"]
    assert vehicle.counters == {"obd_monitoring_conditions_encountered": 1, "ignition_cycles": 2}


def test_calibration_in_parts_with_one_missing() -> None:
    """Older links, four bytes a message; seen in recordings: part 2 never came."""
    _, vehicle, remarks = decode(
        (0.0, ENGINE, "490401" + b"TRAI".hex()), (1.0, ENGINE, "490403" + b"AL-0".hex()),
        (2.0, ENGINE, "490404" + b"001 ".hex()),
    )  # fmt: skip
    assert vehicle.calibration_ids == ["TRAI????AL-0001"]
    assert "part 2 of the calibration id was not recorded" in remarks[0].text


def test_information_that_came_in_part() -> None:
    _, vehicle, remarks = decode(
        (0.0, ENGINE, "490402" + b"TRAIN-CAL-0001\x00\x00".hex()), (1.0, ENGINE, "490D01" + b"SERIAL".hex()),
        (2.0, ENGINE, "49005540000000"),
    )  # fmt: skip
    assert vehicle.calibration_ids == ["TRAIN-CAL-0001"]
    assert kinds(remarks) == {"information_part_missing": 1, "information_not_shown": 1}


def test_freeze_frame() -> None:
    """The frame number is taken out, so the data are those of service 01; scapy reads the same number."""
    payload = bytes.fromhex("420C001AF805007B")
    _, vehicle, _ = decode((0.0, ENGINE, "4202000087"), (1.0, ENGINE, payload.hex()), (2.0, GEARBOX, "4202000000"))
    [frame] = vehicle.freeze_frames
    assert (frame.ecu, frame.number, frame.code) == ("7E8", 0, "P0087")
    assert frame.values == {"engine_speed": (1726.0, "rpm"), "engine_coolant_temperature": (83.0, "degC")}
    theirs = [record.payload.data for record in OBD(payload).data_records]
    assert theirs == [1726.0, 83.0]
    _, vehicle, _ = decode((0.0, ENGINE, "4202010087"), (1.0, ENGINE, "420C010FA0"), (2.0, ENGINE, "420C021AF8"))
    assert [(f.number, f.code, f.values["engine_speed"][0]) for f in vehicle.freeze_frames] == [
        (1, "P0087", 1000.0), (2, None, 1726.0)
    ]  # fmt: skip


def test_refusals() -> None:
    """Names of the reasons are ours; udsoncan says which codes exist. "Response pending" is no refusal."""
    _, vehicle, _ = decode(
        (0.0, ENGINE, "7F0131"), (1.0, ENGINE, "7F0131"), (2.0, ENGINE, "7F0178"), (3.0, GEARBOX, "7F2733"),
        (4.0, ENGINE, "7F02"),
    )  # fmt: skip
    assert [(r.ecu, r.service, r.code, r.meaning, r.count) for r in vehicle.refusals] == [
        ("7E8", 0x01, 0x31, "request out of range", 2), ("7E9", 0x27, 0x33, "security access denied", 1)
    ]  # fmt: skip
    listed = {value for value in vars(Response.Code).values() if isinstance(value, int) and 0 < value < 0x95}
    # 3B to 3F: names of an older link security, gone from the standard
    assert listed - obd.negative_responses().keys() <= set(range(0x3B, 0x40))
    assert len(listed & obd.negative_responses().keys()) >= 38
    for row in examples("uds"):
        _, vehicle, _ = decode((0.0, ENGINE, row["input"]))
        assert vehicle.refusals[0].meaning in row["expected"]


def test_clearing_and_control_are_never_missed() -> None:
    _, vehicle, remarks = decode((0.0, 0x7DF, "04"), (0.1, ENGINE, "44"), (0.2, GEARBOX, "44"))
    assert vehicle.services == {"04": 2}
    assert kinds(remarks) == {"codes_cleared": 2}
    assert remarks[0].places == ("t = 0.100 s, id 7E8", "t = 0.200 s, id 7E9")
    _, vehicle, remarks = decode((0.0, 0x7DF, "04"), (0.1, ENGINE, "7F0422"), (0.2, 0x7E0, "08010000000000"))
    assert vehicle.services == {"04": 1, "08": 1}
    assert kinds(remarks) == {"codes_cleared_asked": 1, "system_controlled_asked": 1}


def test_middle_of_request_and_answer() -> None:
    """Functional and physical requests, 11 and 29 bits; each module is paired for itself."""
    found, _, remarks = decode(
        (0.00, 0x7DF, "010C"), (0.02, ENGINE, "410C1AF8"), (0.04, GEARBOX, "410C1AF8"),
        (1.00, 0x7E0, "010C"), (1.04, ENGINE, "410C1AF8"),
        (2.00, 0x18DB33F1, "0105"), (2.06, ENGINE_29, "41057B"),
        (3.00, 0x18DA10F1, "0105"), (3.06, ENGINE_29, "41057B"),
    )  # fmt: skip
    assert not remarks
    assert found["engine_coolant_temperature"].t_s == pytest.approx([2.03, 3.03])
    assert found["engine_coolant_temperature"].half_width_s == pytest.approx(0.03)
    assert found["engine_coolant_temperature"].ecu == "18DAF110"
    both = j1979.decode(
        messages([(0.0, 0x7DF, b"\x01\x0c"), (0.02, ENGINE, b"\x41\x0c\x1a\xf8"), (0.04, GEARBOX, b"\x41\x0c\x1a\xf8")])
    )[0]
    assert [(c.ecu, c.t_s[0], c.half_width_s) for c in both] == [
        ("7E8", pytest.approx(0.01), pytest.approx(0.01)), ("7E9", pytest.approx(0.02), pytest.approx(0.02))
    ]  # fmt: skip


def test_first_frame_counts_for_long_answers() -> None:
    """An answer of two frames: its value was true before the first of them."""
    said: list[Said] = [(0.0, 0x7DF, b"\x01\x6d"), (0.03, ENGINE, bytes.fromhex("416D07271027745A0000000000"))]
    both = messages(said)
    [channel, *_] = j1979.decode(replace(both, t_s=both.t_s + np.array([0.0, 0.4])))[0]
    assert channel.t_s == pytest.approx([0.015])
    assert channel.half_width_s == pytest.approx(0.015)


def test_lost_requests_and_answers() -> None:
    """An answer takes one request, no older one; what has none is put where the others' middle would be."""
    found, _, remarks = decode(
        (0.0, 0x7DF, "010D"), (0.02, ENGINE, "410D10"), (1.0, ENGINE, "410D11"),
        (2.0, 0x7DF, "010D"), (3.0, 0x7DF, "010D"), (3.02, ENGINE, "410D12"),
        (9.0, 0x7DF, "010D"), (14.5, ENGINE, "410D13"),
    )  # fmt: skip
    speed = found["vehicle_speed"]
    assert speed.t_s == pytest.approx([0.01, 0.99, 3.01, 14.49])
    assert speed.half_width_s == pytest.approx(0.01)
    assert kinds(remarks) == {"answers_without_requests": 2}
    found, _, remarks = decode((0.02, ENGINE, "410D10"))
    assert found["vehicle_speed"].t_s == pytest.approx([0.02])
    assert found["vehicle_speed"].half_width_s == 0.0
    assert kinds(remarks) == {"answers_without_requests": 1}


def test_several_parameters_in_an_answer() -> None:
    """Six in one answer, in the order of the control module, as scapy splits them."""
    payload = bytes.fromhex("41 0C 1A F8 0D 3C 05 7B 0F 50 33 64 42 37 DC")
    for said in ([(0.0, ENGINE, payload)], [(0.0, 0x7DF, bytes.fromhex("010C0D050F3342")), (0.02, ENGINE, payload)]):
        found, _, _ = j1979.decode(messages(said))
        ours = {int(c.source[-2:], 16): float(c.value[0]) for c in found}
        assert ours == {record.pid: record.payload.data for record in OBD(payload).data_records}


@pytest.mark.parametrize("fill", ["00", "55", "AA", "CC", "FF"])
@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
@pytest.mark.parametrize("asked", [False, True])
def test_surplus_bytes(fill: str, count: int, asked: bool) -> None:
    """Fill that the sender counted as data is no parameter."""
    requests = [(0.0, 0x7DF, "010C")] if asked else []
    found, vehicle, remarks = decode(*requests, (0.01, ENGINE, "410C1AF8" + fill * count))
    assert list(found) == ["engine_speed"]
    assert found["engine_speed"].value[0] == 1726.0
    assert not vehicle.supported_pids
    assert kinds(remarks)["surplus_bytes"] == 1


def test_trims_of_one_and_of_two_banks() -> None:
    """PIDs 06 to 09 have one byte, or two in a module with more than two banks; each module keeps to one form."""
    found, _, _ = j1979.decode(
        messages(
            [(0.0, ENGINE, bytes.fromhex("4106800C1AF8")), (1.0, ENGINE, bytes.fromhex("410690")),
             (2.0, GEARBOX, bytes.fromhex("410680810C1AF8")), (3.0, GEARBOX, bytes.fromhex("4107 8090"))]
        )
    )  # fmt: skip
    values = {(c.ecu, c.name): list(c.value) for c in found}
    assert values == {
        ("7E8", "short_term_fuel_trim_bank1"): [0.0, 12.5], ("7E8", "engine_speed"): [1726.0],
        ("7E9", "short_term_fuel_trim_bank1"): [0.0], ("7E9", "short_term_fuel_trim_bank3"): [0.78125],
        ("7E9", "long_term_fuel_trim_bank1"): [0.0], ("7E9", "long_term_fuel_trim_bank3"): [12.5],
        ("7E9", "engine_speed"): [1726.0],
    }  # fmt: skip


def test_short_and_unknown_answers() -> None:
    """An older, shorter edition of a parameter gives what it holds; an unknown one is counted by number."""
    found, _, remarks = decode(
        (0.0, ENGINE, "416D0727102774 5A"), (1.0, ENGINE, "41FE01"), (2.0, ENGINE, "41FE02"), (3.0, ENGINE, "410C1A"),
        (4.0, ENGINE, "41"), (5.0, ENGINE, "410C"),
    )  # fmt: skip
    assert found["fuel_rail_temperature_a"].value == pytest.approx([50.0])
    assert "engine_speed" not in found or np.isnan(found["engine_speed"].value).all()
    told = {remark.kind: remark for remark in remarks}
    assert told["unknown_pid"].count == 2
    assert "PID FE x 2" in told["unknown_pid"].text
    assert told["short_answer"].count == 2
    assert (told["answer_without_data"].count, told["empty_answer"].count) == (1, 1)


def test_merging_captures() -> None:
    first = decode(
        (0.0, ENGINE, "490201" + NEUTRAL_VIN.encode().hex()), (1.0, ENGINE, "43010087"), (2.0, ENGINE, "7F0131"),
        (3.0, ENGINE, "4100BE1FA813"), (4.0, ENGINE, "4101000F0101"),
    )[1]  # fmt: skip
    second = decode(
        (0.0, GEARBOX, "43010700"), (1.0, ENGINE, "43010087"), (2.0, ENGINE, "7F0131"), (3.0, ENGINE, "41208000 0000"),
        (4.0, ENGINE, "4101800F0100"),
    )[1]  # fmt: skip
    both = j1979.merge([first, second])
    assert both.vin == NEUTRAL_VIN
    assert both.ecus == ["7E8", "7E9"]
    assert [(code.code, code.ecu) for code in both.codes] == [("P0087", "7E8"), ("P0700", "7E9")]
    assert both.refusals[0].count == 2
    assert both.supported_pids["7E8"][-1] == 0x21
    assert (both.mil, both.readiness["nmhc_catalyst"], both.ignition) == (True, "complete", "compression")
    assert both.services == {"01": 4, "03": 3, "09": 1}
    assert j1979.merge([]) == Vehicle()
