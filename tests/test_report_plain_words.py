"""What a technician would stumble over: reasons, limits, factors, shares and cautions in plain words."""

from __future__ import annotations

import re
from dataclasses import replace

import msgspec
import pytest
from ranking_cases import GOOD, RAIL, ROTARY, SPARK, measures, record

from logan import ranking
from logan.knowledge import faults, profiles, texts
from logan.model.finding import Finding
from logan.model.measure import Measure, Missing
from logan.model.profile import EngineProfile, Idle, Limits
from logan.report import chapters_back, chapters_finding, terminal
from logan.report.document import Facts
from logan.report.text import times

KNOWN = ranking.knowledge()
CHECKS = [(fault, check) for fault in KNOWN.catalogue.faults.values() for check in fault.checks]


def test_what_the_record_lacks_is_the_first_reason_and_is_to_be_recorded() -> None:
    """A limit in the profile alone would not show a pressure that nobody recorded."""
    bare = EngineProfile(name="of an owner", injection="common_rail", ignition="compression")
    lacks = Missing(
        measure="supply_pressure_min_kpa_gauge", why="not in the capture: fuel_supply_pressure", capture_hint=""
    )
    found = ranking.rank(replace(record(RAIL), profile=bare), [], [lacks], KNOWN)
    why = found.blind["fuel_supply_low"]
    assert why.endswith(
        "not in the capture: fuel_supply_pressure; nor does the engine profile give the least fuel supply pressure"
    )
    assert " min" in found.hints["fuel_supply_low"], "a recording is named"
    assert found.hints["fuel_supply_low"].endswith("the engine profile must give the least fuel supply pressure")
    full = profiles.load(RAIL)[0]
    assert full.limits.supply_pressure_min_kpa_gauge is not None
    whole = ranking.rank(replace(record(RAIL), profile=full), [], [lacks], KNOWN)
    assert whole.blind["fuel_supply_low"].endswith("not in the capture: fuel_supply_pressure")
    assert "must give" not in whole.hints["fuel_supply_low"]


def test_a_fault_of_one_size_is_never_small() -> None:
    """A key is turned over or not, wires are swapped or not (by definition); a shortage may be small."""
    found = {one.fault: one for one in ranking.rank(record(ROTARY), measures(GOOD[ROTARY]), [], KNOWN).faults}
    assert found["pump_key_reversed"].power_small is None
    assert found["crank_signal_inverted"].power_small is None
    assert found["fuel_supply_low"].power_small is not None
    assert found["pump_key_wrong"].power_small is not None, "one step or more"


def facts(profile: EngineProfile) -> dict[str, str]:
    [block] = [
        block
        for block in chapters_back.engine(replace(record(RAIL), profile=profile)).blocks
        if isinstance(block, Facts)
    ]
    return {name: str(value) for name, value in block.items}


def test_limits_of_a_profile_have_units_and_the_workshop_s_words() -> None:
    own = EngineProfile(
        name="of an owner", injection="common_rail", idle=Idle(target_rpm=700.0, std_limit_rpm=20.0),
        limits=Limits(supply_pressure_min_kpa_gauge=300.0, system_voltage_min=26.4, rail_error_percent=4.0),
    )  # fmt: skip
    said = facts(own)
    assert said["Idle"] == "target 700 rpm; scatter of idle speed at most 20 rpm"
    assert said["Limits"] == (
        "fuel supply pressure at least 300 kPa gauge; rail pressure within ± 4 %; "
        "voltage with the engine running at least 26.4 V"
    )
    [usual] = [text for name, text in said.items() if name.startswith("Usual limits")]
    assert "boost pressure within ± 15 kPa" in usual
    assert not [word for word in ("std", "min ", "system voltage") for text in said.values() if word in text]


@pytest.mark.parametrize("name", [ROTARY, SPARK])
def test_an_engine_without_a_rail_has_no_limit_of_one(name: str) -> None:
    profile = profiles.load(name)[0]
    assert profile.injection in ("rotary_pump", "port")
    assert "rail" not in " ".join(facts(profile).values())
    assert "rail pressure within" in " ".join(facts(profiles.load(RAIL)[0]).values())


def test_shares_that_hardly_anything_was_measured_for_are_no_finding() -> None:
    idle = [one for one in measures(GOOD[RAIL]) if one.name == "idle_speed_std_rpm"]
    found = ranking.rank(record(RAIL), idle, [], KNOWN)
    assert found.verdict == "insufficient_evidence"
    note = "what is usual before anything is measured"
    finding = Finding(measures=idle, missing=[], ranking=found)
    assert note in terminal.text(record(RAIL), finding)
    assert note in chapters_finding.summary(record(RAIL), finding).note
    low = Measure(name="rail_error_percent", unit="%", value=-12.0, low=-13.0, high=-11.0, n=90)
    spoken = ranking.rank(record(RAIL), [low], [], KNOWN)
    assert chapters_finding.unchanged(spoken) == ""
    assert chapters_finding.unchanged(msgspec.structs.replace(found, verdict="no_fault_supported")) == ""


def test_the_page_gives_the_factor_that_counts_and_the_plain_one() -> None:
    low = Measure(name="rail_error_percent", unit="%", value=-12.0, low=-13.0, high=-11.0, n=90)
    found = ranking.rank(record(RAIL), [low], [], KNOWN)
    weight = max((piece.weight for fault in found.faults for piece in fault.evidence), key=abs)
    said = chapters_finding.sharpened(found)
    assert f"{times(weight)} here is {times(weight / found.sharpness)} by itself" in said
    assert said.endswith(f"so many times {'likelier' if weight > 0 else 'less likely'} with it than without.")


ON_THE_ROAD = re.compile(r"under load|legal pull|repeat the drive", re.I)


@pytest.mark.parametrize(("fault", "check"), CHECKS, ids=lambda one: getattr(one, "id", "")[:30])
def test_cautions_of_one_check_can_be_kept_at_once(fault: faults.Fault, check: faults.Check) -> None:
    """Load is had on the road, and an engine at work is not cold: common practice, no source."""
    said = " ".join(texts.cautions()[name].text for name in check.cautions).lower()
    assert "engine cold" not in said, "cold where a joint is opened, but not for every check of a fuel line"
    if ON_THE_ROAD.search(check.text):
        assert "road_test" in check.cautions, f"{fault.id}: {check.text}"
