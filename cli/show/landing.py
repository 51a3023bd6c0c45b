"""Write a file whole or not at all: to a temporary file beside it, then renamed."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from meshes.errors import InputError


@contextmanager
def landing(out: Path, *, key: str = "--out") -> Iterator[Path]:
    """Yield a temporary path beside ``out`` that becomes ``out`` when the block ends well.

    Parameters
    ----------
    out
        The file to be written; its folder must exist.
    key
        Name of the option in messages.

    Yields
    ------
    Path
        Where to write; it has the same suffix as ``out`` and is gone when the block fails.

    Raises
    ------
    InputError
        ``out`` is a folder, its folder is missing or closed to us, or the disk is full.
    """
    if out.is_dir():
        raise InputError(key=key, given=str(out), allowed="a file", mend="Add a file name, such as bar.gif.")
    if not out.parent.is_dir():
        raise InputError(
            key=key,
            given=str(out),
            allowed="a file in a folder that exists",
            mend=f"Make the folder {out.parent} first.",
        )
    temporary: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=out.parent, prefix=".stickout-", suffix=out.suffix, delete=False
        ) as made:
            temporary = Path(made.name)
        yield temporary
        temporary.chmod(0o644)
        temporary.replace(out)
    except OSError as cause:
        raise InputError(
            key=key,
            given=str(out),
            allowed="a file that can be written",
            mend=f"The system says: {cause.strerror or cause}. Choose another place or free some room.",
        ) from cause
    finally:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
