"""Rank simulated drives and say how often that is right: ``python tests/tools/measure_ranking.py --runs 2000 --write``.

Half of the drives (odd numbers) fits the sharpness of the ranking, the other half (even numbers) is reported, each
with every sharpness of a grid. The table goes to docs/accuracy.md between its marks.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import sys
import tempfile
import time
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from functools import partial
from pathlib import Path

for _name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ.setdefault(_name, "1")  # before numpy: two processes, each with its own core

ROOT = Path(__file__).parents[2]
sys.path[:0] = [str(ROOT), str(Path(__file__).parent)]
np = importlib.import_module("numpy")
structs = importlib.import_module("msgspec.structs")
logan = importlib.import_module("logan")
ranking = importlib.import_module("logan.ranking")
simulate = importlib.import_module("logan.simulate")
drives = importlib.import_module("drives")

PAGE = ROOT / "docs" / "accuracy.md"
BEGIN, END = "<!-- ranking begin -->", "<!-- ranking end -->"
GRID = (0.75, 1.0, 1.25, 1.5, 1.75, 2.0, 2.5)
BINS = 10
WORST = 20


def one(number: int, seed: int) -> dict[str, object]:
    """Simulate one drive of the mix, rank it with every sharpness; a row of plain values."""
    case = next(c for k, c in enumerate(drives.specs(number + 1, seed)) if k == number)
    row: dict[str, object] = {
        "name": case.name, "fault": case.fault, "cylinder": case.cylinder, "wanted": case.verdict,
        "profile": case.spec.profile, "severity": case.severity,
    }  # fmt: skip
    with tempfile.TemporaryDirectory() as folder:
        made = simulate.write(simulate.run(case.spec), Path(folder), case.name)
        files = [path for path in made if not path.name.endswith(".truth.json")]
        analysis = logan.analyse(files, engine=case.spec.profile)
    row["ranks"] = {}
    for sharpness in GRID:
        catalogue = analysis.known.catalogue
        calibration = structs.replace(catalogue.no_fault.calibration, sharpness=sharpness)
        known = replace(
            analysis.known,
            catalogue=structs.replace(catalogue, no_fault=structs.replace(catalogue.no_fault, calibration=calibration)),
        )
        found = ranking.rank(analysis.record, analysis.finding.measures, analysis.finding.missing, known)
        names = [fault.fault for fault in found.faults]
        shares = {fault.fault: fault.probability for fault in found.faults}
        row["ranks"][str(sharpness)] = {
            "verdict": found.verdict, "top": names[0], "p": found.faults[0].probability,
            "cylinder": found.faults[0].cylinder, "no_fault": found.no_fault, "else": found.something_else,
            "place": names.index(case.fault) + 1 if case.fault in names else None,
            "p_true": shares.get(case.fault, found.no_fault),
        }  # fmt: skip
    return row


def expected_calibration_error(confidence: object, right: object) -> float:
    """Mean distance of confidence from the share that is right, over ten bins, weighed by their numbers."""
    bins = np.minimum((np.asarray(confidence) * BINS).astype(int), BINS - 1)
    total = 0.0
    for k in range(BINS):
        inside = bins == k
        if inside.any():
            total += inside.sum() * abs(np.asarray(confidence)[inside].mean() - np.asarray(right)[inside].mean())
    return float(total / max(len(bins), 1))


def best(row: dict[str, object], sharpness: str) -> tuple[float, bool]:
    """Confidence in the likeliest hypothesis, "no fault" included, and whether it is the true one."""
    rank = row["ranks"][sharpness]
    shares = {rank["top"]: rank["p"], None: rank["no_fault"], "something else": rank["else"]}
    name = max(shares, key=lambda key: shares[key])
    return shares[name], name == row["fault"]


def figures(rows: list[dict[str, object]], sharpness: str) -> dict[str, float]:
    """All figures of merit over some drives."""
    faulty = [row for row in rows if row["fault"]]
    good = [row for row in rows if row["wanted"] == "no_fault_supported"]
    starved = [row for row in rows if row["wanted"] == "insufficient_evidence"]
    told = [row for row in rows if row["wanted"] != "insufficient_evidence"]
    judged = [best(row, sharpness) for row in told]

    def share(some: list, test: object) -> float:
        return sum(bool(test(row["ranks"][sharpness])) for row in some) / max(len(some), 1)

    named = [row for row in faulty if row["cylinder"] and row["ranks"][sharpness]["top"] == row["fault"]]
    return {
        "faulty": len(faulty), "good": len(good), "starved": len(starved),
        "first": share(faulty, lambda r: r["place"] == 1),
        "three": share(faulty, lambda r: r["place"] is not None and r["place"] <= 3),
        "supported": share(faulty, lambda r: r["verdict"] == "fault_supported"),
        "alarms": share(good, lambda r: r["verdict"] == "fault_supported"),
        "good_right": share(good, lambda r: r["verdict"] == "no_fault_supported"),
        "starved_right": share(starved, lambda r: r["verdict"] == "insufficient_evidence"),
        "cylinder": sum(r["ranks"][sharpness]["cylinder"] == r["cylinder"] for r in named) / max(len(named), 1),
        "ece": expected_calibration_error(
            [row["ranks"][sharpness]["p"] for row in told],
            [row["ranks"][sharpness]["top"] == row["fault"] for row in told],
        ),
        "ece_any": expected_calibration_error(*zip(*judged, strict=True)) if judged else float("nan"),
        "log_loss": float(-np.mean([np.log(max(r["ranks"][sharpness]["p_true"], 1e-9)) for r in told])),
    }  # fmt: skip


def page(rows: list[dict[str, object]], command: str, minutes: float) -> str:
    """The chapter of docs/accuracy.md."""
    odd, even = rows[1::2], rows[0::2]
    grid = {str(s): figures(odd, str(s)) for s in GRID}
    chosen = min(grid, key=lambda s: grid[s]["ece"])
    got = figures(even, chosen)
    out = [
        f"`{command}`, {minutes:.0f} minutes: {len(rows)} drives, one half fits the sharpness, the other is reported.",
        "", "| sharpness | error of calibration, fitting half | log loss |", "|---:|---:|---:|",
        *(f"| {s} | {100 * f['ece']:.1f} % | {f['log_loss']:.3f} |" for s, f in grid.items()),
        "", f"With {chosen}, on the other half:", "", "| figure | reached | goal |", "|---|---:|---:|",
        f"| true fault first ({got['faulty']} drives with a fault) | {100 * got['first']:.1f} % | 97 % |",
        f"| true fault among the first three | {100 * got['three']:.1f} % | 99.5 % |",
        f"| verdict: fault supported | {100 * got['supported']:.1f} % | - |",
        f"| cylinder named right, where the fault is first | {100 * got['cylinder']:.1f} % | - |",
        f"| false alarms ({got['good']} good engines) | {100 * got['alarms']:.1f} % | 1 % |",
        f"| good engines called good | {100 * got['good_right']:.1f} % | - |",
        f"| right verdict on starved records ({got['starved']}) | {100 * got['starved_right']:.1f} % | 97 % |",
        f"| expected error of calibration, first fault | {100 * got['ece']:.1f} % | 3 % |",
        f"| the same, likeliest hypothesis with no fault among them | {100 * got['ece_any']:.1f} % | - |",
        "", "Which fault stood first, all drives with a fault:", "",
        "| made with | drives | first | in three | supported | else first |", "|---|---:|---:|---:|---:|---|",
    ]  # fmt: skip
    for fault in sorted({row["fault"] for row in rows if row["fault"]}):
        some = [row for row in rows if row["fault"] == fault]
        ranks = [row["ranks"][chosen] for row in some]
        other = Counter(r["top"] for r in ranks if r["top"] != fault)
        out.append(
            f"| {fault} | {len(some)} | {sum(r['place'] == 1 for r in ranks)} | "
            f"{sum(r['place'] is not None and r['place'] <= 3 for r in ranks)} | "
            f"{sum(r['verdict'] == 'fault_supported' for r in ranks)} | "
            f"{', '.join(f'{name} {n}' for name, n in other.most_common(3))} |"
        )
    worst = sorted(
        (row for row in rows if row["wanted"] != "insufficient_evidence"), key=lambda r: r["ranks"][chosen]["p_true"]
    )[:WORST]
    out += [
        "",
        f"The {WORST} worst:",
        "",
        "| drive | engine | severity | said | probability of the truth |",
        "|---|---|---:|---|---:|",
    ]
    for row in worst:
        r = row["ranks"][chosen]
        severity = "-" if row["severity"] is None else f"{row['severity']:.2f}"
        said = f"{r['top']} {100 * r['p']:.0f} %, {r['verdict']}"
        out.append(f"| {row['name']} | {row['profile']} | {severity} | {said} | {100 * r['p_true']:.1f} % |")
    return "\n".join(out) + "\n"


def main() -> None:
    """Run, print, and with --write put the tables into docs/accuracy.md."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--runs", type=int, default=2000)
    asked.add_argument("--seed", type=int, default=1)
    asked.add_argument("--rows", type=Path, help="keep the rows as JSON lines, and go on from there")
    asked.add_argument("--write", action="store_true")
    given = asked.parse_args()
    rows: list[dict[str, object]] = []
    if given.rows and given.rows.exists():
        rows = [json.loads(line) for line in given.rows.read_text("utf-8").splitlines()][: given.runs]
    begun = time.monotonic()
    with ProcessPoolExecutor(2) as pool:
        for row in pool.map(partial(one, seed=given.seed), range(len(rows), given.runs), chunksize=4):
            rows.append(row)
            if given.rows:
                with given.rows.open("a", encoding="utf-8") as stream:
                    stream.write(json.dumps(row, default=str) + "\n")
    minutes = (time.monotonic() - begun) / 60.0
    text = page(rows, f"python tests/tools/measure_ranking.py --runs {given.runs}", minutes)
    print(text)
    if given.write:
        whole = PAGE.read_text("utf-8")
        start, end = whole.index(BEGIN) + len(BEGIN), whole.index(END)
        PAGE.write_text(f"{whole[:start]}\n{text}{whole[end:]}", "utf-8")


if __name__ == "__main__":
    main()
