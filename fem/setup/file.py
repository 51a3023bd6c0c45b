"""The set-up file: TOML in, one checked ``Setup`` out, or every mistake at once."""

from __future__ import annotations

import errno
import re
import stat
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, hint
from stickout.fem.setup.building import build_setup
from stickout.fem.setup.checks import setup_warnings
from stickout.fem.setup.keys import SECTIONS
from stickout.fem.setup.overrides import DEEPEST, depth_of, with_changes, without
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.reading import Reading
from stickout.fem.setup.setup_error import SetupError
from stickout.fem.units import has_decimal_comma

_AT_LINE = re.compile(r"line (\d+)")
_LIKE_SETUP = re.compile(r"\[{1,2}[\w. \"']+\]{0,2}$|[\w.\"' -]+=", re.ASCII)
_MOST_ECHOED = 100  # characters
_MOST_BYTES = 1_000_000  # a set-up file is some hundred bytes long; a film given by mistake is not
_MOST_NAMES = 1000  # set-ups of a folder that are looked through for a name like the one given

__all__ = [
    "ReadSetup",
    "SetupError",
    "parse_setup",
    "parse_tables",
    "read_setup",
    "read_tables",
    "setup_from_tables",
]


@dataclass(frozen=True)
class ReadSetup:
    """A set-up that passed every check; what is doubtful in it and what was taken as usual, in sentences."""

    setup: Setup
    warnings: tuple[str, ...]
    notes: tuple[str, ...] = ()


def read_setup(path: str | Path, *, changes: Sequence[str] = (), leave_out: Sequence[str] = ()) -> ReadSetup:
    """Read a set-up file.

    Parameters
    ----------
    path
        The file, TOML in UTF-8.
    changes
        ``key=value`` texts of ``--set``, applied before the checks.
    leave_out
        Sections or keys taken out, before the changes.

    Returns
    -------
    ReadSetup
        The set-up, its warnings, and what was read as something else or taken as usual.

    Raises
    ------
    SetupError
        The file cannot be read, or anything in it is at fault; it carries all mistakes.

    Examples
    --------
    >>> from pathlib import Path
    >>> from stickout.fem import read_setup
    >>> bar = 'section = "round"', "diameter = 16", "overhang = 80", 'material = "steel"'
    >>> with Path("bar.toml").open("w") as file:
    ...     print('units = "mm"', "[bar]", *bar, "[grip]", 'style = "rigid"', sep=chr(10), file=file)
    >>> read_setup(Path("bar.toml"), changes=["bar.overhang=64"]).setup.bar.overhang_mm
    64.0
    """
    return setup_from_tables(read_tables(Path(path)), changes=changes, leave_out=leave_out)


def parse_setup(text: str, *, changes: Sequence[str] = (), leave_out: Sequence[str] = ()) -> ReadSetup:
    """Read a set-up from TOML text; the other parameters and errors are those of ``read_setup``."""
    return setup_from_tables(parse_tables(text), changes=changes, leave_out=leave_out)


def setup_from_tables(
    tables: dict[str, Any], *, changes: Sequence[str] = (), leave_out: Sequence[str] = ()
) -> ReadSetup:
    """Return the set-up that the tables of a file describe; parameters and errors as in ``read_setup``."""
    try:
        changed = with_changes(without(tables, leave_out), changes)
    except InputError as mistake:
        raise SetupError([mistake]) from None
    reading = Reading(changed)
    setup = build_setup(reading)
    if reading.mistakes:
        raise SetupError(sorted(reading.mistakes, key=_place))
    return ReadSetup(setup, setup_warnings(setup), tuple(reading.notes))


def _place(mistake: InputError) -> int:
    """Return where in the usual order of a file the section of a mistake stands."""
    section = mistake.key.partition(".")[0]
    return SECTIONS.index(section) + 1 if section in SECTIONS else 0


