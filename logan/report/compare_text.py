"""A comparison for a machine (JSON) and in short for a person at a terminal."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec

from logan import __version__
from logan.model.comparison import Comparison, Difference
from logan.report.compare_figures import OUTCOMES, difference_title
from logan.report.compare_page import FATES, Side, fault_title
from logan.report.json_document import clean
from logan.report.text import Catalogue, join_unit, number, outside, plain_number
from logan.report.trend_words import reach_words, steady_words

SCHEMA = 1
MOST_LINES = 8


def json_text(sides: Sequence[Side], comparison: Comparison) -> str:
    """The comparison as JSON; ``docs/comparison.md`` lays the keys out."""
    document: dict[str, Any] = {
        "schema": SCHEMA,
        "logan_version": __version__,
        "drives": [
            {
                "name": side.name,
                "files": [{"name": c.name, "sha256": c.sha256, "start": c.start} for c in side.record.captures],
                "vin": side.record.vehicle.vin,
                "engine": side.record.profile.name,
                "verdict": side.finding.ranking.verdict,
                "recent_work": list(side.record.work),
            }
            for side in sides
        ],
        **msgspec.to_builtins(comparison, enc_hook=plain_number),
    }
    return msgspec.json.format(msgspec.json.encode(clean(document)), indent=1).decode("utf-8") + "\n"


def terminal(comparison: Comparison, catalogue: Catalogue) -> str:
    """Verdict, faults and what differs; no control character but line ends."""
    lines = [f"{FATES[one.fate]:>15}  {fault_title(one)}" for one in comparison.faults]
    told = [row for kind in ("worse", "better", "changed") for row in comparison.differences if row.outcome == kind]
    lines += [_difference(row, catalogue) for row in told[:MOST_LINES]]
    if len(told) > MOST_LINES:
        lines.append(f"{'':15}  and {len(told) - MOST_LINES} more in the report")
    lines = [outside(comparison.sentence, 800), *([""] if lines else []), *lines]
    counts = [
        (sum(row.outcome == kind for row in comparison.differences), words) for kind, (words, _) in OUTCOMES.items()
    ]
    summed = "; ".join(f"{count} {words.split(',')[0]}" for count, words in counts if count)
    lines += ["", f"{len(comparison.differences)} numbers compared: {summed or 'none'}."]
    if comparison.not_comparable:
        lines.append(f"Measures that are not comparable: {len(comparison.not_comparable)}; the report says why.")
    for trend in comparison.trends:
        if trend.shown:
            lines.append(f"Trend: {difference_title(trend, catalogue)}: {reach_words(trend)}.")
    if comparison.trends and not any(trend.shown for trend in comparison.trends):
        lines.append(f"No trend is shown. {steady_words(comparison, catalogue)}".rstrip())
    lines += [outside(remark) for remark in comparison.remarks]
    return "\n".join(lines)


def _difference(row: Difference, catalogue: Catalogue) -> str:
    decimals = catalogue[row.measure].decimals if row.measure in catalogue else 2
    old, new = (join_unit(number(one.value, decimals), row.unit) for one in (row.before, row.after))
    return f"{row.outcome:>15}  {difference_title(row, catalogue)}: {old} before, {new} after"
