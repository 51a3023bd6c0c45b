"""Write result files whole or not at all: into a temporary neighbour first, then renamed."""

from __future__ import annotations

import json
import os
import shutil
import sys
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, Final

from stickout.cli.refusals import refused
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

STANDARD_OUTPUT: Final = "-"
PICTURES: Final = (".svg", ".png", ".pdf")
_STEM: Final = 100  # bytes of the name that the temporary file keeps: what is added must fit too


def check_target(target: Path | None, *, key: str, suffixes: Sequence[str] = ()) -> None:
    """Check, before anything is computed, that a result file can be written.

    Parameters
    ----------
    target
        The file to be; None where none is asked for.
    key
        Name of the option it came from, for the error.
    suffixes
        The endings it may have, in small letters; none: any.

    Raises
    ------
    InputError
        The ending is another, the target is a folder, or its folder is missing or may not be written in.
    """
    if target is None:
        return
    check_suffix(target, suffixes, key=key)
    with writing(target, key=key, trial=True):
        pass


def check_suffix(
    target: Path, suffixes: Sequence[str], *, key: str, mend: str = "Change the ending."
) -> None:
    """Raise InputError where a file has an ending that is not among those allowed; with none, any is."""
    if suffixes and target.suffix.lower() not in suffixes:
        listed = " or ".join(filter(None, (", ".join(suffixes[:-1]), suffixes[-1])))
        raise InputError(key=key, given=str(target), allowed=f"a file that ends in {listed}", mend=mend)


def check_answer(json: str | None, plot: Path | None = None) -> None:
    """Check, before anything is computed, that the files of ``--json`` and ``--plot`` can be written.

    Raises
    ------
    InputError
        A file cannot be written, or the picture has an ending not known.
    """
    if json not in (None, STANDARD_OUTPUT):
        check_target(Path(str(json)), key="--json")
    check_target(plot, key="--plot", suffixes=PICTURES)


@contextmanager
def writing(target: Path, *, key: str, trial: bool = False) -> Iterator[Path]:
    """Yield a temporary file beside ``target`` that takes its name when the block ends well.

    The temporary file has the target's suffix, since writers choose the format by it. When the block
    fails, it is removed and the target stays as it was. A device is written to in place.

    Parameters
    ----------
    target
        The file to be.
    key
        Name of the option it came from, for the error.
    trial
        Make the temporary file and remove it, nothing more.

    Raises
    ------
    InputError
        The target is a folder, its folder is missing or may not be written in, or the disk is full.
    """
    whole, device = _place(target, key)
    folder = _spare_folder() if device else whole.parent
    stem = os.fsencode(whole.stem)[:_STEM].decode("utf-8", "ignore")
    part = folder / f".{stem}.{os.getpid()}.part{whole.suffix}"
    clear_leftovers(folder, before=f".{stem}.", after=f".part{whole.suffix}")
    try:
        part.touch(exist_ok=False)
        yield part
        if not trial:
            _sync(part)
        if device and not trial:
            whole.write_bytes(part.read_bytes())
        elif not trial:
            part.replace(whole)
    except OSError as error:
        raise refused(error, target, key=key) from error
    finally:
        # Its folder may be missing or no folder at all; then there is nothing to remove.
        if part.parent.is_dir():
            part.unlink(missing_ok=True)


def _place(target: Path, key: str) -> tuple[Path, bool]:
    """Return where a result goes, links followed, and whether that is a device."""
    try:
        whole = target.resolve()
        if not whole.is_dir():
            return whole, whole.exists() and not whole.is_file()
    except OSError as error:
        raise refused(error, target, key=key) from error
    given = Plain(f"{target}, a folder")
    allowed = "a file that can be written"
    raise InputError(key=key, given=given, allowed=allowed, mend="Name a file inside it.")


def clear_leftovers(folder: Path, *, before: str, after: str) -> None:
    """Remove the parts that processes left which were killed while they wrote.

    Parameters
    ----------
    folder
        Where they lie.
    before, after
        What stands in their names before and after the number of the process.
    """
    if not hasattr(os, "fork"):
        return  # Windows has no harmless way to ask for a process by its number
    with suppress(OSError):  # a folder that is missing, or not ours to clear
        for one in folder.iterdir():
            number = one.name.removeprefix(before).removesuffix(after)
            if one.name == f"{before}{number}{after}" and number.isdecimal() and _is_dead(int(number)):
                if one.is_dir() and not one.is_symlink():
                    shutil.rmtree(one, ignore_errors=True)
                else:
                    one.unlink(missing_ok=True)


def _is_dead(number: int) -> bool:
    """Return whether no process has this number."""
    try:
        os.kill(number, 0)
    except ProcessLookupError:
        return True
    except (OSError, OverflowError):
        return False
    return False


def _sync(part: Path) -> None:
    """Have the system put a file on the disk, so that its name never stands for less than was written."""
    with part.open("rb+") as file:
        os.fsync(file.fileno())


def _spare_folder() -> Path:
    """Return the system's folder for temporary files."""
    from tempfile import gettempdir  # a slow import, and devices are rare

    return Path(gettempdir())


def write_json(record: Mapping[str, Any], target: str, *, key: str = "--json") -> None:
    """Write a record as JSON to a file, or to standard output where the target is ``-``.

    Raises
    ------
    InputError
        The file cannot be written; see ``writing``.
    """
    text = json.dumps(record, indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    if target == STANDARD_OUTPUT:
        sys.stdout.write(text)
        return
    with writing(Path(target), key=key) as part:
        part.write_text(text, encoding="utf-8")
