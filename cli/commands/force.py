"""The command ``force``: components and direction of the cutting force, engaged edge; no modes are solved."""

from __future__ import annotations

import sys
from typing import Any

from stickout.cli.options import NOTHING_MORE, Asked, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json, writing
from stickout.cli.run import load
from stickout.cli.version import TOOL, VERSION
from stickout.fem.force.case import CutCase, cut_case
from stickout.fem.setup.parts import Setup


def force(setup: SetupFile, /, *, asked: Asked = NOTHING_MORE) -> None:
    """Tell the cutting force: components, direction on the tool, engaged edge, beside the chord rule.

    Parameters
    ----------
    setup
        The set-up file; its [cut] must be complete.
    asked
        Files and changes; the picture shows the engaged edge and the end view with the force.
    """
    read = load(setup, asked.changes, needs=cut_case).setup
    case = cut_case(read)
    check_answer(asked.json, asked.plot)
    if asked.plot is not None:
        from stickout.cli.show.plots.plots import draw_force_sheet  # here: most runs draw nothing

        with writing(asked.plot, key="--plot") as part:
            draw_force_sheet(read, case, path=part)
    if asked.json is not None:
        write_json(force_file(read, case), asked.json)
    if asked.json != STANDARD_OUTPUT:
        from stickout.cli.text.force_screen import force_screen

        sys.stdout.write(force_screen(read, case))
        if asked.more:
            from stickout.cli.text.force_answer import force_text

            sys.stdout.write(f"\n{force_text(read, case)}")


def force_file(setup: Setup, case: CutCase) -> dict[str, Any]:
    """Return the result file of ``force``: the set-up, what was assumed, and the cut's force and edge."""
    from stickout.cli.text.force_answer import chip_warnings
    from stickout.fem.cut.assumed import force_assumptions
    from stickout.fem.records.cut import force_record
    from stickout.fem.records.result import assumption_record
    from stickout.fem.records.setup import setup_record
    from stickout.fem.study.assumed import usual_edge

    return {
        "tool": TOOL,
        "version": VERSION,
        "title": setup.title,
        "setup": setup_record(setup),
        "assumptions": [assumption_record(one) for one in (*force_assumptions(case), *usual_edge(setup))],
        "cut": force_record(case),
        "warnings": chip_warnings(setup, case),
    }
