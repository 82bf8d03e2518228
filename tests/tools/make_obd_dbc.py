"""Writes dbc_open/obd2_service01.dbc and the small table beside it from the fact table in tests/data/obd/.

The fact table (``pids_service01.csv``, ``pid_enums.csv``) puts several independent descriptions of SAE J1979 / ISO
15031-5 side by side: where they agree, where they do not, and how far each row can be trusted. This program turns it
into the two files that logan reads. Run it after a change of the table: ``python tests/tools/make_obd_dbc.py``.
"""

from __future__ import annotations

import csv
import fnmatch
import io
import re
from pathlib import Path

HERE = Path(__file__).resolve().parent
FACTS = HERE.parent / "data" / "obd"
TARGET = HERE.parent.parent / "dbc_open"

FIRST_ID = 0x100

EXACT = {"0.392156862745": 100 / 255, "3.0517578e-05": 2 / 65536, "0.000122070312": 8 / 65536}
"""Scales that the table prints with too few digits: a per cent of a byte, 2 and 8 in 65536 (SAE J1979)."""

WIDE = {
    0x6B: {
        f"egr_temperature_sensor_{s}": f"egr_temperature_sensor_{s}_wide_range_supported"
        for s in ("a_bank1_sensor1", "b_bank2_sensor1", "c_bank1_sensor2", "d_bank2_sensor2")
    },
    0x6F: {
        f"turbocharger_compressor_inlet_pressure_sensor_{s}":
        f"turbocharger_compressor_inlet_pressure_sensor_{s}_wide_range_supported"
        for s in "ab"
    },
}  # fmt: skip
"""PID -> signal of the normal range -> support bit that says that its byte is in the wide range instead."""

RENAMED_SUPPORT = [
    (r"glow_plug_lamp_on", "glow_plug_lamp_status"),
    (r"manual_transmission_in_gear", "manual_neutral_gear_status"),
    (r"automatic_transmission_in_drive", "automatic_neutral_drive_status"),
    (r"power_take_off_active_2", "power_take_off_status"),
    (r"engine_coolant_temperature_(\d)", r"engine_coolant_temperature_sensor_\1"),
    (r"egr_(.)_(commanded|actual)", r"\2_egr_\1_duty_cycle_position"),
    (r"intake_air_flow_(.)_commanded", r"commanded_intake_air_flow_\1_control"),
    (r"intake_air_flow_(.)_relative_position", r"relative_intake_air_flow_\1_position"),
    (r"(.*)_wide", r"\1_wide_range"),
    (r"throttle_actuator_(.)_commanded", r"commanded_throttle_actuator_\1_control"),
    (r"throttle_(.)_relative_position", r"relative_throttle_\1_position"),
    (r"(fuel_rail_pressure|injection_control_pressure|boost_pressure)_(.)_commanded", r"commanded_\1_\2"),
    (r"fuel_rail_temperature_(.)", r"fuel_temperature_\1"),
    (r"boost_pressure_(.)", r"boost_pressure_sensor_\1"),
    (r"vgt_(.)_position_commanded", r"commanded_variable_geometry_turbocharger_\1_position"),
    (r"vgt_(.)_(position|control_status)", r"variable_geometry_turbocharger_\1_\2"),
    (r"wastegate_(.)_commanded", r"commanded_wastegate_\1_position"),
    (r"(particulate_filter_bank\d_(?:inlet|outlet)_temperature)_sensor", r"\1"),
    (r"engine_run_time_total", "total_engine_run_time"),
    (r"engine_idle_time_total", "total_idle_run_time"),
    (r"engine_run_time_with_pto_total", "total_run_time_with_power_take_off_active"),
    (r"(total_run_time_with_aecd\d+)_timer_\d_active", r"\1_active"),
    (r"(nox_sensor_.*)_data_availability", r"\1"),
    (r"reagent_consumption_average", "average_reagent_consumption"),
    (r"reagent_demand_average", "average_demanded_reagent_consumption"),
    (r"run_time_with_nox_warning", "minutes_run_by_the_engine_while_nox_warning_mode_is_activated"),
    (r"pm_sensor_(?:regeneration|active)_status_(.*)", r"pm_sensor_operating_status_\1"),
    (r"pm_sensor_normalized_output_value_(.*)", r"pm_sensor_signal_\1"),
    (r"(.*_control_\d)_status", r"\1"),
    (r"dosing_activity_counter", "absence_of_reagent_dosing_counter"),
    (r"monitoring_system_counter", "malfunction_of_nox_control_monitoring_system_counter"),
    (r"hybrid_battery_system_(voltage|current)", r"hybrid_battery_\1"),
    (r"exhaust_fluid_tank_(temperature|level)", r"exhaust_fluid_\1"),
    (r"abs_disable_switch_state", "abs_disable_switch"),
    (r"evap_system_purge_pressure_sensor(_wide)?", r"evap_system_purge_pressure\1"),
    (r"ci_fuel_system_(bank\d)_.*", r"fuel_system_status_\1"),
    (r"hybrid_battery_ess_thermal_state", "hybrid_battery_cooling_state"),
    (r"time_to_level_(.*)_inducement_system", r"time_to_level_\1_inducement_support"),
    (r"(emr_motor_.)_motor_rpm", r"\1"),
    (r"(electric_motor_.)_torque", r"\1"),
]
"""Signals whose support bit has another name in the table: pattern of the signal -> name of the bit."""

