"""The command ``talk``: a folder for a club evening: loops, the note, a handout, the viewer."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.cli.commands.compare import With, changed
from stickout.cli.commands.report import told_of
from stickout.cli.folders import FolderTarget, check_folder, writing_folder
from stickout.cli.options import Changes, SetupFile
from stickout.cli.progress import progress
from stickout.cli.run import load, tell
from stickout.cli.solving import solve
from stickout.fem.errors import InputError

if TYPE_CHECKING:
    from stickout.cli.show.pages.handout import Heading
    from stickout.fem.setup.parts import Setup
    from stickout.fem.study.result import Result

# Every name that a pack may hold; a folder with any other is never replaced.
OWN_NAMES: Final = re.compile(
    r"(mode_[1-4]|mode_along_force|before_after|together)\.(gif|mp4|webm)|together\.png|"
    r"note(_after)?\.wav|(handout|viewer)\.html"
)
_LONGEST: Final = {"title": 90, "club": 70, "date": 40}


@Parameter(name="*")
@dataclass(frozen=True)
class Words:
    """What stands at the top of the handout."""

    title: Annotated[str, Parameter(help="Title of the talk; without it the set-up's.")] = ""
    club: Annotated[str, Parameter(help="Name of the club.")] = ""
    date: Annotated[str, Parameter(help="Date of the talk, written as it shall be read.")] = ""


NO_WORDS: Final = Words()


def talk(
    setup: SetupFile,
    /,
    *,
    out: Annotated[Path, Parameter(help="The folder to be.")],
    words: Words = NO_WORDS,
    changes: Changes = (),
    with_: With = (),
    force: Annotated[bool, Parameter(negative="", help="Replace an earlier pack.")] = False,
) -> None:
    """Write a folder for a club talk: loops of the modes, the note, a one-page handout, the viewer.

    Parameters
    ----------
    setup
        The set-up file.
    out
        The folder to be.
    words
        Title, club and date.
    changes
        Changes of the set-up's keys for this run.
    with_
        Changes that make the bar after, for a loop of before and after.
    force
        Whether an earlier pack may be replaced.
    """
    read = load(setup, changes)
    after = changed(setup, changes, with_=with_, without=()) if with_ else None
    check_words(words)
    target = FolderTarget(out, OWN_NAMES, force=force)
    check_folder(target)
    result = solve(read.setup).result
    with writing_folder(target) as folder, progress("Drawing the loops of each mode") as bar:
        files = write_pack(result, folder, words=words, after=after, change=" and ".join(with_), say=bar.say)
    size = sum(one.stat().st_size for one in out.iterdir()) / 1e6
    sys.stdout.write(f"Club pack written to {out}: {len(files)} files, {size:.1f} MB.\n")
    for name, what in files.items():
        sys.stdout.write(f"  {name:<24}{what}\n")


def check_words(words: Words) -> None:
    """Check that what stands at the top of the handout leaves room for the rest of its page.

    Raises
    ------
    InputError
        One of them is too long.
    """
    for key, most in _LONGEST.items():
        given = getattr(words, key)
        if len(given) > most:
            allowed = f"at most {most} letters, so that the handout stays one page"
            raise InputError(key=f"--{key}", given=given, allowed=allowed, mend="Shorten it.")


def write_pack(
    result: Result,
    folder: Path,
    *,
    words: Words,
    after: Setup | None = None,
    change: str = "",
    say: Callable[[str], object] = str,
) -> dict[str, str]:
    """Write every file of the pack.

    Parameters
    ----------
    result
        What the study found.
    folder
        Where they go.
    words
        Title, club and date.
    after
        The set-up after the change; None without one.
    change
        The change in words.
    say
        Called with a few words before each part.

    Returns
    -------
    dict
        Name of each file -> what it is.

    Raises
    ------
    InputError
        A file cannot be written.
    SolveError
        The computation after the change failed, or a loop could not be drawn.
    """
    from stickout.cli.commands.talk_films import write_before_after, write_modes, write_together
    from stickout.cli.show.pages.viewer import write_viewer

    loops = write_modes(result, folder)
    files = {"handout.html": "one page in plain language, to print"}
    say("Solving the bar after the change" if after is not None else "Writing the note")
    changed_result = None if after is None else solve(after).result
    if changed_result is not None:
        say("Drawing before and after")
        loops |= write_before_after((result, changed_result), change, folder=folder)
    say("Drawing tool and part together")
    beside, together = write_together(result, folder)
    files |= loops | beside | _write_notes(result, changed_result, folder)
    say("Writing the viewer")
    write_viewer(result, folder / "viewer.html", title=words.title or None, together=together)
    files["viewer.html"] = "the bar to turn and stop, in any browser, without network"
    say("Writing the handout")
    _write_handout(result, folder, words=words, files=files, after=(changed_result, change))
    return files


def _write_notes(result: Result, after: Result | None, folder: Path) -> dict[str, str]:
    """Write the note of the mode along the force, and the one after the change, where they can be heard."""
    from stickout.cli.show.sound import audible, write_note
    from stickout.cli.text.words import hertz

    files = {}
    for name, one in (("note.wav", result), ("note_after.wav", after)):
        if one is None:
            continue
        note, ratio = float(one.frequency_hz[one.aligned]), float(one.loss.likely[one.aligned]) / 2
        if audible(note):
            write_note(folder / name, note, damping_ratio=ratio)
            when = "" if after is None else (" before" if one is result else " after")
            files[name] = f"the note{when}: {hertz(note)}, tapped once a second"
        else:
            tell(f"Nobody hears {hertz(note)}, so {name} is left out.")
    return files


def _write_handout(
    result: Result, folder: Path, *, words: Words, files: dict[str, str], after: tuple[Result | None, str]
) -> None:
    """Write the handout."""
    from stickout.cli.commands.talk_films import ALONG
    from stickout.cli.show.pages.handout import Handout, handout_page

    told = told_of(result)
    still = folder / f"{ALONG}.gif"
    handout = Handout(told, heading_of(words), still, files=files, changed=after[0], change=after[1])
    (folder / "handout.html").write_text(handout_page(handout), encoding="utf-8")


def heading_of(words: Words) -> Heading:
    """Return the heading of the handout."""
    from stickout.cli.show.pages.handout import Heading

    return Heading(words.title.strip(), words.club.strip(), words.date.strip())
