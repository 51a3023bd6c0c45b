"""The folder that worker processes of this machine want for themselves; it never stays behind for long."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Final

_PREFIX: Final = "stickout-sweep-"


@contextmanager
def own_folder() -> Iterator[Path]:
    """Yield a folder that is removed after the block; those of killed runs are removed before it."""
    for left in Path(tempfile.gettempdir()).glob(f"{_PREFIX}*"):
        if _is_orphan(left):
            shutil.rmtree(left, ignore_errors=True)
    # Workers that are being stopped may still write there.
    with tempfile.TemporaryDirectory(prefix=f"{_PREFIX}{os.getpid()}-", ignore_cleanup_errors=True) as folder:
        yield Path(folder)


def _is_orphan(folder: Path) -> bool:
    """Return whether the process that made a folder is gone."""
    owner = folder.name.removeprefix(_PREFIX).partition("-")[0]
    if os.name != "posix" or not owner.isdecimal():
        return False
    try:
        os.kill(int(owner), 0)  # asks, kills nothing
    except ProcessLookupError:
        return True
    except OSError:
        return False  # somebody else's
    return False
