"""Every channel of a capture, without judging anything."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from logan import channels, parallel
from logan.dsp.median import median
from logan.knowledge import profiles
from logan.knowledge.folders import Folders
from logan.model.channel import Channel, Deferred
from logan.model.profile import EngineProfile
from logan.pipeline.gather import gather
from logan.pipeline.progress import Progress, silent

_MANY_VALUES: Final = 1_000_000
_OF_CYLINDER: Final = re.compile(r"(?i)cylinder[_ ]?(\d{1,2})(?!\d)")


def decode_channels(
    paths: Sequence[str | Path],
    dbc_files: Sequence[str | Path] = (),
    engine: str | None = None,
    progress: Progress = silent,
    folders: Folders = (),
) -> list[Channel]:
    """All channels of a road test under their standard names where they have one; a quantity's best source leads.

    Raises
    ------
    LoganError : wrong usage, an unreadable capture or a wrong data file
    """
    profile = profiles.load(engine, folders)[0] if engine is not None else EngineProfile()
    gathered = gather(paths, dbc_files, progress, hashed=False, folders=folders, looked_at=True)
    found, _ = channels.chosen(gathered.signals, profile)
    return [channel for name in sorted(found.best) for channel in (found.best[name], *found.others.get(name, ()))]


def cylinders(engine: str | None, folders: Folders = ()) -> int | None:
    """How many cylinders the profile that is named says the engine has; None where none says it."""
    profile = profiles.load(engine, folders)[0] if engine is not None else EngineProfile()
    return profile.cylinders or len(profile.firing_order) or None


def summary_lines(found: Sequence[Channel], fitted: int | None = None) -> Iterator[str]:
    """One line a channel: name, unit, count, rate, lowest, median, highest, source.

    ``fitted`` cylinders are there: a value of one beyond them is shown as decoded, and marked.
    """
    if not found:
        yield "no channel"
        return
    width = max(7, *(len(channel.name) for channel in found))
    yield (
        f"{'channel':<{width}}  {'unit':<9} {'count':>8} {'per s':>8} "
        f"{'lowest':>10} {'median':>10} {'highest':>10}  source"
    )
    pays = sum(map(len, found)) >= _MANY_VALUES
    yield from parallel.each(lambda channel: _summary_line(channel, width, fitted), found, pays=pays)


def _summary_line(channel: Channel, width: int, fitted: int | None) -> str:
    t_s = channel.t_s
    extent = channel.extent() if isinstance(channel, Deferred) and len(channel) else None
    if extent is None:
        value = channel.value
        ends = _ends(value)
        if not (math.isfinite(ends[0]) and math.isfinite(ends[1])):
            t_s, value = channel.finite()
            ends = _ends(value)
        extent = (ends[0], median(value), ends[1]) if len(value) else None
    span_s = t_s[-1] - t_s[0] if len(t_s) > 1 else 0.0
    rate = f"{(len(t_s) - 1) / span_s:.2f}" if span_s > 0 else "-"
    low, middle, high = [f"{figure:.6g}" for figure in extent] if extent is not None else ["-"] * 3
    return (
        f"{channel.name:<{width}}  {channel.unit:<9} {len(t_s):>8} {rate:>8} "
        f"{low:>10} {middle:>10} {high:>10}  {channel.source}{_not_fitted(channel.name, fitted)}{_not_known(channel)}"
    )


def _ends(value: NDArray[np.float64]) -> tuple[float, float]:
    return (float(value.min()), float(value.max())) if len(value) else (0.0, 0.0)


def _not_fitted(name: str, fitted: int | None) -> str:
    """A remark on a value of a cylinder that the engine does not have: a message has room for more than are fitted."""
    number = _OF_CYLINDER.search(name)
    if fitted is None or number is None or int(number[1]) <= fitted:
        return ""
    return f" (not fitted: the engine has {fitted} cylinders)"


def _not_known(channel: Channel) -> str:
    """A remark on a column that keeps its own name though its unit is one of standard channels."""
    return " (not taken for a known channel)" if channels.is_unknown_quantity(channel) else ""
