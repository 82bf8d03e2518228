"""Evidence in plain words, in the units of the measures."""

from __future__ import annotations

from typing import Final

from logan.knowledge.faults import Family
from logan.knowledge.measures import MeasureInfo
from logan.model.finding import SPEAKS, Evidence
from logan.ranking.distribution import Beyond, Distribution, Mixture, Normal, Steps, Within
from logan.ranking.hypotheses import Suspect
from logan.ranking.reading import Reading
from logan.ranking.signs import Good
from logan.ranking.weigh import Piece

ALWAYS: Final = 0.85
"""Share of cases from which a fault counts as showing in a measure whenever it is there."""
TOLERANCE_SD: Final = 2.0
"""Standard deviations of a part's own spread that are told as its tolerance: 19 of 20 are within."""


def title(name: str, info: dict[str, MeasureInfo]) -> str:
    """Name of a measure for people."""
    return info[name].title if name in info else name.replace("_", " ").capitalize()


def number(value: float, name: str, info: dict[str, MeasureInfo], unit: bool = True) -> str:
    """A value with the decimals and the unit of its measure."""
    if name not in info:
        return f"{value:.3g}"
    text = f"{value:.{info[name].decimals}f}"
    text = text.lstrip("-") if float(text) == 0.0 else text
    return f"{text} {info[name].unit}".strip() if unit else text


def expected(expect: Distribution, name: str, info: dict[str, MeasureInfo]) -> str:
    """A distribution of true values in words."""
    if isinstance(expect, Normal):
        return f"about {number(expect.at, name, info)}"
    if isinstance(expect, Within):
        low, high = (number(end, name, info, unit=False) for end in (expect.low, expect.high))
        upper = number(expect.high, name, info)
        return upper if low == high else f"{low} to {upper}"
    if isinstance(expect, Steps):
        return f"one or more whole steps of {number(expect.step, name, info)}"
    if isinstance(expect, Beyond):
        return f"{'over' if expect.sign > 0 else 'under'} {number(expect.limit, name, info)}"
    if isinstance(expect, Mixture):
        return " or ".join(expected(part, name, info) for _, part in expect.parts)
    raise TypeError(f"{type(expect).__name__} has no words")


def beside(expect: Distribution, other: Distribution, name: str, info: dict[str, MeasureInfo]) -> str:
    """The same as it stands beside what another fault gives: whether a fixed value is a whole number of its steps."""
    text = expected(expect, name, info)
    if not isinstance(expect, Normal) or not isinstance(other, Steps):
        return text
    steps = expect.at / other.step
    count = round(steps)
    if count and abs(steps - count) * other.step < expect.spread:
        return f"{text}, which is {abs(count)} such step{'s' if abs(count) > 1 else ''} too"
    return f"{text}, which is no whole number of such steps"


def _nearest(expect: Distribution, reading: Reading, name: str, info: dict[str, MeasureInfo]) -> str:
    """How many of its steps a reading is nearest to, and why its interval need not hold them."""
    count = round(reading.value / expect.step) if isinstance(expect, Steps) else 0
    if not isinstance(expect, Steps) or not count:
        return ""
    at, allowed = count * expect.step, TOLERANCE_SD * expect.spread
    rest = abs(reading.value - at)
    text = f", here {abs(count)} of them ({number(at, name, info)})"
    if reading.low <= at <= reading.high:
        return text
    beside = "is within" if rest <= allowed else "is more than"
    own = f"the drive's own tolerance of about {number(allowed, name, info)}"
    return f"{text[:-1]}; the other {number(rest, name, info)} {beside} {own})"


