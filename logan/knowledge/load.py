"""Reading a TOML data file into a checked type: every mistake is named with its file, line and what is right."""

from __future__ import annotations

import difflib
import itertools
import math
import re
import types
import typing
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from logan.errors import KnowledgeError
from logan.knowledge.kept import kept

T = TypeVar("T")

_WORDS = {
    "int": "a whole number", "float": "a number", "str": "text in quotes", "bool": "true or false",
    "array": "a list in square brackets", "object": "a table", "null": "nothing",
}  # fmt: skip
_TABLE = re.compile(r"^\s*(\[\[?)\s*([^\]]+?)\s*\]")
_KEY = re.compile(r"""^\s*("[^"]*"|'[^']*'|[\w-]+)(\s*\.\s*[\w-]+)*\s*=""")
_STEP = re.compile(r"\.?([^.\[\]]+)|\[(\d+|\.\.\.)\]")

_MOST_PARTS = 100
_LONG_KEY = re.compile(rf"""(?<![\w-])(?:(?:[\w-]++|"[^"]*"|'[^']*')\s*+\.\s*+){{{_MOST_PARTS}}}""")
"""Parts of a key joined by points, which numbers in a list and text are not."""

Place = tuple[str | int, ...]


def toml(path: Path, kind: type[T]) -> tuple[T, str]:
    """A TOML file as a checked type, and its text.

    Raises
    ------
    KnowledgeError : it cannot be read, is no TOML, or has an unknown key, a wrong type or a number that is none
    """
    text = _text(path)
    return kept(path, text.encode(), kind, lambda: _checked(text, path, kind)), text


def _checked(text: str, path: Path, kind: type[T]) -> T:
    try:
        value = msgspec.convert(_decoded(text, path), kind, str_keys=True)
    except msgspec.ValidationError as error:
        raise _explained(str(error), text, path, kind) from error
    return _finite(value, path, text)


def _decoded(text: str, path: Path) -> dict[str, Any]:
    """What a TOML text holds.

    Raises
    ------
    KnowledgeError : it is no TOML, or no sane one: the library under it follows nesting by recursion, makes numbers of
        as many digits as Python allows, and takes the square of the parts of a key
    """
    for number, line in enumerate(text.splitlines(), 1):
        if line.count(".") >= _MOST_PARTS and _LONG_KEY.search(line):
            raise _not_sane(f"has more than {_MOST_PARTS} points in one key", path, f"line {number}")
    try:
        found: dict[str, Any] = msgspec.toml.decode(text)
    except msgspec.DecodeError as error:
        raise _no_toml(error, path) from error
    except RecursionError:
        raise _not_sane("is nested too deeply", path) from None
    except ValueError:
        raise _not_sane("holds a number of thousands of digits", path) from None
    return found


def _not_sane(reason: str, path: Path, place: str = "the whole file") -> KnowledgeError:
    return KnowledgeError(reason, file=str(path), place=place, do="correct it, or leave the file out")


def overlaid(path: Path, kind: type[T], before: T | None) -> tuple[T, str]:
    """A TOML file over an earlier value of the same type, and its text.

    Each key of the file replaces that key, tables are joined key by key, lists are replaced whole; ``whole = true``
    keeps nothing of the earlier value.

    Raises
    ------
    KnowledgeError : as ``toml``
    """
    text = _text(path)
    given = _decoded(text, path)
    whole = given.pop("whole", False)
    if not isinstance(whole, bool):
        raise wrong("must be true or false", path, text, ("whole",), "correct the value")
    joined = given if whole or before is None else _joined(msgspec.to_builtins(before), given)
    try:
        value = msgspec.convert(joined, kind)
    except msgspec.ValidationError as error:
        raise _explained(str(error), text, path, kind) from error
    return _finite(value, path, text), text


def _joined(before: dict[str, Any], given: dict[str, Any]) -> dict[str, Any]:
    both = {key: _joined(before[key], value) if isinstance(value, dict) and isinstance(before.get(key), dict) else value
            for key, value in given.items()}  # fmt: skip
    return before | both


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except OSError as error:
        raise KnowledgeError(
            f"cannot be read ({error.strerror})", file=str(path), do="check the path and its permissions"
        ) from error
    except UnicodeDecodeError as error:
        raise KnowledgeError(
            f"is no UTF-8 text (byte {error.start})", file=str(path), do="save it as plain text in UTF-8"
        ) from error


def _no_toml(error: msgspec.DecodeError, path: Path) -> KnowledgeError:
    line = re.search(r"line (\d+)", str(error))
    reason = re.sub(r"\s*\(at .*\)", "", str(error)).rstrip(".").lower()
    return KnowledgeError(
        f"is no valid TOML: {reason}", file=str(path), place=f"line {line[1]}" if line else "at its end",
        do="write key = value lines below [table] headings, text in quotes",
    )  # fmt: skip


def _finite(value: T, path: Path, text: str) -> T:
    bad = _not_finite(value, ())
    if bad is not None:
        raise wrong("is not a finite number", path, text, bad, "give a plain number or leave the key out")
    return value


def wrong(reason: str, path: Path, text: str, where: Place, do: str) -> KnowledgeError:
    """The error for a value at a place, with the line it stands in."""
    return KnowledgeError(f"{dotted(where)} {reason}", file=str(path), place=line_of(text, where), do=do)


def dotted(where: Place) -> str:
    """A place as people write it: ``crank_wheel.teeth``, ``expect[2].share`` (counted from 1)."""
    out = ""
    for step in where:
        out += f"[{step + 1}]" if isinstance(step, int) else f".{step}" if out else step
    return out


