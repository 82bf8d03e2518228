"""Channel tables as programs of many countries write them: marks in numbers, languages, encodings, dates."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest

from logan import channels
from logan.capture import read
from logan.errors import CaptureError
from logan.knowledge import spelling
from logan.knowledge.channels import load
from logan.model.capture import Capture, Table
from logan.model.channel import Channel
from logan.model.profile import EngineProfile
from logan.pipeline.decode import decode_channels, summary_lines
from logan.pipeline.gather import gather
from logan.pipeline.overview import overview_lines

T0 = datetime.datetime(2024, 5, 1, 21, 46, 40)


def written(folder: Path, text: str, encoding: str = "utf-8") -> Path:
    path = folder / "table.csv"
    path.write_bytes(text.encode(encoding))
    return path


def columns(capture: Capture) -> list[Channel]:
    assert isinstance(capture.content, Table)
    return list(capture.content.channels)


def kinds(capture: Capture) -> list[str]:
    return [remark.kind for remark in capture.remarks]


# Grouping and decimal marks: Unicode CLDR 44, numbers of de, fr, de-CH and en.
@pytest.mark.parametrize(
    ("separator", "numbers"),
    [
        (";", ["980,5", "1.000,5", "12.345,25"]),
        (";", ["980,5", "1\u202f000,5", "12\u202f345,25"]),
        (";", ["980,5", "1\u00a0000,5", "12 345,25"]),
        (";", ["980.5", "1\u2019000.5", "12'345.25"]),
        ("\t", ["980.5", "1,000.5", "12,345.25"]),
        (",", ["980.5", '"1,000.5"', '"12,345.25"']),
        (",", ['"980,5"', '"1.000,5"', '"12.345,25"']),
    ],
)
def test_marks_between_thousands(tmp_path: Path, separator: str, numbers: list[str]) -> None:
    rows = "".join(f"{k}{separator}{number}\n" for k, number in enumerate(numbers))
    capture = read(written(tmp_path, f"time_s{separator}Rail pressure [bar]\n{rows}"))
    assert columns(capture)[0].value.tolist() == [98_050, 100_050, 1_234_525]
    assert kinds(capture) == ["thousands"]


def test_whole_numbers_with_points_between_thousands(tmp_path: Path) -> None:
    """Points in front of three digits where every number below 1000 has none; three decimals elsewhere stay such."""
    rows = "".join(f"{k};{n:,}".replace(",", ".") + f";{0.9 + k / 8:.3f}\n" for k, n in enumerate(range(920, 1100, 20)))
    speed, flow = columns(read(written(tmp_path, f"time_s;Drehzahl [1/min];Luft [g/s]\n{rows}")))
    assert speed.value.tolist() == list(range(920, 1100, 20))
    assert flow.value == pytest.approx([0.9 + k / 8 for k in range(len(flow.value))])


@pytest.mark.parametrize(("mark", "idle"), [(".", "850"), (".", "0"), (",", "850")])
def test_marks_that_come_late_count_from_the_first_row(tmp_path: Path, mark: str, idle: str) -> None:
    """The engine idles for longer than anyone looks at first, then drives: 1.234 is no speed of it."""
    speeds = [idle] * 700 + [f"1{mark}{k % 999:03d}" for k in range(500)]
    rows = "".join(f"{k};{one};30000\n" for k, one in enumerate(speeds))
    capture = read(written(tmp_path, f"time_s;Drehzahl [1/min];Raildruck [kPa]\n{rows}"))
    assert columns(capture)[0].value.tolist() == [float(idle)] * 700 + [1000.0 + k % 999 for k in range(500)]
    assert [(r.kind, r.count) for r in capture.remarks] == [("thousands", 500)]


def test_decimal_commas_that_come_late_are_seen(tmp_path: Path) -> None:
    rows = "".join(f"{k};850;{'80' if k < 700 else '80,5'};1.{k % 999:03d}\n" for k in range(1200))
    capture = read(written(tmp_path, f"time_s;Drehzahl [1/min];Temperatur [°C];Raildruck [bar]\n{rows}"))
    assert columns(capture)[1].value.tolist() == [80.0] * 700 + [80.5] * 500
    assert columns(capture)[2].value.min() == 100_000  # a comma is the decimal sign, so the point is none
    assert [(r.kind, r.count) for r in capture.remarks] == [("thousands", 1200)]


@pytest.mark.parametrize("mark", [".", ","])
def test_marks_that_may_be_either_are_said(tmp_path: Path, mark: str) -> None:
    rows = "".join(f"{k};1{mark}{200 + k};1{mark}{100 + k}\n" for k in range(9))
    capture = read(written(tmp_path, f"time_s;Drehzahl [1/min];Ladedruck [bar]\n{rows}"))
    speed, boost = columns(capture)
    assert speed.value.tolist() == [1200.0 + k for k in range(9)]  # 1.2 rpm is no engine's
    assert boost.value == pytest.approx([110 + 0.1 * k for k in range(9)])
    said = [(remark.places[0], remark.text) for remark in capture.remarks if remark.kind == "number_marks"]
    assert [(place, "if its mark stands" in text) for place, text in said] == [("Drehzahl", False), ("Ladedruck", True)]


def test_three_decimals_are_no_thousands(tmp_path: Path) -> None:
    text = "time_s;A [V];B [V]\n" + "".join(f"{k * 0.125:.3f};{1 + k / 8:.3f};14,5\n" for k in range(9))
    a, b = columns(read(written(tmp_path, text.replace(".", ","))))
    assert a.value == pytest.approx([1 + k / 8 for k in range(9)])
    assert b.value.tolist() == [14.5] * 9


def test_units_glued_to_values_are_converted(tmp_path: Path) -> None:
    # NIST SP 811: 1 mile = 1609.344 m, 1 lbf/in2 = 6.894757 kPa, t/degC = (t/degF - 32) / 1.8
    text = "Time,Vehicle Speed,Fuel Rail Pressure,Coolant Temp,Boost [bar]\n0.0 s,60 mph,1000 psi,212°F,1 bar\n"
    capture = read(written(tmp_path, text + "0.5 s,60 mph,1000psi,100 °C,14.503774 psi\n"))
    speed, rail, coolant, boost = columns(capture)
    assert speed.value == pytest.approx([96.56064] * 2)
    assert rail.value == pytest.approx([6894.757] * 2)
    assert coolant.value == pytest.approx([100, 100])
    assert boost.value == pytest.approx([100, 100])
    assert [one.unit for one in (speed, rail, coolant, boost)] == ["km/h", "kPa", "degC", "kPa"]
    assert capture.duration_s == 0.5
    assert not capture.remarks


def test_a_glued_unit_of_another_quantity_is_no_value(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "time_s,Boost [kPa]\n0,100\n1,85 °C\n2,101\n"))
    assert columns(capture)[0].value.tolist() == [100, 101]
    assert kinds(capture) == ["bad_value"]


def test_units_in_a_row_of_their_own(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "Time,Coolant,Speed,Note\nms,degF,mph,\n0,212,60,1\n500,32,0,2\n"))
    coolant, speed, _ = columns(capture)
    assert coolant.value == pytest.approx([100, 0])
    assert speed.value == pytest.approx([96.56064, 0])  # NIST SP 811
    assert (capture.duration_s, capture.frames, capture.rejected) == (0.5, 2, 0)


def test_a_heading_between_the_rows(tmp_path: Path) -> None:
    again = "time_s,a [V],b [V]\n0,1,2\n1,1,2\ntime_s,a [V],b [V]\n2,1,2\n"
    capture = read(written(tmp_path, again))
    assert [one.value.tolist() for one in columns(capture)] == [[1, 1, 1], [2, 2, 2]]
    assert [(r.kind, r.places) for r in capture.remarks] == [("heading_again", ("line 4",))]
    assert capture.rejected == 0


def test_other_columns_between_the_rows_are_not_mixed_up(tmp_path: Path) -> None:
    capture = read(written(tmp_path, "time_s,a [V],b [V]\n0,1,2\n1,1,2\ntime_s,b [V],a [V]\n2,2,1\n3,2,1\n"))
    assert [one.value.tolist() for one in columns(capture)] == [[1, 1], [2, 2]]
    assert [(r.kind, r.places) for r in capture.remarks] == [("columns_change", ("line 4",))]
    assert (capture.frames, capture.rejected) == (2, 3)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "cp1252", "utf-16", "utf-16-le"])
def test_encodings(tmp_path: Path, encoding: str) -> None:
    text = ("\ufeff" if encoding == "utf-16-le" else "") + "Zeit [s];Kühlmitteltemperatur [°C]\r\n0;80,5\r\n1;81,5\r\n"
    (coolant,) = columns(read(written(tmp_path, text, encoding)))
    assert (coolant.name, coolant.unit, coolant.value.tolist()) == ("Kühlmitteltemperatur", "degC", [80.5, 81.5])


def test_a_long_table_in_utf_16(tmp_path: Path) -> None:
    rows = "".join(f"{k},{k % 997},äöü\n" for k in range(200_000))
    (speed,) = columns(read(written(tmp_path, f"time_s,engine_speed [rpm],note\n{rows}", "utf-16")))
    assert np.array_equal(speed.value, np.arange(200_000) % 997)


# Headings as the trade of each country writes them: common practice, no source.
@pytest.mark.parametrize(
    ("time", "speed", "coolant", "road"),
    [
        ("Zeit [s]", "Motordrehzahl [U/min]", "Kühlmitteltemperatur [°C]", "Fahrgeschwindigkeit [km/h]"),
        ("Temps (s)", "Régime moteur (tr/min)", "Température du liquide de refroidissement (°C)", "Vitesse véhicule"),
        ("Tiempo", "Régimen del motor", "Temperatura del refrigerante (ºC)", "Velocidad del vehículo (km/h)"),
        ("Tempo (s)", "Giri motore (giri/min)", "Temperatura liquido refrigerante (°C)", "Velocità veicolo (km/h)"),
        ("Czas [s]", "Obroty silnika [obr/min]", "Temperatura cieczy chłodzącej [°C]", "Prędkość pojazdu [km/h]"),
        ("Tempo", "Rotação do motor (rpm)", "Temperatura do líquido de arrefecimento", "Velocidade do veículo"),
        ("Tijd (s)", "Motortoerental (omw/min)", "Koelvloeistoftemperatuur (°C)", "Voertuigsnelheid (km/h)"),
        ("Tid", "Motorvarvtal (varv/min)", "Kylvätsketemperatur (°C)", "Hastighet (km/h)"),
        ("Čas (s)", "Otáčky motoru (ot/min)", "Teplota chladicí kapaliny (°C)", "Rychlost vozidla (km/h)"),
        ("Время (с)", "Обороты двигателя (об/мин)", "Температура охлаждающей жидкости (°С)", "Скорость (км/ч)"),
    ],
)
def test_headings_in_other_languages(tmp_path: Path, time: str, speed: str, coolant: str, road: str) -> None:
    written(tmp_path, f"{time};{speed};{coolant};{road}\n" + "".join(f"{k},5;800;85,5;50\n" for k in range(9)))
    found, _ = channels.chosen(gather([tmp_path / "table.csv"]).signals, EngineProfile())
    assert {name: channel.value[0] for name, channel in found.best.items()} == {
        "engine_speed": 800.0,
        "coolant_temperature": 85.5,
        "vehicle_speed": 50.0,
    }


def test_names_are_written_as_they_are_looked_up() -> None:
    assert spelling.plain("Kühlmittel-Temperatur (°C)") == "kuhlmittel_temperatur_c"
    assert spelling.plain("Außen łódź  Øre") == "aussen_lodz_ore"
    for info in load().values():
        for name in (info.name, *info.names, *info.instead):
            assert spelling.plain(name) == name


def times(folder: Path, cells: list[str], heading: str = "Time", separator: str = ",") -> Capture:
    rows = "".join(f"{cell}{separator}{800 + k}\n" for k, cell in enumerate(cells))
    return read(written(folder, f"{heading}{separator}engine_speed [rpm]\n{rows}"))


@pytest.mark.parametrize(
    ("form", "kind"),
    [
        ("%M:%S.%f", "time_unit"),
        ("%I:%M:%S.%f %p", None),
        ("%H:%M:%S:%f", None),
        ("%H:%M:%S.%f", None),
    ],
)
def test_times_without_a_date_are_no_dates_of_today(tmp_path: Path, form: str, kind: str | None) -> None:
    moments = [T0 + datetime.timedelta(seconds=0.5 * k) for k in range(2000)]  # the hour of the first form ends in it
    capture = times(tmp_path, [moment.strftime(form)[: -3 if form.endswith("%f") else None] for moment in moments])
    assert capture.start is None
    assert columns(capture)[0].t_s - columns(capture)[0].t_s[0] == pytest.approx(0.5 * np.arange(2000))
    assert kinds(capture) == ([kind] if kind else [])


@pytest.mark.parametrize(
    ("form", "first"),
    [
        ("%d.%m.%Y %H:%M:%S", T0),
        ("%m/%d/%Y %I:%M:%S %p", T0),
        ("%d/%m/%Y %H:%M:%S", T0.replace(day=13)),
        ("%m/%d/%Y %H:%M:%S", T0.replace(day=12, hour=23, minute=59)),
        ("%Y%m%d %H%M%S", T0),
        ("%Y/%m/%d %H:%M:%S", T0),
        ("%d-%b-%Y %H:%M:%S", T0),
    ],
)
def test_one_order_of_day_and_month_for_a_whole_table(tmp_path: Path, form: str, first: datetime.datetime) -> None:
    cells = [(first + datetime.timedelta(seconds=k)).strftime(form) for k in range(100)]
    capture = times(tmp_path, cells)
    assert capture.start == first.replace(tzinfo=datetime.UTC).timestamp()
    assert capture.duration_s == 99
    assert not {"time_backwards", "hole"} & set(kinds(capture))


def test_date_and_time_of_day_in_two_columns(tmp_path: Path) -> None:
    moments = [T0 + datetime.timedelta(seconds=3600 * 2 + k * 60) for k in range(30)]  # past midnight
    rows = "".join(f"{moment:%d.%m.%Y};{moment:%H:%M:%S},5;800\n" for moment in moments)
    capture = read(written(tmp_path, f"Datum;Uhrzeit;Drehzahl [1/min]\n{rows}"))
    assert capture.start == moments[0].replace(tzinfo=datetime.UTC).timestamp() + 0.5
    assert capture.duration_s == 29 * 60
    assert [channel.name for channel in columns(capture)] == ["Drehzahl"]


@pytest.mark.parametrize(
    ("first", "step", "length_s", "start"),
    [
        (0, 500, 49.5, None),  # milliseconds
        (0, 500_000, 49.5, None),  # microseconds
        (1_700_000_000_000, 500, 49.5, 1_700_000_000),
        (1_700_000_000_000_000, 500_000, 49.5, 1_700_000_000),
        (0, 10, 990, None),  # in milliseconds it were no second long
        (100_000_000_000, 500_000_000, 49.5, None),  # nanoseconds since the recorder's start, no Unix time
        (1_700_000_000, 120, 11_880, 1_700_000_000),
    ],
)
def test_whole_numbers_of_time_without_a_unit(
    tmp_path: Path, first: int, step: int, length_s: float, start: float | None
) -> None:
    capture = times(tmp_path, [str(first + k * step) for k in range(100)])
    assert (capture.duration_s, capture.start) == (pytest.approx(length_s), start)
    assert kinds(capture) == ([] if step == 120 else ["time_unit"])


@pytest.mark.parametrize("step", [10, 20, 50, 333.25])
def test_rows_ten_seconds_apart_are_milliseconds_and_the_other_reading_is_named(tmp_path: Path, step: float) -> None:
    """20 times a second, not 11 hours in which the engine was asked every 50 s."""
    cells = [f"{step * k:g}" for k in range(800)]
    capture = times(tmp_path, cells)
    assert capture.duration_s == pytest.approx(799 * step / 1000, rel=1e-3)
    (remark,) = capture.remarks
    assert "taken as milliseconds" in remark.text
    assert ("if they are seconds" in remark.text) == (800 * step < 86_400 and step <= 60)
    assert times(tmp_path, cells, "Time [s]").duration_s == pytest.approx(799 * step, rel=1e-3)


@pytest.mark.parametrize(("rows", "said"), [(900, False), (1100, True)])
def test_whole_seconds_that_may_be_milliseconds_are_said(tmp_path: Path, rows: int, said: bool) -> None:
    capture = times(tmp_path, [str(k) for k in range(rows)])
    assert capture.duration_s == rows - 1
    assert ["if they are milliseconds" in remark.text for remark in capture.remarks] == [True] * said


@pytest.mark.parametrize("first", [0.0, 0.4166667])
def test_parts_of_a_day(tmp_path: Path, first: float) -> None:
    """A spreadsheet keeps the time of day as a part of a day (from memory); no bus brings 86,400 rows a second."""
    capture = times(tmp_path, [f"{first + k * 0.5 / 86400:.10f}" for k in range(100)])
    assert (capture.duration_s, capture.start) == (pytest.approx(49.5, abs=1e-4), None)
    assert kinds(capture) == ["time_unit"]
    assert times(tmp_path, [f"{k * 0.01:.2f}" for k in range(90)]).duration_s == pytest.approx(0.89)


def test_days_of_a_spreadsheet(tmp_path: Path) -> None:
    """Day 45000 of the calendar that counts 1 January 1900 as 1 is 15 March 2023 (ECMA-376 part 1, 18.17.4.1)."""
    capture = times(tmp_path, [f"{45000.5 + k * 0.5 / 86400:.10f}" for k in range(100)])
    assert capture.start == datetime.datetime(2023, 3, 15, 12, tzinfo=datetime.UTC).timestamp()
    assert capture.duration_s == pytest.approx(49.5, abs=1e-4)
    assert kinds(capture) == ["time_unit"]


ROWS = "".join(f"{k},{800 + k},85\n" for k in range(9))


@pytest.mark.parametrize(
    "text",
    [
        "Recorder export\nDate: 2024-05-01\nVehicle,van\n\nTime (s),Engine RPM (rpm),Coolant (degC)\n" + ROWS,
        "sep=;\n" + ("Time (s),Engine RPM (rpm),Coolant (degC)\n" + ROWS).replace(",", ";"),
        ("Time (s),Engine RPM (rpm),Coolant (degC)\n" + ROWS).replace(",", "|"),
        ("Time (s),Engine RPM (rpm),Coolant (degC)\n" + ROWS).replace("\n", "\r"),
    ],
    ids=["lines before", "separator named", "upright strokes", "CR alone"],
)
def test_what_surrounds_the_rows(tmp_path: Path, text: str) -> None:
    """Common practice, no source."""
    capture = read(written(tmp_path, text))
    speed, coolant = columns(capture)
    assert (speed.value.tolist(), coolant.value.tolist()) == ([800.0 + k for k in range(9)], [85.0] * 9)
    assert (capture.frames, capture.rejected, capture.start) == (9, 0, None)  # a date alone is no start
    assert kinds(capture) == (["bad_start"] if "Date" in text else [])
    assert capture.metadata == ({"Date": "2024-05-01", "Vehicle": "van"} if "Date" in text else {})


def test_states_of_a_switch(tmp_path: Path) -> None:
    capture = read(
        written(tmp_path, "time_s,c,d,e,idle_validation,a,b\n0,1,2,3,On,true,x\n1,1,2,3,Off,false,y\n2,1,2,3,,true,\n")
    )
    *_, switch, flag = columns(capture)
    assert (switch.value.tolist(), flag.value.tolist()) == ([1, 0], [1, 0, 1])
    assert kinds(capture) == ["bad_value", "empty_column"]


def set_aside(folder: Path, heading: str, values: list[float]) -> tuple[int, list[str]]:
    """How many values of a channel are believed, and what is said of the others."""
    written(folder, f"time_s,{heading}\n" + "".join(f"{k},{value}\n" for k, value in enumerate(values)))
    found, _ = channels.build(gather([folder / "table.csv"]).signals, EngineProfile())
    (channel,) = found
    _, remarks = channels.build(gather([folder / "table.csv"]).signals, EngineProfile())
    return len(channel.finite()[1]), [remark.text for remark in remarks]


def test_values_of_another_unit_than_the_heading_says(tmp_path: Path) -> None:
    """Cooling water of 60 to 190 degF is 16 to 88 degC; air presses with 101.3 kPa = 29.9 inHg (NIST SP 811)."""
    warm_up = np.linspace(60, 190, 100).tolist()
    count, (text,) = set_aside(tmp_path, "coolant_temperature [degC]", warm_up)
    assert count == 0
    assert "degF" in text
    count, (text,) = set_aside(tmp_path, "barometric_pressure [kPa]", [29.9] * 9)
    assert count == 0
    assert "inHg" in text
    count, (text,) = set_aside(tmp_path, "coolant_temperature [degC]", [80.0] * 9 + [215.0])  # FF of PID 05: no sensor
    assert count == 9
    assert "degF" not in text
    assert set_aside(tmp_path, "coolant_temperature [degF]", warm_up) == (100, [])


def test_the_unit_that_is_named_is_possible_for_what_is_written(tmp_path: Path) -> None:
    """100 to 160 kPa under a heading in psi would be 690 to 1100 kPa; no rail holds 900 MPa."""
    count, (text,) = set_aside(tmp_path, "intake_manifold_pressure [psi]", np.linspace(100, 160, 60).tolist())
    assert (count, "out of range in psi, not in kPa" in text) == (0, True)
    assert set_aside(tmp_path, "fuel_rail_pressure [MPa]", np.linspace(300, 900, 60).tolist())[0] == 0


def test_a_sensor_that_fails_for_most_of_a_drive_keeps_what_it_read_before(tmp_path: Path) -> None:
    """300 degC would be possible as degF, but no engine leaps there."""
    count, (text,) = set_aside(tmp_path, "coolant_temperature [°C]", [85.0] * 20 + [300.0] * 40)
    assert (count, text.endswith("out of range")) == (20, True)


@pytest.mark.parametrize(
    ("heading", "factor"),
    [("Engine speed [Hz]", 60), ("Engine speed (1/s)", 60), ("Engine RPM [rpm x1000]", 1000), ("RPM [krpm]", 1000)],
)
def test_other_units_of_engine_speed(tmp_path: Path, heading: str, factor: float) -> None:
    """Turns a second and thousands of turns a minute."""
    found, _ = channels.build(
        gather([written(tmp_path, f"time_s,{heading}\n0,1.5\n1,2\n2,2.5\n")]).signals, EngineProfile()
    )
    assert found.best["engine_speed"].value.tolist() == [1.5 * factor, 2 * factor, 2.5 * factor]


@pytest.mark.parametrize(
    "heading", ["Coolant temperature, °F", "coolant_temperature_f", "Coolant temperature/degF", "Coolant temperature F"]
)
def test_units_behind_a_name_without_brackets(tmp_path: Path, heading: str) -> None:
    """212 degF are 100 degC (NIST SP 811)."""
    (column,) = columns(read(written(tmp_path, f"time_s;{heading}\n0;212\n1;32\n")))
    assert column.value.tolist() == pytest.approx([100, 0])
    assert column.unit == "degC"


def test_units_that_had_to_be_guessed_are_said(tmp_path: Path) -> None:
    path = written(tmp_path, "time_s,Engine RPM,MAP,Vehicle speed [furlong/h]\n0,800,30,5\n1,810,31,6\n")
    (said,) = channels.build(gather([path]).signals, EngineProfile())[1]
    assert (said.kind, said.count) == ("unit_guessed", 2)
    assert "MAP (no unit) as kPa, Vehicle speed [furlong/h] as km/h" in said.text


@pytest.mark.parametrize(
    ("unit", "sign"),
    [("°BTDC", 1), ("deg btdc", 1), ("° KW v. OT", 1), ("°ATDC", -1), ("deg ATDC", -1), ("°KW n.OT", -1)],
)
def test_angles_before_and_after_top_dead_centre(tmp_path: Path, unit: str, sign: int) -> None:
    """Inside, timing is positive before top dead centre (docs/conventions.md)."""
    (column,) = columns(read(written(tmp_path, f"time_s;Injection timing [{unit}]\n0;5\n1;-2\n")))
    assert (column.unit, column.value.tolist()) == ("deg", [5 * sign, -2 * sign])


def test_percent_that_may_be_parts_of_one(tmp_path: Path) -> None:
    rows = "".join(f"{k},{0.2 + 0.05 * k:.2f},{0.2 + 5 * k:.2f}\n" for k in range(12))
    path = written(tmp_path, f"time_s,Calculated load [%],Accelerator pedal position D [%]\n{rows}")
    (said,) = channels.build(gather([path]).signals, EngineProfile())[1]
    assert (said.kind, "calculated_load" in said.text) == ("percent_or_fraction", True)


def test_values_with_decimal_comma_and_unit(tmp_path: Path) -> None:
    text = "Zeit;Drehzahl;Raildruck\n" + "".join(f"{k},5 s;80{k} U/min;30{k},5 bar\n" for k in range(9))
    speed, rail = columns(read(written(tmp_path, text)))
    assert (speed.t_s.tolist(), speed.value[0]) == ([k + 0.5 for k in range(9)], 800)
    assert rail.value[0] == 30_050


def test_decimal_commas_between_commas_are_refused(tmp_path: Path) -> None:
    rows = "".join(f"{k},5,80{k},1,7{k},0\n" for k in range(9))
    with pytest.raises(CaptureError, match="6 cells under 3 headings"):
        read(written(tmp_path, f"time,Engine RPM,Coolant temperature\n{rows}"))


@pytest.mark.parametrize(
    ("zone", "hours", "said"),
    [
        ("Z", 0, []), (" UTC", 0, []), (" GMT", 0, []), ("+02:00", 2, []), (" +0200", 2, []), (" GMT+2", 2, []),
        (" UTC-05:30", -5.5, []), (" CEST", 0, ["time_zone", "time_zone"]), ("", 0, ["time_zone"]),
    ],
)  # fmt: skip
@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M:%S.%f", "%Y-%m-%d %H:%M:%S:%f"])
def test_zones_of_dates(tmp_path: Path, form: str, zone: str, hours: float, said: list[str]) -> None:
    """ISO 8601: local time = UTC + what follows; in front of the year neither day nor month can be mistaken."""
    cells = [(T0 + datetime.timedelta(seconds=0.5 * k)).strftime(form) + zone for k in range(30)]
    capture = times(tmp_path, cells)
    assert capture.start == T0.replace(tzinfo=datetime.UTC).timestamp() - 3600 * hours
    assert capture.duration_s == 14.5
    assert kinds(capture) == said


def test_inspect_names_the_columns_that_nothing_is_concluded_from(tmp_path: Path) -> None:
    heading = "Zeit;Einspritzzeitpunkt Soll [°KW];Einspritzzeitpunkt Ist [°KW];Fahrpedal [%];Speed [mph];Battery [V]"
    path = written(tmp_path, f"{heading};Fan stage\n" + "".join(f"{k},5;8;{k};0;50;14;2\n" for k in range(9)))
    found, _ = channels.build(gather([path]).signals, EngineProfile())
    names = ["injection_timing_commanded", "injection_timing_actual", "accelerator_pedal_d", "vehicle_speed"]
    assert {*names, "control_module_voltage"} <= {channel.name for channel in found}
    by_name = {channel.name: channel for channel in found}
    assert by_name["vehicle_speed"].value[0] == pytest.approx(80.4672)  # NIST SP 811: 1 mile = 1609.344 m
    assert by_name["injection_timing_actual"].unit == "deg"
    lines = [line for line in overview_lines([path]) if "nothing is concluded" in line]
    assert [line.rpartition(": ")[2] for line in lines] == ["Fan stage"]


@pytest.mark.parametrize(
    ("written_as", "unit", "name"),
    [
        ("RPM del motor", "", "engine_speed"), ("Régime du moteur", "tr/min", "engine_speed"),
        ("Prędkość obrotowa", "obr/min", "engine_speed"), ("Température liquide", "°C", "coolant_temperature"),
        ("Temperatura acqua", "°C", "coolant_temperature"), ("Température d'admission", "°C", "intake_air_temperature"),
        ("Manifold pressure", "kPa", "intake_manifold_pressure"),
        ("Presión del colector de admisión", "kPa", "intake_manifold_pressure"),
    ],
)  # fmt: skip
def test_further_words_of_the_trade(tmp_path: Path, written_as: str, unit: str, name: str) -> None:
    """Common practice, no source: what these quantities are called in Spanish, French, Polish, Italian and English."""
    heading = f"{written_as} [{unit}]" if unit else written_as
    path = written(tmp_path, f"time_s;{heading}\n" + "".join(f"{k};{90 + k}\n" for k in range(9)))
    found, remarks = channels.build(gather([path]).signals, EngineProfile())
    assert [channel.name for channel in found] == [name]
    assert "heading_not_known" not in {remark.kind for remark in remarks}


def test_columns_that_may_be_a_known_quantity_are_said(tmp_path: Path) -> None:
    heading = "time_s;Zzz [bar];Fan stage;Turbine [1/min];Drehzahl [1/min];Spule [V];Ambient air temperature [°C]"
    path = written(tmp_path, f"{heading}\n" + "".join(f"{k};1;{k};2000;800;12;20\n" for k in range(9)))
    _, remarks = channels.build(gather([path]).signals, EngineProfile())
    assert [(r.count, r.places, r.file) for r in remarks if r.kind == "heading_not_known"] == [
        (2, ("Zzz [kPa]", "Turbine [rpm]"), "table.csv")
    ]
    lines = [line for line in summary_lines(decode_channels([path])) if "not taken for a known channel" in line]
    assert [line.split()[0] for line in lines] == ["Turbine", "Zzz"]
