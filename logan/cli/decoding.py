"""What ``logan decode`` does."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def run(
    captures: Sequence[str],
    dbc: Sequence[str] = (),
    engine: str | None = None,
    out: str | Path | None = None,
    form: str = "long",
    knowledge: Sequence[str] = (),
) -> None:
    """Print one line a channel; with ``out`` write the values."""
    from logan.cli.progress import shown
    from logan.knowledge.folders import opened
    from logan.pipeline.decode import cylinders, decode_channels, summary_lines

    table = Path(out) if out is not None else None
    if table is not None:
        from logan.report import files, tables

        tables.check_kind(table)
        files.check_writable(table, inputs=[*captures, *dbc, *([engine] if engine else [])])
    folders = opened(knowledge)
    with shown(True) as progress:
        channels = decode_channels(captures, dbc, engine, progress, folders)
        if table is not None:
            tables.write(channels, table, wide=form == "wide")
    for line in summary_lines(channels, cylinders(engine, folders)):
        print(line)
    if table is not None:
        print(f"\nTable: {table}")
