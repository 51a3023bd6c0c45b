"""Write a folder whole or not at all: under a temporary name beside its place first, then renamed."""

from __future__ import annotations

import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from stickout.cli.outputs import clear_leftovers
from stickout.cli.refusals import refused
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain


@dataclass(frozen=True)
class FolderTarget:
    """A folder to be.

    Attributes
    ----------
    path
        Where it goes.
    own
        Pattern of the names that this program writes into it. Only a folder that holds nothing else is
        ever replaced.
    force
        Whether an earlier one may be replaced.
    key
        Name of the option it came from, for the error.
    """

    path: Path
    own: re.Pattern[str]
    force: bool = False
    key: str = "--out"

    @property
    def whole(self) -> Path:
        """The absolute path, links followed."""
        return self.path.resolve()


def check_folder(target: FolderTarget) -> None:
    """Check, before anything is computed, that a folder can be written.

    Raises
    ------
    InputError
        A file stands in its place; it exists and may not be replaced, or holds what is not ours; the place
        may not be written in.
    """
    whole = target.whole
    try:
        there = whole.exists()
    except OSError as error:
        raise refused(error, target.path, key=target.key, kind="folder") from error
    if there and not whole.is_dir():
        raise _cannot(target, f"{target.path}, which is a file", "Name a folder.")
    if whole.is_dir():
        _check_replaceable(target)
    with _part_of(target):
        pass


@contextmanager
def writing_folder(target: FolderTarget) -> Iterator[Path]:
    """Yield a temporary folder that takes the target's name when the block ends well.

    When the block fails the temporary folder is removed and what stood there stays as it was.

    Raises
    ------
    InputError
        See ``check_folder``; or the disk is full.
    """
    check_folder(target)
    with _part_of(target) as part:
        yield part
        _put_in_place(part, target.whole)


@contextmanager
def _part_of(target: FolderTarget) -> Iterator[Path]:
    """Yield the temporary folder; remove it at the end if it is still there."""
    whole = target.whole
    part = whole.with_name(f".{whole.name}.{os.getpid()}.part")
    for after in (".part", ".old"):
        clear_leftovers(whole.parent, before=f".{whole.name}.", after=after)
    try:
        part.mkdir()
        yield part
    except OSError as error:
        raise refused(error, target.path, key=target.key, kind="folder") from error
    except InputError as fault:
        # A writer inside has told a system's error with the temporary name; the user knows the folder.
        if isinstance(fault.__cause__, OSError):
            why = fault.__cause__
            raise refused(why, target.path, key=target.key, kind="folder") from why
        raise
    finally:
        if part.parent.is_dir():
            shutil.rmtree(part, ignore_errors=True)


def _put_in_place(part: Path, whole: Path) -> None:
    """Give the temporary folder its name; an earlier one is put aside first and removed last."""
    if not whole.exists():
        part.rename(whole)
        return
    aside = whole.with_name(f".{whole.name}.{os.getpid()}.old")
    whole.rename(aside)
    try:
        part.rename(whole)
    except OSError:
        aside.rename(whole)
        raise
    shutil.rmtree(aside, ignore_errors=True)


def _check_replaceable(target: FolderTarget) -> None:
    """Raise InputError where an existing folder may not be replaced."""
    if not target.force:
        mend = "Add --force to replace it, or name another folder."
        raise _cannot(target, f"{target.path}, which exists", mend)
    foreign = sorted(one.name for one in target.whole.iterdir() if not target.own.fullmatch(one.name))
    if foreign:
        given = f"{target.path}, which also holds {foreign[0]}"
        raise _cannot(target, given, "Only a pack of this command is replaced; name another folder.")


def _cannot(target: FolderTarget, given: str, mend: str) -> InputError:
    """Return the error of a folder that cannot be written."""
    return InputError(key=target.key, given=Plain(given), allowed="a folder that can be written", mend=mend)
