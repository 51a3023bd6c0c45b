"""The command ``sweep``: many cases of one set-up as a table, safe against being stopped."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from stickout.cli.options import Changes, SetupFile, whole_number
from stickout.cli.outputs import PICTURES, check_suffix, check_target
from stickout.cli.sweeps.count import check_count
from stickout.cli.sweeps.engine import Wanted, check_wanted, require
from stickout.cli.sweeps.limits import Bound, check_column, limits_of
from stickout.cli.sweeps.plan import PAIRED, SEED, Plan, plan_of
from stickout.cli.sweeps.table import SUFFIXES, columns, numeric_keys
from stickout.cli.sweeps.values import axes_of
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain

Out = Annotated[
    tuple[Path, ...],
    Parameter(name="--out", negative="", help="The table: .csv or .parquet; twice for both.", required=True),
]


@Parameter(name="*")
@dataclass(frozen=True)
class Varying:
    """What is varied, and how the keys combine."""

    vary: Annotated[
        tuple[str, ...],
        Parameter(
            negative="",
            show_default=False,
            help="A key and its values: bar.overhang=40:120:5 (from:to:step, both ends included), "
            "bar.material=steel,carbide. Several: every value with every other.",
        ),
    ] = ()
    paired: Annotated[
        bool, Parameter(negative="", help="First value with first value, second with second.")
    ] = False
    cases: Annotated[
        int | None,
        Parameter(
            converter=whole_number,
            help="Draw so many cases from the ranges (from:to) instead: a Latin hypercube.",
        ),
    ] = None
    seed: Annotated[
        int, Parameter(converter=whole_number, help="Seed of that draw; the same seed gives the same cases.")
    ] = SEED


@Parameter(name="*")
@dataclass(frozen=True)
class Running:
    """Who solves, and whether to go on or to begin."""

    resume: Annotated[
        bool, Parameter(negative="", help="Go on where an earlier run of the same command was stopped.")
    ] = False
    yes: Annotated[bool, Parameter(negative="", help="Do it although there are very many cases.")] = False
    workers: Annotated[
        int | None, Parameter(converter=whole_number, help="Processes on this machine; all cores by default.")
    ] = None
    cluster: Annotated[str | None, Parameter(help="A Dask scheduler that runs already: tcp://host:port.")] = (
        None
    )
    timeout: Annotated[float, Parameter(help="Seconds to wait for that scheduler to answer.")] = 10.0


@Parameter(name="*")
@dataclass(frozen=True)
class Drawing:
    """What to draw, and which limits to look for."""

    plot: Annotated[
        Path | None,
        Parameter(help="A picture (.svg, .png, .pdf): curves over one key with numbers, a contour over two."),
    ] = None
    show: Annotated[
        tuple[str, ...],
        Parameter(
            negative="", show_default=False, help="A column to draw; by default spring, note and margin."
        ),
    ] = ()
    limit: Annotated[
        tuple[str, ...],
        Parameter(
            negative="",
            show_default=False,
            help="A limit to draw and to look for: spring_um_per_10n=5. Overhang 4 x size is always there.",
        ),
    ] = ()


def sweep(
    setup: SetupFile,
    /,
    *,
    varying: Varying = Varying(),
    out: Out,
    changes: Changes = (),
    drawing: Drawing = Drawing(),
    running: Running = Running(),
) -> None:
    """Solve one set-up many times, some of its keys varied, and write a table with a row a case.

    Every finished case is kept at once, in a journal beside the table; a run that was stopped, killed or
    ran out of disk goes on with --resume. A case that fails is a row with its reason.

    Parameters
    ----------
    setup
        The set-up file.
    varying
        The keys to vary, with their values, and how they combine.
    out
        File for the table.
    changes
        Changes of other keys for this run.
    drawing
        What to draw, and which limits to look for.
    running
        Who solves, and whether to go on.
    """
    from stickout.fem.setup.file import read_tables
    from stickout.fem.setup.overrides import with_changes

    wanted = Wanted(workers=running.workers, cluster=running.cluster, patience_s=running.timeout)
    check_files(out, drawing.plot)
    check_wanted(wanted)
    tables = with_changes(read_tables(setup), changes)
    plan = plan_of(
        tables, axes_of(varying.vary), paired=varying.paired, cases=varying.cases, seed=varying.seed
    )
    limits = checked_drawing(plan, drawing)
    check_count(plan, wanted, yes=running.yes)
    from stickout.cli.sweeps.run import Wish, run_plan  # here, so that errors are told sooner

    wish = Wish(out=out, plot=drawing.plot, show=drawing.show, limits=limits)
    sys.stdout.write(run_plan(plan, wish, wanted=wanted, resume=running.resume))


def checked_drawing(plan: Plan, drawing: Drawing) -> list[Bound]:
    """Return the limits, and check, before anything is computed, that what is to be drawn can be.

    Raises
    ------
    InputError
        A column holds no numbers, a limit is none, or more than two varied keys hold numbers.
    """
    names = columns(plan)
    for column in drawing.show:
        check_column(column, names, option="--show")
    numbers = numeric_keys(plan)
    if drawing.plot is not None and len(numbers) > 2 and plan.how != PAIRED:
        given = Plain(f"a picture over {len(numbers)} keys with numbers")
        mend = "Leave --plot out, or vary fewer keys; the table holds them all."
        raise InputError(key="--plot", given=given, allowed="one over at most two", mend=mend)
    return limits_of(drawing.limit, names)


def check_files(out: tuple[Path, ...], plot: Path | None) -> None:
    """Check, before anything is computed, that tables and picture can be written.

    Raises
    ------
    InputError
        A file cannot be written, has a suffix not known, or needs a package that is missing.
    """
    for one in out:
        check_suffix(one, SUFFIXES, key="--out")
        if one.suffix.lower() == ".parquet":
            require("pyarrow", option="--out", what="Parquet")
        check_target(one, key="--out")
    check_target(plot, key="--plot", suffixes=PICTURES)
