"""The command ``size``: the stiffest bar for a hole or a shoulder, ranked, drawn, and written as a set-up."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.cli.commands.size_absorber import size_absorber
from stickout.cli.commands.size_absorber_options import AbsorberOptions, refuse_absorber_options, refuse_given
from stickout.cli.commands.size_reading import (
    AskOptions,
    RoomOptions,
    WorkOptions,
    as_typed,
    read_asked,
    read_job,
)
from stickout.cli.options import MoreOption, whole_number
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, check_target, write_json, writing
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

if TYPE_CHECKING:
    from stickout.fem.size.asked import Asked
    from stickout.fem.size.job import SizeJob
    from stickout.fem.size.questions import Questions
    from stickout.fem.size.size import SizeAnswer


@Parameter(name="*")
@dataclass(frozen=True)
class SizeFiles:
    """Where the answer goes."""

    json: Annotated[
        str | None,
        Parameter(
            allow_leading_hyphen=True,
            help="File for the answer as JSON, SI throughout; - for standard output.",
        ),
    ] = None
    plot: Annotated[Path | None, Parameter(help="Drawing of the best bar, to scale: .svg, .png or .pdf.")] = (
        None
    )
    out: Annotated[Path | None, Parameter(help="File for the best bar as a set-up (.toml).")] = None
    pick: Annotated[
        int,
        Parameter(
            converter=whole_number,
            help="Which bar of the ranking --plot draws and --out writes: 1 is the stiffest.",
        ),
    ] = 1
    more: MoreOption = False


NO_WORK: Final = WorkOptions()
USUAL_ROOM: Final = RoomOptions()
NOTHING: Final = AskOptions()
NO_FILES: Final = SizeFiles()
NO_ABSORBER: Final = AbsorberOptions()


def size(
    setup: Annotated[Path | None, Parameter(help="With --absorber: the set-up file of a bar.")] = None,
    /,
    *,
    work: WorkOptions = NO_WORK,
    room: RoomOptions = USUAL_ROOM,
    ask: AskOptions = NOTHING,
    files: SizeFiles = NO_FILES,
    absorber: AbsorberOptions = NO_ABSORBER,
) -> None:
    """Tell the stiffest bar for a hole or a shoulder, ranked, with what each costs in room.

    With --absorber: a slug in soft rings inside that bar, or inside the bar of SETUP, sized and tuned.

    Parameters
    ----------
    setup
        The set-up file of a bar, with --absorber only.
    work
        What must be reached.
    room
        What is left round the bar, and what holds it.
    ask
        What is asked beside the ranking.
    files
        Where the answer goes.
    absorber
        An absorber for the bar.
    """
    if absorber.absorber:
        refuse_given(ask, allowed="left out with --absorber")
        check_targets(files)
        size_absorber(setup, absorber, work=work, room=room, files=files)
        return
    refuse_absorber_options(setup, absorber)
    job = read_job(work, room)
    asked = read_asked(ask, job)
    check_targets(files)
    if files.pick > 1:
        from stickout.fem.size.options import options  # here, so that a plain ranking starts sooner

        check_pick(files.pick, most=len(list(options(job))))
    typed = {key: str(text) for one in (work, room, ask) for key, text in vars(one).items()}
    answer, questions = sized(job, asked, typed=typed)
    write_files(answer, questions, files=files)
    if files.json != STANDARD_OUTPUT:
        from stickout.cli.text.size_screen import size_screen
        from stickout.cli.text.size_text import size_text

        sys.stdout.write(size_screen(answer, questions))
        if files.more:
            sys.stdout.write("\n" + size_text(answer, questions))


def sized(job: SizeJob, asked: Asked, *, typed: Mapping[str, str]) -> tuple[SizeAnswer, Questions]:
    """Return ranking and design questions; a bar shows on the screen when it takes more than two seconds.

    Raises
    ------
    InputError
        The room is too small for any bar.
    SolveError
        A computation failed.
    """
    from stickout.cli.progress import progress
    from stickout.fem.size.questions import design_questions  # here, so that a faulty job is told sooner
    from stickout.fem.size.size import size_bars

    with progress("Ranking bars") as bar:
        try:
            answer = size_bars(job, progress=lambda what: bar.say(f"Solving {what}"))
            bar.say("Answering questions")
            return answer, design_questions(answer, asked)
        except InputError as mistake:
            raise as_typed(mistake, typed) from None


def write_files(answer: SizeAnswer, questions: Questions, *, files: SizeFiles) -> None:
    """Write drawing, set-up and record, as far as they are asked for."""
    if files.plot is not None:
        from stickout.cli.show.plots.hole_plot import draw_size  # here: most runs draw nothing

        with writing(files.plot, key="--plot") as part:
            draw_size(answer, part, number=files.pick)
    if files.out is not None:
        from stickout.cli.text.size_text import title_of
        from stickout.fem.setup.writing import setup_toml

        picked = answer.bars[files.pick - 1].option
        with writing(files.out, key="--out") as part:
            part.write_text(setup_toml(picked.setup, title=title_of(answer)), encoding="utf-8")
    if files.json is not None:
        from stickout.fem.records.questions import questions_record
        from stickout.fem.records.size import size_record

        record = size_record(answer, tool=TOOL, version=VERSION)
        write_json(record | {"questions": questions_record(questions)}, files.json)


def check_pick(pick: int, *, most: int | None = None) -> None:
    """Check the number of a bar of the ranking.

    Raises
    ------
    InputError
        There is no such bar.
    """
    if pick < 1 or (most is not None and pick > most):
        allowed = "1 or above" if most is None else f"1 to {most}"
        raise InputError(key="--pick", given=pick, allowed=allowed, mend="Count the rows of the ranking.")


def check_targets(files: SizeFiles) -> None:
    """Check, before anything is computed, that the files can be written.

    Raises
    ------
    InputError
        A file cannot be written or has a suffix not known, the set-up exists already, or no such bar.
    """
    check_pick(files.pick)
    check_answer(files.json, files.plot)
    check_target(files.out, key="--out", suffixes=(".toml",))
    if files.out is not None and files.out.exists():
        # Whatever stands there may be a set-up of somebody's own making, edited for hours.
        mend = "Name another file, or remove that one first."
        given = Plain(f"{files.out}, which exists")
        raise InputError(key="--out", given=given, allowed="a set-up file to be", mend=mend)
