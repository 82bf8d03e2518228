"""The profiles that ship: readable, consistent with themselves and with the signals that they name."""

from __future__ import annotations

from pathlib import Path

import cantools
import msgspec
import numpy as np
import pytest

from logan.knowledge.locate import DATA, dbc_open
from logan.model.profile import EngineProfile

PROFILES = sorted((DATA / "profiles").glob("*.toml"))


def read(path: Path) -> EngineProfile:
    return msgspec.toml.decode(path.read_bytes(), type=EngineProfile)


@pytest.mark.parametrize("path", PROFILES, ids=lambda p: p.stem)
def test_profile_is_consistent(path: Path) -> None:
    profile = read(path)
    assert profile.cylinders == len(profile.firing_order)
    assert sorted(profile.firing_order) == list(range(1, len(profile.firing_order) + 1))
    assert profile.crank_wheel is not None
    assert profile.crank_wheel.teeth is not None
    angles = np.array(profile.crank_wheel.angles_deg())
    # worked example teeth_and_gap_60_2 (exact arithmetic): n - m edges, gap (m + 1) pitches
    assert len(angles) == profile.crank_wheel.teeth - profile.crank_wheel.missing
    gaps = np.diff(np.append(angles, angles[0] + 360.0))
    pitch = 360.0 / profile.crank_wheel.teeth
    assert gaps.max() == pytest.approx((profile.crank_wheel.missing + 1) * pitch)
    assert profile.cam_wheel is not None
    cam = np.array(profile.cam_wheel.edges_deg)
    assert (np.diff(cam) > 0).all()
    assert cam[0] >= 0
    assert cam[-1] < 720


@pytest.mark.parametrize("path", PROFILES, ids=lambda p: p.stem)
def test_cam_target_tells_the_two_turns_apart(path: Path) -> None:
    cam_wheel = read(path).cam_wheel
    assert cam_wheel is not None
    cam = np.array(cam_wheel.edges_deg)
    turned = np.sort((cam + 360.0) % 720.0)
    assert not np.allclose(cam, turned, atol=5.0)


@pytest.mark.parametrize("path", PROFILES, ids=lambda p: p.stem)
def test_signals_of_the_profile_stand_in_the_data_base(path: Path) -> None:
    database = cantools.database.load_file(dbc_open() / "training.dbc")
    known = {f"{m.name}.{s.name}" for m in database.messages for s in m.signals}
    assert set(read(path).channels) <= known


def test_four_profiles() -> None:
    assert [p.stem for p in PROFILES] == [
        "training_rail_four", "training_rail_v8", "training_rotary_six", "training_spark_four",
    ]  # fmt: skip


def test_broadcast_identifiers_are_of_a_reserved_kind() -> None:
    # SAE J1939-21 (from memory): extended data page 1 with data page 0 is reserved, so no vehicle sends these
    database = cantools.database.load_file(dbc_open() / "training.dbc")
    for message in database.messages:
        assert message.is_extended_frame
        assert (message.frame_id >> 24) & 3 == 0b10
