"""A road test's files in, a record and its finding out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from logan import channels, drive, measures, ranking
from logan.knowledge import profiles
from logan.knowledge.folders import Folders, origins
from logan.measures.wheel_reading import read_all
from logan.model.capture import Remark
from logan.model.channel import ChannelSet
from logan.model.finding import Finding
from logan.model.profile import EngineProfile
from logan.model.record import Record
from logan.model.sensor import Edges, SensorCapture, Waveform
from logan.pipeline import not_understood
from logan.pipeline.crank_speed import with_crank_speed
from logan.pipeline.gather import Gathered, gather
from logan.pipeline.no_engine import without_engine
from logan.pipeline.noisy_signals import noisy_signals
from logan.pipeline.other_engine import contradictions, engine_not_named, idle_target
from logan.pipeline.progress import Progress, silent
from logan.pipeline.sensor_clocks import place_sensors, without_crank
from logan.ranking.hypotheses import named_cylinders


@dataclass(frozen=True, slots=True)
class Analysis:
    """A record, what was found in it, and the data files that were used."""

    record: Record
    finding: Finding
    known: ranking.Knowledge


def analyse(
    paths: Sequence[str | Path],
    *,
    engine: str | None = None,
    dbc_files: Sequence[str | Path] = (),
    work: Sequence[str] = (),
    complaints: Sequence[str] = (),
    folders: Folders = (),
    progress: Progress = silent,
) -> Analysis:
    """Read, decode, measure and rank one road test.

    Parameters
    ----------
    paths : the capture files
    engine : name of a shipped profile or path of a TOML file; chosen from the capture where it is None
    dbc_files : signal data bases beside the open ones
    work : what was fitted just before the test (words of ``data/work.toml``)
    complaints : what the driver complains of (words of ``data/complaints.toml``)
    folders : knowledge folders over the built-in data files

    Raises
    ------
    LoganError : wrong usage, an unreadable capture or a wrong data file
    """
    named = profiles.load(engine, folders) if engine is not None else None
    known = ranking.knowledge(folders)
    ranking.check_words(work, complaints, known)
    gathered = gather(paths, dbc_files, lambda doing, share: progress(doing, 0.7 * share), folders=folders)
    told = {c.metadata["engine"].strip(): c.name for c in reversed(gathered.captures) if "engine" in c.metadata}
    if named is None:
        named = profiles.recognised(gathered.vehicle.calibration_ids, folders, told)
    # A profile chosen from the capture otherwise names no signals of its own: the channels do not depend on it.
    channel_set, remarks = channels.build(gathered.signals, named[0] if named is not None else EngineProfile())
    assumed: tuple[str, ...] = ()
    if named is not None:
        profile, source = named
    else:
        profile, source, assumed = profiles.choose(gathered.vehicle.ignition, channel_set.best)
    if named is not None:
        cylinders = named_cylinders(gathered.vehicle.codes, known.catalogue.families.values())
        cams = [r.other_cam for r in read_all(gathered.sensors, profile) if r.other_cam is not None]
        remarks += contradictions(profile, gathered.vehicle, cylinders, channel_set, list(told), folders, cams)
    else:
        remarks += engine_not_named(gathered.sensors, told, folders)
    remarks += without_engine(gathered, folders)
    remarks += not_understood.columns(gathered.captures, profile)
    sensors, more = _on_the_log(gathered, channel_set)
    channel_set, left_out = with_crank_speed(channel_set, sensors, profile, _clocked(gathered))
    remarks += [*more, *left_out, *without_crank(sensors), *noisy_signals(sensors)]
    states = drive.segment(channel_set, profile)
    remarks += idle_target(profile, channel_set, states)
    record = Record(
        captures=gathered.captures,
        channels=channel_set,
        states=states,
        profile=profile,
        vehicle=gathered.vehicle,
        sensors=sensors,
        remarks=(*gathered.remarks, *remarks),
        profile_source=source,
        engine_known=named is not None,
        assumed=(*assumed, *states.assumed),
        origin_ns=gathered.origin_ns,
        work=tuple(work),
        complaints=tuple(complaints),
        knowledge=tuple(origins(folders)) if folders else (),
    )
    progress("measuring", 0.75)
    found, missing = measures.compute(record, known.measures)
    progress("ranking", 0.95)
    ranked = ranking.rank(record, found, missing, known)
    progress("done", 1.0)
    return Analysis(record, Finding(measures=found, missing=missing, ranking=ranked), known)


def _clocked(gathered: Gathered) -> bool:
    """Whether everything that gives channels has absolute time."""
    contents = [(c.content, c.timed) for c in gathered.captures if not isinstance(c.content, Edges | Waveform)]
    return all(content.absolute and timed for content, timed in contents)


def _on_the_log(gathered: Gathered, found: ChannelSet) -> tuple[tuple[SensorCapture, ...], list[Remark]]:
    """Sensor recordings on the axis of the log that holds engine speed."""
    speed = found.get("engine_speed")
    log = next((c for c in gathered.captures if speed and f"{speed.file}, ".startswith(f"{c.name}, ")), None)
    if speed is None or log is None or not log.timed:
        return gathered.sensors, []
    return place_sensors(gathered.sensors, speed, log.content.absolute)
