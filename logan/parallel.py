"""Work shared between two threads: what numpy and compiled loops do while they let go of the interpreter."""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from typing import Final, TypeVar

MANY: Final = 400_000
"""From so many frames or times on two threads are better than one."""
T = TypeVar("T")
R = TypeVar("R")


def each(function: Callable[[T], R], items: Sequence[T], *, pays: bool = True) -> list[R]:
    """A function of every item, in their order; what it raises is raised here.

    The standard library's pools do the same, but take longer to import than a short log takes to decode.

    Parameters
    ----------
    pays : whether the work is enough for two threads
    """
    if not pays or len(items) < 2:
        return [function(item) for item in items]
    results: dict[int, R] = {}
    left = iter(range(len(items)))
    failed: list[BaseException] = []

    def work() -> None:
        try:
            for k in left:
                results[k] = function(items[k])
        except BaseException as error:
            failed.append(error)
            for _ in left:
                pass

    helper = threading.Thread(target=work)
    helper.start()
    work()
    helper.join()
    if failed:
        raise failed[0]
    return [results[k] for k in range(len(items))]
