"""How many edges a cam shows in a cycle, and when that contradicts the target of the profile.

Trains are made here from angles; that random losses never look like another target is checked against the binomial.
"""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest
import scipy.stats
from numpy.typing import NDArray

from logan.dsp.cam_count import BOUNCE_DEG, edges_a_cycle, fitting
from logan.dsp.wheel import ToothTrain, decode
from logan.knowledge import profiles
from logan.measures.cam_target import STEADY, OtherCam, other_cam
from logan.model.capture import OTHER_ENGINE
from logan.pipeline.analyse import Analysis, analyse
from tests.wheel_trains import Motion, edges, evenly, turning

Array = NDArray[np.float64]

SAMPLES = Path(__file__).parent.parent / "sample_logs"
SIX = np.array([54.0, 174.0, 294.0, 414.0, 534.0, 654.0, 684.0])
FOUR = np.array([70.0, 250.0, 430.0, 610.0, 652.0])
EIGHT = np.array([40.0, 130.0, 220.0, 310.0, 400.0, 490.0, 580.0, 670.0, 694.0])
NONE = np.empty(0)
TURNS = 200


def crank(motion: Motion) -> ToothTrain:
    """Edges of a 60-2 wheel on their teeth; the recording begins somewhere in a turn."""
    wheel = evenly(60, 2, 84.0)
    return decode(motion.time_at(edges(motion, wheel))[20:], wheel)


def cam(motion: Motion, target_deg: Array) -> Array:
    return motion.time_at(edges(motion, target_deg, 720.0))


MOTION = turning(TURNS, 800.0, to_rpm=1600.0)
TRAIN = crank(MOTION)


@pytest.mark.parametrize("target", [SIX, FOUR, EIGHT])
@pytest.mark.parametrize("shift_deg", [0.0, 11.0, 57.0])
def test_edges_a_cycle_are_counted_and_placed(target: Array, shift_deg: float) -> None:
    found = edges_a_cycle(TRAIN, cam(MOTION, (target + shift_deg) % 720.0), 1.0)
    assert found is not None
    assert (found.edges, found.share) == (len(target), 1.0)
    assert 0.5 * TURNS - 3 <= found.cycles <= 0.5 * TURNS
    # places are those of the target but for whole turns
    apart = np.sort((target + shift_deg) % 720.0) - found.places_deg
    other = np.sort((target + shift_deg + 360.0) % 720.0) - found.places_deg
    assert min(np.abs(apart).max(), np.abs(other).max()) < 0.2


def test_a_slow_crank_and_a_silent_cam_have_no_number() -> None:
    assert edges_a_cycle(TRAIN, NONE, 1.0) is None
    assert edges_a_cycle(TRAIN, cam(MOTION, SIX)[:20], 1.0) is None  # most cycles show none
    slow = turning(40, 150.0)  # a cycle of 0.8 s
    assert edges_a_cycle(crank(slow), cam(slow, SIX), 0.3) is None


def test_an_edge_that_bounces_is_one() -> None:
    bounced = cam(MOTION, np.sort(np.concatenate([SIX, SIX + 0.5 * BOUNCE_DEG])))
    found = edges_a_cycle(TRAIN, bounced, 1.0)
    assert found is not None
    assert found.edges == len(SIX)


def test_places_that_fit_a_target() -> None:
    assert fitting(SIX, SIX, 360.0) == 7
    assert fitting((SIX + 372.0) % 720.0, SIX, 360.0) == 7  # the other turn, and 12 deg late
    assert fitting((SIX + 60.0) % 720.0, SIX, 360.0) == 1  # 60 deg off is no cam: one mark by chance
    assert fitting(np.delete(SIX, 3), SIX, 360.0) == 6
    assert fitting(FOUR, EIGHT, 360.0) == 4  # every second mark of a cylinder; 42 is not 24 deg


@pytest.mark.parametrize("target", [SIX, FOUR, EIGHT])
def test_another_target_is_told_and_its_own_is_not(target: Array) -> None:
    seen = cam(MOTION, target)
    for profile in (SIX, FOUR, EIGHT):
        told = other_cam(TRAIN, seen, NONE, profile)
        assert (told is None) == (profile is target)
        assert told is None or (told.sure and f"{len(profile)} cam edges a cycle" in told.text)


def test_a_number_that_the_other_flank_shows_is_no_contradiction() -> None:
    assert other_cam(TRAIN, cam(MOTION, EIGHT), NONE, SIX) is not None
    assert other_cam(TRAIN, cam(MOTION, EIGHT), cam(MOTION, SIX + 5.0), SIX) is None


