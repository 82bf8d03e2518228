"""One fault explained on one engine: the catalogue's words, what tells it apart, and drives drawn by the simulator."""

from __future__ import annotations

import tempfile
from dataclasses import replace

from logan import simulate
from logan.errors import UsageError
from logan.knowledge import faults, profiles
from logan.knowledge.faults import Fault
from logan.knowledge.folders import Folders
from logan.knowledge.load import nearest
from logan.model.explanation import Explanation
from logan.model.finding import Finding
from logan.model.profile import EngineProfile
from logan.model.record import Record
from logan.pipeline.analyse import analyse
from logan.pipeline.progress import Progress, silent
from logan.ranking import Knowledge, apart, knowledge, next_checks

SEED = 7
TRAINING = ("training_rotary_six", "training_rail_four", "training_spark_four")
LONG_WARM_UP = ("thermostat_stuck_open", "pump_timing_drift")
CRANKED = ("cylinder_compression_low",)
STOPPED = ("rail_leakdown",)
RECORDED_S = 40.0


def listed(folders: Folders = ()) -> list[tuple[str, str]]:
    """Every fault that is known: id and title.

    Raises
    ------
    KnowledgeError : a data file is wrong
    """
    return [(fault.id, fault.title) for fault in faults.load(folders=folders).faults.values()]


def explain(name: str, engine: str | None = None, folders: Folders = ()) -> Explanation:
    """What is known of a fault, without drives; on the first training engine that can have it where none is named.

    Raises
    ------
    UsageError : no fault or engine is called so
    KnowledgeError : a data file is wrong
    """
    known = knowledge(folders)
    catalogue = known.catalogue
    if name not in catalogue.faults:
        do = f"{nearest(name, catalogue.faults)} (logan explain lists all)"
        raise UsageError(f"no fault is called {name}", do=do)
    fault = catalogue.faults[name]
    profile = profiles.load(engine, folders)[0] if engine is not None else profiles.load(_training(fault))[0]
    fitting = faults.fits(fault, profile)
    return Explanation(
        fault=fault.id,
        title=fault.title,
        meaning=fault.meaning,
        told_apart=fault.told_apart,
        engine=profile.name,
        unfit="" if fitting else _unfit(fault, profile),
        signs=tuple(apart.shown(fault, catalogue, profile, known.measures)) if fitting else (),
        neighbours=tuple(apart.neighbours(fault, catalogue, profile, known.measures)) if fitting else (),
        checks=tuple(next_checks.in_trade_order(fault, known.cautions)),
        work=tuple((known.work[word].title, factor) for word, factor in fault.work.items() if word in known.work),
        sources=_sources(fault, known),
        practice=tuple(fault.practice),
        needs=fault.needs,
    )


def with_drives(
    explanation: Explanation, engine: str | None, folders: Folders = (), progress: Progress = silent
) -> Explanation:
    """The same with two simulated drives, one of a good engine and one with the fault, where the simulator can.

    A drive is simulated on a training engine with the injection of the engine named.
    """
    driven = _simulated_engine(explanation, engine, folders)
    if driven is None:
        return explanation
    drives: list[tuple[Record, Finding]] = []
    for k, fault in enumerate((None, explanation.fault)):
        progress("simulating a good engine" if fault is None else "simulating the fault", 0.5 * k)
        drives.append(_drive(driven, explanation.fault, fault))
    name = profiles.load(driven)[0].name
    return replace(explanation, drawn_on=name, healthy=drives[0], faulty=drives[1])


def _drive(engine: str, about: str, fault: str | None) -> tuple[Record, Finding]:
    script = "road_test" if about in LONG_WARM_UP else "compression_test" if about in CRANKED else "short_test"
    script = "start_stop" if about in STOPPED else script
    sensors = simulate.Sensors(seconds=RECORDED_S)
    made = {"fault": fault} if fault is not None else {}
    run = simulate.run(simulate.make_spec(profile=engine, drive=script, seed=SEED, sensors=sensors, **made))
    with tempfile.TemporaryDirectory() as folder:
        paths = [path for path in simulate.write(run, folder, "simulated") if not path.name.endswith("truth.json")]
        analysis = analyse(paths, engine=engine)
    return analysis.record, analysis.finding


def _simulated_engine(explanation: Explanation, engine: str | None, folders: Folders) -> str | None:
    if explanation.unfit:
        return None
    wanted = profiles.load(engine, folders)[0] if engine is not None else None
    for name in TRAINING:
        profile = profiles.load(name)[0]
        if wanted is None or wanted.injection in (None, profile.injection):
            try:
                simulate.make_spec(profile=name, fault=explanation.fault)
            except UsageError:
                continue
            return name
    return None


def _training(fault: Fault) -> str:
    return next((name for name in TRAINING if faults.fits(fault, profiles.load(name)[0])), TRAINING[0])


def _unfit(fault: Fault, profile: EngineProfile) -> str:
    wanted = " with ".join(
        " or ".join(word.replace("_", " ") for word in words)
        for words in ([f"{i} ignition" for i in fault.fits.ignition], fault.fits.injection)
        if words
    )
    return f"{profile.name} cannot have this fault: it needs {wanted}"


def _sources(fault: Fault, known: Knowledge) -> tuple[str, ...]:
    found = [f"How common it is: {fault.prior_source}"]
    for expect in fault.expect:
        info = known.measures.get(expect.measure)
        found.append(f"{info.title if info else expect.measure}: {expect.source}")
    families = known.catalogue.families
    found += [f"Codes, {families[code.family].title}: {code.source}" for code in fault.codes]
    return tuple(dict.fromkeys(found))
