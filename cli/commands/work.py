"""The command ``work``: notes of the part, stiffness along it, its form, and what each support buys."""

from __future__ import annotations

import sys

from stickout.cli.options import NOTHING_MORE, Asked, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json, writing
from stickout.cli.run import load
from stickout.cli.version import TOOL, VERSION
from stickout.fem.cut.along import CutStation, cut_along
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case
from stickout.fem.setup.parts import Setup
from stickout.fem.study.study import run_study
from stickout.fem.work.answer import USUAL_PUSH, work_answer


def work(setup: SetupFile, /, *, asked: Asked = NOTHING_MORE) -> None:
    """Tell what the part does: stiffness along it, notes, form under the cut, what supports buy.

    Parameters
    ----------
    setup
        The set-up file; it needs [work].
    asked
        Files and changes; the picture shows the part in its holding and the stiffness along it, ``more``
        tells the cut along the part and every assumed spring.
    """
    read = load(setup, asked.changes).setup
    answer = work_answer(read, push=_push(read))
    cuts = _cuts(read)
    check_answer(asked.json, asked.plot)
    if asked.plot is not None:
        from stickout.cli.show.plots.work_plot import draw_work  # here: most runs draw nothing

        with writing(asked.plot, key="--plot") as part:
            draw_work(answer, path=part, cuts=cuts)
    if asked.json is not None:
        from stickout.fem.records.work import work_record

        write_json(work_record(answer, cuts, tool=TOOL, version=VERSION), asked.json)
    if asked.json != STANDARD_OUTPUT:
        from stickout.cli.text.work_answer import work_text

        sys.stdout.write(work_text(answer, cuts, more=asked.more))


def _cuts(setup: Setup) -> list[CutStation]:
    """Return the cut along the part; nothing where it is not described."""
    try:
        cut_case(setup)
    except InputError:
        return []
    return cut_along(run_study(setup))


def _push(setup: Setup) -> float:
    """Return the force out of the work of the cut [N]; a usual one where the cut is not described."""
    try:
        return abs(cut_case(setup).force.p)
    except InputError:
        return USUAL_PUSH
