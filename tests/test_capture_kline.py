"""K-line bytes, against published messages, crccheck's checksum and the framing of ISO 9141-2 and ISO 14230-2 / -4."""

from __future__ import annotations

import contextlib
from pathlib import Path

import numpy as np
import pytest
from crccheck.checksum import Checksum8
from hypothesis import given, settings
from hypothesis import strategies as st

from logan.capture import read
from logan.capture.kline_frames import Message, Trouble, messages
from logan.errors import CaptureError
from logan.model.capture import Capture
from logan.model.frames import Payloads

# Published: public code and library notes (found by string search); the answer 48 6B 10 41 0F 63 76 carries 59 degC.
PUBLISHED = [
    ("C1 33 F1 81 66", 0x18DB33F1, "81"),
    ("83 F1 10 C1 E9 8F BD", 0x18DAF110, "C1 E9 8F"),
    ("83 F1 18 C1 E9 8F C5", 0x18DAF118, "C1 E9 8F"),
    ("83 F1 11 C1 8F EF C4", 0x18DAF111, "C1 8F EF"),
    ("C2 33 F1 01 00 E7", 0x18DB33F1, "01 00"),
    ("C2 33 F1 01 0C F3", 0x18DB33F1, "01 0C"),
    ("86 F1 10 41 00 BE 3F E8 11 BE", 0x18DAF110, "41 00 BE 3F E8 11"),
    ("48 6B 10 41 0F 63 76", 0x18DAF110, "41 0F 63"),
    ("68 6A F1 01 00 C4", 0x18DB33F1, "01 00"),
    ("48 6B 10 41 00 BE 1F B8 11 AA", 0x18DAF110, "41 00 BE 1F B8 11"),
    ("83 F1 18 7F 01 12 1E", 0x18DAF118, "7F 01 12"),
]


def summed(text: str) -> bytes:
    data = bytes.fromhex(text)
    return data + bytes((Checksum8.calc(data),))


# the header forms of ISO 14230-2, 4.1: with and without addresses, length in the format byte or behind the header
FORMS = [
    ("82 10 F1 21 01", 0x18DA10F1), ("80 10 F1 02 21 01", 0x18DA10F1), ("02 21 01", 0x18DB33F1),
    ("00 02 21 01", 0x18DB33F1), ("C2 33 F1 01 0C", 0x18DB33F1), ("80 F1 10 03 61 01 7B", 0x18DAF110),
    ("03 61 01 7B", 0x18DAF110), ("68 6A F1 01 0C", 0x18DB33F1), ("48 6B 11 41 0C 1A F8", 0x18DAF111),
]  # fmt: skip


@pytest.mark.parametrize(("text", "identifier", "payload"), PUBLISHED)
def test_published_messages(text: str, identifier: int, payload: str) -> None:
    data = bytes.fromhex(text)
    assert Checksum8.calc(data[:-1]) == data[-1]
    (found,) = messages(data)
    assert isinstance(found, Message)
    assert (found.identifier, found.payload) == (identifier, bytes.fromhex(payload))


@pytest.mark.parametrize(("text", "identifier"), FORMS)
def test_header_forms(text: str, identifier: int) -> None:
    (found,) = messages(summed(text))
    assert isinstance(found, Message)
    assert found.identifier == identifier


def test_messages_run_together_without_pauses() -> None:
    texts = [text for text, _, _ in PUBLISHED] * 2
    found = list(messages(b"".join(bytes.fromhex(text) for text in texts)))
    assert [one.identifier for one in found if isinstance(one, Message)] == [i for _, i, _ in PUBLISHED] * 2


@given(st.lists(st.sampled_from(FORMS), min_size=1, max_size=12), st.data())
@settings(max_examples=100, deadline=None)
def test_a_wrong_byte_costs_its_own_message_only(forms: list[tuple[str, int]], data: st.DataObject) -> None:
    """One checksum byte is changed; with pauses between them all other messages are still read."""
    sent = [bytearray(summed(text)) for text, _ in forms]
    hurt = data.draw(st.integers(0, len(sent) - 1))
    sent[hurt][-1] ^= data.draw(st.integers(1, 255))
    pause = b"".join(b"\1" + bytes(len(one) - 1) for one in sent)
    found = list(messages(b"".join(sent), pause, pause))
    good = [one.payload for one in found if isinstance(one, Message)]
    expected = [next(messages(summed(text))) for text, _ in forms]
    assert good == [one.payload for k, one in enumerate(expected) if k != hurt and isinstance(one, Message)]
    assert any(isinstance(one, Trouble) for one in found)


def recorded(folder: Path, parts: list[tuple[float, bytes]], head: str = "time_s,byte\n", byte_s: float = 1e-3) -> Path:
    path = folder / "kline.csv"
    rows = [(t + k * byte_s, byte) for t, data in parts for k, byte in enumerate(data)]
    path.write_text(head + "".join(f"{t:.6f},{byte:02X}\n" for t, byte in rows))
    return path


def payloads_of(capture: Capture) -> list[bytes]:
    assert isinstance(capture.content, Payloads)
    return [capture.content.messages.payload(k) for k in range(len(capture.content.messages))]


