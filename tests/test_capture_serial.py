"""Serial transcripts, against byte strings reported in public and the bytes that SAE J1979 / ISO 15765-2 give them."""

from __future__ import annotations

import contextlib
import json
from pathlib import Path

import numpy as np
import pytest
from crccheck.crc import Crc8SaeJ1850
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.channel import Channel
from logan.model.frames import EXTENDED, SENT, Frames, Payloads
from logan.pipeline.gather import gather

ASKED = "01 0C"
SAID = "41 0C 1A F8"  # 1726 rpm: published example (several public sources), SAE J1979 PID 0C


def session(folder: Path, text: str | bytes) -> Capture:
    path = folder / "session"
    path.write_bytes(text if isinstance(text, bytes) else text.encode("latin-1"))
    return read(path)


def heard(capture: Capture) -> list[tuple[int, str]]:
    """Identifier and bytes of everything in a session."""
    content = capture.content
    if isinstance(content, Frames):
        return [
            (int(i), data[:n].tobytes().hex(" ").upper())
            for i, data, n in zip(content.can_id, content.data, content.length, strict=True)
        ]
    assert isinstance(content, Payloads)
    said = content.messages
    return [(int(said.source[k]), said.payload(k).hex(" ").upper()) for k in range(len(said))]


def times(capture: Capture) -> list[float]:
    content = capture.content
    assert isinstance(content, Frames | Payloads)
    t_s = content.t_s if isinstance(content, Frames) else content.messages.t_s
    return np.round(t_s, 6).tolist()


def kinds(capture: Capture) -> dict[str, int]:
    out: dict[str, int] = {}
    for remark in capture.remarks:
        out[remark.kind] = out.get(remark.kind, 0) + remark.count
    return out


PLAIN = [(0x7DF, ASKED), (0x7E8, SAID)]
LONG = [(0x18DB33F1, ASKED), (0x18DAF110, SAID)]
FRAMES = [(0x7DF, "02 01 0C"), (0x7E8, "04 41 0C 1A F8")]


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("010C\r41 0C 1A F8 \r\r>", PLAIN),
        (">010C1\r\n410C1AF8\r\n", PLAIN),
        ("\xfc\r\r>ATZ\r\r<banner> v1.5\r\r>010C\r010C\rSEARCHING...\r41 0C 1A F8\r\r>", PLAIN),
        ("010C\rBUS INIT: OK41 0C 1A F8 >", PLAIN),
        ("010C -> 41 0C 1A F8\n", PLAIN),
        (">010C41 0C 1A F8\r>ATRV\r13.4V\r\r>ATDPN\rA6\r\r>", PLAIN),
        ("1 C\r41 C 1A F8\r", PLAIN),
        ("ATSH 7E1\rOK\r01 0C\r41 0C 1A F8", [(0x7E1, ASKED), (0x7E9, SAID)]),
        ("010C\r7E8 04 41 0C 1A F8 \r\r>", FRAMES),
        ("010C\r7E8 5 04 41 0C 1A F8 \r\r>", FRAMES),
        ("010C\r7E804410C1AF8\r", FRAMES),
        ("010C\r18 DA F1 10 04 41 0C 1A F8", [(0x18DB33F1, "02 01 0C"), (0x18DAF110, "04 41 0C 1A F8")]),
        ("010C\r18DAF11004410C1AF8\r", [(0x18DB33F1, "02 01 0C"), (0x18DAF110, "04 41 0C 1A F8")]),
        ("010C\r84 F1 10 41 0C 1A F8 E4\r", LONG),
        ("010C\r48 6B 10 41 0C 1A F8 22\r", LONG),
        ("010C\r486B10410C1AF822\r", LONG),
    ],
)
def test_forms_of_one_exchange(tmp_path: Path, text: str, expected: list[tuple[int, str]]) -> None:
    capture = session(tmp_path, text)
    assert capture.format.startswith("serial transcript")
    assert heard(capture) == expected
    # a stray byte before the first command is counted and located, not lost in silence
    stray = {"bad_line": 1} if text.startswith("\xfc") else {}
    assert kinds(capture) == {"no_time": 1, **stray}
    assert times(capture) == [0.0, 0.1]


def test_a_j1850_header_is_known_by_its_crc(tmp_path: Path) -> None:
    data = bytes.fromhex("48 6B 10 41 0C 1A F8")
    answer = (data + bytes((Crc8SaeJ1850.calc(data),))).hex(" ")
    assert heard(session(tmp_path, f"010C\r{answer}\r")) == LONG


