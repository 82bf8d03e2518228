"""Makes docs/reference.md from the program itself; a test compares the two."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, get_args

from typer.models import ArgumentInfo

from logan.cli.commands import application
from logan.knowledge import channels, faults, measures, profiles, texts
from logan.knowledge.measures import MeasureInfo

TARGET = Path(__file__).parents[2] / "docs" / "reference.md"


def reference() -> str:
    """The whole page."""
    return "\n".join(_page()) + "\n"


def _page() -> Iterator[str]:
    yield "# Reference"
    yield ""
    yield "Made by `python tests/tools/make_reference.py`; a test compares it with the program."
    yield ""
    yield "## Commands"
    for words, function in _commands():
        yield ""
        yield f"### `logan {words}`"
        yield ""
        yield inspect.cleandoc(function.__doc__ or "")
        yield ""
        yield "| argument | what it is |"
        yield "|---|---|"
        for name, parameter in inspect.signature(function, eval_str=True).parameters.items():
            yield _option(name, parameter)
    yield ""
    yield "## Words"
    for title, table in (("`--recent-work`", texts.work()), ("`--complaint`", texts.complaints())):
        yield ""
        yield f"{title}: " + ", ".join(f"`{word.id}` ({_cell(word.title)})" for word in table.values())
    yield ""
    yield "## Engine profiles that ship"
    yield ""
    for name in profiles.names():
        yield f"* `{name}`: {profiles.load(name)[0].name}"
    yield ""
    yield "## Channels"
    yield ""
    yield "| channel | unit | believed from .. to | also met as |"
    yield "|---|---|---|---|"
    for channel in channels.load().values():
        if channel.name.startswith("cylinder_") and not channel.name.startswith("cylinder_1_"):
            continue
        name = channel.name.replace("cylinder_1_", "cylinder_N_")
        also = ", ".join(f"`{other.replace('cylinder_1_', 'cylinder_N_')}`" for other in channel.names)
        if channel.with_unit:
            also += f"{'; ' if also else ''}with its unit: " + ", ".join(f"`{other}`" for other in channel.with_unit)
        yield f"| `{name}` | {channel.unit} | {channel.low:g} .. {channel.high:g} | {also} |"
    yield ""
    yield "## Measures"
    yield ""
    yield "| measure | unit | what it is | how to capture what it needs |"
    yield "|---|---|---|---|"
    yield from (_measure(info) for info in measures.load().values())
    yield ""
    yield "## Faults"
    catalogue = faults.load()
    for fault in catalogue.faults.values():
        yield ""
        yield f"### `{fault.id}`: {fault.title}"
        yield ""
        yield fault.meaning
        yield ""
        yield f"*Told from its neighbours:* {fault.told_apart}"
        yield ""
        yield "*Shows in:* " + ", ".join(dict.fromkeys(f"`{entry.measure}`" for entry in fault.expect)) + "."


def _commands() -> Iterator[tuple[str, Callable[..., Any]]]:
    """Every command with its words, those of a group under the group's name."""
    app = application()
    groups = [("", app.registered_commands)]
    for group in app.registered_groups:
        assert group.typer_instance is not None
        groups.append((f"{group.name} ", group.typer_instance.registered_commands))
    for before, commands in groups:
        for command in commands:
            assert command.callback is not None
            yield before + (command.name or command.callback.__name__), command.callback


def _option(name: str, parameter: inspect.Parameter) -> str:
    info: Any = next(part for part in get_args(parameter.annotation) if hasattr(part, "help"))
    given = (info.default, *(getattr(info, "param_decls", None) or ()))  # the library's place for the first word
    declared = next((word for word in given if isinstance(word, str) and word.startswith("--")), "")
    flag = info.metavar if isinstance(info, ArgumentInfo) else declared or f"--{name.replace('_', '-')}"
    if flag.startswith("--") and info.metavar:
        flag += f" {info.metavar}"
    return f"| `{flag}` | {_cell(info.help or '')} |"


def _measure(info: MeasureInfo) -> str:
    extra = "" if info.core else " (further measure)"
    return f"| `{info.name}` | {info.unit} | {_cell(info.title)}: {_cell(info.meaning)}{extra} | {_cell(info.hint)} |"


def _cell(text: str) -> str:
    return " ".join(text.split()).replace("|", "\\|")


if __name__ == "__main__":
    TARGET.write_text(reference(), "utf-8")
    print(TARGET)
