"""Why the system would not write a file or a folder: the true reason in one message, and what to do."""

from __future__ import annotations

import errno
import os
import shutil
from pathlib import Path
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

FULL: Final = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
LONGEST_NAME: Final = 255  # bytes of a file's name, as nearly every disk has it
_ROOM: Final = 1_000_000  # bytes; a disk with less is full
TEMPORARY: Final = "temporary files"
_MEND_TEMPORARY: Final = "Make room there, or set TMPDIR to a folder of your own with room."


def refused(error: OSError, target: Path, *, key: str, kind: str = "file") -> InputError:
    """Return the input error of a target that the system would not write.

    Parameters
    ----------
    error
        What the system said.
    target
        The file or folder to be, as the user named it.
    key
        Name of the option it came from.
    kind
        ``file`` or ``folder``.
    """
    temporary = refused_temporary(error, target)
    if temporary is not None:
        return temporary
    given, mend = _reason(error, target, kind)
    return InputError(key=key, given=Plain(given), allowed=f"a {kind} that can be written", mend=mend)


def refused_temporary(error: OSError, target: Path | None = None) -> InputError | None:
    """Return the input error of the folder for temporary files, where that is what the system refused.

    A write that fails for want of room does not say where; then it is the disk that has none.
    """
    import tempfile  # a slow import, and rare

    try:
        scratch = Path(tempfile.gettempdir()).resolve()
    except OSError:
        given = Plain("without any folder that can be written in")
        return InputError(key=TEMPORARY, given=given, allowed="kept in one", mend=_MEND_TEMPORARY)
    home = None if target is None else Path(os.path.realpath(target)).parent
    if isinstance(error.filename, str):
        named = Path(os.path.realpath(error.filename))
        there = named.is_relative_to(scratch) and not (home is not None and named.is_relative_to(home))
    else:
        there = error.errno in FULL and _is_full(scratch) and not (home is not None and _is_full(home))
    if not there:
        return None
    reason = "no room left" if error.errno in FULL else (error.strerror or "refused").lower()
    given = Plain(f"{scratch} ({reason})")
    return InputError(key=TEMPORARY, given=given, allowed="in a folder with room", mend=_MEND_TEMPORARY)


def name_fault(path: Path) -> str | None:
    """Return why no system takes this name; None where it does, or where only trying tells."""
    try:
        parts = [os.fsencode(part) for part in path.parts]
    except UnicodeEncodeError:
        return "not the name of a file"
    if any(b"\0" in part for part in parts):
        return "not the name of a file"
    return "too long a name" if any(len(part) > LONGEST_NAME for part in parts) else None


def _is_full(folder: Path) -> bool:
    """Return whether the disk of a folder has next to no room."""
    try:
        return shutil.disk_usage(folder).free < _ROOM
    except OSError:
        return False


def _reason(error: OSError, target: Path, kind: str) -> tuple[str, str]:
    """Return what a message says was given, and how to mend it."""
    if error.errno in FULL:
        return f"{target}, and there is no room left to write it", "Make room on the disk or write elsewhere."
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        whose, made = ("folder", "the folder") if kind == "file" else ("parent folder", "that folder")
        return f"{target}, whose {whose} does not exist", f"Make {made} first, or write elsewhere."
    if error.errno == errno.ENAMETOOLONG:
        return f"{_short(target)} (too long a name)", "Give it a shorter name."
    if error.errno == errno.EROFS:
        return f"{target} (the disk is read-only)", "Write to another disk."
    if error.errno == errno.ELOOP:
        return f"{target} (a loop of links)", "Give it a name of its own."
    return f"{target} ({(error.strerror or 'refused').lower()})", "Write to a folder of your own."


def _short(target: Path) -> str:
    """Return a long name cut, so that a message stays one that can be read."""
    text = str(target)
    return text if len(text) <= 60 else f"{text[:40]}...{text[-15:]}"
