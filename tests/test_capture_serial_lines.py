"""Numbered lines and bare answers of serial sessions, against SAE J1979, ISO 15765-2 and ISO 15765-4 (from memory).

Lines are built here as ISO 15765-2 cuts a message: six bytes in the first frame, seven in each further one, the last
one filled with 00, 55 or AA (the standard leaves the value open; common practice, no source). How adapters write them,
the length in three hexadecimal digits in front: common practice, no source.
"""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_capture_serial import heard, kinds, session

from logan.capture import registry
from logan.capture.numbered_lines import NumberedLines
from logan.capture.reader import Tally
from logan.capture.source import Source
from logan.errors import CaptureError
from logan.pipeline.gather import gather

EIGHT_CODES = bytes.fromhex("43 08 0101 0102 0103 0104 0105 0106 0107 0108")
NAMES = [f"P010{k}" for k in range(1, 9)]
"""SAE J1979: count, then two bytes a code; SAE J2012: 0101 is P0101."""
VIN = b"ZZZAAAAAAAA000001"
A = b"\x49\x04\x01CALIDAAAAAAAAAAA"
B = b"\x49\x04\x01CALIDBBBBBBBBBBB"


def lines(payload: bytes, fill: int = 0xAA) -> list[tuple[int, bytes]]:
    """Number and bytes of each line."""
    filled = payload + bytes([fill]) * (-(len(payload) - 6) % 7)
    parts = [filled[:6], *(filled[k : k + 7] for k in range(6, len(filled), 7))]
    return [(k % 16, part) for k, part in enumerate(parts)]


def shown(payload: bytes, fill: int = 0xAA, length: bool = True) -> list[str]:
    """The lines of an answer."""
    text = [f"{number:X}: {part.hex(' ').upper()} " for number, part in lines(payload, fill)]
    return [f"{len(payload):03X} ", *text] if length else text


@pytest.mark.parametrize("fill", [0x00, 0x55, 0xAA])
@pytest.mark.parametrize("asked", [">", ">03\r", "03\r", ">ATE0\rOK\r\r>", "[1.5] >"])
def test_a_length_behind_a_prompt_is_no_request(tmp_path: Path, asked: str, fill: int) -> None:
    """Fill of AAAA would be code B2AAA, of 5555 C1555 (SAE J2012), 01 as a request service 01 (SAE J1979)."""
    session(tmp_path, ">41 0C 0C 80 \r\r>41 05 7B \r\r" + asked + "\r".join(shown(EIGHT_CODES, fill)) + "\r\r>")
    found = gather([tmp_path / "session"])
    assert [code.code for code in found.vehicle.codes] == NAMES
    assert found.vehicle.services == {"01": 2, "03": 1}
    (said,) = [remark.text for remark in found.remarks if remark.kind == "answers_without_requests"]
    assert "no request was recorded" in said


def test_what_is_marked_as_sent_was_sent(tmp_path: Path) -> None:
    """The digit behind a request is the number of answers to wait for (common practice, no source)."""
    text = "".join(f"RX: {line}\n" for line in shown(EIGHT_CODES, length=False))
    assert heard(session(tmp_path, f"TX: 031\n{text}")) == [(0x7DF, "03"), (0x7E8, EIGHT_CODES.hex(" ").upper())]


@pytest.mark.parametrize("glued", [False, True])
def test_a_vin_behind_a_prompt(tmp_path: Path, glued: bool) -> None:
    text = ("" if glued else "\r").join(shown(b"\x49\x02\x01" + VIN)).replace(" ", "" if glued else " ")
    session(tmp_path, f">41 0C 0C 80 \r\r>{text}\r\r>41 05 7B \r\r>")
    found = gather([tmp_path / "session"])
    assert found.vehicle.vin == VIN.decode()
    assert found.vehicle.services == {"01": 2, "09": 1}


@pytest.mark.parametrize("fill", [0x00, 0x55, 0xAA])
@pytest.mark.parametrize("service", [0x43, 0x47, 0x4A])
def test_fill_is_no_code_where_no_length_is_shown(tmp_path: Path, service: int, fill: int) -> None:
    """SAE J1979: services 03, 07 and 0A count their codes, 2 + 2 x 8 bytes."""
    answer = bytes((service,)) + EIGHT_CODES[1:]
    text = "\r".join(shown(answer, fill, length=False))
    capture = session(tmp_path, f">{service - 0x40:02X}\r{text}\r\r>010C\r41 0C 0C 80\r\r>")
    assert heard(capture)[1] == (0x7E8, answer.hex(" ").upper())


