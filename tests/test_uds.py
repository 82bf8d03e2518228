"""Emission diagnosis over ISO 14229, against udsoncan, the scaling of service 01 and a recorded session."""

from __future__ import annotations

import time
from collections.abc import Sequence, Set
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from j1979_messages import messages
from obd.UnitsAndScaling import UAS_IDS
from udsoncan import DidCodec, Dtc, Response, services

from logan.decode import j1979, uds, uds_codes, uds_data
from logan.knowledge import obd
from logan.model.capture import NO_ENGINE, Remark
from logan.model.channel import Channel
from logan.model.vehicle import Vehicle
from logan.pipeline.gather import gather

ASKED, TOLD = 0x7DF, 0x7E8


def decode(*said: tuple[int, str]) -> tuple[dict[str, Channel], Vehicle, dict[str, Remark]]:
    """Payloads in hexadecimal, half a second apart."""
    found, vehicle, remarks = uds.decode(messages([(0.5 * k, i, bytes.fromhex(h)) for k, (i, h) in enumerate(said)]))
    return {channel.name: channel for channel in found}, vehicle, {remark.kind: remark for remark in remarks}


def in_service_01(data: str) -> dict[str, list[float]]:
    found, _, _ = j1979.decode(
        messages([(0.0, ASKED, bytes.fromhex("01" + data[:2])), (0.5, TOLD, bytes.fromhex("41" + data))])
    )
    return {channel.name: channel.value.tolist() for channel in found}


# engine speed 1726 rpm (published example), coolant 83 degC, injection timing 45 deg, rail pressure command and actual
@pytest.mark.parametrize("data", ["0C1AF8", "057B", "5D7F80", "0D3C", "42 2F26", "6D 07 2710 2774 5A 0000 0000 00"])
def test_a_parameter_has_the_scaling_of_service_01(data: str) -> None:
    """SAE J1979-2: data identifier F4xx is parameter xx with the same layout."""
    data = data.replace(" ", "")
    found, vehicle, _ = decode((ASKED, "22F4" + data[:2]), (TOLD, "62F4" + data))
    assert found
    assert {name: channel.value.tolist() for name, channel in found.items()} == in_service_01(data)
    assert {channel.source for channel in found.values()} == {f"service 22, F4{data[:2]}"}
    assert all(channel.half_width_s == 0.25 for channel in found.values())
    assert (vehicle.ecus, vehicle.services) == (["7E8"], {"22": 1})


def test_several_identifiers_in_one_answer() -> None:
    found, _, remarks = decode((ASKED, "22 F40C F405 F40D"), (TOLD, "62 F40C 1AF8 F405 7B F40D 3C"))
    values = sorted(channel.value[0] for channel in found.values())
    assert (values, remarks) == ([60.0, 83.0, 1726.0], {})
    _, vehicle, _ = decode((ASKED, "22 F802 F40D"), (TOLD, "62 F802" + b"1TRAINERDIESEL001".hex() + "F40D 3C"))
    assert vehicle.vin == "1TRAINERDIESEL001"


def test_what_service_09_says_comes_with_and_without_the_number_of_items() -> None:
    for count in ("", "01"):
        _, vehicle, _ = decode(
            (TOLD, "62 F802" + count + b"1TRAINERDIESEL001".hex()),
            (TOLD, "62 F804" + count + b"CALIBRATION-0001".hex()),
            (TOLD, "62 F806" + count + "1A2B3C4D"),
        )
        assert (vehicle.vin, vehicle.calibration_ids, vehicle.cvns) == (
            "1TRAINERDIESEL001", ["CALIBRATION-0001"], ["1A2B3C4D"]
        )  # fmt: skip
    assert decode((TOLD, "62 F190" + b"1TRAINERDIESEL001".hex()))[1].vin == "1TRAINERDIESEL001"


