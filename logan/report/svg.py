"""Small drawings as inline SVG; every value that goes in is escaped by ``Markup.format``."""

from __future__ import annotations

from collections.abc import Iterable

from markupsafe import Markup

from logan.report.text import printable


def tag(name: str, body: Markup | str = "", **attributes: object) -> Markup:
    """One element: ``class_`` becomes ``class``, underscores become hyphens, ``viewBox`` and the like stay."""
    parts = [
        Markup(' {}="{}"').format(key.rstrip("_").replace("_", "-"), _text(value))
        for key, value in attributes.items()
        if value is not None
    ]
    inside = body if isinstance(body, Markup) else printable(body)
    return Markup("<{0}{1}>{2}</{0}>").format(Markup(name), Markup("").join(parts), inside)


def together(parts: Iterable[Markup]) -> Markup:
    """Parts one after the other."""
    return Markup("").join(parts)


def picture(label: str, body: Markup, **attributes: object) -> Markup:
    """A drawing with the words that stand for it where it cannot be seen."""
    return tag("svg", together([tag("title", label), body]), role="img", **attributes)


def _text(value: object) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".") if isinstance(value, float) else printable(value)
