"""What the evidence says in words follows from its numbers: value, interval, rate, factor."""

from __future__ import annotations

import math
from dataclasses import replace

import msgspec
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ranking_cases import GOOD, RAIL, ROTARY, measures, record

from logan import ranking
from logan.knowledge import limits
from logan.model.finding import SPEAKS, Evidence, Finding, Ranking
from logan.model.measure import Measure, Provenance
from logan.model.profile import EngineProfile
from logan.model.sensor import Edges, SensorCapture
from logan.model.vehicle import TroubleCode, Vehicle
from logan.ranking import words
from logan.report import chapters_finding, terminal
from logan.report.text import times

KNOWN = ranking.knowledge()
CORRECTION = "cylinder_fuel_correction_percent"
AS_GOOD = ", as on a good engine ("


def rank_list(name: str, value: list[float], low: list[float], high: list[float]) -> Ranking:
    """The rail engine with one list by cylinder beside nothing else."""
    one = Measure(name=name, unit="%", value=value, low=low, high=high, n=50, provenance=Provenance())
    return ranking.rank(record(RAIL), [one], [], KNOWN)


def evidence(found: Ranking, name: str) -> list[tuple[str, Evidence]]:
    return [(one.fault, piece) for one in found.faults for piece in one.evidence if piece.name == name]


def test_a_correction_at_its_stop_is_never_as_on_a_good_engine() -> None:
    """All four at their stops, +8 against -8: each interval is open to the side away from the others."""
    found = rank_list(CORRECTION, [-8.0, 8.0, -8.0, -8.0], [-100.0, 8.0, -100.0, -100.0], [-8.0, 100.0, -8.0, -8.0])
    said = [piece.text for fault, piece in evidence(found, CORRECTION) if fault.startswith("cylinder_")]
    assert said
    assert not [text for text in said if "16.0 %" not in text or AS_GOOD in text]


@settings(max_examples=60, deadline=None)
@given(st.floats(-30.0, 30.0), st.floats(0.1, 60.0), st.floats(0.1, 60.0))
def test_as_on_a_good_engine_is_said_of_a_value_of_a_good_engine_only(value: float, below: float, above: float) -> None:
    """Good: -7 to 7 % about the median of the others."""
    found = rank_list(
        CORRECTION, [0.0, value, 0.0, 0.0], [-0.1, value - below, -0.1, -0.1], [0.1, value + above, 0.1, 0.1]
    )
    for _, piece in evidence(found, CORRECTION):
        if AS_GOOD in piece.text:
            assert -7.05 <= float(str(piece.observed).split()[0]) <= 7.05, piece.text


def test_no_check_speaks_of_a_recording_that_the_record_may_not_hold() -> None:
    for fault in KNOWN.catalogue.faults.values():
        for check in fault.checks:
            assert not check.text.startswith("Repeat the recording"), (fault.id, check.text)
            assert not check.text.startswith("Repeat the cranking"), (fault.id, check.text)
            assert "same cylinder" not in check.confirmed, (fault.id, check.confirmed)


# ---- how often ----


def test_cases_are_those_of_the_rate() -> None:
    """One of how many, or of ten: within a fifth of the rate, so that no two rates that differ much read alike."""
    for rate in [0.01, 0.015, 0.06, 0.1, 0.12, 0.15, 0.25, 0.3, 0.35, 0.5, 0.6, 0.85]:
        of, many = map(float, words.cases(rate).removesuffix(" cases").split(" of "))
        assert of / many == pytest.approx(rate, rel=0.2), words.cases(rate)
    assert words.cases(0.15) != words.cases(0.25)


def test_how_often_a_fault_stores_a_code_is_what_its_file_says() -> None:
    stored = ranking.rank(record(ROTARY, codes=[("P0263", "pending")], asked=True), [], [], KNOWN)
    none = ranking.rank(record(ROTARY, asked=True), [], [], KNOWN)
    told = 0
    for found in (stored, none):
        for one in found.faults:
            rates = {code.family: code.rate for code in KNOWN.catalogue.faults[one.fault].codes}
            for piece in one.evidence:
                if piece.kind == "dtc" and isinstance(piece.expected, str):
                    told += 1
                    assert piece.expected.removeprefix("stored in about ") in {words.cases(r) for r in rates.values()}
                    assert "often" not in piece.text
    assert told > 20
    idle = next(p for f, p in evidence(stored, "P0263") if f == "idle_hunting")
    assert "this fault stores it in about 1 of 17 cases, a good engine in 1 of" in idle.text


# ---- factors beside the words ----


