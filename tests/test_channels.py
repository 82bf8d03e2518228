"""Names, units, validity and the choice among several sources of one quantity."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest

from logan.channels import build
from logan.channels.naming import plain
from logan.errors import KnowledgeError
from logan.knowledge import channels as catalogue
from logan.model.channel import Channel
from logan.model.profile import EngineProfile

# contract, section 5
CONTRACT = {
    "engine_speed": "rpm", "vehicle_speed": "km/h", "calculated_load": "%", "coolant_temperature": "degC",
    "intake_air_temperature": "degC", "oil_temperature": "degC", "fuel_temperature": "degC",
    "intake_manifold_pressure": "kPa", "boost_pressure_commanded": "kPa", "barometric_pressure": "kPa",
    "mass_air_flow": "g/s", "control_module_voltage": "V", "accelerator_pedal_d": "%", "accelerator_pedal_e": "%",
    "idle_validation": "", "idle_speed_target": "rpm", "injection_timing_commanded": "deg",
    "injection_timing_actual": "deg", "timing_actuator_duty": "%", "fuel_supply_pressure": "kPa",
    "fuel_rail_pressure_commanded": "kPa", "fuel_rail_pressure_actual": "kPa", "rail_valve_duty": "%",
    "fuel_rate": "L/h", "fuel_quantity": "mg/stroke", "torque_actual": "%", "crank_cam_phase": "deg",
    "crank_signal_errors": "count", "cam_signal_errors": "count", "short_term_fuel_trim_1": "%",
    "long_term_fuel_trim_1": "%", "short_term_fuel_trim_2": "%", "long_term_fuel_trim_2": "%", "starter_active": "",
    **{f"cylinder_{n}_fuel_correction": "%" for n in range(1, 13)},
}  # fmt: skip


def raw(name: str, values: list[float], unit: str = "", step_s: float = 1.0, **more: str) -> Channel:
    return Channel(name, unit, np.arange(len(values)) * step_s, np.array(values, float), **more)  # type: ignore[arg-type]


def built(*channels: Channel, **names: str) -> dict[str, Channel]:
    return build(channels, EngineProfile(channels=names)).__getitem__(0).best


def test_every_contract_channel_is_known() -> None:
    assert {name: info.unit for name, info in catalogue.load().items()} == CONTRACT


@pytest.mark.parametrize(
    ("signal", "unit", "channel"),
    [
        # SAE J1979 service 01 (PID 0C, 04, 05, 0B, 49, 5D, 6D, 06, 0A), SAE J1939 (SPN 84, 92)
        ("engine_speed", "rpm", "engine_speed"),
        ("calculated_engine_load", "%", "calculated_load"),
        ("engine_coolant_temperature", "degC", "coolant_temperature"),
        ("intake_manifold_absolute_pressure", "kPa", "intake_manifold_pressure"),
        ("accelerator_pedal_position_d", "%", "accelerator_pedal_d"),
        ("fuel_injection_timing", "deg", "injection_timing_actual"),
        ("fuel_rail_pressure_a_commanded", "kPa", "fuel_rail_pressure_commanded"),
        ("short_term_fuel_trim_bank1", "%", "short_term_fuel_trim_1"),
        ("fuel_pressure_gauge", "kPa", "fuel_supply_pressure"),
        ("wheel_based_vehicle_speed", "km/h", "vehicle_speed"),
        ("engine_load_at_current_speed", "%", "calculated_load"),
        # headings of tables and signals of data bases
        ("Engine RPM", "RPM", "engine_speed"),
        ("ENGINE_RPM", "", "engine_speed"),
        ("EngineSpeed", "1/min", "engine_speed"),
        ("Vehicle Speed Sensor", "km/h", "vehicle_speed"),
        ("Air Flow Rate from Mass Flow Sensor", "g/s", "mass_air_flow"),
        ("cylinder_3_fuel_correction", "%", "cylinder_3_fuel_correction"),
    ],
)
def test_names_met(signal: str, unit: str, channel: str) -> None:
    found = built(raw(signal, [20.0, 30.0, 40.0], unit))
    assert list(found) == [channel]
    assert found[channel].unit == CONTRACT[channel]
    np.testing.assert_array_equal(found[channel].value, [20.0, 30.0, 40.0])


def test_unknown_signals_keep_their_name_and_get_the_inner_unit() -> None:
    found = built(raw("TankPressure", [1.0, 2.0], "bar"))
    assert found["TankPressure"].unit == "kPa"
    np.testing.assert_allclose(found["TankPressure"].value, [100.0, 200.0])


@pytest.mark.parametrize(
    ("name", "unit", "given", "inside"),
    [
        # exact definitions: NIST SP 811, appendix B; 1 MPa = 1000 kPa
        ("coolant_temp", "degF", 212.0, 100.0),
        ("vehicle_speed", "mph", 60.0, 96.56064),
        ("fuel_pressure", "psi", 10.0, 68.94757),
        ("fuel_rail_pressure", "MPa", 30.0, 30000.0),
        ("intake_manifold_pressure", "bar", 1.5, 150.0),
    ],
)
def test_units(name: str, unit: str, given: float, inside: float) -> None:
    (channel,) = built(raw(name, [given], unit)).values()
    assert channel.value[0] == pytest.approx(inside, rel=1e-6)


def test_the_profile_wins_over_the_catalogue() -> None:
    found = built(
        raw("TimingDesired", [8.0], "deg", source="DBC PumpState.TimingDesired"),
        raw("Speed", [50.0] * 3, "rpm", source="DBC Front.Speed"),
        raw("engine_speed", [800.0] * 9, "rpm", source="service 01 PID 0C, ECU 7E8", ecu="7E8"),
        **{"PumpState.TimingDesired": "injection_timing_commanded", "Front.Speed": "engine_speed"},
    )
    assert found["injection_timing_commanded"].value[0] == 8.0
    assert found["engine_speed"].value[0] == 50.0


def test_a_quantity_in_a_foreign_unit_is_not_taken_for_it() -> None:
    channel_set, remarks = build([raw("fuel_quantity", [1.0, 2.0], "kPa")], EngineProfile())
    assert "fuel_quantity" not in channel_set
    assert "fuel_quantity [kPa]" in channel_set
    assert [remark.kind for remark in remarks] == ["wrong_unit"]


def test_impossible_values_are_set_aside_and_counted() -> None:
    channel_set, remarks = build(
        [raw("engine_speed", [800.0, 20000.0, 801.0, -5.0], "rpm", file="a.log")], EngineProfile()
    )
    channel = channel_set.best["engine_speed"]
    np.testing.assert_array_equal(np.isnan(channel.value), [False, True, False, True])
    assert channel.invalid == {"out of range": 2}
    (remark,) = remarks
    assert (remark.kind, remark.count, remark.file, remark.places[0]) == ("invalid_value", 2, "a.log", "t = 1.000 s")


def test_signals_that_never_hold_a_value_share_one_remark() -> None:
    blank = [raw(name, [np.nan] * 3, source=f"DBC EEC2.{name}", file="a.log") for name in ("kickdown", "remote")]
    channel_set, (remark,) = build([*blank, raw("engine_speed", [800.0], "rpm")], EngineProfile())
    assert (remark.kind, remark.count, remark.file) == ("empty_signal", 2, "a.log")
    assert "DBC EEC2.kickdown, DBC EEC2.remote" in remark.text
    assert "kickdown" in channel_set


def test_a_frozen_speed_is_set_aside_only_where_the_vehicle_moves() -> None:
    road = raw("vehicle_speed", [0.0] * 60 + list(np.linspace(0, 80, 60)), "km/h")
    frozen = build([raw("engine_speed", [800.0] * 120, "rpm"), road], EngineProfile())[0].best["engine_speed"]
    assert frozen.invalid == {"frozen": 120}
    standing = raw("vehicle_speed", [0.0] * 120, "km/h")
    steady = build([raw("engine_speed", [800.0] * 120, "rpm"), standing], EngineProfile())[0].best["engine_speed"]
    assert steady.invalid == {}


def test_the_faster_source_leads_and_the_other_stays() -> None:
    broadcast = raw("EngineSpeed", [800.0] * 100, "rpm", 0.1, source="DBC EngineData.EngineSpeed")
    polled = raw("engine_speed", [801.0] * 20, "rpm", 0.5, source="service 01 PID 0C, ECU 7E8", ecu="7E8")
    channel_set, _ = build([polled, broadcast], EngineProfile())
    assert channel_set.best["engine_speed"].source == broadcast.source
    (other,) = channel_set.others["engine_speed"]
    assert (other.name, other.source) == ("engine_speed@7E8", polled.source)


@pytest.mark.parametrize(
    ("engine", "other"),
    [
        ("7E8", "7E9"),
        ("18DAF110", "18DAF118"),
        ("SA 00", "SA 03"),
        ("SA 00 can1", "SA 0B can1"),
        ("10", "18"),
        ("", "SA 21"),
    ],
)
def test_the_engines_own_answer_leads_over_another_modules(engine: str, other: str) -> None:
    """ISO 15765-4: 7E8 / 18DAF110 are the engine's; SAE J1939-81: source address 0 is engine 1."""
    second = raw("engine_speed", [798.0] * 50, "rpm", ecu=other)
    first = raw("engine_speed", [800.0] * 20, "rpm", ecu=engine)
    channel_set, _ = build([second, first], EngineProfile())
    assert channel_set.best["engine_speed"].ecu == engine
    assert channel_set.others["engine_speed"][0].name == f"engine_speed@{other}"


