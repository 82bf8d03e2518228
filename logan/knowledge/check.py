"""Every mistake that can be found in data files: each is named with its file, line, what is wrong and what to do."""

from __future__ import annotations

import functools
from collections.abc import Callable, Collection, Iterator
from pathlib import Path
from typing import Any

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge import (
    channels,
    comparison,
    drive_states,
    faults,
    frame_headers,
    headings,
    measures,
    plan,
    profiles,
    table_headers,
    texts,
)
from logan.knowledge.faults import Fault
from logan.knowledge.folders import Folders, files, others
from logan.knowledge.load import Place, nearest, overlaid, toml, wrong
from logan.model.profile import EngineProfile

Mistake = tuple[Place, str, str]
_READ = (
    "faults/*.toml, profiles/*.toml, *.dbc, cautions.toml, work.toml, complaints.toml, measures.toml, "
    "comparison.toml, plan.toml and headings.toml are read"
)
_NOT_WORK = "none"
"""The word for "nothing was fitted": no fault may name it."""


def mistakes(folders: Folders) -> list[KnowledgeError]:
    """What is wrong in the folders and, since they stand over them, in the built-in data."""
    found: list[KnowledgeError] = []

    def try_(load: Callable[[], object]) -> bool:
        try:
            load()
        except KnowledgeError as error:
            found.append(error)
            return False
        return True

    for load in (channels.load, drive_states.load, frame_headers.load, table_headers.load):
        try_(load)
    try_(lambda: comparison.load(folders))
    try_(lambda: headings.load(folders))
    found += [KnowledgeError("stands where nothing is read", file=str(path), place="the whole file", do=_READ)
              for folder in folders for path in others(folder)]  # fmt: skip
    for path in (*sorted(profiles.FOLDER.glob("*.toml")), *files(folders, "profiles/*.toml")):
        found += _of_profile(path)
    words = [try_(functools.partial(load, folders)) for load in _WORDS]
    if all(words):
        try_(lambda: plan.load(folders))
    if all(words) and try_(lambda: faults.good_engine(folders=folders)):
        found += _of_measures(folders)
        found += _of_faults(folders)
    return found


_WORDS: tuple[Callable[[Folders], dict[str, Any]], ...] = (
    texts.cautions,
    texts.work,
    texts.complaints,
    measures.load,
)


def _of_profile(path: Path) -> Iterator[KnowledgeError]:
    try:
        profile, text = toml(path, EngineProfile)
    except KnowledgeError as error:
        yield error
        return
    for where, reason, do in profiles.mistakes(profile):
        yield wrong(reason, path, text, where, do)
    known = channels.load()
    for signal, channel in profile.channels.items():
        if channel not in known:
            yield wrong(
                f"names {channel}, which is no channel", path, text, ("channels", signal), nearest(channel, known)
            )


def _of_measures(folders: Folders) -> Iterator[KnowledgeError]:
    """Words for a measure that nothing computes, and a unit that is not the one in which it is computed."""
    built_in = measures.load()
    for path in files(folders, "measures.toml"):
        text = path.read_text("utf-8")
        for k, info in enumerate(measures.read(path)):
            before = built_in.get(info.name)
            if before is None:
                do = nearest(info.name, built_in)
                yield wrong(f"{info.name} is a measure that nothing computes", path, text, ("measure", k, "name"), do)
            elif info.unit != before.unit:
                reason = f"is {info.unit}, but {info.name} is computed in {before.unit}"
                yield wrong(reason, path, text, ("measure", k, "unit"), f"write {before.unit}")


def _of_faults(folders: Folders) -> Iterator[KnowledgeError]:
    no_fault, good, families = faults.good_engine(folders=folders)
    for where, reason, do in _empty(no_fault, ()):
        path = faults.FOLDER / f"{faults.NO_FAULT}.toml"
        yield wrong(reason, path, path.read_text("utf-8"), where, do)
    every = faults.fault_files(folders=folders)
    ids = {path.stem for path in every}
    known: dict[str, Collection[str]] = {
        "faults": ids,
        "cautions": texts.cautions(folders),
        "work": texts.work(folders),
        "complaints": texts.complaints(folders),
        "measures": measures.load(folders),
    }
    whole = True
    used: dict[str, set[str]] = {name: set() for name in known}
    used["work"].add(_NOT_WORK)
    try:
        used["cautions"] |= plan.cautions(plan.load(folders))
    except KnowledgeError:
        whole = False  # told already
    read: dict[str, Fault] = {}
    for path in every:
        try:
            fault, text = overlaid(path, Fault, read.get(path.stem))
        except KnowledgeError as error:
            whole = False
            yield error
            continue
        read[path.stem] = fault
        named = list(_named(fault))
        for kind, _, name in named:
            used.setdefault(kind, set()).add(name)
        found: list[Mistake] = [*faults.mistakes(fault, path.stem, good, families), *_empty(fault, ())]
        for kind, where, name in named:
            table = known[kind]
            if name not in table and kind != "measures":
                found.append((where, f"names {name}, which is none of the {kind}", nearest(name, table)))
            elif name not in table and name in good:
                found.append((where, f"names {name}, which has no words in measures.toml", nearest(name, table)))
        for where, reason, do in found:
            yield wrong(reason, path, text, where, do)
    if whole:
        yield from _unused(folders, used)


def _named(fault: Fault) -> Iterator[tuple[str, Place, str]]:
    """Everything a fault refers to: in which table, where, by which name."""
    for k, expect in enumerate(fault.expect):
        yield "measures", ("expect", k, "measure"), expect.measure
    for word in fault.work:
        yield "work", ("work", word), word
    for word in fault.complaints:
        yield "complaints", ("complaints", word), word
    for name in fault.cautions:
        yield "cautions", ("cautions",), name
    for k, check in enumerate(fault.checks):
        for name in check.cautions:
            yield "cautions", ("checks", k, "cautions"), name
        for other in check.also:
            yield "faults", ("checks", k, "also", other), other


def _empty(value: object, where: Place) -> Iterator[Mistake]:
    """Texts that every entry needs and that say nothing: a source, a meaning, an outcome."""
    for at, part in faults.walk(value, where):
        for field in msgspec.structs.fields(part):
            text = getattr(part, field.name)
            if field.required and isinstance(text, str) and not text.strip():
                do = (
                    "name the publication, or write judgement and the reason"
                    if "source" in field.name
                    else "fill it in"
                )
                yield (*at, field.name), "is empty", do


def _unused(folders: Folders, used: dict[str, set[str]]) -> Iterator[KnowledgeError]:
    """Entries of the folders that no fault names."""
    for name, kind in (("cautions.toml", "caution"), ("work.toml", "word"), ("complaints.toml", "word")):
        for path in files(folders, name):
            text = path.read_text("utf-8")
            rows = msgspec.toml.decode(text).get(kind, [])
            for k, row in enumerate(rows):
                if row["id"] not in used[path.stem]:
                    do = "name it in a fault, or take it out"
                    yield wrong(f"{row['id']} is used by no fault", path, text, (kind, k, "id"), do)
