"""The time of day at which a recording began, from what the file says about itself."""

from __future__ import annotations

import datetime
from typing import Final

from logan.capture.reader import Tally

_KEYS: Final = ("start", "absolute start", "start_time", "start time", "start_unix", "recorded", "date")
_EARLIEST_S: Final = 1e8
_LATEST_NS: Final = 9 * 10**18


def origin_ns(metadata: dict[str, str], tally: Tally) -> int | None:
    """Unix time in ns of the recording's zero, None where the file does not say it or says an impossible one."""
    found = _said_ns(metadata, tally)
    if found is None or 0 <= found < _LATEST_NS:
        return found
    tally.add("bad_start", "start time out of range: left out", "comment")
    return None


def _said_ns(metadata: dict[str, str], tally: Tally) -> int | None:
    """Unix time in ns of the recording's zero: ``start: 1700000000.5`` or ``start: 2023-11-14T22:13:20Z``.

    A time without zone is taken as UTC, and that is said.
    """
    lower = {key.lower(): value for key, value in metadata.items()}
    for key in _KEYS:
        value = lower.get(key, "")
        if not value:
            continue
        try:
            seconds = float(value)
        except ValueError:
            pass
        else:
            if seconds * 1e9 >= _LATEST_NS:
                return _LATEST_NS
            if seconds >= _EARLIEST_S:
                whole, _, fraction = value.partition(".")
                exact = whole.isdigit() and (fraction or "0").isdigit()
                return int(whole) * 10**9 + int(fraction[:9].ljust(9, "0")) if exact else int(seconds * 1e9)
            continue
        try:
            moment = datetime.datetime.fromisoformat(value)
        except ValueError:
            continue
        if ":" not in value:
            tally.add("bad_start", "start without a time of day: left out", f"comment {key}")
            continue
        if moment.tzinfo is None:
            tally.add("time_zone", "start time without a time zone: taken as UTC", f"comment {key}")
            moment = moment.replace(tzinfo=datetime.UTC)
        since = moment - datetime.datetime(1970, 1, 1, tzinfo=datetime.UTC)
        return (since.days * 86400 + since.seconds) * 10**9 + since.microseconds * 1000
    return None
