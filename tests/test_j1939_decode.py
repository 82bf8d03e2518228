"""SAE J1939-73: lamps, codes, readiness and identity against can-j1939, published bytes and a real recording."""

from __future__ import annotations

import fnmatch
import re
from pathlib import Path

import pytest
from can_text import Row, frames_of, read_log
from hypothesis import given, settings
from hypothesis import strategies as st
from j1979_messages import kinds, messages

from logan.decode import broadcast, dbc, j1939
from logan.decode.j1939_codes import Code, codes, lamps
from logan.knowledge import faults
from logan.knowledge import j1939 as knowledge
from logan.knowledge.locate import dbc_open
from logan.model.capture import Remark
from logan.model.vehicle import Vehicle
from logan.transport import j1939_tp

DM1, DM2, DM5, DM6, DM12, DM28 = 0x18FECA00, 0x18FECB00, 0x18FECE00, 0x18FECF00, 0x18FED400, 0x18FD8000
PLANS, _ = dbc.load([dbc_open() / "j1939.dbc"])
LAMPS_OFF = "00FF"
RAIL_LOW = "9D001201"  # SPN 157, FMI 18, once
NO_CODE = "00000000"


def single(*said: tuple[float, int, str]) -> tuple[Vehicle, list[Remark]]:
    """Single frames, in hexadecimal."""
    rows: list[Row] = [(t, can_id, bytes.fromhex(text)) for t, can_id, text in said]
    return j1939.decode(frames_of(rows), messages([]), "f.log")


def long(*said: tuple[float, int, bytes]) -> tuple[Vehicle, list[Remark]]:
    """Multi-packet messages beside one frame of the same bus."""
    return j1939.decode(frames_of([(0.0, 0x0CF00400, bytes(8))]), messages(said), "f.log")


def told(vehicle: Vehicle) -> list[tuple[str, str, str]]:
    return [(code.code, code.status, code.ecu) for code in vehicle.codes]


def test_published_broadcast_announcement() -> None:
    """Bytes and meaning as pretty_j1939 0.0.6 and can-j1939 2.0.12 print them (reassembly and DM1)."""
    rows = [
        (0.00, 0x1CECFF00, bytes.fromhex("200A0002FFCAFE00")),
        (0.05, 0x1CEBFF00, bytes.fromhex("0104FF7C0202059D")),
        (0.10, 0x1CEBFF00, bytes.fromhex("02000301FFFFFFFF")),
    ]
    frames = frames_of(rows)
    said, _ = j1939_tp.reassemble(frames)
    vehicle, remarks = j1939.decode(frames, said, "f.log")
    assert told(vehicle) == [("SPN 636 FMI 2", "active", "SA 00"), ("SPN 157 FMI 3", "active", "SA 00")]
    assert vehicle.mil is False
    assert [(r.kind, r.count) for r in remarks] == [("lamp_on", 1)]
    assert "amber warning lamp" in remarks[0].text
    assert [code.t_s for code in vehicle.codes] == [0.0, 0.0]


def test_published_four_bytes() -> None:
    """can-j1939 2.0.12 and pretty_j1939 0.0.6 read 7C 02 02 05 so."""
    assert codes(bytes.fromhex(LAMPS_OFF + "7C020205")) == ([Code(636, 2, 5)], 0)


def test_numbers_of_the_diagnostic_messages() -> None:
    """As can-j1939 2.0.12 lists them."""
    reference = pytest.importorskip("j1939", reason="pip install can-j1939").ParameterGroupNumber.PGN
    for pgn, message in {**knowledge.trouble_code_messages(), **knowledge.other_messages()}.items():
        assert getattr(reference, f"DM{int(message.name[2:]):02d}") == pgn
    text = LAMPS_OFF + RAIL_LOW + "FFFF"
    vehicle, _ = single(
        *((0.0, 6 << 26 | getattr(reference, name) << 8, text) for name in ("DM01", "DM02", "DM06", "DM12", "DM28"))
    )
    assert vehicle.services == {"DM1": 1, "DM2": 1, "DM6": 1, "DM12": 1, "DM28": 1}
    ready, _ = single((0.0, 6 << 26 | reference.DM05 << 8, "0000140100000000"))
    assert ready.readiness["misfire"] == "complete"
    cleared = [(0.0, 0x18EA00F9, getattr(reference, name).to_bytes(3, "little").hex()) for name in ("DM03", "DM11")]
    assert [remark.kind for remark in single(*cleared)[1]] == ["codes_cleared_asked"] * 2