def test_monitor_tests_with_the_monitor_named_once_or_each_time() -> None:
    """Scaling id 0A as the `obd` library has it: 1000h is 499.7 mV."""
    once, each = "62 F601 050A 1000 0000 2000 060A 0000 0000 0100", "62 F601 050A 1000 0000 2000 01 060A 0000 0000 0100"
    for told in (once, each):
        tests = decode((TOLD, told))[1].monitor_tests
        assert [(test.monitor_id, test.test_id, test.passed) for test in tests] == [(1, 5, True), (1, 6, True)]
        theirs = UAS_IDS[0x0A](bytes((0x10, 0x00)))
        assert (tests[0].value, tests[0].unit) == (pytest.approx(theirs.to("mV").magnitude), "mV")


# report types that udsoncan reads too; the codes of its own example, 0x12316 status 2F and 0xC10042 status 08
@pytest.mark.parametrize("sub", [0x02, 0x0A, 0x0B, 0x0D, 0x13, 0x15])
def test_codes_by_status_as_udsoncan_reads_them(sub: int) -> None:
    payload = bytes((0x59, sub, 0xFF)) + bytes.fromhex("0123162F C1004208")
    response = Response.from_payload(payload)
    theirs = services.ReadDTCInformation.interpret_response(response, subfunction=sub).service_data.dtcs
    _, vehicle, _ = decode((TOLD, payload.hex()))
    assert [(code.code, code.status) for code in vehicle.codes] == [
        ("P0123-16", "permanent" if sub == 0x15 else "confirmed"),
        ("U0100-42", "permanent" if sub == 0x15 else "confirmed"),
    ]
    assert [one.id for one in theirs] == [0x012316, 0xC10042]
    assert [one.status.confirmed for one in theirs] == [True, True]
    assert "voltage below threshold" in vehicle.codes[0].title
    assert vehicle.codes[0].family == uds_codes.describe("P0123")[1]


@pytest.mark.parametrize(
    ("sub", "head", "entry"), [(0x08, "FF", "80 33 012316 2F"), (0x42, "33 FF FF 04", "80 012316 2F")]
)
def test_severity_as_udsoncan_reads_it(sub: int, head: str, entry: str) -> None:
    payload = bytes((0x59, sub)) + bytes.fromhex(head + entry)
    found = services.ReadDTCInformation.interpret_response(Response.from_payload(payload), subfunction=sub)
    (theirs,) = found.service_data.dtcs
    (mine,) = decode((TOLD, payload.hex()))[1].codes
    assert (theirs.id, theirs.severity.check_immediately) == (0x012316, True)
    assert (mine.code, mine.severity) == ("P0123-16", "check at once")


def test_permanent_codes_of_a_functional_group() -> None:
    """Report type 55: group, status mask, format, then code and status; udsoncan expects a severity in front."""
    payload = bytes.fromhex("59 55 33 FF 04 20 012316 2F")
    found = services.ReadDTCInformation.interpret_response(Response.from_payload(payload), subfunction=0x55)
    assert [one.id for one in found.service_data.dtcs] == [0x012316]
    (code,) = decode((TOLD, payload.hex()))[1].codes
    assert (code.code, code.status, code.severity) == ("P0123-16", "permanent", "maintenance only")
    payload = bytes.fromhex("59 55 33 FF 04 012316 2F")
    (code,) = decode((TOLD, payload.hex()))[1].codes
    assert (code.code, code.status) == ("P0123-16", "permanent")
    (code,) = decode((TOLD, "59 56 33 FF 04 05 012300 0C"))[1].codes
    assert (code.code, code.status) == ("P0123", "confirmed")
    (code,) = decode((TOLD, "59 42 33 FF FF 02 20 7C0202 08"))[1].codes
    assert (code.code, code.severity) == ("SPN 636 FMI 2", "maintenance only")


@given(st.integers(0, 255))
def test_status_bits_as_udsoncan_names_them(status: int) -> None:
    theirs = Dtc.Status.from_byte(status)
    word = uds_codes.status_word(status)
    assert (word == "confirmed") == theirs.confirmed
    assert (word in ("confirmed", "pending")) == (theirs.confirmed or theirs.pending)
    assert bool(word) == (
        theirs.confirmed or theirs.pending or theirs.test_failed or theirs.test_failed_since_last_clear
    )


