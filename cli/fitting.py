"""A bar's log set against its set-up, as ``fit`` and the live page do it: what counted, what is written."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from stickout.fem.bench.carried import SIDEWAYS, TILTING, UP
from stickout.fem.bench.evidence import Evidence, Note, compliance_of, expected_hz, note_as_heard, note_of
from stickout.fem.bench.fit import PUSH, Fitted
from stickout.fem.bench.listening import Heard, listen
from stickout.fem.bench.log import Log, LoggedTap
from stickout.fem.bench.seat import Pulls, read_pulls
from stickout.fem.setup.bands import Band
from stickout.fem.setup.kept_text import kept_text
from stickout.fem.setup.measured import measured_table
from stickout.fem.setup.parts import HeardCut, Measured, Setup
from stickout.fem.setup.writing import heard_tables

LEFT_OUT: Final = (
    "Note: what [measured] says is left out here: the log is fitted from the assumed bands anew."
)


@dataclass(frozen=True)
class Gathered:
    """What the recordings and pulls of a log tell.

    Attributes
    ----------
    evidence
        What the fit takes.
    heard
        What each recording gave.
    pulled
        What the pulls gave.
    unused
        What is not used, and why, a sentence each.
    """

    evidence: Evidence
    heard: tuple[Heard, ...]
    pulled: Pulls
    unused: tuple[str, ...]


def gathered(setup: Setup, log: Log) -> Gathered:
    """Return what the recordings and pulls of a log tell of a set-up.

    Raises
    ------
    InputError
        A recording cannot be read.
    """
    notes, heard, unused = [], [], []
    for tap in log.taps:
        note, one = _note(setup, tap)
        if one is not None:
            heard.append(one)
            if one.refused and tap.recording is not None:
                unused.append(f"{tap.recording.name} is not used: {one.refused}.")
        if note is not None:
            notes.append(note)
    pulled = read_pulls(log.pulls, setup=setup)
    unused += [
        f"Pull {at} is not used: {one.refused}." for at, one in enumerate(pulled.pulls, 1) if one.refused
    ]
    compliances = [found for one in pulled.pulls if (found := compliance_of(one)) is not None]
    before = () if setup.cut is None else setup.cut.heard
    cuts = (*before, *(one for one in log.cuts if one not in before))
    evidence = Evidence(notes, compliances, cuts, log.sprung)
    return Gathered(evidence, tuple(heard), pulled, tuple(unused))


def _note(setup: Setup, tap: LoggedTap) -> tuple[Note | None, Heard | None]:
    """Return the note of one entry of the log, and what was heard where it is a recording."""
    if tap.recording is None:
        return note_as_heard(tap), None
    heard = listen([tap.recording])
    return note_of(tap, heard, near_hz=expected_hz(setup, tap)), heard


def measured_text(
    text: str, tables: Mapping[str, Any], *, fitted: Fitted, cuts: Sequence[HeardCut], origin: str
) -> str:
    """Return a set-up file with the section [measured] and the cuts that were heard.

    Parameters
    ----------
    text
        The file as it is: its comments stay.
    tables
        What it says, changed as for the fit.
    fitted
        What was measured.
    cuts
        All cuts heard.
    origin
        What it was fitted to, for the file.
    """
    out = {key: value for key, value in tables.items() if key != "measured"}
    today = datetime.datetime.now(tz=datetime.UTC).date().isoformat()
    found = _measured(out, fitted.parameters, date=today, origin=f"fit of {origin}")
    table = measured_table(found)
    if any(isinstance(one, list) for one in table.values()):
        out["measured"] = table
    if found.post_tilt_nm_per_rad is not None:
        out["post"] = {**out.get("post", {}), "measured": f"pulled from the bed, {found.origin}, {today}"}
    if cuts and "cut" in out:
        out["cut"] = {**out["cut"], "heard": heard_tables(cuts, units=str(out.get("units", "mm")))}
    return kept_text(text, out)


def _measured(
    tables: Mapping[str, Any], parameters: Mapping[str, Band], *, date: str, origin: str
) -> Measured:
    """Return what was measured as the set-up holds it."""
    push = parameters.get(PUSH)
    return Measured(
        stiffness_n_per_um_mm2=_found(parameters, "n_per_um_mm2"),
        loss_factor=_found(parameters, "loss_factor"),
        date=date,
        origin=origin,
        style=str(tables.get("grip", {}).get("style", "")),
        push=push,
        work_material=str(tables.get("cut", {}).get("work_material", "")) if push else "",
        post_up_n_per_um=parameters.get(UP),
        post_sideways_n_per_um=parameters.get(SIDEWAYS),
        post_tilt_nm_per_rad=parameters.get(TILTING),
    )


def _found(parameters: Mapping[str, Band], end: str) -> Band | None:
    """Return the first parameter whose key ends so."""
    return next((band for key, band in parameters.items() if key.endswith(end)), None)
