"""``logan simulate``: captures of an engine whose state is known, with the truth beside them."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated, Any

import typer

WORDS = ("drives", "faults", "profiles")
PLACES = ("idle", "cruise", "both")
MIXTURE = ("mixture_lean", "mixture_rich")
SWINGING = ("idle_hunting", "rail_pressure_unstable")
DATE_ALONE = 10
"""Characters of the longest date without a time of day (ISO 8601)."""


def simulate(
    fault: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="What is wrong. Repeatable. Without it: a good engine.")
    ] = None,
    size: Annotated[
        list[float] | None,
        typer.Option(metavar="SIZE", help="How large, in the unit that --list faults shows; one each fault, in order."),
    ] = None,
    cylinder: Annotated[
        list[int] | None, typer.Option(metavar="N", help="Which cylinder; one each fault of a cylinder, in order.")
    ] = None,
    onset: Annotated[float | None, typer.Option(metavar="SECONDS", help="When the faults begin. Default: 0.")] = None,
    where: Annotated[
        str | None, typer.Option(metavar="WORD", help="Where a mixture is wrong: idle, cruise or both. Default: idle.")
    ] = None,
    frequency: Annotated[
        float | None, typer.Option(metavar="HZ", help="How fast idle or rail pressure swings. Default: 0.8.")
    ] = None,
    engine: Annotated[
        str, typer.Option(metavar="ENGINE", help="A training profile, or a TOML file of your own.")
    ] = "training_rotary_six",
    drive: Annotated[
        str, typer.Option(metavar="DRIVE", help="A drive script, or a TOML file with its steps.")
    ] = "short_test",
    seconds: Annotated[
        float | None, typer.Option(metavar="SECONDS", help="Stop then; a longer time drives the script again.")
    ] = None,
    coolant_start: Annotated[
        float | None, typer.Option(metavar="DEGC", help="Coolant temperature at the start.")
    ] = None,
    torsion: Annotated[
        float, typer.Option(metavar="FACTOR", help="How soft the crank is: 0 = rigid, 1 = as the engine's, 2 = twice.")
    ] = 1.0,
    seed: Annotated[int, typer.Option(metavar="N", min=0, help="The same seed gives the same bytes.")] = 1,
    can: Annotated[bool, typer.Option("--can/--no-can", help="Record the bus.")] = True,
    broadcast: Annotated[
        bool, typer.Option("--broadcast/--no-broadcast", help="The control module's own messages.")
    ] = True,
    polling: Annotated[
        bool, typer.Option("--polling/--no-polling", help="A tester that asks the OBD services.")
    ] = True,
    background: Annotated[bool, typer.Option("--background/--no-background", help="Traffic of other modules.")] = True,
    slower: Annotated[float, typer.Option(metavar="FACTOR", help="Broadcast messages so many times slower.")] = 1.0,
    poll_interval: Annotated[float, typer.Option(metavar="SECONDS", help="From one request to the next.")] = 0.08,
    latency: Annotated[float, typer.Option(metavar="SECONDS", help="From a request to its answer, mean.")] = 0.012,
    pid: Annotated[
        list[str] | None,
        typer.Option(metavar="HEX", help="PID of service 01 to poll. Repeatable. Default: all it has."),
    ] = None,
    vin: Annotated[
        str | None, typer.Option(metavar="VIN", help="17 characters. Default: that of the training vehicle.")
    ] = None,
    start: Annotated[
        str | None,
        typer.Option(
            metavar="TIME",
            help="When the log begins, such as 2026-03-02T08:00; UTC unless a zone follows. "
            "Default: 2025-06-15T15:06:40.",
        ),
    ] = None,
    pids_per_request: Annotated[int, typer.Option(metavar="N", help="PIDs in one request, 1 to 6.")] = 1,
    id_bits: Annotated[
        int,
        typer.Option(metavar="BITS", show_default=False, help="Identifiers of 11 or 29 bits. Default: the engine's."),
    ] = 0,
    physical: Annotated[bool, typer.Option("--physical", help="Ask the engine's module alone, not all.")] = False,
    record: Annotated[
        list[str] | None,
        typer.Option(metavar="FORM", help="Record the crank and cam sensors: edges, waveform, wav or vcd. Repeatable."),
    ] = None,
    record_start: Annotated[float, typer.Option(metavar="SECONDS", help="Where the recording begins.")] = 0.0,
    record_seconds: Annotated[float, typer.Option(metavar="SECONDS", help="How long it is.")] = 30.0,
    record_rate: Annotated[float, typer.Option(metavar="HZ", help="Samples a second.")] = 50_000.0,
    record_noise: Annotated[float, typer.Option(metavar="VOLT", help="Noise, standard deviation.")] = 0.02,
    pump_sensor: Annotated[
        bool, typer.Option("--pump-sensor/--no-pump-sensor", help="Record a pump sensor too.")
    ] = True,
    lost: Annotated[float, typer.Option(metavar="PERCENT", help="Frames lost at random.")] = 0.0,
    lost_edges: Annotated[float, typer.Option(metavar="PERCENT", help="Edges that the recorder missed.")] = 0.0,
    cut_file: Annotated[float, typer.Option(metavar="PERCENT", help="What lacks at the end of each file.")] = 0.0,
    cut_lines: Annotated[int, typer.Option(metavar="N", help="Lines cut short, in each text file.")] = 0,
    garbled_lines: Annotated[
        int, typer.Option(metavar="N", help="Lines with a wrong character, in each text file.")
    ] = 0,
    gaps: Annotated[int, typer.Option(metavar="N", help="Stretches in which nothing was recorded.")] = 0,
    gap_seconds: Annotated[float, typer.Option(metavar="SECONDS", help="Length of each.")] = 2.0,
    clock_steps: Annotated[int, typer.Option(metavar="N", help="Times at which the recorder's clock was set.")] = 0,
    clock_step_seconds: Annotated[float, typer.Option(metavar="SECONDS", help="By how much.")] = -1.5,
    out: Annotated[Path, typer.Option(metavar="FOLDER", help="Where the files go; made where absent.")] = Path(),
    stem: Annotated[
        str | None, typer.Option(metavar="NAME", help="Their name without ending. Default: the faults.")
    ] = None,
    compress: Annotated[bool, typer.Option("--compress", help="Text files as gzip.")] = False,
    overwrite: Annotated[bool, typer.Option("--overwrite", help="Replace files that are there.")] = False,
    list_: Annotated[
        str | None, typer.Option("--list", metavar="WORD", help="Show faults, profiles or drives and stop.")
    ] = None,
) -> None:
    """Make the captures of a road test whose truth is known, to train on or to test with.

    Writes NAME.log (CAN), the sensor recordings asked for and NAME.truth.json: the faults made and the exact measures.
    """
    from logan import interrupt
    from logan import simulate as simulator
    from logan.errors import UsageError

    if list_ is not None:
        typer.echo(_listed(list_))
        return
    name = stem or "_and_".join(fault or ["healthy"])
    if Path(name).name != name:
        raise UsageError(f"{name} is no file name", do="name the folder with --out")
    sensors = {
        "forms": [_form(word) for word in record or []], "start_s": record_start, "seconds": record_seconds,
        "sample_rate_hz": record_rate, "noise_v": record_noise, "pump": pump_sensor,
    }  # fmt: skip
    bus = {
        "broadcast": broadcast, "obd": polling, "background": background, "slower": slower,
        "poll_interval_s": poll_interval, "latency_s": latency, "pids": [_pid(word) for word in pid or []],
        "pids_per_request": pids_per_request, "ids": id_bits, "physical": physical,
    } | _identity(vin, start)  # fmt: skip
    damage = {
        "lost_share": lost / 100, "lost_edges_share": lost_edges / 100, "cut_share": cut_file / 100,
        "cut_lines": cut_lines, "garbled_lines": garbled_lines, "gaps": gaps, "gap_s": gap_seconds,
        "clock_steps": clock_steps, "clock_step_s": clock_step_seconds,
    }  # fmt: skip
    common = _common(fault or [], onset, where, frequency)
    if id_bits not in (0, 11, 29):
        raise UsageError(f"--id-bits {id_bits}: identifiers on a CAN bus have 11 or 29 bits", do="give one of the two")
    if not can and not record:
        raise UsageError("nothing would be recorded", do="leave out --no-can, or add --record edges")
    if not can and (vin is not None or start is not None):
        raise UsageError(
            "VIN and time of day stand in the CAN log alone", do="leave out --no-can, or --vin and --start"
        )
    spec = simulator.make_spec(
        profile=engine, drive=drive, seed=seed, duration_s=seconds, coolant_start_degc=coolant_start, torsion=torsion,
        faults=_faults(fault or [], size or [], cylinder or [], common),
        sensors=sensors if record else None, bus=bus if can else None, damage=damage,
    )  # fmt: skip
    made = simulator.run(spec)
    with interrupt.waits():
        paths = simulator.write(made, out, name, compress=compress, overwrite=overwrite)
        interrupt.wrote(*paths)
    for path in paths:
        typer.echo(str(path))


def _identity(vin: str | None, start: str | None) -> dict[str, Any]:
    """Whose log it is and when it begins, where that was said."""
    out: dict[str, Any] = {} if vin is None else {"vin": vin}
    if start is not None:
        out["start_unix_s"] = _unix_s(start)
    return out


def _unix_s(text: str) -> float:
    from datetime import UTC, datetime

    from logan.errors import UsageError

    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        moment = None
    if moment is None or len(text) <= DATE_ALONE:
        raise UsageError(
            f"--start {text} is no date with a time of day",
            do="write it like 2026-03-02T08:00 or 2026-03-02T08:00+01:00 (ISO 8601)",
        )
    return (moment if moment.tzinfo else moment.replace(tzinfo=UTC)).timestamp()


def _common(names: list[str], onset: float | None, where: str | None, frequency: float | None) -> dict[str, Any]:
    """What was said of all faults, where it bears on one of them."""
    from logan.errors import UsageError

    if where is not None and where not in PLACES:
        raise UsageError(f"--where {where} is no place of a wrong mixture", do=f"take one of: {', '.join(PLACES)}")
    for option, value, those in (
        ("--onset", onset, names),
        ("--where", where, [name for name in names if name in MIXTURE]),
        ("--frequency", frequency, [name for name in names if name in SWINGING]),
    ):
        if value is not None and not those:
            raise UsageError(f"{option} changes nothing without a fault that it bears on", do=f"leave out {option}")
    said = {"onset_s": onset, "where": where, "frequency_hz": frequency}
    return {key: value for key, value in said.items() if value is not None}


def _faults(names: list[str], sizes: list[float], cylinders: list[int], common: dict[str, Any]) -> list[dict[str, Any]]:
    """One table a fault; sizes and cylinders are given out in order."""
    from logan.errors import UsageError
    from logan.simulate import parameters

    kinds = parameters.faults()
    of_cylinder = [name for name in names if name in kinds and kinds[name].cylinder]
    if len(sizes) > len(names):
        raise UsageError(f"more sizes ({len(sizes)}) than faults ({len(names)})", do="give one --size each --fault")
    if len(cylinders) > len(of_cylinder):
        raise UsageError("a cylinder is named without a fault that sits in one", do="leave out --cylinder")
    left = iter(cylinders)
    return [
        {**common, "fault": name, "size": sizes[k] if k < len(sizes) else None,
         "cylinder": next(left, None) if name in of_cylinder else None}
        for k, name in enumerate(names)
    ]  # fmt: skip


def _form(word: str) -> str:
    from logan.errors import UsageError

    forms = {"edges": "edges_csv", "waveform": "waveform_csv", "wav": "wav", "vcd": "vcd"}
    if word not in forms:
        raise UsageError(f"sensors cannot be recorded as {word}", do=f"take one of: {', '.join(forms)}")
    return forms[word]


def _pid(word: str) -> int:
    from logan.errors import UsageError

    try:
        return int(word, 16)
    except ValueError as error:
        raise UsageError(f"{word} is no PID", do="give two hexadecimal digits, such as 0C") from error


def _listed(word: str) -> str:
    """What can be named, a line each."""
    from logan.errors import UsageError
    from logan.simulate import parameters

    if word == "faults":
        return "\n".join(
            f"{name:26} {kind.size:8g} ({kind.range[0]:g} to {kind.range[1]:g}) {kind.unit}"
            + (f"; engines with {' or '.join(kind.fits)}" if kind.fits else "")
            for name, kind in parameters.faults().items()
        )
    if word == "profiles":
        return "\n".join(f"{name:22} {parameters.profile(name).name}" for name in parameters.engines())
    if word == "drives":
        return "\n".join(
            f"{name:18} about {sum(step.seconds for step in drive.step):4.0f} s: "
            + ", ".join(dict.fromkeys(step.do for step in drive.step))
            for name, drive in parameters.drives().items()
        )
    raise UsageError(f"there is no list of {word}", do=f"ask for one of: {', '.join(WORDS)}")
