"""One question of the live page answered: model for the viewer, plain words, limit of the cut."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from stickout.cli.live.sliders import SPEED
from stickout.cli.show.pages.viewer_model import viewer_model
from stickout.cli.show.pages.viewer_words import viewer_sentence
from stickout.cli.text.cut_words import TOO_LIGHT, fine_length
from stickout.cli.text.speed_words import crossing_line, in_ten, tried_line, verdict_line
from stickout.cli.text.words import hertz, load_name, margin_figure, plain, spring_text
from stickout.fem.cut.judged import JudgedCut, judged_result
from stickout.fem.cut.likely import LikelyLimit
from stickout.fem.cut.operating import Operating, motion_at, moves_together
from stickout.fem.cut.quick import quick_study
from stickout.fem.cut.speed_margins import speed_margins
from stickout.fem.cut.turned import TurnedBar, can_turn, turned_bar
from stickout.fem.errors import InputError, SolveError
from stickout.fem.force.case import NEEDED
from stickout.fem.setup.file import setup_from_tables
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.setup_error import SetupError
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study

Record = dict[str, Any]
_QUICK_NODES = 1100


def answer(job: Mapping[str, Any], *, still_wanted: Callable[[], None] = lambda: None) -> Record:
    """Return the answer to one question, or the mistakes in it.

    Parameters
    ----------
    job
        ``tables`` of the set-up file, ``changes`` (key -> value), ``speed`` [rpm] or None, ``full``.
    still_wanted
        Called before each mesh of a full answer; it may raise to give up.

    Returns
    -------
    dict
        Plain data; under ``mistakes`` sentences where the set-up cannot be used, under ``failed`` one
        where the computation failed.
    """
    began = time.perf_counter()
    changes = [f"{key}={value!r}" for key, value in job["changes"].items() if key != SPEED]
    try:
        read = setup_from_tables(dict(job["tables"]), changes=changes)
        full = bool(job["full"])
        result = _study(read.setup, full=full, still_wanted=still_wanted)
        judged = _judged(result)
        motion = None if judged is None else _motion(result, judged)
        model = viewer_model(result, most_nodes=_QUICK_NODES, energy=full, motion=motion)
        record = {
            "full": full,
            "accuracy": _accuracy_words(result, full=full),
            "model": model,
            "spring": result.compliance_along,
            "rows": _rows(result),
            "warnings": [*read.notes, *read.warnings, *result.warnings],
            **_cut(result, judged, speed=job.get("speed")),
        }
    except SetupError as error:
        return {"mistakes": [str(one) for one in error.mistakes], "keys": [one.key for one in error.mistakes]}
    except InputError as error:
        return {"mistakes": [str(error)], "keys": [error.key]}
    except SolveError as error:
        return {"failed": str(error)}
    return record | {"seconds": time.perf_counter() - began}


def _study(setup: Setup, *, full: bool, still_wanted: Callable[[], None]) -> Result:
    """Return the study: the first mesh alone, or as many as the wanted accuracy takes."""
    return run_study(setup, progress=lambda _: still_wanted()) if full else quick_study(setup)


def _accuracy_words(result: Result, *, full: bool) -> str:
    """Return how far the figures can be trusted, as solved."""
    worst = 100 * float(result.frequency_error[: result.n_modes].max())
    if not full:
        return f"first mesh, notes to about {plain(worst, 1)} %"
    return f"notes to {plain(worst, 1)} % or better"


def _rows(result: Result) -> Record:
    """Return the figures of the table as words."""
    note, units = float(result.frequency_hz[result.aligned]), result.setup.units
    return {
        "sentence": viewer_sentence(result),
        "note": hertz(note),
        "spring": f"{spring_text(result.compliance_along, units)} per {load_name(units)}",
    }


def _absent(setup: Setup) -> list[str]:
    """Return the needed keys that a described cut lacks."""
    return [] if setup.cut is None else [key for key in NEEDED if _lacks(setup, key)]


def _judged(result: Result) -> JudgedCut | None:
    """Return the verdict on the cut, that of the command ``cut``; None where it is not described."""
    described = result.setup.cut is not None and not _absent(result.setup)
    return judged_result(result) if described else None


def _motion(result: Result, judged: JudgedCut) -> Operating | None:
    """Return how tool, post and part move where the cut sings; None where the bar alone does."""
    here = replace(result, setup=judged.likely.setup)
    if not moves_together(here.setup):
        return None
    return motion_at(here, judged.likely, chatter_hz=judged.worst.chatter_hz)


def _cut(result: Result, judged: JudgedCut | None, *, speed: float | None) -> Record:
    """Return what is told of the cut: verdict, margin, depth, speed, rotation; or why nothing is."""
    setup = result.setup
    if judged is None:
        return {"cut": None, "why": _why(_absent(setup))}
    found, speed_told = judged.likely, judged.verdict.stated.cutting_speed
    angle = setup.bar.rotation_deg
    turned = turned_bar(found.case, found.tool, work=found.work, rotation_deg=angle, speed=speed_told)
    return {"cut": _told(judged, setup.units) | _at_speed(found, speed), "turned": _turned(turned, setup)}


def _lacks(setup: Setup, key: str) -> bool:
    """Return whether a needed key of the cut is missing."""
    name = f"{key}_mm" if key in ("depth", "feed", "nose_radius") else key
    return getattr(setup.cut, name) is None


def _why(absent: list[str]) -> str:
    """Return why no limit is told."""
    if absent:
        return f"The limit of the cut needs more in [cut]: {', '.join(absent)}."
    return "The set-up describes no cut, so no limit is told. Add a section [cut]."


def _told(judged: JudgedCut, units: str) -> Record:
    """Return words and bands of the verdict, those of the command ``cut``."""
    verdict, margin, depth = judged.verdict, judged.margin, judged.depth
    ends = [_depth_text(one, units) or "any depth" for one in (depth.low, depth.high)]
    ends_of = f"{margin_figure(margin.low)} to {margin_figure(margin.high)}"
    band = f"{margin_figure(margin.likely)} ({ends_of})"
    more = (tried_line(verdict, units), crossing_line(verdict, units))
    return {
        "verdict": verdict_line(verdict, units),
        "words": " ".join(one for one in more if one),
        "depth": ends[0] if ends[0] == ends[1] else f"{ends[0]} to {ends[1]}",
        "margin": "no limit" if math.isinf(margin.high) else band,
        "chance": f"{in_ten(judged.worst.p_quiet)} in 10",
        "likely": _number(margin.likely),
        "low": _number(margin.low),
        "high": _number(margin.high),
        "depth_mm": _number(1e3 * depth.likely),
        "depth_low_mm": _number(1e3 * depth.low),
        "depth_high_mm": _number(1e3 * depth.high),
    }


def _depth_text(depth: float, units: str) -> str:
    """Return a depth limit; empty where no depth limits."""
    if math.isinf(depth):
        return ""
    return fine_length(depth, units, digits=2) if depth > TOO_LIGHT else "none"


def _at_speed(found: LikelyLimit, speed: float | None) -> Record:
    """Return the likely margin at one spindle speed; without the work's diameter nothing is known of it."""
    if speed is None:
        return {}
    if found.case.cut.work_diameter_mm is None:
        return {"at_speed": f"work_diameter is needed for {speed:.0f} rpm"}
    case = replace(found.case, cut=replace(found.case.cut, speeds_rpm=(speed,)))
    margin = float(speed_margins(case, found.both).least)
    told = margin_figure(margin) if math.isfinite(margin) else "no limit"
    return {"at_speed": f"{told} at {speed:.0f} rpm"}


def _turned(turned: TurnedBar, setup: Setup) -> Record:
    """Return the margin against rotation as plain data; what cannot be turned alone counts as alike."""
    return {
        "angles": [float(one) for one in turned.angles_deg],
        "margin": [_number(float(one)) for one in turned.margin],
        "now": turned.now_deg,
        "best": turned.best_deg,
        "windows": [list(one) for one in turned.windows],
        "alike": turned.alike or not can_turn(setup),
    }


def _number(value: float) -> float | None:
    """Return a number as JSON can hold it: None where there is no limit."""
    return float(f"{value:.6g}") if math.isfinite(value) else None
