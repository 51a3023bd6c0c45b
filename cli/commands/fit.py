"""The command ``fit``: taps and pulls of a log put into a set-up."""

from __future__ import annotations

import datetime
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
    from collections.abc import Mapping, Sequence

    from stickout.fem.bench.evidence import Evidence, Note
    from stickout.fem.bench.log import Log, LoggedTap
    from stickout.fem.setup.bands import Band
    from stickout.fem.setup.parts import HeardCut, Setup

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
    from stickout.fem.bench.fit import fit_setup
    from stickout.fem.bench.log import read_log

    read = _unmeasured(setup, changes)
    logged = read_log(log)
    elsewhere = _unmeasured(setup, (*changes, *at)) if at else None
    evidence = _evidence(read, logged)
    fitted = fit_setup(read, evidence, elsewhere=elsewhere)
    if out is not None:
        _write_setup(setup, changes, Written(fitted.parameters, evidence.cuts, log.name), out)
    if plot is not None:
        from stickout.cli.show.plots.fit_plot import draw_fit  # imports Matplotlib

        with writing(plot, key="--plot") as part:
            draw_fit(fitted, part)
    if json is not None:
        from stickout.fem.records.bench import fit_record

        write_json({"tool": TOOL, "version": VERSION, **fit_record(fitted)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.fit_answer import fit_text

        sys.stdout.write(fit_text(fitted, at=", ".join(at)))


def _unmeasured(path: Path, changes: tuple[str, ...]) -> Setup:
    """Return the set-up as assumed: an older fit is no evidence beside the log that it came from."""
    from stickout.fem.setup.file import read_setup, read_tables

    if "measured" not in read_tables(path):
        return load(path, changes).setup
    read = read_setup(path, changes=changes, leave_out=("measured",))
    tell_read(read)
    tell("Note: what [measured] says is left out here: the log is fitted from the assumed bands anew.")
    return read.setup


def _evidence(setup: Setup, log: Log) -> Evidence:
    """Return what the log's recordings and pulls tell; what is refused is said."""
    from stickout.fem.bench.evidence import Evidence, compliance_of
    from stickout.fem.bench.pull import read_pull

    notes = [note for tap in log.taps if (note := _note(setup, tap)) is not None]
    pulls = [read_pull(one) for one in log.pulls]
    for number, one in enumerate(pulls, 1):
        if one.refused:
            tell(f"Pull {number} is not used: {one.refused}.")
    compliances = [found for one in pulls if (found := compliance_of(one)) is not None]
    before = () if setup.cut is None else setup.cut.heard
    heard = (*before, *(one for one in log.cuts if one not in before))
    return Evidence(notes, compliances, heard, log.sprung)


def _note(setup: Setup, tap: LoggedTap) -> Note | None:
    """Return the note of one recording of the log; None, and why, where there is none."""
    from stickout.fem.bench.evidence import expected_hz, note_as_heard, note_of
    from stickout.fem.bench.listening import listen

    if tap.recording is None:
        return note_as_heard(tap)
    heard = listen([tap.recording])
    if heard.refused:
        tell(f"{tap.recording.name} is not used: {heard.refused}.")
    return note_of(tap, heard, near_hz=expected_hz(setup, tap))


@dataclass(frozen=True)
class Written:
    """What goes into the set-up that is written: what was measured, cuts heard, and the log's name."""

    parameters: Mapping[str, Band]
    cuts: Sequence[HeardCut]
    log: str


def _write_setup(setup: Path, changes: tuple[str, ...], written: Written, out: Path) -> None:
    """Write the set-up with the section [measured] and the cuts that were heard."""
    from stickout.fem.setup.file import parse_tables, read_text
    from stickout.fem.setup.kept_text import kept_text
    from stickout.fem.setup.measured import measured_table
    from stickout.fem.setup.overrides import with_changes
    from stickout.fem.setup.parts import Measured
    from stickout.fem.setup.writing import heard_tables

    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    text = read_text(setup)
    tables = with_changes(parse_tables(text, name=str(setup)), changes)
    tables.pop("measured", None)
    stiffness, loss = (
        next((band for key, band in written.parameters.items() if key.endswith(end)), None)
        for end in ("n_per_um_mm2", "loss_factor")
    )
    if stiffness is not None or loss is not None:
        style = str(tables.get("grip", {}).get("style", ""))
        found = Measured(stiffness, loss, date=today, origin=f"fit of {written.log}", style=style)
        tables["measured"] = measured_table(found)
    if written.cuts and "cut" in tables:
        cuts = heard_tables(written.cuts, units=str(tables.get("units", "mm")))
        tables["cut"] = {**tables["cut"], "heard": cuts}
    with writing(out, key="--out") as part:
        part.write_text(kept_text(text, tables), encoding="utf-8")
