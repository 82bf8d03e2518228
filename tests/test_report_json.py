"""The JSON document against the fixed schema of the contract (tests/data/finding.schema.json)."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import msgspec
import numpy as np
import pytest
import report_sample

from logan.model.finding import Finding
from logan.model.measure import Measure
from logan.report import json_document

SCHEMA = json.loads((Path(__file__).parent / "data" / "finding.schema.json").read_text("utf-8"))


def parsed(finding: Finding) -> dict[str, Any]:
    def refuse(word: str) -> None:
        raise AssertionError(f"{word} is no JSON")

    text = json_document.text(report_sample.record(), finding)
    out: dict[str, Any] = json.loads(text, parse_constant=refuse)
    jsonschema.Draft202012Validator(SCHEMA).validate(out)
    return out


def test_follows_the_schema_and_keeps_every_number() -> None:
    finding = report_sample.finding()
    out = parsed(finding)
    assert out["measures"]["timing_error_static_deg"]["value"] == -6.02
    assert out["measures"]["timing_error_static_deg"]["from"]["files"] == ["drive.log"]
    assert out["measures"]["cylinder_contribution_percent"]["value"][3] == -7.9
    assert [fault["fault"] for fault in out["faults"]] == [f.fault for f in finding.ranking.faults]
    assert sum(f["probability"] for f in out["faults"]) + out["not_explained"] == pytest.approx(1.0, abs=1e-9)
    assert out["dtcs"] == [
        {
            "code": "P0216",
            "status": "confirmed",
            "ecu": "7E8",
            "title": "Injection timing control circuit",
            "t_s": 20.0,
            "family": "",
            "severity": "",
        }
    ]
    assert out["capture"]["files"][0]["start"] == "2026-03-04T10:00:00+00:00"
    assert out["data_quality"]["rejected"] == 3
    assert out["data_quality"]["remarks"][0]["places"] == ["line 118", "line 4402", "line 90111"]


def test_evidence_is_named_by_its_kind() -> None:
    first = parsed(report_sample.finding())["faults"][0]
    assert [next(iter(piece)) for piece in first["evidence"]] == ["measure", "work", "dtc", "measure", "measure"]
    assert first["evidence"][2]["dtc"] == "P0216"


def test_faults_are_sorted() -> None:
    finding = report_sample.finding()
    shuffled = msgspec.structs.replace(finding.ranking, faults=finding.ranking.faults[::-1])
    out = parsed(msgspec.structs.replace(finding, ranking=shuffled))
    shares = [fault["probability"] for fault in out["faults"]]
    assert shares == sorted(shares, reverse=True)
    assert out["faults"][0]["fault"] == "pump_key_reversed"


def test_numbers_that_json_does_not_know() -> None:
    finding = report_sample.finding()
    measures = [
        report_sample.measure("running_voltage_v", math.nan, 13.0, 14.0),
        report_sample.measure("rail_error_percent", 1.0, math.nan, 2.0),
        report_sample.measure("boost_error_kpa", 1.0, -math.inf, math.inf),
        report_sample.measure("idle_speed_mean_rpm", 800.0, 790.0, 810.0),
        msgspec.structs.replace(
            report_sample.measure("cylinder_contribution_percent", 0.0, 0.0, 0.0),
            value=[1.0, math.nan],
            low=[0.0, math.nan],
            high=[2.0, math.nan],
        ),
    ]
    out = parsed(msgspec.structs.replace(finding, measures=measures))
    assert "running_voltage_v" not in out["measures"]
    assert {"running_voltage_v", "rail_error_percent"} <= {absent["measure"] for absent in out["missing"]}
    assert out["measures"]["boost_error_kpa"]["low"] < -1e300
    assert out["measures"]["cylinder_contribution_percent"]["value"] == [1.0, None]
    assert out["measures"]["idle_speed_mean_rpm"]["high"] == 810.0


def test_a_file_name_that_is_no_text() -> None:
    record = report_sample.record()
    broken = replace(record, captures=(replace(record.captures[0], name="drive\udcff\x00.log"),))
    out = json.loads(json_document.text(broken, report_sample.finding()))
    jsonschema.Draft202012Validator(SCHEMA).validate(out)
    assert out["capture"]["files"][0]["name"] == "drive?\x00.log"


def test_numpy_numbers_are_numbers() -> None:
    finding = report_sample.finding()
    measure = Measure(
        name="running_voltage_v",
        value=np.float64(14.0),
        unit="V",
        low=np.float64(13.9),
        high=np.float32(14.5),  # type: ignore[arg-type]
        n=np.int64(12),  # type: ignore[arg-type]
    )
    out = parsed(msgspec.structs.replace(finding, measures=[measure]))
    assert out["measures"]["running_voltage_v"]["n"] == 12
    assert out["measures"]["running_voltage_v"]["high"] == 14.5


@pytest.mark.parametrize(
    ("start", "length", "written"), [(1e30, -3.0, 1e30), (math.nan, 1.0, None), (None, None, None)]
)
def test_a_clock_out_of_its_mind(start: float | None, length: float | None, written: float | None) -> None:
    record = report_sample.record()
    mad = replace(record, captures=(replace(record.captures[0], start=start, duration_s=length),))
    out = json.loads(json_document.text(mad, report_sample.finding()))
    jsonschema.Draft202012Validator(SCHEMA).validate(out)
    assert out["capture"]["files"][0]["start"] == written


def test_what_knowledge_folders_changed_is_named() -> None:
    record = replace(report_sample.record(), knowledge=("shop: faults/x.toml is new",))
    assert json.loads(json_document.text(record, report_sample.finding()))["knowledge"] == list(record.knowledge)
