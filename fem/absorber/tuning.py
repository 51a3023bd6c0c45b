"""One absorber tuned to a bar: frequency and damping with the greatest margin on its own receptance."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.absorber.shapes import Slug
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.absorber import TUNING_BAND, off_tune
from stickout.fem.setup.parts import Absorber, Setup
from stickout.meshes.tagged import FloatArray

# Damping ratios that soft rings reach: a loss factor of 0.05 to 0.6.
ZETAS: Final = (0.025, 0.3)
_COARSE: Final = (25, 8)
_FINE: Final = (11, 7)
_SPAN: Final = (0.5, 1.4)


@dataclass(frozen=True)
class Tuned:
    """An absorber tuned to a bar.

    Attributes
    ----------
    slug
        Slug or ring.
    bar
        The bar bored for it, without it.
    absorber
        The absorber as a set-up holds it.
    mu
        Its mass over the modal mass at its place, in the mode that limits [-].
    gain
        How many times larger the cut may grow than with the bar as it was [-].
    note_hz
        That mode's note of the bar without it [Hz].
    compliance_along
        Deflection along the force per force of the bar bored for it [m/N].
    """

    slug: Slug
    bar: Setup
    absorber: Absorber
    mu: float
    gain: float
    note_hz: float
    compliance_along: float

    @property
    def setup(self) -> Setup:
        """Return the bar with the absorber."""
        return replace(self.bar, absorber=self.absorber)

    @property
    def stiffness(self) -> float:
        """Return the spring of the rings together [N/m]."""
        return self.absorber.mass_g * 1e-3 * (2 * np.pi * self.absorber.frequency_hz) ** 2

    @property
    def dashpot(self) -> float:
        """Return the dashpot of the rings together [N s/m]."""
        one = self.absorber
        return 2 * one.damping_ratio * one.mass_g * 1e-3 * 2 * np.pi * one.frequency_hz


@dataclass(frozen=True)
class Best:
    """Own frequency [Hz] and damping ratio of an absorber, and the margin with them [-]."""

    frequency_hz: float
    zeta: float
    margin: float


def best_absorber(
    model: ModalModel,
    matrix: FloatArray,
    *,
    note_hz: float,
    off: Sequence[float] = (TUNING_BAND.low, TUNING_BAND.high),
) -> Best:
    """Return the tuning with the greatest margin when it is missed by as much as it will be.

    An absorber tuned too high loses far more than one tuned too low, so this comes out a little below
    the best for an exact tuning.

    Parameters
    ----------
    model
        Modal model with an absorber of the right mass at the right place.
    matrix
        Dynamic stiffness of the cut [N/m], shape (3, 3).
    note_hz
        Note of the mode that limits without it [Hz]: frequencies of 0.5 to 1.4 times it are tried.
    off
        Factors by which the frequency may be missed; the worst of them counts. None for an exact tuning.

    Returns
    -------
    Best
        Damping ratios within what soft rings reach. The margin is that of the tuning itself.

    Source
    ------
    A grid over both, then two finer ones round its best: a minimax has corners that a slope would miss
    (computed here).
    """
    held = model.attached
    omega, zeta = (1.0, 1.0) if held is None else (float(held.omega), float(held.zeta))

    def margins(f: FloatArray, z: FloatArray) -> FloatArray:
        batch = off_tune(model, tuning=2 * np.pi * f / omega, damping=z / zeta)
        return absolute_limit(batch, matrix).margin

    notes = note_hz * np.geomspace(*_SPAN, _COARSE[0])
    zetas = np.geomspace(*ZETAS, _COARSE[1])
    best = (float(notes[0]), float(zetas[0]))
    for finer in (1.0, 0.25, 0.06):
        f, z = (one.ravel() for one in np.meshgrid(notes, zetas))
        worst = np.min([margins(f * one, z) for one in off or (1.0,)], axis=0)
        at = int(np.argmax(worst))
        best = (float(f[at]), float(z[at]))
        notes = best[0] * np.geomspace(0.96**finer, 1.04**finer, _FINE[0])
        zetas = np.clip(best[1] * np.geomspace(0.75**finer, 1.33**finer, _FINE[1]), *ZETAS)
    margin = margins(np.array([best[0]]), np.array([best[1]]))
    return Best(best[0], best[1], float(margin[0]))