def test_a_dead_source_does_not_lead() -> None:
    dead = raw("EngineSpeed", [np.nan] * 100, "rpm", 0.1)
    alive = raw("engine_speed", [800.0] * 10, "rpm", 1.0)
    assert build([dead, alive], EngineProfile())[0].best["engine_speed"].value[0] == 800.0


def test_a_near_quantity_stands_in_only_where_the_quantity_is_absent() -> None:
    """Service 01 PID 5A is the relative pedal position, PID 49 the absolute one of track D."""
    relative = raw("relative_accelerator_pedal_position", [0.0] * 21, "%", ecu="7E8")
    absolute = raw("accelerator_pedal_position_d", [15.0] * 20, "%", ecu="7E8")
    assert build([relative, absolute], EngineProfile())[0].best["accelerator_pedal_d"].value[0] == 15.0
    assert build([relative], EngineProfile())[0].best["accelerator_pedal_d"].value[0] == 0.0


def test_a_source_out_of_its_range_does_not_lead() -> None:
    broken = raw("EngineSpeed", [65535.0] * 100, "rpm", 0.1)
    alive = raw("engine_speed", [800.0] * 10, "rpm", 1.0)
    assert build([broken, alive], EngineProfile())[0].best["engine_speed"].value[0] == 800.0


