"""The fault catalogue: one TOML file a fault, and ``no_fault.toml`` with what a good engine shows.

Every expectation is a distribution of the TRUE value of a measure; its parameters are numbers, or a key of the engine
profile with a factor and an offset. Nothing is evaluated.
"""

from __future__ import annotations

import functools
import typing
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final, Literal

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.folders import Folders, files
from logan.knowledge.kept import contents, kept
from logan.knowledge.load import Place, nearest, options_of, overlaid, toml, wrong
from logan.knowledge.locate import DATA
from logan.model.profile import EngineProfile, Ignition, Injection

FOLDER: Final = DATA / "faults"
NO_FAULT: Final = "no_fault"
Stage = Literal["look", "plug", "measure", "apart"]
STAGES: Final[tuple[Stage, ...]] = typing.get_args(Stage)


class Key(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A key of the engine profile: ``factor`` times its value plus ``offset``.

    ``default`` stands for the value where the profile lacks the key; without it the expectation is then not judged.
    """

    key: str
    factor: float = 1.0
    offset: float = 0.0
    default: float | None = None


Number = float | Key


class Shape(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    """What is common to all expectations.

    ``share`` is how often the fault shows in this measure at all; else the measure reads as on a good engine.
    ``main`` marks the sign by which the fault is known. ``unless`` names a profile key: the entry holds only where the
    profile does not have it. ``source`` is a publication, ``by definition`` or ``judgement`` with its reason.
    """

    measure: str
    source: str
    share: float = 0.95
    main: bool = False
    unless: str = ""


class Normal(Shape, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="normal"):
    """Around ``at`` with standard deviation ``spread``."""

    at: Number
    spread: Number


class Within(Shape, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="within"):
    """Anywhere from ``low`` to ``high``; the ends are blurred by standard deviation ``soft``."""

    low: Number
    high: Number
    soft: Number


class Beyond(Shape, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="beyond"):
    """Past ``limit`` on one side (or past plus or minus ``limit``), typically by ``scale``, with a long tail."""

    limit: Number
    scale: Number
    side: Literal["above", "below", "both"]


class Steps(Shape, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="steps"):
    """Whole multiples of ``step`` but not 0, up to ``most`` either way, small ones likelier."""

    step: Number
    spread: Number
    most: int = 8


Expectation = Normal | Within | Beyond | Steps


class Fits(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Engines that can have the fault; an empty list means any."""

    ignition: list[Ignition] = []
    injection: list[Injection] = []


class Speaks(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How often the fault stores a code of a family (families: ``no_fault.toml``)."""

    family: str
    rate: float
    source: str


class Check(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One thing to do next.

    ``finds`` is how often it confirms the fault where that is present; ``also`` the same for other faults; ``wrongly``
    how often it seems to confirm it on an engine that has none of them. A record that holds all measures of
    ``in_record`` has made it already. One of the ``recording`` is about how a crank or cam recording was made: without
    one there is nothing to check.
    """

    stage: Stage
    text: str
    minutes: float
    tools: list[str] = []
    confirmed: str
    refuted: str
    cautions: list[str]
    finds: float = 0.9
    wrongly: float = 0.05
    also: dict[str, float] = {}
    in_record: list[str] = []
    recording: bool = False


class Fault(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One fault.

    ``prior`` is its share among engines that are tested, before anything is known; ``practice`` are facts of the trade
    that bear on it (common practice, no source). ``needs`` is a part that an engine may lack and that no profile names.
    """

    id: str
    title: str
    meaning: str
    told_apart: str
    prior: float
    prior_source: str
    fits: Fits = Fits()
    per_cylinder: bool = False
    work: dict[str, float] = {}
    complaints: dict[str, float] = {}
    expect: list[Expectation]
    codes: list[Speaks] = []
    checks: list[Check]
    cautions: list[str] = []
    practice: list[str] = []
    needs: str = ""


class Good(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A measure on a good engine.

    ``scale`` is how far a reading may lie off for reasons that nobody foresees; measures of one ``group`` are one
    symptom seen twice and are not multiplied freely. ``besides`` is what a share of the good engines shows for reasons
    that are no fault. A ``count`` is compared by square roots, on which its scatter is the same whatever its size. A
    measure that ``stands_in_for`` another one counts only where that one was not measured.
    """

    group: str
    scale: Number
    expect: Expectation
    besides: Expectation | None = None
    count: bool = False
    stands_in_for: str = ""


class Family(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Trouble codes that say the same; ``rate`` is how often a good engine has one stored.

    ``match`` are codes, ``*`` stands for anything; with ``by_cylinder`` they are in cylinder order, codes of one
    cylinder parted by ``|``. Families of one ``group`` come together and are not multiplied freely.
    """

    id: str
    group: str
    title: str
    match: list[str]
    rate: float
    source: str
    by_cylinder: bool = False


class Unknown(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Something that is not in the catalogue: how likely, and how often it shows in a measure or a code."""

    prior: float
    measure_share: float
    code_rate: float
    hidden: float
    source: str


class Calibration(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What brings the probabilities in step with how often they come true.

    ``sharpness`` multiplies the weight (log10) of every measure, ``code_sharpness`` that of every code;
    ``second_fault`` is the share of faulty engines that have another fault at the same time.
    """

    sharpness: float
    second_fault: float
    source: str
    code_sharpness: float = 1.0


class NoFault(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a good engine shows, and how far codes of each status count."""

    prior: float
    prior_source: str
    something_else: Unknown
    calibration: Calibration
    status: dict[str, float]
    good: list[Good]
    family: list[Family]


class Catalogue(msgspec.Struct, frozen=True, kw_only=True):
    """All faults by id, the good engine, and its measures and code families by name."""

    faults: dict[str, Fault]
    no_fault: NoFault
    good: dict[str, Good]
    families: dict[str, Family]


class NoFaultPart(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a knowledge folder's ``no_fault.toml`` may add: measures and code families; a known one is replaced."""

    good: list[Good] = []
    family: list[Family] = []


def load(folder: Path = FOLDER, folders: Folders = ()) -> Catalogue:
    """The catalogue of a folder, with what knowledge folders add or change, checked.

    In a later folder's file of a known fault each key replaces that key and what is left out stays; tables are joined
    key by key, lists are replaced whole; ``whole = true`` keeps nothing of the earlier one.

    Raises
    ------
    KnowledgeError : a file is wrong; names its line and what is right
    """
    pages = [folder / f"{NO_FAULT}.toml", *files(folders, f"faults/{NO_FAULT}.toml"), *fault_files(folder, folders)]
    return kept(folder, contents(pages), Catalogue, lambda: _load(folder, folders))


def _load(folder: Path, folders: Folders) -> Catalogue:
    no_fault, good, families = good_engine(folder, folders)
    faults: dict[str, Fault] = {}
    for file in fault_files(folder, folders):
        fault, words = overlaid(file, Fault, faults.get(file.stem))
        _no_mistake(mistakes(fault, file.stem, good, families), file, words)
        faults[fault.id] = fault
    if not faults:
        raise KnowledgeError("holds no fault", file=str(folder), do="add a TOML file a fault")
    return Catalogue(faults=faults, no_fault=no_fault, good=good, families=families)


def fault_files(folder: Path = FOLDER, folders: Folders = ()) -> list[Path]:
    """The files of faults, those that win last."""
    every = (*sorted(folder.glob("*.toml")), *files(folders, "faults/*.toml"))
    return [file for file in every if file.stem != NO_FAULT]


def good_engine(folder: Path = FOLDER, folders: Folders = ()) -> tuple[NoFault, dict[str, Good], dict[str, Family]]:
    """What a good engine shows: the page of a folder, its measures and its code families with those of later folders.

    Raises
    ------
    KnowledgeError : a file is wrong; names its line and what is right
    """
    path = folder / f"{NO_FAULT}.toml"
    no_fault, text = toml(path, NoFault)
    _no_mistake(_numbers(no_fault, ()), path, text)
    pages: list[tuple[Path, str, NoFault | NoFaultPart]] = [(path, text, no_fault)]
    for path in files(folders, f"faults/{NO_FAULT}.toml"):
        part, text = toml(path, NoFaultPart)
        _no_mistake(_numbers(part, ()), path, text)
        pages.append((path, text, part))
    good: dict[str, Good] = {}
    families: dict[str, Family] = {}
    for path, text, page in pages:
        for k, entry in enumerate(page.good):
            _no_mistake(_keys(entry, ("good", k)), path, text)
        good |= {entry.expect.measure: entry for entry in page.good}
        families |= {family.id: family for family in page.family}
    for path, text, page in pages:
        _no_mistake(_stand_ins(page.good, good), path, text)
    return no_fault, good, families


def fits(fault: Fault, profile: EngineProfile) -> bool:
    """Whether an engine can have the fault; what the profile does not tell rules nothing out."""
    wanted = fault.fits
    return (profile.ignition is None or not wanted.ignition or profile.ignition in wanted.ignition) and (
        profile.injection is None or not wanted.injection or profile.injection in wanted.injection
    )


def value_of(number: Number, profile: EngineProfile) -> float | None:
    """A parameter for an engine, None where its profile lacks the key."""
    if not isinstance(number, Key):
        return float(number)
    value = look_up(number.key, profile)
    value = number.default if value is None else value
    return None if value is None else number.factor * value + number.offset


def look_up(key: str, profile: EngineProfile) -> float | None:
    """A number of the profile by its dotted key."""
    value: Any = profile
    for part in key.split("."):
        value = getattr(value, part, None)
    return float(value) if isinstance(value, int | float) else None


@functools.cache
def profile_keys() -> tuple[str, ...]:
    """Every key of a profile that holds one number."""
    return tuple(".".join(key) for key in _number_keys(EngineProfile))


Mistake = tuple[Place, str, str]


def _no_mistake(found: Iterator[Mistake], path: Path, text: str) -> None:
    for where, reason, do in found:
        raise wrong(reason, path, text, where, do)


def mistakes(fault: Fault, stem: str, good: dict[str, Good], families: dict[str, Family]) -> Iterator[Mistake]:
    """What no type can say of a fault: place, reason, what to do."""
    if fault.id != stem:
        yield ("id",), f"is {fault.id}, but the file is called {stem}.toml", "give both the same name"
    for k, expect in enumerate(fault.expect):
        if expect.measure not in good:
            do = f"add it to {NO_FAULT}.toml, or correct it: {nearest(expect.measure, good)}"
            yield ("expect", k, "measure"), f"{expect.measure} is not described for a good engine", do
    if not any(expect.main for expect in fault.expect):
        yield ("expect",), "has no main sign", "mark the sign by which the fault is known with main = true"
    for k, code in enumerate(fault.codes):
        if code.family not in families:
            yield ("codes", k, "family"), f"{code.family} is no family of codes", nearest(code.family, families)
    for k, check in enumerate(fault.checks):
        for name in check.in_record:
            if name not in good:
                yield ("checks", k, "in_record"), f"{name} is not described for a good engine", nearest(name, good)
    if len(fault.checks) < 2:
        yield ("checks",), "are fewer than two", "give at least two next checks, the easiest first"
    stages = [STAGES.index(check.stage) for check in fault.checks]
    if stages != sorted(stages):
        yield ("checks",), f"are not in the trade's order {', '.join(STAGES)}", "put taking apart last"
    yield from _keys(fault, ())
    yield from _numbers(fault, ())


def _stand_ins(entries: list[Good], good: dict[str, Good]) -> Iterator[Mistake]:
    """Measures that stand in for one that nobody can measure, or for one that stands in itself."""
    for k, entry in enumerate(entries):
        name = entry.stands_in_for
        if name and (name not in good or name == entry.expect.measure or good[name].stands_in_for):
            others = [m for m, one in good.items() if m != entry.expect.measure and not one.stands_in_for]
            reason = f"names {name}, which is no other measure of a good engine that is judged by itself"
            yield ("good", k, "stands_in_for"), reason, nearest(name, others)


def _keys(value: Any, where: Place) -> Iterator[Mistake]:
    """Profile keys that no profile has."""
    for at, part in walk(value, where):
        named = [(part.key, "key")] if isinstance(part, Key) else []
        if isinstance(part, Shape) and part.unless:
            named = [(part.unless, "unless")]
        for key, field in named:
            if key not in profile_keys():
                yield (*at, field), f"{key} is no key of an engine profile", nearest(key, profile_keys())


_SHARES: Final = (
    "prior", "share", "rate", "finds", "wrongly", "hidden", "measure_share", "code_rate", "second_fault",
)  # fmt: skip
_POSITIVE: Final = ("scale", "step", "spread", "minutes", "sharpness", "code_sharpness")
_MOST_STEPS: Final = 1000


def _numbers(value: Any, where: Place) -> Iterator[Mistake]:
    """Shares and rates that are no probability, multipliers and sizes that are not positive, empty ranges."""
    for at, part in walk(value, where):
        for name in _SHARES:
            number = getattr(part, name, None)
            if number is not None and not 0.0 < number < 1.0:
                yield (*at, name), f"{number:g} is not between 0 and 1", "give a probability, never 0 or 1"
        for name in ("work", "complaints", "also", "status"):
            for word, number in getattr(part, name, {}).items():
                if number <= 0.0:
                    yield (*at, name, word), f"{number:g} must be more than 0", "leave it out where it changes nothing"
                elif number >= 1.0 and name in ("complaints", "also"):
                    yield (*at, name, word), f"{number:g} is not between 0 and 1", "give a probability, never 0 or 1"
        for name in _POSITIVE:
            number = _known(getattr(part, name, None))
            if number is not None and number <= 0.0:
                yield (*at, name), f"{number:g} must be more than 0", "correct it"
        if isinstance(part, Steps) and not 1 <= part.most <= _MOST_STEPS:
            yield (*at, "most"), f"{part.most} is not between 1 and {_MOST_STEPS}", "give the steps to either side"
        if isinstance(part, Within):
            low, high, soft = part.low, part.high, _known(part.soft)
            if not isinstance(low, Key) and not isinstance(high, Key) and low >= high:
                yield (*at, "high"), f"{high:g} is not above low, {low:g}", "correct one of them"
            if soft is not None and soft < 0.0:
                yield (*at, "soft"), f"{soft:g} must not be less than 0", "correct it"


def _known(number: Number | None) -> float | None:
    """A number, or one of the same sign where it is a share of a key of the profile, which is positive."""
    if isinstance(number, Key):
        return number.factor if number.offset == 0.0 else None
    return number


def walk(value: Any, where: Place) -> Iterator[tuple[Place, msgspec.Struct]]:
    """Every part of a value that has keys, with its place."""
    if isinstance(value, msgspec.Struct):
        yield where, value
        for name in value.__struct_fields__:
            yield from walk(getattr(value, name), (*where, name))
    elif isinstance(value, list):
        for k, part in enumerate(value):
            yield from walk(part, (*where, k))


def _number_keys(kind: type[msgspec.Struct]) -> Iterator[tuple[str, ...]]:
    for field in msgspec.structs.fields(kind):
        for option in options_of(field.type):
            if isinstance(option, type) and issubclass(option, msgspec.Struct):
                yield from ((field.name, *rest) for rest in _number_keys(option))
            elif option in (int, float):
                yield (field.name,)