@given(st.integers(0, 255))
def test_severity_bits_as_udsoncan_names_them(severity: int) -> None:
    theirs, words = Dtc.Severity.from_byte(severity), uds_codes.severity_words(severity)
    assert ("maintenance only" in words) == theirs.maintenance_only
    assert ("check at the next halt" in words) == theirs.check_at_next_exit
    assert ("check at once" in words) == theirs.check_immediately


def test_codes_that_never_failed_are_counted_and_the_lamp_is_read() -> None:
    _, vehicle, remarks = decode((TOLD, "59 02 FF 012316 50"))
    assert (vehicle.codes, vehicle.mil, remarks["code_not_failed"].count) == ([], False, 1)
    assert decode((TOLD, "59 02 FF 012316 89"))[1].mil is True
    assert decode((TOLD, "59 02 7B 012316 09"))[1].mil is None
    assert decode((0x51C, "59 02 FF 012316 89"))[1].mil is None  # no module of the emission system
    assert decode((TOLD, "59 02 FF 012316 89 01"))[2]["code_count_differs"].count == 1
    assert "04" in decode((TOLD, "59 04 012316 09 01 00"))[2]["code_report_not_shown"].text


def test_other_services_are_counted() -> None:
    _, vehicle, remarks = decode(
        (0x7E0, "1003"), (TOLD, "5003003201F4"), (0x7E0, "3E00"), (TOLD, "7E00"), (0x7E0, "31010203"), (TOLD, "7F3178"),
        (TOLD, "71010203"), (0x7E0, "14FFFF33"), (TOLD, "54"), (0x7E0, "220101"), (TOLD, "62010199"),
        (0x7E0, "22F501"), (TOLD, "62F50100"),
    )  # fmt: skip
    assert vehicle.services == {"10": 1, "14": 1, "22": 2, "31": 1, "3E": 1}
    assert {"services_counted", "codes_cleared", "system_controlled", "response_pending"} <= remarks.keys()
    assert "0101 x 1" in remarks["identifiers_not_decoded"].text
    assert "F501 x 1" in remarks["parameters_without_layout"].text


def test_services_of_the_older_standard_are_counted_and_what_they_change_is_said() -> None:
    """ISO 14230-3 services as scapy names them; 12 and 13 from memory."""
    _, vehicle, remarks = decode(
        (0x7E0, "1800FF00"), (TOLD, "58 02 0123 E8 0335 60"), (0x7E0, "1A90"), (TOLD, "5A90 31 32"),
        (0x7E0, "300107"), (TOLD, "700107"), (0x7E0, "3B0100"), (TOLD, "7B01"), (0x7E0, "13FF00"), (TOLD, "5300"),
    )  # fmt: skip
    assert vehicle.services == {"13": 1, "18": 1, "1A": 1, "30": 1, "3B": 1}
    assert vehicle.ecus == ["7E8"]
    assert remarks["services_counted"].count == 5
    assert remarks["system_controlled"].text.startswith("service 3B")


def test_services_of_the_maker_are_counted() -> None:
    """A0 to BE are the makers' (ISO 14229-1, table of service identifiers; from memory)."""
    remarks = decode((0x7E0, "A501"), (TOLD, "E50100"), (0x7E0, "BA"), (TOLD, "7FBA11"))[2]
    assert (remarks["services_of_maker"].count, "A5 x 1, BA x 1" in remarks["services_of_maker"].text) == (2, True)


@pytest.mark.parametrize("said", [("28 03 01", "68 03"), ("85 02", "C5 02")])
def test_a_tester_that_silences_a_module_or_its_codes_is_said(said: tuple[str, str]) -> None:
    """ISO 14229-1: communication control and control of the setting of trouble codes."""
    assert "system_controlled" in decode((0x7E0, said[0]), (TOLD, said[1]))[2]


def test_failure_types_name_what_the_standard_names() -> None:
    """SAE J2012-DA failure types: 11 short to ground, 12 short to battery, 13 open (public field list)."""
    known = obd.failure_types()
    assert [known[k] for k in (0x11, 0x12, 0x13)] == [
        "circuit short to ground",
        "circuit short to battery",
        "circuit open",
    ]


