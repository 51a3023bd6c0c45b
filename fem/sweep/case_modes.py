"""The modes of one case without their shapes: what an answer and a cut are made from."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.cut.absorber import attached_of
from stickout.fem.setup.parts import Absorber
from stickout.fem.solid.section_motion import Place
from stickout.fem.study.directions import equal_pairs, pair_turns, signed
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray

# Part of the greatest edge motion below which a component is rounding.
_ROUNDING = 1e-7


@dataclass(frozen=True)
class CaseModes:
    """Modes in the limit of fine meshes, a few more than are asked for.

    Attributes
    ----------
    frequency_hz, error
        Frequencies [Hz], rising, and their relative errors, shape (n,).
    kinds
        Kind of each.
    edge
        Motion of the edge [kg^-1/2], shape (n, 3).
    moves
        Whether a mode moves the edge at all, shape (n,).
    energy
        Strain energy in every region and tie, any unit, shape (n,) each.
    compliance
        Static compliance at the edge [m/N], shape (3, 3).
    absorber, place
        The absorber and how its place moves; None without one.
    """

    frequency_hz: FloatArray
    error: FloatArray
    kinds: Sequence[str]
    edge: FloatArray
    moves: BoolArray
    energy: Mapping[str, FloatArray]
    compliance: FloatArray
    absorber: Absorber | None = None
    place: Place | None = None

    @property
    def omega(self) -> FloatArray:
        """Return the angular frequencies [rad/s]."""
        return np.asarray(2 * np.pi * self.frequency_hz)

    @property
    def moving(self) -> IntArray:
        """Return the numbers of the modes that move the edge."""
        return np.flatnonzero(self.moves)

    def model(self, loss: FloatArray) -> ModalModel:
        """Return the modal model of the edge with a loss factor for each mode (n,)."""
        at = self.moving
        return ModalModel(
            omega=self.omega[at],
            phi=self.edge[at],
            eta=loss[at],
            static=self.compliance,
            viscous=True,
            attached=attached_of(self.absorber, self.place, at=at),
        )

    def turned(self, matrix: FloatArray) -> CaseModes:
        """Return the modes of a bar without absorber seen from a frame turned by a matrix (3, 3)."""
        return replace(self, edge=self.edge @ matrix.T, compliance=matrix @ self.compliance @ matrix.T)


def paired(modes: CaseModes, force: FloatArray) -> tuple[CaseModes, list[tuple[int, int]]]:
    """Return the modes with equal pairs turned to a force and signs fixed, and the pairs."""
    pairs = equal_pairs(modes.frequency_hz, modes.error, kinds=modes.kinds)
    turn = pair_turns(modes.edge, pairs, force=force)
    edge = turn @ modes.edge
    edge, sign = signed(edge, still=np.full(len(edge), _ROUNDING * np.abs(edge).max()))
    place = modes.place and replace(modes.place, phi=sign[:, None] * (turn @ modes.place.phi))
    return replace(modes, edge=edge, place=place), pairs


def static_shares(modes: CaseModes, force: FloatArray) -> FloatArray:
    """Return the share of each mode in the static spring along a force, shape (n,).

    Source
    ------
    ``(e . phi)^2 / omega^2`` over ``e C e``; modal superposition (computed here).
    """
    share: FloatArray = (modes.edge @ force) ** 2 / modes.omega**2 / (force @ modes.compliance @ force)
    return share
