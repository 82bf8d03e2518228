"""Words and numbers for people; the one place through which every text from outside passes."""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Final

import numpy as np

from logan.knowledge import channels
from logan.knowledge.measures import MeasureInfo

Catalogue = dict[str, MeasureInfo]

LONGEST = 400
LONGEST_WORD = 24
"""Characters up to which what stands between blanks is left out whole where a text is cut."""
_WRITTEN = re.compile(
    r"(?<![\w.:])(?P<low>(?:(?<!\+)-)?\d+(?:\.(?P<places>\d+))?)(?: to (?P<high>-?\d+(?:\.\d+)?))? "
    r"(?P<unit>deg/min|degC|K|deg|rpm|kPa/s|kPa|MPa|km/h|L/h|1/1000 rev|%/min|%|Hz|ms|min|s|V)(?!\w|/|\.\w)"
)
_CAPITAL = re.compile(r"(?<=[a-z])[A-Z](?=[a-z])")
_NUMBERED = re.compile(r"(?<=[a-z]{3})(?=\d+$)")
_NAME = re.compile(r"(?<![\w.])[a-z][a-z0-9]*(?:_[a-z0-9]+)+(?![\w.]\w)")
MINUS = "\N{MINUS SIGN}"
_REPLACED = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}

UNIT_WORDS: Final[dict[str, str]] = {
    # K is a difference of temperatures
    "degC": "°C", "K": "°C", "degF": "°F", "deg": "°", "deg/min": "°/min", "1/1000rev": "per 1000 turns",
    "1/1000 rev": "per 1000 turns", "1/1000": "per 1000", "1": "",
}  # fmt: skip

ABBREVIATIONS: Final[dict[str, str]] = {
    "egr": "EGR", "vvt": "VVT", "nmhc": "NMHC", "nox": "NOx", "pm": "PM", "scr": "SCR", "obd": "OBD", "o2": "O2",
    "evap": "EVAP",
}  # fmt: skip
"""As SAE J1979 writes them."""


def printable(text: object) -> str:
    """Text without control characters, direction overrides, lone surrogates and non-characters: each becomes U+FFFD.

    The page's template and the drawings pass everything through here that they did not make themselves; escaping for
    HTML stays with the template engine.
    """
    plain = str(text)
    if plain.isprintable():
        return plain
    return "".join("\ufffd" if unicodedata.category(c) in _REPLACED else c for c in plain)


def outside(text: object, longest: int = LONGEST) -> str:
    """Text from outside made fit to be shown: printable, on one line, and without its middle where it is endless."""
    plain = printable(" ".join(str(text).split()))
    if len(plain) > longest:
        tail = longest // 4
        plain = f"{_to_a_word(plain[: longest - tail - 3], plain[longest - tail - 3])} … {_from_a_word(plain, tail)}"
    return plain


def _to_a_word(head: str, after: str) -> str:
    """A beginning without the word in which it would end, unless that is endless too."""
    at = head.rfind(" ")
    return head.rstrip() if after == " " or at < len(head) - LONGEST_WORD else head[:at]


def _from_a_word(text: str, tail: int) -> str:
    """An end of a text without the word in which it would begin, unless that is endless too."""
    end = text[-tail:]
    at = end.find(" ")
    return end.lstrip() if text[-tail - 1] == " " or not 0 <= at < LONGEST_WORD else end[at + 1 :]


def unit_words(unit: str) -> str:
    """A unit as people write it."""
    return UNIT_WORDS.get(unit, unit)


def join_unit(number: str, unit: str) -> str:
    """Number and unit; a degree sign stands close to its number."""
    words = unit_words(unit)
    if not words:
        return number
    return f"{number}{words}" if unit == "deg" else f"{number}\N{NO-BREAK SPACE}{words}"


def number(value: float | None, decimals: int) -> str:
    """A number with a real minus sign; a dash where there is none."""
    if value is None or not math.isfinite(value):
        return "–"
    text = f"{value:.{decimals}f}"
    if float(text) == 0.0:
        text = text.lstrip("-")
    return text.replace("-", MINUS)


def decimals_needed(*values: float) -> int:
    """Decimals that show five digits of each of some numbers, as many as a value of 16 bits has, or all where fewer."""
    most = 0
    for value in values:
        if value and math.isfinite(value):
            digits, exponent = f"{value:.4e}".split("e")
            most = max(most, len(digits.rstrip("0").partition(".")[2]) - int(exponent))
    return most


