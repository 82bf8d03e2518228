"""What to do next: each check's expected information for its time, under the probabilities as they now stand."""

from __future__ import annotations

from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.knowledge.faults import Check, Fault
from logan.knowledge.texts import Caution
from logan.model.finding import NextCheck

Array = NDArray[np.float64]

MANUAL: Final = "The service manual's method and figures hold; local rules and licences too"
STAGE_WORDS: Final = {
    "look": "Look and listen",
    "plug": "Plug and harness",
    "measure": "Measure",
    "apart": "Take apart",
}


def entropy(probability: Array) -> float:
    """Shannon entropy in bits."""
    p = probability[probability > 0.0]
    return float(-(p * np.log2(p)).sum())


def expected_gain(probability: Array, confirms: Array) -> float:
    """Expected fall of entropy in bits by a check with two outcomes; ``confirms`` = P(confirmed | hypothesis)."""
    out = entropy(probability)
    for likelihood in (confirms, 1.0 - confirms):
        joint = probability * likelihood
        chance = float(joint.sum())
        if chance > 0.0:
            out -= chance * entropy(joint / chance)
    return max(out, 0.0)


def checks(fault: Fault, probability: dict[str, float], cautions: dict[str, Caution]) -> list[NextCheck]:
    """A fault's checks: most information a minute first, those with a risk after all others.

    ``probability`` holds every fault's, and under other names that of "no fault" and "something else"; adds to 1.
    """
    p = np.array(list(probability.values()))
    out = []
    for check, plain in zip(fault.checks, in_trade_order(fault, cautions), strict=True):
        confirms = np.array([_confirms(check, fault, name) for name in probability])
        gain = round(expected_gain(p, confirms) / check.minutes, 6)
        out.append(msgspec.structs.replace(plain, gain_bits_per_minute=gain))
    out.sort(key=lambda check: (check.risky, -(check.gain_bits_per_minute or 0.0)))
    return out


def in_trade_order(fault: Fault, cautions: dict[str, Caution]) -> list[NextCheck]:
    """A fault's checks as its file lists them: look and listen, plug and harness, measure, take apart last."""
    return [
        NextCheck(
            text=f"{STAGE_WORDS[check.stage]}: {check.text[0].lower()}{check.text[1:]}",
            minutes=check.minutes,
            tools=check.tools,
            outcomes=[check.confirmed, check.refuted],
            cautions=[*(cautions[name].text for name in check.cautions), MANUAL],
            risky=any(cautions[name].risky for name in check.cautions),
        )
        for check in fault.checks
    ]


def _confirms(check: Check, fault: Fault, name: str) -> float:
    return check.finds if name == fault.id else check.also.get(name, check.wrongly)
