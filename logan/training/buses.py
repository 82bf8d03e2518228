"""Buses to play a recording on: virtual ones, and real ones only on a bench and only when told so."""

from __future__ import annotations

import logging
from pathlib import Path
from typing import Final

import can

from logan.errors import UsageError

UDP_GROUP: Final = "239.74.163.2"
"""Multicast group of private scope (RFC 2365: 239.0.0.0/8 does not leave the site)."""
_NET: Final = Path("/sys/class/net")
_CAN_TYPE: Final = "280"
"""ARPHRD_CAN of the Linux kernel."""
BENCH_CAUTION: Final = (
    "CAUTION: this sends on a real interface. Only a bench without a vehicle may hang on it: frames sent into a "
    "vehicle can move parts, stop the engine or harm people."
)
# Of a bus that could not be opened python-can warns that it was not closed: the error has said all.
logging.getLogger("can.bus").setLevel(logging.ERROR)


def open_bus(to: str, channel: str | None, bench: bool = False) -> can.BusABC:
    """A bus to send on.

    Parameters
    ----------
    to : ``virtual`` (within this program), ``udp`` (multicast on this network) or ``vcan`` (a SocketCAN interface)
    channel : name of the virtual bus, multicast group or SocketCAN interface; None for the usual one
    bench : whether a real SocketCAN interface may be used

    Raises
    ------
    UsageError : the target is not known, is real without ``bench``, or cannot be opened
    """
    try:
        if to == "virtual":
            return can.Bus(interface="virtual", channel=channel or "logan")
        if to == "udp":
            return can.Bus(interface="udp_multicast", channel=channel or UDP_GROUP)
        if to == "vcan":
            name = channel or "vcan0"
            if not bench and not _is_virtual(name):
                raise UsageError(
                    f"{name} is no virtual interface", do="make one (ip link add dev vcan0 type vcan), or give --bench"
                )
            return can.Bus(interface="socketcan", channel=name)
    except (can.CanError, OSError, ImportError) as error:
        raise UsageError(f"the bus cannot be opened: {error}", do="see that the interface is there and up") from error
    raise UsageError(f"{to} is no known target", do="use udp, vcan, virtual or page")


def _is_virtual(name: str) -> bool:
    """Whether a network interface is a virtual CAN interface of this machine; an absent one is not."""
    device = _NET / name
    if "/" in name or not device.exists():
        return False
    return "virtual" in device.resolve().parts and (device / "type").read_text("ascii").strip() == _CAN_TYPE
