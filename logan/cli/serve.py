"""``logan serve``: the workshop in a browser."""

from __future__ import annotations

from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from logan.cli.options import Knowledge

if TYPE_CHECKING:
    from logan.errors import UsageError

Data = Annotated[
    Path | None, typer.Option("--data", metavar="DIR", help="Folder of captures and data base. Default: the user's.")
]
Database = Annotated[str | None, typer.Option("--database", metavar="URL", help="Another data base than the built-in.")]


def default_folder() -> Path:
    """The platform's folder for a user's data."""
    import os
    import sys

    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home() / "AppData" / "Local")) / "logan"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "logan"
    return Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "logan"


def serve(
    data: Data = None,
    database: Database = None,
    host: Annotated[str, typer.Option(metavar="ADDRESS", help="Address to listen at.")] = "127.0.0.1",
    port: Annotated[int, typer.Option(metavar="PORT", min=1, max=65535, help="Port to listen at.")] = 8080,
    name: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="A name under which browsers reach it. Repeatable.")
    ] = None,
    knowledge: Knowledge = None,
) -> None:
    """Open the workshop: hand captures in with a browser, read and review findings.

    On this machine alone it needs no account; to be reached from others it needs accounts first: logan people add.
    Needs the libraries of the extra 'workshop'.
    """
    from logan import interrupt
    from logan.errors import UsageError

    try:
        import uvicorn

        from logan.knowledge.folders import opened as opened_folders
        from logan.pipeline.knowledge_check import mistakes
        from logan.store import people
        from logan.store.database import make_folder, opened, there
        from logan.workshop import listening
        from logan.workshop.app import LOOPBACK, make
        from logan.workshop.connections import Prompt
    except ModuleNotFoundError as error:
        raise UsageError(
            f"serve needs {error.name}", do="in the project's folder: pip install '.[workshop]'"
        ) from error

    folders = opened_folders(knowledge or [])
    wrong = mistakes(folders) if folders else []
    for mistake in wrong:
        typer.echo(str(mistake), err=True)
    if wrong:
        raise UsageError("the knowledge folders hold mistakes, listed above", do="mend them and start again")
    folder = data or default_folder()
    with ExitStack() as held:
        beyond, new = host not in LOOPBACK, not folder.exists()
        if beyond and not there(folder, database):
            raise _open_to_all(host)
        if not new:
            held.enter_context(listening.alone(folder))
        sockets = listening.sockets(host, port)
        for one in sockets:
            held.callback(one.close)
        sessions = opened(folder, database)
        if beyond and not people.listed(sessions):
            raise _open_to_all(host)
        if new:
            # only now, so that nothing is left behind by a start that is refused
            make_folder(folder)
            held.enter_context(listening.alone(folder))
        hosts = (*LOOPBACK, host, *(name or []))
        server = uvicorn.Server(
            uvicorn.Config(
                make(sessions, folder, hosts=hosts, folders=folders), host=host, port=port, log_level="warning",
                server_header=False, timeout_graceful_shutdown=2, http=Prompt,
            )
        )  # fmt: skip
        interrupt.leaves("the workshop is closed, its cases are kept; what was being analysed is taken up at its start")
        typer.echo(f"Workshop: http://{host}:{port}   data: {folder}   end with Ctrl-C")
        server.run(sockets)


def _open_to_all(host: str) -> UsageError:
    from logan.errors import UsageError

    return UsageError(
        f"{host} can be reached from other machines, and there are no accounts",
        do="make one first: logan people add NAME --role lead",
    )
