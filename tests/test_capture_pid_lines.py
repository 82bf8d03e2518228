"""Lines of time, parameter and data, against a recorded dump and the scaling that the `obd` library has."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from obd import commands
from obd.protocols.protocol import Message

from logan.capture import pid_lines, read
from logan.capture.pid_lines_read import read as read_lines
from logan.capture.source import Source
from logan.model.frames import Payloads
from logan.pipeline.gather import gather


def dump(folder: Path, text: str) -> Path:
    path = folder / "dump.txt"
    path.write_text(text, encoding="utf-8")
    return path


def by_library(name: str, payload: str) -> float:
    message = Message([])
    message.data = bytearray(bytes.fromhex(payload))
    return float(commands[name].decode([message]).magnitude)


def test_a_recorded_dump(captures: Path) -> None:
    """161 lines counted with grep; engine speed, coolant and voltage as the library decodes the same bytes."""
    path = captures / "drive_tables_b" / "raw_pid_bytes.txt"
    capture = read(path)
    assert (capture.format, capture.frames, capture.rejected) == ("parameter lines", 161, 2)
    assert capture.duration_s == pytest.approx(300.0 - 264.5)
    found = {channel.name: channel for channel in gather([path]).signals}
    for name, command, text in (
        ("engine_speed", "RPM", "410c0de1"),
        ("engine_coolant_temperature", "COOLANT_TEMP", "410557"),
        ("control_module_voltage", "CONTROL_MODULE_VOLTAGE", "4142 37c5"),
    ):
        assert found[name].value[-1] == pytest.approx(by_library(command, text))
    assert found["engine_speed"].t_s[-1] == pytest.approx(299.8)


def test_what_does_not_fit_is_counted(tmp_path: Path) -> None:
    good = "".join(f"{k}.5:0c1af{k % 8},\n" for k in range(9))
    capture = read(dump(tmp_path, "# start: 1700000000\n" + good + "9.6:0c1a,\n9.7:057b\n9.8:ff00\n-----\nhello\n"))
    assert (capture.frames, capture.rejected, capture.start) == (10, 3, 1_700_000_000.5)
    assert {remark.text: remark.places for remark in capture.remarks} == {
        "parameter that is unknown or has another number of bytes": ("line 11", "line 13"),
        "no time, colon and parameter with data": ("line 15",),
    }


def test_a_time_beyond_64_bits_of_nanoseconds_is_counted(tmp_path: Path) -> None:
    lines = [f"{k}.25:0c1af0,\n{k}.50:0d00," for k in range(20)]
    capture = read(dump(tmp_path, "\n".join([*lines, "9999999990:0c1af0,"]) + "\n"))
    assert (capture.frames, capture.rejected) == (40, 1)
    assert any("line 41" in remark.places for remark in capture.remarks)


def test_times_of_day_and_tables_are_not_taken_for_it(tmp_path: Path) -> None:
    for text in ("12:3045\n12:3046\n" * 5, "time_s,rpm\n0.1,800\n", "0: 49 02 01\n1: 31 31\n" * 5):
        assert pid_lines.looks(Source(dump(tmp_path, text))).score == 0


@given(st.text("0123456789abcdef.:,\n- ", max_size=200))
def test_any_text_is_read(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    parsed = read_lines(Source(dump(tmp_path_factory.getbasetemp(), text)))
    assert isinstance(parsed.content, Payloads)
    assert len(parsed.content.messages) == parsed.records
