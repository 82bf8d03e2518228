"""What to simulate: engine, faults, drive, recording; checked before anything runs."""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final, Literal

import msgspec

from logan.errors import UsageError
from logan.model.profile import EngineProfile
from logan.simulate import parameters

LONGEST_S: Final = 86_400.0
"""A day: longer drives fill the memory and show nothing more."""
MOST_SAMPLES: Final = 1e8
"""Samples of a waveform: more than a workstation holds."""
VIN: Final = re.compile("[A-HJ-NPR-Z0-9]{17}")
"""ISO 3779: 17 capital letters and digits, without I, O and Q."""
STARTS_S: Final = (datetime(1980, 1, 1, tzinfo=UTC).timestamp(), datetime(2100, 1, 1, tzinfo=UTC).timestamp())
"""Times of day that a recorder's clock may show; earlier ones are read as seconds since it was switched on."""
SOFTEST: Final = 10.0
"""Times as soft as the engine's crank: no crank is a tenth as stiff as another of its size."""
Form = Literal["edges_csv", "waveform_csv", "wav", "vcd"]


class Fault(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One fault.

    ``size`` in the unit of ``data/faults.toml`` (None = its default), from ``onset_s`` on; ``where`` tells at which
    operation a mixture fault acts, ``frequency_hz`` how fast a hunting idle or an unstable rail swings.
    """

    fault: str
    size: float | None = None
    cylinder: int | None = None
    onset_s: float = 0.0
    where: Literal["idle", "cruise", "both"] = "idle"
    frequency_hz: float = 0.8


class Sensors(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A crank / cam (/ pump) recording: from ``start_s`` of the drive for ``seconds``."""

    forms: tuple[Form, ...] = ("edges_csv",)
    start_s: float = 0.0
    seconds: float = 30.0
    sample_rate_hz: float = 50_000.0
    noise_v: float = 0.02
    pump: bool = True


class Bus(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What is on the bus and how it is recorded.

    ``slower`` multiplies the cycle times of the broadcast messages; ``ids`` are the bits of an identifier, 0 = those of
    the engine; ``physical`` asks the engine's control module alone; without ``pids`` all that it supports are polled;
    without ``vin`` it is the training vehicle's own.
    """

    broadcast: bool = True
    obd: bool = True
    background: bool = True
    slower: float = 1.0
    poll_interval_s: float = 0.08
    latency_s: float = 0.012
    channel: str = "can0"
    start_unix_s: float = 1_750_000_000.0
    ids: Literal[0, 11, 29] = 0
    physical: bool = False
    pids: tuple[int, ...] = ()
    pids_per_request: int = 1
    vin: str | msgspec.UnsetType = msgspec.UNSET


class Damage(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What went wrong while recording.

    Shares of frames and of the sensors' edges lost at random, and of what lacks at the end of each file; numbers of bad
    lines in each text file, of gaps and of clock steps in the log.
    """

    lost_share: float = 0.0
    cut_lines: int = 0
    garbled_lines: int = 0
    gaps: int = 0
    gap_s: float = 2.0
    clock_steps: int = 0
    clock_step_s: float = -1.5
    lost_edges_share: float = 0.0
    cut_share: float = 0.0


class Spec(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One simulation; ``torsion`` tells how soft the crank is: 0 = rigid, 1 = as the engine's, 2 = twice as soft."""

    profile: str = "training_rotary_six"
    drive: str = "short_test"
    faults: tuple[Fault, ...] = ()
    seed: int = 1
    duration_s: float | None = None
    coolant_start_degc: float | None = None
    ambient_degc: float = 21.0
    ambient_kpa: float = 99.0
    torsion: float = 1.0
    sensors: Sensors | None = None
    bus: Bus | None = Bus()
    damage: Damage = Damage()


@dataclass(frozen=True, slots=True)
class Defects:
    """Sizes of all defects at one time; the defaults are a good engine."""

    crank_dropouts_per_1000rev: float = 0.0
    crank_inverted: float = 0.0
    crank_runout_percent: float = 0.0
    cam_dropouts_per_1000rev: float = 0.0
    cam_offset_deg: float = 0.0
    cam_delay_ms: float = 0.0
    key_steps: float = 0.0
    key_reversed: float = 0.0
    timing_drift_deg_per_min: float = 0.0
    timing_hysteresis_deg: float = 0.0
    supply_sag_kpa: float = 0.0
    rail_loss_percent: float = 0.0
    rail_swing_percent: float = 0.0
    rail_leakdown_kpa_per_s: float = 0.0
    cylinder_fuel_loss_percent: tuple[float, ...] = ()
    cylinder_compression_loss_percent: tuple[float, ...] = ()
    idle_hunt_rpm: float = 0.0
    pedal_track_error_percent: float = 0.0
    thermostat_stuck_percent: float = 0.0
    boost_leak_kpa: float = 0.0
    charging_loss_v: float = 0.0
    mixture_percent: float = 0.0
    where: str = "idle"
    frequency_hz: float = 0.8


def size_of(fault: Fault) -> float:
    """Size of a fault, or its default."""
    return parameters.faults()[fault.fault].size if fault.size is None else fault.size


def defects_over_time(spec: Spec) -> list[tuple[float, Defects]]:
    """Times from which another set of defects holds, ascending, the first at 0."""
    cylinders = parameters.profile(spec.profile).cylinders or 0
    zero = (0.0,) * cylinders
    now = Defects(cylinder_fuel_loss_percent=zero, cylinder_compression_loss_percent=zero)
    out = [(0.0, now)]
    for fault in sorted(spec.faults, key=lambda f: f.onset_s):
        kind = parameters.faults()[fault.fault]
        value: float | tuple[float, ...] = size_of(fault) * kind.sign
        if kind.cylinder:
            each = list(getattr(now, kind.parameter))
            each[(fault.cylinder or 1) - 1] = value
            value = tuple(each)
        changes: dict[str, Any] = {kind.parameter: value, "where": fault.where, "frequency_hz": fault.frequency_hz}
        now = replace(now, **changes)
        out.append((max(fault.onset_s, 0.0), now))
    return out


def make_spec(**keywords: Any) -> Spec:
    """A checked specification from keywords; ``fault``, ``size``, ``cylinder``, ``onset_s`` give one fault in short.

    Raises
    ------
    UsageError : an unknown name, a value of the wrong kind or outside its range, a fault that the engine cannot have
    """
    short = {key: keywords.pop(key) for key in ("fault", "size", "cylinder", "onset_s", "where", "frequency_hz")
             if key in keywords}  # fmt: skip
    if short:
        keywords["faults"] = (short,)
    try:
        spec = msgspec.convert(keywords, Spec)
    except msgspec.ValidationError as error:
        raise UsageError(f"the simulation cannot be set up so: {error}", do="correct that value") from error
    check(spec)
    return spec


def _known(what: str, name: str, names: Any) -> None:
    if name not in names:
        raise UsageError(f"no {what} is called {name!r}", do=f"take one of: {', '.join(sorted(names))}")


def check(spec: Spec) -> None:
    """Refuse what cannot be simulated.

    Raises
    ------
    UsageError : says what and how to mend it
    """
    profile = parameters.profile(spec.profile)
    _complete(spec, profile)
    parameters.script(spec.drive)
    for fault in spec.faults:
        _known("fault", fault.fault, parameters.faults())
        kind = parameters.faults()[fault.fault]
        if kind.fits and profile.injection not in kind.fits:
            raise UsageError(f"{fault.fault} does not exist on {spec.profile}", do="take an engine of another kind")
        size, (low, high) = size_of(fault), kind.range
        if size == 0:
            raise UsageError(f"size 0 of {fault.fault} makes no fault", do="leave --fault out for a good engine")
        if not low <= size <= high:
            raise UsageError(f"size {size:g} of {fault.fault} is outside {low:g} to {high:g} {kind.unit}")
        if kind.whole and size != round(size):
            raise UsageError(f"size {size:g} of {fault.fault} must be a whole number of {kind.unit}")
        if kind.cylinder and not 1 <= (fault.cylinder or 1) <= (profile.cylinders or 0):
            raise UsageError(f"there is no cylinder {fault.cylinder} on {spec.profile}")
        if not 0 <= fault.onset_s <= LONGEST_S or not 0.1 <= fault.frequency_hz <= 3.0:
            raise UsageError("a fault needs an onset of 0 s or more and a frequency of 0.1 to 3 Hz")
        if sum((other.fault, other.cylinder or 1, other.onset_s) == (fault.fault, fault.cylinder or 1, fault.onset_s)
               for other in spec.faults) > 1:  # fmt: skip
            where = f" in cylinder {fault.cylinder or 1}" if kind.cylinder else ""
            raise UsageError(
                f"{fault.fault} is named twice{where}", do="name it once, with the size that it is to have"
            )
    for name, (value, low, high) in _limits(spec).items():
        if value is not None and not low <= value <= high:
            raise UsageError(f"{name}: {value:g} is outside {low:g} to {high:g}")
    within(spec, parameters.longest_s(spec.drive, spec.duration_s))
    damage = spec.damage
    if min(damage.cut_lines, damage.garbled_lines, damage.gaps, damage.clock_steps) < 0:
        raise UsageError("numbers of cut or garbled lines, gaps and clock steps are 0 or more")
    if spec.bus:
        supported = parameters.engine(spec.profile).pids
        for pid in spec.bus.pids:
            if pid not in supported:
                names = " ".join(f"{known:02X}" for known in supported)
                raise UsageError(f"the engine of {spec.profile} does not answer PID {pid:02X}", do=f"take of: {names}")
        if not 1 <= spec.bus.pids_per_request <= 6:
            raise UsageError("a request holds 1 to 6 PIDs")
        _check_identity(spec.bus)


def _check_identity(bus: Bus) -> None:
    """Refuse a VIN that no vehicle can have, or nobody asks for, and a clock that no recorder shows."""
    if not STARTS_S[0] <= bus.start_unix_s < STARTS_S[1]:
        raise UsageError("the start is outside the years 1980 to 2099", do="give another date")
    if bus.vin is msgspec.UNSET:
        return
    if not VIN.fullmatch(bus.vin):
        raise UsageError(
            f"{bus.vin!r} is no VIN", do="give 17 capital letters and digits, none of them I, O or Q (ISO 3779)"
        )
    if not bus.obd:
        raise UsageError("the VIN is not on the bus without a tester that asks for it", do="leave out the VIN")


def within(spec: Spec, end_s: float) -> None:
    """Refuse what begins when a drive is over.

    Raises
    ------
    UsageError : a fault would never be there, or nothing be recorded
    """
    for fault in spec.faults:
        if fault.onset_s >= end_s:
            raise UsageError(
                f"{fault.fault} would begin at {fault.onset_s:g} s, when the drive is over ({end_s:.0f} s)",
                do="let it begin earlier, or drive longer",
            )
    if spec.sensors and spec.sensors.start_s >= end_s:
        raise UsageError(
            f"the sensors' recording would begin at {spec.sensors.start_s:g} s, when the drive is over ({end_s:.0f} s)",
            do="let it begin earlier, or drive longer",
        )


def _limits(spec: Spec) -> dict[str, tuple[float | None, float, float]]:
    """Values with the least and the most that can be simulated."""
    damage, bus, sensors = spec.damage, spec.bus or Bus(), spec.sensors or Sensors()
    volts = {"waveform_csv", "wav"} & set(sensors.forms)
    return {
        "length of the drive, s": (spec.duration_s, 0.1, LONGEST_S),
        "coolant at the start, degC": (spec.coolant_start_degc, -40.0, 120.0),
        "outside temperature, degC": (spec.ambient_degc, -40.0, 60.0),
        "outside pressure, kPa": (spec.ambient_kpa, 50.0, 110.0),
        "how soft the crank is": (spec.torsion, 0.0, SOFTEST),
        "begin of the sensors' recording, s": (sensors.start_s, 0.0, LONGEST_S),
        "length of the sensors' recording, s": (sensors.seconds, 0.01, LONGEST_S),
        "samples a second": (sensors.sample_rate_hz, 1000.0, 1e6),
        "samples of a recording": (sensors.seconds * sensors.sample_rate_hz if volts else None, 10.0, MOST_SAMPLES),
        "noise of the sensors, V": (sensors.noise_v, 0.0, 5.0),
        "times slower that messages are sent": (bus.slower, 0.1, 1000.0),
        "time from one request to the next, s": (bus.poll_interval_s, 0.001, 60.0),
        "time from a request to its answer, s": (bus.latency_s, 0.0, 1.0),
        "frames lost, %": (100.0 * damage.lost_share, 0.0, 99.0),
        "edges lost, %": (100.0 * damage.lost_edges_share, 0.0, 99.0),
        "cut from the end of each file, %": (100.0 * damage.cut_share, 0.0, 100.0),
        "length of a gap, s": (damage.gap_s, 0.0, LONGEST_S),
        "step of the clock, s": (damage.clock_step_s, -LONGEST_S, LONGEST_S),
    }


def _complete(spec: Spec, profile: EngineProfile) -> None:
    """Refuse a profile that lacks what an engine needs to turn."""
    needs: dict[str, object] = {"cylinders": profile.cylinders, "firing_order": profile.firing_order,
                                "injection": profile.injection, "ignition": profile.ignition}  # fmt: skip
    if spec.sensors:
        needs |= {"crank_wheel": profile.crank_wheel, "cam_wheel": profile.cam_wheel}
    for key, value in needs.items():
        if not value:
            raise UsageError("cannot be simulated", file=spec.profile, place=f"key {key}", do="add it to the profile")
    if sorted(profile.firing_order) != list(range(1, (profile.cylinders or 0) + 1)):
        raise UsageError("names not each cylinder once", file=spec.profile, place="key firing_order", do="correct it")