def test_both_initialisations_then_an_exchange(tmp_path: Path) -> None:
    """5-baud handshake as published (33 | 55 08 08 | F7 | CC), the pulse of fast initialisation, an echo, damage."""
    capture = read(
        recorded(
            tmp_path,
            [
                (0.0, b"\x33"), (0.3, b"\x55\x08\x08"), (0.34, b"\xf7"), (0.38, b"\xcc"),
                (1.0, bytes.fromhex("68 6A F1 01 00 C4")), (1.04, bytes.fromhex("48 6B 10 41 00 BE 1F B8 11 AA")),
                (2.0, b"\x00"), (2.05, bytes.fromhex("C1 33 F1 81 66")), (2.09, bytes.fromhex("83 F1 10 C1 E9 8F BD")),
                (3.0, bytes.fromhex("C2 33 F1 01 0F F6" * 2)), (3.04, bytes.fromhex("83 F1 10 41 0F 47 1B")),
                (3.5, bytes.fromhex("83 F1 10 41 0F 47 1C")), (3.6, bytes.fromhex("83 F1 10 41")), (3.7, b"\x9f\x41"),
            ],
            "# start: 1700000000\ntime_s,byte\n",
        )
    )  # fmt: skip
    assert payloads_of(capture) == [
        bytes.fromhex(text) for text in ("01 00", "41 00 BE 1F B8 11", "81", "C1 E9 8F", "01 0F", "41 0F 47")
    ]
    counts = {remark.kind: 0 for remark in capture.remarks}
    for remark in capture.remarks:
        counts[remark.kind] += remark.count
    assert counts == {"init": 3, "echo": 1, "bad_checksum": 1, "cut_message": 1, "stray_byte": 2}
    assert (capture.frames, capture.rejected, capture.start) == (7, 2, 1_700_000_001.0)
    assert next(r.places for r in capture.remarks if r.kind == "bad_checksum") == ("byte 55, t = 3.500000 s",)
    assert isinstance(capture.content, Payloads)
    said = capture.content.messages
    assert (said.t_first_s[1], said.t_s[1]) == pytest.approx((1.04, 1.049))
    assert np.all(said.extended)


def test_an_echo_byte_by_byte_is_taken_out(tmp_path: Path) -> None:
    """A K-line is one wire: what the tester sends comes back (ISO 9141-2); here each byte right behind itself."""
    request, answer = bytes.fromhex("68 6A F1 01 00 C4"), bytes.fromhex("48 6B 10 41 00 BE 1F B8 11 AA")
    doubled = bytes(octet for octet in request for _ in range(2))
    capture = read(recorded(tmp_path, [(1.0, doubled), (1.05, answer), (1.2, doubled), (1.25, answer)]))
    assert payloads_of(capture) == [request[3:-1], answer[3:-1]] * 2
    assert [(remark.kind, remark.count) for remark in capture.remarks] == [("echo", 2)]


def test_cells_that_hold_no_byte_are_counted(tmp_path: Path) -> None:
    path = tmp_path / "kline.csv"
    path.write_text("time_s,byte\n0.000,0xC2\n0.001,33\n0.002,f1\n0.0025,zz\n0.003,1\n0.004,C\n0.005,F3\n0.1,48")
    capture = read(path)
    assert payloads_of(capture) == [b"\x01\x0c"]
    assert {remark.kind: remark.count for remark in capture.remarks} == {"bad_value": 1, "stray_byte": 1}


@given(st.binary(max_size=400), st.integers(0, 40))
@settings(max_examples=60, deadline=None)
def test_any_bytes_are_read_or_refused(tmp_path_factory: pytest.TempPathFactory, data: bytes, step_ms: int) -> None:
    with contextlib.suppress(CaptureError):
        path = recorded(tmp_path_factory.getbasetemp(), [(0.0, data)], byte_s=step_ms / 1000)
        capture = read(path)
        assert sum(one.stop - one.start for one in messages(data)) == len(data)
        assert capture.frames >= len(payloads_of(capture))


@pytest.mark.parametrize(("unit_s", "name"), [(1e-3, "milliseconds"), (1e-6, "microseconds"), (1e-9, "nanoseconds")])
def test_whole_numbers_of_time_in_front_of_bytes(tmp_path: Path, unit_s: float, name: str) -> None:
    """A byte takes 0.96 ms at 10,400 bit/s (ISO 9141-2), here one comes every 2 ms."""
    data = summed("C2 33 F1 01 0C") + summed("84 F1 10 41 0C 1A F8")
    at_s = [0.002 * k + (0.03 if k > 5 else 0) for k in range(len(data))]
    path = tmp_path / "bytes.csv"
    path.write_text(
        "time,byte\n" + "".join(f"{round(t / unit_s)},{one:02X}\n" for t, one in zip(at_s, data, strict=True))
    )
    capture = read(path)
    assert (capture.frames, capture.rejected) == (2, 0)
    (remark,) = capture.remarks
    assert (remark.kind, name in remark.text) == ("time_unit", True)
