"""The modes of a set-up that may sing: of tool, work and post, each with the error of its model."""

from __future__ import annotations

import math
from typing import Final

from stickout.fem.beam.work import work_model
from stickout.fem.bench.squeal import Candidate
from stickout.fem.setup.measured import stiffness_measured
from stickout.fem.setup.parts import Setup
from stickout.fem.study.clamped_loss import CLAMPED, clamped_loss
from stickout.fem.study.study import run_study

_MODEL_SD: Final = 0.15  # of a note that nobody measured
_MEASURED_SD: Final = 0.03
_SAME: Final = 0.02


def singers(setup: Setup) -> list[Candidate]:
    """Return the modes that may sing, those of one note once.

    Parameters
    ----------
    setup
        The set-up; the model's error is 3 % of a note where the tool was measured, else 15 %.

    Raises
    ------
    SolveError
        The modes were not found.

    Source
    ------
    Errors before and after a tap: own choice (computed here).
    """
    result = run_study(setup)
    sd = _MEASURED_SD if stiffness_measured(setup) else _MODEL_SD
    loss = clamped_loss(result).loss.likely
    out: list[Candidate] = []
    for at in range(result.n_modes):
        hz = float(result.frequency_hz[at])
        if result.moves[at] and all(abs(math.log(hz / one.hz)) > _SAME for one in out):
            name = f"the tool's mode at {hz:.0f} Hz ({result.kinds[at]})"
            out.append(Candidate(name, hz, sd, 0.5 * float(loss[at])))
    work = work_model(setup, loss=CLAMPED.likely) if setup.work is not None else None
    if work is not None:
        for omega in work.omega.tolist():
            hz = omega / (2 * math.pi)
            name = f"the work's mode at {hz:.0f} Hz"
            if all(one.name != name for one in out):
                out.append(Candidate(name, hz, _MODEL_SD, 0.5 * CLAMPED.likely))
    return out
