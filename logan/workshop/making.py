"""What an exercise is made from, out of a form's fields: its source and its truth, or why it cannot be made."""

from __future__ import annotations

from typing import Any, Final

from logan import simulate
from logan.errors import UsageError
from logan.knowledge.folders import Folders
from logan.simulate import parameters
from logan.simulate.parameters import FaultKind
from logan.simulate.samples import samples
from logan.simulate.spec import Spec, size_of
from logan.store.database import Case
from logan.store.lessons import GOOD_ENGINE
from logan.workshop import scoring
from logan.workshop.fields import LARGEST_NUMBER

OTHER_WAY: Final = {"late": "early", "ahead": "behind"}
MADE_SENSORS_S: Final = 30.0
Made = tuple[dict[str, Any], dict[str, Any]]
"""Source and truth, as ``store.database.Exercise`` keeps them."""


def canned(name: str) -> Made:
    """Of a canned log."""
    if name not in samples():
        raise UsageError("there is no canned log of that name", do="choose one from the list")
    return {"canned": name}, _truth(samples()[name])


def simulated(engine: str, fault: str, size: str, cylinder: str, drive: str, seed: str, sensors: bool) -> Made:
    """Of a new simulation."""
    made = _keywords(engine, fault, size, cylinder, drive, seed, sensors)
    try:
        spec = simulate.make_spec(**made)
    except UsageError as error:
        raise UsageError(_by_titles(error.reason, engine, fault), do=error.do or "correct that") from error
    return {"made": made}, _truth(spec)


def engines_of(kind: FaultKind) -> list[str]:
    """The training engines on which a fault exists."""
    return [name for name in parameters.engines() if not kind.fits or parameters.profile(name).injection in kind.fits]


def _by_titles(reason: str, engine: str, fault: str) -> str:
    """A reason with fault and engine as people know them."""
    title = scoring.titles().get(fault)
    text = reason if title is None else reason.replace(fault, f"“{title}”")
    return text.replace(engine, parameters.profile(engine).name)


def stored(case: Case | None, truth: str, folders: Folders) -> Made:
    """Of a stored case."""
    if case is None or case.state != "done":
        raise UsageError("there is no case of that number with a finding", do="choose one that is done")
    titles = scoring.titles(folders)
    if truth not in titles:
        raise UsageError("what was found on the vehicle is not said", do="choose the fault that was there")
    return {"case": case.id}, {"fault": truth, "cylinder": None, "text": titles[truth]}


def _keywords(
    engine: str, fault: str, size: str, cylinder: str, drive: str, seed: str, sensors: bool
) -> dict[str, Any]:
    """Keywords of a simulation from a form's fields."""
    # a name that is not shipped would be read as the path of a file
    if engine not in parameters.engines() or drive not in parameters.drives():
        raise UsageError("the engine or the drive is not known", do="choose one from the list")
    out: dict[str, Any] = {"profile": engine, "drive": drive, "seed": number("seed", seed)}
    if fault:
        out["fault"] = fault
        if size.strip():
            try:
                out["size"] = float(size.replace(",", "."))
            except ValueError as error:
                raise UsageError(f"the size {size[:20]} is no number", do="write it as 4.5") from error
        if parameters.faults().get(fault) is not None and parameters.faults()[fault].cylinder:
            out["cylinder"] = number("cylinder", cylinder or "1")
    if sensors:
        out["sensors"] = {"start_s": 2.0, "seconds": MADE_SENSORS_S}
    return out


def number(what: str, text: str) -> int:
    """A whole number of a form."""
    if not text.strip().isdecimal() or len(text) > 10 or int(text) > LARGEST_NUMBER:
        raise UsageError(f"the {what} must be a whole number", do="write it in digits")
    return int(text)


def _truth(spec: Spec) -> dict[str, Any]:
    """What is wrong in a simulation, as data and in words."""
    if not spec.faults:
        return {"fault": GOOD_ENGINE, "cylinder": None, "text": scoring.NOTHING}
    fault = spec.faults[0]
    kind = parameters.faults()[fault.fault]
    where = f", cylinder {fault.cylinder or 1}" if kind.cylinder else ""
    # a unit that says "positive = late" becomes the word itself
    unit, _, positive = kind.unit.partition(", positive = ")
    size = size_of(fault)
    way = "" if not positive else f" {positive if size > 0 else OTHER_WAY.get(positive, f'not {positive}')}"
    text = f"{scoring.titles()[fault.fault]}: {abs(size) if way else size:g} {unit}{way}{where}"
    return {"fault": fault.fault, "cylinder": (fault.cylinder or 1) if kind.cylinder else None, "text": text}
