"""What was fitted just before, as a command line gives it."""

from __future__ import annotations

from collections.abc import Sequence

from logan.errors import UsageError


def fitted(words: Sequence[str] | None) -> list[str]:
    """The words of recent work.

    Raises
    ------
    UsageError : "none" stands beside something that was fitted
    """
    others = [word for word in words or [] if word != "none"]
    if others and "none" in (words or []):
        raise UsageError(
            f"--recent-work: none was fitted, and {', '.join(dict.fromkeys(others))} was",
            do="give none alone, or only what was fitted",
        )
    return list(words or [])
