"""What code runs here: version and fingerprint, so that two machines can tell whether theirs is the same."""

from __future__ import annotations

import platform
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Final

from stickout.cli.version import VERSION

_PACKAGES: Final = ("meshes", "fem", "cli")


@dataclass(frozen=True)
class Code:
    """Version of the tool, fingerprint of its source, versions of Python and NumPy as far as they matter."""

    version: str
    source: str
    python: str
    numpy: str


@cache
def code() -> Code:
    """Return what runs in this process."""
    from importlib.metadata import version

    python = ".".join(platform.python_version_tuple()[:2])
    return Code(VERSION, _source(), python, version("numpy").split(".")[0])


def _source() -> str:
    """Return the fingerprint of every module of the three packages."""
    found = sha256()
    top = Path(__file__).parent.parent
    for package in _PACKAGES:
        for path in sorted((top / package).rglob("*.py")):
            found.update(path.relative_to(top).as_posix().encode())
            found.update(path.read_bytes().replace(b"\r\n", b"\n"))
    return found.hexdigest()[:16]
