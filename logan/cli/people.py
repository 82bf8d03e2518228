"""``logan people``: the accounts of the workshop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from logan.cli.serve import Data, Database, default_folder

if TYPE_CHECKING:
    from pathlib import Path
    from types import ModuleType

    from logan.store.database import Sessions

app = typer.Typer(help="Accounts of the workshop.", no_args_is_help=True)


def _store(data: Path | None, database: str | None) -> tuple[ModuleType, Sessions]:
    from logan.errors import UsageError

    try:
        from logan.store import people
        from logan.store.database import opened
    except ModuleNotFoundError as error:
        raise UsageError(f"people needs {error.name}", do="pip install 'logan[workshop]'") from error
    return people, opened(data or default_folder(), database)


@app.command()
def add(
    name: Annotated[str, typer.Argument(metavar="NAME")],
    role: Annotated[str, typer.Option(metavar="ROLE", help="technician, lead, trainer or trainee.")],
    data: Data = None,
    database: Database = None,
) -> None:
    """Make an account; the password is asked for, or read from standard input."""
    import sys

    people, sessions = _store(data, database)
    if sys.stdin.isatty():
        password = typer.prompt("Password", hide_input=True, confirmation_prompt=True)
    else:
        password = sys.stdin.readline().rstrip("\r\n")
    people.add(sessions, name, role, password)
    typer.echo(f"{name} is {role}.")


@app.command("list")
def list_(data: Data = None, database: Database = None) -> None:
    """List the accounts."""
    people, sessions = _store(data, database)
    for person in people.listed(sessions):
        typer.echo(f"{person.name}\t{person.role}\tsince {person.made[:10]}")


@app.command("pass")
def pass_(name: Annotated[str, typer.Argument(metavar="NAME")], data: Data = None, database: Database = None) -> None:
    """Print a pass with which a recording device hands captures in for somebody. It is shown once."""
    people, sessions = _store(data, database)
    typer.echo(people.give_pass(sessions, name, "device"))