@pytest.mark.parametrize(
    ("lines", "start"),
    [
        ("[1.000] 010C\n[1.050] 41 0C 1A F8\n", None),
        ("1.000 >010C\n1.050 41 0C 1A F8\n", None),
        ("1.000 TX: 01 0C\n1.050 RX: 41 0C 1A F8\n", None),
        ("1.000 > 01 0C\n1.050 < 41 0C 1A F8\n", None),
        ("1000ms 010C\n1050ms 410C1AF8\n", None),
        ("(1.0)010C\n(1.05)410C1AF8", None),
        ("# start: 1700000000\n1.0 010C\n1.05 41 0C 1A F8\n", 1_700_000_001.0),
        ("1700000001.000 010C\n1700000001.050 41 0C 1A F8\n", 1_700_000_001.0),
        ("2023-11-14T22:13:21.000Z 010C\n2023-11-14T22:13:21.050Z 41 0C 1A F8\n", 1_700_000_001.0),
        ("2023-11-14 22:13:21.000+00:00 >010C\n2023-11-14 22:13:21.050+00:00 41 0C 1A F8\n", 1_700_000_001.0),
        ("23:59:59.990 010C\n00:00:00.040 41 0C 1A F8\n", None),
    ],
)
def test_times_of_lines(tmp_path: Path, lines: str, start: float | None) -> None:
    capture = session(tmp_path, lines)
    assert heard(capture) == PLAIN
    assert (capture.start, kinds(capture)) == (start, {})
    assert capture.duration_s == pytest.approx(0.05)


def test_an_answer_without_its_own_time_stands_behind_its_request(tmp_path: Path) -> None:
    capture = session(tmp_path, "1.00 >010C\n41 0C 1A F8\n1.06 >010C\n41 0C 1A F8\n9.00 >010C\n41 0C 1A F8\n")
    assert times(capture) == [1.0, 1.03, 1.06, 1.16, 9.0, 9.1]


def test_numbered_lines_are_joined(tmp_path: Path) -> None:
    """VIN answer of 20 bytes: published sample of ISO 15765-2 segmentation (several public sources), VIN replaced."""
    vin = "49 02 01 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31 31"
    parts = "014\r0: 49 02 01 31 31 31\r1: 31 31 31 31 31 31 31\r2: 31 31 31 31 31 31 31"
    assert heard(session(tmp_path, f"0902\r{parts} \r\r>"))[1] == (0x7E8, vin)
    assert heard(session(tmp_path, "0902\r" + parts.replace(" ", "").replace("\r", "") + "\r>"))[1] == (0x7E8, vin)
    cut = session(
        tmp_path, "010C\r41 0C 1A F8\r>0902\r014\r0: 49 02 01 31 31 31\r2: 31 31 31 31 31 31 31\r>010C\rNO DATA\r"
    )
    assert kinds(cut) == {"no_time": 1, "lost_consecutive_frame": 2, "no_answer": 1}
    assert cut.rejected == 2


def test_answers_that_ran_together(tmp_path: Path) -> None:
    joined = session(tmp_path, "0105\r410552410553410554\r0904\r490401303345394904033347202049040439353131\r")
    assert [data for _, data in heard(joined)] == [
        "01 05", "41 05 52", "41 05 53", "41 05 54",
        "09 04", "49 04 01 30 33 45 39", "49 04 03 33 47 20 20", "49 04 04 39 35 31 31",
    ]  # fmt: skip
    assert kinds(joined)["ecu_unknown"] == 2


def test_what_cannot_be_read_is_counted_and_the_rest_is_read(tmp_path: Path) -> None:
    capture = session(
        tmp_path,
        "010C\r41 0C 1A F8\r010D\r41 0D 3C <DATA ERROR\r0105\r48 6B 10 41 05 7B 85\r0105\r41 05 7B\r010C\r41 0C 1A F",
    )
    assert kinds(capture) == {"no_time": 1, "bad_line": 2, "adapter_error": 1, "bad_checksum": 1}
    assert capture.rejected == 3
    places = {place for remark in capture.remarks if remark.kind != "no_time" for place in remark.places}
    assert places == {"line 4", "line 6", "line 10"}


