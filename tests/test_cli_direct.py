"""Lines that are read without the command-line library mean what they mean to it."""

from __future__ import annotations

import inspect
from typing import Any

import pytest
import typer

from logan.cli import commands, direct

KINDS = {(False, True): direct.FLAG, (True, False): direct.MANY, (False, False): direct.ONE}


def read(monkeypatch: pytest.MonkeyPatch, line: list[str]) -> list[dict[str, str]]:
    """What each way would run."""
    module = {"decode": direct.decoding, "report": direct.reporting}[line[0]]
    signature = inspect.signature(module.run)
    found: list[dict[str, str]] = []

    def caught(*given: Any, **named: Any) -> None:
        bound = signature.bind(*given, **named)
        bound.apply_defaults()
        values = {k: list(v) if isinstance(v, tuple) else v for k, v in bound.arguments.items()}
        found.append({k: str(v) for k, v in values.items()})

    monkeypatch.setattr(module, "run", caught)
    monkeypatch.setitem(direct.RUN, line[0], caught)
    command = direct.command(line)
    assert command is not None
    command()
    commands.run(line)
    return found


@pytest.mark.parametrize("name", direct.OPTIONS)
def test_every_option_is_known_as_the_library_knows_it(name: str) -> None:
    group = typer.main.get_command(commands.application(name))
    command = group.commands[name]  # type: ignore[attr-defined]
    options = [one for one in command.params if one.param_type_name == "option" and one.name != "help"]
    assert {text: KINDS[one.multiple, one.is_flag] for one in options for text in one.opts} == direct.OPTIONS[name]


@pytest.mark.parametrize(
    "line",
    [
        ["decode", "a.log"],
        ["decode", "a.log", "b.log", "--dbc", "x.dbc", "--dbc=y.dbc", "--engine", "e"],
        ["decode", "--out", "t.csv", "--form", "wide", "a.log", "--knowledge", "k"],
        ["decode", "a b.log", "--dbc", "", "--out=a=b.csv"],
        ["report", "a.log", "--quiet", "--html", "x.html", "--json=x.json"],
        ["report", "a.log", "--recent-work", "pump", "--complaint", "smoke", "--recent-work=head", "--engine=e"],
    ],
)
def test_plain_lines_mean_the_same(line: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    ours, library = read(monkeypatch, line)
    assert ours == library


@pytest.mark.parametrize(
    "line",
    [
        ["decode"],
        ["decode", "--help"],
        ["decode", "a.log", "-h"],
        ["decode", "a.log", "--dbc"],
        ["decode", "a.log", "--dbc", "--engine"],
        ["decode", "a.log", "--engine", "a", "--engine", "b"],
        ["decode", "a.log", "--form", "tall"],
        ["decode", "--", "a.log"],
        ["decode", "a.log", "--recent_work", "x"],
        ["report", "a.log", "--quiet=1"],
        ["report", "a.log", "--no-quiet"],
        ["report", "a.log", "--recent_work", "x"],
        ["plan", "a.log"],
        ["--help"],
    ],
)
def test_all_else_is_left_to_the_library(line: list[str]) -> None:
    assert direct.command(line) is None
