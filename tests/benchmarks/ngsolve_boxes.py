"""Meshes of NGSolve for bars of straight sides and their shims: boxes between planes, handed over one by one.

Planes are drawn together at every line where stress is singular: at the holder face, at the ends and sides
of what is held still, at the ends of a shim. Of ours only sizes and stiffnesses are read, and the names of
what is held.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import netgen.meshing as nm
import ngsolve as ng
import numpy as np
from ngsolve_bars import NEAR, Solid, lengths_of, pressed, quartered, springs_of
from numpy.typing import NDArray

from stickout.fem.setup.parts import Setup

FloatArray = NDArray[np.float64]
# Longest box over the bar's depth; which part of it is left by a cut toward a singular line.
LONGEST, SHARE = 1.3, 0.15
# Netgen's corners of a box's two sides across each axis, in the order of its eight corners.
CORNERS = [(0, 0, 0), (1, 0, 0), (1, 1, 0), (0, 1, 0), (0, 0, 1), (1, 0, 1), (1, 1, 1), (0, 1, 1)]


def straight(setup: Setup) -> bool:
    """Return whether a bar has straight sides all along, so that boxes make it up."""
    sized = setup.bar.section in ("square", "rectangle")
    return sized and not setup.bar.steps and setup.grip.style in ("rigid", "held", "slot")


def boxed(setup: Setup, cuts: int) -> Solid:
    """Return the mesh of a set-up, planes cut so often toward singular lines."""
    planes = _planes(setup, cuts)
    springs = springs_of(setup)
    shape = [len(p) for p in planes]
    middles = [(p[1:] + p[:-1]) / 2 for p in planes]
    material = _materials(setup, middles)
    sides = _Sides(setup, planes, material)
    mesh = nm.Mesh(dim=3)
    mesh.SetMaterial(1, "bar")
    mesh.SetMaterial(2, "shim")
    used = np.zeros(shape, dtype=bool)
    for cell in np.argwhere(material):
        for corner in CORNERS:
            used[tuple(cell + corner)] = True
    node = np.zeros(shape, dtype=object)
    for at in np.argwhere(used):
        place = [float(p[i]) for p, i in zip(planes, at, strict=True)]
        node[tuple(at)] = mesh.Add(nm.MeshPoint(nm.Pnt(*place)))
    for cell in np.argwhere(material):
        corners = [node[tuple(cell + c)] for c in CORNERS]
        mesh.Add(nm.Element3D(int(material[tuple(cell)]), corners))
    for name, facets in sides.by_name().items():
        _add_side(mesh, name, facets, node)
    return Solid(ng.Mesh(mesh), "|".join(setup.grip.held_still), springs, "bar on shim" in springs)


def _planes(setup: Setup, cuts: int) -> list[FloatArray]:
    """Return the planes across each axis [mm]."""
    still = bool(setup.grip.held_still)
    ((start, tip, sizes),) = lengths_of(setup)
    ends = {x for a, b, _ in pressed(setup) for x in (a, b) if x > start}
    x = {start, 0.0, tip} | ends
    half = sizes.width / 2
    y = {0.0, half} | {w for _, _, w in pressed(setup) if w}
    z = {0.0, sizes.height / 2} if quartered(setup) else {sizes.low, -sizes.low}
    if setup.shim is not None:
        z.add(sizes.low - setup.shim.thickness_mm)
    # Where springs press, pressure jumps, which high orders follow; only the face of the holder is singular.
    hot = (x - {tip}, {half}, z - {0.0}) if still else ({0.0}, set(), set())
    if setup.shim is not None:
        hot[2].add(sizes.low)
    depth = min(sizes.width, sizes.height)
    spans = {"longest": LONGEST * depth, "least": LONGEST * depth * SHARE**cuts}
    return [_drawn(places, lines, **spans) for places, lines in zip((x, y, z), hot, strict=True)]


def _drawn(places: Iterable[float], hot: Iterable[float], *, longest: float, least: float) -> FloatArray:
    """Return planes between places, as near as wanted, drawn together at the hot ones down to the least."""
    rising = sorted(places)
    even = [np.linspace(a, b, int(np.ceil((b - a) / longest - NEAR)) + 1) for a, b in pairwise(rising)]
    at = np.unique(np.concatenate(even))
    warm = [any(abs(h - x) < NEAR for h in hot) for x in at]
    out = [at]
    for (a, b), (hot_a, hot_b) in zip(pairwise(at), pairwise(warm), strict=True):
        both = hot_a and hot_b
        # An interval that is hot at both ends is drawn together from either.
        size = (b - a) / (2 if both else 1)
        cuts = max(0, int(np.ceil(np.log(least / size) / np.log(SHARE) - NEAR)))
        parts = SHARE ** np.arange(1, cuts + 1) * size
        out += [a + parts] * hot_a + [b - parts] * hot_b + [np.array([(a + b) / 2])] * both
    return np.unique(np.concatenate(out))


def _materials(setup: Setup, middles: Sequence[FloatArray]) -> NDArray[np.int64]:
    """Return what every box is of: 1 the bar, 2 the shim, 0 nothing."""
    ((_, _, sizes),) = lengths_of(setup)
    x, _, z = np.meshgrid(*middles, indexing="ij")
    return np.where(z > sizes.low, 1, np.where(x < 0, 2, 0))


@dataclass(frozen=True)
class _Facet:
    """A side of a box: its corners in the lattice, what lies on the one side and on the other."""

    corners: list[tuple[int, ...]]
    inside: int
    outside: int


@dataclass(frozen=True)
class _Sides:
    """The sides of boxes where one material ends."""

    setup: Setup
    planes: Sequence[FloatArray]
    material: NDArray[np.int64]

    def by_name(self) -> dict[str, list[_Facet]]:
        """Return the sides by the names of the faces they make up."""
        out: dict[str, list[_Facet]] = {}
        padded = np.pad(self.material, 1)
        for axis in range(3):
            low = np.delete(padded, -1, axis)
            high = np.delete(padded, 0, axis)
            for at in np.argwhere(low != high):
                before, after = int(low[tuple(at)]), int(high[tuple(at)])
                cell = at - 1
                cell[axis] += 1
                facet = self._facet(cell, axis, before=before, after=after)
                out.setdefault(self._name(facet, axis, joint=bool(before and after)), []).append(facet)
        return out

    def _facet(self, cell: NDArray[np.int64], axis: int, *, before: int, after: int) -> _Facet:
        one, other = (axis + 1) % 3, (axis + 2) % 3
        corners = []
        for i, j in ((0, 0), (1, 0), (1, 1), (0, 1)):
            corner = cell.copy()
            corner[one] += i
            corner[other] += j
            corners.append(tuple(int(c) for c in corner))
        # Seen from outside the first of its bodies, corners go round against the clock.
        if before:
            return _Facet(corners, before, after)
        return _Facet(corners[::-1], after, 0)

    def _name(self, facet: _Facet, axis: int, *, joint: bool) -> str:
        """Return the face's name by where it lies."""
        setup = self.setup
        ((start, tip, sizes),) = lengths_of(setup)
        corners = np.array([[p[i] for p, i in zip(self.planes, c, strict=True)] for c in facet.corners])
        x, y, z = corners.mean(axis=0)
        shim = 0.0 if setup.shim is None else setup.shim.thickness_mm
        under = any(a < x < b and (not half or y < half) for a, b, half in pressed(setup))
        behind = start < x < 0
        tests = {
            "bar on shim": joint,
            "across y": axis == 1 and abs(y) < NEAR,
            "across z": axis == 2 and abs(z) < NEAR and quartered(setup),
            "end": axis == 0 and abs(x - tip) < NEAR,
            "root": axis == 0 and abs(x) < NEAR and setup.grip.style == "rigid",
            "floor": axis == 2 and behind and abs(z - sizes.low + shim) < NEAR,
            "screws": axis == 2 and under and abs(z + sizes.low) < NEAR,
        }
        return next((name for name, met in tests.items() if met), "free")


def _add_side(mesh: nm.Mesh, name: str, facets: Sequence[_Facet], node: NDArray[np.object_]) -> None:
    """Add the sides of one name to a mesh, those between other materials as other faces."""
    for inside, outside in sorted({(f.inside, f.outside) for f in facets}):
        number = len(mesh.FaceDescriptors()) + 1
        face = mesh.Add(nm.FaceDescriptor(surfnr=number, domin=inside, domout=outside, bc=number))
        mesh.SetBCName(number - 1, name)
        for facet in facets:
            if (facet.inside, facet.outside) == (inside, outside):
                mesh.Add(nm.Element2D(face, [node[c] for c in facet.corners]))
