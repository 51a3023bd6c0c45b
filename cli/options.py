"""Parameters that several commands share, so that each reads and is explained the same everywhere."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

SetupFile = Annotated[Path, Parameter(help="The set-up file (TOML).")]
Changes = Annotated[
    tuple[str, ...],
    Parameter(name="--set", negative="", help="Change one key for this run: --set bar.overhang=100."),
]
JsonTarget = Annotated[
    str | None,
    Parameter(
        allow_leading_hyphen=True, help="File for the result as JSON, SI throughout; - for standard output."
    ),
]
