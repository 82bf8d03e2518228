"""The command line: one command a file, thin; each imports what it needs when it runs, so that help is instant."""

from __future__ import annotations

import os
import sys

import click
import typer

from logan.cli import decode, inspect, report
from logan.errors import LoganError

app = typer.Typer(
    name="logan",
    help="Reads captures of electronically timed engines and says what they prove. It only reads: it never sends on a vehicle's bus.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)
app.command()(report.report)
app.command()(decode.decode)
app.command()(inspect.inspect)


def main(arguments: list[str] | None = None) -> None:
    """Run the command line; every error a user can make is one line on standard error and exit status 2."""
    try:
        status = app(arguments, standalone_mode=False)
    except click.ClickException as error:
        _fail(error.format_message(), 2)
    except LoganError as error:
        _fail(str(error), 2)
    except (KeyboardInterrupt, click.Abort):
        _fail("interrupted; nothing was written", 130)
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
    except Exception as error:
        if os.environ.get("LOGAN_TRACEBACK"):
            raise
        _fail(f"a defect of logan: {type(error).__name__}: {error}; please report it (LOGAN_TRACEBACK=1 shows more)", 1)
    sys.exit(status if isinstance(status, int) else 0)


def _fail(text: str, status: int) -> None:
    line = " ".join(text.split())
    print(f"logan: {line}", file=sys.stderr)
    sys.exit(status)