def measured(
    piece: Piece, suspect: Suspect, weight: float, good: Good, info: dict[str, MeasureInfo]
) -> Evidence | None:
    """A measure's evidence for one suspect; None where the fault says nothing of it and it weighs nothing.

    A fault without a sign in this measure leaves it as on a good engine; that weighs where another measure of the same
    symptom needs an explanation.
    """
    sign = suspect.signs.get(piece.name)
    reading = piece.readings.get(0, piece.readings.get(suspect.cylinder or 0))
    if reading is None or (sign is None and abs(weight) < SPEAKS):
        return None
    name = piece.name
    usual = expected(good.usual, name, info)
    fault = expected(sign.expect, name, info) if sign is not None else usual
    where = "" if 0 in piece.readings else f" in cylinder {suspect.cylinder} against the median of the others"
    observed = number(reading.value, name, info)
    side = info[name].side(reading.low, reading.high) if name in info else ""
    text = f"{title(name, info)} is {observed}{side}{where}"
    if sign is None:
        text += f"; this fault leaves it as on a good engine ({usual})"
    elif weight > SPEAKS:
        nearest = _nearest(sign.expect, reading, name, info)
        text += f": this fault gives {fault}{nearest}, a good engine {usual}"
    elif _reaches(reading, good):
        inside = _inside(reading, good)
        if inside and weight < -SPEAKS:
            near = _leaves(reading, good)
            ends = f"{number(reading.low, name, info, unit=False)} to {number(reading.high, name, info)}"
            text += f", as on a good engine ({usual})"
            text += f", but its interval, {ends}, reaches beyond" if near else ""
            text += f"; this fault gives {fault}{_seldom(sign.share)}"
        else:
            ends = (
                ""
                if inside
                else f", {number(reading.low, name, info, unit=False)} to {number(reading.high, name, info)},"
            )
            text += f" and its interval{ends} reaches what a good engine gives ({usual}): it does not speak for a fault"
    else:
        text += f": neither a good engine ({usual}) nor this fault ({fault}) explains it well"
    return Evidence(
        kind="measure",
        name=name,
        observed=reading.value if 0 in piece.readings else observed,
        expected=fault,
        weight=round(weight, 3),
        text=text,
        group=piece.group,
    )


def _seldom(share: float) -> str:
    """How often a fault shows in a measure, where it often does not: then its absence says little."""
    return f", but only in {cases(share)}" if share < ALWAYS else ""


def cases(share: float) -> str:
    """How often, in cases: of ten, or one of how many where it is rarer than in three of ten."""
    if share >= 0.95:
        return "nearly all cases"
    if share >= 0.275:
        return f"{10.0 * share:.0f} of 10 cases"
    return f"1 of {1.0 / share:.0f} cases" if share > 0.0 else "no case"


def _inside(reading: Reading, good: Good) -> bool:
    """Whether the value itself is one of a good engine; its interval may reach there from outside."""
    reading = good.scaled(reading)
    return good.zone is not None and good.zone[0] <= reading.value <= good.zone[1]


def _reaches(reading: Reading, good: Good) -> bool:
    reading = good.scaled(reading)
    return good.zone is not None and reading.low <= good.zone[1] and reading.high >= good.zone[0]


def _leaves(reading: Reading, good: Good) -> bool:
    """Whether the interval of a value that is one of a good engine has an end that is none."""
    reading = good.scaled(reading)
    return good.zone is not None and not (good.zone[0] <= reading.low and reading.high <= good.zone[1])


def code(piece: Piece, weight: float, family: Family, rate: float | None) -> Evidence:
    """A stored code, or codes that are not stored although they were read; ``rate``: how often the fault stores one."""
    often = f"in about {cases(rate)}" if rate is not None else None
    if piece.observed == "not stored":
        text = f"Codes were read and none for {family.title} is stored"
        text += f"; this fault stores one {often}" if often else ""
    elif weight > SPEAKS:
        text = f"The control module stored {piece.name} ({piece.observed}): {family.title}"
        text += (
            f"; this fault stores it {often}, a good engine in {cases(family.rate).removesuffix(' cases')}"
            if often
            else ""
        )
    else:
        elsewhere = family.by_cylinder and often and not weight
        text = f"The control module stored {piece.name} ({piece.observed}): {family.title}; "
        text += "it names another cylinder" if elsewhere else "other faults explain it better"
    return Evidence(
        kind="dtc",
        name=piece.name,
        observed=piece.observed,
        expected=f"stored {often}" if often else None,
        weight=round(weight, 3),
        text=text,
        group=piece.group,
    )


def circumstance(piece: Piece, weight: float, word_title: str) -> Evidence:
    """Recent work or a complaint."""
    if piece.kind == "work":
        text = f"Fitted or opened just before: {word_title}. This makes the fault likelier before anything is measured"
    else:
        often = "more" if weight > 0 else "less"
        text = f"The driver says: {word_title}. This fault brings that complaint {often} often than others"
    return Evidence(
        kind=piece.kind,
        name=piece.name,
        observed=word_title,
        expected=None,
        weight=round(weight, 3),
        text=text,
        group=piece.group,
    )


def absent(name: str, why: str, suspect: Suspect, info: dict[str, MeasureInfo]) -> Evidence:
    """A sign of the fault that was not measured: it leaves the odds alone."""
    sign = suspect.signs.get(name)
    return Evidence(
        kind="measure",
        name=name,
        observed=None,
        expected=expected(sign.expect, name, info) if sign is not None else None,
        weight=0.0,
        text=f"{title(name, info)} was not judged: {why}",
    )