@st.composite
def dm1(draw: st.DrawFn) -> list[tuple[int, int, int]]:
    code = st.tuples(st.integers(1, 524286), st.integers(0, 31), st.integers(0, 127))
    return draw(st.lists(code, min_size=1, max_size=50))


@settings(max_examples=80, deadline=None)
@given(dm1(), st.lists(st.sampled_from([0, 1, 2, 3, 4]), min_size=4, max_size=4))
def test_same_as_can_j1939(sent: list[tuple[int, int, int]], states: list[int]) -> None:
    """Written by the reference library, read by us; it names the lamps from the lowest pair of bits on."""
    reference = pytest.importorskip("j1939.diagnostic_messages", reason="pip install can-j1939")
    status = dict(zip(("pl", "awl", "rsl", "mil"), states, strict=True))
    payload = bytes(reference.DtcLamp().get_data(status))
    for spn, fmi, count in sent:
        payload += reference.DTC(spn=spn, fmi=fmi, oc=count).dtc.to_bytes(4, "little")
    found, rest = codes(payload)
    # can-j1939 keeps the pattern of "no code"; no sender's code has it
    real = [(spn, fmi, count) for spn, fmi, count in sent if (spn, fmi) not in ((0, 0), (524287, 31))]
    assert [(c.spn, c.fmi, 127 if c.count is None else c.count) for c in found] == real
    assert rest == 0
    assert all(not code.others for code in found)
    expected = [{0: 0, 4: 3}.get(state, 1) for state in reversed(states)]
    assert list(lamps(payload).values()) == expected


def test_fifty_codes_in_one_message() -> None:
    payload = bytes.fromhex("40FF") + b"".join((100 + k).to_bytes(2, "little") + b"\x03\x01" for k in range(50))
    vehicle, remarks = long((1.0, DM1, payload))
    assert told(vehicle) == [(f"SPN {100 + k} FMI 3", "active", "SA 00") for k in range(50)]
    assert vehicle.mil is True
    assert vehicle.services == {"DM1": 1}
    assert kinds(remarks) == {"lamp_on": 1}


@pytest.mark.parametrize("text", [LAMPS_OFF + RAIL_LOW, LAMPS_OFF + RAIL_LOW + "FFFF"])
def test_single_frame_of_six_or_eight_bytes(text: str) -> None:
    vehicle, remarks = single((0.5, DM1, text))
    (code,) = vehicle.codes
    assert (code.code, code.status, code.ecu, code.t_s) == ("SPN 157 FMI 18", "active", "SA 00", 0.5)
    assert code.title == "Fuel rail 1 pressure: below the normal range, moderately severe, counted 1 time"
    assert code.family == "rail"
    assert vehicle.mil is False
    assert vehicle.ecus == ["SA 00"]
    assert remarks == []


@pytest.mark.parametrize("pattern", [NO_CODE, "0000007F", "00000080", "FFFFFFFF"])
def test_no_code(pattern: str) -> None:
    vehicle, remarks = single((0.0, DM1, LAMPS_OFF + pattern + "FFFF"))
    assert vehicle.codes == []
    assert vehicle.services == {"DM1": 1}
    assert remarks == []


def test_status_of_each_message() -> None:
    """Status of DM6, DM12 and DM28: from memory."""
    text = LAMPS_OFF + RAIL_LOW + "FFFF"
    vehicle, _ = single(*((float(k), can_id, text) for k, can_id in enumerate((DM1, DM2, DM6, DM12, DM28))))
    assert [code.status for code in vehicle.codes] == ["active", "previous", "pending", "confirmed", "permanent"]
    assert vehicle.services == {"DM1": 1, "DM2": 1, "DM6": 1, "DM12": 1, "DM28": 1}


