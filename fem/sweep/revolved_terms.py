"""One part of like bars of revolution, ways of moving, as a sum of terms over axis and radius."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.compare.inputs import NORMAL, SHEAR, joint_part
from stickout.fem.revolved.bar import RevolvedBar
from stickout.fem.revolved.cells import Cells
from stickout.fem.revolved.chain import Chain
from stickout.fem.revolved.section import ACROSS, ALONG, MASS, MIXED, bed_share
from stickout.fem.revolved.wave import Wave, Way
from stickout.fem.solid.supports import Spring
from stickout.fem.sweep.factors import Factors, Stretch
from stickout.fem.sweep.points import Points
from stickout.fem.sweep.terms import Apply, Solves, Term
from stickout.meshes.tagged import FloatArray

# How often x is derived along in each part of the stiffness, as powers of its stretch; the mass's power.
_POWERS: Final = {ALONG: -1, MIXED: 0, ACROSS: 1}


def stretch_of_revolved(bar: RevolvedBar) -> Stretch:
    """Return the end of a bar of revolution that may be stretched: its last length."""
    last = bar.lengths[-1]
    return Stretch(last.start, last.stop)


@dataclass(frozen=True)
class _Block:
    """One way of moving: its matrices, by how much it is turned, its unknowns in the part."""

    wave: Wave
    way: Way
    own: slice


class RevolvedTerms:
    """The terms of a part of like bars of revolution.

    Parameters
    ----------
    ways
        The ways of moving that are solved together, and their matrices at the reference.
    bar, cells
        The longest bar and its cells.
    reference
        Its point, alone.
    """

    def __init__(
        self, ways: Sequence[tuple[Way, Wave]], *, bar: RevolvedBar, cells: Cells, reference: Points
    ) -> None:
        ends = np.cumsum([0, *[wave.chain.n_unknowns for _, wave in ways]])
        self.blocks = [
            _Block(wave, way, slice(int(begin), int(end)))
            for (way, wave), begin, end in zip(ways, ends[:-1], ends[1:], strict=True)
        ]
        self._bar, self._cells = bar, cells
        self.factors = Factors(reference, stretch_of_revolved(bar))
        self.loads: FloatArray = np.concatenate(
            [b.wave.loads @ b.wave.end.translation_and_rotation(b.way.turn).T for b in self.blocks]
        )

    @cached_property
    def stiffness(self) -> list[Term]:
        """Return the terms of the stiffness."""
        out: list[Term] = []
        for name, still, moved in self._regions():
            young = self.factors.young(name)
            for which, power in _POWERS.items():
                if still:
                    out.append(Term(name, young, self._apply(name, still, which)))
                if moved:
                    out.append(
                        Term(name, self.factors.stretched(young, power), self._apply(name, moved, which))
                    )
        for name, spring in self._springs():
            owner = name.rpartition(", ")[0]
            out.append(Term(owner, self.factors.faces(name), self._bed_apply(spring)))
        return out

    @cached_property
    def mass(self) -> list[Term]:
        """Return the terms of the mass, the point mass at the edge left out."""
        out: list[Term] = []
        for name, still, moved in self._regions():
            density = self.factors.density(name)
            if still:
                out.append(Term(name, density, self._apply(name, still, MASS)))
            if moved:
                out.append(Term(name, self.factors.stretched(density, 1), self._apply(name, moved, MASS)))
        return out

    def factored(self, point: Points) -> Solves:
        """Return the factored stiffness at a point.

        Raises
        ------
        SolveError
            The stiffness is not positive.
        """
        start, stretch = self.factors.stretch.start, float(self.factors.stretch.of(point)[0])
        x = self._cells.x
        cells = replace(self._cells, x=np.where(x > start, start + stretch * (x - start), x))
        known: dict[Wave, Chain] = {}
        for wave in dict.fromkeys(block.wave for block in self.blocks):
            shares = [self._shares_at(wave, number, point) for number in range(len(self._bar.lengths))]
            known[wave] = Chain(cells, shares, wave.joints, held=self._bar.held)
        return _Solver([(known[block.wave], block.own) for block in self.blocks])

    def _shares_at(self, wave: Wave, number: int, point: Points) -> dict[str, FloatArray]:
        """Return what regions and bed add to the section of a length at a point."""
        beds = dict(self._springs())
        out = {
            name: float(self.factors.young(name)(point)[0]) * share
            for name, share in wave.shares[number].items()
            if not any(bed.startswith(f"{name}, ") for bed in beds)
        }
        length = self._bar.lengths[number]
        if length.bed is not None:
            for name, spring in beds.items():
                share = bed_share(wave.unknowns[number], spring, radius=length.radii[-1])
                out[name] = float(self.factors.faces(name)(point)[0]) * share
        return out

    def _regions(self) -> Iterator[tuple[str, list[int], list[int]]]:
        """Yield regions, the lengths that stand still where each is, and the one that is stretched."""
        lengths = self._bar.lengths
        last = len(lengths) - 1
        for name in dict.fromkeys(ring.region for one in lengths for ring in one.rings):
            there = [n for n, one in enumerate(lengths) if any(ring.region == name for ring in one.rings)]
            yield name, [n for n in there if n < last], [n for n in there if n == last]

    def _springs(self) -> list[tuple[str, Spring]]:
        """Return the bed's springs of the reference, normal and shear apart."""
        beds = {one.bed[0]: one.bed[1] for one in self._bar.lengths if one.bed is not None}
        return [
            (joint_part(name, way), Spring(one.patch, *parts))
            for name, one in beds.items()
            for way, parts in ((NORMAL, (one.normal, 0.0)), (SHEAR, (0.0, one.shear)))
            if any(parts)
        ]

    def _apply(self, name: str, numbers: Sequence[int], which: int) -> Apply:
        """Return what a region adds in some lengths as an operator on columns."""
        return self._each(
            [
                block.wave.chain.term([(n, block.wave.shares[n][name][which]) for n in numbers], which)
                for block in self.blocks
            ]
        )

    def _bed_apply(self, spring: Spring) -> Apply:
        """Return what springs add as an operator on columns."""
        beds = [(n, one) for n, one in enumerate(self._bar.lengths) if one.bed is not None]
        return self._each(
            [
                block.wave.chain.term(
                    [
                        (n, bed_share(block.wave.unknowns[n], spring, radius=one.radii[-1])[ACROSS])
                        for n, one in beds
                    ],
                    ACROSS,
                )
                for block in self.blocks
            ]
        )

    def _each(self, own: Sequence[Apply]) -> Apply:
        if len(own) == 1:
            return own[0]
        return lambda columns: np.concatenate(
            [apply(columns[block.own]) for apply, block in zip(own, self.blocks, strict=True)]
        )


@dataclass(frozen=True)
class _Solver:
    """Factored ways of moving side by side."""

    chains: Sequence[tuple[Chain, slice]]

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the displacements under load columns, both of shape (n_unknowns, n)."""
        return np.concatenate([chain.solve(load[own]) for chain, own in self.chains])
