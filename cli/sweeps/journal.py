"""The journal of a sweep: every finished case is on the disk as soon as it is finished.

The first line says which plan it belongs to, every other line is one case. A line that was torn when the
program was killed is dropped. One sweep at a time holds the file; the system lets go of it when that dies.
"""

from __future__ import annotations

import json
import os
import sys
import time
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

from stickout.cli.refusals import refused
from stickout.cli.sweeps.plan import Plan
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.sweep.case_row import Row

_SYNC_S: Final = 2.0  # how much work a power cut may cost
_KEY: Final = "--out"
_SUFFIX: Final = ".journal"
_BEGIN: Final = b'{"journal":'
_LOCK_AT: Final = 1 << 40  # a byte far behind the end: Windows locks bytes, and ours must stay readable


def journal_path(out: Path) -> Path:
    """Return where the journal of an output file lies: beside it."""
    return out.with_name(out.name + _SUFFIX)


class Journal:
    """The finished cases of one plan, open for more."""

    def __init__(self, descriptor: int, path: Path, columns: Sequence[str], count: int) -> None:
        self.path = path
        self.altered: int | None = None  # number of the first line that is not as it was written
        self._count = count
        self._descriptor = descriptor
        self._columns = columns
        self._at: dict[int, int] = {}
        self._end = 0
        self._synced = time.monotonic()

    @property
    def done(self) -> dict[int, int]:
        """Return the numbers of the cases that are in it, and where."""
        return self._at

    def add(self, number: int, row: Row) -> None:
        """Keep a case; one that is kept already stays as it is.

        Raises
        ------
        InputError
            There is no room left, or the file cannot be written; what was kept before stays whole.
        """
        if number in self._at:
            return
        at = self._end
        entry = [number, [row.get(name) for name in self._columns]]
        self._write([*entry, _check_of(entry)])
        self._at[number] = at

    def rows(self, numbers: Iterable[int]) -> Iterator[tuple[int, Row]]:
        """Yield cases with their rows, in the order asked for."""
        with self.path.open("rb") as file:
            for number in numbers:
                file.seek(self._at[number])
                entry = _entry(file.readline())
                if not self._sound(entry) or entry[0] != number:
                    raise _altered(self.path, f"case {number}")
                values = entry[1]
                yield number, dict(zip(self._columns, values, strict=True))

    def start(self, header: Mapping[str, Any]) -> None:
        """Write the first line of a new journal."""
        os.ftruncate(self._descriptor, 0)
        self._write(header)
        os.fsync(self._descriptor)

    def read(self) -> dict[str, Any] | None:
        """Read what is there, and return the first line; None where there is none, or a torn one."""
        header: dict[str, Any] | None = None
        with self.path.open("rb") as file:
            for number, line in enumerate(file, start=1):
                entry = _entry(line)
                if header is None:
                    if entry is None and line.startswith(_BEGIN):
                        break
                    header = entry if isinstance(entry, dict) else {}
                elif not line.endswith(b"\n"):
                    break  # torn, and so the last
                elif self._sound(entry):
                    self._at.setdefault(entry[0], self._end)
                else:
                    self.altered = number
                    break
                self._end += len(line)
        return header

    def _sound(self, entry: Any) -> bool:  # noqa: ANN401 - whatever stood there
        """Return whether a line is a case as it was written: its checksum, its number, its columns."""
        if not (isinstance(entry, list) and len(entry) == 3):
            return False
        number, values, check = entry
        whole = isinstance(number, int) and not isinstance(number, bool) and 0 <= number < self._count
        return (
            whole
            and isinstance(values, list)
            and len(values) == len(self._columns)
            and check == _check_of(entry[:2])
        )

    def cut_torn_line(self) -> None:
        """Take what follows the last whole line off the file."""
        os.ftruncate(self._descriptor, self._end)

    def _write(self, entry: object) -> None:
        """Write one line, whole or not at all."""
        line = _text_of(entry) + b"\n"
        try:
            if not os.fstat(self._descriptor).st_nlink:
                raise _removed(self.path, len(self._at))
            os.lseek(self._descriptor, self._end, os.SEEK_SET)
            left = memoryview(line)
            while left:
                left = left[os.write(self._descriptor, left) :]
            if time.monotonic() - self._synced > _SYNC_S:
                os.fsync(self._descriptor)
                self._synced = time.monotonic()
        except OSError as error:
            os.ftruncate(self._descriptor, self._end)
            raise _no_room(self.path, error, len(self._at)) from error
        self._end += len(line)


def header_of(plan: Plan, *, columns: Sequence[str], code: str) -> dict[str, Any]:
    """Return the first line of the journal of a plan: what must be the same to go on with it."""
    return {"journal": 1, "cases": plan.count, "columns": list(columns), "code": code, **plan.record()}


