"""What must hold whatever was measured: order, absence, normal findings, sums."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from ranking_cases import FAULTS, GOOD, RAIL, ROTARY, Values, measures, record

from logan import ranking
from logan.model.finding import Ranking
from logan.model.measure import Missing

KNOWN = ranking.knowledge()
SHARPNESS = KNOWN.catalogue.no_fault.calibration.sharpness
CODES = ["P0335", "P0339", "P0216", "P0087", "P0302", "P0562", "P0420", "SPN 157 FMI 18", "junk"]


@st.composite
def evidence(draw: st.DrawFn) -> tuple[str, Values, list[tuple[str, str]], tuple[str, ...]]:
    """An engine with any mix of good and faulty measures, codes and recent work."""
    engine = draw(st.sampled_from([ROTARY, RAIL]))
    values = {name: GOOD[engine][name] for name in draw(st.lists(st.sampled_from(sorted(GOOD[engine])), unique=True))}
    for fault in draw(st.lists(st.sampled_from(sorted(FAULTS)), max_size=2)):
        values |= draw(st.sampled_from(FAULTS[fault][1]))
    if draw(st.booleans()):
        values["timing_error_static_deg"] = (draw(st.floats(-30, 30)), draw(st.floats(0.0, 5.0)))
    codes = draw(st.lists(st.tuples(st.sampled_from(CODES), st.sampled_from(["confirmed", "pending"])), max_size=3))
    work = draw(st.lists(st.sampled_from(sorted(KNOWN.work)), max_size=3))
    return engine, values, codes, tuple(work)


def ranked(engine: str, values: Values, codes: list[tuple[str, str]], work: tuple[str, ...], **more: object) -> Ranking:
    return ranking.rank(record(engine, codes=codes, work=work, **more), measures(values), [], KNOWN)  # type: ignore[arg-type]


def chances(found: Ranking) -> dict[str, float]:
    return {one.fault: one.probability for one in found.faults}


@settings(max_examples=40, deadline=None)
@given(evidence())
def test_probabilities_add_to_one_and_are_sorted(case: tuple) -> None:
    found = ranked(*case)
    shares = [one.probability for one in found.faults]
    assert math.fsum([*shares, found.not_explained]) == pytest.approx(1.0, abs=1e-9)
    assert found.not_explained == pytest.approx(found.no_fault + found.something_else)
    assert shares == sorted(shares, reverse=True)
    assert all(0.0 <= share <= 1.0 for share in shares)


@settings(max_examples=25, deadline=None)
@given(evidence(), st.randoms(use_true_random=False))
def test_order_of_evidence_changes_nothing(case: tuple, random: object) -> None:
    engine, values, codes, work = case
    names = list(values)
    random.shuffle(names)  # type: ignore[attr-defined]
    first = chances(ranked(engine, values, codes, work))
    other = chances(ranked(engine, {name: values[name] for name in names}, codes[::-1], work[::-1]))
    assert other == pytest.approx(first, rel=1e-9, abs=1e-12)


@settings(max_examples=20, deadline=None)
@given(evidence(), st.sampled_from(sorted(GOOD[ROTARY])))
def test_a_missing_measure_changes_nothing(case: tuple, name: str) -> None:
    engine, values, codes, work = case
    values = {key: value for key, value in values.items() if key != name}
    absent = [Missing(measure=name, why="not recorded", capture_hint="")]
    found = ranking.rank(record(engine, codes=codes, work=work), measures(values), absent, KNOWN)
    assert chances(found) == pytest.approx(chances(ranked(engine, values, codes, work)))


@settings(max_examples=25, deadline=None)
@given(evidence(), st.sampled_from(sorted(GOOD[ROTARY])))
def test_a_normal_finding_never_raises_its_fault(case: tuple, name: str) -> None:
    """The odds against "no fault" of every fault that this measure can show do not rise."""
    engine, values, codes, work = case
    values = {key: value for key, value in values.items() if key != name}
    if name not in GOOD[engine]:
        return
    before, after = (
        ranked(engine, values, codes, work),
        ranked(engine, {**values, name: GOOD[engine][name]}, codes, work),
    )
    for fault, entry in KNOWN.catalogue.faults.items():
        if fault in chances(before) and any(expect.measure == name for expect in entry.expect):
            odds = chances(before)[fault] / before.no_fault
            assert chances(after)[fault] / after.no_fault <= odds * (1.0 + 1e-9)


@settings(max_examples=25, deadline=None)
@given(evidence())
def test_weights_shown_are_the_odds(case: tuple) -> None:
    """One fault at a time: prior odds times ten to the sum of the weights shown are the posterior odds."""
    known = msgspec.structs.replace(KNOWN.catalogue.no_fault.calibration, second_fault=1e-200)
    no_fault = msgspec.structs.replace(KNOWN.catalogue.no_fault, calibration=known)
    alone = replace(KNOWN, catalogue=msgspec.structs.replace(KNOWN.catalogue, no_fault=no_fault))
    engine, values, codes, work = case
    values.pop("cylinder_contribution_percent", None)  # a list weighs each cylinder for itself
    values.pop("cylinder_compression_percent", None)
    prior = ranking.rank(record(engine), [], [], alone)
    found = ranking.rank(record(engine, codes=codes, work=work), measures(values), [], alone)
    start, end = chances(prior), chances(found)
    for one in found.faults:
        if KNOWN.catalogue.faults[one.fault].per_cylinder and one.cylinder is not None and codes:
            continue  # codes of one cylinder weigh each cylinder for itself
        shown = sum(piece.weight for piece in one.evidence)
        gained = math.log10(end[one.fault] / found.no_fault) - math.log10(start[one.fault] / prior.no_fault)
        assert shown == pytest.approx(gained, abs=0.05), "pieces under 0.02 each are not shown"


@settings(max_examples=25, deadline=None)
@given(evidence())
def test_one_finding_is_capped(case: tuple) -> None:
    found = ranked(*case)
    for one in found.faults:
        for piece in one.evidence:
            cap = 2.0 + math.log10(6) if piece.name.startswith("cylinder_") else 2.0
            assert abs(piece.weight) <= SHARPNESS * cap + 1e-3


@settings(max_examples=30, deadline=None)
@given(evidence())
def test_verdict_follows_the_contract(case: tuple) -> None:
    """Contract, section 8: supported where the first fault has 0.5 and a measure or code that speaks for it."""
    found = ranked(*case)
    first = found.faults[0]
    speaks = any(piece.kind in ("measure", "dtc") and piece.weight > 0.02 for piece in first.evidence)
    assert (found.verdict == "fault_supported") == (first.probability >= 0.5 and speaks)
