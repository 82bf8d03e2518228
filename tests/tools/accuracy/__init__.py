"""How right the measures are: what a seeded case with known truth is, and how its runs are summed up.

Every module here that has ``CASES`` (name -> Case) is run by measure_accuracy.py.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

import numpy as np

Z_95: Final = 1.959964


class Sample(NamedTuple):
    """One value of one seeded run; ``bound`` is the Cramer-Rao bound of its standard deviation, where one is known."""

    value: float
    low: float
    high: float
    truth: float
    bound: float = float("nan")


@dataclass(frozen=True, slots=True)
class Case:
    """A kind of recording with known truth.

    Parameters
    ----------
    measures : names of the values that ``run`` gives
    run : from a seed to the values of that run, each a ``Sample`` or a plain (value, low, high, truth[, bound]); one
        that the tool did not state is left out
    note : what is drawn, in one line
    """

    measures: tuple[str, ...]
    run: Callable[[int], dict[str, Any]]
    note: str


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    case: str
    measure: str
    runs: int
    given: int
    coverage: float
    coverage_low: float
    coverage_high: float
    bias: float
    rms: float
    half_width: float
    bound_ratio: float


def wilson(hits: int, n: int) -> tuple[float, float]:
    """Interval of 95 % of a share (Wilson 1927)."""
    if not n:
        return 0.0, 1.0
    share = hits / n
    spread = Z_95 * np.sqrt(share * (1.0 - share) / n + Z_95**2 / (4.0 * n * n))
    middle = share + Z_95**2 / (2.0 * n)
    scale = 1.0 + Z_95**2 / n
    return max(0.0, float((middle - spread) / scale)), min(1.0, float((middle + spread) / scale))


def summarise(case: str, measure: str, results: Iterable[dict[str, Any]]) -> Row:
    """Coverage, bias, root-mean-square error, width and distance from the bound over all runs of a case."""
    results = list(results)
    seen = np.array([Sample(*result[measure]) for result in results if measure in result], float).reshape(-1, 5)
    value, low, high, truth, bound = seen.T
    n = len(seen)
    hits = int(np.count_nonzero((low <= truth) & (truth <= high)))
    error = value - truth
    nothing = float("nan")
    bounded = np.isfinite(bound)
    ratio = float(np.sqrt(np.mean(np.square(error[bounded] / bound[bounded])))) if bounded.any() else nothing
    return Row(
        case, measure, len(results), n, hits / n if n else nothing, *wilson(hits, n),
        float(np.mean(error)) if n else nothing, float(np.sqrt(np.mean(error**2))) if n else nothing,
        float(np.median(0.5 * (high - low))) if n else nothing, ratio,
    )  # fmt: skip
