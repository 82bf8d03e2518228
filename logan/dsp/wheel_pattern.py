"""The pattern of a crank wheel: its pitches, how often it repeats itself in a turn, its slots."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def symmetry(angles: Array) -> int:
    """How many times the wheel repeats itself in a turn."""
    k = len(angles)
    pitch = pitches(angles)
    for part in range(1, k + 1):
        if k % part == 0 and np.allclose(pitch, np.roll(pitch, part), atol=1e-6 * 360.0):
            return k // part
    return 1


def pitches(angles: Array) -> Array:
    """From each tooth to the next, (k,), degrees."""
    out: Array = np.diff(np.append(angles, angles[0] + 360.0))
    return out


def slot_centres(teeth_deg: Array) -> Array:
    """Middle of each slot, (k,): where a coil with swapped wires gives its edge (an open engine-controller wiki)."""
    following = np.append(teeth_deg[1:], teeth_deg[:1] + 360.0)
    out: Array = np.sort(0.5 * (teeth_deg + following) % 360.0)
    return out


def tells_slots(teeth_deg: Array) -> bool:
    """Whether the slots of a wheel are spaced differently from its teeth, so that swapped wires show."""
    teeth, slots = pitches(teeth_deg), pitches(slot_centres(teeth_deg))
    return not any(np.allclose(np.roll(slots, k), teeth, rtol=0.05) for k in range(len(teeth)))