def test_commanded_and_actual_of_one_answer_stay_together() -> None:
    """Service 01 PID 6D carries both: their difference then needs no interpolation."""
    alone = raw("fuel_rail_pressure_gauge", [30000.0] * 20, "kPa", 0.5, source="service 01 PID 23, ECU 7E8", ecu="7E8")
    actual = raw("fuel_rail_pressure_a", [30010.0] * 10, "kPa", 1.0, source="service 01 PID 6D, ECU 7E8", ecu="7E8")
    command = raw("fuel_rail_pressure_a_commanded", [3e4] * 10, "kPa", 1.0, source=actual.source, ecu="7E8")
    best = build([alone, actual, command], EngineProfile())[0].best
    assert best["fuel_rail_pressure_actual"].source == actual.source
    np.testing.assert_array_equal(best["fuel_rail_pressure_actual"].t_s, best["fuel_rail_pressure_commanded"].t_s)


def test_gauge_boost_becomes_absolute() -> None:
    """SAE J1939 SPN 102 is a gauge pressure; the contract's channel is absolute."""
    boost = raw("intake_manifold_1_pressure", [50.0], "kPa")
    found = built(boost, raw("barometric_pressure", [98.0], "kPa"))
    assert found["intake_manifold_pressure"].value[0] == 148.0
    channel_set, remarks = build([boost], EngineProfile())
    assert channel_set.best["intake_manifold_pressure"].value[0] == pytest.approx(151.325)
    assert [remark.kind for remark in remarks] == ["assumed_barometer"]


