"""How far a run has come, for whoever wants to show it."""

from __future__ import annotations

from collections.abc import Callable

Progress = Callable[[str, float], None]
"""Called with what is being done, in plain words, and the share done, 0..1."""


def silent(_doing: str, _share: float) -> None:
    """Nobody is watching."""
