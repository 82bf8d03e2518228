"""What SAE J1939-73 names: suspect parameters, failure modes, diagnostic messages; from ``data/j1939/``.

Each file is read when it is first asked for: a capture without such codes never loads their names.
"""

from __future__ import annotations

import functools
from typing import Annotated, Literal

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA

FOLDER = DATA / "j1939"

Bit = tuple[Annotated[int, msgspec.Meta(ge=1, le=8)], Annotated[int, msgspec.Meta(ge=1, le=8)]]
"""Byte and bit, both counted from 1, as the standard does."""


class _Entry(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """An entry of a list: where it is from, and who says otherwise."""

    source: str
    disagreement: str = ""


class Parameter(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A suspect parameter: what a trouble code is about."""

    spn: Annotated[int, msgspec.Meta(ge=0, lt=1 << 19)]
    name: str
    family: str = ""


class FailureMode(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What is wrong with it."""

    fmi: Annotated[int, msgspec.Meta(ge=0, lt=32)]
    meaning: str


class TroubleCodeMessage(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A message in the layout of DM1."""

    pgn: Annotated[int, msgspec.Meta(ge=0, lt=1 << 18)]
    name: str
    status: Literal["confirmed", "pending", "permanent", "active", "previous"]


class OtherMessage(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A diagnostic message that is counted and not decoded; what it holds, and whether a tester intervenes with it."""

    pgn: Annotated[int, msgspec.Meta(ge=0, lt=1 << 18)]
    name: str
    what: str
    effect: Literal["", "changes"] = ""


class StoredValue(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A value of DM4: its bytes behind the trouble code, the first of them counted from 1."""

    value: str
    byte: Annotated[int, msgspec.Meta(ge=1, le=8)]
    length: Literal[1, 2]
    scale: float
    offset: float
    unit: str


class Monitor(_Entry, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A readiness monitor in DM5; a set completion bit means not complete."""

    monitor: str
    support: Bit
    completion: Bit


class _Parameters(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    parameter: list[Parameter]


class Diagnosis(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """The diagnostic messages and what stands in them."""

    trouble_code_message: list[TroubleCodeMessage]
    other_message: list[OtherMessage]
    stored_value: list[StoredValue]
    failure_mode: list[FailureMode]
    monitor: list[Monitor]


@functools.cache
def parameters() -> dict[int, Parameter]:
    """Suspect parameters by number.

    Raises
    ------
    KnowledgeError : the file cannot be read or an entry is not as it should be
    """
    return {entry.spn: entry for entry in toml(FOLDER / "parameters.toml", _Parameters)[0].parameter}


@functools.cache
def diagnosis() -> Diagnosis:
    """The diagnostic messages, failure modes and readiness bits.

    Raises
    ------
    KnowledgeError : the file cannot be read or an entry is not as it should be
    """
    return toml(FOLDER / "diagnosis.toml", Diagnosis)[0]


@functools.cache
def failure_modes() -> dict[int, str]:
    """Failure mode indicator -> meaning."""
    return {entry.fmi: entry.meaning for entry in diagnosis().failure_mode}


@functools.cache
def trouble_code_messages() -> dict[int, TroubleCodeMessage]:
    """Messages with lamps and trouble codes by parameter group number."""
    return {entry.pgn: entry for entry in diagnosis().trouble_code_message}


@functools.cache
def other_messages() -> dict[int, OtherMessage]:
    """Messages that are counted and not decoded, by parameter group number."""
    return {entry.pgn: entry for entry in diagnosis().other_message}
