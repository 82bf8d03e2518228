"""Run the accuracy cases and write their tables to docs/accuracy.md: ``python tests/tools/measure_accuracy.py``.

Every module of tests/tools/accuracy with ``CASES`` takes part. Runs are seeded 0, 1, 2, ... and done in two processes.
"""

from __future__ import annotations

import argparse
import importlib
import os
import pkgutil
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # before numpy: two processes, each with its own core

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]
accuracy = importlib.import_module("accuracy")

PAGE = ROOT / "docs" / "accuracy.md"
BEGIN, END = "<!-- {} begin -->", "<!-- {} end -->"
HEAD = (
    "| case | measure | runs that state it | coverage (95 %), % | bias | RMS error | half-width | RMS / bound |\n"
    "|---|---|---:|---:|---:|---:|---:|---:|\n"
)


def modules() -> dict[str, dict[str, object]]:
    """Cases of every module, by module."""
    found = {}
    for info in pkgutil.iter_modules(accuracy.__path__):
        module = importlib.import_module(f"accuracy.{info.name}")
        if hasattr(module, "CASES"):
            found[info.name] = module.CASES
    return found


def one(module: str, name: str, seed: int) -> dict[str, tuple[float, ...]]:
    """One seeded run, in a worker."""
    return importlib.import_module(f"accuracy.{module}").CASES[name].run(seed)


def number(value: float) -> str:
    """A value to three significant digits."""
    return "-" if value != value else f"{value:.3g}"


def line(row: object) -> str:
    """One row of the table."""
    return (
        f"| {row.case} | `{row.measure}` | {row.given} of {row.runs} | "
        f"{100 * row.coverage:.1f} ({100 * row.coverage_low:.1f}..{100 * row.coverage_high:.1f}) | "
        f"{number(row.bias)} | {number(row.rms)} | {number(row.half_width)} | {number(row.bound_ratio)} |"
    )


def write(module: str, table: str) -> None:
    """Put the table between the marks of its module."""
    text = PAGE.read_text("utf-8") if PAGE.exists() else "# Accuracy\n"
    begin, end = BEGIN.format(module), END.format(module)
    if begin not in text:
        text += f"\n## {module}\n\n{begin}\n{end}\n"
    before, rest = text.split(begin, 1)
    PAGE.write_text(f"{before}{begin}\n{table}{end}{rest.split(end, 1)[1]}", "utf-8")


def main() -> None:
    """Run, print, write."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=1000)
    parser.add_argument("--only", default="", help="module or case whose name contains this")
    parser.add_argument("--write", action="store_true", help="write docs/accuracy.md (whole modules only)")
    asked = parser.parse_args()
    with ProcessPoolExecutor(2) as pool:
        for module, cases in modules().items():
            notes, lines = "", []
            for name, case in cases.items():
                if asked.only not in module and asked.only not in name:
                    continue
                began = time.perf_counter()
                results = list(pool.map(partial(one, module, name), range(asked.runs), chunksize=8))
                rows = [accuracy.summarise(name, measure, results) for measure in case.measures]
                lines += [line(row) for row in rows]
                notes += f"- **{name}**: {case.note}\n"
                print("\n".join(lines[-len(rows) :]), f"  ({time.perf_counter() - began:.0f} s)", flush=True)
            if asked.write and len(lines) and asked.only in module:
                write(module, f"{notes}\n{HEAD}" + "\n".join(lines) + "\n")


if __name__ == "__main__":
    main()
