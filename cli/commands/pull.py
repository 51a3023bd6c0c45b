"""The command ``pull``: stiffness from loads and dial readings."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from stickout.cli.options import JsonTarget, PlotTarget
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json, writing
from stickout.cli.run import load
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING

LogFile = Annotated[Path, Parameter(help="The log of the bar: TOML with [[pull]] entries.")]
OfSetup = Annotated[
    Path | None, Parameter(help="The set-up that was pulled: for the bar's share, and when its seat opens.")
]


def pull(log: LogFile, /, *, setup: OfSetup = None, json: JsonTarget = None, plot: PlotTarget = None) -> None:
    """Tell how stiff it is from pulls: loads and dial readings, up and down.

    Parameters
    ----------
    log
        The log of the bar, with one [[pull]] or more.
    setup
        The set-up that was pulled: splits bar from grip, and tells from which load on its seat opens.
    json
        File for the result; - for standard output, in place of the answer.
    plot
        File for the picture: movement over load, up and down, and the line that was read.
    """
    check_answer(json, plot)
    from stickout.fem.bench.log import read_log
    from stickout.fem.bench.seat import read_pulls

    of = None if setup is None else load(setup).setup
    logged = read_log(log)
    told = read_pulls(logged.pulls, setup=of)
    if not told.pulls:
        mend = "Add base, load_at, dial_at, loads_n and readings_um under [[pull]]."
        raise InputError(key="pull", given=MISSING, allowed="one [[pull]] or more", mend=mend)
    if plot is not None:
        from stickout.cli.show.plots.pull_plot import draw_pulls  # here: most runs draw nothing

        with writing(plot, key="--plot") as part:
            draw_pulls(told, part, units=logged.units)
    if json is not None:
        from stickout.fem.records.bench import pull_record

        write_json({"tool": TOOL, "version": VERSION, **pull_record(told)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.pull_answer import pull_text

        sys.stdout.write(pull_text(told, logged.units))