@given(st.lists(st.tuples(st.sampled_from([ASKED, TOLD, 0x51C]), st.binary(max_size=40)), max_size=12))
def test_any_messages_are_read(said: list[tuple[int, bytes]]) -> None:
    of_data = [(i, bytes((0x22 if i == ASKED else 0x62, 0xF4)) + data) for i, data in said]
    of_codes = [(i, b"\x59" + data) for i, data in said]
    of_codes += [(i, bytes.fromhex("5904 012316 2F 0101 F40C") + data) for i, data in said]
    rows = [(0.1 * k, i, data) for k, (i, data) in enumerate([*said, *of_data, *of_codes])]
    found, vehicle, _ = uds.decode(messages(rows))
    assert all(len(channel.t_s) == len(channel.value) for channel in found)
    assert all(code.code and code.status for code in vehicle.codes)


def test_a_recorded_session_on_other_identifiers(captures: Path) -> None:
    """Petrol van, 6E0 / 51C: counts by python-can and plain readers, see the captures' own README."""
    found = gather([captures / "uds_multiframe" / "uds_van_candump.log"])
    assert found.vehicle.services == {"10": 6, "19": 1, "22": 56, "31": 477, "3E": 37}
    kinds = {remark.kind: remark for remark in found.remarks}
    assert kinds["response_pending"].count == 31
    assert (found.vehicle.codes, found.vehicle.ecus) == ([], ["51C"])


def test_an_electric_car_is_read_without_complaint(captures: Path) -> None:
    found = gather([captures / "obd_can" / "ev_uds_multiframe_b1.log"])
    assert found.vehicle.services == {"22": 100}  # 74 answers on 7E8..7EF, 25 and 1 on two other identifiers
    assert "0101 x 24" in next(r.text for r in found.remarks if r.kind == "identifiers_not_decoded")


def test_a_vehicle_that_runs_on_its_battery_alone_has_no_engine() -> None:
    """Fuel type 8 is battery electric (SAE J1979 PID 51), by service 22 as by service 01; a hybrid has an engine."""
    assert NO_ENGINE in decode((ASKED, "22F451"), (TOLD, "62F45108"))[2]
    assert NO_ENGINE not in decode((ASKED, "22F451"), (TOLD, "62F45113"))[2]
    assert NO_ENGINE in [remark.kind for remark in j1979.decode(messages([(0.0, TOLD, b"\x41\x51\x08")]))[2]]


def test_many_answers_of_several_identifiers_are_split_by_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """The layout of alike answers is worked out from a few of them (SAE J1979: 0C has 2 bytes, 0D and 05 one)."""
    looked_at = []
    plain_groups = uds_data._groups

    def counted(body: bytes, together: Sequence[Set[int]] | None) -> list[tuple[int, bytes]]:
        looked_at.append(body)
        return plain_groups(body, together)

    monkeypatch.setattr(uds_data, "_groups", counted)
    said = []
    for k in range(2000):
        said += [(ASKED, "22F40CF40DF405"), (TOLD, f"62F40C{4 * (800 + k):04X}F40D{k % 200:02X}F40580")]
    found, _, remarks = decode(*said)
    values = {channel.source[-2:]: channel.value for channel in found.values()}
    assert values["0C"].tolist() == [800.0 + k for k in range(2000)]
    assert values["0D"].tolist() == [float(k % 200) for k in range(2000)]
    assert set(values["05"].tolist()) == {88.0}
    assert len(looked_at) <= 8
    assert not remarks


def test_parameters_beyond_ff_are_counted_and_their_neighbours_read() -> None:
    """F5xx: no free table gives a layout, so that nothing is made up; the request tells where they end."""
    found, _, remarks = decode((ASKED, "22F40DF50A"), (TOLD, "62F40D2AF50A112233"))
    assert [channel.value.tolist() for channel in found.values()] == [[42.0]]
    assert "F50A x 1" in remarks["parameters_without_layout"].text


def test_an_answer_without_an_identifier_is_counted() -> None:
    _, _, remarks = decode((ASKED, "22F40D"), (TOLD, "62"), (TOLD, "62F4"))
    assert remarks["cut_message"].count == 2


