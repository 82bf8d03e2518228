"""The plan of a recording for some faults, or for all that an engine can have."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from logan.errors import UsageError
from logan.knowledge import faults, profiles, texts
from logan.knowledge import measures as measure_files
from logan.knowledge import plan as plan_files
from logan.knowledge.folders import Folders
from logan.knowledge.load import nearest
from logan.knowledge.measures import MeasureInfo
from logan.knowledge.plan import HookUp, Manoeuvre, PlanData
from logan.measures import registry, timing
from logan.model.plan import Plan, PlannedSignal, SmallestError, Step
from logan.model.profile import EngineProfile
from logan.planning import precision, schedule

PLATEAU_S = 2.0
ALWAYS = ("engine_speed", "calculated_load", "coolant_temperature", "road_speed")
TIMING = dict(zip(timing.NAMES, ("static", "delay", "load", "drift", "hysteresis"), strict=True))


def plan(
    suspects: Sequence[str] = (),
    engine: str | None = None,
    interface: str = "serial",
    requests_per_second: float | None = None,
    folders: Folders = (),
) -> Plan:
    """What to record, and how to drive.

    Raises
    ------
    UsageError : a fault, an engine or an interface is not known, a fault does not fit the engine, no such rate
    KnowledgeError : a data file is wrong
    """
    data, catalogue = plan_files.load(), faults.load(folders=folders)
    profile = profiles.load(engine, folders)[0] if engine is not None else EngineProfile()
    for name in suspects:
        if name not in catalogue.faults:
            raise UsageError(f"no fault is called {name}", do=nearest(name, catalogue.faults))
        if not faults.fits(catalogue.faults[name], profile):
            raise UsageError(f"{profile.name} cannot have the fault {name}", do="leave it out, or name another engine")
    wanted = [f for f in catalogue.faults.values() if (f.id in suspects if suspects else faults.fits(f, profile))]
    found = [one for one in data.interface if one.id == interface]
    if not found:
        raise UsageError(f"no interface is called {interface}", do=f"use {', '.join(i.id for i in data.interface)}")
    rate = found[0].requests_per_second if requests_per_second is None else requests_per_second
    main = {expect.measure for fault in wanted for expect in fault.expect if expect.main}
    every = [
        m for m in measure_files.load(folders).values() if any(m.name == e.measure for f in wanted for e in f.expect)
    ]
    names = [info.name for info in every]
    signals = _signals(names, main, profile, data, rate, found[0].values_per_request)
    drive = [m for m in data.manoeuvre if any(plan_files.named(name, m) for name in names)]
    taps = [h for h in data.hookup if any(plan_files.named(name, h) for name in names)]
    known = texts.cautions(folders)
    served: list[Manoeuvre | HookUp] = [*drive, *taps]
    cautions = dict.fromkeys(word for one in served for word in one.cautions)
    return Plan(
        engine=profile.name,
        faults=[fault.id for fault in wanted],
        interface=found[0].title,
        requests_per_second=rate,
        signals=signals,
        hookups=[f"{tap.sensor}: {tap.text}" for tap in taps],
        steps=[Step(title=m.title, seconds=m.seconds, watch=m.watch, stop=m.stop) for m in drive],
        smallest=_smallest(every, signals, drive, data),
        cautions=[known[word].text for word in cautions],
        notes=_notes(signals, profile),
    )


def _signals(
    names: Iterable[str], main: set[str], profile: EngineProfile, data: PlanData, rate: float, together: int
) -> list[PlannedSignal]:
    rules = [rule for rule in registry.rules() if not rule.sensors]
    needs = {name: [r for r in rules if name in r.gives] for name in names}
    essential = {channel for name in main for rule in needs.get(name, []) for channel in rule.needs}
    channels = dict.fromkeys([*ALWAYS, *(c for found in needs.values() for rule in found for c in rule.needs)])
    period = schedule.periods_s({c: data.pid[c] for c in channels if c in data.pid}, data.slow, rate, together)
    broadcast = {channel: signal for signal, channel in profile.channels.items()}
    return [
        PlannedSignal(
            channel=channel,
            where="; ".join(
                [
                    *([f"service 01 PID {data.pid[channel]:02X}"] if channel in data.pid else []),
                    *([f"J1939 SPN {data.spn[channel]}"] if channel in data.spn else []),
                    *([f"broadcast {broadcast[channel]}"] if channel in broadcast else []),
                ]
            )
            or "broadcast of the control module (needs its signal data base), or a sensor fitted for the test",
            essential=channel in essential,
            period_s=round(period[channel], 3) if channel in period else None,
        )
        for channel in channels
    ]


def _smallest(
    every: Sequence[MeasureInfo], signals: Sequence[PlannedSignal], drive: Sequence[Manoeuvre], data: PlanData
) -> list[SmallestError]:
    period = max((s.period_s for s in signals if s.essential and s.period_s is not None), default=1.0)
    terms = _timing_terms(drive, data, period)
    out = []
    for info in every:
        value, method = None, "not computed"
        if info.name in TIMING and TIMING[info.name] in terms:
            value = terms[TIMING[info.name]]
            method = "joint regression on the planned plateaus, 2.8 standard errors, times 1.5 for noise that wanders"
            if not np.isfinite(value):
                value, method = None, "these steps cannot tell it apart"
        elif info.name in data.noise:
            noise = data.noise[info.name]
            seconds = sum(m.seconds for m in drive if plan_files.named(info.name, m))
            value = precision.smallest_level(noise.reading, noise.together_s, noise.fixed, 0.3 * seconds, period)
            method = "mean of the planned readings, 2.8 standard errors; three tenths of the steps' time counted"
        out.append(SmallestError(measure=info.name, title=info.title, unit=info.unit, value=value, method=method))
    return out


def _timing_terms(drive: Sequence[Manoeuvre], data: PlanData, period_s: float) -> dict[str, float]:
    stretches = [(s.speed_rpm, s.load_percent, s.seconds) for m in drive for s in m.stretch]
    if not stretches:
        return {}
    noise = data.noise["timing"]
    _, columns = precision.rows(stretches, max(PLATEAU_S, period_s))
    prior = np.array([np.inf, timing.PRIOR_DELAY_MS, timing.PRIOR_DRIFT_DEG_PER_MIN, timing.PRIOR_LOAD_DEG])
    row_sd = noise.reading / np.sqrt(max(PLATEAU_S / max(period_s, noise.together_s), 1.0))
    found = precision.smallest(columns, row_sd, prior)
    return {
        term: float(np.hypot(value, precision.DETECTS * timing.FLOOR[term]))
        for term, value in zip(precision.TERMS, found, strict=True)
    }


def _notes(signals: Sequence[PlannedSignal], profile: EngineProfile) -> list[str]:
    notes = [
        "Command and actual belong in one request (or PID 6D), so that the time between them does not feign an error.",
        "A drive at nearly one speed cannot part a fixed offset from a delay: hold speeds of which the highest is at "
        "least twice the lowest.",
        "The driver drives; a second person works the recorder, started before moving off. Legal speed, planned route.",
    ]
    speed = next((s for s in signals if s.channel == "engine_speed"), None)
    if speed is not None and speed.period_s:
        idle = profile.idle.target_rpm or 800.0
        once = schedule.half_order_hz([idle])[0]
        seen = schedule.seeming_hz(once, speed.period_s)
        if 1.0 / speed.period_s < 2.0 * once:
            notes.append(
                f"At {1.0 / speed.period_s:.1f} values a second a swing once per cycle at {idle:.0f} rpm "
                f"({once:.1f} Hz) shows as {seen:.1f} Hz: do not take it for hunting."
            )
    return notes
