"""What to do next: each check's expected information for its time, under the probabilities as they now stand."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import Final

import msgspec
import numpy as np
from numpy.typing import NDArray

from logan.knowledge.faults import Check, Fault
from logan.knowledge.texts import Caution
from logan.model.finding import NextCheck, best_first

Array = NDArray[np.float64]

MANUAL: Final = "Work by the service manual: its method and figures come first, and so do local rules and licensing."
STAGE_WORDS: Final = {
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


def expected_minutes(minutes: Array, confirms: Array, probability: Array) -> float:
    """Mean time until a fault is found when checks are made one after the other, the first that confirms ending it.

    Parameters
    ----------
    minutes : (n,) time of each check, in the order they are made
    confirms : (n, h) chance that a check confirms under each hypothesis; independent of each other
    probability : (h,) of the hypotheses; adds to 1

    Source: expected cost of a sequence in decision-theoretic troubleshooting (Heckerman, Breese, Rommelse 1995).
    """
    open_before = np.cumprod(np.vstack([np.ones(len(probability)), 1.0 - confirms[:-1]]), axis=0)
    return float(minutes @ (open_before @ probability))


def minutes_to_find(
    faults: Sequence[Fault],
    probability: dict[str, float],
    cautions: dict[str, Caution],
    measured: Collection[str] = (),
    recorded: bool = True,
) -> float | None:
    """Mean time until the fault is found by the checks of some faults in their common order; None without a check.

    A check that the record has made already takes no time and finds nothing more.
    """
    p = np.array([probability[fault.id] for fault in faults])
    listed = [(fault, _paired(fault, probability, cautions, measured, recorded)) for fault in faults]
    first = next(([check for check, _ in paired] for _, paired in listed if paired), [])
    rows = [
        (
            best_first(check, first),
            check.minutes,
            [confirms_share(said, fault.id, one.id) for one in faults],
        )
        for fault, paired in listed
        for check, said in paired
        if not made(said, measured)
    ]
    if not rows or not p.sum():
        return None
    rows.sort(key=lambda row: row[0])
    return expected_minutes(np.array([row[1] for row in rows]), np.array([row[2] for row in rows]), p / p.sum())


def _paired(
    fault: Fault, probability: dict[str, float], cautions: dict[str, Caution], measured: Collection[str], recorded: bool
) -> list[tuple[NextCheck, Check]]:
    """A fault's checks with their entries in the catalogue."""
    by_text = {plain.text: check for plain, check in zip(in_trade_order(fault, cautions), fault.checks, strict=True)}
    return [(check, by_text[check.text]) for check in checks(fault, probability, cautions, measured, recorded)]


def checks(
    fault: Fault,
    probability: dict[str, float],
    cautions: dict[str, Caution],
    measured: Collection[str] = (),
    recorded: bool = True,
) -> list[NextCheck]:
    """A fault's checks: most information a minute first, those with a risk after all others.

    Parameters
    ----------
    probability : every fault's, and under other names that of "no fault" and "something else"; adds to 1
    measured : what the record holds; a check that it has made already adds nothing
    recorded : whether it holds a crank or cam recording; without, checks of how that was made are left out
    """
    p = np.array(list(probability.values()))
    out = []
    for check, plain in zip(fault.checks, in_trade_order(fault, cautions), strict=True):
        if check.recording and not recorded:
            continue
        confirms = np.array([confirms_share(check, fault.id, name) for name in probability])
        gain = 0.0 if made(check, measured) else round(expected_gain(p, confirms) / check.minutes, 6)
        out.append(msgspec.structs.replace(plain, gain_bits_per_minute=gain))
    out.sort(key=lambda check: (check.risky, -(check.gain_bits_per_minute or 0.0)))
    return out


def made(check: Check, measured: Collection[str]) -> bool:
    """Whether the record holds what a check would show."""
    return bool(check.in_record) and all(name in measured for name in check.in_record)


def in_trade_order(fault: Fault, cautions: dict[str, Caution]) -> list[NextCheck]:
    """A fault's checks as its file lists them: look and listen, plug and harness, measure, take apart last."""
    return [
        NextCheck(
            text=_with_stage(check),
            minutes=check.minutes,
            tools=check.tools,
            outcomes=[check.confirmed, check.refuted],
            cautions=[*(cautions[name].text for name in check.cautions), MANUAL],
            # who only looks and listens opens and loosens nothing; the cautions stand beside it all the same
            risky=check.stage != "look" and any(cautions[name].risky for name in check.cautions),
        )
        for check in fault.checks
    ]


def confirms_share(check: Check, fault: str, name: str) -> float:
    """How often a check of ``fault`` comes out as confirming it on an engine with the fault ``name``."""
    return check.finds if name == fault else check.also.get(name, check.wrongly)


def _with_stage(check: Check) -> str:
    """A check's words with its stage before them, where they do not say it themselves (look, ask, listen; measure)."""
    stage = STAGE_WORDS.get(check.stage)
    if stage is None or check.text.split()[0] == stage.split()[0]:
        return check.text
    return f"{stage}: {check.text[0].lower()}{check.text[1:]}"