def line_of(text: str, where: Place) -> str:
    """The line of a key, or of the nearest table above it that stands in the text."""
    names = [step for step in where if isinstance(step, str)]
    counts = dict(itertools.pairwise(where))
    best, best_line = 0, 0
    table: list[str] = []
    seen: dict[str, int] = {}
    for number, line in enumerate(text.splitlines(), 1):
        head = _TABLE.match(line)
        if head:
            table = [part.strip().strip("\"'") for part in head[2].split(".")]
            name = ".".join(table)
            if head[1] == "[[":
                seen = {one: k for one, k in seen.items() if not one.startswith(f"{name}.")}
                seen[name] = seen.get(name, -1) + 1
            depth = _shared(table, names)
            above = {part: seen.get(".".join(table[: k + 1])) for k, part in enumerate(table)}
            right = all(k is None or not isinstance(counts.get(part), int) or k == counts[part]
                        for part, k in above.items())  # fmt: skip
            if not right:
                table = ["\0"]
            elif depth == len(table) and depth > best:
                best, best_line = depth, number
            continue
        key = _KEY.match(line)
        if key:
            dotted_key = [part.strip().strip("\"'") for part in line.split("=", 1)[0].split(".")]
            full = [*table, *(dotted_key if key[1][0] not in "\"'" else [key[1][1:-1]])]
            depth = _shared(full, names)
            if depth == len(full) and depth > best:
                best, best_line = depth, number
    return f"line {best_line}" if best_line else "the whole file"


def nearest(name: str, names: typing.Iterable[str], otherwise: str = "") -> str:
    """What may have been meant, as a hint: the closest name, or all of them; ``otherwise`` is what else would do."""
    known = list(names)
    close = difflib.get_close_matches(name, known, n=1, cutoff=0.55)
    more = f" and {len(known) - 12} more" if len(known) > 12 else ""
    if close:
        return f"did you mean {close[0]}?" + (f" Or {otherwise}" if otherwise else "")
    return f"known are {', '.join(known[:12])}{more}" + (f"; or {otherwise}" if otherwise else "")


def fields_at(kind: Any, where: Place) -> tuple[str, ...]:
    """Names of the keys that a table at a place may have, of every form that it may take."""
    found: dict[str, None] = {}
    for option in _at(kind, where):
        if _is_struct(option):
            tag = option.__struct_config__.tag_field
            found.update(dict.fromkeys([*([tag] if tag else []), *option.__struct_encode_fields__]))
    return tuple(found)


def _explained(message: str, text: str, path: Path, kind: Any) -> KnowledgeError:
    reason, _, at = message.partition(" - at `")
    where = _steps(at.rstrip("`"))
    unknown = re.search(r"unknown field `(.*)`", reason)
    if unknown:
        name = unknown[1]
        return KnowledgeError(
            f"{dotted((*where, name))} is no known key", file=str(path), place=line_of(text, (*where, name)),
            do=nearest(name, fields_at(kind, where)),
        )  # fmt: skip
    required = re.search(r"missing required field `(.*)`", reason)
    if required:
        table = dotted(where) or "the file"
        return KnowledgeError(
            f"{table} lacks the key {required[1]}", file=str(path), place=line_of(text, where), do=f"add {required[1]}"
        )
    types_ = re.search(r"Expected `(.*)`, got `(.*)`", reason)
    if types_:
        wanted = [_WORDS.get(word, word) for word in types_[1].split(" | ") if word != "null"]
        got = _WORDS.get(types_[2], types_[2])
        return wrong(f"must be {' or '.join(wanted)}, not {got}", path, text, where, "correct the value")
    allowed = [repr(value) for option in _at(kind, where) for value in typing.get_args(option)]
    if "enum value" in reason and allowed:
        value = reason.removeprefix("Invalid enum value ").strip("'\"")
        return wrong(f'cannot be "{value}"', path, text, where, f"write one of {', '.join(allowed)}")
    if "Invalid value" in reason:
        return wrong(f"is not known ({reason})", path, text, where, "write one of the known words")
    return wrong(f"is wrong: {reason}", path, text, where, "correct the value")


def _steps(at: str) -> Place:
    """A place as msgspec writes it; any entry of a free table is ``*``."""
    found = _STEP.findall(at.removeprefix("$"))
    return tuple(name or ("*" if index == "..." else int(index)) for name, index in found)


def _shared(full: list[str], names: list[str]) -> int:
    depth = 0
    for a, b in zip(full, names, strict=False):
        if a != b:
            break
        depth += 1
    return depth


def _at(kind: Any, where: Place) -> list[Any]:
    """The types that may stand at a place."""
    options = options_of(kind)
    for step in where:
        found: list[Any] = []
        for option in options:
            if isinstance(step, str) and _is_struct(option):
                hint = typing.get_type_hints(option).get(step)
                found += options_of(hint) if hint is not None else []
            elif typing.get_origin(option) in (list, tuple, dict):
                found += options_of(typing.get_args(option)[-1])
        options = found
    return options


def options_of(kind: Any) -> list[Any]:
    """The parts of a union, else the type itself."""
    if typing.get_origin(kind) in (typing.Union, types.UnionType):
        return [option for part in typing.get_args(kind) for option in options_of(part)]
    return [kind]


def _is_struct(option: Any) -> bool:
    return isinstance(option, type) and issubclass(option, msgspec.Struct)


def _not_finite(value: Any, where: Place) -> Place | None:
    if isinstance(value, float):
        return None if math.isfinite(value) else where
    parts: typing.Iterable[tuple[str | int, Any]] = ()
    if isinstance(value, msgspec.Struct):
        parts = ((name, getattr(value, name)) for name in value.__struct_fields__)
    elif isinstance(value, dict):
        parts = value.items()
    elif isinstance(value, list | tuple):
        parts = enumerate(value)
    return next((bad for name, part in parts if (bad := _not_finite(part, (*where, name))) is not None), None)
