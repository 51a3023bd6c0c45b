"""What a recording or a pull says of the page's set-up: the answers of ``listen``, ``pull`` and ``fit``."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np

from stickout.cli.fitting import LEFT_OUT, Gathered, gathered, measured_text
from stickout.cli.text.bench_words import band_rows, next_lines, turned_line
from stickout.cli.text.fit_answer import fit_text
from stickout.cli.text.listen_answer import listen_text, mode_words
from stickout.cli.text.pull_answer import opened_lines, pull_text
from stickout.cli.text.trust_words import trust_words
from stickout.fem.bench.curves import Curve, decay_curve, level_curve, tap_spectrum
from stickout.fem.bench.fit import Fitted, fit_setup
from stickout.fem.bench.listening import Heard
from stickout.fem.bench.log import read_log
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.trust import trust
from stickout.fem.errors import InputError, SolveError
from stickout.fem.records.bench import fit_record, listen_record, pull_record
from stickout.fem.setup.file import setup_from_tables
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.setup_error import SetupError

Record = dict[str, Any]
_MOST_POINTS: Final = 600
_NEAR: Final = 1.25  # the spectrum beside the loudest note, this much to either side


def hear(job: Mapping[str, Any]) -> Record:
    """Return what a log says of a set-up, or the mistakes in either.

    Parameters
    ----------
    job
        ``text`` and ``tables`` of the set-up file, the tables changed as the sliders say; ``log``, the path
        of the log; ``name``, what it is called.

    Returns
    -------
    dict
        Plain data; under ``mistakes`` sentences where something cannot be used, under ``failed`` one where
        the computation failed, under ``kept`` the text of a set-up with what was measured.
    """
    try:
        tables = {key: value for key, value in job["tables"].items() if key != "measured"}
        setup = setup_from_tables(tables).setup
        found = gathered(setup, read_log(Path(job["log"])))
        record = _heard(found, setup.units)
        record["unused"] += [LEFT_OUT] if "measured" in job["tables"] else []
        if found.unused and not found.evidence.notes and not found.evidence.compliances:
            return record | {"fit": None, "answer": _nothing(found)}
        fitted = fit_setup(setup, found.evidence)
        kept = measured_text(job["text"], tables, fitted=fitted, cuts=found.evidence.cuts, origin=job["name"])
        record["texts"].append({"command": "fit", "text": fit_text(fitted, at="", units=setup.units)})
        return record | _fitted(fitted, found, setup=setup) | {"kept": kept}
    except SetupError as error:
        return {"mistakes": [str(one) for one in error.mistakes]}
    except InputError as error:
        return {"mistakes": [str(error)]}
    except SolveError as error:
        return {"failed": str(error)}


def _nothing(found: Gathered) -> str:
    """Return the one sentence where nothing can be learnt, as ``listen`` and ``fit`` say it."""
    for one in found.heard:
        if one.refused:
            return f"No answer from this recording: {one.refused}."
    return " ".join(found.unused)


def _heard(found: Gathered, units: str) -> Record:
    """Return what the recording and the pulls gave by themselves."""
    record: Record = {
        "listen": None,
        "pull": None,
        "unused": [*found.unused, *opened_lines(found.pulled, units)],
        "texts": [],
    }
    for heard in found.heard:
        told = listen_record(heard)
        for one in told["recordings"]:
            one["file"] = Path(one["file"]).name
        record |= {
            "listen": told,
            "notes": [mode_words(one) for one in heard.modes],
            "trust": _trusted(heard),
            "curves": _curves(heard),
        }
        record["texts"].append({"command": "listen", "text": listen_text(heard)})
    if found.pulled.pulls:
        record["pull"] = pull_record(found.pulled)
        record["texts"].append({"command": "pull", "text": pull_text(found.pulled, units)})
    return record


def _trusted(heard: Heard) -> list[Record]:
    """Return why the first note may be believed; nothing without one."""
    if not heard.modes:
        return []
    told = trust_words(trust(heard, heard.modes[0]))
    return [{"passed": passed, "words": words} for passed, words in told]


def _fitted(fitted: Fitted, found: Gathered, *, setup: Setup) -> Record:
    """Return what the fit says."""
    ways = [name for name, there in (("taps", found.evidence.notes), ("pull", found.pulled.pulls)) if there]
    return {
        "fit": fit_record(fitted),
        "answer": turned_line(fitted, by=" and ".join(ways), units=setup.units),
        "bands": band_rows(fitted, setup),
        "next": next_lines(fitted, setup.units),
    }


def _curves(heard: Heard) -> Record:
    """Return the curves of a recording, thinned for a picture."""
    (file,) = heard.files
    level, spectrum = level_curve(file, most=_MOST_POINTS), tap_spectrum(file)
    note = heard.modes[0] if heard.modes else None
    decay = None if note is None else decay_curve(note, file)
    rate = file.recording.rate_hz
    out: Record = {
        "level": _points(level),
        "used_s": [_short(tap.start / rate) for tap in file.taps],
        "spectrum": None if spectrum is None else _points(_thin(spectrum)),
        "near": None,
        "decay": None,
        "notes_hz": [_short(one.frequency_hz.likely) for one in heard.modes],
    }
    if note is not None and spectrum is not None:
        hz = note.frequency_hz.likely
        beside = (spectrum.x > hz / _NEAR) & (spectrum.x < hz * _NEAR)
        out["near"] = _points(Curve(spectrum.x[beside], spectrum.y[beside]))
    if decay is not None:
        step = max(len(decay.seconds) // _MOST_POINTS, 1)
        out["decay"] = {
            "ms": _row(1e3 * decay.seconds[::step]),
            "level_db": _row(decay.level_db[::step]),
            "read_db": _row(decay.read_db[::step]),
            "window_ms": _short(1e3 * decay.window),
        }
    return out


def _thin(curve: Curve) -> Curve:
    """Return a curve over a logarithmic axis with the greatest value of each stretch."""
    edges = np.geomspace(curve.x[0], curve.x[-1], _MOST_POINTS)
    first = np.unique(np.searchsorted(curve.x, edges).clip(max=len(curve.x) - 1))
    return Curve(curve.x[first], np.maximum.reduceat(curve.y, first))


def _points(curve: Curve) -> Record:
    """Return a curve as plain data."""
    return {"x": _row(curve.x), "y": _row(curve.y)}


def _row(values: FloatArray) -> list[float]:
    """Return numbers, no digit more than a picture shows."""
    return [_short(float(one)) for one in values]


def _short(value: float) -> float:
    """Return a number to five digits."""
    return float(f"{value:.5g}")
