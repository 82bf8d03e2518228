"""The generator of many drives keeps its stated mix, and every drive of it can be simulated."""

from __future__ import annotations

import itertools
from collections import Counter

import pytest

from logan import simulate
from logan.simulate import parameters
from tests.tools.drives import bounds, specs


def test_mix_of_two_thousand() -> None:
    cases = list(specs(2000, seed=1))  # make_spec has checked each
    verdicts = Counter(case.verdict for case in cases)
    assert verdicts["no_fault_supported"] == pytest.approx(500, abs=80)  # four standard deviations
    assert verdicts["insufficient_evidence"] == pytest.approx(200, abs=55)
    faults = Counter(case.fault for case in cases if case.fault)
    assert set(faults) == set(parameters.faults())
    assert min(faults.values()) > 25
    assert {case.spec.profile for case in cases} == set(parameters.engines())
    assert len({case.name for case in cases}) == 2000


def test_same_seed_same_cases_and_a_longer_run_begins_the_same() -> None:
    assert list(specs(20, seed=5)) == list(itertools.islice(specs(60, seed=5), 20))
    assert list(specs(20, seed=5)) != list(specs(20, seed=6))


def test_sizes_span_from_least_to_gross_and_can_be_made() -> None:
    for fault, kind in parameters.faults().items():
        for profile in parameters.engines():
            if not kind.fits or parameters.profile(profile).injection in kind.fits:
                least, gross = bounds(fault, profile)
                assert 0 < least <= gross, (fault, profile)
                assert max(kind.range[0], 0) <= least, (fault, profile)
                assert gross <= kind.range[1], (fault, profile)


def test_starved_record_holds_one_quantity() -> None:
    case = next(case for case in specs(200, seed=2) if case.verdict == "insufficient_evidence")
    frames = simulate.run(case.spec).frames
    assert frames is not None
    asked = {bytes(d[1:3]) for d, ident in zip(frames.data, frames.identifier, strict=True) if ident in (0x7DF, 0x7E0)}
    asked |= {
        bytes(d[1:3]) for d, i in zip(frames.data, frames.identifier, strict=True) if i in (0x18DB33F1, 0x18DA10F1)
    }
    polled = {request[1] for request in asked if request[0] == 1 and request[1] % 0x20 and request[1] != 1}
    assert polled == {0x05}
