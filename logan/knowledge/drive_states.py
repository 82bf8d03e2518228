"""Thresholds of the drive states, from ``data/drive_states.toml``."""

from __future__ import annotations

import functools

import msgspec

from logan.knowledge.load import toml
from logan.knowledge.locate import DATA


class DriveThresholds(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Limits between the drive states; the data file says what each key means."""

    standing_rpm: float
    shortest_standing_s: float
    shortest_running_s: float
    cranking_max_rpm: float
    cranking_max_share_of_idle: float
    run_up_settled_rpm_per_s: float
    run_up_settled_s: float
    run_up_longest_s: float
    idle_highest_share: float
    idle_highest_margin_rpm: float
    cold_idle_highest_share: float
    idle_learned_most_rpm: float
    standing_kmh: float
    moving_kmh: float
    pedal_released_percent: float
    pedal_pressed_percent: float
    warm_hysteresis_degc: float
    pull_load_percent: float
    pull_end_percent: float
    light_load_percent: float
    coasting_load_percent: float
    tip_in_percent_per_s: float
    tip_in_load_percent_per_s: float
    departure_s: float
    gap_s: float
    gap_periods: float
    believe_periods: float
    believe_s: float
    dwell_s: dict[str, float]


@functools.cache
def load() -> DriveThresholds:
    """The thresholds.

    Raises
    ------
    KnowledgeError : the file is wrong
    """
    return toml(DATA / "drive_states.toml", DriveThresholds)[0]
