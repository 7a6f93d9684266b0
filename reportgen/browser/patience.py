"""Connections that begin a request and do not go on: given up after a while, the oldest first where there are many.

The server itself waits for the head of a request without end. What is used of it here it does not promise to keep;
the test of such connections (T11) tells when it is otherwise.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, cast

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

if TYPE_CHECKING:
    import asyncio

HEADERS_SECONDS: Final = 10.0
"""Longest time in which the head of a request may come, however it comes."""
MOST_WAITING: Final = 32
"""Connections that may be without a whole head at one time: half of all that are taken."""

_waiting: dict[Patient, asyncio.TimerHandle] = {}


class Patient(H11Protocol):
    """A connection that waits for the head of a request for a while, and makes room for others."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override] # as uvicorn states it: a server's is never another
        """Begin to wait."""
        while len(_waiting) >= MOST_WAITING:
            next(iter(_waiting)).give_up()
        super().connection_made(transport)
        self._watch()

    def data_received(self, data: bytes) -> None:
        """Take what came; the time runs on until it is a whole head."""
        super().data_received(data)
        self._watch()

    def connection_lost(self, exc: Exception | None) -> None:
        """Wait no longer."""
        self._forget()
        super().connection_lost(exc)

    def give_up(self) -> None:
        """Close a connection that nothing whole came of."""
        self._forget()
        self.transport.abort()

    def _watch(self) -> None:
        answering = self.cycle is not None and not self.cycle.response_complete
        # one that was answered has a time of its own until something comes again
        rests = self.cycle is not None and self.timeout_keep_alive_task is not None
        if answering or rests or self.transport.is_closing() or self.conn.their_state is not h11.IDLE:
            self._forget()
        elif self not in _waiting:
            _waiting[self] = cast("Any", self.loop).call_later(HEADERS_SECONDS, self.give_up)

    def _forget(self) -> None:
        timer = _waiting.pop(self, None)
        if timer is not None:
            timer.cancel()