def test_a_code_told_often_stands_once_with_its_last_count() -> None:
    said = [(float(k), DM1, f"00FF9D0012{k:02X}FFFF") for k in range(1, 6)]
    vehicle, _ = single(*said, (2.5, DM1 | 0x11, "00FF9D001203FFFF"))
    assert told(vehicle) == [("SPN 157 FMI 18", "active", "SA 00"), ("SPN 157 FMI 18", "active", "SA 11")]
    assert vehicle.codes[0].t_s == 1.0
    assert vehicle.codes[0].title.endswith(", counted 5 times")


def test_unknown_count_is_not_shown() -> None:
    (code,) = single((0.0, DM1, "00FF9D00127FFFFF"))[0].codes
    assert code.title == "Fuel rail 1 pressure: below the normal range, moderately severe"


@pytest.mark.parametrize(
    ("states", "mil"),
    [(["40FF"], True), (["00FF"], False), (["C0FF"], None), (["80FF"], None),
     (["40FF", "00FF"], False), (["40FF", "C0FF"], True)],
)  # fmt: skip
def test_malfunction_lamp_is_the_last_word(states: list[str], mil: bool | None) -> None:
    said = [(float(k), DM1, text + NO_CODE + "FFFF") for k, text in enumerate(states)]
    assert single(*said)[0].mil is mil


def test_one_of_two_senders_asks_for_the_lamp() -> None:
    vehicle, remarks = single((0.0, DM1, "40FF00000000FFFF"), (1.0, DM1 | 3, "00FF00000000FFFF"))
    assert vehicle.mil is True
    assert remarks[0].text == "messages in which SA 00 asks for the malfunction indicator lamp"


def test_conversion_method_of_old_layouts() -> None:
    """SAE J1939-73 (from memory): SPN 1208 FMI 3 in versions 1, 2 and 3 of the layout, all with method 1."""
    version_1 = bytes([1208 >> 11, 1208 >> 3 & 0xFF, (1208 & 7) << 5 | 3, 0x8A])
    version_2 = bytes([1208 >> 3 & 0xFF, 1208 >> 11, (1208 & 7) << 5 | 3, 0x8A])
    version_3 = bytes([1208 & 0xFF, 1208 >> 8 & 0xFF, 1208 >> 16 << 5 | 3, 0x8A])
    for record in (version_1, version_2, version_3):
        vehicle, remarks = single((0.0, DM1, LAMPS_OFF + record.hex() + "FFFF"))
        (code,) = codes(bytes(2) + record)[0]
        assert 1208 in (code.spn, *code.others)
        assert (code.fmi, code.count) == (3, 10)
        assert "old layout" in vehicle.codes[0].title
        assert vehicle.codes[0].family == ""
        assert kinds(remarks) == {"old_code_layout": 1}


def test_message_cut_short() -> None:
    vehicle, remarks = single((2.0, DM1, "40FF9D00"))
    assert vehicle.codes == []
    assert vehicle.mil is True
    assert kinds(remarks) == {"code_message_cut": 1, "lamp_on": 1}
    vehicle, remarks = long((3.0, DM1, bytes.fromhex(LAMPS_OFF + RAIL_LOW + RAIL_LOW[:6])))
    assert told(vehicle) == [("SPN 157 FMI 18", "active", "SA 00")]
    assert [(r.kind, r.places, r.file) for r in remarks] == [("code_message_cut", ("t = 3.000 s, SA 00",), "f.log")]


def test_vehicle_identification() -> None:
    """PGN 65260: 17 characters closed by a star (from memory)."""
    vehicle, remarks = long((1.0, 0x18FEEC00, b"TRA1N1NG0D1ESEL01*"), (2.0, 0x18FEEC00, b"TRA1N1NG0D1ESEL01*"))
    assert vehicle.vin == "TRA1N1NG0D1ESEL01"
    assert remarks == []
    vehicle, remarks = long((1.0, 0x18FEEC00, b"TRA1N1NG0D1ESEL0O*"))
    assert vehicle.vin is None
    assert kinds(remarks) == {"vin_odd": 1}
    vehicle, remarks = long((1.0, 0x18FEEC00, b"TRA1N1NG0D1ESEL01*"), (2.0, 0x18FEEC03, b"TRA1N1NG0D1ESEL02*"))
    assert vehicle.vin == "TRA1N1NG0D1ESEL01"
    assert not remarks
    assert vehicle.vins == {"SA 00": ["TRA1N1NG0D1ESEL01"], "SA 03": ["TRA1N1NG0D1ESEL02"]}
    assert single((0.0, 0x18FEEC00, "2AFFFFFFFFFFFFFF"))[0].vin is None


