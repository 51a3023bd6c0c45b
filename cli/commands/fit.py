"""The command ``fit``: taps and pulls of a log put into a set-up."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

from cyclopts import Parameter

from stickout.cli.options import Changes, JsonTarget, PlotTarget, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_answer, check_target, write_json, writing
from stickout.cli.run import load, tell, tell_read
from stickout.cli.version import TOOL, VERSION

if TYPE_CHECKING:
    from stickout.fem.setup.parts import Setup

LogFile = Annotated[
    Path, Parameter(help="The log of the bar: TOML with [[tap]], [[pull]], [[spring_pass]] and [[cut]].")
]
At = Annotated[
    tuple[str, ...],
    Parameter(name="--at", negative="", help="Predict with a key changed: --at bar.overhang=60."),
]
OutFile = Annotated[Path | None, Parameter(help="File for the set-up with the measured numbers in it.")]


@Parameter(name="*")
@dataclass(frozen=True)
class Files:
    """Files that are written beside the answer."""

    out: OutFile = None
    plot: PlotTarget = None


_NO_FILES: Final = Files()


def fit(
    setup: SetupFile,
    /,
    *,
    log: LogFile,
    at: At = (),
    changes: Changes = (),
    json: JsonTarget = None,
    files: Files = _NO_FILES,
) -> None:
    """Set taps and pulls against the model: note, spring and margin as measured, the grip as by-product.

    Parameters
    ----------
    setup
        The set-up file, as the bar stood when it was tapped.
    log
        The log of the bar.
    at
        Changes for the prediction.
    changes
        Changes of its keys for this run.
    json
        File for the result; - for standard output, in place of the answer.
    files
        Files for the set-up with the measured numbers and for the picture.
    """
    out, plot = files.out, files.plot
    check_answer(json, plot)
    check_target(out, key="--out")
    from stickout.cli.fitting import gathered, measured_text
    from stickout.cli.text.pull_answer import opened_lines
    from stickout.fem.bench.fit import fit_setup
    from stickout.fem.bench.log import read_log
    from stickout.fem.setup.file import parse_tables, read_text
    from stickout.fem.setup.overrides import with_changes

    read = _unmeasured(setup, changes)
    logged = read_log(log)
    elsewhere = _unmeasured(setup, (*changes, *at)) if at else None
    found = gathered(read, logged)
    for line in (*found.unused, *opened_lines(found.pulled, read.units)):
        tell(line)
    fitted = fit_setup(read, found.evidence, elsewhere=elsewhere)
    if out is not None:
        text = read_text(setup)
        tables = with_changes(parse_tables(text, name=str(setup)), changes)
        kept = measured_text(text, tables, fitted=fitted, cuts=found.evidence.cuts, origin=log.name)
        with writing(out, key="--out") as part:
            part.write_text(kept, encoding="utf-8")
    if plot is not None:
        from stickout.cli.show.plots.fit_plot import draw_fit  # here: most runs draw nothing

        with writing(plot, key="--plot") as part:
            draw_fit(fitted, part, setup=read)
    if json is not None:
        from stickout.fem.records.bench import fit_record

        write_json({"tool": TOOL, "version": VERSION, **fit_record(fitted)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.fit_answer import fit_text

        sys.stdout.write(fit_text(fitted, at=", ".join(at), units=read.units))


def _unmeasured(path: Path, changes: tuple[str, ...]) -> Setup:
    """Return the set-up as assumed: an older fit is no evidence beside the log that it came from."""
    from stickout.cli.fitting import LEFT_OUT
    from stickout.fem.setup.file import read_setup, read_tables

    if "measured" not in read_tables(path):
        return load(path, changes).setup
    read = read_setup(path, changes=changes, leave_out=("measured",))
    tell_read(read)
    tell(LEFT_OUT)
    return read.setup
