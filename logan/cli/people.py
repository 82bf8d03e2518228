"""``logan people``: the accounts of the workshop."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING, Annotated

import typer

from logan.cli.serve import Data, Database, default_folder

if TYPE_CHECKING:
    from pathlib import Path
    from types import ModuleType

    from logan.store.database import Sessions

app = typer.Typer(help="Accounts of the workshop. Needs the libraries of the extra 'workshop'.", no_args_is_help=True)


def _store(data: Path | None, database: str | None, make: bool = False) -> tuple[ModuleType, Sessions]:
    """Accounts and data base; only the first account makes one where there is none."""
    from logan.errors import UsageError

    try:
        from logan.store import people
        from logan.store.database import opened, there
    except ModuleNotFoundError as error:
        raise UsageError(
            f"people needs {error.name}", do="in the project's folder: pip install '.[workshop]'"
        ) from error
    folder = data or default_folder()
    if not make and not there(folder, database):
        raise UsageError(
            "there is no data base, and so there are no accounts", file=str(database or folder),
            do="check --data and --database; logan people add makes one",
        )  # fmt: skip
    return people, opened(folder, database)


@app.command()
def add(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Under which somebody signs in.")],
    role: Annotated[str, typer.Option(metavar="ROLE", help="technician, lead, trainer or trainee.")],
    data: Data = None,
    database: Database = None,
) -> None:
    """Make an account; the password is asked for, or read from standard input.

    This and the other commands of people need the libraries of the extra 'workshop'.
    """
    people, sessions = _store(data, database, make=True)
    people.add(sessions, name, role, _password())
    typer.echo(f"{name} is {role}.")


@app.command()
def change(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Under which somebody signs in.")],
    role: Annotated[
        str | None, typer.Option(metavar="ROLE", help="technician, lead, trainer or trainee. Default: as it is.")
    ] = None,
    password: Annotated[bool, typer.Option("--password", help="Ask for a new password.")] = False,
    data: Data = None,
    database: Database = None,
) -> None:
    """Give an account another role or password, or open a closed one again."""
    from logan.errors import UsageError

    if role is None and not password:
        raise UsageError("nothing is to be changed", do="add --role ROLE, --password or both")
    people, sessions = _store(data, database)
    people.change(sessions, name, role, _password() if password else None)
    typer.echo(f"{name} was changed and has to sign in again.")


@app.command()
def close(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Under which somebody signs in.")],
    data: Data = None,
    database: Database = None,
) -> None:
    """Close an account: nobody signs in to it any more; what was done under its name stays."""
    people, sessions = _store(data, database)
    people.close(sessions, name)
    typer.echo(f"The account of {name} is closed.")


def _password() -> str:
    if sys.stdin.isatty():
        return str(typer.prompt("Password", hide_input=True, confirmation_prompt=True))
    return sys.stdin.readline().rstrip("\r\n")


@app.command("list")
def list_(data: Data = None, database: Database = None) -> None:
    """List the accounts."""
    people, sessions = _store(data, database)
    found = people.listed(sessions)
    for person in found:
        typer.echo(f"{person.name}\t{person.role}\tsince {person.made[:10]}")
    if not found:
        typer.echo("No accounts.", err=True)


@app.command("pass")
def pass_(
    name: Annotated[str, typer.Argument(metavar="NAME", help="Under which somebody signs in.")],
    take_back: Annotated[bool, typer.Option("--take-back", help="End all passes of that person's devices.")] = False,
    data: Data = None,
    database: Database = None,
) -> None:
    """Print a pass with which a recording device hands captures in for somebody. It is shown once."""
    people, sessions = _store(data, database)
    if take_back:
        typer.echo(f"{people.end_passes(sessions, name)} passes ended.")
        return
    typer.echo(people.give_pass(sessions, name, "device"))
