"""The files that one command line names: no output may be one of the inputs, nor another output."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from pathlib import Path
from typing import Any, Final

from stickout.cli.outputs import STANDARD_OUTPUT
from stickout.cli.refusals import name_fault
from stickout.fem.errors import InputError

# Parameters that name what a command writes. Every other path on a command line is something to be read.
OUTPUTS: Final = ("json", "out", "plot", "mesh", "energy", "film")
SETUP_SUFFIX: Final = ".toml"


@dataclass(frozen=True)
class NamedFiles:
    """The files of one command line, as they were typed; outputs with the option they came from.

    ``json_target`` is where a result or an error goes as JSON: a file, ``-``, or None.
    """

    inputs: tuple[Path, ...]
    outputs: tuple[tuple[str, Path], ...]
    json_target: str | None = None


def named_files(arguments: Mapping[str, Any]) -> NamedFiles:
    """Return the files that the bound arguments of a command name.

    Parameters
    ----------
    arguments
        Names of the command's parameters with their values; groups of options are dataclasses.
    """
    found = list(_named(arguments))
    outputs = [
        (f"--{name}", path) for name, path in found if name in OUTPUTS and str(path) != STANDARD_OUTPUT
    ]
    # ``--json`` first: while it may be at fault itself, nothing of any other fault may be written there.
    outputs.sort(key=lambda one: one[0] != "--json")
    inputs = tuple(path for name, path in found if name not in OUTPUTS)
    target = next((str(path) for name, path in found if name == "json"), None)
    return NamedFiles(inputs, tuple(outputs), target)


def check_named(named: NamedFiles) -> None:
    """Check that no file would be lost by writing the outputs, before anything is read or written.

    Raises
    ------
    InputError
        An output is one of the inputs by any name (a link, another spelling of the path), or another
        output, or ``--json`` points at what is a set-up by its name.
    """
    for key, path in (*(("file", one) for one in named.inputs), *named.outputs):
        fault = name_fault(path)
        if fault is not None:
            mend = "Check the name."
            given = str(path)[:40]
            raise InputError(
                key=key, given=given, allowed=f"a name that a disk takes, not {fault}", mend=mend
            )
    seen: list[tuple[str, Path]] = []
    for key, path in named.outputs:
        if any(same_file(path, one) for one in named.inputs):
            mend = "It would be lost. Give the output a name of its own."
            raise InputError(key=key, given=str(path), allowed="another file than those read", mend=mend)
        if key == "--json" and path.suffix.lower() == SETUP_SUFFIX:
            mend = "A file of that ending is a set-up and would be lost. End it in .json."
            raise InputError(key=key, given=str(path), allowed="a file for the result", mend=mend)
        for other, earlier in seen:
            if same_file(path, earlier):
                allowed = f"another file than {other}" if other != key else "another file each time"
                raise InputError(key=key, given=str(path), allowed=allowed, mend="Give two names.")
        seen.append((key, path))


def same_file(one: Path, other: Path) -> bool:
    """Return whether two paths name one file, now or once it is written: links and spelling do not count."""
    try:
        return one.samefile(other)
    except OSError:  # one of them is not there yet, or cannot be reached; their whole names are left
        return os.path.realpath(one) == os.path.realpath(other)


def _named(arguments: Mapping[str, Any]) -> Iterator[tuple[str, Path]]:
    """Yield every file of the arguments under its parameter's name."""
    for name, value in arguments.items():
        if is_dataclass(value):
            yield from _named({one.name: getattr(value, one.name) for one in fields(value)})
        for one in value if isinstance(value, tuple | list) else (value,):
            if isinstance(one, Path) or (name == "json" and isinstance(one, str)):
                yield name, Path(one)
