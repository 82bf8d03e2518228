"""Decoded channels as a table file, in long or wide form. The only module that needs pandas."""

from __future__ import annotations

import os
import secrets
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path

import numpy as np
import pandas as pd

from logan import interrupt
from logan.errors import OutputError, UsageError
from logan.model.channel import Channel


def check_kind(path: Path) -> None:
    """Refuse an ending that is no table.

    Raises
    ------
    UsageError : the ending is neither .csv nor .parquet
    """
    if path.suffix.lower() not in (".csv", ".parquet"):
        raise UsageError("is no kind of table", file=str(path), do="end the name in .csv or .parquet")


def frame(channels: Sequence[Channel], wide: bool) -> pd.DataFrame:
    """Channels as a table.

    Parameters
    ----------
    wide : one row a time and one column a channel (``name [unit]``); else one row a value (``time_s``, ``channel``,
        ``unit``, ``value``, ``source``, ``file``)
    """
    if not wide:
        lengths = [len(channel) for channel in channels]
        table = pd.DataFrame(
            {
                "time_s": np.concatenate([c.t_s for c in channels]) if channels else np.empty(0),
                "channel": np.repeat([c.name for c in channels], lengths),
                "unit": np.repeat([c.unit for c in channels], lengths),
                "value": np.concatenate([c.value for c in channels]) if channels else np.empty(0),
                "source": np.repeat([c.source for c in channels], lengths),
                "file": np.repeat([c.file for c in channels], lengths),
            }
        )
        return table.sort_values("time_s", kind="stable", ignore_index=True)
    columns: dict[str, pd.Series[float]] = {}
    for channel in channels:
        heading = f"{channel.name} [{channel.unit}]" if channel.unit else channel.name
        if heading in columns:
            heading = f"{heading} from {channel.source}"
        number = 2
        while heading in columns:
            heading, number = f"{heading} #{number}", number + 1
        # Of values with one stamp the last counts: a wide table has one row a time.
        series = pd.Series(channel.value, index=channel.t_s)
        columns[heading] = series[~series.index.duplicated(keep="last")]
    return pd.DataFrame(columns).sort_index().rename_axis("time_s").reset_index()


def write(channels: Sequence[Channel], path: Path, wide: bool) -> None:
    """Write a table under a temporary name beside it, then put it in place.

    Raises
    ------
    UsageError : the ending is no table
    OutputError : it cannot be written; nothing half-written stays
    """
    check_kind(path)
    table = frame(channels, wide)
    temporary = path.with_name(f".{secrets.token_hex(6)}.part")
    try:
        if path.suffix.lower() == ".csv":
            table.to_csv(temporary, index=False)
        else:
            table.to_parquet(temporary, index=False)
        with interrupt.waits():
            temporary.replace(path)
            interrupt.wrote(path)
    except OSError as error:
        # the number, not the words: those of pyarrow are about its own buffers
        reason = os.strerror(error.errno).lower() if error.errno else "cannot be written"
        raise OutputError(reason, file=str(path), do="name another place with --out") from error
    finally:
        with suppress(OSError):
            temporary.unlink()
