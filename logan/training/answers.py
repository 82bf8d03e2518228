"""A recording that answers like its vehicle: OBD requests on a virtual bus get what was recorded at that moment."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import can
import isotp
import numpy as np
from numpy.typing import NDArray

from logan.errors import UsageError
from logan.knowledge import obd
from logan.model.frames import Messages

FUNCTIONAL: Final = {False: 0x7DF, True: 0x18DB33F1}
"""Requests to all control modules, 11 and 29 bit (ISO 15765-4)."""
_POSITIVE: Final = 0x40
_ECHOED: Final = {0x01: 1, 0x02: 2, 0x06: 1, 0x09: 1, 0x22: 2}
"""Bytes of the request that the answer of a service repeats (SAE J1979, ISO 14229-1)."""
_POLL_S: Final = 0.002


@dataclass(frozen=True, slots=True)
class Recorded:
    """Answers of one control module: request -> times, (n,) s ascending, and payloads."""

    source: int
    extended: bool
    answers: dict[bytes, tuple[NDArray[np.float64], list[bytes]]]

    def at(self, request: bytes, t_s: float) -> bytes | None:
        """What the module answered last at a time, or first after it; None where that was never asked."""
        known = self.answers.get(request)
        if known is None:
            return None
        k = max(int(np.searchsorted(known[0], t_s, side="right")) - 1, 0)
        return known[1][k]


def recorded(messages: Messages) -> list[Recorded]:
    """The answers in a recording, by control module.

    A message is an answer where its first byte is that of a positive response; the request follows from it.
    """
    found: dict[tuple[int, bool], dict[bytes, list[tuple[float, bytes]]]] = {}
    for row in range(len(messages)):
        payload = messages.payload(row)
        request = _request(payload)
        if request is not None:
            module = found.setdefault((int(messages.source[row]), bool(messages.extended[row])), {})
            for asked, answer in _single(request, payload):
                module.setdefault(asked, []).append((float(messages.t_s[row]), answer))
    return [
        Recorded(
            source, extended, {q: (np.array([t for t, _ in rows]), [p for _, p in rows]) for q, rows in answers.items()}
        )
        for (source, extended), answers in found.items()
    ]


def _single(request: bytes, payload: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Requests and answers of one parameter each, where several parameters of service 01 were asked for at once."""
    if request[0] != 0x01:
        yield request, payload
        return
    rest = payload[1:]
    while rest:
        lengths = obd.pid_lengths().get(rest[0])
        size = 1 + min(lengths) if lengths and len(lengths) == 1 and len(rest) > 1 + lengths[0] else len(rest)
        yield bytes([0x01, rest[0]]), payload[:1] + rest[:size]
        rest = rest[size:]


def _request(payload: bytes) -> bytes | None:
    """The request that a positive response answers; None for requests and negative responses."""
    if len(payload) < 2 or payload[0] & 0xC0 != _POSITIVE or payload[0] == 0x7F:
        return None
    service = payload[0] - _POSITIVE
    echoed = _ECHOED.get(service, 0)
    return bytes([service]) + payload[1 : 1 + echoed] if len(payload) > echoed else None


def request_id(source: int, extended: bool) -> int:
    """Identifier that a module listens to (ISO 15765-4: 7E0 for 7E8, 18DA10F1 for 18DAF110)."""
    if extended:
        return source & 0xFFFF0000 | (source & 0xFF) << 8 | source >> 8 & 0xFF
    return source - 8


class Answering:
    """Control modules of a recording on a bus; ``now_s`` tells which moment of the recording they are at.

    Parameters
    ----------
    bus : where requests come from
    modules : what they answer
    now_s : called at each request, gives the time in the recording
    """

    def __init__(self, bus: can.BusABC, modules: list[Recorded], now_s: Callable[[], float]) -> None:
        if not modules:
            raise UsageError("the recording holds no answer of a control module", do="replay it without --answer")
        self._modules, self._now_s = modules, now_s
        self.answered = self.unknown = 0
        self._end = threading.Event()
        self._notifier = can.Notifier(bus, [], timeout=0.05)
        self._links = [self._link(bus, module) for module in modules]
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def start(self) -> None:
        """Answer until ``stop``."""
        for link in self._links:
            for layer in link:
                layer.start()
        self._thread.start()

    def stop(self) -> None:
        """Answer no more."""
        self._end.set()
        self._thread.join()
        for link in self._links:
            for layer in link:
                layer.stop()
        self._notifier.stop()

    def _link(self, bus: can.BusABC, module: Recorded) -> tuple[isotp.NotifierBasedCanStack, ...]:
        mode = isotp.AddressingMode.Normal_29bits if module.extended else isotp.AddressingMode.Normal_11bits
        own = request_id(module.source, module.extended)
        return tuple(
            isotp.NotifierBasedCanStack(
                bus,
                self._notifier,
                address=isotp.Address(mode, txid=module.source, rxid=rxid),
                params={"tx_padding": 0},
            )
            for rxid in (own, FUNCTIONAL[module.extended])
        )

    def _serve(self) -> None:
        while not self._end.is_set():
            idle = True
            for module, (own, functional) in zip(self._modules, self._links, strict=True):
                for layer in (own, functional):
                    request = layer.recv()
                    if request is None:
                        continue
                    idle = False
                    answer = self._answer(module, bytes(request))
                    if answer is None:
                        self.unknown += 1
                    else:
                        self.answered += 1
                        own.send(answer)
            if idle:
                self._end.wait(_POLL_S)

    def _answer(self, module: Recorded, request: bytes) -> bytes | None:
        """Answer to a request, several parameters of service 01 joined; None where it was never recorded."""
        now_s = self._now_s()
        whole = module.at(request, now_s)
        if whole is not None or len(request) <= 2 or request[0] != 0x01:
            return whole
        parts = [module.at(bytes([0x01, pid]), now_s) for pid in request[1:]]
        known = [part[1:] for part in parts if part is not None]
        return bytes([_POSITIVE | 0x01]) + b"".join(known) if known else None
