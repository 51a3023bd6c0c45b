"""The spaces of like bars of revolution: a part for each way of moving."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.linalg import block_diag

from stickout.fem.revolved.bar import Fine
from stickout.fem.revolved.rigid import SHIFT, STRETCH, TILT, TWIST
from stickout.fem.revolved.section import BENDING
from stickout.fem.revolved.solve import cells_for, is_clear, waves_of, ways_together
from stickout.fem.revolved.wave import SIDEWAYS, Wave, Way
from stickout.fem.setup.parts import Setup
from stickout.fem.study.of_revolution import revolved_bar
from stickout.fem.sweep.bases import Spaces
from stickout.fem.sweep.points import Points, bare
from stickout.fem.sweep.reduced_basis import Space
from stickout.fem.sweep.revolved_terms import RevolvedTerms
from stickout.fem.sweep.told import Motions
from stickout.meshes.tagged import FloatArray

# Columns of the planes' motions: sideways, up, the tilts of both, twist, along.
_PLANE: Final = {SHIFT: (0, 1), TILT: (2, 3), TWIST: (4, 4), STRETCH: (5, 5)}


class RevolvedSpaces(Spaces):
    """The spaces of like bars of revolution over polynomials of one degree.

    Parameters
    ----------
    setup
        The longest of the set-ups.
    fine
        How fine.
    points
        The points that will be asked for.

    Raises
    ------
    SolveError
        The stiffness is not positive.
    """

    def __init__(self, setup: Setup, fine: Fine, *, points: Points) -> None:
        super().__init__(setup)
        self._bar = revolved_bar(bare(setup))
        self._cells = cells_for(self._bar, fine, wanted=self._wanted)
        self._points = points
        self._terms: dict[int, RevolvedTerms] = {}
        waves = waves_of(self._bar, self._cells, wanted=self._wanted)
        self.unknowns = sum(wave.chain.n_unknowns for wave in waves.values())
        for ways in ways_together(self._bar):
            self._add([(way, waves[way]) for way in ways], times=2 if ways == (SIDEWAYS,) else 1)
        self._higher = self._of_order(2)

    def _of_order(self, order: int) -> Wave:
        return Wave(self._bar, self._cells, order=order, parts=BENDING)

    def _add(self, ways: Sequence[tuple[Way, Wave]], *, times: int) -> None:
        """Add a part, and others that are equal to it but for a turn."""
        number = len(self._owners)
        self._owners = [*self._owners, *[number] * times]
        terms = RevolvedTerms(ways, bar=self._bar, cells=self._cells, reference=self._reference)
        self._terms[number] = terms
        self._spaces[number] = Space(terms, self._points, reference=self._reference)

    def grow(self, points: Points, tolerance: float) -> None:
        """Grow the spaces as ``Spaces`` does; take in ways of ovalling as long as they may ring so low.

        Parameters
        ----------
        points
            Where: some of those that the spaces were made for.
        tolerance
            Greatest relative error of a frequency, and of the compliance.

        Raises
        ------
        SolveError
            The stiffness is not positive at a point.
        """
        super().grow(points, tolerance)
        while not is_clear(self._higher, self._highest(points)):
            order = self._higher.order
            self._add([(Way(order, BENDING), self._higher)], times=2)
            self._served = None
            super().grow(points, tolerance)
            self._higher = self._of_order(order + 1)

    def _highest(self, points: Points) -> float:
        """Return the highest of the wanted eigenvalues [1/s^2], scaled to the reference's materials."""
        union = self._served if self._served is not None else self._union(points)
        values = union.picked([one.values for one in union.reduced])[:, -1]
        reference = self._reference
        softer = np.min([points.young[n] / reference.young[n] for n in points.young], axis=0)
        heavier = np.max([points.density[n] / reference.density[n] for n in points.density], axis=0)
        return float((values * heavier / softer).max())

    def _begin(self, space: Space, number: int) -> FloatArray:
        """Return the static shapes under loads at the end face and under inertia of bar-like motions."""
        return np.asarray(block_diag(*[block.wave.first for block in self._terms[number].blocks]))

    def _motions(self, space: Space, number: int) -> Motions:
        n = space.basis.shape[1]
        last = len(self._bar.lengths) - 1
        planes: list[FloatArray] = []
        total: list[FloatArray] = []
        whole = np.zeros((2, n, n))
        for block in self._terms[number].blocks:
            rows: list[FloatArray] = []
            volumes: list[FloatArray] = []
            up = round(block.way.turn / (np.pi / 2))
            for one in block.wave.sections(space.basis[block.own]):
                area = one.area
                moved = np.zeros((n, len(one.weight), 6))
                for name, of, size in zip(one.rigid.names, one.rigid.of, one.rigid.size, strict=True):
                    moved[:, :, _PLANE[name][up]] = np.sqrt(size / area) * (of @ one.moved).T
                rows.append(moved)
                long = int(one.number == last)
                volume = np.zeros((2, len(one.weight)))
                volume[long] = one.weight * area
                volumes.append(volume)
                weighted = one.weight[:, None, None] * (one.mass @ one.moved)
                whole[long] += np.tensordot(one.moved, weighted, axes=([0, 1], [0, 1]))
            planes.append(np.concatenate(rows, axis=1))
            total = [np.concatenate(volumes, axis=1)]
        return Motions(planes=np.sum(planes, axis=0), total=total[0], whole=whole)

    def _stretched(self, points: Points) -> FloatArray:
        return self._terms[0].factors.stretch.of(points)
