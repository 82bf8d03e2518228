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
"""Share of the cycles that show the same number. Where edges of a target of k are lost at random, no other number from
1 on comes in more than half of the cycles: the binomial (k over m) q ** m (1 - q) ** (k - m) is largest at q = m / k,
and there a half at most (derived)."""
FEWEST_CYCLES: Final = 10
IN_PLACE: Final = 0.5
"""Share of the larger number from which on edges that all fit tell a damaged wheel, a weak signal or false edges from
another target (judgement)."""


@dataclass(frozen=True, slots=True)
class OtherCam:
    """What a cam shows that its profile does not hold; ``sure`` unless a single edge tells it from the target."""

    text: str
    sure: bool


def other_cam(train: ToothTrain, cam_s: Array, other_s: Array, target_deg: Array) -> OtherCam | None:
    """The contradiction between a cam's signal and its target; None where there is none, or not surely one.

    A wheel that lacks some of its teeth is damaged as long as all others are in place, and one with some edges too many
    (a dent, pulses of another circuit) as long as none of its own is missing.

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
    fewer, more = sorted((wanted, seen.edges))
    fit = fitting(seen.places_deg, target_deg, 360.0 / train.symmetry)
    return None if fit == fewer > IN_PLACE * more else OtherCam(text, True)


def _steady(train: ToothTrain, edge_s: Array) -> CamCount | None:
    if not len(train) or not len(edge_s):
        return None
    found = edges_a_cycle(train, edge_s, 120.0 / RUNNING_RPM)
    return found if found is not None and found.cycles >= FEWEST_CYCLES and found.share >= STEADY else None