def read_tables(path: Path) -> dict[str, Any]:
    """Return the tables of a set-up file, unchecked.

    Raises
    ------
    SetupError
        There is no such file, it is a folder or too long, may not be read, or is not TOML in UTF-8.
    """
    return parse_tables(read_text(path), name=str(path))


def read_text(path: Path) -> str:
    """Return the text of a set-up file, comments and all.

    Raises
    ------
    SetupError
        There is no such file, it is a folder or too long, may not be read, or is not UTF-8.
    """
    try:
        found = path.stat()
        if not (stat.S_ISREG(found.st_mode) or stat.S_ISDIR(found.st_mode)):
            raise _file_error(path, "a pipe or a device", "Save the set-up in a file and name that.")
        with path.open("rb") as file:
            raw = file.read(_MOST_BYTES + 1)
        if len(raw) > _MOST_BYTES:
            raise _file_error(path, "too long", "A set-up file is a short text; was another file meant?")
    except FileNotFoundError:
        known = [one.name for one in sorted(path.parent.glob("*.toml"))[:_MOST_NAMES]]
        raise _file_error(
            path, MISSING, hint(path.name, known, otherwise="Check the name and the folder.")
        ) from None
    except IsADirectoryError:
        raise _file_error(path, "a folder", "Name the file inside it.") from None
    except OSError as error:
        reason = "a loop of links" if error.errno == errno.ELOOP else f"unreadable ({error.strerror})"
        raise _file_error(path, reason, "Check the name and who may read it.") from None
    except SetupError:
        raise
    except ValueError:  # a name that no system takes, such as one with a zero character in it
        raise _file_error(path, "not the name of a file", "Check the name.") from None
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        given = f"not UTF-8 text (line {line})"
        raise _file_error(path, given, "Save it as UTF-8 in your text editor.") from None


def parse_tables(text: str, *, name: str = "the set-up") -> dict[str, Any]:
    """Return the tables of TOML text, unchecked; ``name`` is what an error calls it.

    Raises
    ------
    SetupError
        The text is empty or not TOML; the message gives the line.
    """
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise _toml_error(name, text, str(error)) from None
    except RecursionError:
        raise _too_deep(name) from None
    except ValueError:  # the reader's own limit: a whole number of thousands of digits, a thirteenth month
        given = "not TOML: a number or a date in it is out of all reason"
        raise _file_error(name, given, "Check the numbers of the file.") from None
    if depth_of(tables) > DEEPEST:
        raise _too_deep(name)
    if not tables:
        raise _file_error(name, "empty", 'Begin with units = "mm" and a section [bar]; see the examples.')
    return tables


def _too_deep(name: str) -> SetupError:
    """Return the error of a text whose tables or lists lie deeper inside each other than any set-up's."""
    return _file_error(name, "nested too deep", "A set-up has sections with plain keys; see the examples.")


def _file_error(name: Path | str, given: str, mend: str) -> SetupError:
    """Return the error of a file that cannot be read as a set-up."""
    return SetupError(
        [InputError(key=str(name), given=Plain(given), allowed="a set-up file in TOML", mend=mend)]
    )


def _toml_error(name: str, text: str, message: str) -> SetupError:
    """Return the error of a text that is not TOML, with its line and, where we can tell, the cause."""
    found = _AT_LINE.search(message)
    lines = text.splitlines()
    number = int(found[1]) if found else len(lines)
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    value = line.partition("=")[2].partition("#")[0]
    if has_decimal_comma(value) and not value.strip().startswith(("[", '"', "'")):
        mend = "A decimal comma is not read; write a decimal point."
    else:
        mend = f"{message.partition(' (')[0]}. Texts need quotes, a section is [name], comments begin with #."
    # A line is repeated only where it looks like one of a set-up: another file may hold anything.
    echo = f": {line}" if line and _LIKE_SETUP.match(line) and len(line) <= _MOST_ECHOED else ""
    return _file_error(name, f"not TOML at line {number}{echo}", mend)
