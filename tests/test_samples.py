"""The canned logs: each report names the fault that the log was made with, and no good engine is accused.

The logs are the simulator's, so this proves that the chain holds together, not that it is right; what is right is
checked where each stage is tested against published numbers.
"""

from __future__ import annotations

import json
from pathlib import Path

import pytest

import logan

FOLDER = Path(__file__).parent.parent / "sample_logs"
TRUTHS = sorted(FOLDER.glob("*.truth.json"))


@pytest.mark.parametrize("path", TRUTHS, ids=lambda p: p.name.removesuffix(".truth.json"))
def test_report_of_a_canned_log(path: Path) -> None:
    truth = json.loads(path.read_text("utf-8"))
    name = path.name.removesuffix(".truth.json")
    captures = sorted(str(p) for p in FOLDER.glob(f"{name}.*") if p != path and p.suffix in (".gz", ".log", ".csv"))
    ranking = logan.analyse(captures, engine=truth["profile"]).finding.ranking
    told = (ranking.verdict, ranking.faults[0].fault, ranking.faults[0].cylinder, ranking.faults[0].probability)
    if not truth["faults"]:
        assert ranking.verdict != "fault_supported", told
        return
    fault = truth["faults"][0]
    assert told[:2] == ("fault_supported", fault["fault"]), told
    if fault["cylinder"] is not None:
        assert ranking.faults[0].cylinder == fault["cylinder"], told


def test_there_is_a_log_of_every_fault() -> None:
    made = {fault["fault"] for path in TRUTHS for fault in json.loads(path.read_text("utf-8"))["faults"]}
    catalogue = {p.stem for p in (Path(logan.__file__).parent / "knowledge" / "data" / "faults").glob("*.toml")}
    assert made == catalogue - {"no_fault"}
    assert sum(not json.loads(path.read_text("utf-8"))["faults"] for path in TRUTHS) >= 3
    assert sum(p.stat().st_size for p in FOLDER.iterdir()) < 20e6