def plainly(name: str, capital: bool = True) -> str:
    """A name with underscores or capitals (``TimingDuty``) as words, for what no catalogue holds; abbreviations as the
    standards write them.
    """
    apart = _CAPITAL.sub(lambda found: f" {found[0].lower()}", outside(name, 80).replace("_", " "))
    words = [ABBREVIATIONS.get(word.lower(), word) for word in _NUMBERED.sub(" ", apart).split()]
    text = " ".join(words).replace("EGR VVT", "EGR/VVT")
    return text[:1].upper() + text[1:] if capital else text


def channel_words(name: str) -> str:
    """What the trade calls a channel."""
    info = channels.load().get(name)
    return plainly(name) if info is None else info.words


def in_words(text: object) -> str:
    """Text from outside, ``outside`` of it, with the names of channels as the trade calls them."""
    return _NAME.sub(_known, outside(text))


def _known(found: re.Match[str]) -> str:
    info = channels.load().get(found[0])
    return found[0] if info is None else f"{info.words[0].lower()}{info.words[1:]}"


def measure_title(name: str, catalogue: Catalogue) -> str:
    """The measure's title, its name as words where the catalogue does not hold it."""
    return catalogue[name].title if name in catalogue else plainly(name)


def plain_number(value: object) -> object:
    """A numpy number as Python's own, for JSON.

    Raises
    ------
    TypeError : it is something else that JSON does not know
    """
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"{type(value).__name__} cannot stand in a document")


def scalar(value: float | list[float]) -> float | None:
    """A single value as a float, None for a list."""
    return None if isinstance(value, list) else float(value)


def utc(start: float | None, form: str) -> str:
    """A Unix time in words, or what is wrong with it; no clock of a recorder is trusted to hold a real date."""
    if start is None:
        return "–"
    try:
        return datetime.fromtimestamp(start, UTC).strftime(form)
    except (OverflowError, ValueError, OSError):
        return "no real date"


def percent(share: float) -> str:
    """A probability in percent, never rounded up to certainty or down to nothing."""
    if share >= 0.995:
        return "over 99 %"
    return f"{100 * share:.0f} %" if share >= 0.01 else "under 1 %"


def times(weight: float) -> str:
    """A log10 likelihood ratio as a factor in words' stead: ``× 12``, ``÷ 3``."""
    factor = 10.0 ** min(abs(weight), 9.0)
    shown = (
        f"{factor:.1f}" if factor < 9.95 else f"{float(f'{factor:.2g}'):,.0f}".replace(",", "\N{NARROW NO-BREAK SPACE}")
    )
    return f"{'×' if weight >= 0 else '÷'} {shown}"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number with its unit inside; the page converts it for display."""

    value: float | None
    unit: str
    decimals: int = 1
    before: str = ""
    after: str = ""

    def __str__(self) -> str:
        shown = number(self.value, self.decimals)
        return shown if shown == "–" else self.before + join_unit(shown, self.unit) + self.after


@dataclass(frozen=True, slots=True)
class Interval:
    """A 95 % interval."""

    low: float | None
    high: float | None
    unit: str
    decimals: int = 1
    after: str = ""

    def __str__(self) -> str:
        ends = f"{number(self.low, self.decimals)} to {number(self.high, self.decimals)}"
        return join_unit(ends, self.unit) + self.after


def parts(text: object) -> list[str | Quantity | Interval]:
    """A sentence cut at its quantities (``-6.04 deg``), so that all are written, and converted, alike."""
    plain = printable(text)
    out: list[str | Quantity | Interval] = []
    end = 0
    for found in _WRITTEN.finditer(plain):
        low, high, unit = found["low"], found["high"], found["unit"]
        decimals = len(found["places"] or "")
        out.append(plain[end : found.start()].replace("+-", "±"))
        if high is None:
            out.append(Quantity(float(low), unit, decimals))
        else:
            out.append(Interval(float(low), float(high), unit, decimals))
        end = found.end()
    return [*out, plain[end:].replace("+-", "±")]


def told(text: object) -> str:
    """The same as one plain text, for a terminal or a label."""
    return "".join(str(part) for part in parts(text))


def counted(count: int, noun: str) -> str:
    """A number of things: "1 vehicle", "2 vehicles"."""
    return f"{count} {noun}{'' if count == 1 else 's'}"
