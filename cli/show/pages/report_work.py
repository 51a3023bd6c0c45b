"""The report's pages on what is cut: the part along its length in its holding, and tool and part together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from stickout.cli.show.pages.report_parts import Ledger, figure_of, paragraph, section, table
from stickout.cli.show.plots.beside import check_together
from stickout.cli.show.plots.together_plot import draw_strip
from stickout.cli.show.plots.work_plot import draw_work
from stickout.cli.text.words import hertz, stiffness_text
from stickout.cli.text.work_answer import margin_text, opening_lines
from stickout.cli.version import TOOL, VERSION
from stickout.fem.cut.along import CutStation, cut_along
from stickout.fem.cut.answer import CutAnswer
from stickout.fem.errors import InputError
from stickout.fem.records.work import work_record
from stickout.fem.study.result import Result
from stickout.fem.units import MM, length_text, small_length_text
from stickout.fem.work.answer import USUAL_PUSH, WorkAnswer, work_answer

_TOGETHER: Final = "Tool and part together, where the cut sings"


def work_section(result: Result, answer: CutAnswer | None) -> str:
    """Return what the part does along its length, drawn in its holding; nothing for a tool alone."""
    setup = result.setup
    if setup.work is None:
        return ""
    found = work_answer(setup, push=USUAL_PUSH if answer is None else abs(answer.case.force.p))
    cuts = [] if answer is None else cut_along(result)
    ledger = Ledger("work", work_record(found, cuts, tool=TOOL, version=VERSION))
    text = "The part in its holding, and the stiffness along it"
    return section(
        "The part along its length",
        *(paragraph(one) for one in opening_lines(found, cuts)),
        figure_of(text, lambda path: draw_work(found, path=path, cuts=cuts)),
        _cuts(found, cuts, ledger),
        _supports(found, ledger),
    )


def _cuts(found: WorkAnswer, cuts: Sequence[CutStation], ledger: Ledger) -> str:
    """Return the cut at places along the part."""
    if not cuts:
        return ""
    units = found.setup.units
    rows = [
        [
            ledger.show(f"cuts.{at}.at_m", lambda m: length_text(m / MM, units)),
            ledger.show(f"cuts.{at}.margin", margin_text),
            ledger.show(f"cuts.{at}.margin_after", margin_text),
            ledger.show(f"cuts.{at}.chatter_hz", hertz),
            ledger.show(f"cuts.{at}.sings", str),
        ]
        for at in range(len(cuts))
    ]
    heads = ("from the headstock", "margin (above 1: quiet)", "once turned down", "pitch", "which sings")
    return table(heads, rows)


def _supports(found: WorkAnswer, ledger: Ledger) -> str:
    """Return what each support buys, and what a spring varies by."""
    units = found.setup.units
    worst = ledger.show("worst_at_m", lambda at: length_text(at / MM, units))
    rows = [
        [
            ledger.show(f"supports.{at}.held", str),
            ledger.show(
                f"supports.{at}.least_stiffness_n_per_m", lambda k: stiffness_text(k, units, digits=2)
            ),
            ledger.show(f"supports.{at}.frequency_hz", hertz),
        ]
        for at in range(len(found.bought))
    ]
    form = ledger.show(f"stations.{found.worst}.diameter_error_m", lambda m: small_length_text(m, units))
    note = f"<p>It gives most {worst} from the headstock; there the diameter comes {form} large.</p>"
    return note + table(("held", "least stiffness", "first note"), rows)


def together_section(answer: CutAnswer) -> str:
    """Return three moments of tool, part and supports on one clock; nothing where that cannot be drawn."""
    try:
        check_together(answer.result.setup)
    except InputError:
        return ""
    return section(_TOGETHER, figure_of("", lambda path: draw_strip(answer, path)))
