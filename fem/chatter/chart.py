"""Margins charted over the loss, so that hundreds of samples are read off instead of solved.

The margin has few kinks in the logarithm of the loss, and a force coefficient only scales it.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.valleys import frequency_grid

FloatArray = NDArray[np.float64]

_LOSSES = 17
_MARGIN_CAP = 1e6
_ROUNDS = 1


@dataclass(frozen=True)
class Chart:
    """Logarithm of the margin of a model.

    Attributes
    ----------
    loss
        Logarithm of the factors of the loss, rising, shape (n,).
    margin
        At each loss, shape (n,).
    """

    loss: FloatArray
    margin: FloatArray

    def margins(self, loss: FloatArray) -> FloatArray:
        """Return the margin for factors of the loss, shape (k,)."""
        return np.asarray(np.exp(np.interp(np.log(loss), self.loss, self.margin)))


def chart_of(model: ModalModel, stiffness: FloatArray, *, loss: FloatArray) -> Chart:
    """Return the chart of a model.

    Parameters
    ----------
    model
        The modal model, a single one.
    stiffness
        Dynamic stiffness of the cut A in the bar frame [N/m], shape (3, 3).
    loss
        Factors of the loss that will be asked for, shape (k,).

    Notes
    -----
    Margins read off are within 2 % of those solved where two near modes compete over a loss that is known
    to a factor of six, else within 1e-3 (tests/test_cut_chart.py). A twentieth of 240 samples is no better
    known.

    Source
    ------
    Straight lines in the logarithms (computed here).
    """
    least, most = np.log(loss.min()), np.log(loss.max())
    knots = np.linspace(least, most, _LOSSES if most > least else 1)
    batch = replace(model, eta=model.eta * np.exp(knots)[:, None])
    grid = frequency_grid(batch, felt_directions(stiffness))
    found = limit_on_grid(batch, stiffness, grid=grid, rounds=_ROUNDS).margin
    return Chart(knots, np.log(np.minimum(found, _MARGIN_CAP)))
