"""A record without any engine, and the caution that a high-voltage drive asks for."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan.pipeline.analyse import Analysis, analyse
from logan.report import html_page, terminal

ISOLATION = "59 02 FF 0A A6 00 09"
"""P0AA6: isolation of the high-voltage battery (SAE J2012, from memory), confirmed."""


def read(folder: Path, *answers: str, module: int = 0x7EC) -> Analysis:
    """A CAN text log of single frames: each answer of one module a tenth of a second after the last."""
    lines = []
    for k, answer in enumerate(answers):
        data = bytes.fromhex(answer)
        frame = (bytes([len(data)]) + data).ljust(8, b"\xaa").hex().upper()
        lines.append(f"({1700000000 + 0.1 * k:.6f}) can0 {module:03X}#{frame}\n")
    path = folder / "car.log"
    path.write_text("".join(lines), encoding="ascii")
    return analyse([path])


def said(one: Analysis) -> str:
    return terminal.text(one.record, one.finding)


def test_no_engine_is_judged_where_none_shows_and_high_voltage_is_warned_of(tmp_path: Path) -> None:
    one = read(tmp_path, "62 01 01 12 34", ISOLATION)
    text, page = said(one), html_page.render(one.record, one.finding)
    assert text.startswith("No engine shows in this record")
    assert one.finding.ranking.verdict == "insufficient_evidence"
    assert (one.finding.ranking.blind, one.finding.ranking.hints) == ({}, {})
    assert not [piece for fault in one.finding.ranking.faults for piece in fault.evidence if piece.weight]
    assert "%" not in text
    assert "Warm idle" not in page
    assert one.record.vehicle.codes[0].title == "High voltage battery system isolation from the body: fault"
    for place in (text, page.split('<section id="cautions"')[1]):
        assert "only people qualified for high-voltage work" in place


@pytest.mark.parametrize(
    ("answers", "module"),
    [
        (("41 0C 0C 80", ISOLATION), 0x7E8),  # a hybrid: engine speed beside the drive's code
        (("59 02 FF 02 16 00 09",), 0x7EC),  # P0216, injection timing
        (("59 02 FF",), 0x7E8),  # the engine's own module, asked for its codes
        (("43 00",), 0x7EC),  # emission diagnosis
    ],
)
def test_an_engine_that_shows_is_judged(tmp_path: Path, answers: tuple[str, ...], module: int) -> None:
    one = read(tmp_path, *answers, module=module)
    assert "No engine" not in said(one)
    assert one.finding.ranking.blind
    assert ("high-voltage work" in said(one)) == (ISOLATION in answers)


def test_a_car_that_says_it_runs_on_its_battery_is_warned_of_too(tmp_path: Path) -> None:
    """Fuel type 8 of PID 51 is battery electric (SAE J1979)."""
    text = said(read(tmp_path, "41 51 08"))
    assert text.startswith("The vehicle says that it runs on its battery alone")
    assert "high-voltage work" in text
