"""The command ``fit``: taps and pulls of a log put into a set-up."""

from __future__ import annotations

import datetime
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from stickout.cli.options import Changes, JsonTarget, SetupFile
from stickout.cli.outputs import STANDARD_OUTPUT, check_target, write_json, writing
from stickout.cli.run import load, tell
from stickout.cli.version import TOOL, VERSION

if TYPE_CHECKING:
    from collections.abc import Mapping

    from stickout.fem.bench.evidence import Evidence, Note
    from stickout.fem.bench.log import Log, LoggedTap
    from stickout.fem.setup.bands import Band
    from stickout.fem.setup.parts import Setup

LogFile = Annotated[Path, Parameter(help="The log of the bar: TOML with [[tap]] and [[pull]] entries.")]
At = Annotated[
    tuple[str, ...],
    Parameter(name="--at", negative="", help="Predict with a key changed: --at bar.overhang=60."),
]
OutFile = Annotated[Path | None, Parameter(help="File for the set-up with the measured numbers in it.")]


def fit(
    setup: SetupFile,
    /,
    *,
    log: LogFile,
    at: At = (),
    changes: Changes = (),
    json: JsonTarget = None,
    out: OutFile = None,
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
    out
        File for the set-up with the measured numbers.
    """
    read = load(setup, changes)
    if json not in (None, STANDARD_OUTPUT):
        check_target(Path(str(json)), key="--json")
    if out is not None:
        check_target(out, key="--out")
    from stickout.fem.bench.fit import fit_setup
    from stickout.fem.bench.log import read_log

    logged = read_log(log)
    elsewhere = load(setup, (*changes, *at)).setup if at else None
    fitted = fit_setup(read.setup, _evidence(read.setup, logged), elsewhere=elsewhere)
    if logged.cuts:
        tell("Cuts heard in the log are kept for later and were not used.")
    if out is not None:
        _write_setup(setup, changes, fitted.parameters, log, out)
    if json is not None:
        from stickout.fem.records.bench import fit_record

        write_json({"tool": TOOL, "version": VERSION, **fit_record(fitted)}, json)
    if json != STANDARD_OUTPUT:
        from stickout.cli.text.fit_answer import fit_text

        sys.stdout.write(fit_text(fitted, at=", ".join(at)))


def _evidence(setup: Setup, log: Log) -> Evidence:
    """Return what the log's recordings and pulls tell; what is refused is said."""
    from stickout.fem.bench.evidence import Evidence, spring_of
    from stickout.fem.bench.pull import read_pull

    notes = [note for tap in log.taps if (note := _note(setup, tap)) is not None]
    pulls = [read_pull(one) for one in log.pulls]
    for number, one in enumerate(pulls, 1):
        if one.refused:
            tell(f"Pull {number} is not used: {one.refused}.")
    springs = [spring for one in pulls if (spring := spring_of(one)) is not None]
    return Evidence(notes, springs)


def _note(setup: Setup, tap: LoggedTap) -> Note | None:
    """Return the note of one recording of the log; None, and why, where there is none."""
    from stickout.fem.bench.evidence import expected_hz, note_of
    from stickout.fem.bench.listening import listen

    heard = listen([tap.recording])
    if heard.refused:
        tell(f"{tap.recording.name} is not used: {heard.refused}.")
    return note_of(tap, heard, near_hz=expected_hz(setup, tap))


def _write_setup(
    setup: Path, changes: tuple[str, ...], parameters: Mapping[str, Band], log: Path, out: Path
) -> None:
    """Write the set-up with the section [measured]."""
    from stickout.fem.setup.file import read_tables
    from stickout.fem.setup.measured import measured_table
    from stickout.fem.setup.overrides import with_changes
    from stickout.fem.setup.parts import Measured
    from stickout.fem.setup.toml_text import toml_text

    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    tables = with_changes(read_tables(setup), changes)
    stiffness, loss = (
        next((band for key, band in parameters.items() if key.endswith(end)), None)
        for end in ("n_per_um_mm2", "loss_factor")
    )
    style = str(tables.get("grip", {}).get("style", ""))
    found = Measured(stiffness, loss, date=today, origin=f"fit of {log.name}", style=style)
    tables["measured"] = measured_table(found)
    with writing(out, key="--out") as part:
        part.write_text(toml_text(tables), encoding="utf-8")