# answers of three control modules, run together in changing order (exchanges s12: an issue report in public)
def test_three_control_modules_run_together(tmp_path: Path, captures: Path) -> None:
    lines = (captures / "serial_facts" / "exchanges.jsonl").read_text("utf-8").splitlines()
    exchanges = [one for one in map(json.loads, lines) if one["id"].startswith("s12.")]
    capture = session(tmp_path, "".join(f"{one['tx']}\r{one['rx']}\r" for one in exchanges))
    asked = [data for can_id, data in heard(capture) if can_id == 0x7DF]
    assert asked == ["02 01 05"] * 3 + ["02 01 01"] * 2
    for can_id, mask in ((0x7E8, "000EE968"), (0x7E9, "00040000"), (0x7EB, "00040000")):
        own = [data for one, data in heard(capture) if one == can_id]
        assert own == ["03 41 05 52"] * 3 + ["06 41 01 " + bytes.fromhex(mask).hex(" ").upper()] * 2
    # 52h - 40 = 42 degC (SAE J1979 PID 05), three times from each of the three
    temperatures = [one for one in channels(tmp_path / "session") if one.name == "EngineCoolantTemperature"] or [
        one for one in channels(tmp_path / "session") if "coolant" in one.name.lower()
    ]
    assert sorted(len(one.value) for one in temperatures) == [3, 3, 3]
    assert {float(v) for one in temperatures for v in one.value} == {42.0}


def channels(path: Path) -> tuple[Channel, ...]:
    return gather([path]).signals


# number of answers in each transcript, counted by hand, and one of them
@pytest.mark.parametrize(
    ("name", "answers", "one"),
    [
        ("s01", 2, (0x7EA, "06 41 00 98 3A 80 13")), ("s02", 1, (0x7EC, "03 7F 01 7F")), ("s03", 0, None),
        ("s04", 1, (0x7E8, "06 41 00 BE 1F A8 13")), ("s05", 15, (0x18DAF111, "06 47 02 22 6D 22 6E")),
        ("s07", 3, (0x7E8, "04 41 15 9C FF")), ("s08", 4, (0x7E9, "06 41 20 00 00 00 00")),
        ("s10", 3, (0x7E8, "22 30 30 30 30 30 30 30")), ("s11", 7, (0x7E8, "22 00 00 00 00 00 00 AA")),
        ("s16", 20, (0x7E8, "41 0C 0D 64")), ("s19", 18, (0x7E9, "06 49 00 14 40 00 00")),
    ],
)  # fmt: skip
def test_real_transcripts(captures: Path, name: str, answers: int, one: tuple[int, str] | None) -> None:
    capture = read(captures / "serial_facts" / f"{name}_transcript.txt")
    said = [pair for pair in heard(capture) if pair[0] not in (0x7DF, 0x18DB33F1)]
    assert (len(said), capture.rejected) == (answers, 0)
    assert one is None or one in said


def test_values_of_a_real_k_line_session(captures: Path) -> None:
    """41 0C 0D 64 is 857 rpm, 41 05 6A is 66 degC, 41 0B 1F is 31 kPa, 41 0E 87 is 3.5 deg (SAE J1979)."""
    found = gather([captures / "serial_facts" / "s16_transcript.txt"])
    values = {float(one.value[0]) for one in found.signals if len(one.value)}
    assert {857.0, 66.0, 31.0, 3.5} <= values
    assert any("part 2" in remark.text for remark in found.remarks)


# raw K-line bytes with echo, no leading zeros, lower case (exchanges s13, s15, s17, s18: public notes)
@pytest.mark.parametrize(
    ("number", "expected"),
    [
        ("s13", ["01 0C", "7F 01 12", "01 05", "7F 01 12", "01 0D"]),
        ("s15", ["01 0C", "41 0C 18 0F"]),
        ("s17", ["81", "C1 E9 8F", "01 00", "41 00 BE 1F B8 11"]),
        ("s18", ["01 0F", "41 0F 47", "01 0C", "41 0C 0D 20", "01 0D", "41 0D 39"]),
    ],
)
def test_raw_k_line_bytes(tmp_path: Path, captures: Path, number: str, expected: list[str]) -> None:
    lines = (captures / "serial_facts" / "exchanges.jsonl").read_text("utf-8").splitlines()
    exchanges = [one for one in map(json.loads, lines) if one["id"].startswith(f"{number}.")]
    capture = session(tmp_path, "".join(f"{one['tx']}\r{one['rx']}\r" for one in exchanges))
    assert [data for _, data in heard(capture)] == expected