def test_fill_behind_counted_items_where_no_length_is_shown(tmp_path: Path) -> None:
    """SAE J1979: infotype 0A, one item of 20 bytes; more than six bytes behind it are no fill (ISO 15765-2)."""
    name = b"\x49\x0a\x01ECM\0-EngineControl\0\0"
    assert len(name) == 23
    text = "\r".join(shown(name, 0x55, length=False))
    assert heard(session(tmp_path, f">090A\r{text}\r\r>"))[1] == (0x7E8, name.hex(" ").upper())
    more = EIGHT_CODES[:1] + b"\x02" + EIGHT_CODES[2:]
    text = "\r".join(shown(more, 0x55, length=False))
    assert heard(session(tmp_path, f">03\r{text}\r\r>"))[1][1].startswith(more.hex(" ").upper())


def test_an_answer_cut_short_does_not_take_the_lines_of_the_next_prompt(tmp_path: Path) -> None:
    vin = shown(b"\x49\x02\x01" + VIN)
    capture = session(tmp_path, ">41 05 7B\r\r>" + "\r".join(vin[:2]) + "\r\r>" + "\r".join(vin) + "\r\r>41 05 7B\r\r>")
    assert [data[:8] for _, data in heard(capture)] == ["41 05 7B", "49 02 01", "41 05 7B"]
    assert kinds(capture) == {"no_time": 1, "lost_consecutive_frame": 1}


def test_two_modules_in_turn_are_two_answers(tmp_path: Path) -> None:
    session(tmp_path, ">0904\r" + "\r".join(shown(A) + shown(B)) + "\r\r>")
    found = gather([tmp_path / "session"])
    assert found.vehicle.calibration_ids == ["CALIDAAAAAAAAAAA", "CALIDBBBBBBBBBBB"]
    assert {remark.kind: remark.count for remark in found.remarks} == {"no_time": 1, "ecu_unknown": 1}


def test_two_calibration_numbers_of_one_frame_each(tmp_path: Path) -> None:
    """SAE J1979: infotype 06, one item of four bytes; on the older links the third byte is a number (from memory)."""
    session(tmp_path, ">0906\r49 06 01 17 91 BC 82 \r49 06 01 00 AB CD EF \r\r>")
    found = gather([tmp_path / "session"])
    assert found.vehicle.cvns == ["1791BC82", "00ABCDEF"]
    assert [remark.kind for remark in found.remarks if remark.kind != "no_time"] == ["ecu_unknown"]
    session(tmp_path, ">0906\r49 06 01 17 91 BC 82 \r49 06 02 00 AB CD EF \r\r>")
    found = gather([tmp_path / "session"])
    assert (found.vehicle.cvns, len(found.remarks)) == (["1791BC82", "00ABCDEF"], 1)


def test_what_two_modules_mixed_is_counted_and_not_made_up(tmp_path: Path) -> None:
    mixed = [line for pair in zip(shown(A), shown(B), strict=True) for line in pair]
    capture = session(tmp_path, ">0904\r" + "\r".join(mixed) + "\r\r>010C\r41 0C 0C 80\r\r>")
    assert [data for _, data in heard(capture)] == ["09 04", "01 0C", "41 0C 0C 80"]
    assert kinds(capture) == {"no_time": 1, "mixed_answers": 2}
    assert capture.rejected == 2


def test_mixed_answers_that_differ_in_one_line_are_certain(tmp_path: Path) -> None:
    """Whichever line is taken for whose, the same two answers come out."""
    other = A[:-1] + b"B"
    mixed = [line for pair in zip(shown(A), shown(other), strict=True) for line in pair]
    session(tmp_path, ">0904\r" + "\r".join(mixed) + "\r\r>")
    assert gather([tmp_path / "session"]).vehicle.calibration_ids == ["CALIDAAAAAAAAAAA", "CALIDAAAAAAAAAAB"]