def test_an_answer_as_long_as_the_transport_allows_is_split_or_left_whole() -> None:
    found, _, _ = decode((TOLD, "62" + 1364 * "F40D11"))
    assert [channel.value.tolist() for channel in found.values()] == [1364 * [17.0]]
    # F406 has one byte or two: more ways to split it than anybody can try, and none comes out even
    start = time.process_time()
    decode((TOLD, "62" + 1300 * "F40611" + "F40D"))
    decode((ASKED, "22" + 8 * "ABCD"), (TOLD, "62" + 1000 * "ABCD"))
    assert time.process_time() - start < 2.0


def test_the_code_in_front_of_a_snapshot_or_of_further_data() -> None:
    """ISO 14229-1: reports 04 and 06 begin with the code and its status; what stands behind is not shown, and said."""
    _, vehicle, remarks = decode(
        (TOLD, "59 04 012316 09 01 01 1234 1AF8"), (TOLD, "59 06 056212 04 01 05"), (TOLD, "59 04 023400 2F")
    )
    assert [(code.code, code.status) for code in vehicle.codes] == [
        ("P0123-16", "confirmed"), ("P0562-12", "pending"), ("P0234", "confirmed"),
    ]  # fmt: skip
    assert vehicle.mil is None
    assert remarks["code_report_not_shown"].count == 2
    assert "code_count_differs" not in remarks
    assert decode((TOLD, "59 04 0123"))[2]["code_count_differs"].count == 1


def test_values_stored_with_a_code() -> None:
    """ISO 14229-1, report 04, split as udsoncan splits it: the parameters have the scaling of service 01."""
    told = bytes.fromhex("59 04 012316 2F 00 03 F40C 1AF8 F405 7B F40D 3C 01 01 F40C 0C80".replace(" ", ""))
    config = {0xF40C: DidCodec(">H"), 0xF405: DidCodec("B"), 0xF40D: DidCodec("B")}
    found = services.ReadDTCInformation.interpret_response(Response.from_payload(told), subfunction=4, didconfig=config)
    (theirs,) = found.service_data.dtcs
    assert [(one.record_number, one.did, one.raw_data.hex()) for one in theirs.snapshots] == [
        (0, 0xF40C, "1af8"), (0, 0xF405, "7b"), (0, 0xF40D, "3c"), (1, 0xF40C, "0c80")
    ]  # fmt: skip
    _, vehicle, remarks = decode((TOLD, told.hex()), (TOLD, told.hex()), (0x7E9, "59 04 056212 08 00 01 F405 28"))
    assert [(one.ecu, one.number, one.code) for one in vehicle.freeze_frames] == [
        ("7E8", 0, "P0123-16"), ("7E8", 1, "P0123-16"), ("7E9", 0, "P0562-12")
    ]  # fmt: skip
    assert [[value for value, _ in one.values.values()] for one in vehicle.freeze_frames] == [
        [83, 1726, 60], [800], [0]
    ]  # fmt: skip
    assert "code_report_not_shown" not in remarks


@pytest.mark.parametrize("behind", ["01 00", "01 02 F40C 1AF8", "01 01 F40C 1A", "01 01 F40C 1AF8 02", "01 01 F4FE 11"])
def test_stored_values_that_do_not_come_out_even_are_counted(behind: str) -> None:
    _, vehicle, remarks = decode((TOLD, "59 04 012316 2F" + behind))
    assert (vehicle.freeze_frames, remarks["code_report_not_shown"].count) == ([], 1)
    long = "59 04 012316 2F" + "01 01 F405 7B" * 800
    assert decode((TOLD, long))[1].freeze_frames == []


@pytest.mark.parametrize("length", [12, 19, 20, 21])
def test_the_name_of_a_module_keeps_its_first_letter(length: int) -> None:
    """SAE J1979-DA F80A: text without a number of items in front, whatever its length."""
    name = "ECM-EngineControlModule"[:length]
    assert decode((TOLD, "62 F80A" + name.encode().hex()))[1].ecu_names == {"7E8": name}
