"""The command ``page``: the set-up on sliders in this machine's browser, answered while they are dragged."""

from __future__ import annotations

import socket
import sys
from contextlib import suppress
from pathlib import Path
from typing import Annotated, Final

from cyclopts import Parameter

from stickout.cli.options import Changes
from stickout.cli.run import load
from stickout.fem.errors import InputError

ADDRESS: Final = "127.0.0.1"
USUAL_PORT: Final = 8017
_LOWEST, _HIGHEST = 1024, 65535
_TRIES: Final = 50
EXAMPLES: Final = Path(__file__).parents[2] / "examples"


def page(
    setup: Annotated[
        Path | None, Parameter(help="The set-up file (TOML); without it the page asks for your tool.")
    ] = None,
    /,
    *,
    changes: Changes = (),
    port: Annotated[int, Parameter(help="Port on this machine, 1024 to 65535.")] = USUAL_PORT,
) -> None:
    """Serve a page with sliders for this machine's own browser; Ctrl-C ends it.

    Parameters
    ----------
    setup
        The set-up file. It is read again when it changes, never written. Without one the page asks what
        ``new`` asks, and saves the file in the folder that the program was started in.
    changes
        Changes of its keys, as if they stood in the file.
    port
        Port on this machine.
    """
    if setup is not None:
        load(setup, changes)
    elif changes:
        mend = "Name the set-up file that is to be changed."
        raise InputError(key="--set", given=changes[0], allowed="a set-up file to change", mend=mend)
    listening = listener(port)
    import uvicorn  # here, so that errors are told sooner

    from stickout.cli.live.desk import Desk
    from stickout.cli.live.server import serving_options

    desk = Desk(setup, EXAMPLES, changes=changes)
    _say(f"Open http://{ADDRESS}:{port}/ in a browser on this machine. Ctrl-C ends it.")
    config = serving_options(desk, port=port, saved=lambda path: _say(f"Saved: {path}"))
    # Ctrl-C is the way to end it, so it is no failure.
    with listening, suppress(KeyboardInterrupt):
        uvicorn.Server(config).run(sockets=[listening])
    _say("Stopped.")


def _say(line: str) -> None:
    """Show a line at once."""
    sys.stdout.write(f"{line}\n")
    sys.stdout.flush()


def listener(port: int) -> socket.socket:
    """Return a socket bound to a port of this machine alone.

    Raises
    ------
    InputError
        The port is out of range, or taken; a free one near it is offered.
    """
    if not _LOWEST <= port <= _HIGHEST:
        allowed = f"from {_LOWEST} to {_HIGHEST}"
        raise InputError(key="--port", given=port, allowed=allowed, mend=f"Leave it out for {USUAL_PORT}.")
    found = _bound(port)
    if found is not None:
        return found
    for other in range(port + 1, min(port + _TRIES, _HIGHEST) + 1):
        spare = _bound(other)
        if spare is not None:
            spare.close()
            mend = f"Another program has it. Port {other} is free: --port {other}."
            raise InputError(key="--port", given=port, allowed="a free port", mend=mend)
    mend = "Another program has it, and so it is with the next ones. Try one far from it."
    raise InputError(key="--port", given=port, allowed="a free port", mend=mend)


def _bound(port: int) -> socket.socket | None:
    """Return a socket that listens on a port, None where another program has it."""
    one = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
    # A port that was just given up may be taken again at once; on Windows the option means another thing.
    if sys.platform != "win32":
        one.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        one.bind((ADDRESS, port))
        one.listen()  # now, or two programs could both be bound and find out later
    except OSError:
        one.close()
        return None
    return one
