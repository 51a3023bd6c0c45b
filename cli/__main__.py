"""The command ``stickout``: registers the commands, nothing else."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from itertools import pairwise

from cyclopts import App, CycloptsError

import stickout.fem  # noqa: F401 - sets the number of threads, before NumPy is loaded
from stickout.cli.named_files import check_named, named_files
from stickout.cli.outputs import STANDARD_OUTPUT
from stickout.cli.run import AT_FAULT, Job, run, stopping_cleanly
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

# Name, where the function is (imported only when called), one line of help.
COMMANDS = (
    ("new", "stickout.cli.commands.new:new", "A set-up by question and answer, and its answer at once."),
    (
        "modes",
        "stickout.cli.commands.modes:modes",
        "Spring, notes and directions of a held bar, and the mode along the cut.",
    ),
    ("force", "stickout.cli.commands.force:force", "The cutting force: components, direction, engaged edge."),
    (
        "cut",
        "stickout.cli.commands.cut:cut",
        "How deep and how fast a cut stays quiet, as a range, and what to change first.",
    ),
    (
        "work",
        "stickout.cli.commands.work:work",
        "The part: stiffness along it, its notes, its form, and what each support buys.",
    ),
    (
        "show",
        "stickout.cli.commands.show:show",
        "The bar as one HTML file to open in any browser, turn, and set moving.",
    ),
    (
        "page",
        "stickout.cli.commands.page:page",
        "The set-up on sliders in this machine's browser, answered while you drag.",
    ),
    (
        "film",
        "stickout.cli.commands.film:film",
        "A moving picture of one mode, or a still sheet of the first four.",
    ),
    (
        "compare",
        "stickout.cli.commands.compare:compare",
        "Set-ups side by side, or before and after a change; what else the space could do.",
    ),
    (
        "size",
        "stickout.cli.commands.size:size",
        "The stiffest bar for a hole or a shoulder: ranked, drawn, written as a set-up.",
    ),
    (
        "sweep",
        "stickout.cli.commands.sweep:sweep",
        "Many cases of one set-up: a table with a row a case, safe against stops.",
    ),
    (
        "talk",
        "stickout.cli.commands.talk:talk",
        "A folder for a club talk: loops, the note as sound, a handout, the viewer.",
    ),
    (
        "report",
        "stickout.cli.commands.report:report",
        "A printable report of a set-up: drawing, answer, modes, cut, cautions.",
    ),
    (
        "listen",
        "stickout.cli.commands.listen:listen",
        "Notes and damping of a tapped bar from a phone's recording, or what a recorded cut says.",
    ),
    (
        "pull",
        "stickout.cli.commands.pull:pull",
        "Stiffness of tool, grip and post from loads and dial readings.",
    ),
    (
        "fit",
        "stickout.cli.commands.fit:fit",
        "Taps and pulls put into a set-up: note, spring and margin as measured.",
    ),
    (
        "materials",
        "stickout.cli.commands.materials:materials",
        "The table of materials, with bands and sources.",
    ),
    (
        "completion",
        "stickout.cli.commands.completion:completion",
        "What makes a shell complete commands, options and files with the Tab key.",
    ),
)


def make_app() -> App:
    """Return the command line with every command registered."""
    app = App(
        name=TOOL,
        version=VERSION,
        help="How a lathe tool or boring bar vibrates, and whether that is along the cut.",
        help_format="plaintext",
        result_action="return_value",
        suppress_keyboard_interrupt=False,
    )
    for name, place, line in COMMANDS:
        app.command(place, name=name, help=line)
    return app


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line and return the exit code."""
    words = list(sys.argv[1:] if arguments is None else arguments)
    app = make_app()
    if not words:
        app.help_print([])
        return AT_FAULT
    # An error as JSON may go to standard output even where the line is wrong; a file would be at risk.
    spoken = STANDARD_OUTPUT if asks_for_spoken_json(words) else None
    with stopping_cleanly():
        return run(lambda: _understood(app, words), json_target=spoken)


def asks_for_spoken_json(words: Sequence[str]) -> bool:
    """Return whether a command line, which may be wrong elsewhere, wants its JSON on standard output."""
    return "--json=-" in words or ("--json", "-") in pairwise(words)


def _understood(app: App, words: list[str]) -> Job:
    """Return the work that the words name; words that fit no command are an input error."""
    try:
        command, bound, *_ = app.parse_args(words, exit_on_error=False, print_error=False)
    except CycloptsError as error:
        given = Plain(" ".join(words))
        raise InputError(
            key="command line", given=given, allowed="a command with its options", mend=str(error)
        ) from None
    named = named_files(bound.arguments)

    def work() -> None:
        check_named(named)
        command(*bound.args, **bound.kwargs)

    return Job(work, named.json_target)


if __name__ == "__main__":
    raise SystemExit(main())
