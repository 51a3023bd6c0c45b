"""``size --absorber``: a slug inside a bar or a ring round it, sized, tuned, and written as a set-up."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from stickout.cli.commands.size_absorber_options import (
    AbsorberOptions,
    as_option,
    check_hole,
    read_absorber_job,
    refuse_given,
)
from stickout.cli.commands.size_reading import RoomOptions, WorkOptions, as_typed, read_job
from stickout.cli.outputs import STANDARD_OUTPUT, write_json, writing
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING

if TYPE_CHECKING:
    from stickout.cli.commands.size import SizeFiles
    from stickout.fem.absorber.band import AbsorberBand
    from stickout.fem.absorber.plan import AbsorberPlan
    from stickout.fem.absorber.shapes import AbsorberJob
    from stickout.fem.setup.parts import Setup


@dataclass(frozen=True)
class Subject:
    """The bar that gets an absorber: its set-up, the tables and the text of its file, what it is called."""

    setup: Setup
    tables: dict[str, Any]
    title: str
    text: str = ""


def size_absorber(
    setup: Path | None,
    options: AbsorberOptions,
    *,
    work: WorkOptions,
    room: RoomOptions,
    files: SizeFiles,
) -> None:
    """Size an absorber, write what was asked for, and answer.

    Parameters
    ----------
    setup
        The set-up file of the bar; None: the best bar for the work.
    options
        Kind, material, sizes and place.
    work, room
        The work, where no set-up is given.
    files
        Where the answer goes.

    Raises
    ------
    InputError
        An option is at fault, or nothing fits.
    SolveError
        A computation failed.
    """
    subject = read_subject(setup, options, work=work, room=room, pick=files.pick)
    job = read_absorber_job(subject.setup, options)
    plan, band = planned(job, options)
    write_absorber_files(plan, band, subject=subject, files=files)
    if files.json != STANDARD_OUTPUT:
        from stickout.cli.text.size_absorber_text import absorber_screen, absorber_text

        sys.stdout.write(absorber_screen(plan, band, title=subject.title))
        if files.more:
            sys.stdout.write("\n" + absorber_text(plan, band, title=subject.title))


def read_subject(
    setup: Path | None, options: AbsorberOptions, *, work: WorkOptions, room: RoomOptions, pick: int
) -> Subject:
    """Return the bar: of the set-up file, or one for the work, the stiffest unless another is picked."""
    if setup is None:
        return _best_bar(options, work=work, room=room, pick=pick)
    for one in (work, room):
        refuse_given(one, allowed="left out with a set-up file")
    from stickout.cli.run import tell_read
    from stickout.fem.setup.file import parse_tables, read_text, setup_from_tables
    from stickout.fem.setup.overrides import with_changes

    text = read_text(setup)
    tables = parse_tables(text, name=str(setup))
    read = setup_from_tables(tables, changes=options.changes, leave_out=_absorber_of(tables))
    tell_read(read)
    title = read.setup.title or "Untitled set-up"
    return Subject(read.setup, with_changes(tables, options.changes), title, text)


def _absorber_of(tables: dict[str, Any]) -> tuple[str, ...]:
    """Return the section of an absorber that is already there, so that it is taken off first."""
    return ("absorber",) if "absorber" in tables else ()


def _best_bar(options: AbsorberOptions, *, work: WorkOptions, room: RoomOptions, pick: int) -> Subject:
    """Return the stiffest bar for the work, or the one that was picked."""
    if options.changes:
        mend = "Changes of keys go with a set-up file: stickout size SETUP.toml --absorber."
        raise InputError(
            key="--set", given=options.changes[0], allowed="left out without a set-up file", mend=mend
        )
    if work.bore is None and work.shoulder is None:
        mend = "Write stickout size SETUP.toml --absorber, or --bore and --depth for the best bar of a hole."
        raise InputError(key="SETUP", given=MISSING, allowed="a set-up file, or --bore", mend=mend)
    job = read_job(work, room)
    check_hole(options, work)
    from stickout.cli.commands.size import check_pick
    from stickout.cli.progress import progress
    from stickout.cli.text.size_text import title_of
    from stickout.cli.text.size_words import bar_words
    from stickout.fem.setup.writing import setup_tables
    from stickout.fem.size.size import size_bars

    typed = {key: str(text) for one in (work, room) for key, text in vars(one).items()}
    with progress("Ranking bars") as bar:
        try:
            answer = size_bars(job, progress=lambda what: bar.say(f"Solving {what}"))
        except InputError as mistake:
            raise as_typed(mistake, typed) from None
    check_pick(pick, most=len(answer.bars))
    best = answer.bars[pick - 1].option
    title = f"{title_of(answer)}: {bar_words(best, job.units)}"
    return Subject(best.setup, setup_tables(best.setup, title=title), title)


def planned(job: AbsorberJob, options: AbsorberOptions) -> tuple[AbsorberPlan, AbsorberBand]:
    """Return the plan and its band; a bar shows on the screen when it takes more than two seconds."""
    from stickout.cli.progress import progress
    from stickout.fem.absorber.band import (
        absorber_band,  # here, so that faults are told before SciPy is loaded
    )
    from stickout.fem.absorber.plan import absorber_plan

    with progress("Sizing an absorber") as bar:
        try:
            plan = absorber_plan(job, progress=bar.say)
        except InputError as mistake:
            raise as_option(mistake, options) from None
        bar.say("How sure it is")
        return plan, absorber_band(plan)


def write_absorber_files(
    plan: AbsorberPlan, band: AbsorberBand, *, subject: Subject, files: SizeFiles
) -> None:
    """Write picture, set-up and record, as far as they are asked for."""
    if files.plot is not None:
        from stickout.cli.show.plots.absorber_plot import draw_absorber  # here: most runs draw nothing

        with writing(files.plot, key="--plot") as part:
            draw_absorber(plan, band, path=part)
    if files.out is not None:
        text = absorber_toml(plan, subject)
        with writing(files.out, key="--out") as part:
            part.write_text(text, encoding="utf-8")
    if files.json is not None:
        from stickout.fem.records.absorber import absorber_record

        write_json(absorber_record(plan, band, tool=TOOL, version=VERSION), files.json)


def absorber_toml(plan: AbsorberPlan, subject: Subject) -> str:
    """Return the set-up file of the bar with its best absorber; what else the file held is kept."""
    from stickout.fem.setup.kept_text import kept_text
    from stickout.fem.setup.writing import absorber_table, bar_table

    best, tables = plan.best.setup, subject.tables
    bar = bar_table(best) if best.bar != plan.base.setup.bar else tables["bar"]
    others = {key: value for key, value in tables.items() if key not in ("bar", "absorber")}
    head = "# Written by size --absorber: the bar bored for its slug, and the slug on its soft rings.\n"
    return head + kept_text(subject.text, {**others, "bar": bar, "absorber": absorber_table(best)})
