"""Tables of trouble codes, monitors, tests and scalings: whole, sourced, and refused with a plain error if wrong."""

from __future__ import annotations

import csv
import shutil
from pathlib import Path

import pytest

from logan.errors import KnowledgeError
from logan.knowledge import obd

TABLES = sorted(obd.FOLDER.glob("*.csv"))


def fresh(monkeypatch: pytest.MonkeyPatch, folder: Path) -> None:
    """Read the tables from another folder, without what is remembered of the shipped ones."""
    monkeypatch.setattr(obd, "FOLDER", folder)
    for function in (obd.scalings, obd.code_titles, obd.code_words):
        monkeypatch.setattr(obd, function.__name__, function.__wrapped__)


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_every_row_names_its_source(path: Path) -> None:
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    assert all(row["source"] for row in rows)


def test_all_tables_load() -> None:
    assert len(obd.pid_signals()) == 1117
    assert len(obd.pid_lengths()) == 207
    assert obd.pid_lengths()[0x06] == (1, 2)
    assert {row.monitor for row in obd.monitors("compression")} & {row.monitor for row in obd.monitors("spark")} == {
        "misfire", "fuel_system", "comprehensive_component", "egr_vvt"
    }  # fmt: skip
    assert obd.scalings()[0x16].offset == -40.0
    assert obd.monitor_names()[0xA2] == "misfire cylinder 1 data"
    assert obd.test_names()[0x01].startswith("rich to lean")
    assert obd.counter_names(0x08)[1] == obd.counter_names(0x0B)[1] == "ignition_cycles"
    assert obd.infotypes()[0x02].bytes_per_item == 17
    assert obd.negative_responses()[0x78] == "received, response pending"
    assert obd.code_groups()["P03"] == "ignition system or misfire"


def test_support_bits_exist() -> None:
    """Every signal's support bit is a signal of the same PID."""
    signals = obd.pid_signals()
    named = [fact for fact in signals.values() if fact.supported_by]
    assert len(named) > 400
    for fact in named:
        assert signals[fact.pid, fact.supported_by].kind == "support"
    bits = {(fact.pid, fact.signal) for fact in signals.values() if fact.kind == "support"}
    used = {(fact.pid, fact.supported_by) for fact in named}
    assert {f"{pid:02X} {name}" for pid, name in bits - used} == set()


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        (("0.1,-40", "warm,-40"), "float"),
        (("scaling_id,", "scaling,"), "scaling"),
        (("0x16,temperature,0,", "0x16,temperature,maybe,"), "bool"),
        (("0x16,temperature,0,0.1,-40,degC,", "0x16,temperature,0,0.1,-40,degC,,,,"), ""),
    ],
)
def test_a_wrong_row_is_named(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, change: tuple[str, str], reason: str
) -> None:
    shutil.copytree(obd.FOLDER, tmp_path / "obd")
    table = tmp_path / "obd" / "service06_scaling.csv"
    text = table.read_text("utf-8")
    assert change[0] in text
    table.write_text(text.replace(change[0], change[1], 1), "utf-8")
    fresh(monkeypatch, tmp_path / "obd")
    with pytest.raises(KnowledgeError) as caught:
        obd.scalings()
    assert caught.value.place is not None
    assert caught.value.place.startswith("line ")
    assert "service06_scaling.csv" in str(caught.value)
    assert reason in str(caught.value)


def test_a_missing_table_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    fresh(monkeypatch, tmp_path)
    with pytest.raises(KnowledgeError, match=r"trouble_codes\.csv"):
        obd.code_titles()
    with pytest.raises(KnowledgeError, match=r"trouble_code_words\.toml"):
        obd.code_words()