@pytest.mark.parametrize("edge_count", [2, 3, 4, 5, 7, 9, 12, 24])
def test_no_random_loss_leaves_a_steady_number(edge_count: int) -> None:
    shares = np.linspace(0.005, 0.995, 199)
    numbers = np.arange(1, edge_count)
    assert scipy.stats.binom.pmf(numbers, edge_count, shares[:, None]).max() <= 0.5 + 1e-12 < STEADY


@pytest.mark.parametrize("target", [SIX, FOUR, EIGHT])
@pytest.mark.parametrize("lost", [0.01, 0.1, 0.3, 0.6, 0.9, 0.97])
def test_a_cam_that_loses_edges_now_and_then_is_of_its_own_target(target: Array, lost: float) -> None:
    every = cam(MOTION, target)
    for seed in range(5):
        kept = every[np.random.default_rng(seed).random(len(every)) >= lost]
        assert other_cam(TRAIN, kept, NONE, target) is None


@pytest.mark.parametrize("target", [SIX, FOUR, EIGHT])
def test_a_damaged_cam_wheel_is_of_its_own_target(target: Array) -> None:
    for tooth in range(len(target)):
        assert other_cam(TRAIN, cam(MOTION, np.delete(target, tooth)), NONE, target) is None
    # a dent gives a false edge, a pulse of another circuit at every firing several
    for more in (np.array([101.0]), np.array([15.0, 195.0, 375.0])):
        assert other_cam(TRAIN, cam(MOTION, np.sort(np.append(target, more))), NONE, target) is None
    # most of its teeth gone, or elsewhere
    assert other_cam(TRAIN, cam(MOTION, target[:2]), NONE, target) is not None
    assert other_cam(TRAIN, cam(MOTION, np.linspace(3.0, 500.0, len(target) - 1)), NONE, target) is not None


def test_a_single_edge_more_or_less_than_one_is_a_hint_alone() -> None:
    for profile, seen in (([100.0], [100.0, 460.0]), ([100.0, 460.0], [100.0])):
        told = other_cam(TRAIN, cam(MOTION, np.array(seen)), NONE, np.array(profile))
        assert isinstance(told, OtherCam)
        assert not told.sure


def without_header(folder: Path, stem: str) -> Path:
    """A sample's edges, and no line that says which engine they are of."""
    path = folder / f"{stem}.csv"
    lines = gzip.decompress((SAMPLES / f"{stem}.edges.csv.gz").read_bytes()).decode().splitlines(keepends=True)
    path.write_text("".join(line for line in lines if not line.startswith("#")))
    return path


def contradicted(made: Analysis) -> bool:
    return any(remark.kind == OTHER_ENGINE for remark in made.record.remarks)


@pytest.mark.parametrize("engine", ["training_rail_v8", "training_rail_four"])
def test_a_cam_of_another_engine_accuses_nothing(tmp_path: Path, engine: str) -> None:
    """Same crank wheel, seven edges a cycle where the profile has nine or five (the figures stand in the profiles)."""
    made = analyse([without_header(tmp_path, "healthy_rotary_six")], engine=engine)
    wanted = len(profiles.load(engine)[0].cam_wheel.edges_deg)  # type: ignore[union-attr]
    assert contradicted(made)
    assert made.finding.ranking.verdict == "insufficient_evidence"
    assert any(f"{wanted} cam edges a cycle, the recording shows 7" in remark.text for remark in made.record.remarks)
    assert not [one for one in made.finding.measures if one.name.startswith(("cam_phase", "cam_drop", "pump_phase"))]
    why = next(one.why for one in made.finding.missing if one.measure == "cam_dropouts_per_1000rev")
    assert "another cam target is fitted" in why


def test_lost_cam_edges_and_a_lost_tooth_are_found_without_a_header(tmp_path: Path) -> None:
    made = analyse([without_header(tmp_path, "cam_signal_dropout")], engine="training_rail_four")
    assert not contradicted(made)
    assert made.finding.ranking.faults[0].fault == "cam_signal_dropout"
    path = without_header(tmp_path, "healthy_rail_four")
    lines, seen, kept = path.read_text().splitlines(keepends=True), {"rising": 0, "falling": 0}, []
    for line in lines:
        _, channel, flank = line.strip().split(",")
        if channel == "cam":
            seen[flank] += 1
            if seen[flank] % 5 == 2:
                continue
        kept.append(line)
    path.write_text("".join(kept))
    made = analyse([path], engine="training_rail_four")
    assert not contradicted(made)
    assert made.finding.ranking.faults[0].fault == "cam_signal_dropout"
