"""The plan of a recording for some faults, or for all that an engine can have."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from logan.errors import UsageError
from logan.knowledge import channels as channel_files
from logan.knowledge import faults, profiles, texts
from logan.knowledge import measures as measure_files
from logan.knowledge import plan as plan_files
from logan.knowledge.faults import Fault
from logan.knowledge.folders import Folders
from logan.knowledge.load import nearest
from logan.knowledge.plan import HookUp, Interface, Manoeuvre, PlanData
from logan.model.plan import Plan, PlannedSignal, Step
from logan.model.profile import EngineProfile
from logan.pipeline import plan_sizes
from logan.planning import schedule
from logan.ranking.signs import good_engine

ALWAYS = ("engine_speed", "calculated_load", "coolant_temperature", "vehicle_speed")


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
    data, catalogue = plan_files.load(folders), faults.load(folders=folders)
    profile = profiles.load(engine, folders)[0] if engine is not None else EngineProfile()
    for name in suspects:
        if name not in catalogue.faults:
            do = f"{nearest(name, catalogue.faults)} (logan explain lists all)"
            raise UsageError(f"no fault is called {name}", do=do)
        if not faults.fits(catalogue.faults[name], profile):
            raise UsageError(f"{profile.name} cannot have the fault {name}", do="leave it out, or name another engine")
    wanted = [f for f in catalogue.faults.values() if (f.id in suspects if suspects else faults.fits(f, profile))]
    found = [one for one in data.interface if one.id == interface]
    if not found:
        raise UsageError(f"no interface is called {interface}", do=f"use {', '.join(i.id for i in data.interface)}")
    rate = found[0].requests_per_second if requests_per_second is None else requests_per_second
    main = {expect.measure for fault in wanted for expect in fault.expect if expect.main}
    shown = {e.measure for fault in wanted for e in fault.expect if plan_files.possible(e.measure, data, profile)}
    every = [info for info in measure_files.load(folders).values() if info.name in shown]
    names = [info.name for info in every]
    signals = _signals(names, main, profile, data, rate, found[0])
    drive = [m for m in data.manoeuvre if any(plan_files.named(name, m) for name in names)]
    taps = [h for h in data.hookup if any(plan_files.named(name, h) for name in names)]
    known = texts.cautions(folders)
    served: list[Manoeuvre | HookUp] = [*drive, *taps]
    cautions = dict.fromkeys(word for one in served for word in one.cautions)
    periods = {signal.channel: signal.period_s for signal in signals if signal.period_s is not None}
    unseen = {signal.channel for signal in signals if not signal.seen}
    errors = plan_sizes.errors(every, drive, periods, rate, data, profile, unseen)
    return Plan(
        engine=profile.name,
        faults=[fault.id for fault in wanted],
        interface=found[0].title,
        requests_per_second=rate,
        signals=signals,
        hookups=[f"{tap.sensor}: {tap.text}" for tap in taps],
        steps=[_step(one, [known[word].text for word in one.cautions]) for one in drive],
        smallest=errors,
        cautions=[known[word].text for word in cautions],
        notes=[*_needed_parts(wanted), *_notes(signals, names, profile, data, found[0])],
        sizes=plan_sizes.sizes(wanted, profile, good_engine(catalogue, profile), errors, data.noise),
    )


def _step(one: Manoeuvre, cautions: list[str]) -> Step:
    speeds = [part.speed_rpm for part in one.stretch]
    return Step(
        title=one.title, seconds=one.seconds, watch=one.watch, stop=one.stop, second=one.second, low_rpm=min(speeds),
        high_rpm=max(speeds), cautions=cautions,
    )  # fmt: skip


def _signals(
    names: Iterable[str], main: set[str], profile: EngineProfile, data: PlanData, rate: float, interface: Interface
) -> list[PlannedSignal]:
    needs = {name: plan_sizes.needed(name, data) for name in names}
    essential = {channel for name in main for channel in needs.get(name, [])}
    channels = dict.fromkeys([*ALWAYS, *(channel for found in needs.values() for channel in found)])
    asked = {c: data.pid[c] for c in channels if c in data.pid}
    pairs = [entry.channels for entry in data.together]
    together = interface.values_per_request
    period = schedule.periods_s(asked, data.slow, rate, together, pairs)
    turn = schedule.requests(asked, data.slow, together, pairs)
    number = {pid: k for k, one in enumerate(turn, 1) for pid in one}
    broadcast = {channel: signal for signal, channel in profile.channels.items()}
    known = channel_files.load()
    return [
        PlannedSignal(
            channel=channel,
            title=known[channel].words,
            seen=interface.listens or channel in data.pid,
            where=_where(channel, data, broadcast.get(channel), interface),
            essential=channel in essential,
            period_s=round(period[channel], 3) if channel in period else None,
            request=number.get(asked[channel]) if channel in asked else None,
        )
        for channel in channels
    ]


def _where(channel: str, data: PlanData, broadcast: str | None, interface: Interface) -> str:
    """Where a channel comes from; for an interface that only asks, what answers its request, if anything does."""
    asked = [f"service 01 PID {data.pid[channel]:02X}"] if channel in data.pid else []
    if asked and not interface.listens:
        return asked[0]
    sent = [f"J1939 SPN {data.spn[channel]}"] if channel in data.spn else []
    sent += [f"sent by the control module as {broadcast}"] if broadcast is not None else []
    unknown = "sent by the control module unasked (needs its signal data base), or by a sensor fitted for the test"
    return ", or ".join([*asked, *sent]) or unknown


def _needed_parts(wanted: Sequence[Fault]) -> Iterator[str]:
    """Faults of a part that the engine may lack."""
    for fault in wanted:
        if fault.needs:
            yield f"“{fault.title}” is a fault of engines with {fault.needs} alone: leave its steps out on another."


def _notes(
    signals: Sequence[PlannedSignal], names: Sequence[str], profile: EngineProfile, data: PlanData,
    interface: Interface,
) -> list[str]:  # fmt: skip
    notes = [
        *_unseen(signals, interface, any(name.startswith("pump_") for name in names)),
        *_asked_together(signals, data, interface),
        "A drive at nearly one speed cannot part a fixed offset from a delay: hold speeds of which the highest is at "
        "least twice the lowest.",
        "The driver drives; a second person works the recorder, started before moving off. Legal speed, planned route.",
    ]
    speed = next((s for s in signals if s.channel == "engine_speed"), None)
    if speed is not None and speed.period_s and any(name.startswith("idle_hunt") for name in names):
        idle = profile.idle.target_rpm or 800.0
        once = schedule.half_order_hz([idle])[0]
        seen = schedule.seeming_hz(once, speed.period_s)
        if 1.0 / speed.period_s < 2.0 * once:
            notes.append(
                f"At {1.0 / speed.period_s:.1f} values a second a swing once per cycle at {idle:.0f} rpm "
                f"({once:.1f} Hz) shows as {seen:.2f} Hz: do not take it for hunting."
            )
    return notes


def _unseen(signals: Sequence[PlannedSignal], interface: Interface, pump_sensor: bool) -> Iterator[str]:
    """What the interface cannot see, and what to use instead."""
    unseen = [signal for signal in signals if not signal.seen]
    if not unseen:
        return
    listed = _listed([signal.title.lower() for signal in unseen])
    words = (
        f"This interface ({interface.title}) only asks; no standard request answers with {listed}, so it cannot see "
        f"{'it' if len(unseen) == 1 else 'them'}. Instead record the whole bus with a CAN interface that listens "
        "(--interface can), with the control module's signal data base; or read it with the service tester that the "
        "service manual names"
    )
    timing = any(signal.channel == "injection_timing_commanded" for signal in unseen)
    if timing and pump_sensor:
        words += "; or tap the pump sensor, which shows a pump out of place without it"
    yield f"{words}."


def _asked_together(signals: Sequence[PlannedSignal], data: PlanData, interface: Interface) -> Iterator[str]:
    """Which values that are set against each other come in one answer, and which have to follow each other."""
    title = {signal.channel: signal.title.lower() for signal in signals if signal.channel in data.pid}
    for pair in (entry.channels for entry in data.together):
        if all(channel in title for channel in pair):
            pids = sorted({data.pid[channel] for channel in pair})
            numbers = " and ".join(f"{pid:02X}" for pid in pids)
            what = _listed([title[channel] for channel in pair])
            if len(pids) == 1:
                yield f"{what[0].upper()}{what[1:]} come in one answer, PID {numbers}: ask for that."
            else:
                how = "in one request" if interface.values_per_request > 1 else "right after each other"
                yield (
                    f"Ask for {what} {how} (PIDs {numbers}), as the list says, so that the time between them does not "
                    "feign an error."
                )


def _listed(words: Sequence[str]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
