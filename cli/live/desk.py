"""What the live page knows while it serves: the set-up file and the examples as last read, two solvers."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import count
from pathlib import Path
from typing import Any, Final

from stickout.cli.asking.written import free_path
from stickout.cli.live.asked import Asked, write_log
from stickout.cli.live.beginning import Typed, begun_file
from stickout.cli.live.sliders import SPEED, sliders_of
from stickout.cli.live.worker import Worker
from stickout.cli.outputs import writing
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.file import parse_tables, read_text, setup_from_tables
from stickout.fem.setup.kept_text import kept_text
from stickout.fem.setup.overrides import with_changes
from stickout.fem.setup.setup_error import SetupError

OWN: Final = "your set-up"
_MOST_BEGUN: Final = 100
_MOST_MEASURED: Final = 8  # tabs whose last measured set-up is kept in mind until it is saved
_SUFFIX: Final = "-measured"
_AGAIN: Final = re.compile(rf"{_SUFFIX}(-[0-9]+)?$")


@dataclass(frozen=True)
class Source:
    """A set-up file as it was when last read well.

    Attributes
    ----------
    path
        The file.
    stamp
        Time of change and size when it was read.
    text, tables
        Its text, comments and all, and its tables, changed as ``--set`` says.
    opening
        Title, units and sliders for the page.
    trouble
        One sentence where the file has gone or gone wrong since; empty when all is well.
    """

    path: Path
    stamp: tuple[int, int]
    text: str
    tables: Mapping[str, Any]
    opening: Mapping[str, Any]
    trouble: str = ""


def read_source(path: Path, *, changes: Sequence[str] = ()) -> Source:
    """Return a set-up file as the page needs it, changed as ``--set`` says.

    Raises
    ------
    SetupError
        The file cannot be read or used.
    """
    stamp = _stamp(path)
    text = read_text(path)
    tables = with_changes(parse_tables(text, name=str(path)), changes)
    setup = setup_from_tables(tables).setup
    opening = {
        "title": setup.title or path.stem,
        "units": setup.units,
        "sliders": sliders_of(setup),
        "revision": f"{path.name} {stamp[0]} {stamp[1]}",
        "file": str(path.resolve()),
    }
    return Source(path, stamp, text, tables, opening)


def _stamp(path: Path) -> tuple[int, int]:
    """Return time of change and size of a file; zeros where it is gone."""
    try:
        status = path.stat()
    except OSError:
        return (0, 0)
    return (status.st_mtime_ns, status.st_size)


class Desk:
    """The page's own set-up, the examples, and the solvers that answer questions on them.

    Parameters
    ----------
    setup
        The set-up file; None where it is yet to be made on the page.
    examples
        Folder with example set-ups; it may be missing.
    changes
        Changes of the set-up's keys, as of ``--set``.
    folder
        Where set-ups that are made on the page are saved.
    """

    def __init__(
        self, setup: Path | None, examples: Path, *, changes: Sequence[str] = (), folder: Path = Path()
    ) -> None:
        self.folder = folder
        self._changes = {OWN: changes}
        self._paths = {path.stem: path for path in sorted(examples.glob("*.toml"))}
        self._sources: dict[str, Source] = {}
        self._begun = 0
        if setup is not None:
            self._paths = {OWN: setup} | self._paths
            self._sources[OWN] = read_source(setup, changes=changes)
        self._numbers = count(1)
        self._underway: dict[str, int] = {}
        self._listening = False
        self._measured: dict[str, str] = {}
        self.quick, self.full = Worker(), Worker()

    @property
    def names(self) -> list[str]:
        """Return the names of what can be opened, the own set-up first where there is one."""
        return list(self._paths)

    def begin(self, typed: Typed) -> tuple[str, Path]:
        """Save a set-up of answered questions, and return the name it can be opened by and where it is.

        Raises
        ------
        InputError
            The answers are no whole set-up, the file cannot be written, or too many were made.
        SetupError
            The file cannot be used.
        """
        self._check_begun()
        return self._opened(begun_file(typed, self.folder))

    def _check_begun(self) -> None:
        """Raise InputError where the page has made as many files as it may."""
        if self._begun >= _MOST_BEGUN:
            mend = "Stop the program and start it again."
            raise InputError(key="FILE", given=self._begun, allowed=f"at most {_MOST_BEGUN} files", mend=mend)

    def _opened(self, path: Path) -> tuple[str, Path]:
        """Return the name by which a set-up that was just made can be opened, and where it is."""
        self._begun += 1
        name = path.name if OWN in self._paths else OWN
        self._sources[name] = read_source(path)
        self._paths = {name: path} | self._paths if name == OWN else self._paths | {name: path}
        return name, path.resolve()

    def close(self) -> None:
        """End the solvers."""
        for worker in (self.quick, self.full):
            worker.close()

    def source(self, name: str) -> Source:
        """Return a set-up, read again where its file has changed; what was read before where that fails.

        Raises
        ------
        KeyError
            There is no set-up of that name.
        SetupError
            It could never be read.
        """
        path, known = self._paths[name], self._sources.get(name)
        if known is not None and known.stamp == _stamp(path):
            return known
        try:
            self._sources[name] = read_source(path, changes=self._changes.get(name, ()))
        except SetupError as error:
            if known is None:
                raise
            told = str(error.mistakes[0])
            trouble = f"The file on disk can no longer be used, so what was read before goes on. {told}"
            return replace(known, path=path, trouble=trouble)
        return self._sources[name]

    async def answer(self, question: Mapping[str, Any]) -> dict[str, Any]:
        """Return the answer to a checked question of the page, with the opening of its set-up.

        Raises
        ------
        SetupError
            The set-up could never be read.
        StaleError
            The same tab has asked again meanwhile.
        WorkerLostError
            The solver ended before it answered.
        """
        number = next(self._numbers)
        tab = question["tab"]
        if tab in self._underway:
            self.full.give_up(self._underway[tab])
        source = self.source(question["source"])
        job = {key: question[key] for key in ("changes", "speed", "full")} | {"tables": source.tables}
        if not question["full"]:
            told = await asyncio.to_thread(self.quick.ask, job, number=number)
        else:
            self._underway[tab] = number
            try:
                told = await asyncio.to_thread(self.full.ask, job, number=number)
            finally:
                if self._underway.get(tab) == number:
                    del self._underway[tab]
        return told | {"opening": source.opening, "trouble": source.trouble}

    def saved(self, name: str, changes: Mapping[str, Any]) -> str:
        """Return a set-up with its sliders' values as the text of a set-up file."""
        return kept_text(self.source(name).text, self._tables(name, changes))

    def _tables(self, name: str, changes: Mapping[str, Any]) -> dict[str, Any]:
        """Return what a set-up file says, its sliders' values in it."""
        texts = [f"{key}={value!r}" for key, value in changes.items() if key != SPEED]
        return with_changes(dict(self.source(name).tables), texts)

    def begin_listening(self) -> bool:
        """Return whether a recording may be brought now: there is room for one at a time."""
        free, self._listening = not self._listening, True
        return free

    def end_listening(self) -> None:
        """Make room for the next recording."""
        self._listening = False

    async def listen(self, asked: Asked, folder: Path) -> dict[str, Any]:
        """Return what a recording and pulls say of a set-up; the recording lies in ``folder``.

        Raises
        ------
        SetupError
            The set-up could never be read.
        InputError
            A slider changes what the set-up does not have.
        StaleError, WorkerLostError
            As of ``answer``.
        """
        source = self.source(asked.source)
        log = write_log(folder, asked, units=str(source.opening["units"]))
        job = {
            "text": source.text,
            "tables": self._tables(asked.source, asked.changes),
            "log": str(log),
            "name": asked.name or "a pull",
        }
        self._measured.pop(asked.tab, None)
        told = await asyncio.to_thread(self.full.ask, job, number=next(self._numbers))
        kept = told.pop("kept", None)
        if kept is not None:
            while len(self._measured) >= _MOST_MEASURED:
                del self._measured[next(iter(self._measured))]
            self._measured[asked.tab] = kept
        return told

    def keep(self, name: str, *, tab: str) -> tuple[str, Path]:
        """Save the set-up with what a tab last measured, beside whatever is there; as ``begin``.

        Raises
        ------
        InputError
            Nothing was measured, the file cannot be written, or too many were made.
        SetupError
            The file cannot be used.
        """
        self._check_begun()
        kept = self._measured.get(tab)
        if kept is None:
            mend = "Bring the recording once more."
            raise InputError(key="recording", given=MISSING, allowed="one that was listened to", mend=mend)
        stem = _AGAIN.sub("", self._paths[name].stem)
        path = free_path(self.folder / f"{stem}{_SUFFIX}.toml")
        with writing(path, key="FILE") as part:
            part.write_text(kept, encoding="utf-8")
        return self._opened(path)
