"""When the engine counts as running and as loaded: the same for every measure."""

from __future__ import annotations

from typing import Final

from logan.dsp.wheel_polarity import RUNNING_RPM as RUNNING_RPM

NOT_JUDGED: Final = ("key_on", "cranking", "run_up", "stopped", "gap")
"""States in which the engine does not run on its own, or has not yet settled."""
UNDER_LOAD_PERCENT: Final = 60.0
"""Calculated load from which a value counts as under load."""
