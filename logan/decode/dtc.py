"""Trouble codes: two bytes to letters, and letters to a plain title (SAE J2012 / ISO 15031-6)."""

from __future__ import annotations

import re

from logan.knowledge import obd

_SYSTEMS = "PCBU"
_SYSTEM_NAMES = {"P": "power train", "C": "chassis", "B": "body", "U": "network"}


def code_of(number: int) -> str:
    """Code of two bytes as one 16-bit number: 0x0143 is P0143.

    The first two bits are the system, two more the first digit, the rest three hexadecimal digits.
    """
    return f"{_SYSTEMS[number >> 14]}{number >> 12 & 3}{number & 0xFFF:03X}"


def describe(code: str) -> tuple[str, str]:
    """Title in plain words and family of a code; the family is empty where the code has no title of its own."""
    parts = obd.code_titles().get(code)
    if parts is None:
        return _by_group(code), ""
    component = parts.component
    if parts.cylinder and f"cylinder {parts.cylinder}" not in component:
        component = f"cylinder {parts.cylinder} {component}"
    title = _written(component.replace(" - ", ", "))
    if parts.bank:
        title += f", bank {parts.bank}"
    if parts.failure and not _says(component, parts.failure):
        title += f": {obd.code_words().failure.get(parts.failure, parts.failure)}"
    return title[:1].upper() + title[1:], parts.family


def _by_group(code: str) -> str:
    """Title of a code that the table does not hold."""
    meaning = obd.code_groups().get(code[:3])
    system = meaning or _SYSTEM_NAMES.get(code[:1], "unknown system")
    owner = "code of the maker" if _is_makers(code) else "code without a title here"
    return f"{system[:1].upper()}{system[1:]}: {owner}"


def _is_makers(code: str) -> bool:
    """Whether the maker decides what the code means: P1, P30 to P33, and B, C, U 1 and 2 (SAE J2012)."""
    return bool(re.match(r"P1|P3[0-3]|[BCU][12]", code))


def _written(text: str) -> str:
    """Abbreviations and single letters in capitals."""
    written = obd.code_words().written
    return re.sub(r"[a-z0-9]+", lambda m: written.get(m[0], m[0].upper() if len(m[0]) == 1 else m[0]), text)


def _says(component: str, failure: str) -> bool:
    """Whether the component's words already hold the failure's, or one of its alternatives."""
    return any(all(re.search(rf"\b{word}", component) for word in part.split()) for part in failure.split(" or "))