def test_component_and_calibration() -> None:
    """PGN 65259 and DM19 (PGN 54016): layout from memory."""
    record = bytes.fromhex("78563412") + b"TRAINING-CAL-7".ljust(16, b"\x00")
    vehicle, _ = long((1.0, 0x18FEEB00, b"TRAIN*DIESEL SIX*0042**"), (2.0, 0x18D3F900, record * 2))
    assert vehicle.ecu_names == {"SA 00": "TRAIN DIESEL SIX 0042"}
    assert vehicle.calibration_ids == ["TRAINING-CAL-7"]
    assert vehicle.cvns == ["12345678"]


def test_readiness() -> None:
    """DM5 (layout from memory): bytes 4 to 8, support and "not complete" as in SAE J1979 PID 01."""
    # supported are misfire, fuel system, EGR and particulate filter; not complete are fuel system and EGR
    vehicle, _ = single((0.0, DM5, "000014" + "23" + "8004" + "8000"))
    ready = vehicle.readiness
    assert ready["misfire"] == "complete"
    assert ready["fuel_system"] == "incomplete"
    assert ready["egr_vvt"] == "incomplete"
    assert ready["particulate_filter"] == "complete"
    assert ready["comprehensive_component"] == "not supported"
    assert single((0.0, DM5, "000005FFFFFFFFFF"))[0].readiness == {}


def test_numbers_of_codes() -> None:
    """DM5, bytes 1 and 2 (from memory): active and previously active codes; FF is not available."""
    vehicle, _ = single(
        (0.0, DM5, "0205140000000000"), (1.0, DM5 | 3, "01FF140000000000"), (2.0, DM5, "0105140000000000")
    )
    assert vehicle.counters == {
        "active trouble codes by DM5, SA 00": 1, "previously active trouble codes by DM5, SA 00": 5,
        "active trouble codes by DM5, SA 03": 1,
    }  # fmt: skip


def test_codes_asked_to_be_cleared() -> None:
    """Request (PGN 59904) for DM3 (65228) or DM11 (65235); from memory."""
    _, remarks = single((4.0, 0x18EA00F9, "D3FE00"), (5.0, 0x18EA00F9, "CCFE00"), (6.0, 0x18EA00F9, "CAFE00"))
    assert [(r.kind, r.places) for r in remarks] == [
        ("codes_cleared_asked", ("t = 4.000 s, SA F9",)), ("codes_cleared_asked", ("t = 5.000 s, SA F9",)),
    ]  # fmt: skip


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_random_bytes_never_crash(data: st.DataObject) -> None:
    groups = st.sampled_from([0xFECA, 0xFECB, 0xFECE, 0xFEEC, 0xFEEB, 0xD300, 0xEA00, 0xFD80, 0xFECD, 0xC300, 0xEE00])
    can_id = st.builds(lambda pgn, sender: 6 << 26 | pgn << 8 | sender, groups, st.integers(0, 254))
    times = st.floats(0, 100)
    short = data.draw(st.lists(st.tuples(times, can_id, st.binary(max_size=8)), max_size=8))
    said = data.draw(st.lists(st.tuples(times, can_id, st.binary(min_size=9, max_size=1785)), max_size=4))
    vehicle, _ = j1939.decode(frames_of([(0.0, 0x0CF00400, bytes(8)), *short]), messages(said), "f.log")
    assert all(code.code.startswith("SPN ") and code.title for code in vehicle.codes)
    broadcast.decode(j1939.as_frames(messages(said)), PLANS, "f.log")


def test_titles_never_carry_foreign_characters() -> None:
    vehicle, _ = long((1.0, 0x18FEEB00, b"<script>\x00\x1b[31m*\xff\xfe*"))
    assert all(0x20 <= ord(c) < 0x7F for c in vehicle.ecu_names["SA 00"])


