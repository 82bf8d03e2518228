"""All commands, one a file, thin; each imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Annotated, Final

import typer

from logan import __version__, interrupt
from logan.cli import compare, decode, explain, fleet, inspect, knowledge, people, plan, replay, report, serve, simulate
from logan.errors import UsageError

# The base of all errors in how a command was written; its own module has moved between versions of typer.
MISUSE: type[Exception] = typer.BadParameter.__mro__[2]

COMMANDS: Final[dict[str, Callable[..., object]]] = {
    "report": report.report,
    "compare": compare.compare,
    "decode": decode.decode,
    "inspect": inspect.inspect,
    "explain": explain.explain,
    "simulate": simulate.simulate,
    "plan": plan.plan,
    "replay": replay.replay,
    "serve": serve.serve,
}
GROUPS: Final = {"people": people.app, "fleet": fleet.app, "knowledge": knowledge.app}


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"logan {__version__}")
        raise typer.Exit


def _options(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Options of the program itself."""


def application(wanted: str = "") -> typer.Typer:
    """The command line, cut down to one command where the wanted one is known: each takes its part of a start."""
    app = typer.Typer(
        name="logan",
        help=(
            "Reads captures of electronically timed engines and says what they prove. "
            "It only reads: it never sends on a vehicle's bus."
        ),
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )
    app.callback()(_options)
    for name in [wanted] if wanted in {*COMMANDS, *GROUPS} else [*COMMANDS, *GROUPS]:
        if name in COMMANDS:
            app.command(name)(COMMANDS[name])
        else:
            app.add_typer(GROUPS[name], name=name)
    return app


def _words(given: Sequence[str]) -> Sequence[str]:
    """The words of the command that a line begins with, as far as they are known: those that its help is under."""
    if given[0] in COMMANDS:
        return given[:1]
    if given[0] not in GROUPS:
        return ()
    known = {one.name or getattr(one.callback, "__name__", "") for one in GROUPS[given[0]].registered_commands}
    return given[:2] if len(given) > 1 and given[1] in known else given[:1]


def run(given: Sequence[str]) -> object:
    """Run a command as it is written; returns its exit status, or nothing.

    Raises
    ------
    UsageError : it is written wrongly
    KeyboardInterrupt : somebody stopped it
    """
    try:
        status = application(given[0])(list(given), standalone_mode=False)
    except MISUSE as error:
        text = str(getattr(error, "format_message", error.__str__)())
        of = "".join(f"{word} " for word in _words(given))
        raise UsageError(" ".join(text.split()).removesuffix("."), do=f"see logan {of}--help") from error
    except typer.Abort as error:
        raise KeyboardInterrupt from error
    if status == interrupt.STATUS:  # what newer versions of the library make of Ctrl-C
        raise KeyboardInterrupt
    return status
