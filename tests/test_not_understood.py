"""Columns that nobody can name, and plain headings of the trade: a table never hides what it holds."""

from __future__ import annotations

from pathlib import Path

import pytest

from logan import channels
from logan.cli import main
from logan.errors import CaptureError
from logan.measures.perhaps import lacking
from logan.model.capture import NOT_UNDERSTOOD
from logan.model.channel import ChannelSet
from logan.model.profile import EngineProfile
from logan.pipeline.analyse import analyse
from logan.pipeline.gather import gather
from logan.pipeline.overview import overview_lines
from logan.report.json_document import build
from logan.report.terminal import text

ROWS = 40


def table(folder: Path, headings: str, cells: str, name: str = "table.csv") -> Path:
    """Rows of the same cells, of which ``{t}`` is the time in steps of 0.1 s."""
    path = folder / name
    path.write_text(f"{headings}\n" + "".join(cells.format(t=k / 10) + "\n" for k in range(ROWS)), "utf-8")
    return path


def found(path: Path) -> ChannelSet:
    return channels.build(gather([path]).signals, EngineProfile())[0]


@pytest.mark.parametrize(
    ("heading", "written", "channel", "inside"),
    [
        # headings as technicians write them: common practice, no source; conversion: 1 bar = 100 kPa (NIST SP 811)
        ("Load [%]", 20, "calculated_load", 20.0),
        ("Load %", 20, "calculated_load", 20.0),
        ("Pedal %", 35, "accelerator_pedal_d", 35.0),
        ("Accelerator (%)", 35, "accelerator_pedal_d", 35.0),
        *((f"Rail {word} [bar]", 300, "fuel_rail_pressure_commanded", 30_000.0)
          for word in ("set", "target", "setpoint", "desired", "commanded")),
        *((f"{word} [bar]", 300, "fuel_rail_pressure_commanded", 30_000.0)
          for word in ("Rail pressure set", "Target rail")),
        *((f"Rail {word} [MPa]", 30, "fuel_rail_pressure_actual", 30_000.0) for word in ("act", "actual", "measured")),
        ("Rail pressure act bar", 300, "fuel_rail_pressure_actual", 30_000.0),
        ("Timing set [deg BTDC]", 8, "injection_timing_commanded", 8.0),
        ("Injection timing set [°]", 8, "injection_timing_commanded", 8.0),
        ("Timing act [deg ATDC]", 8, "injection_timing_actual", -8.0),
    ],
)  # fmt: skip
def test_plain_headings_of_the_trade(tmp_path: Path, heading: str, written: float, channel: str, inside: float) -> None:
    path = table(tmp_path, f"Time [s],{heading}", f"{{t}},{written}")
    assert found(path).best[channel].value[0] == pytest.approx(inside)


@pytest.mark.parametrize(
    "heading",
    [
        "Load [kg]",
        "Load [Nm]",
        "Load",
        "Pedal [V]",
        "Rail set",
        "Rail act [A]",
        "Boost act",
        "Boost act [bar]",
        "Boost set [kPa]",
        "Timing set [%]",
    ],
)
def test_a_plain_heading_without_its_unit_tells_nothing(tmp_path: Path, heading: str) -> None:
    """A load in kilograms is what the vehicle carries, a pedal in volts its sensor, a boost gauge or absolute.

    Common practice, no source.
    """
    path = table(tmp_path, f"Time [s],Engine RPM,{heading}", "{t},800,5")
    standard = {"calculated_load", "accelerator_pedal_d", "injection_timing_commanded", "intake_manifold_pressure"}
    assert not {one.name for one in found(path)} & {
        *standard,
        "fuel_rail_pressure_commanded",
        "fuel_rail_pressure_actual",
    }
    assert any("nothing is concluded from" in line for line in overview_lines([path]))


def test_a_name_of_its_own_leads_over_a_plain_heading(tmp_path: Path) -> None:
    path = table(tmp_path, "Time [s],Load [%],Engine load [%]", "{t},90,20")
    assert found(path).best["calculated_load"].value[0] == 20.0


@pytest.fixture
def unknown(tmp_path: Path) -> Path:
    headings = "Time [s],Engine RPM,Coolant [degC],Rail HP wanted [bar],HP ist [bar],Fan stage"
    return table(tmp_path, headings, "{t},800,88,301,299,2")


SAID = (
    "columns that nothing is concluded from (headings.toml can say what they mean): Rail HP wanted, HP ist, Fan stage"
)


