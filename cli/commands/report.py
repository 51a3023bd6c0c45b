"""The command ``report``: the printable report of a set-up."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final, Literal

from cyclopts import Parameter

from stickout.cli.options import Changes, SetupFile
from stickout.cli.outputs import check_suffix, check_target, writing
from stickout.cli.run import load, tell
from stickout.cli.solving import solve
from stickout.fem.errors import InputError

if TYPE_CHECKING:
    from stickout.cli.show.pages.told import Told
    from stickout.fem.study.result import Result

SUFFIXES: Final = (".html", ".pdf")


def report(
    setup: SetupFile,
    /,
    *,
    out: Annotated[Path, Parameter(help="The file: .html, or .pdf where a Chromium browser is installed.")],
    changes: Changes = (),
    paper: Annotated[
        Literal["a4", "letter"] | None, Parameter(help="The sheet; letter for a set-up in inches, else a4.")
    ] = None,
) -> None:
    """Write a printable report: job, drawing, plain answer, modes, energy, hand check, cut, cautions.

    Parameters
    ----------
    setup
        The set-up file.
    out
        The file to be.
    changes
        Changes of the set-up's keys for this run.
    paper
        The sheet it is printed on.
    """
    read = load(setup, changes)
    program = check_report(out)
    told = told_of(solve(read.setup).result)
    if told.no_cut:
        tell(told.no_cut)
    from stickout.cli.show.pages.report import report_page

    text = on_paper(report_page(told), paper or ("letter" if read.setup.units == "inch" else "a4"))
    with writing(out, key="--out") as part:
        if program is None:
            part.write_text(text, encoding="utf-8")
        else:
            _print(text, part, program)
    sys.stdout.write(f"Report written to {out} ({out.stat().st_size / 1000:.0f} kB).\n")


def check_report(out: Path) -> str | None:
    """Return the browser that prints a .pdf, None for a .html; check that the file can be written.

    Raises
    ------
    InputError
        The suffix is not known, no browser is there to print a .pdf, or the file cannot be written.
    """
    check_suffix(out, SUFFIXES, key="--out")
    program = None
    if out.suffix.lower() == ".pdf":
        from stickout.cli.show.pages.report_pdf import check_browser

        program = check_browser(out)
    check_target(out, key="--out")
    return program


def on_paper(page: str, paper: str) -> str:
    """Return a page that asks the printer for its sheet: a4 or letter."""
    return page.replace("</head>", f"<style>@page {{ size: {paper}; }}</style></head>", 1)


def told_of(result: Result) -> Told:
    """Return what is told of a result: with the cut, or with the reason why there is none."""
    from stickout.cli.show.pages.told import Told
    from stickout.fem.cut.answer import cut_answer
    from stickout.fem.force.case import cut_case

    if result.setup.cut is None:
        return Told(result, no_cut="The set-up describes no [cut], so nothing is said of chatter.")
    try:
        cut_case(result.setup)
    except InputError as missing:
        return Told(result, no_cut=f"The cut is not described far enough to speak of chatter. {missing.mend}")
    return Told(result, cut_answer(result))


def _print(text: str, part: Path, program: str) -> None:
    """Write a page as PDF."""
    from stickout.cli.show.pages.report_pdf import print_pdf

    with tempfile.TemporaryDirectory(prefix="stickout-report-") as folder:
        page = Path(folder) / "report.html"
        page.write_text(text, encoding="utf-8")
        print_pdf(page, part, program=program)
