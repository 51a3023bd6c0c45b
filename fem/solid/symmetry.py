"""Mirror symmetry: a bar that is its own image is solved as a half or a quarter, once for every sign.

Across a plane a motion is either even (what is normal to the plane vanishes on it) or odd (what lies in
the plane vanishes). The motions of unlike signs do not mix, so each part is solved by itself, with blocks
of half or a quarter of the size: the work falls with the cube of that, the memory with its square.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from stickout.fem.solid.body import Added
from stickout.fem.solid.slab import Ties
from stickout.fem.solid.solvable import Solvable
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

_CLOSE = 1e-9


@dataclass(frozen=True)
class Equal:
    """Likeness to an earlier part: its number, and the image of every node with y and z changed over."""

    part: int
    twin: IntArray

    def shapes(self, shapes: FloatArray) -> FloatArray:
        """Return the shapes (n_points, 3, n) of this part from those of the other."""
        return shapes[self.twin][:, [0, 2, 1]]

    def compliance(self, compliance: FloatArray) -> FloatArray:
        """Return the compliance (3, 3) of this part from that of the other."""
        return compliance[np.ix_([0, 2, 1], [0, 2, 1])]


@dataclass(frozen=True)
class Part:
    """A half or quarter of a model, for one choice of signs; the whole when there is no symmetry.

    Attributes
    ----------
    model
        The part's own model.
    nodes
        Its nodes in the whole, shape (n_part_points,).
    images
        For each image of the part: the nodes of the whole its nodes are mapped to, (n_part_points,),
        and the sign of each component there, (3,).
    equal
        Another part that is the same but for y and z changed over.
    """

    model: Solvable
    nodes: IntArray
    images: Sequence[tuple[IntArray, FloatArray]]
    equal: Equal | None = None

    def whole(self, columns: FloatArray, n_points: int) -> FloatArray:
        """Return the part's mass-normalised columns as shapes of the whole, (n_points, 3, n)."""
        own = self.model.layout.spread(columns) / np.sqrt(len(self.images))
        out = np.zeros((n_points, 3, columns.shape[1]))
        for nodes, sign in self.images:
            out[nodes] = own * sign[:, None]
        return out

    def folded(self, shapes: FloatArray) -> FloatArray:
        """Return what of any shapes (n_points, 3, n) has the part's signs, as columns of the part."""
        total = sum(shapes[nodes] * sign[:, None] for nodes, sign in self.images)
        return self.model.layout.gather(np.asarray(total))

    def own(self, shapes: FloatArray) -> FloatArray:
        """Return shapes of the whole (n_points, 3, n) as columns of the part, the inverse of ``whole``."""
        return self.model.layout.gather(shapes[self.nodes] * np.sqrt(len(self.images)))


def parts_of(model: Solvable) -> list[Part]:
    """Return the parts that a model falls into by its mirror planes y = 0 and z = 0.

    Parameters
    ----------
    model
        The whole.

    Returns
    -------
    list of Part
        One part (the whole), two or four.
    """
    twins = {axis: twin for axis in (1, 2) if (twin := _twin(model, axis)) is not None}
    everything = np.arange(len(model.mesh.points))
    if not twins:
        return [Part(model, everything, [(everything, np.ones(3))])]
    centre = model.mesh.points[model.mesh.cells[:, :8]].mean(axis=1)
    cells = np.flatnonzero(np.all([centre[:, axis] > 0 for axis in twins], axis=0))
    nodes = np.unique(model.mesh.cells[cells])
    quarter = _cut(model, cells, nodes=nodes)
    close = _CLOSE * np.ptp(model.mesh.points, axis=0).max()
    parts = []
    for signs in product((1.0, -1.0), repeat=len(twins)):
        held, images = quarter.held.copy(), [(nodes, np.ones(3))]
        for (axis, twin), sign in zip(twins.items(), signs, strict=True):
            flip = np.full(3, sign)
            flip[axis] = -sign
            on_plane = np.abs(quarter.mesh.points[:, axis]) < close
            held |= on_plane[:, None] & (flip < 0)
            images += [(twin[image], at * flip) for image, at in images]
        loads = folded_loads(model.loads, images)
        parts.append(Part(replace(quarter, held=held, loads=loads, kin=quarter), nodes, images))
    return _with_equals(model, parts) if len(twins) == 2 else parts


def _with_equals(model: Solvable, parts: list[Part]) -> list[Part]:
    """Return the four parts, the third told to be equal to the second where y and z may be changed over.

    So it is with round and square bars: the bending pair is solved once.
    """
    twin = _twin(model, None)
    if twin is None:
        return parts
    return [*parts[:2], replace(parts[2], equal=Equal(1, twin)), parts[3]]


