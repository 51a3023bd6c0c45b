"""What every command shares: reading the set-up, telling what went wrong, the exit codes.

0 done; 1 the computation failed; 2 the input is at fault. A command raises; ``run`` tells. Messages
go to standard error; with ``--json`` the error goes there too, as ``{"error": {...}}``.
"""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from stickout.cli.outputs import STANDARD_OUTPUT, write_json
from stickout.fem.errors import InputError, SolveError
from stickout.fem.setup.setup_error import SetupError

if TYPE_CHECKING:
    from types import FrameType

    from stickout.fem.setup.file import ReadSetup
    from stickout.fem.setup.parts import Setup

DONE: Final = 0
FAILED: Final = 1
AT_FAULT: Final = 2
STOPPED: Final = 130  # what a shell expects of a program stopped by Ctrl-C


class StopError(KeyboardInterrupt):
    """The system asked the program to stop: a closed window, or a terminate signal. Cleaned up as Ctrl-C."""

    def __init__(self, number: int) -> None:
        self.code = 128 + number  # as shells count
        super().__init__()


def load(
    path: Path, changes: Sequence[str] = (), *, needs: Callable[[Setup], object] | None = None
) -> ReadSetup:
    """Return the set-up of a command, its ``--set`` changes applied; warnings go to standard error.

    Parameters
    ----------
    path, changes
        The file, and changes of its keys.
    needs
        What the command needs of the set-up: raises InputError where it cannot be used, and then nothing
        doubtful is told beside that.

    Raises
    ------
    SetupError
        The set-up cannot be used; it carries all mistakes.
    """
    from stickout.fem.setup.file import read_setup  # here, so that commands without a set-up start sooner

    read = read_setup(path, changes=changes)
    if needs is not None:
        needs(read.setup)
    tell_read(read)
    return read


def tell_read(read: ReadSetup, *, whose: str = "") -> None:
    """Write what a set-up was read as, and what is doubtful in it, to standard error; ``whose`` names it."""
    for note in read.notes:
        tell(f"Note: {whose}{note}")
    for warning in read.warnings:
        tell(f"Warning: {whose}{warning}")


def tell(message: str) -> None:
    """Write one message to standard error."""
    print(message, file=sys.stderr)  # noqa: T201 - the one place that speaks to the user's screen


@dataclass(frozen=True)
class Job:
    """A command line that was understood: what to do, and where ``--json`` points."""

    work: Callable[[], object]
    json_target: str | None = None


def run(prepare: Callable[[], Job], *, json_target: str | None = None) -> int:
    """Run a command and return the exit code; what went wrong is told, nothing is raised for bad input.

    Parameters
    ----------
    prepare
        Understands the command line. It raises InputError where that cannot be understood; the work it
        returns raises SetupError or InputError for bad input, SolveError for a failed computation.
    json_target
        Where the error of a command line that is not understood is written as JSON. What such a line
        seems to name as a file may be anything, so that no file belongs here.

    Returns
    -------
    int
        0, 1 or 2; 130 when the user stopped it.
    """
    try:
        job = prepare()
        json_target = job.json_target
        job.work()
        sys.stdout.flush()
    except SetupError as error:
        return _at_fault(error.mistakes, json_target)
    except InputError as error:
        return _at_fault([error], json_target)
    except SolveError as error:
        tell(f"The computation failed. {error}")
        _write_error({"error": {"failed": str(error)}}, json_target)
        return FAILED
    except StopError as stop:
        with suppress(OSError):  # the window whose closing stopped the program is gone
            tell("Stopped.")
        return stop.code
    except KeyboardInterrupt:
        tell("Stopped.")
        return STOPPED
    except BrokenPipeError:
        _close_output()  # the reader (head, less) has gone
    except OSError as error:
        return _refused(error, json_target)
    return DONE


def _refused(error: OSError, target: str | None) -> int:
    """Tell what the system refused, a file, a temporary one or standard output, and return the exit code."""
    from stickout.cli.refusals import refused_temporary

    temporary = refused_temporary(error)
    if temporary is not None:
        return _at_fault([temporary], target)
    reason = (error.strerror or "refused").lower()
    if error.filename is not None:
        tell(f"{error.filename} could not be read or written: {reason}.")
    else:
        _close_output()
        tell(f"The answer could not be written to standard output: {reason}.")
    return AT_FAULT


@contextmanager
def stopping_cleanly() -> Iterator[None]:
    """Within the block a terminate signal, or the end of the window, raises StopError where we stand.

    What a caller has set to be ignored, as ``nohup`` does, stays ignored. Outside the main thread nothing
    is changed, since signals do not come there.
    """
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    numbers = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
    ours = [number for number in numbers if signal.getsignal(number) is signal.SIG_DFL]

    def stop(number: int, _: FrameType | None) -> None:
        for one in ours:  # once is enough: a second one must not break the cleaning up
            signal.signal(one, signal.SIG_IGN)
        raise StopError(number)

    for number in ours:
        signal.signal(number, stop)
    try:
        yield
    finally:
        for number in ours:
            signal.signal(number, signal.SIG_DFL)


def _close_output() -> None:
    """Keep the interpreter from writing, and complaining, once more at its exit."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def error_record(mistakes: Sequence[InputError]) -> dict[str, Any]:
    """Return the first mistake under ``error``, further ones under ``errors``, as plain data."""
    told = [
        {"key": one.key, "given": _plain(one.given), "allowed": one.allowed, "mend": one.mend}
        for one in mistakes
    ]
    return {"error": told[0]} | ({"errors": told[1:]} if told[1:] else {})


def _plain(given: object) -> object:
    """Return a given value as JSON can hold it."""
    if isinstance(given, list | tuple):
        return [_plain(one) for one in given]
    sound = isinstance(given, bool | int | str) or (isinstance(given, float) and abs(given) < float("inf"))
    return given if sound or given is None else str(given)


def _at_fault(mistakes: Sequence[InputError], target: str | None) -> int:
    """Tell the mistakes, one line each, and return the exit code of bad input."""
    for one in mistakes:
        tell(str(one))
    on_the_command_line = any(one.key.startswith("--") for one in mistakes)
    if target == STANDARD_OUTPUT or not on_the_command_line:
        # A mistaken option may be the file name itself: no file is made under it.
        _write_error(error_record(mistakes), target)
    return AT_FAULT


def _write_error(record: dict[str, Any], target: str | None) -> None:
    """Write an error to the ``--json`` channel; a channel that fails too is told in its turn."""
    if target is None or record["error"].get("key") == "--json":
        return  # nowhere to write, or it is this very file that cannot be written
    try:
        write_json(record, target)
    except InputError as second:
        tell(str(second))
    if target == STANDARD_OUTPUT:
        sys.stdout.flush()
