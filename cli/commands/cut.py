"""The command ``cut``: how deep and at which speeds a cut stays quiet, and what to change first."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from stickout.cli.options import NOTHING_MORE, Asked, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, write_json, writing
from stickout.cli.run import load
from stickout.cli.solving import solve
from stickout.cli.version import TOOL, VERSION
from stickout.fem.force.case import cut_case

if TYPE_CHECKING:
    from stickout.fem.cut.answer import CutAnswer


def cut(setup: SetupFile, /, *, asked: Asked = NOTHING_MORE) -> None:
    """Tell how far a cut is from chatter: limit with its band, your speeds, what to change first.

    Parameters
    ----------
    setup
        The set-up file; its [cut] must be complete.
    asked
        Files and changes; the picture shows margins at speeds and the direction plot.
    """
    read = load(setup, asked.changes, needs=cut_case)
    check_answer(asked.json, asked.plot)
    result = solve(read.setup).result
    from stickout.fem.cut.answer import cut_answer  # here, so that errors are told sooner

    answer = cut_answer(result)
    _write(answer, json=asked.json, plot=asked.plot)
    if asked.json != STANDARD_OUTPUT:
        from stickout.cli.text.cut_screen import cut_screen

        sys.stdout.write(cut_screen(answer))
        if asked.more:
            from stickout.cli.text.cut_answer import cut_text

            sys.stdout.write(f"\n{cut_text(answer)}")


def _write(answer: CutAnswer, *, json: str | None, plot: Path | None) -> None:
    """Write the files asked for."""
    if plot is not None:
        from stickout.cli.show.plots.plots import draw_cut  # here: most runs draw nothing

        with writing(plot, key="--plot") as part:
            draw_cut(answer, part)
    if json is not None:
        from stickout.cli.text.cut_answer import CAUTIONS, CHECKLIST
        from stickout.cli.text.force_answer import chip_warnings
        from stickout.fem.records.cut import cut_result_record

        record = cut_result_record(answer, tool=TOOL, version=VERSION)
        record["warnings"] += chip_warnings(answer.result.setup, answer.case)
        record["cut"] |= {"checklist": list(CHECKLIST), "cautions": list(CAUTIONS)}
        write_json(record, json)
