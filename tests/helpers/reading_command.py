"""A command for the tests only: it reads a set-up, as every real command does, and writes it back."""

from __future__ import annotations

import sys

from stickout.cli.options import Changes, JsonTarget, SetupFile
from stickout.cli.outputs import write_json
from stickout.cli.run import load
from stickout.fem.errors import SolveError
from stickout.fem.records.setup import setup_record


def read(setup: SetupFile, /, *, changes: Changes = (), json: JsonTarget = None, fail: bool = False) -> None:
    """Read a set-up and tell its title; ``fail`` acts a computation that did not converge."""
    loaded = load(setup, changes)
    if fail:
        raise SolveError("Only 4 of 6 modes converged. Ask for fewer modes.")
    if json is not None:
        write_json(setup_record(loaded.setup), json)
    if json != "-":
        sys.stdout.write(f"{loaded.setup.title}\n")
