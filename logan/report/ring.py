"""The cycle ring: 720 crank degrees once round, expected edges outside, observed edges inside."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

from logan.model.profile import EngineProfile
from logan.report.svg import picture, tag, together
from logan.report.text import MINUS

CYCLE_DEG = 720.0
SIZE = 440
_MIDDLE = SIZE / 2
_TEETH, _EXPECTED, _BASE, _OBSERVED, _FIRE = 196.0, 178.0, 158.0, 138.0, 112.0
INSIDE: Final = {
    True: "each edge where it was seen on average",
    False: "the edges moved by the mean error that was measured",
}
"""What the inner marks are, by whether each edge was read on its own."""


def draw(
    profile: EngineProfile, shift_deg: float, low_deg: float, high_deg: float, own_deg: Sequence[float | None] = ()
) -> Markup | None:
    """The ring of a profile with a cam target, or None.

    Observed edges stand off the expected ones by the measured mean phase error (positive = late, so clockwise), each
    with the error's interval, and by what each edge was seen off the mean (``own_deg``, degrees, in the order of the
    target; an edge that was not seen is not drawn; where none is given, the mean stands for all).
    """
    cam = profile.cam_wheel
    if cam is None or not cam.edges_deg:
        return None
    late = "late" if shift_deg > 0 else "early"
    label = (
        f"Cycle of 720 crank degrees with {len(cam.edges_deg)} cam edges: observed {abs(shift_deg):.1f} degrees {late} "
        f"of expected, tolerance {cam.tolerance_deg:g} degrees"
    )
    parts = [
        tag("circle", class_="ring", cx=_MIDDLE, cy=_MIDDLE, r=_BASE),
        *_crank_teeth(profile),
        *_quarter_marks(),
        *_firing(profile),
    ]
    single = own_deg if len(own_deg) == len(cam.edges_deg) else [0.0] * len(cam.edges_deg)
    for edge, own in zip(cam.edges_deg, single, strict=True):
        parts.append(_arc("window", _EXPECTED, edge - cam.tolerance_deg, edge + cam.tolerance_deg))
        parts.append(_spoke("expected", edge, _BASE + 2, _EXPECTED + 9))
        if own is not None:
            parts.append(_arc("spread", _OBSERVED, edge + own + low_deg, edge + own + high_deg))
            parts.append(_spoke("observed", edge + own + shift_deg, _OBSERVED - 9, _BASE - 2))
    parts += [
        _word("figure", _MIDDLE, _MIDDLE - 10, f"{shift_deg:+.1f}°".replace("-", MINUS)),
        _word("", _MIDDLE, _MIDDLE + 15, f"cam {late}" if low_deg > 0 or high_deg < 0 else "no shift shown"),
        _word("small", _MIDDLE, _MIDDLE + 37, f"tolerance ±{cam.tolerance_deg:g}°"),
    ]
    return picture(label, together(parts), class_="cycle", viewBox=f"-30 -10 {SIZE + 60} {SIZE + 20}")


def _at(angle_deg: float, radius: float) -> tuple[float, float]:
    turn = 2.0 * math.pi * angle_deg / CYCLE_DEG
    return _MIDDLE + radius * math.sin(turn), _MIDDLE - radius * math.cos(turn)


def _spoke(kind: str, angle_deg: float, inner: float, outer: float) -> Markup:
    (x1, y1), (x2, y2) = _at(angle_deg, inner), _at(angle_deg, outer)
    return tag("line", class_=kind, x1=x1, y1=y1, x2=x2, y2=y2)


def _arc(kind: str, radius: float, start_deg: float, end_deg: float) -> Markup:
    (x1, y1), (x2, y2) = _at(start_deg, radius), _at(end_deg, radius)
    wide = int(abs(end_deg - start_deg) > CYCLE_DEG / 2)
    return tag("path", class_=kind, d=f"M{x1:.2f} {y1:.2f}A{radius:g} {radius:g} 0 {wide} 1 {x2:.2f} {y2:.2f}")


def _word(kind: str, x: float, y: float, text: str, anchor: str = "middle") -> Markup:
    return tag("text", text, class_=kind or None, x=x, y=y, text_anchor=anchor)


def _crank_teeth(profile: EngineProfile) -> list[Markup]:
    angles = profile.crank_wheel.angles_deg() if profile.crank_wheel else []
    turns: Sequence[float] = [*angles, *(a + 360.0 for a in angles)]
    return [_spoke("tooth", angle, _TEETH, _TEETH + 7) for angle in turns]


def _quarter_marks() -> list[Markup]:
    out = []
    for angle in (0.0, 180.0, 360.0, 540.0):
        x, y = _at(angle, _TEETH + 16)
        anchor = {180.0: "start", 540.0: "end"}.get(angle, "middle")
        out.append(_word("small", x, y + 4, f"{angle:.0f}°", anchor))
    return out


def _firing(profile: EngineProfile) -> list[Markup]:
    order = profile.firing_order
    out = []
    for k, cylinder in enumerate(order):
        x, y = _at(k * CYCLE_DEG / len(order), _FIRE)
        out.append(tag("circle", class_="cylinder", cx=x, cy=y, r=11))
        out.append(_word("cylinder-name", x, y + 4, str(cylinder)))
    return out