ALWAYS_THERE = ("level_*_inducement_status", "hv_system_*", "cumulative_energy_*_hv_system")
"""Signals of PIDs with support bits that have none of their own."""


def rows(name: str) -> list[dict[str, str]]:
    with (FACTS / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def number(text: str | float) -> str:
    value = EXACT.get(str(text), float(text))
    return repr(int(value)) if value == int(value) else repr(value)


def is_in_dbc(row: dict[str, str]) -> bool:
    """A scale that no opened source gives would be a guess: such a signal is named beside the DBC, not in it."""
    return row["confidence"] != "low" or int(row["n_independent"]) >= 1


def support_of(row: dict[str, str], bits: set[str]) -> str:
    """Name of the bit that says whether a signal is there, empty where there is none."""
    if row["kind"] == "support" or not bits:
        return ""
    signal = row["signal"]
    names = [signal, *(re.sub(f"^{pattern}$", new, signal) for pattern, new in RENAMED_SUPPORT)]
    for name in names:
        if f"{name}_supported" in bits:
            return f"{name}_supported"
    assert any(fnmatch.fnmatchcase(signal, pattern) for pattern in ALWAYS_THERE), f"no support bit for {signal}"
    return ""


def kind_of(row: dict[str, str]) -> str:
    """Kind of a signal; the bits of the readiness monitors are told apart from flags that are values over time."""
    is_readiness = row["signal"] == "compression_ignition" or "_monitor_" in row["signal"]
    return "monitor" if row["pid"] in ("0x01", "0x41") and is_readiness else row["kind"]


def labels_of(pid: str, signal: str, enums: list[dict[str, str]]) -> list[tuple[int, str]]:
    out = []
    for row in enums:
        patterns = [p.replace("_x_", "_?_") for p in row["signal"].split("|")]
        if row["pid"] == pid and any(fnmatch.fnmatchcase(signal, p) for p in patterns):
            out.append((int(row["value"]), row["meaning"]))
    return out


def multiplexing(pid: int, row: dict[str, str]) -> tuple[str, str, int | None]:
    """DBC multiplexor mark of a signal, and the multiplexor and value that it needs."""
    signal = row["signal"]
    if signal == "compression_ignition":
        return " M", "", None
    if row["condition"].startswith("compression_ignition="):
        value = int(row["condition"][-1])
        return f" m{value}", "compression_ignition", value
    wide = WIDE.get(pid, {})
    if signal in wide.values():
        return " M", "", None
    base = signal.removesuffix("_wide")
    if base in wide:
        value = int(signal != base)
        return f" m{value}", wide[base], value
    return "", "", None


def quoted(text: str) -> str:
    return '"' + text.replace('"', "'") + '"'


def make() -> tuple[str, str]:
    """Text of the DBC and of the table beside it."""
    facts = rows("pids_service01.csv")
    enums = rows("pid_enums.csv")
    by_pid: dict[int, list[dict[str, str]]] = {}
    for row in facts:
        by_pid.setdefault(int(row["pid"], 16), []).append(row)

    dbc = [
        'VERSION ""',
        "",
        "NS_ :",
        "  CM_",
        "  VAL_",
        "  SG_MUL_VAL_",
        "",
        "BS_:",
        "",
        "BU_: ControlModule Tester",
        "",
    ]
    comments = [
        'CM_ "Parameters of SAE J1979 / ISO 15031-5 service 01. Message identifier = 0x100 + PID; the payload is what'
        " follows the PID byte in the answer, so byte 0 here is data byte A. These are no frames on a bus:"
        " the answers are cut into PIDs first. Support bits, sources, confidence and disagreements stand in"
        " obd2_service01.csv."
        ' Written by tests/tools/make_obd_dbc.py from the table in tests/data/obd.";'
    ]
    values: list[str] = []
    extended: list[str] = []
    table = io.StringIO()
    writer = csv.writer(table, lineterminator="\n")
    writer.writerow(
        ["pid", "n_bytes", "signal", "kind", "supported_by", "in_dbc", "source", "n_independent", "confidence",
         "disagreement", "note"]
    )  # fmt: skip
    for pid, signals in by_pid.items():
        frame = FIRST_ID + pid
        n_bytes = signals[0]["n_bytes"]
        dbc.append(f"BO_ {frame} PID_{pid:02X}_{signals[0]['pid_name']}: {n_bytes.split('|')[-1]} ControlModule")
        bits = {row["signal"] for row in signals if row["kind"] == "support"}
        if "|" in n_bytes:
            comments.append(f"CM_ BO_ {frame} {quoted('data bytes: ' + n_bytes.replace('|', ' or '))};")
        for row in signals:
            name, in_dbc = row["signal"], is_in_dbc(row)
            note = row["note"]
            if row["condition"] and "support bit" not in row["condition"] and "=" not in row["condition"]:
                note = "; ".join(part for part in (row["condition"], note) if part)
            writer.writerow(
                [row["pid"], n_bytes, name, kind_of(row), support_of(row, bits), int(in_dbc), row["source"],
                 row["n_independent"], row["confidence"], row["disagreement"], note]
            )  # fmt: skip
            if not in_dbc:
                continue
            mark, multiplexor, value = multiplexing(pid, row)
            at = int(row["start_bit_msb0"])
            sign = "-" if row["signed"] == "1" else "+"
            dbc.append(
                f" SG_ {name}{mark} : {8 * (at // 8) + 7 - at % 8}|{row['length']}@0{sign}"
                f" ({number(row['scale'])},{number(row['offset'])}) [{number(row['min'])}|{number(row['max'])}]"
                f" {quoted(row['unit'])} Tester"
            )
            if value is not None and pid in WIDE:
                extended.append(f"SG_MUL_VAL_ {frame} {name} {multiplexor} {value}-{value};")
            if row["confidence"] == "low":
                note = "; ".join(part for part in ("low confidence, a single source", note) if part)
            if note:
                comments.append(f"CM_ SG_ {frame} {name} {quoted(note)};")
            if labels := labels_of(row["pid"], name, enums):
                values.append(f"VAL_ {frame} {name} {' '.join(f'{v} {quoted(t)}' for v, t in labels)} ;")
        dbc.append("")
    return "\n".join([*dbc, *comments, *values, *extended, ""]), table.getvalue()


def main() -> None:
    dbc, table = make()
    (TARGET / "obd2_service01.dbc").write_text(dbc, encoding="utf-8", newline="\n")
    (TARGET / "obd2_service01.csv").write_text(table, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
