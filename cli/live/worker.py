"""The solver of the live page in a process of its own: it may crash, hang or be killed, the page lives on."""

from __future__ import annotations

import multiprocessing
import signal
import threading
from collections.abc import Mapping
from multiprocessing.connection import Connection
from typing import Any, Final

LONGEST_S: Final = 300.0
_ENDING_S: Final = 5.0


class WorkerLostError(RuntimeError):
    """The worker ended or hung before it answered; a new one has been started."""


class StaleError(RuntimeError):
    """The question is no longer wanted."""


class Worker:
    """One solver process, asked one question at a time.

    Parameters
    ----------
    longest_s
        Time after which a question is given up and the process ended [s].
    """

    def __init__(self, longest_s: float = LONGEST_S) -> None:
        self._context = multiprocessing.get_context("spawn")
        self._given_up = self._context.Value("q", 0)
        self._lock = threading.Lock()
        self._stale: set[int] = set()
        self._longest_s = longest_s
        self._closed = False
        self._start()

    @property
    def pid(self) -> int | None:
        """Return the process number of the solver."""
        return self._process.pid

    def ask(self, job: Mapping[str, Any], *, number: int) -> dict[str, Any]:
        """Return the answer to a question; see ``stickout.cli.live.answer`` and, of a log, ``hearing``.

        Parameters
        ----------
        job
            The question, plain data.
        number
            A number of its own; ``give_up`` takes the same.

        Raises
        ------
        StaleError
            It was given up meanwhile.
        WorkerLostError
            The process ended before it answered.
        """
        with self._lock:
            if number in self._stale:
                self._stale.discard(number)
                raise StaleError
            if not self._process.is_alive():
                self._restart()
            try:
                self._pipe.send((number, dict(job)))
                if not self._pipe.poll(self._longest_s):
                    raise TimeoutError
                answer: dict[str, Any] | None = self._pipe.recv()
            except (EOFError, OSError) as trouble:
                late = isinstance(trouble, TimeoutError)
                self._restart()
                why = f"took longer than {self._longest_s:.0f} s" if late else "ended without an answer"
                raise WorkerLostError(f"The solver {why}; it was started anew.") from None
            finally:
                self._stale.discard(number)
        if answer is None:
            raise StaleError
        return answer

    def give_up(self, number: int) -> None:
        """Let a question that waits or is being worked on end at the next chance."""
        self._stale.add(number)
        self._given_up.value = number

    def close(self) -> None:
        """End the process for good."""
        self._closed = True
        self._end()

    def _end(self) -> None:
        """End the process, by force where it does not listen."""
        self._process.terminate()
        self._process.join(_ENDING_S)
        if self._process.is_alive():
            self._process.kill()
            self._process.join(_ENDING_S)
        self._pipe.close()

    def _start(self) -> None:
        """Start a process with a pipe to it."""
        self._pipe, theirs = self._context.Pipe()
        self._process = self._context.Process(target=serve, args=(theirs, self._given_up), daemon=True)
        self._process.start()
        theirs.close()

    def _restart(self) -> None:
        """End what is left of the process and start another."""
        if self._closed:
            return
        self._end()
        self._start()


def serve(pipe: Connection, given_up: Any) -> None:  # noqa: ANN401 - a shared number has no public type
    """Answer questions from a pipe until it closes; runs in the worker process.

    Parameters
    ----------
    pipe
        Gives (number, question), takes the answer, or None for one that was given up.
    given_up
        Shared number: the question of that number is no longer wanted.
    """
    # Ctrl-C reaches the whole group; the page ends the worker itself.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from stickout.cli.live.answer import answer
    from stickout.cli.live.hearing import hear

    while True:
        try:
            number, job = pipe.recv()
        except (EOFError, OSError):
            return

        def still_wanted(number: int = number) -> None:
            if given_up.value == number:
                raise StaleError

        try:
            told: dict[str, Any] | None
            told = hear(job) if "log" in job else answer(job, still_wanted=still_wanted)
        except StaleError:
            told = None
        pipe.send(told)
