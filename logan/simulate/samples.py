"""The canned logs of ``sample_logs/``: ``python -m logan.simulate.samples FOLDER`` makes them anew, bit for bit."""

from __future__ import annotations

import functools
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from logan.errors import LoganError
from logan.knowledge.load import toml
from logan.simulate.parameters import FOLDER
from logan.simulate.simulation import run, write
from logan.simulate.spec import Spec, make_spec


class _File(msgspec.Struct, forbid_unknown_fields=True):
    sample: list[dict[str, Any]]


@functools.cache
def samples() -> dict[str, Spec]:
    """Specification of each canned log by its name."""
    rows = toml(FOLDER / "samples.toml", _File)[0].sample
    return {row["name"]: make_spec(**{key: value for key, value in row.items() if key != "name"}) for row in rows}


def make(folder: str | Path) -> list[Path]:
    """Make all canned logs in a folder; give the paths of the files."""
    return [path for name, spec in samples().items() for path in write(run(spec), folder, name, compress=True)]


def main(arguments: Sequence[str]) -> int:
    """Make them in the folder named on the command line; give the exit status."""
    if len(arguments) != 1:
        print("usage: python -m logan.simulate.samples FOLDER", file=sys.stderr)
        return 2
    try:
        paths = make(arguments[0])
    except LoganError as error:
        print(error, file=sys.stderr)
        return 2
    print(f"{len(paths)} files, {sum(p.stat().st_size for p in paths) / 1e6:.1f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
