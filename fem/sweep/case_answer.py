"""What one case of many answers: plain numbers without a mesh, small enough to send about and to keep."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.models import coarse_model
from stickout.fem.force.case import CutCase, described_case
from stickout.fem.force.loading import loading
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.checks import setup_warnings
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.usual_ends import without_usual_sizes
from stickout.fem.solid.setting import loss_factors
from stickout.fem.study.band_ends import SOFT, STIFF, at_end, note_and_compliance
from stickout.fem.study.damping import energy_shares, modal_loss_factors
from stickout.fem.study.directions import alignment
from stickout.fem.study.on_post import counted_modes
from stickout.fem.study.result import Loss, Result
from stickout.fem.sweep.case_cut import CaseCut, case_cut
from stickout.fem.sweep.case_modes import CaseModes, paired, static_shares
from stickout.meshes.tagged import BoolArray, FloatArray

__all__ = [
    "REDUCED",
    "SOLVED",
    "CaseAnswer",
    "Solved",
    "Spread",
    "answer_of",
    "case_answer",
]

SOLVED: Final = "solved"
REDUCED: Final = "reduced"


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
        Frequency of the aligned mode over the bands of the assumed numbers [Hz].
    compliance_along
        Deflection along the force per force [m/N] over the same bands.
    cut
        Verdict on the cut at its worst speed; None where none is described far enough.
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
    note: Spread
    compliance_along: Spread
    cut: CaseCut | None
    unknowns: int
    way: str
    reduction_error: float
    accurate: bool
    warnings: Sequence[str]


@dataclass(frozen=True)
class Solved:
    """How a case was solved: see the fields of the same names in ``CaseAnswer``."""

    unknowns: int
    way: str
    reduction_error: float
    accurate: bool


def answer_of(result: Result) -> CaseAnswer:
    """Return the numbers of a result without its mesh.

    Raises
    ------
    InputError
        A cut is described, but a mode has no loss.
    SolveError
        A coarse solve for the bands failed.
    """
    modes = CaseModes(
        frequency_hz=result.frequency_hz,
        error=result.frequency_error,
        kinds=result.kinds,
        edge=result.modes.edge,
        moves=result.moves,
        energy=result.modes.energy,
        compliance=result.compliance,
        absorber=result.setup.absorber,
        place=result.place,
    )
    how = Solved(result.unknowns, SOLVED, 0.0, result.accurate)
    return case_answer(result.setup, modes, case=described_case(result.setup), how=how, solve=coarse_model)


def case_answer(
    setup: Setup,
    modes: CaseModes,
    *,
    case: CutCase | None,
    how: Solved,
    solve: Callable[[Setup], ModalModel],
) -> CaseAnswer:
    """Return the answer to a case.

    Parameters
    ----------
    setup
        The set-up.
    modes
        Its modes in the limit of fine meshes.
    case
        Its cut; None where it is not described far enough for a limit.
    how
        How they were found.
    solve
        Gives the modal model of a set-up alike but for grip and materials on a coarse mesh: for ratios.

    Raises
    ------
    InputError
        A cut is described, but a mode has no loss.
    SolveError
        A coarse solve for the bands failed.
    """
    setup = without_usual_sizes(setup)  # what they add is small beside the seat, and shapes are shared
    few, force = slice(None, counted_modes(setup)), loading(setup.cut).direction
    modes, pairs = paired(modes, force)
    along = static_shares(modes, force)
    aligned = int(np.argmax(along[few]))
    base = solve(setup)

    def solved_once(one: Setup) -> ModalModel:
        return base if one is setup else solve(one)

    note, spring = note_and_compliance(
        modes.model(np.ones(len(modes.edge))),
        ends=(solve(at_end(setup, SOFT)), base, solve(at_end(setup, STIFF))),
        force=force,
        note=float(modes.frequency_hz[aligned]),
    )
    return CaseAnswer(
        frequency_hz=modes.frequency_hz[few],
        frequency_error=modes.error[few],
        kinds=list(modes.kinds)[few],
        pairs=pairs,
        edge=modes.edge[few],
        moves=modes.moves[few],
        alignment=alignment(modes.edge, force)[few],
        static_share=along[few],
        aligned=aligned,
        loss=_loss(setup, {name: values[few] for name, values in modes.energy.items()}),
        shares={name: share[few] for name, share in energy_shares(modes.energy).items()},
        compliance=modes.compliance,
        force=force,
        note=note,
        compliance_along=spring,
        cut=None if case is None else case_cut(setup, modes, case=case, aligned=aligned, solve=solved_once),
        unknowns=how.unknowns,
        way=how.way,
        reduction_error=how.reduction_error,
        accurate=how.accurate,
        warnings=setup_warnings(setup),
    )


def _loss(setup: Setup, energy: Mapping[str, FloatArray]) -> Loss:
    """Return the loss factors by energy shares over the bands of the loss factors."""
    bands = loss_factors(setup, list(energy))
    low, likely, high = (
        modal_loss_factors(energy, {name: getattr(band, side) for name, band in bands.items()})
        for side in ("low", "likely", "high")
    )
    return Loss(low, likely, high)
