"""Margins of sampled tools: what no tap can tell is drawn beside them, and a cut heard weighs them anew."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.bench.poles import FloatArray
from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.uncertainty import stratified
from stickout.fem.chatter.valleys import frequency_grid
from stickout.fem.cut.draws import FORCE, LOSS, THRUST, WAVE, drawn_factors, thrust_matrices
from stickout.fem.cut.flank import flank_of, wave_star
from stickout.fem.cut.judge import THRUST_BAND
from stickout.fem.force.case import CutCase
from stickout.fem.setup.bands import Band, FactorBand
from stickout.meshes.tagged import IntArray

STEEP_SD: Final = 0.1  # of the power with which a force rises with the chip
GIVE: Final = Band(1.5e-8, 4e-8, 1e-7, "post, slides, spindle and chuck: common practice, no source")
# The same where the post is in the model: a spindle's nose of 15 to 60 N/µm, and a chuck.
GIVE_BESIDE_POST: Final = Band(1e-8, 2.5e-8, 7e-8, "spindle and chuck: common practice, no source")
_SEED, _NINETY = 3, 1.645
_CAP: Final = 1e3
_ROUNDS: Final = 1


@dataclass(frozen=True)
class Unheard:
    """What a tap cannot tell of a cut, drawn, shape (n,) each.

    Attributes
    ----------
    force, thrust, rub
        Factors of force, thrust and rubbing.
    steep
        Factor of the power with which the force rises with the chip; it counts where a force is measured.
    give
        Compliance of what the model holds still, from post to chuck [m/N]; it counts there too.
    """

    force: FloatArray
    thrust: FloatArray
    rub: FloatArray
    steep: FloatArray
    give: FloatArray

    def picked(self, at: IntArray) -> Unheard:
        """Return some of the draws."""
        return Unheard(self.force[at], self.thrust[at], self.rub[at], self.steep[at], self.give[at])


def drawn_unheard(case: CutCase, *, give: Band = GIVE) -> Unheard:
    """Return draws of what a tap cannot tell, as the verdict on a cut draws them.

    Parameters
    ----------
    case
        The cut.
    give
        Compliance of what the model holds still [m/N]: ``GIVE``, or ``GIVE_BESIDE_POST``.

    Source
    ------
    ``stickout.fem.cut.draws`` (computed here); power of the force and give of the rest of a lathe: common
    practice, no source.
    """
    star = wave_star(case)
    bands: Mapping[str, FactorBand] = {
        FORCE: FactorBand(FORCE, case.material.low, case.material.high),
        THRUST: THRUST_BAND,
        LOSS: FactorBand(LOSS, 1.0, 1.0),
        WAVE: FactorBand(WAVE, star.low / star.likely, star.high / star.likely),
    }
    factors = drawn_factors(bands)
    bells = stratified(_SEED, count=len(factors[FORCE]), inputs=2)
    middle, width = np.log(give.low * give.high) / 2, np.log(give.high / give.low) / (2 * _NINETY)
    steep, gives = np.exp(STEEP_SD * bells[0]), np.exp(middle + width * bells[1])
    return Unheard(factors[FORCE], factors[THRUST], factors[WAVE], steep, gives)


def sampled_margins(
    tools: ModalModel, case: CutCase, *, unheard: Unheard, speed: float | None = None
) -> FloatArray:
    """Return the margin of every sample.

    Parameters
    ----------
    tools
        Models of as many tools as there are draws.
    case
        The cut.
    unheard
        What was drawn beside them.
    speed
        Cutting speed [m/s]; None leaves the rubbing of the flank out.

    Returns
    -------
    ndarray
        Shape (n,).

    Source
    ------
    The margin of (u A, y C) is that of (A, y C) over u, see ``stickout.fem.cut.draws`` (computed here).
    """
    matrices = thrust_matrices(case, unheard.thrust)
    flank = None
    if speed is not None:
        rub = unheard.rub * unheard.force * unheard.thrust / speed
        flank = rub[:, None, None] * flank_of(case)
    grid = frequency_grid(tools, felt_directions(matrices), per_mode=24)
    found = limit_on_grid(tools, matrices, grid=grid, rounds=_ROUNDS, flank=flank)
    return np.asarray(np.minimum(found.margin, _CAP) / unheard.force)