@given(
    st.lists(st.lists(st.sampled_from(b"AAAAAAAAB"), min_size=8, max_size=140), min_size=1, max_size=4), st.randoms()
)
@settings(max_examples=300, deadline=None)
def test_however_lines_are_mixed_no_answer_is_made_up(said: list[list[int]], random: object) -> None:
    """ISO 15765-2 keeps the order of one message's frames, and says nothing of the order of two messages'."""
    queues = [[(len(one), *line) for line in lines(bytes(one))] for one in said]
    tally = Tally()
    taken = NumberedLines(tally)
    found: list[bytes] = []
    k = 0
    while any(queues):
        size, number, data = random.choice([queue for queue in queues if queue]).pop(0)  # type: ignore[attr-defined]
        if number == 0:
            taken.length(size)
        k += 1
        found += [one.data for one in taken.line(k, None, number, data)]
    found += [one.data for one in taken.close()]
    assert not Counter(found) - Counter(bytes(one) for one in said)
    assert len(found) + tally.total("mixed_answers") == len(said)
    assert not tally.total("lost_consecutive_frame")


@pytest.mark.parametrize("head", ["", "\r\r>", "\ufeff"])
def test_a_session_of_answers_and_prompts_alone_is_recognised(tmp_path: Path, head: str) -> None:
    """Lengths of PIDs 0C and 05: SAE J1979; 0C 80 is 800 rpm."""
    path = tmp_path / "session"
    path.write_bytes((head + ">41 0C 0C 80 \r\r>41 05 7B \r\r>").encode())
    reader, guess = registry.choose(Source(path))
    assert (reader.format, guess.score) == ("serial transcript", 0.5)
    assert "no request is shown" in guess.reason
    found = gather([path])
    assert [float(one.value[0]) for one in found.signals] == [83.0, 800.0]
    assert [remark.kind for remark in found.remarks] == ["no_time", "answers_without_requests"]


ANSWERS = ["41 0C 0C 80", "410C0C80050D", "41 0C 0C 80 05 7B 0D 00", "42 0C 00 0C 80", "43 00", "43 01 01 33",
           "43 01 33 00 00 00 00", "44", "46 01 81 0A 00 10 00 00 FF FF", "46 00 C0 00 00 01", "47 00", "4A 00",
           "49 06 01 17 91 BC 82", "7F 09 12", "014\r0: 49 02 01 5A 5A 5A \r1: 41 41 41 41 41 41 41"]  # fmt: skip


@pytest.mark.parametrize("answer", [one for one in ANSWERS if one != "410C0C80050D"])
def test_every_service_of_sae_j1979_is_an_answer(tmp_path: Path, answer: str) -> None:
    path = tmp_path / "session"
    path.write_text(f">{answer} \r\r>{answer} \r\r>", encoding="ascii")
    assert registry.choose(Source(path))[0].format == "serial transcript"


@pytest.mark.parametrize(
    "text",
    [
        "41 0C 0C 80 \r41 05 7B \r",  # without a prompt
        ">41 0C 0C 80 \r\r>",  # one alone
        ">41 0C 0C \r\r>41 05 7B 00 \r\r>",  # lengths that no parameter has
        ">43 02 01 33 \r\r>43 05 01 33 \r\r>",  # counts that are not so
        ">41 0C 0C 80 \r\r>41 05 7B \r\r>FF FF FF\r\r>hello\r\r>",  # half of it something else
        ">AC CA 41\nACCA\n>BD AC 41\nCAFE\n",
        "> 41 is a number\n> 05 is none\n",
        ">7F 01 78\n>7F 55 11\n",
    ],
)
def test_what_is_no_session_of_answers_is_refused(tmp_path: Path, text: str) -> None:
    with pytest.raises(CaptureError, match="not recognised"):
        session(tmp_path, text)


@pytest.mark.parametrize("word", ["STOPPED", "BUS BUSY", "BUFFER FULL", "CAN ERROR", "FB ERROR", "ERR94", "ACT ALERT"])
@pytest.mark.parametrize("before", ["", "41 05 7B ", "SEARCHING..."])
def test_what_the_adapter_says_in_place_of_an_answer_is_counted(tmp_path: Path, word: str, before: str) -> None:
    """Words of serial adapters (common practice, no source)."""
    capture = session(tmp_path, f">0105\r{before}{word}\r\r>010C\r41 0C 0C 80\r\r>")
    assert kinds(capture) == {"no_time": 1, "adapter_error": 1}
    assert [remark.text for remark in capture.remarks if remark.kind == "adapter_error"] == [f"the adapter said {word}"]
    assert heard(capture)[-2:] == [(0x7DF, "01 0C"), (0x7E8, "41 0C 0C 80")]