def test_real_recording(captures: Path) -> None:
    """SA 0: 980/9 x126, 3216/20 x2, 609/9 x1, 609/12 x3, MIL on: read by independent programs (list beside it)."""
    frames = read_log(captures / "obd_can" / "j1939_heavy_c.log")
    said, _ = j1939_tp.reassemble(frames)
    vehicle, remarks = j1939.decode(frames, said, "f.log")
    assert [(code.code, code.title.rpartition("counted ")[2]) for code in vehicle.codes] == [
        ("SPN 980 FMI 9", "126 times"), ("SPN 3216 FMI 20", "2 times"),
        ("SPN 609 FMI 9", "1 time"), ("SPN 609 FMI 12", "3 times"),
    ]  # fmt: skip
    assert {(code.status, code.ecu) for code in vehicle.codes} == {("active", "SA 00")}
    assert vehicle.mil is True
    assert vehicle.services == {"DM1": 127}
    assert kinds(remarks) == {"lamp_on": 127}


def test_names_for_what_codes_can_say() -> None:
    """Every failure mode that is not reserved (22 to 30) has words, and every parameter of the data base a name."""
    assert set(knowledge.failure_modes()) == {*range(22), 31}
    table = (dbc_open() / "j1939.csv").read_text("utf-8").splitlines()[1:]
    numbers = {int(line.split(",")[2]) for line in table} - {4206, 4207}  # counter and checksum of a message
    assert numbers <= knowledge.parameters().keys()


def test_the_catalogue_of_faults_knows_codes_as_they_are_written() -> None:
    patterns = [
        pattern.strip()
        for family in faults.load().families.values()
        for entry in family.match
        for pattern in entry.split("|")
        if "SPN" in pattern
    ]
    assert len(patterns) > 30
    for pattern in patterns:
        parts = re.fullmatch(r"SPN (\d+) (FMI (\d+)|\*)", pattern)
        assert parts, pattern
        assert int(parts[1]) in knowledge.parameters()
        assert fnmatch.fnmatchcase(Code(int(parts[1]), int(parts[3] or 0), 1).text, pattern)


@pytest.mark.parametrize(
    ("control", "kind"), [(0, "codes_cleared"), (1, "codes_cleared_asked"), (3, "codes_cleared_asked")]
)
def test_clearing_that_a_module_confirms(control: int, kind: str) -> None:
    """Acknowledgement E800: control byte 0 = positive, group in the last three bytes (SAE J1939-21)."""
    asked = (0.0, 0x18EA00F9, "D3 FE 00")
    remarks = single(asked, (0.1, 0x18E8FF00, f"{control:02X} FF FF FF FF D3 FE 00"))[1]
    assert [remark.kind for remark in remarks] == [kind]
    assert [r.kind for r in single(asked, (0.1, 0x18E8FF00, "00 FF FF FF FF CC FE 00"))[1]] == ["codes_cleared_asked"]


def test_stored_values() -> None:
    """DM4 (layout from memory): length, code, torque mode, values scaled as SPN 102, 190, 92, 110, 84."""
    first = bytes.fromhex("6E000002" + "01" + "3C" + "4038" + "50" + "87" + "0046")
    second = bytes.fromhex("9D001201" + "00" + "FF" + "201C" + "FE" + "82" + "FFFF" + "1122")
    payload = b"".join(bytes([len(one)]) + one for one in (first, second))
    vehicle, remarks = long((1.0, 0x18FECD00, payload))
    one, two = vehicle.freeze_frames
    assert (one.ecu, one.number, one.code) == ("SA 00", 0, "SPN 110 FMI 0")
    assert one.values == {
        "boost_pressure_above_ambient": (120.0, "kPa"), "engine_speed": (1800.0, "rpm"), "engine_load": (80.0, "%"),
        "coolant_temperature": (95.0, "degC"), "vehicle_speed": (70.0, "km/h"),
    }  # fmt: skip
    assert (two.code, two.number) == ("SPN 157 FMI 18", 1)
    assert two.values == {"engine_speed": (900.0, "rpm"), "coolant_temperature": (90.0, "degC")}
    assert kinds(remarks) == {"stored_values_of_maker": 1}
    assert single((1.0, 0x18FECD00, "0000000000FFFFFF"))[0].freeze_frames == []