def test_the_report_says_which_columns_it_did_not_understand(
    unknown: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    page = tmp_path / "page.html"
    with pytest.raises(SystemExit, match="0"):
        main(["report", "--html", str(page), "--", str(unknown)])
    assert f"{SAID[0].upper()}{SAID[1:]}." in capsys.readouterr().out
    words = page.read_text("utf-8")
    assert SAID in words
    assert "Nothing to remark" not in words
    assert sum(SAID in line for line in overview_lines([unknown])) == 1
    assert not any("nothing to remark" in line for line in overview_lines([unknown]))


def test_a_missing_measure_names_the_column_that_may_hold_its_channel(unknown: Path) -> None:
    done = analyse([unknown])
    why = {absent.measure: absent.why for absent in done.finding.missing}
    told = "columns “Rail HP wanted”, “HP ist” may be"
    assert why["rail_leakdown_kpa_per_s"] == (
        f"not in the capture: fuel_rail_pressure_actual; {told} it: name them with headings.toml"
    )
    # 300 bar are no boost and no lift pump's pressure, and a stage of a fan without a unit is neither
    assert "may be" not in why["boost_error_kpa"]
    assert "may be" not in why["pedal_track_error_percent"]
    [remark] = [
        one for one in build(done.record, done.finding)["data_quality"]["remarks"] if one["kind"] == NOT_UNDERSTOOD
    ]
    assert (remark["text"], remark["count"]) == (SAID, 3)


def test_a_column_that_was_named_is_nobodys_riddle(unknown: Path, tmp_path: Path) -> None:
    shop = tmp_path / "shop"
    shop.mkdir()
    entries = {"Rail HP wanted": "fuel_rail_pressure_commanded", "HP ist": "fuel_rail_pressure_actual"}
    (shop / "headings.toml").write_text(
        "".join(f'[[heading]]\nmet = "{met}"\nmeans = "{means}"\n' for met, means in entries.items()), "utf-8"
    )
    done = analyse([unknown], folders=(shop,))
    assert [one.text.rpartition(": ")[2] for one in done.record.remarks if one.kind == NOT_UNDERSTOOD] == ["Fan stage"]
    assert not any("may be" in absent.why for absent in done.finding.missing)


def test_nothing_is_lacking_where_every_channel_is_there(tmp_path: Path) -> None:
    there = found(table(tmp_path, "Time [s],Engine RPM", "{t},800"))
    assert lacking(["engine_speed"], there) == ""
    assert lacking(["engine_speed", "vehicle_speed"], there) == "not in the capture: vehicle_speed"


@pytest.mark.parametrize(
    "heading", ["Date and time", "Local time", "Datum/Uhrzeit", "Date et heure", "Fecha y hora", "UTC time"]
)
def test_more_headings_of_time(tmp_path: Path, heading: str) -> None:
    """Words of the trade: common practice, no source; form of the cells: ISO 8601."""
    rows = "".join(f"2026-11-20T09:00:{k:02d}+01:00,800\n" for k in range(30))
    path = tmp_path / "table.csv"
    path.write_text(f"{heading},Engine RPM\n{rows}", "utf-8")
    [capture] = gather([path]).captures
    assert (capture.frames, capture.duration_s) == (30, 29.0)


@pytest.mark.parametrize("first", ["Sample", "A", "Lfd. Nr."])
def test_a_table_without_a_time_is_refused_with_reason_and_remedy(tmp_path: Path, first: str) -> None:
    """A number of the sample is no time: nobody says how long one takes."""
    path = table(tmp_path, f"{first},Engine RPM,Coolant [degC]", "{t},800,88")
    with pytest.raises(CaptureError) as refused:
        gather([path])
    seen = f"a table of {ROWS} rows whose columns hold no time known by its heading: {first}, Engine RPM, Coolant; "
    assert seen in str(refused.value)
    assert "headings.toml" in str(refused.value)
    (tmp_path / "headings.toml").write_text(f'[[heading]]\nmet = "{first}"\nmeans = "time"\n', "utf-8")
    assert gather([path], folders=(tmp_path,)).captures[0].frames == ROWS  # the remedy is one


def test_text_is_no_table_without_time(tmp_path: Path) -> None:
    path = tmp_path / "notes.csv"
    path.write_text("part,place,state\npump,left,new\nkey,right,old\n", "utf-8")
    with pytest.raises(CaptureError, match="begins with 'part,place,state'"):
        gather([path])


EEC1 = "18F00400#{}"
"""SAE J1939-71, PGN 61444: engine speed in bytes 4 and 5, 0.125 rpm a bit; FF means not available, FE an error."""


def bus(folder: Path, data: str, bad: int = 0) -> Path:
    path = folder / "bus.log"
    good = "".join(f"({k / 10:.6f}) can0 {EEC1.format(data)}\n" for k in range(300))
    path.write_text(good + "(no time at all) can0\n" * bad, "utf-8")
    return path


def test_not_available_is_normal_traffic_and_an_error_is_not(tmp_path: Path) -> None:
    """SAE J1939-71, 5.1.4: all ones are "not available", a highest byte FE is "error"."""
    done = analyse([bus(tmp_path, "FFFFFF0019FFFFFF")])
    assert not done.record.remarks
    assert "Remarks on the data" not in text(done.record, done.finding)
    assert sum(channel.invalid.get("not available", 0) for channel in done.record.channels) >= 300
    wrong = analyse([bus(tmp_path, "FFFFFF00FEFFFFFF")])
    assert [one.count for one in wrong.record.remarks if one.kind == "invalid_value"] == [300]
    assert "Remarks on the data: 1 kind;" in text(wrong.record, wrong.finding)


def test_records_that_were_lost_are_seen_at_once(tmp_path: Path) -> None:
    done = analyse([bus(tmp_path, "FFFFFF0019FFFFFF", bad=90)])
    lines = text(done.record, done.finding).splitlines()
    assert "Records that could not be read: 90, beside 300 that were." in lines
    assert any(line.startswith("Remarks on the data: 1 kind;") for line in lines)


def test_of_two_columns_with_one_heading_it_is_said_which_counts(tmp_path: Path) -> None:
    path = table(tmp_path, "Time [s],Engine RPM,Engine RPM", "{t},800,2400")
    assert set(found(path).best["engine_speed"].value) == {800.0}
    [remark] = gather([path]).remarks
    assert "the first of those with most values counts, rename the others" in remark.text
    rows = "".join(f"{k / 10},{800 if k % 2 else ''},2400\n" for k in range(ROWS))
    path.write_text(f"Time [s],Engine RPM,Engine RPM\n{rows}", "utf-8")
    assert set(found(path).best["engine_speed"].value) == {2400.0}
