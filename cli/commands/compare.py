"""The command ``compare``: whether a change helps, and what the same space would bring otherwise."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.cli.options import Changes, JsonTarget, MoreOption
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, check_suffix, check_target, write_json
from stickout.cli.progress import progress
from stickout.cli.run import load, tell_read
from stickout.cli.version import TOOL, VERSION

if TYPE_CHECKING:
    from stickout.fem.compare.compare import Comparison
    from stickout.fem.setup.parts import Setup

With = Annotated[
    tuple[str, ...],
    Parameter(
        name="--with",
        negative="",
        show_default=False,
        help="SETUP changed so: --with shim.thickness=0.5. Several together make one changed set-up.",
    ),
]
Without = Annotated[
    tuple[str, ...],
    Parameter(
        name="--without",
        negative="",
        show_default=False,
        help="SETUP less a section or a key: --without wrap. Goes into the same changed set-up.",
    ),
]
FILM_SUFFIXES = (".gif", ".mp4", ".webm")


@Parameter(name="*")
@dataclass(frozen=True)
class CompareFiles:
    """Where a comparison goes: its record (- for standard output, in place of the answer), a loop."""

    json: JsonTarget = None
    film: Annotated[
        Path | None,
        Parameter(help="A loop of the first and the changed bar on one clock (.gif, .mp4, .webm)."),
    ] = None


NO_FILES: Final = CompareFiles()


def compare(
    *setups: Annotated[
        Path, Parameter(help="The set-up file (TOML), and further ones to compare with it.", required=True)
    ],
    changes: Changes = (),
    with_: With = (),
    without: Without = (),
    more: MoreOption = False,
    files: CompareFiles = NO_FILES,
) -> None:
    """Compare set-ups, or one set-up before and after a change, with what the same space could do otherwise.

    Parameters
    ----------
    setups
        The set-up that the others are measured against, and the others.
    changes
        Changes of keys for this run, in every file.
    with_
        Changes that make the changed set-up.
    without
        Sections or keys that the changed set-up goes without.
    more
        Bands, what linear theory cannot know, taps, what was assumed.
    files
        Where the comparison goes beside the answer.
    """
    read, names = read_all(list(setups), changes=changes, with_=with_, without=without)
    json, film = files.json, files.film
    check_files(json, film)
    comparison = compared(read, names)
    from stickout.cli.text.comparison_screen import comparison_screen
    from stickout.cli.text.comparison_text import comparison_text
    from stickout.cli.text.verdict_words import verdict_text
    from stickout.fem.records.comparison import comparison_record

    if film is not None:
        film_words = write_panes(comparison, film)
    if json is not None:
        sentences = {n: verdict_text(one, comparison.first) for n, one in enumerate(comparison.entries)}
        write_json(comparison_record(comparison, sentences=sentences, tool=TOOL, version=VERSION), json)
    if json != STANDARD_OUTPUT:
        whole = f"\n{comparison_text(comparison)}" if more else ""
        loop = f"\n{film_words}\n" if film is not None else ""
        sys.stdout.write(comparison_screen(comparison) + whole + loop)


def read_all(
    files: list[Path], *, changes: tuple[str, ...], with_: tuple[str, ...], without: tuple[str, ...]
) -> tuple[list[Setup], list[str]]:
    """Return the set-ups to compare and what to call them; all files are read before anything is solved.

    Raises
    ------
    SetupError
        A set-up cannot be used.
    InputError
        A change is not of the form it should have.
    """
    setups = [load(file, changes).setup for file in files]
    titles = [one.title or file.stem for one, file in zip(setups, files, strict=True)]
    names = [
        title if titles.count(title) == 1 else f"{title} ({file.name})"
        for title, file in zip(titles, files, strict=True)
    ]
    if with_ or without:
        setups.append(changed(files[0], changes, with_=with_, without=without))
        parts = [*(f"with {one}" for one in with_), *(f"without {one}" for one in without)]
        names.append("A " + ", ".join(parts))
    return setups, names


def changed(
    file: Path, changes: tuple[str, ...], *, with_: tuple[str, ...], without: tuple[str, ...]
) -> Setup:
    """Return a set-up file's set-up with the changes of ``--set``, ``--with`` and ``--without``.

    Raises
    ------
    SetupError
        The changed set-up cannot be used.
    InputError
        A change is not of the form it should have.
    """
    from stickout.fem.setup.file import read_tables, setup_from_tables
    from stickout.fem.setup.overrides import with_changes
    from stickout.fem.setup.overrides import without as left_out

    tables = with_changes(read_tables(file), changes)
    tables = with_changes(left_out(tables, without), with_, option="--with")
    read = setup_from_tables(tables)
    tell_read(read, whose="changed set-up: ")
    return read.setup


def check_files(json: str | None, film: Path | None) -> None:
    """Check, before anything is computed, that the files can be written.

    Raises
    ------
    InputError
        A file cannot be written, or the film has a suffix not known or no package to write it.
    """
    if film is not None:
        check_suffix(film, FILM_SUFFIXES, key="--film", mend="Use .gif.")
        if film.suffix.lower() != ".gif":
            from stickout.cli.show.scene.video import check_video

            check_video(film)
        check_target(film, key="--film")
    check_answer(json)


def compared(setups: list[Setup], names: list[str]) -> Comparison:
    """Return the comparison; a bar shows on the screen when it takes more than two seconds."""
    from stickout.fem.compare.compare import compare as side_by_side

    solved = 0
    with progress("Meshing and solving") as bar:

        def count(_: str) -> None:
            nonlocal solved
            solved += 1
            bar.say(f"Solving set-up {solved}")

        return side_by_side(setups, names=names, progress=count)


def write_panes(comparison: Comparison, film: Path) -> str:
    """Write the two-pane loop and return what to say of it."""
    from stickout.cli.commands.two_panes import panes_of
    from stickout.cli.show.scene.two_panes import write_two_panes

    scenes, words = panes_of(comparison)
    report = write_two_panes(scenes, film)
    size = report.path.stat().st_size / 1000
    return f"{words}\nOne clock, one magnification, one colour range. Written to {film} ({size:.0f} kB)."