def test_requests_are_marked_as_sent(tmp_path: Path) -> None:
    content = session(tmp_path, "010C\r18 DA F1 10 04 41 0C 1A F8\r").content
    assert isinstance(content, Frames)
    assert content.flags.tolist() == [EXTENDED | SENT, EXTENDED]


@given(st.lists(st.one_of(
    st.sampled_from(["010C\r", "41 0C 1A F8", "7E8 04 41 0C", "014\r", "0: 49 02", "1:", ">", "\r", "BUS INIT: ", "OK",
                     "48 6B 10 41", "1.5 ", "[", "ATSH", "18DAF110", "12:00:00 ", "<DATA ERROR", " ", "-> "]),
    st.text("0123456789ABCDEF >:\r.", max_size=12)), max_size=30))  # fmt: skip
@settings(max_examples=200, deadline=None)
def test_any_session_is_read_or_refused(tmp_path_factory: pytest.TempPathFactory, parts: list[str]) -> None:
    with contextlib.suppress(CaptureError):
        capture = session(tmp_path_factory.getbasetemp(), "010C\r41 0C 1A F8\r" + "".join(parts))
        assert capture.frames >= 2
        assert (np.diff(times(capture)) >= 0).all()


def exchanges(captures: Path, number: str) -> list[dict[str, str]]:
    lines = (captures / "serial_facts" / "exchanges.jsonl").read_text("utf-8").splitlines()
    return [one for one in map(json.loads, lines) if one["id"].startswith(f"{number}.")]


# exchanges s06, s09, s20: public issue reports; what the notes there call a probe or no request is left out
@pytest.mark.parametrize(
    ("number", "expected", "said"),
    [
        ("s06", [(0x18DB33F1, "01 00"), (0x18DAF17A, "41 00 00 00 00 00")], {"no_time": 1}),
        ("s09", [(0x18DAF110, "7F 01 11")], {"no_time": 1, "bad_line": 2, "adapter_error": 1}),
        (
            "s20",
            [(0x7DF, "01 01"), (0x7E8, "41 01 00 04 00 00"), (0x7E8, "41 01 00 00 00 00"), (0x7DF, "01 00"),
             (0x7E8, "41 00 98 18 00 13"), (0x7E8, "41 00 98 3B 00 13"), (0x7DF, "01 60"),
             (0x7E8, "41 60 00 00 00 01"), (0x7DF, "05 01 00")],
            {"no_time": 1, "bad_line": 1, "ecu_unknown": 2},
        ),
    ],
)  # fmt: skip
def test_reported_exchanges(
    tmp_path: Path, captures: Path, number: str, expected: list[tuple[int, str]], said: dict[str, int]
) -> None:
    asked = [one if "(" not in one["tx"] else one | {"tx": ""} for one in exchanges(captures, number)]
    capture = session(tmp_path, "".join(f"{one['tx']}\r{one['rx']}\r" for one in asked))
    assert (heard(capture), kinds(capture)) == (expected, said)


def test_three_interleaved_answers_of_several_frames(tmp_path: Path, captures: Path) -> None:
    """Exchanges s21: a VIN answer without the count byte, one module outside 7E8..7EF."""
    session(tmp_path, "".join(f"{one['tx']}\r{one['rx']}\r" for one in exchanges(captures, "s21")))
    vehicle = gather([tmp_path / "session"]).vehicle
    assert vehicle.vin == "LJCPCBLCX11000237"
    assert {"7E8", "7ED"} <= vehicle.ecu_names.keys()


def test_a_handshake_one_byte_a_line(tmp_path: Path, captures: Path) -> None:
    """Exchange s14: wall-clock times, the 5-baud address as zeros, then 55 E9 8F 70 CC; a request is put behind it."""
    (one,) = exchanges(captures, "s14")
    capture = session(tmp_path, one["rx"].replace("|", "\n") + "\n17:35:40.000 C2 33 F1 01 0C F3\n")
    assert heard(capture) == [(0x18DB33F1, "01 0C")]
    assert kinds(capture) == {"init": 4}


