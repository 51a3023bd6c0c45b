"""How long the live page's server waits for anybody, and how many it serves at once."""

from __future__ import annotations

import asyncio
from typing import Any, Final

from uvicorn.protocols.http.h11_impl import H11Protocol

from stickout.cli.live.worker import LONGEST_S

MOST_CONNECTIONS: Final = 48
QUESTION_S: Final = 10.0
# Two questions before this one may each take as long as a solver may.
ANSWER_S: Final = 3 * LONGEST_S


class PatientProtocol(H11Protocol):
    """HTTP as the server speaks it, with an end to all waiting.

    A question must have come whole within ``question_s`` of the connection or of the answer before it, and
    its answer must have gone within ``answer_s``; otherwise the connection is closed. Past ``most``
    connections the one that has waited longest without a question makes room for the newest.
    """

    most = MOST_CONNECTIONS
    question_s = QUESTION_S
    answer_s = ANSWER_S

    def __init__(self, *given: Any, **named: Any) -> None:  # noqa: ANN401 - as the parent takes them
        super().__init__(*given, **named)
        self._deadline: asyncio.TimerHandle | None = None
        self._since = 0.0

    @property
    def idle(self) -> bool:
        """Return whether nothing whole has been asked that is not answered."""
        return self.cycle is None or self.cycle.response_complete or self.cycle.more_body

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take a connection; where there are too many, close the one that has been idle longest."""
        super().connection_made(transport)
        self._wait(self.question_s)
        if len(self.connections) > self.most:
            idle = [one for one in self.connections if isinstance(one, PatientProtocol) and one.idle]
            min(idle, key=lambda one: one._since, default=self).transport.abort()

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget the deadline with the connection."""
        self._end_wait()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """Take what came; once the question is whole, the deadline is that of its answer."""
        super().data_received(data)
        if not self.idle and not self.transport.is_closing():
            self._wait(self.answer_s)

    def on_response_complete(self) -> None:
        """Wait for the next question as for the first."""
        super().on_response_complete()
        if not self.transport.is_closing():
            self._wait(self.question_s)

    def _wait(self, seconds: float) -> None:
        """Close the connection after so long, unless something happens before."""
        self._end_wait()
        self._since = self.loop.time()
        self._deadline = self.loop.call_later(seconds, self.transport.abort)

    def _end_wait(self) -> None:
        """Stop waiting."""
        if self._deadline is not None:
            self._deadline.cancel()
            self._deadline = None