def test_a_factor_follows_from_its_cases_and_the_sharpening_that_the_page_names() -> None:
    """A sign that shows in so many cases and is absent: the factor is at most 1 / (1 - share), to the power named."""
    good = [m for m in measures(GOOD[RAIL]) if m.name == "idle_speed_std_rpm"]
    found = ranking.rank(record(RAIL), good, [], KNOWN)
    assert found.sharpness == KNOWN.catalogue.no_fault.calibration.sharpness
    seen = 0
    for one in found.faults:
        shares = {e.measure: e.share for e in KNOWN.catalogue.faults[one.fault].expect}
        for piece in one.evidence:
            if "but only in" in piece.text:
                seen += 1
                most = -found.sharpness * math.log10(1.0 - shares[piece.name])
                assert 0.0 < -piece.weight <= most + 0.01, piece.text
    assert seen >= 2
    said = chapters_finding.sharpened(found)
    heaviest = max((piece.weight for one in found.faults for piece in one.evidence), key=abs)
    assert f"{times(heaviest)} here is {times(heaviest / found.sharpness)} by itself" in said
    assert chapters_finding.sharpened(msgspec.structs.replace(found, sharpness=1.0)) == ""


def test_a_code_s_factor_can_be_worked_out_from_its_cases() -> None:
    """5 of 10 cases against 1 of 100 is 50 times as often; codes have a power of their own, which is less."""
    vehicle = Vehicle(codes=[TroubleCode(code="P0216", status="confirmed", ecu="7E8", title="")], services={"03": 1})
    found = ranking.rank(replace(record(ROTARY), vehicle=vehicle), [], [], KNOWN)
    sharp = KNOWN.catalogue.no_fault.calibration.code_sharpness
    assert 1.0 <= sharp < found.sharpness
    assert "in about 5 of 10 cases, a good engine in 1 of 100" in found.faults[0].evidence[0].text
    assert found.faults[0].evidence[0].weight == pytest.approx(sharp * math.log10(0.5 / 0.01), abs=0.01)
    assert (
        chapters_finding.sharpened(found) == f"A code counts to the power of {sharp:g}: it may be older than a repair."
    )
    for one in chapters_finding.in_part(found):
        assert one.fault in found.blind
    said = terminal.text(record(ROTARY), Finding(measures=[], missing=[], ranking=found))
    never = said.split("could not have shown")[1]
    assert found.faults[0].title in said
    assert found.faults[0].title not in never


# ---- signs ----


def test_signs_that_run_against_each_other_are_said_in_words() -> None:
    """docs/conventions.md: a timing error is positive = advanced, a phase error positive = late."""
    late = [
        Measure(name="timing_error_static_deg", unit="deg", value=-4.2, low=-4.5, high=-3.9, n=50),
        Measure(name="pump_phase_error_deg", unit="deg", value=4.2, low=3.9, high=4.5, n=50),
    ]
    found = ranking.rank(record(ROTARY), late, [], KNOWN)
    for name, shown in (("timing_error_static_deg", "-4.20 deg (late)"), ("pump_phase_error_deg", "4.2 deg (late)")):
        texts = [piece.text for _, piece in evidence(found, name) if piece.weight]
        assert texts
        assert not [text for text in texts if f"is {shown}" not in text]


def test_an_interval_that_holds_nothing_has_no_side() -> None:
    info = KNOWN.measures["timing_error_static_deg"]
    assert (info.side(-0.1, 0.3), info.side(0.1, 0.3), info.side(-0.3, -0.1)) == ("", " (early)", " (late)")


def test_the_sides_of_each_measure_are_those_of_its_meaning() -> None:
    for info in KNOWN.measures.values():
        if info.minus:  # a sign with two sides
            positive = "late" if "late" in info.plus else "early"
            meant = "late" if "positive = late" in info.meaning or "_phase_" in info.name else "early"
            if info.name == "timing_error_delay_ms":
                meant = "late"
            assert positive == meant, info.name
            assert ("early" if positive == "late" else "late") in info.minus


def test_an_inverted_signal_may_be_the_recorder_s_own_leads() -> None:
    """One recording cannot tell the sensor's wires from the recorder's: its words and its first check say so."""
    one = Measure(
        name="crank_polarity_inverted", unit="", value=1.0, low=1.0, high=1.0, n=50, provenance=Provenance()
    )  # fmt: skip
    edges = SensorCapture("crank.csv", Edges({}, {}), None)
    first = ranking.rank(replace(record(RAIL), sensors=(edges,)), [one], [], KNOWN).faults[0]
    assert first.fault == "crank_signal_inverted"
    assert "whose own leads or input, swapped, look the same" in first.evidence[0].text
    best = max(first.next_checks, key=lambda check: check.gain_bits_per_minute or 0.0)
    assert "look at the recorder first" in best.text.lower()


def test_codes_alone_ask_nobody_to_look_at_a_recorder() -> None:
    """Leads of a recorder can only be wrong where a recording was made; the first fault's check comes first."""
    coded = record(RAIL, codes=[("P0335", "confirmed")], asked=True)
    found = ranking.rank(coded, [], [], KNOWN)
    assert [one.fault for one in found.faults[:2]] == ["crank_signal_dropout", "crank_signal_inverted"]
    assert not any("recorder first" in check.text for one in found.faults for check in one.next_checks)
    first, *others = [check for check, _ in chapters_finding.ordered_checks(found)]
    assert first == found.faults[0].next_checks[0]
    gains = [check.gain_bits_per_minute or 0.0 for check in others if not check.risky]
    assert gains == sorted(gains, reverse=True)
    assert gains[0] > (first.gain_bits_per_minute or 0.0), "else it would have come first anyway"
    said = terminal.text(coded, Finding(measures=[], missing=[], ranking=found))
    assert f"Check next: {first.text}" in said


