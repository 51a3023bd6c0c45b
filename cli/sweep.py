"""The command ``sweep``: many cases of one set-up as a table, safe against being stopped."""

from __future__ import annotations

import sys
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from cli.options import Changes, SetupFile
from cli.outputs import check_target
from cli.sweeps.count import check_count
from cli.sweeps.engine import Wanted, check_wanted, require
from cli.sweeps.plan import SEED, plan_of
from cli.sweeps.table import check_suffix
from cli.sweeps.values import axes_of
from fem.errors import InputError

Vary = Annotated[
    tuple[str, ...],
    Parameter(
        name="--vary",
        negative="",
        show_default=False,
        help="A key and its values: bar.overhang=40:120:5 (from:to:step, both ends included), "
        "bar.material=steel,carbide. Several: every value with every other.",
    ),
]
Out = Annotated[
    tuple[Path, ...],
    Parameter(name="--out", negative="", help="The table: .csv or .parquet; twice for both.", required=True),
]


@Parameter(name="*")
@dataclass(frozen=True)
class Combining:
    """How the varied keys combine."""

    paired: Annotated[
        bool, Parameter(negative="", help="First value with first value, second with second.")
    ] = False
    cases: Annotated[
        int | None,
        Parameter(help="Draw so many cases from the ranges (from:to) instead: a Latin hypercube."),
    ] = None
    seed: Annotated[int, Parameter(help="Seed of that draw; the same seed gives the same cases.")] = SEED


@Parameter(name="*")
@dataclass(frozen=True)
class Running:
    """Who solves, and whether to go on or to begin."""

    resume: Annotated[
        bool, Parameter(negative="", help="Go on where an earlier run of the same command was stopped.")
    ] = False
    yes: Annotated[bool, Parameter(negative="", help="Do it although there are very many cases.")] = False
    workers: Annotated[int | None, Parameter(help="Processes on this machine; all cores by default.")] = None
    cluster: Annotated[str | None, Parameter(help="A Dask scheduler that runs already: tcp://host:port.")] = (
        None
    )
    timeout: Annotated[float, Parameter(help="Seconds to wait for that scheduler to answer.")] = 10.0


def sweep(
    setup: SetupFile,
    /,
    *,
    vary: Vary = (),
    out: Out,
    changes: Changes = (),
    combining: Combining = Combining(),
    running: Running = Running(),
) -> None:
    """Solve one set-up many times, some of its keys varied, and write a table with a row a case.

    Every finished case is kept at once, in a journal beside the table; a run that was stopped, killed or
    ran out of disk goes on with --resume. A case that fails is a row with its reason.

    Parameters
    ----------
    setup
        The set-up file.
    vary
        The keys to vary, with their values.
    out
        File for the table.
    changes
        Changes of other keys for this run.
    combining
        How the varied keys combine.
    running
        Who solves, and whether to go on.
    """
    from cli.overrides import with_changes
    from cli.setup_file import read_tables

    wanted = Wanted(workers=running.workers, cluster=running.cluster, patience_s=running.timeout)
    check_files(out)
    check_wanted(wanted)
    tables = with_changes(read_tables(setup), changes)
    plan = plan_of(tables, axes_of(vary), **asdict(combining))
    check_count(plan, wanted, yes=running.yes)
    from cli.sweeps.run import run_plan  # here, so that errors are told sooner

    finished = run_plan(plan, out, wanted=wanted, resume=running.resume)
    sys.stdout.write(finished.text)
    finished.check()


def check_files(out: tuple[Path, ...]) -> None:
    """Check, before anything is computed, that the tables can be written.

    Raises
    ------
    InputError
        A file cannot be written, has a suffix not known, needs a package that is missing, or is given twice.
    """
    if len({one.resolve() for one in out}) < len(out):
        mend = "Give each file once."
        raise InputError(key="--out", given=str(out[-1]), allowed="another file each time", mend=mend)
    for one in out:
        check_suffix(one)
        if one.suffix.lower() == ".parquet":
            require("pyarrow", option="--out", what="Parquet")
        check_target(one, key="--out")