@contextmanager
def journal_of(
    plan: Plan, out: Path, *, columns: Sequence[str], code: str, resume: bool
) -> Iterator[Journal]:
    """Yield the journal of a plan; it is removed after a block that ends well, or that kept nothing.

    Parameters
    ----------
    plan
        The plan.
    out
        The table to be; the journal lies beside it.
    columns
        Names of what is kept of a case.
    code
        What code runs, as text: rows of two versions do not go into one table.
    resume
        Whether to go on with what an earlier run has kept.

    Raises
    ------
    InputError
        A journal is there and was not asked for, belongs to another plan, or is being written by another
        sweep; or it cannot be written.
    """
    path = journal_path(out)
    header = header_of(plan, columns=columns, code=code)
    remove = False
    with _locked(path) as descriptor:
        journal = Journal(descriptor, path, columns, plan.count)
        found = journal.read()
        if found is not None:
            _check(path, found, header, kept=len(journal.done), resume=resume)
            if journal.altered is not None:
                raise _altered(path, f"line {journal.altered}")
            journal.cut_torn_line()
        try:
            if found is None:
                journal.start(header)
            yield journal
            remove = True
        finally:
            remove = remove or not journal.done
            if remove and sys.platform != "win32":
                path.unlink(
                    missing_ok=True
                )  # while it is held, so that nobody begins on a file about to vanish
    if remove and sys.platform == "win32":
        path.unlink(missing_ok=True)


@contextmanager
def _locked(path: Path) -> Iterator[int]:
    """Yield the journal's file, held against every other sweep."""
    flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0)
    try:
        descriptor = os.open(path, flags, 0o666)
    except OSError as error:
        raise refused(error, path, key=_KEY) from error
    try:
        held = _lock(descriptor)
        if not held or not path.exists() or not os.path.samestat(os.fstat(descriptor), path.stat()):
            mend = "Wait for it, or give another name."
            given = Plain(f"{path.name.removesuffix(_SUFFIX)}, which another sweep is writing")
            raise InputError(key=_KEY, given=given, allowed="a table of this sweep alone", mend=mend)
        yield descriptor
    finally:
        os.close(descriptor)


def _lock(descriptor: int) -> bool:
    """Take the lock of a file; False where somebody else has it."""
    try:
        if sys.platform == "win32":
            import msvcrt

            os.lseek(descriptor, _LOCK_AT, os.SEEK_SET)
            msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True


def _text_of(entry: object) -> bytes:
    """Return a line without its end."""
    return json.dumps(entry, separators=(",", ":"), ensure_ascii=False).encode()


def _check_of(entry: object) -> str:
    """Return the checksum of a case: its number with its values as they are written."""
    return f"{zlib.crc32(_text_of(entry)):08x}"


def _altered(path: Path, where: str) -> InputError:
    """Return the error of a journal that is not as this program wrote it."""
    given = Plain(f"{path}, whose {where} was altered or damaged")
    mend = "Take that line and what follows it out to keep the cases before it, or remove the file."
    return InputError(key="--resume", given=given, allowed="a journal as it was written", mend=mend)


def _removed(path: Path, kept: int) -> InputError:
    """Return the error of a journal, or its folder, that went while the sweep ran."""
    given = Plain(f"{path}, which was removed while the sweep was writing it ({kept} cases were in it)")
    mend = "Leave it until the table is written; start again."
    return InputError(key=_KEY, given=given, allowed="a file that stays", mend=mend)


def _entry(line: bytes) -> Any:  # noqa: ANN401 - a header or a case
    """Return what a line holds, None where it was torn."""
    if not line.endswith(b"\n"):
        return None
    try:
        return json.loads(line)
    except (ValueError, RecursionError):
        return None


def _check(path: Path, found: dict[str, Any], header: dict[str, Any], *, kept: int, resume: bool) -> None:
    """Check that a journal that was found is the one to go on with."""
    if not resume:
        given = Plain(f"unfinished: {path} holds {kept} of {found.get('cases', '?')} cases")
        mend = "Add --resume to go on where it stopped, or remove that file to start afresh."
        raise InputError(key=_KEY, given=given, allowed="a new table", mend=mend)
    other = [name for name in header if found.get(name) != header[name] and name not in ("cases", "columns")]
    if other:
        what = {"code": "another version of this program", "journal": "another kind of journal"}
        told = ", ".join(what.get(name, f"another {name.removeprefix('another ')}") for name in other)
        given = Plain(f"{path}, begun with {told}")
        mend = "Give the same command as then, write to another file, or remove that one."
        raise InputError(key="--resume", given=given, allowed="the journal of this very sweep", mend=mend)
    if found != header:
        raise _altered(path, "line 1")


def _no_room(path: Path, error: OSError, kept: int) -> InputError:
    """Return the error of a journal that cannot grow."""
    told = refused(error, path, key=_KEY)
    mend = f"{told.mend} Nothing is lost: {kept} finished cases are kept; --resume goes on with them."
    return InputError(key=_KEY, given=told.given, allowed=told.allowed, mend=mend)
