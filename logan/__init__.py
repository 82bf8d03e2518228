"""Reads captures of electronically timed engines and says what they prove.

import logan
analysis = logan.analyse(["drive.log.gz"], engine="training_rotary_six")
analysis.finding.ranking.verdict
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logan.pipeline.analyse import analyse

__version__ = "0.1.0"
__all__ = ["__version__", "analyse"]


def __getattr__(name: str) -> object:
    """Load the analysis when it is first asked for, so that ``import logan`` stays instant."""
    if name == "analyse":
        from logan.pipeline.analyse import analyse

        return analyse
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