@pytest.mark.parametrize("text", ["0C6E000002013C403850", "056E00000201FFFFFFFF"])
def test_stored_values_cut_short(text: str) -> None:
    vehicle, remarks = long((1.0, 0x18FECD00, bytes.fromhex(text)))
    assert vehicle.freeze_frames == []
    assert kinds(remarks) == {"stored_values_cut": 1}


def test_other_diagnostic_messages_are_counted_and_what_a_tester_did_is_said() -> None:
    """Numbers as can-j1939 lists them."""
    reference = pytest.importorskip("j1939", reason="pip install can-j1939").ParameterGroupNumber.PGN
    for name in ("DM20", "DM21", "DM25", "DM29", "DM42"):
        can_id = 6 << 26 | getattr(reference, name) << 8
        _, remarks = single((0.0, 0x0CF00400, "FF" * 8), (1.0, can_id, "00" * 8), (2.0, can_id, "00" * 8))
        assert [(r.kind, r.count) for r in remarks] == [("services_counted", 2)]
        assert f"{name} " in remarks[0].text
    for name in ("DM07", "DM13"):
        can_id = 6 << 26 | getattr(reference, name) << 8 | 0xF9
        _, remarks = single((0.0, 0x0CF00400, "FF" * 8), (1.0, can_id, "00" * 8))
        assert kinds(remarks) == {"services_counted": 1, "system_controlled_asked": 1}


@pytest.mark.parametrize(("answer", "kind"), [("12", "codes_cleared"), ("13", "codes_cleared_asked")])
def test_clearing_of_one_code(answer: str, kind: str) -> None:
    """DM22: control byte 17 asks, 18 confirms, 19 refuses (from memory)."""
    code = "FFFFFFFF6E0000"
    bus, asked = (0.0, 0x0CF00400, "FF" * 8), (1.0, 0x18C300F9, "11" + code)
    assert kinds(single(bus, asked, (1.1, 0x18C3F900, answer + code))[1]) == {kind: 1}


def test_a_code_that_comes_and_goes() -> None:
    active, none = LAMPS_OFF + RAIL_LOW + "FFFF", LAMPS_OFF + NO_CODE + "FFFF"
    vehicle, remarks = single((0.0, DM1, active), (1.0, DM1, none), (1.0, DM1 | 3, active))
    assert [(r.kind, r.places) for r in remarks] == [("code_no_longer_active", ("SA 00: SPN 157 FMI 18",))]
    assert len(vehicle.codes) == 2
    assert single((0.0, DM1, none), (1.0, DM1, active))[1] == []


@pytest.mark.parametrize(("flash", "told"), [("0F", "slowly"), ("5F", "fast"), ("FF", "")])
def test_a_lamp_that_flashes(flash: str, told: str) -> None:
    """Byte 2: 00 slowly, 01 fast, 11 shines (from memory)."""
    (remark,) = single((0.0, DM1, "40" + flash + NO_CODE + "FFFF"))[1]
    assert remark.text.endswith(f"lamp, flashing {told}" if told else "lamp")


def test_who_claims_an_address_is_a_control_module() -> None:
    """PGN 60928; 249 and 250 are testers, 254 has no address (from memory)."""
    claims = [(0.1, 0x18EEFF00 | sender, "0102030405060708") for sender in (0, 11, 249, 250, 254)]
    assert single(*claims)[0].ecus == ["SA 00", "SA 0B"]


def test_groups_of_the_maker_are_counted() -> None:
    """Proprietary A (EF00), A2 (1EF00) and B (FF00 to FFFF) of SAE J1939-21."""
    own = [(0.1 * k, can_id, bytes(8)) for k, can_id in enumerate((0x18EF0003, 0x19EF0003, 0x18FF1000, 0x18FF1003))]
    other = (1.0, 0x0CF00400, bytes(8))
    (remark,) = broadcast.decode(frames_of([*own, other]), PLANS, "f.log")[1]
    assert (remark.kind, remark.count) == ("groups_of_maker", 4)
    assert remark.text.endswith("0EF00 x 1, 0FF10 x 2, 1EF00 x 1")
    assert broadcast.decode(frames_of([other]), PLANS, "f.log")[1] == []
