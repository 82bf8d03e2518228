"""The report's colours: told apart by lightness as well as by hue, so that they survive colour blindness and print.

Each role has a tone for a light and one for a dark page. Figures are made with the light tones; the page swaps them.
"""

from __future__ import annotations

from typing import Final

LIGHT: Final[dict[str, str]] = {
    "ink": "#1d2733", "muted": "#566170", "faint": "#8a93a0", "rule": "#d9d5cb", "paper": "#faf8f3", "sheet": "#ffffff",
    "accent": "#0a5a78", "for": "#0b6a94", "against": "#b4551a", "band": "#e3eef0",
    "line1": "#0c5f8a", "line2": "#c8641d", "line3": "#6a4c93", "line4": "#2f8f83", "fit": "#8d2f52",
    "point": "#4d8db0", "point2": "#143f5c",
    "share1": "#7c2f17", "share2": "#b4551b", "share3": "#d98a4e", "share4": "#ecbb90", "share-rest": "#d8cdbd",
    "share-else": "#8d96a3", "share-none": "#2a7b9b",
}  # fmt: skip
DARK: Final[dict[str, str]] = {
    "ink": "#e8e6e0", "muted": "#a9b2bd", "faint": "#7d8793", "rule": "#39424d", "paper": "#12171d", "sheet": "#1a2129",
    "accent": "#6cc3e0", "for": "#5bb8e0", "against": "#f09a5b", "band": "#20343b",
    "line1": "#6bbbe8", "line2": "#f0a05f", "line3": "#bda2e8", "line4": "#6fd0c2", "fit": "#f08fb2",
    "point": "#5f9fc4", "point2": "#b9e0f5",
    "share1": "#f4a873", "share2": "#c9743a", "share3": "#945327", "share4": "#684027", "share-rest": "#4b453c",
    "share-else": "#7b8592", "share-none": "#4fb0d6",
}  # fmt: skip
STATES: Final[dict[str, tuple[str, str, str]]] = {
    # state: words, tone on a light page, tone on a dark page; the lighter the more work the engine does (dark page)
    "key_on": ("key on, engine off", "#efe9da", "#2c2a24"),
    "cranking": ("cranking", "#e2b34f", "#a87d1f"),
    "run_up": ("run-up after start", "#f2d79b", "#6b5523"),
    "idle_cold": ("idle, cold", "#cfe5ee", "#20404f"),
    "idle_warm": ("idle, warm", "#a5cfdf", "#2c5a70"),
    "tip_in": ("pedal pressed quickly", "#c58bb0", "#8a4f76"),
    "cruise": ("cruise", "#5f9cbd", "#4585a6"),
    "pull": ("pull, high load", "#1e5577", "#9fd3ee"),
    "overrun": ("overrun, no fuel", "#b9c4a0", "#56633a"),
    "stopped": ("stopped after running", "#ddd8cd", "#3a3832"),
    "gap": ("no data", "#ffffff", "#12171d"),
    "unknown": ("not known", "#e9e9e9", "#33373c"),
}


def to_dark() -> dict[str, str]:
    """Light tone -> dark tone, for the charts."""
    return {LIGHT[role]: DARK[role] for role in LIGHT} | {light: dark for _, light, dark in STATES.values()}


def css() -> str:
    """The roles as custom properties of both pages."""

    def block(tones: dict[str, str], index: int) -> str:
        roles = "".join(f"--{role}:{tone};" for role, tone in tones.items())
        return roles + "".join(f"--state-{name.replace('_', '-')}:{tone[index]};" for name, tone in STATES.items())

    light, dark = block(LIGHT, 1), block(DARK, 2)
    return (
        f":root{{color-scheme:light dark;{light}}}\n@media screen and (prefers-color-scheme:dark){{:root{{{dark}}}}}\n"
    )