def test_a_rival_that_all_readings_speak_for_too_is_named_with_what_tells_it_apart() -> None:
    """A key turned over is -6 deg here, and six steps of 1 deg are that too: no angle tells the two (by definition)."""
    found = timing(-6.0, 0.1)
    assert [one.fault for one in found.faults[:2]] == ["pump_key_reversed", "pump_key_wrong"]
    assert found.faults[1].probability < 0.1, "else it is told as not told apart"
    assert f"speaks for “{found.faults[1].title}” (" in found.sentence
    assert "look at the key" in found.sentence
    assert "too." not in timing(-3.0, 0.1).sentence, "no rival gives three steps"


def test_an_interval_that_leaves_what_a_good_engine_gives_is_told_so() -> None:
    def text(half: float) -> str:
        return next(piece.text for _, piece in evidence(timing(0.9, half), "timing_error_static_deg") if piece.weight)

    assert "as on a good engine (-1.00 to 1.00 deg), but its interval, 0.50 to 1.30 deg, reaches beyond" in text(0.4)
    assert "reaches beyond" not in text(0.05)


# ---- past its limit and not decided ----


def timing(value: float, half: float) -> Ranking:
    one = Measure(name="timing_error_static_deg", unit="deg", value=value, low=value - half, high=value + half, n=200)
    return ranking.rank(record(ROTARY), [one], [], KNOWN)


def test_what_was_asked_and_is_not_decided_stands_in_the_first_sentence() -> None:
    """2 deg late with an interval that reaches back within 1 deg, as of a table without load: it is said, and how."""
    found = timing(-2.0, 1.8)
    assert found.verdict == "insufficient_evidence"
    told = terminal.text(record(ROTARY), Finding(measures=[], missing=[], ranking=found)).splitlines()
    assert told[0].startswith("Timing error, fixed part is \N{MINUS SIGN}2.00° (late), past its limit (± 1.00°)")
    assert told[0].endswith("reaches back within it: not decided.")
    assert told[1].startswith("To decide it: record actual and commanded injection timing")
    assert "could not have shown the other faults" in told[1]
    assert not [line for line in told if "by itself" in line], "no factor is shown that this would explain"


@settings(max_examples=60, deadline=None)
@given(st.floats(-4.0, 4.0), st.floats(0.05, 4.0))
def test_not_decided_is_said_where_a_value_is_past_its_limit_and_its_interval_is_not(value: float, half: float) -> None:
    """The profile allows 1 deg to both sides; a value about at its limit says nothing."""
    past = abs(value) - 1.0
    assume(abs(past) > 1e-9 and abs(past - 0.5 * half) > 1e-9 and abs(past - half) > 1e-9)
    found = timing(value, half)
    open_one = 0.5 * half < past < half
    told = {piece.name for one in found.faults[:3] for piece in one.evidence if piece.weight > SPEAKS}
    assert ("not decided" in found.sentence) <= open_one
    if open_one and not told and found.verdict != "fault_supported":
        assert "not decided" in found.sentence


# ---- whole steps ----


@pytest.mark.parametrize(
    ("value", "half", "said"),
    [
        (-3.05, 0.1, "here 3 of them (-3.00 deg), a good engine"),
        (-3.36, 0.08, "(-3.00 deg; the other 0.36 deg is within the drive's own tolerance of about 0.40 deg)"),
        (-3.46, 0.04, "(-3.00 deg; the other 0.46 deg is more than the drive's own tolerance of about 0.40 deg)"),
    ],
)
def test_a_step_outside_the_interval_is_explained(value: float, half: float, said: str) -> None:
    """The profile's keys are 0.5 deg of the pump apart, 1 deg of the crank; the fault's file lets them spread 0.2."""
    assert [text for text in wrong_key(value, half) if said in text]


def wrong_key(value: float, half: float) -> list[str]:
    return [piece.text for fault, piece in evidence(timing(value, half), "timing_error_static_deg")
            if fault == "pump_key_wrong"]  # fmt: skip


# ---- what a profile lacks ----


def test_what_a_profile_lacks_is_said_in_words_and_every_key_that_a_fault_refers_to_has_some() -> None:
    keys = {
        number.key
        for fault in KNOWN.catalogue.faults.values()
        for expect in fault.expect
        for number in (getattr(expect, field) for field in expect.__struct_fields__)
        if hasattr(number, "key")
    }
    assert keys <= set(limits.KEYS)
    bare = EngineProfile(name="of an owner", injection="common_rail", ignition="compression")
    found = ranking.rank(replace(record(RAIL), profile=bare), [], [], KNOWN)
    said = [piece.text for one in found.faults for piece in one.evidence] + list(found.blind.values())
    assert [text for text in said if "does not give the least fuel supply pressure" in text]
    assert not [text for text in said for key in keys if key in text]
