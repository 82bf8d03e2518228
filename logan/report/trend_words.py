"""Trends in words: when a limit would be reached, and what goes one way without being a trend yet."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from logan.model.comparison import Comparison, Trend
from logan.report.compare_figures import difference_title
from logan.report.text import Catalogue

AT_ONCE: Final = 0.5
"""Drives, visits or days under which a limit is as good as reached."""
MOST_STEADY: Final = 6


def reach_words(one: Trend) -> str:
    """When the limit would be reached, in words."""
    if one.passed:
        return "is beyond it already"
    if one.towards_limit is None:
        return "the profile sets no limit"
    if one.reaches is None:
        return "moves away from it"
    likely, early, late = (t - one.at[-1] for t in one.reaches)
    if likely < AT_ONCE:
        within = f", or reaches it within {late:.2g} {one.per}s" if late >= AT_ONCE else ""
        return f"is about at it now{within} if it goes on like this"
    return f"reaches it in about {likely:.2g} {one.per}s ({early:.2g} to {late:.2g}) if it goes on like this"


def steady_words(comparison: Comparison, catalogue: Catalogue) -> str:
    """Numbers that went one way from each drive to the next where no trend is shown; empty where there is none."""
    steady = [one for one in comparison.trends if not one.shown and _one_way(one.values)]
    if not steady:
        return ""
    drives = max(len(one.values) for one in steady)
    titles = "; ".join(difference_title(one, catalogue) for one in steady[:MOST_STEADY])
    more = f"; and {len(steady) - MOST_STEADY} more" if len(steady) > MOST_STEADY else ""
    return (
        f"From each drive to the next in one direction, which {drives} drives cannot yet tell from chance among "
        f"{len(comparison.trends)} numbers: {titles}{more}. Record further drives."
    )


def _one_way(values: Sequence[float]) -> bool:
    return all(a < b for a, b in pairwise(values)) or all(a > b for a, b in pairwise(values))
