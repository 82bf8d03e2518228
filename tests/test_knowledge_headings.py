"""A workshop's own headings: tables and recordings that nothing but its folder can explain."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan.cli import main
from logan.errors import CaptureError, KnowledgeError
from logan.knowledge import headings
from logan.model.sensor import Edges, Waveform
from logan.pipeline.analyse import analyse
from logan.pipeline.decode import decode_channels
from logan.pipeline.gather import gather

ENTRIES = """
[[heading]]
met = "Takt"
means = "time"

[[heading]]
met = "Kanal 7"
means = "fuel_rail_pressure_actual"
unit = "bar"
factor = 0.1
offset = -2.0

[[heading]]
met = "Umdr."
means = "engine_speed"

[[heading]]
met = "Geber A"
means = "crank"

[[heading]]
met = "Geber B"
means = "cam"
"""
TABLE = "Takt;UMDR. [1/min];Kanal  7;Kanal 8\n" + "".join(f"{0.5 * k};{800 + k};{3020 + k};1\n" for k in range(20))


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "shop").mkdir()
    (tmp_path / "shop" / headings.NAME).write_text(ENTRIES, "utf-8")
    return tmp_path / "shop"


def test_columns_mean_what_the_folder_says(tmp_path: Path, folder: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text(TABLE, "utf-8")
    with pytest.raises(CaptureError):  # without the folder nobody knows which column is time
        gather([path])
    found = {channel.name: channel for channel in decode_channels([path], folders=(folder,))}
    assert found["engine_speed"].value[:2].tolist() == [800.0, 801.0]
    # 3020 steps of 0.1 bar less 2 bar are 300 bar, 30,000 kPa
    assert found["fuel_rail_pressure_actual"].value[:2].tolist() == pytest.approx([30_000.0, 30_010.0])
    assert found["fuel_rail_pressure_actual"].unit == "kPa"
    assert found["fuel_rail_pressure_actual"].source == "column Kanal  7 [bar]"
    assert found["Kanal 8"].t_s[-1] == 9.5
    record = analyse([path], folders=(folder,)).record
    assert any("headings.toml is new" in line for line in record.knowledge)


def test_a_heading_that_ends_in_a_unit_is_the_folders_first(tmp_path: Path, folder: Path) -> None:
    entry = '[[heading]]\nmet = "rail_pressure_bar"\nmeans = "fuel_rail_pressure_commanded"\nunit = "MPa"\n'
    (folder / headings.NAME).write_text(entry, "utf-8")
    path = tmp_path / "table.csv"
    path.write_text("time_s,rail_pressure_bar\n0,30\n1,31\n", "utf-8")
    found = {channel.name: channel.value.tolist() for channel in decode_channels([path], folders=(folder,))}
    assert found == {"fuel_rail_pressure_commanded": [30_000.0, 31_000.0]}
    assert [channel.value.tolist() for channel in decode_channels([path])] == [[3_000.0, 3_100.0]]


@pytest.mark.parametrize("form", ["edges.csv", "levels.csv", "volts.csv", "vcd"])
def test_signals_of_a_recording(tmp_path: Path, folder: Path, form: str) -> None:
    times = [0.01 * k for k in range(40)]
    content = {
        "edges.csv": "Takt,channel,edge\n"
        + "".join(
            f"{t:.2f},{'Geber A' if k % 4 else 'geber b'},{('rising', 'falling')[k % 2]}\n" for k, t in enumerate(times)
        ),
        "levels.csv": "Takt,Geber B,Geber A\n"
        + "".join(f"{t:.2f},{k // 8 % 2},{k % 2}\n" for k, t in enumerate(times)),
        "volts.csv": "Takt,Geber B [V],Geber A [V]\n"
        + "".join(f"{t:.2f},{k // 8 % 2},{k % 2}.5\n" for k, t in enumerate(times)),
        "vcd": "$timescale 1 ms $end\n$var wire 1 ! Geber_X $end\n$var wire 1 # Geber_B $end\n$enddefinitions $end\n"
        + "".join(f"#{k}\n{k % 2}!\n{k // 8 % 2}#\n" for k in range(40)),
    }[form]  # fmt: skip
    if form == "vcd":
        more = '[[heading]]\nmet = "Geber_X"\nmeans = "cam"\n[[heading]]\nmet = "Geber_B"\nmeans = "crank"\n'
        (folder / headings.NAME).write_text(ENTRIES + more, "utf-8")
    path = tmp_path / f"recording.{form}"
    path.write_text(content, "utf-8")
    (sensor,) = gather([path], folders=(folder,)).sensors
    found = sensor.content
    if isinstance(found, Edges):
        counts = {name: len(found.rising_s[name]) + len(found.falling_s[name]) for name in ("crank", "cam")}
        assert counts == {"edges.csv": {"crank": 30, "cam": 10}, "levels.csv": {"crank": 39, "cam": 4},
                          "vcd": {"crank": 4, "cam": 39}}[form]  # fmt: skip
    else:
        assert isinstance(found, Waveform)
        assert found.volts["crank"][0:2].tolist() == [0.5, 1.5]
        assert found.volts["cam"][0:2].tolist() == [0.0, 0.0]


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('means = "engine_speed"', 'means = "engine_sped"', "engine_speed"),
        ('unit = "bar"', 'unit = "degF"', "no unit of fuel_rail_pressure_actual"),
        ('met = "Umdr."', 'met = "KANAL 7"', "twice"),
        ('means = "time"', 'means = "time"\nfactor = 2.0', "only channels have"),
        ("factor = 0.1", "faktor = 0.1", "factor"),
        ("factor = 0.1", "factor = nan", "finite"),
        ("factor = 0.1", "factor = 0", "every value the same"),
    ],
)
def test_mistakes_are_named_with_their_line(
    folder: Path, capsys: pytest.CaptureFixture[str], old: str, new: str, said: str
) -> None:
    (folder / headings.NAME).write_text(ENTRIES.replace(old, new), "utf-8")
    with pytest.raises(KnowledgeError, match="line ") as error:
        headings.load((folder,))
    assert said in str(error.value)
    with pytest.raises(SystemExit) as ended:
        main(["knowledge", "check", str(folder)])
    assert ended.value.code == 2
    assert said in "".join(capsys.readouterr())


def test_a_later_folder_wins(tmp_path: Path, folder: Path) -> None:
    later = tmp_path / "later"
    later.mkdir()
    (later / headings.NAME).write_text('[[heading]]\nmet = "kanal 7"\nmeans = "vehicle_speed"\n', "utf-8")
    assert headings.load((folder, later))["kanal 7"].means == "vehicle_speed"
    assert headings.load((folder, later))["takt"].means == "time"
