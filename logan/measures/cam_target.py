"""Whether a cam shows another target than the profile's: another number of edges, cycle after cycle."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan.dsp.cam_count import CamCount, edges_a_cycle, fitting
from logan.dsp.wheel import ToothTrain
from logan.measures.conditions import RUNNING_RPM

Array = NDArray[np.float64]

STEADY: Final = 0.8
"""Share of the cycles that show the same number. Edges lost at random from a target of k leave one and the same smaller
number in at most half of the cycles: k p (1 - p) ** (k - 1) is at most (1 - 1 / k) ** (k - 1) (derived)."""
FEWEST_CYCLES: Final = 10
MOST_LOST: Final = 0.5
"""Share of a target up to which a wheel whose other edges all fit is damaged, or its signal weak (judgement)."""


@dataclass(frozen=True, slots=True)
class OtherCam:
    """What a cam shows that its profile does not hold; ``sure`` unless a single edge tells it from the target."""

    text: str
    sure: bool


def other_cam(train: ToothTrain, cam_s: Array, other_s: Array, target_deg: Array) -> OtherCam | None:
    """The contradiction between a cam's signal and its target; None where there is none, or not surely one.

    A wheel that lacks some of its teeth, or has one edge too many, is damaged as long as all others are in place.

    Parameters
    ----------
    train : crank edges on their teeth
    cam_s, other_s : times of the cam's active edges and of its other flank, s, ascending; the latter may be empty
    target_deg : (e,) angles of the target's active edges, 0 .. 720 crank degrees
    """
    wanted = len(target_deg)
    seen = _steady(train, cam_s)
    if not wanted or seen is None or seen.edges == wanted:
        return None
    by_other = _steady(train, other_s)
    if by_other is not None and by_other.edges == wanted:
        return None
    often = f"{100.0 * seen.share:.0f} % of {seen.cycles} cycles"
    text = f"{wanted} cam edges a cycle, the recording shows {seen.edges} in {often}"
    if min(wanted, seen.edges) == 1 and abs(wanted - seen.edges) == 1:
        return OtherCam(text, False)
    fit = fitting(seen.places_deg, target_deg, 360.0 / train.symmetry)
    lost = fit == seen.edges < wanted and (seen.edges == wanted - 1 or wanted - fit < MOST_LOST * wanted)
    return None if lost or fit == wanted == seen.edges - 1 else OtherCam(text, True)


def _steady(train: ToothTrain, edge_s: Array) -> CamCount | None:
    if not len(train) or not len(edge_s):
        return None
    found = edges_a_cycle(train, edge_s, 120.0 / RUNNING_RPM)
    return found if found is not None and found.cycles >= FEWEST_CYCLES and found.share >= STEADY else None