def folded_loads(loads: FloatArray, images: Sequence[tuple[IntArray, FloatArray]]) -> FloatArray:
    """Return loads of the whole as loads of a part, whose stiffness is one image's share of the whole's.

    Parameters
    ----------
    loads
        Nodal loads of the whole, shape (n_points, 3, n).
    images
        Images of the part, see ``Part``.

    Returns
    -------
    ndarray
        Shape (n_part_points, 3, n); the products of part loads and part solutions add up to the whole's.

    Source
    ------
    Symmetric and antisymmetric parts of a load (computed here).
    """
    total = np.zeros((len(images[0][0]), *loads.shape[1:]))
    # A node on a plane is its own image; its load is shared out, as its stiffness is.
    count = np.zeros(len(loads))
    for nodes, _ in images:
        np.add.at(count, nodes, 1.0)
    for nodes, sign in images:
        total += loads[nodes] * sign[:, None] / count[nodes][:, None, None]
    # By the root: stiffness and mass of the part are 1/n of the whole's, and loads enter squared.
    return np.asarray(total / np.sqrt(len(images)))


def _cut(model: Solvable, cells: IntArray, *, nodes: IntArray) -> Solvable:
    """Return the model of some of the cells, its nodes numbered anew."""
    number = np.full(len(model.mesh.points), -1)
    number[nodes] = np.arange(len(nodes))
    inside = np.zeros(len(model.mesh.cells), dtype=bool)
    inside[cells] = True
    place = np.cumsum(inside) - 1
    mesh = TaggedMesh(
        points=model.mesh.points[nodes],
        cells=number[model.mesh.cells[cells]],
        regions={k: place[v[inside[v]]] for k, v in model.mesh.regions.items()},
        patches={},
        edge=model.mesh.edge,
        family=model.mesh.family[cells],
    )
    ties = {}
    for name, tie in model.ties.items():
        mine = (number[tie.nodes] >= 0).all(axis=1)
        ties[name] = Ties(number[tie.nodes[mine]], tie.stiffness[mine])
    skins = []
    for facets, mass in model.added.skins:
        mine = (number[facets] >= 0).all(axis=1)
        skins.append((number[facets[mine]], mass[mine]))
    return replace(
        model,
        mesh=mesh,
        matrices=model.matrices.of(cells),
        ties=ties,
        held=model.held[nodes],
        added=Added(model.added.edge_mass, skins),
    )


def _twin(model: Solvable, axis: int | None) -> IntArray | None:
    """Return the image of every node across the plane normal to an axis, None without symmetry.

    Without an axis the plane y = z is meant.
    """
    mesh = model.mesh
    size = np.ptp(mesh.points, axis=0).max()
    centre = mesh.points[mesh.cells[:, :8]].mean(axis=1)
    aside = np.abs(mesh.edge)
    if axis is None:
        possible = bool(np.all(aside[1:] < _CLOSE * size))
    else:
        carried = model.added.edge_mass > 0 and aside[axis] > _CLOSE * size
        possible = not carried and bool(np.all(np.abs(centre[:, axis]) > _CLOSE * size))
    if not possible:
        return None
    twin, cell_twin = _matched(mesh.points, axis, size), _matched(centre, axis, size)
    if twin is None or cell_twin is None or not _alike(model, twin, cell_twin):
        return None
    return twin


def _matched(points: FloatArray, axis: int | None, size: float) -> IntArray | None:
    """Return which point is the mirror image of each, None when there is not one for every point."""
    image = points[:, [0, 2, 1]] if axis is None else points * np.where(np.arange(3) == axis, -1.0, 1.0)
    # Whole numbers sort soonest, and 0 is the mirror image of 0.
    grids = [np.round(at / (size * 1e-8)).astype(np.int64) for at in (points, image)]
    orders = [np.lexsort(grid.T) for grid in grids]
    twin = np.empty(len(points), dtype=np.int64)
    twin[orders[1]] = orders[0]
    return twin if np.abs(points[twin] - image).max() < _CLOSE * size else None


def _alike(model: Solvable, twin: IntArray, cell_twin: IntArray) -> bool:
    """Return whether cells, regions, what is held, springs and skins are the same on both sides."""
    mesh = model.mesh
    region = np.zeros(len(cell_twin), dtype=np.int64)
    for number, cells in enumerate(mesh.regions.values()):
        region[cells] = number
    if np.any(region != region[cell_twin]) or np.any(model.held.all(axis=1) != model.held[twin].all(axis=1)):
        return False
    if np.any(np.sort(twin[mesh.cells], axis=1) != np.sort(mesh.cells[cell_twin], axis=1)):
        return False
    groups = [t.nodes for t in model.ties.values()] + [facets for facets, _ in model.added.skins]
    return all(np.array_equal(_as_sets(g), _as_sets(twin[g])) for g in groups)


def _as_sets(groups: IntArray) -> IntArray:
    """Return groups of nodes as sorted rows in sorted order, so that equal sets compare equal."""
    rows = np.sort(groups, axis=1)
    return rows[np.lexsort(rows.T)]
