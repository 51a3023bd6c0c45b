"""The command ``cut``: how deep and at which speeds a cut stays quiet, and what to change first."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import Changes, JsonTarget, MoreOption, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_target, write_json, writing
from stickout.cli.run import load
from stickout.cli.solving import solve
from stickout.cli.version import TOOL, VERSION
from stickout.fem.errors import InputError
from stickout.fem.force.case import cut_case

if TYPE_CHECKING:
    from stickout.fem.cut.answer import CutAnswer

PLOTS = (".svg", ".png", ".pdf")
PlotTarget = Annotated[Path | None, Parameter(help="File for the picture: .svg, .png or .pdf.")]


def cut(
    setup: SetupFile,
    /,
    *,
    changes: Changes = (),
    json: JsonTarget = None,
    plot: PlotTarget = None,
    more: MoreOption = False,
) -> None:
    """Tell how far a cut is from chatter: limit with its band, your speeds, what to change first.

    Parameters
    ----------
    setup
        The set-up file; its [cut] must be complete.
    changes
        Changes of its keys for this run.
    json
        File for the result; - for standard output, in place of the answer.
    plot
        File for margins at speeds and the direction plot.
    more
        Say everything.
    """
    read = load(setup, changes)
    cut_case(read.setup)
    check_plot_targets(json, plot)
    result = solve(read.setup).result
    from stickout.fem.cut.answer import cut_answer  # here, so that errors are told sooner

    answer = cut_answer(result)
    _write(answer, json=json, plot=plot)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.cut_screen import cut_screen

        sys.stdout.write(cut_screen(answer))
        if more:
            from stickout.cli.text.cut_answer import cut_text

            sys.stdout.write(f"\n{cut_text(answer)}")


def _write(answer: CutAnswer, *, json: str | None, plot: Path | None) -> None:
    """Write the files asked for."""
    if plot is not None:
        from stickout.cli.show.plots.plots import draw_cut  # imports Matplotlib

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


def check_plot_targets(json: str | None, plot: Path | None) -> None:
    """Check, before anything is computed, that the files can be written.

    Raises
    ------
    InputError
        A file cannot be written, or the picture has a suffix not known.
    """
    if plot is not None and plot.suffix.lower() not in PLOTS:
        allowed = f"a file that ends in {', '.join(PLOTS[:-1])} or {PLOTS[-1]}"
        raise InputError(key="--plot", given=str(plot), allowed=allowed, mend="Change the ending.")
    if json not in (None, STANDARD_OUTPUT):
        check_target(Path(str(json)), key="--json")
    if plot is not None:
        check_target(plot, key="--plot")
