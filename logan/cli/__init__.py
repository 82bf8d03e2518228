"""The command line: one command a file, thin; each imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

import errno
import os
import sys
from collections.abc import Callable
from typing import Annotated, Final

import typer

from logan import __version__
from logan.cli import compare, decode, explain, fleet, inspect, knowledge, people, plan, replay, report, serve, simulate
from logan.errors import LoganError

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


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error a user can make is one line on standard error and exit status 2."""
    # before numpy is loaded: its matrices are small here, and threads that wait for each other cost more than they save
    for name in fleet.THREADS:
        os.environ.setdefault(name, "1")
    given = (sys.argv[1:] if arguments is None else arguments) or ["--help"]
    try:
        status = application(given[0])(given, standalone_mode=False)
        sys.stdout.flush()
    except MISUSE as error:
        _fail(f"{getattr(error, 'format_message', error.__str__)()}; see logan --help", 2)
    except LoganError as error:
        _fail(str(error), 2)
    except (KeyboardInterrupt, typer.Abort):
        _fail("interrupted; nothing was written", 130)
    except BrokenPipeError:
        _reader_gone()
    except SystemExit as end:
        # the command-line library ends with 1 where what reads the output has gone, as head does: that is no fault
        if isinstance(end.__context__, BrokenPipeError):
            _reader_gone()
        raise
    except Exception as error:
        if isinstance(error, OSError) and error.errno in (errno.ENOSPC, errno.EDQUOT):
            _drop_output()
            _fail(f"{error.filename or 'standard output'}: no space left; free some, or send it elsewhere", 2)
        if os.environ.get("LOGAN_TRACEBACK"):
            raise
        _fail(f"a defect of logan: {type(error).__name__}: {error}; LOGAN_TRACEBACK=1 shows where", 1)
    sys.exit(status if isinstance(status, int) else 0)


def _drop_output() -> None:
    """What is still to be written goes nowhere: the interpreter would try again, and end with its own code."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)


def _reader_gone() -> None:
    """End quietly."""
    _drop_output()
    sys.exit(0)


def _fail(text: str, status: int) -> None:
    line = " ".join(text.split())
    print(f"logan: {line}", file=sys.stderr)
    sys.exit(status)
