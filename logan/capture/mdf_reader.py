"""python-can's reader of ASAM MDF 4, with what asammdf would do for nobody left out and what it must not do refused."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any, Final

import can
from can.io import mf4
from can.io.generic import BinaryIOMessageReader

from logan.capture.mdf_guard import most_bytes

OF_ANY_LENGTH: Final = 1
"""Type of a channel whose values are of any length: its records hold where each begins (ASAM MDF 4, from memory)."""
BUS_EVENT: Final = 1 << 1
"""Flag of a channel group: it holds events of a bus."""
_FORMULA: Final = 3
"""Type of a conversion that is a formula as text."""
_PLAIN: Final = re.compile(
    r"(?:\s|[-+/%(),&|~]|\*(?!\*)|\*\*\s*\d(?![\d.eE]|\s*\*\*)|<(?!<)|>(?!>)|[=!]=|"
    r"(?:\d{1,20}(?:\.\d{0,20})?|\.\d{1,20})(?:[eE][-+]?\d{1,3})?(?![\d.\w])|"
    r"\b(?:X1?|where|a?sinh?|a?cosh?|a?tanh?|arc(?:sin|cos|tan)h?|arctan2|sqrt|exp|expm1|log|log10|log1p|abs)\b)*+",
    re.ASCII,
)
"""Numbers, the value and functions of it: asammdf computes anything, a power of powers for hours."""
_MOST_POWERS_OF_BRACKETS: Final = 4
_LONGEST_FORMULA: Final = 1000


class MF4Reader(can.MF4Reader):
    """python-can's reader; opening it does not read every frame, and unpacks no data base that the file brings along.

    Parameters
    ----------
    file : path

    Raises
    ------
    NotImplementedError : asammdf is not installed
    ValueError : values of any length come to far more than the file's size, since records may share one; or a frame
        is computed by a formula that is not understood
    """

    def __init__(self, file: str) -> None:
        library: Any = mf4
        if library.asammdf is None:
            raise NotImplementedError
        BinaryIOMessageReader.__init__(self, file, mode="rb")
        self._mdf = library.MDF(file, process_bus_logging=False)
        self._start_timestamp = self._mdf.header.start_time.timestamp()
        opened: Any = self._mdf._mdf  # type: ignore[attr-defined]
        size = Path(file).stat().st_size
        most = most_bytes(size, size)
        for number, group in enumerate(self._mdf.groups):
            records = group.channel_group.cycles_nr
            for k, channel in enumerate(group.channels):
                if group.channel_group.flags & BUS_EVENT and not is_understood(channel.conversion):
                    raise ValueError(f"formula of {channel.name} not understood")
                if channel.channel_type != OF_ANY_LENGTH:
                    continue
                held = sum(part.original_size for part in group.signal_data[k] or ())
                if records * held > most and records * opened.determine_max_vlsd_sample_size(number, k) > most:
                    raise ValueError(f"the values of {channel.name} come to more than {most >> 20} MiB")


def is_understood(conversion: Any) -> bool:
    """Whether a conversion of asammdf, with those that it leads to, holds no formula but plain ones."""
    if conversion is None or isinstance(conversion, bytes):
        return True
    if conversion.conversion_type == _FORMULA:
        text = conversion.formula
        powers = re.sub(r"\s", "", text[:_LONGEST_FORMULA]).count(")**")
        return len(text) <= _LONGEST_FORMULA and powers <= _MOST_POWERS_OF_BRACKETS and bool(_PLAIN.fullmatch(text))
    return all(map(is_understood, (conversion.referenced_blocks or {}).values()))
