"""Sensor voltages that carry much noise: said with the data's quality, whether the edges were found in it or not."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from logan.measures.flanks import flanks
from logan.model.capture import Remark
from logan.model.sensor import SensorCapture

CHECK: Final = "look at the shield, the ground and the range of the recorder, and at what runs beside the cable"


def noisy_signals(sensors: Sequence[SensorCapture]) -> Iterator[Remark]:
    """A remark for each sensor of a recording whose voltage is noisy."""
    for capture in sensors:
        for name, noise in flanks(capture).noise.items():
            share = f"the {name} signal is noisy: its voltage carries noise of {100.0 * noise.share:.0f} % of its swing"
            if noise.drowned:
                yield Remark("noisy_signal", f"{share}, and its edges are not used; {CHECK}", file=capture.file)
            else:
                text = f"{share}, which moves each edge by some {1e6 * noise.edge_s:.0f} us; {CHECK}"
                yield Remark("noisy_signal", text, file=capture.file)
