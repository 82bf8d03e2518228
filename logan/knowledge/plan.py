"""What to record and how to drive, from ``data/plan.toml``."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from pathlib import Path
from typing import Final, Literal

import msgspec

from logan.knowledge import channels, measures, texts
from logan.knowledge.folders import Folders, files
from logan.knowledge.kept import contents, kept
from logan.knowledge.load import Place, nearest, overlaid, wrong
from logan.knowledge.locate import DATA
from logan.model.profile import EngineProfile, Injection

State = Literal["key_on", "cranking", "start", "warm_up", "warm", "idle", "cruise", "pull", "after_stop"]
Formula = Literal[
    "level", "rows", "spread", "extremes", "swing", "count", "share", "interval", "decay", "timing", "lag", "phase",
    "ripple", "cylinders", "yes_or_no",
]  # fmt: skip


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    pass


class Interface(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What asks the control module, and how often it can; ``listens``: it records what modules send unasked, too."""

    id: str
    title: str
    requests_per_second: float
    values_per_request: int
    source: str
    listens: bool = True


class Together(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Channels that are set against each other: asked for in one request, or one right after the other."""

    channels: list[str]


class HookUp(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How a sensor is tapped; ``measures`` are names or their beginnings."""

    sensor: str
    text: str
    measures: list[str]
    cautions: list[str]


class Stretch(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Steady running."""

    state: State
    speed_rpm: float
    load_percent: float
    seconds: float


class Manoeuvre(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One step of the drive; ``measures`` are names or their beginnings, ``tells`` those that it shows on its own.

    ``second`` is what the second person does; ``alone``: only what its measures need is asked for in this step.
    """

    id: str
    title: str
    second: str
    watch: str
    stop: str
    measures: list[str]
    tells: list[str]
    cautions: list[str]
    stretch: list[Stretch]
    alone: bool = False

    @property
    def seconds(self) -> float:
        """How long it takes."""
        return sum(part.seconds for part in self.stretch)


class Noise(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the smallest error of a measure is worked out; see the head of the tables in the file for each key."""

    formula: Formula
    reading: float
    together_s: float
    fixed: float
    during: list[State]
    source: str
    size: float = 0.0


class PlanData(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The whole file."""

    interface: list[Interface]
    pid: dict[str, int]
    spn: dict[str, int]
    slow: dict[str, float]
    together: list[Together]
    needs: dict[str, list[str]]
    only: dict[str, list[Injection]]
    hookup: list[HookUp]
    manoeuvre: list[Manoeuvre]
    noise: dict[str, Noise]


def load(folders: Folders = ()) -> PlanData:
    """The built-in file with those of knowledge folders over it.

    Raises
    ------
    KnowledgeError : one of them is wrong
    """
    # what it names stands in other files
    pages = [*sorted(DATA.glob("*.toml")), *files(folders, "*.toml")]
    return kept(DATA / "plan.toml", contents(pages), PlanData, lambda: _load(folders))


def _load(folders: Folders) -> PlanData:
    data = _over(DATA / "plan.toml", None, folders)
    for path in files(folders, "plan.toml"):
        data = _over(path, data, folders)
    return data


def _over(path: Path, before: PlanData | None, folders: Folders) -> PlanData:
    data, text = overlaid(path, PlanData, before)
    for where, reason, do in mistakes(data, folders):
        raise wrong(reason, path, text, where, do)
    return data


def mistakes(data: PlanData, folders: Folders) -> Iterator[tuple[Place, str, str]]:
    """Names that nothing else knows, and numbers that cannot be."""
    known, words, warnings = channels.load(), measures.load(folders), texts.cautions(folders)
    tables: dict[str, Collection[str]] = {"pid": data.pid, "spn": data.spn, "slow": data.slow}
    asked: list[tuple[Place, str]] = [((table, name), name) for table, names in tables.items() for name in names]
    asked += [(("needs", measure), name) for measure, names in data.needs.items() for name in names]
    asked += [(("together", k, "channels"), name) for k, one in enumerate(data.together) for name in one.channels]
    for where, name in asked:
        if name not in known:
            yield where, f"names {name}, which is no channel", nearest(name, known)
    for table, measure in [*(("noise", m) for m in data.noise), *(("needs", m) for m in data.needs)]:
        if measure not in words:
            yield (table, measure), f"names {measure}, which is no measure", nearest(measure, words)
    served: list[tuple[str, int, HookUp | Manoeuvre]] = [
        *(("hookup", k, one) for k, one in enumerate(data.hookup)),
        *(("manoeuvre", k, one) for k, one in enumerate(data.manoeuvre)),
    ]
    for kind, k, one in served:
        for name in one.cautions:
            if name not in warnings:
                yield (kind, k, "cautions"), f"names {name}, which is none of the cautions", nearest(name, warnings)
        for word in [*one.measures, *(one.tells if isinstance(one, Manoeuvre) else [])]:
            if not any(serves(word, name) for name in words):
                yield (kind, k, "measures"), f"names {word}, which is no measure", nearest(word, words)
    for k, step in enumerate(data.manoeuvre):
        if not step.stop.strip() or not step.stretch:
            yield ("manoeuvre", k), "lacks when to stop, or how long it takes", "fill in stop, and stretch in seconds"
    yield from _numbers(data)


_NOISE_IS_NEEDED: Final = (
    "cylinders",
    "decay",
    "extremes",
    "lag",
    "level",
    "phase",
    "ripple",
    "rows",
    "spread",
    "swing",
    "timing",
)
_SIZE_IS_NEEDED: Final = ("decay", "lag", "swing")


def _numbers(data: PlanData) -> Iterator[tuple[Place, str, str]]:
    """Numbers that cannot be."""
    above: list[tuple[Place, float]] = [(("slow", name), period) for name, period in data.slow.items()]
    not_under: list[tuple[Place, float]] = []
    for k, one in enumerate(data.interface):
        above.append((("interface", k, "requests_per_second"), one.requests_per_second))
        above.append((("interface", k, "values_per_request"), float(one.values_per_request)))
    for name, noise in data.noise.items():
        for key, needed in (
            ("reading", _NOISE_IS_NEEDED),
            ("size", _SIZE_IS_NEEDED),
            ("together_s", ()),
            ("fixed", ()),
        ):
            rows = above if noise.formula in needed else not_under
            rows.append((("noise", name, key), getattr(noise, key)))
    for k, step in enumerate(data.manoeuvre):
        for j, part in enumerate(step.stretch):
            above.append((("manoeuvre", k, "stretch", j, "seconds"), part.seconds))
            not_under.append((("manoeuvre", k, "stretch", j, "speed_rpm"), part.speed_rpm))
    for where, number in above:
        if number <= 0.0:
            yield where, f"{number:g} must be more than 0", "correct it"
    for where, number in not_under:
        if number < 0.0:
            yield where, f"{number:g} must not be less than 0", "correct it"


def named(measure: str, entry: HookUp | Manoeuvre) -> bool:
    """Whether a hook-up or a manoeuvre serves a measure."""
    return any(serves(word, measure) for word in entry.measures)


def shortest(wanted: Collection[str], data: PlanData) -> Manoeuvre | None:
    """The shortest step that shows one of these measures on its own."""
    steps = [step for step in data.manoeuvre if any(serves(word, name) for word in step.tells for name in wanted)]
    return min(steps, key=lambda step: step.seconds, default=None)


def cautions(data: PlanData) -> set[str]:
    """Every caution that the plan names."""
    served: list[HookUp | Manoeuvre] = [*data.hookup, *data.manoeuvre]
    return {name for one in served for name in one.cautions}


def possible(measure: str, data: PlanData, profile: EngineProfile) -> bool:
    """Whether an engine can have a measure; one whose injection is not known can have any."""
    kinds = [found for word, found in data.only.items() if serves(word, measure)]
    return profile.injection is None or all(profile.injection in found for found in kinds)


def serves(word: str, measure: str) -> bool:
    """Whether a word is the measure's name or the beginning of it."""
    return measure == word or (word.endswith("_") and measure.startswith(word))
