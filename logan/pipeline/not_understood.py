"""Columns of tables that nothing is concluded from, said wherever a table is judged: they may hold what is missed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from logan.channels.naming import identify
from logan.model.capture import NOT_UNDERSTOOD, Capture, Remark, Table
from logan.model.profile import EngineProfile


def columns(captures: Iterable[Capture], profile: EngineProfile) -> Iterator[Remark]:
    """One remark a file whose table has such columns.

    Parameters
    ----------
    profile : its ``[channels]`` table may name some of them
    """
    for capture in captures:
        if isinstance(capture.content, Table):
            unknown = [one.name for one in capture.content.channels if identify(one, profile) is None]
            if unknown:
                text = (
                    "columns that nothing is concluded from (headings.toml can say what they mean): "
                    f"{', '.join(unknown)}"
                )
                yield Remark(NOT_UNDERSTOOD, text, len(unknown), (), capture.name)
