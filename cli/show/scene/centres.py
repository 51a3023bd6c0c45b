"""What holds a bar at both ends as it is drawn: centre or chuck at the headstock, a centre at the far end."""

from __future__ import annotations

from typing import Final

import numpy as np

from stickout.cli.show.scene.props import Prop, revolved
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.parts import Setup
from stickout.meshes.tagged import FloatArray

# A centre's outline from its tip on: distance and radius, in radii of the bar. Chosen to read well.
_CENTRE: Final = ((0.0, 0.15), (-1.0, 0.75), (-1.8, 0.75))
_CHUCK: Final = ((0.0, 2.2), (-1.3, 2.2))


def drawn_centres(setup: Setup, sample: FloatArray, *, toward: FloatArray) -> tuple[Prop, ...]:
    """Return what stands at the two ends of a bar.

    Parameters
    ----------
    setup
        A set-up whose bar is held at both ends.
    sample
        Points of the bar's skin [m], shape (n, 3).
    toward
        Unit vector to the viewer, shape (3,).
    """
    end = float(sample[:, 0].max())
    gripped = isinstance(setup.grip, CentresGrip) and setup.grip.held != "between centres"
    root, far = (float(np.abs(sample[abs(sample[:, 0] - at) < 1e-6 * end, 1:]).max()) for at in (0.0, end))
    head = _body(_CHUCK if gripped else _CENTRE, size=root, at=0.0, way=1.0, toward=toward)
    return head, _body(_CENTRE, size=far, at=end, way=-1.0, toward=toward)


def _body(
    outline: tuple[tuple[float, float], ...], *, size: float, at: float, way: float, toward: FloatArray
) -> Prop:
    """Return a body of revolution from its outline, its tip at a place of the bar's axis."""
    rows = np.array(sorted(outline)) * size
    path = np.column_stack([at + way * rows[:, 0], np.zeros((len(rows), 2))])
    order = slice(None) if way > 0 else slice(None, None, -1)
    return revolved(path[order], rows[order, 1], colour="holder", toward=toward)