@pytest.mark.parametrize("end", ["\r", "\n", "\r\n"])
def test_answers_one_byte_a_line(tmp_path: Path, end: str) -> None:
    assert heard(session(tmp_path, f"010C{end}41{end}0C{end}1A{end}F8{end}>")) == PLAIN
    assert (
        heard(session(tmp_path, f">010C{end}48{end}6B{end}10{end}41{end}C{end}1A{end}F8{end}22{end}>"))[1:] == LONG[1:]
    )
    timed = [f"{1 + 0.001 * k:.3f} {octet}" for k, octet in enumerate(["C2", "33", "F1", "01", "0C", "F3"])]
    timed += [
        f"{1.05 + 0.001 * k:.3f} {octet}" for k, octet in enumerate(["84", "F1", "10", "41", "0C", "1A", "F8", "E4"])
    ]
    assert heard(session(tmp_path, end.join(timed) + end)) == LONG


def test_a_session_without_any_answer_is_recognised(tmp_path: Path, captures: Path) -> None:
    """Exchanges s03: banner with a stray byte, echo, BUS INIT: ERROR; each prompt on a line of its own."""
    text = "".join(f"{one['tx']}\r{one['rx']}\r" for one in exchanges(captures, "s03"))
    capture = session(tmp_path, text)
    assert heard(capture) == [(0x7DF, "01 00")]
    assert kinds(capture)["adapter_error"] == 1


def test_answers_behind_a_command_without_a_request_are_kept(tmp_path: Path) -> None:
    capture = session(tmp_path, "ATE0\rOK\r\r>ATH0\rOK\r\r>41 0C 1A F8 \r\r>41 05 7B \r\r>ATRV\r14.1V\r\r>41 0D 00\r>")
    assert heard(capture) == [(0x7E8, SAID), (0x7E8, "41 05 7B"), (0x7E8, "41 0D 00")]


def test_services_of_iso_14229_in_a_session(tmp_path: Path) -> None:
    """The answer of 59 02 in numbered lines, and data by identifier; values as in service 01."""
    session(tmp_path, "22F40C\r62 F4 0C 1A F8 \r\r>1902FF\r00B \r0: 59 02 FF 01 23 16 \r1: 2F C1 00 42 08 AA AA \r\r>")
    found = gather([tmp_path / "session"])
    assert [float(channel.value[0]) for channel in found.signals] == [1726.0]
    assert [code.code for code in found.vehicle.codes] == ["P0123-16", "U0100-42"]


EXCHANGED = [("010C", SAID), ("0105", "41 05 7B"), ("010D", "41 0D 3C"), ("0142", "41 42 36 B0")] * 2


def k_line(head: list[int], answer: str) -> str:
    """With header and checksum (ISO 14230-2, ISO 9141-2: sum of all bytes)."""
    data = bytes(head) + bytes.fromhex(answer)
    return (data + bytes((sum(data) & 0xFF,))).hex(" ").upper()


HEADERS = {
    "none": lambda answer: answer,
    "11 bits": lambda answer: f"7E8 {len(answer.split()):02X} {answer}",
    "11 bits, filled": lambda answer: f"7E8 {len(answer.split()):02X} {answer}{' AA' * (7 - len(answer.split()))}",
    "11 bits, length": lambda answer: f"7E8 8 {len(answer.split()):02X} {answer}{' 00' * (7 - len(answer.split()))}",
    "29 bits, split": lambda answer: f"18 DA F1 10 {len(answer.split()):02X} {answer}",
    "29 bits": lambda answer: f"18DAF110 {len(answer.split()):02X} {answer}",
    "ISO 14230": lambda answer: k_line([0x80 + len(answer.split()), 0xF1, 0x10], answer),
    "ISO 9141": lambda answer: k_line([0x48, 0x6B, 0x10], answer),
}
STAMPS = {
    "none": lambda t_s: "",
    "seconds": lambda t_s: f"{t_s:.3f} ",
    "brackets": lambda t_s: f"[{t_s:.3f}] ",
    "clock": lambda t_s: f"12:00:{t_s:06.3f} ",
    "clock, comma": lambda t_s: f"12:00:{t_s:06.3f} ".replace(".", ","),
    "ISO 8601": lambda t_s: f"2024-01-02T03:04:{t_s:06.3f}Z ",
    "date": lambda t_s: f"02.01.2024 03:04:{t_s:06.3f} ",
    "unit": lambda t_s: f"{1000 * t_s:.0f}ms ",
    "whole numbers": lambda t_s: f"{1000 * t_s:.0f} ",
    "tab": lambda t_s: f"{t_s:.3f}\t",
    "table": lambda t_s: f"{t_s:.3f},",
    "Unix": lambda t_s: f"{1_700_000_000 + t_s:.6f} ",
}  # fmt: skip
MARKS = [("", ""), (">", ""), ("TX: ", "RX: "), ("> ", "< "), ("-> ", "<- "), ("[TX] ", "[RX] "), ("Tx> ", "Rx< "),
         ("REQ ", "RES "), ("TX,", "RX,"), ("tester: ", "ecu: ")]  # fmt: skip


