"""Which signal of a recording is the crank, the cam and the pump sensor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

from logan.knowledge import table_headers

SENSORS: Final = ("crank", "cam", "pump")


def assign(names: Sequence[str], edges: Sequence[int]) -> tuple[Mapping[str, int], tuple[str, ...]]:
    """Sensor -> index of its signal, and in words what had to be guessed or was left out.

    Signals without a known name: the one with most edges is the crank, the next one the cam (a tone wheel on the
    crank has more edges a cycle than one on the cam; common practice, no source).

    Parameters
    ----------
    names : plain names of the signals
    edges : how often each one changes
    """
    found: dict[str, int] = {}
    notes: list[str] = []
    unnamed: list[int] = []
    for k, name in enumerate(names):
        sensor = table_headers.load().sensor(name)
        if sensor is None:
            unnamed.append(k)
        elif sensor in found:
            notes.append(f"several signals named as the {sensor} sensor: {names[found[sensor]]} taken, {name} left out")
        else:
            found[sensor] = k
    if not found:
        unnamed.sort(key=lambda k: -edges[k])
        for sensor in SENSORS[:2]:
            if unnamed and edges[unnamed[0]]:
                found[sensor] = unnamed.pop(0)
                order = "most edges" if sensor == "crank" else "most edges after it"
                notes.append(f"signal {names[found[sensor]] or found[sensor] + 1} taken as {sensor}: {order}")
    if unnamed:
        notes.append(
            "signals without a known sensor name left out: "
            + ", ".join(names[k] or str(k + 1) for k in sorted(unnamed))
        )
    return found, tuple(notes)