def test_gauge_boost_below_the_surroundings_is_believed() -> None:
    found = built(
        raw("intake_manifold_1_pressure", [-4.0, 0.0, 60.0], "kPa"), raw("barometric_pressure", [98.0], "kPa")
    )
    np.testing.assert_array_equal(found["intake_manifold_pressure"].value, [94.0, 98.0, 158.0])


def test_starter_mode() -> None:
    """SAE J1939 SPN 1675: 1 and 2 are an active starter (from memory)."""
    found = built(raw("engine_starter_mode", [0.0, 1.0, 2.0, 3.0, np.nan]))
    np.testing.assert_array_equal(found["starter_active"].value, [0.0, 1.0, 1.0, 0.0, np.nan])


def test_time_is_put_in_order() -> None:
    channel = Channel("engine_speed", "rpm", np.array([2.0, 0.0, 1.0, 1.0]), np.array([3.0, 1.0, 2.0, 2.5]))
    found = built(channel)["engine_speed"]
    np.testing.assert_array_equal(found.t_s, [0.0, 1.0, 1.0, 2.0])
    np.testing.assert_array_equal(found.value, [1.0, 2.0, 2.5, 3.0])


def test_nothing_in_nothing_out() -> None:
    channel_set, remarks = build([], EngineProfile())
    assert len(channel_set) == 0
    assert remarks == []
    assert len(built(raw("engine_speed", []))["engine_speed"]) == 0


@pytest.mark.parametrize(
    ("written", "name"), [("EngineRPM", "engine_rpm"), ("RPM", "rpm"), (" Coolant-Temp (1)", "coolant_temp_1")]
)
def test_plain_names(written: str, name: str) -> None:
    assert plain(written) == name
    assert plain(plain(written)) == name


def test_names_of_the_catalogue_are_plain() -> None:
    for info in catalogue.load().values():
        for name in (info.name, *info.names, *info.instead):
            assert plain(name) == name
        assert set(info.gauge) <= {*info.names, *info.instead}
        assert info.partner == "" or info.partner in CONTRACT
        assert info.low < info.high


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ('[[channel]]\nname = "a"\nunit = ""\nlow = 0.0\nhigh = 1.0\ncolour = "red"\n', "colour"),
        ('[[channel]]\nname = "a"\nunit = ""\nlow = 0.0\nhigh = 1.0\n[[channel]]\nname = "b"\nunit = ""\nlow = 0.0\n'
         'high = 1.0\nnames = ["a"]\n', 'claimed by a and by b'),
    ],
)  # fmt: skip
def test_a_wrong_catalogue_is_one_clear_error(
    text: str, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "channels.toml").write_text(text)
    monkeypatch.setattr(catalogue, "DATA", tmp_path)
    with pytest.raises(KnowledgeError, match=re.escape(reason)):
        catalogue.load.__wrapped__()


def test_a_real_drive(captures: Path) -> None:
    """An open drive log of a petrol car: headings in capitals without units."""
    lines = (captures / "drive_tables_b" / "drive1.csv").read_text().splitlines()
    names = [re.sub(r"\s*\(.*", "", name) for name in lines[0].split(",")]
    rows = np.array([[float(x) for x in line.split(",")[: len(names)]] for line in lines[1:] if line.count(",") >= 27])
    found = built(*(raw(name, list(column), step_s=0.49) for name, column in zip(names, rows.T, strict=True)))
    expected = "engine_speed vehicle_speed calculated_load coolant_temperature accelerator_pedal_d accelerator_pedal_e"
    for name in (*expected.split(), "control_module_voltage", "short_term_fuel_trim_1", "barometric_pressure"):
        assert found[name].invalid == {}, name
    assert found["engine_speed"].value.max() == 2269.5


def test_a_barometer_out_of_its_range_is_added_to_nothing() -> None:
    """A dead barometer reads 0 or 255 kPa; gauge pressure then takes the standard atmosphere or its good values."""
    gauge = raw("intake_manifold_1_pressure", [50.0, 50.0, 50.0], "kPa")
    wild = raw("barometric_pressure", [100.0, 255.0, 100.0], "kPa")
    assert built(gauge, wild)["intake_manifold_pressure"].value.tolist() == [150.0, 150.0, 150.0]
