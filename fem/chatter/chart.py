"""Margins charted over loss and depth, so that hundreds of samples are read off instead of solved.

The margin has few kinks in the logarithms of both, and a force coefficient only scales it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stickout.fem.chatter.loop import felt_directions
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import limit_on_grid
from stickout.fem.chatter.valleys import frequency_grid

FloatArray = NDArray[np.float64]

_LOSSES = 17
_DEPTHS = 30
_MARGIN_CAP = 1e6
# Rounds of refinement of each valley: some 1e-6 of the margin.
_ZOOMS = 4


@dataclass(frozen=True)
class Chart:
    """Logarithm of the margin of a model: at its own depth, and over depths.

    Attributes
    ----------
    loss
        Logarithm of the factors of the loss, rising, shape (n,).
    depth
        Logarithm of the depths [m], rising, shape (m,).
    margin
        At each loss and depth, shape (n, m).
    here
        At each loss and the depth of the cut, shape (n,).
    """

    loss: FloatArray
    depth: FloatArray
    margin: FloatArray
    here: FloatArray

    def margins(self, loss: FloatArray) -> FloatArray:
        """Return the margin at the depth of the cut for factors of the loss, shape (k,)."""
        return np.asarray(np.exp(np.interp(np.log(loss), self.loss, self.here)))

    def depths(self, loss: FloatArray, force: FloatArray) -> FloatArray:
        """Return the least depth [m] at which the margin falls to one, shape (k,).

        Parameters
        ----------
        loss, force
            Factors of the loss and of the force coefficient, shape (k,).

        Returns
        -------
        ndarray
            inf where no depth limits, and the shallowest charted depth where even that is unstable.
        """
        place = np.interp(np.log(loss), self.loss, np.arange(len(self.loss), dtype=float))
        low = np.minimum(place.astype(np.int64), max(len(self.loss) - 2, 0))
        high = np.minimum(low + 1, len(self.loss) - 1)
        share = (place - low)[:, None]
        excess = self.margin[low] * (1 - share) + self.margin[high] * share - np.log(force)[:, None]
        below = excess < 0.0
        at = np.clip(np.argmax(below, axis=1), 1, excess.shape[1] - 1)
        row = np.arange(len(at))
        above, under = excess[row, at - 1], excess[row, at]
        step = np.clip(above / np.where(above == under, 1.0, above - under), 0.0, 1.0)
        crossing = np.exp(self.depth[at - 1] + step * (self.depth[at] - self.depth[at - 1]))
        limit = np.where(below.any(axis=1), crossing, np.inf)
        return np.asarray(np.where(below[:, 0], np.exp(self.depth[0]), limit))


def chart_of(
    model: ModalModel,
    matrix_of_depth: Callable[[FloatArray], FloatArray],
    *,
    depth: float,
    span: tuple[float, float],
    loss: FloatArray,
) -> Chart:
    """Return the chart of a model.

    Parameters
    ----------
    model
        The modal model, a single one.
    matrix_of_depth
        Depths [m] to matrices A in the bar frame [N/m].
    depth
        Depth of the cut [m].
    span
        Least and greatest depth that is charted [m].
    loss
        Factors of the loss that will be asked for, shape (k,).

    Notes
    -----
    Margins read off are within 2 % of those solved where two near modes compete over a loss that is known
    to a factor of six, else within 1e-3; at a depth read off the margin is one within 2 %
    (tests/test_cut_chart.py). A twentieth of 240 samples is no better known.

    Source
    ------
    Straight lines in the logarithms (computed here).
    """
    least, most = np.log(loss.min()), np.log(loss.max())
    knots = np.linspace(least, most, _LOSSES if most > least else 1)
    depths = np.geomspace(*span, _DEPTHS)
    matrices = matrix_of_depth(np.append(depths, depth))
    losses, cuts = (
        each.ravel() for each in np.meshgrid(np.exp(knots), np.arange(len(matrices)), indexing="ij")
    )
    batch = replace(model, eta=model.eta * losses[:, None])
    grid = frequency_grid(batch, felt_directions(matrices))
    found = limit_on_grid(batch, matrices[cuts], grid=grid, zooms=_ZOOMS).margin
    margin = np.log(np.minimum(found, _MARGIN_CAP)).reshape(len(knots), len(matrices))
    return Chart(knots, np.log(depths), margin[:, :-1], margin[:, -1])
