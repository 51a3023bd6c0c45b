"""A progress bar for what takes more than two seconds: on standard error, and only on a screen."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from rich.progress import Progress

PATIENCE_S: Final = 2.0


class Bar:
    """A bar that shows itself after two seconds; ``set`` moves it."""

    def __init__(self, task: str) -> None:
        self._task = task
        self._share: float | None = None
        self._shown: Progress | None = None
        self._lock = Lock()
        self._timer = Timer(PATIENCE_S, self._show)
        self._timer.daemon = True

    def set(self, share: float, task: str | None = None) -> None:
        """Say how much is done, from 0 to 1, and what is being done now."""
        with self._lock:
            self._share, self._task = share, task or self._task
            self._update()

    def say(self, task: str) -> None:
        """Say what is being done now, where nobody knows how much there is to do."""
        with self._lock:
            self._task = task
            self._update()

    def start(self) -> None:
        """Start to wait, if there is a screen to show a bar on."""
        if sys.stderr.isatty():
            self._timer.start()

    def stop(self) -> None:
        """Take the bar away."""
        self._timer.cancel()
        with self._lock:
            if self._shown is not None:
                self._shown.stop()

    def _show(self) -> None:
        """Put the bar on the screen."""
        from rich.console import Console
        from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn, TimeRemainingColumn

        columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
        # Only where there is a share from the start can anybody tell how long it will take.
        left = () if self._share is None else (TextColumn("so far, left"), TimeRemainingColumn())
        shown = Progress(*columns, *left, console=Console(stderr=True), transient=True)
        with self._lock:
            if self._timer.finished.is_set():
                return
            shown.add_task(self._task, total=None)
            shown.start()
            self._shown = shown
            self._update()

    def _update(self) -> None:
        """Draw what is known; without a share the bar only moves to and fro."""
        if self._shown is not None:
            [task] = self._shown.task_ids
            if self._share is None:
                self._shown.update(task, description=self._task)
            else:
                self._shown.update(task, description=self._task, completed=self._share, total=1.0)


@contextmanager
def progress(task: str) -> Iterator[Bar]:
    """Yield a bar for a piece of work; when standard error is no screen nothing is ever printed."""
    bar = Bar(task)
    bar.start()
    try:
        yield bar
    finally:
        bar.stop()
