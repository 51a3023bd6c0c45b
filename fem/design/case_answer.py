"""What one case of many answers: plain numbers without a mesh, small enough to send about and to keep."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from fem.design.case_cut import CaseCut, case_cut
from fem.directions import edge_moves
from fem.errors import InputError
from fem.levers import spread
from fem.result import Loss, Result
from fem.setup import Setup
from meshes.tagged import BoolArray, FloatArray

SOLVED: Final = "solved"
REDUCED: Final = "reduced"


@dataclass(frozen=True)
class Ends:
    """Low, likely and high of a number, from the bands of what was assumed."""

    low: float
    likely: float
    high: float


@dataclass(frozen=True)
class CaseAnswer:
    """The answer to one case, SI throughout.

    Attributes
    ----------
    frequency_hz, frequency_error
        Frequencies of the modes asked for [Hz] and their relative errors, shape (n,).
    kinds
        Kind of each mode.
    pairs
        Indices from 0 of modes equal within the error.
    edge
        Motion of the edge in each mode [kg^-1/2], pairs turned to the force, shape (n, 3).
    moves
        Whether a mode moves the edge at all, shape (n,).
    alignment, static_share
        Share of each mode's edge motion along the force, and of the static spring along it, shape (n,).
    aligned
        Index from 0 of the mode that carries most of the spring along the force.
    loss
        Loss factors by energy shares, shape (n,) each.
    shares
        Share of every region, bed and joint in the strain energy, shape (n,) each.
    compliance
        Static compliance at the edge [m/N], shape (3, 3).
    force
        Direction of the force on the tool, shape (3,).
    note
        Frequency of the aligned mode over the bands of the assumed numbers [Hz]; low and high are NaN where
        no law tells them.
    spring
        Deflection along the force per force [m/N] over the same bands.
    cut
        Limit of the cut; None where none is described far enough.
    unknowns
        Unknowns of the finest mesh.
    way
        ``solved`` on meshes of its own, or ``reduced``: from a space of shapes shared with like cases.
    reduction_error
        Part of ``frequency_error`` that the reduced space adds, its greatest; 0 where solved.
    accurate
        Whether the wanted accuracy was reached.
    warnings
        What the user should know.
    """

    frequency_hz: FloatArray
    frequency_error: FloatArray
    kinds: Sequence[str]
    pairs: Sequence[tuple[int, int]]
    edge: FloatArray
    moves: BoolArray
    alignment: FloatArray
    static_share: FloatArray
    aligned: int
    loss: Loss
    shares: Mapping[str, FloatArray]
    compliance: FloatArray
    force: FloatArray
    note: Ends
    spring: Ends
    cut: CaseCut | None
    unknowns: int
    way: str
    reduction_error: float
    accurate: bool
    warnings: Sequence[str]


def answer_of(result: Result) -> CaseAnswer:
    """Return the numbers of a result without its mesh.

    Raises
    ------
    InputError
        A cut is described, but a mode has no loss.
    SolveError
        A coarse solve for the band of the cut failed.
    """
    n = result.n_modes
    few = slice(None, n)
    band = spread(result)
    note, spring = float(result.frequency_hz[result.aligned]), result.spring
    nan = (float("nan"), float("nan"))
    around_note, around_spring = (band.note, band.spring) if band else (nan, nan)
    return CaseAnswer(
        frequency_hz=result.frequency_hz[few],
        frequency_error=result.frequency_error[few],
        kinds=list(result.kinds)[few],
        pairs=list(result.pairs),
        edge=result.modes.edge[few],
        moves=edge_moves(result.modes)[few],
        alignment=result.alignment[few],
        static_share=result.static_share[few],
        aligned=result.aligned,
        loss=Loss(result.loss.low[few], result.loss.likely[few], result.loss.high[few]),
        shares={name: share[few] for name, share in result.shares.items()},
        compliance=result.compliance,
        force=result.loading.direction,
        note=Ends(note * around_note[0], note, note * around_note[1]),
        spring=Ends(spring * around_spring[0], spring, spring * around_spring[1]),
        cut=_cut(result),
        unknowns=result.model.layout.n_unknowns,
        way=SOLVED,
        reduction_error=0.0,
        accurate=result.accurate,
        warnings=list(result.warnings),
    )


def described_cut(setup: Setup) -> bool:
    """Return whether the cut of a set-up is described far enough for a limit."""
    from fem.cutting_case import cut_case

    try:
        cut_case(setup)
    except InputError:
        return False
    return True


def _cut(result: Result) -> CaseCut | None:
    """Return the limit of the cut where one is described far enough."""
    return case_cut(result) if described_cut(result.setup) else None


def stiffness_n_per_um(answer: CaseAnswer) -> float:
    """Return the static stiffness at the edge along the force [N/um]."""
    return 1e-6 / answer.spring.likely


def note_error(answer: CaseAnswer) -> float:
    """Return the relative error of the aligned mode's frequency."""
    return float(np.asarray(answer.frequency_error)[answer.aligned])
