"""``logan replay``: plays a recording on a virtual bus, to practise on."""

from __future__ import annotations

from typing import Annotated

import typer


def replay(
    capture: Annotated[
        str, typer.Argument(metavar="CAPTURE", help="A capture of CAN frames; --to page shows any with channels.")
    ],
    to: Annotated[
        str,
        typer.Option(
            metavar="TARGET", help="udp (multicast on this network), vcan, virtual, or page (a page on this machine)."
        ),
    ] = "udp",
    channel: Annotated[
        str | None, typer.Option(metavar="NAME", help="Multicast group or interface. Default: the usual one.")
    ] = None,
    speed: Annotated[float, typer.Option(metavar="FACTOR", help="Times faster than it was recorded.")] = 1.0,
    begin: Annotated[float, typer.Option(metavar="SECONDS", help="Where to begin.")] = 0.0,
    until: Annotated[float | None, typer.Option(metavar="SECONDS", help="Where to end.")] = None,
    loops: Annotated[int, typer.Option(metavar="N", min=0, help="How often; 0 until Ctrl-C.")] = 1,
    answer: Annotated[
        bool, typer.Option("--answer", help="Answer OBD requests from the recorded values instead of sending frames.")
    ] = False,
    engine: Annotated[
        str | None,
        typer.Option(
            metavar="ENGINE", help="With --to page: the profile, shipped or a TOML file, that names its signals."
        ),
    ] = None,
    bench: Annotated[
        bool, typer.Option("--bench", help="Allow a real interface. Only on a bench, never on a vehicle.")
    ] = False,
) -> None:
    """Play a recording on a virtual bus with its own timing, so that any listener can practise on it.

    --to page shows its channels moving, with speed, pause and place on the page itself. Nothing is sent on a vehicle:
    real interfaces are refused unless --bench is given. Needs the libraries of the extra 'training', --to page none.
    """
    from logan.errors import UsageError

    if to == "page":
        from logan.training.page import play as shown

        if channel or speed != 1.0 or begin or until is not None or loops != 1 or answer or bench:
            raise UsageError(
                "the page has speed, place and loop of its own", do="give --to page alone, or with --engine"
            )
        for line in shown(capture, engine):
            typer.echo(line)
        return
    if engine is not None:
        raise UsageError("--engine names the signals of a page and nothing else", do="give it with --to page")
    try:
        from logan.training.session import play
    except ModuleNotFoundError as error:
        raise UsageError(
            f"replay needs {error.name}", do="in the project's folder: pip install '.[training]'"
        ) from error

    for line in play(
        capture,
        to=to,
        channel=channel,
        speed=speed,
        begin_s=begin,
        until_s=until,
        loops=loops,
        answer=answer,
        bench=bench,
    ):
        typer.echo(line)
