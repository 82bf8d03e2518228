"""Connections that say nothing are ended: whoever opens one has to ask for something soon."""

from __future__ import annotations

import asyncio
from typing import Final

from uvicorn.protocols.http.h11_impl import H11Protocol

HEAD_S: Final = 20.0
"""Longest time from the opening of a connection, or from the last answer, to the whole head of a request."""


class Prompt(H11Protocol):
    """HTTP/1.1 as uvicorn speaks it, with an end to connections on which no request comes."""

    _due: asyncio.TimerHandle | None = None

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Somebody connects."""
        super().connection_made(transport)
        self._wait()

    def on_response_complete(self) -> None:
        """An answer is out: the next request may come."""
        super().on_response_complete()
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """The connection is over."""
        super().connection_lost(exc)
        self._stop()

    def _wait(self) -> None:
        self._stop()
        self._due = self.loop.call_later(HEAD_S, self._end)

    def _stop(self) -> None:
        if self._due is not None:
            self._due.cancel()

    def _end(self) -> None:
        answering = self.cycle is not None and not self.cycle.response_complete
        if not answering and not self.transport.is_closing():
            self.transport.close()