@given(st.sampled_from(sorted(HEADERS)), st.sampled_from(sorted(STAMPS)), st.sampled_from(MARKS), st.booleans(),
       st.sampled_from(["\r", "\n", "\r\n"]))  # fmt: skip
@settings(max_examples=150, deadline=None)
def test_every_way_of_writing_a_session(
    tmp_path_factory: pytest.TempPathFactory, header: str, stamp: str, marks: tuple[str, str], blanks: bool, end: str
) -> None:
    """Headers as in ISO 15765-4, ISO 14230-2, ISO 9141-2; stamps and marks as programs write them (common practice)."""
    lines = []
    for k, (request, answer) in enumerate(EXCHANGED):
        said = HEADERS[header](answer)
        lines += [f"{STAMPS[stamp](1 + 0.1 * k)}{marks[0]}{request}",
                  f"{STAMPS[stamp](1.05 + 0.1 * k)}{marks[1]}{said if blanks else said.replace(' ', '')}"]  # fmt: skip
    capture = session(tmp_path_factory.getbasetemp(), end.join(lines) + end)
    found = [data for _, data in heard(capture)]
    expected = [text for pair in EXCHANGED for text in (bytes.fromhex(pair[0]).hex(" ").upper(), pair[1])]
    assert len(found) == len(expected)
    assert all(text in data for text, data in zip(expected, found, strict=True))
    remarked = {"none": {"no_time": 1}, "whole numbers": {"time_unit": 1}, "date": {"time_zone": 1}}
    assert kinds(capture) == remarked.get(stamp, {})
    assert capture.timed == (stamp != "none")
    if capture.timed:
        assert capture.duration_s == pytest.approx(0.1 * len(EXCHANGED) - 0.05, abs=1e-3)


def test_frames_without_identifier_where_formatting_is_off(tmp_path: Path) -> None:
    """CAN data with control information (ISO 15765-2) are no request of service 04; the command is common practice."""
    text = (
        "ATCAF0\rOK\r>ATH0\rOK\r>02 01 0C\r04 41 0C 1A F8 00 00 00 \r>02 09 02\r10 14 49 02 01 31 44 34\r"
        ">30 00 00\r21 47 50 30 30 52 35 35\r22 42 31 32 33 34 35 36\r>ATCAF1\rOK\r>0105\r41 05 7B\r>"
    )
    session(tmp_path, text)
    found = gather([tmp_path / "session"])
    assert found.vehicle.services == {"01": 2, "09": 1}
    assert found.vehicle.vin == "1D4GP00R55B123456"
    assert {channel.name: channel.value.tolist() for channel in found.signals} == {
        "engine_speed": [1726.0],
        "engine_coolant_temperature": [83.0],
    }
    assert [remark.kind for remark in found.remarks] == ["no_time"]


def test_an_in_frame_response_behind_the_crc_of_a_pwm_message(tmp_path: Path) -> None:
    """SAE J1850: the receiver's address may follow the CRC; 41 6B is a header then, not an answer to PID 6B."""
    message = bytes.fromhex("416B10410C1AF8")
    good = message + bytes((Crc8SaeJ1850.calc(message), 0xF1))
    bad = message + bytes((Crc8SaeJ1850.calc(message) ^ 1, 0xF1))
    capture = session(
        tmp_path, f"ATH1\rOK\r>010C\r{good.hex(' ')}\r>010C\r{bad.hex(' ')}\r>016B\r41 6B 0F 78 78 78 78\r>"
    )
    answers = [data for _, data in heard(capture) if data.startswith("41")]
    assert answers == ["41 0C 1A F8", "41 6B 0F 78 78 78 78"]
    assert kinds(capture) == {"in_frame_response": 1, "bad_checksum": 1, "no_time": 1}


