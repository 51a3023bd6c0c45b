"""The command ``work``: notes of the part, stiffness along it, its form, and what each support buys."""

from __future__ import annotations

import sys

from stickout.cli.commands.cut import PlotTarget, check_plot_targets
from stickout.cli.options import Changes, JsonTarget, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, write_json, writing
from stickout.cli.run import load
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case
from stickout.fem.setup.parts import Setup
from stickout.fem.work.answer import USUAL_PUSH, work_answer


def work(
    setup: SetupFile,
    /,
    *,
    changes: Changes = (),
    json: JsonTarget = None,
    plot: PlotTarget = None,
) -> None:
    """Tell what the part does: stiffness along it, notes, form under the cut, what supports buy.

    Parameters
    ----------
    setup
        The set-up file; it needs [work].
    changes
        Changes of its keys for this run.
    json
        File for the result; - for standard output, in place of the answer.
    plot
        File for the curve of stiffness along the part.
    """
    read = load(setup, changes).setup
    answer = work_answer(read, push=_push(read))
    check_plot_targets(json, plot)
    if plot is not None:
        from stickout.cli.show.plots.work_plot import draw_work  # imports Matplotlib

        with writing(plot, key="--plot") as part:
            draw_work(answer, path=part)
    if json is not None:
        from stickout.fem.records.work import work_record

        write_json(work_record(answer, tool=TOOL, version=VERSION), json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.work_answer import work_text

        sys.stdout.write(work_text(answer))


def _push(setup: Setup) -> float:
    """Return the force out of the work of the cut [N]; a usual one where the cut is not described."""
    try:
        return abs(cut_case(setup).force.p)
    except InputError:
        return USUAL_PUSH
