"""The cheap modal models a cut is judged on: from a result, from one coarse mesh, with the work beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.chatter.changed import picked, rescaled
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.receptance import relative_model
from stickout.fem.chatter.stability import Limit
from stickout.fem.cut.absorber import attached_of
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.study.accuracy import Level
from stickout.fem.study.clamped_loss import ClampedLoss, mode_loss
from stickout.fem.study.coarse import coarse_level
from stickout.fem.study.directions import edge_moves
from stickout.fem.study.on_post import absorber_place
from stickout.fem.study.result import Result
from stickout.meshes.tagged import FloatArray, IntArray

# Modes above this many times the chatter's frequency act as springs: they go into the residual.
_HIGH: Final = 3.0
_COARSE_MODES: Final = 2


@dataclass(frozen=True)
class ToolModes:
    """The modes of a tool that move its edge.

    Attributes
    ----------
    model
        The modal model.
    numbers
        Index of each mode in the result, shape (n,).
    """

    model: ModalModel
    numbers: IntArray


def tool_modes(result: Result, loss: ClampedLoss) -> ToolModes:
    """Return the modal model of a result: frequencies and compliance in the limit of fine meshes."""
    at = np.flatnonzero(result.moves)
    model = ModalModel(
        omega=result.omega[at],
        phi=result.modes.edge[at],
        eta=loss.loss.likely[at],
        static=result.compliance,
        viscous=True,
        attached=attached_of(result.setup.absorber, result.place, at=at),
    )
    return ToolModes(model, at)


def coarse_model(setup: Setup, *, on_mesh: bool = False) -> ModalModel:
    """Return the modal model of a set-up solved coarsely, good to a few per cent: for ratios only.

    Parameters
    ----------
    setup
        The set-up; it is taken as checked.
    on_mesh
        As ``stickout.fem.study.coarse.coarse_level`` takes it.
    """
    few = replace(setup, solve=Solve(modes=_COARSE_MODES, accuracy=setup.solve.accuracy))
    return _level_model(setup, coarse_level(few, on_mesh=on_mesh))


def _level_model(setup: Setup, level: Level) -> ModalModel:
    """Return the modal model of one mesh."""
    modes, at = level.modes, np.flatnonzero(edge_moves(level.modes))
    eta = mode_loss(setup, modes.energy)
    place = absorber_place(setup, level, modes=modes, compliance=level.compliance)
    return ModalModel(
        omega=modes.omega[at],
        phi=modes.edge[at],
        eta=eta[at],
        static=level.compliance,
        viscous=True,
        attached=attached_of(setup.absorber, place, at=at),
    )


def matched(model: ModalModel, base: ModalModel, *, tool: ModalModel) -> ModalModel:
    """Return a model of a coarse mesh with what that mesh misses made good by its error on a tool known well.

    Parameters
    ----------
    model
        Modal model of a changed set-up on the coarse mesh.
    base, tool
        The set-up as it is, on the coarse mesh and in the limit of fine ones.
    """
    stiffer = float(np.trace(base.static) / np.trace(tool.static))
    return rescaled(model, note=float(tool.omega[0] / base.omega[0]), stiffness=stiffer)


def joined(tool: ModalModel, work: ModalModel | None) -> ModalModel:
    """Return the model of the motion between tool and work; a batch of tools may stand before one work."""
    if work is None:
        return tool

    def spread(values: FloatArray, like: FloatArray, inner: int) -> FloatArray:
        """Return the work's values with the leading axes of the tool's; ``inner`` axes are a model's own."""
        lead = like.shape[: like.ndim - inner]
        return np.broadcast_to(values, (*lead, *values.shape[values.ndim - inner :]))

    beside = ModalModel(
        omega=spread(work.omega, tool.omega, 1),
        phi=spread(work.phi, tool.phi, 2),
        eta=spread(work.eta, tool.eta, 1),
        static=work.static,
        viscous=True,
    )
    return relative_model(tool, beside)


def trimmed(model: ModalModel, limit: Limit) -> ModalModel:
    """Return the model with its high modes left to the residual: as good at the limit, and cheaper.

    Notes
    -----
    The margin moves by less than 1e-3 for the set-ups of tests/test_cutting.py.
    """
    return picked(model, model.omega < _HIGH * float(limit.omega))


def softened(model: ModalModel, factor: float) -> ModalModel:
    """Return the model as if its root gave: stiffness at the edge times ``factor``, notes down with it.

    Source
    ------
    A root whose give takes 17, 30 % of the stiffness takes 11, 21 % of the note: about two thirds as much
    in the logarithm (beam on a root spring, computed here).
    """
    return rescaled(model, note=factor ** (2.0 / 3.0), stiffness=factor)