@pytest.mark.parametrize("said", ["BUS INIT: ...OK", "BUS INIT: OK", "BUSINIT: ...OK", "SEARCHING..."])
def test_a_bus_that_starts_is_no_error(tmp_path: Path, said: str) -> None:
    """How adapters say that the bus answers: common practice, no source."""
    assert kinds(session(tmp_path, f">{ASKED}\r{said}\r{SAID}\r>")) == {"no_time": 1}


@pytest.mark.parametrize(
    ("line", "start"),
    [
        ("01.05.2024 10:00:00,100", 1714557600.1), ("13/05/2024 10:00:00.100", 1715594400.1),
        ("05/13/2024 10:00:00.100", 1715594400.1), ("05/13/2024 10:00:00.100 PM", 1715637600.1),
        ("2024-05-01 10:00:00.100", 1714557600.1),
    ],
)  # fmt: skip
def test_dates_of_lines(tmp_path: Path, line: str, start: float) -> None:
    """Moments by the calendar: 1 May 2024 10:00 UTC is 1714557600."""
    capture = session(tmp_path, f"{line} > {ASKED}\n{line} < {SAID}\n")
    assert capture.start == pytest.approx(start)
    assert kinds(capture) == {"time_zone": 1}


def test_a_date_that_may_be_two_days_is_left_out_and_said(tmp_path: Path) -> None:
    capture = session(tmp_path, f"05/06/2024 10:00:00.100 > {ASKED}\n05/06/2024 10:00:00.300 < {SAID}\n")
    assert (capture.start, capture.duration_s) == (None, pytest.approx(0.2))
    assert kinds(capture) == {"date_order": 1}


def test_hours_to_twelve(tmp_path: Path) -> None:
    capture = session(tmp_path, f"11:59:59.900 AM > {ASKED}\n12:00:00.100 PM < {SAID}\n")
    assert capture.duration_s == pytest.approx(0.2)


def test_zero_bytes_between_the_lines_are_nothing(tmp_path: Path) -> None:
    """Adapters may send them, they carry nothing (common practice, no source)."""
    assert heard(session(tmp_path, f">{ASKED}\r\n\0\0{SAID}\r\n\r\n>")) == [(0x7DF, ASKED), (0x7E8, SAID)]


@pytest.mark.parametrize(
    ("command", "asked", "told"),
    [
        ("ATSH 7E0", 0x7E0, 0x7E8), ("ATSH7E1", 0x7E1, 0x7E9), ("ATSH DA 10 F1", 0x18DA10F1, 0x18DAF110),
        ("ATSH 81 28 F1", 0x18DA28F1, 0x18DAF128), ("ATSH18DA28F1", 0x18DA28F1, 0x18DAF128),
    ],
)  # fmt: skip
def test_the_header_that_the_adapter_was_told(tmp_path: Path, command: str, asked: int, told: int) -> None:
    """Identifiers by ISO 15765-4, addresses by ISO 14230-2."""
    assert heard(session(tmp_path, f">{command}\rOK\r>{ASKED}\r{SAID}\r>")) == [(asked, ASKED), (told, SAID)]


def test_what_the_adapter_hears_on_a_bus_of_29_bits(tmp_path: Path) -> None:
    """Identifiers as bytes with blanks; 6464 / 8 = 808 rpm (SAE J1939-71, SPN 190)."""
    lines = "0C F0 04 00 F0 7D 7D 40 19 00 F0 7D\r18 FE EE 00 7D 64 FF FF FF FF FF FF\rzzz\r"
    capture = session(tmp_path, f"ATMA\r{lines}BUFFER FULL\r>")
    assert [can_id for can_id, _ in heard(capture)] == [0x0CF00400, 0x18FEEE00]
    assert kinds(capture) == {"bad_line": 1, "adapter_error": 1, "no_time": 1}
    speed = next(one for one in gather([tmp_path / "session"]).signals if one.name == "engine_speed")
    assert speed.value.tolist() == [808.0]


def test_requests_and_answers_in_the_cells_of_a_table(tmp_path: Path) -> None:
    capture = session(tmp_path, "time,tx,rx\n0.0,010C,41 0C 1A F8\n0.1,010D,41 0D 32\n0.2,0105,41 05 7B\n")
    assert [data for _, data in heard(capture)] == ["01 0C", SAID, "01 0D", "41 0D 32", "01 05", "41 05 7B"]
