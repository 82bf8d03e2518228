"""SAE J1850 bytes, against crccheck and the published check value."""

from __future__ import annotations

from pathlib import Path

import pytest
from crccheck.crc import Crc8SaeJ1850
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read
from logan.capture.j1850_frames import crc8, messages
from logan.capture.kline_frames import Message, Trouble
from logan.model.capture import Capture
from logan.model.frames import Payloads
from logan.pipeline.gather import gather


def framed(text: str) -> bytes:
    data = bytes.fromhex(text)
    return data + bytes((Crc8SaeJ1850.calc(data),))


# SAE J1979: request and answer headers of VPW (68 6A, 48 6B) and PWM (61 6A, 41 6B); 6C .. physical
FORMS = [
    ("68 6A F1 01 0C", 0x18DB33F1), ("48 6B 10 41 0C 1A F8", 0x18DAF110), ("61 6A F1 01 05", 0x18DB33F1),
    ("41 6B 11 41 05 7B", 0x18DAF111), ("48 6B 10 49 02 01 00 00 00 31", 0x18DAF110), ("48 6B 10 44", 0x18DAF110),
    ("6C 10 F1 22 11 3A 01", 0x18DA10F1), ("6C F1 10 62 11 3A 7F", 0x18DAF110),
]  # fmt: skip


def test_check_value() -> None:
    """4B for "123456789": the catalogue value of CRC-8/SAE-J1850 (crccheck, and public lists of CRC parameters)."""
    assert crc8(b"123456789") == 0x4B == Crc8SaeJ1850.calc(b"123456789")


# a published answer (public capture comment) and two requests worked with crccheck (collected worked examples)
@pytest.mark.parametrize(
    ("text", "crc"), [("48 6B 10 41 01 00 07 E1 E1", 0xA3), ("68 6A F1 01 00", 0x17), ("68 6A F1 01 0C", 0x8B)]
)
def test_worked_crcs(text: str, crc: int) -> None:
    assert crc8(bytes.fromhex(text)) == crc == Crc8SaeJ1850.calc(bytes.fromhex(text))


@given(st.binary(max_size=40))
def test_crc_as_a_library_reckons_it(data: bytes) -> None:
    assert crc8(data) == Crc8SaeJ1850.calc(data)


@pytest.mark.parametrize(("text", "identifier"), FORMS)
def test_header_forms(text: str, identifier: int) -> None:
    (found,) = messages(framed(text))
    assert isinstance(found, Message)
    assert (found.identifier, found.payload) == (identifier, bytes.fromhex(text)[3:])


@given(st.lists(st.sampled_from(FORMS), min_size=1, max_size=12), st.data())
@settings(max_examples=100, deadline=None)
def test_a_wrong_crc_costs_its_own_message_only(forms: list[tuple[str, int]], data: st.DataObject) -> None:
    sent = [bytearray(framed(text)) for text, _ in forms]
    hurt = data.draw(st.integers(0, len(sent) - 1))
    sent[hurt][-1] ^= data.draw(st.integers(1, 255))
    pause = b"".join(b"\1" + bytes(len(one) - 1) for one in sent)
    found = list(messages(b"".join(sent), pause))
    good = [one.payload for one in found if isinstance(one, Message)]
    assert good == [bytes.fromhex(text)[3:] for k, (text, _) in enumerate(forms) if k != hurt]
    assert any(isinstance(one, Trouble) for one in found)


@given(st.binary(max_size=300))
def test_every_byte_is_in_a_message_or_counted(data: bytes) -> None:
    assert sum(one.stop - one.start for one in messages(data)) == len(data)


def recorded(folder: Path, parts: list[tuple[float, bytes]], byte_s: float = 0.8e-3) -> Capture:
    path = folder / "bus.csv"
    rows = [(t + k * byte_s, byte) for t, data in parts for k, byte in enumerate(data)]
    path.write_text("time_s,byte\n" + "".join(f"{t:.6f},{byte:02X}\n" for t, byte in rows))
    return read(path)


def test_a_recording_is_told_from_a_k_line_by_its_crc(tmp_path: Path) -> None:
    """An answer 20 ms after its request, an in-frame response, damage, a cut message, noise."""
    capture = recorded(
        tmp_path,
        [
            (0.0, framed("68 6A F1 01 0C")), (0.02, framed("48 6B 10 41 0C 1A F8")),
            (1.0, framed("61 6A F1 01 05") + b"\x10"), (1.02, framed("41 6B 10 41 05 7B") + b"\xf1"),
            (2.0, framed("48 6B 10 41 05 7B")[:-1] + b"\x00"), (3.0, bytes.fromhex("48 6B 10")), (4.0, b"\x9f\x03"),
        ],
    )  # fmt: skip
    assert capture.format == "serial bus bytes, CSV, SAE J1850"
    assert isinstance(capture.content, Payloads)
    said = capture.content.messages
    assert [said.payload(k).hex() for k in range(len(said))] == ["010c", "410c1af8", "0105", "41057b"]
    assert {remark.kind: remark.count for remark in capture.remarks} == {
        "in_frame_response": 2, "bad_checksum": 1, "cut_message": 1, "stray_byte": 2
    }  # fmt: skip
    assert (capture.frames, capture.rejected) == (4, 2)
    values = {channel.name: float(channel.value[0]) for channel in gather([tmp_path / "bus.csv"]).signals}
    assert sorted(values.values()) == [83.0, 1726.0]


def test_messages_without_a_pause_between_them(tmp_path: Path) -> None:
    """A recorder that stamps every byte alike: only headers and CRC tell the messages apart."""
    data = b"".join(framed(text) for text, _ in FORMS)
    capture = recorded(tmp_path, [(0.0, data)])
    assert isinstance(capture.content, Payloads)
    assert len(capture.content.messages) == len(FORMS)
