"""Solids outside the bar family for the tests: blocks of 20-node cells bent by a function, welded together.

They carry no family, so they go through the general ordering of the unknowns and the same assembly.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray

from stickout.fem.solid.elasticity import Elastic, cell_matrices
from stickout.meshes.faces import outer_faces
from stickout.meshes.shape import HEX20
from stickout.meshes.tagged import FloatArray, TaggedMesh

# The steel of tests/data/verify.json.
STEEL = Elastic(youngs_modulus=206e9, poisson_ratio=0.3, density=7850.0)
Bend = Callable[[FloatArray], FloatArray]


def shear_speed(material: Elastic) -> float:
    """Return the speed of shear waves [m/s]."""
    return float(np.sqrt(material.youngs_modulus / (2 * (1 + material.poisson_ratio)) / material.density))


def block(n: tuple[int, int, int], bend: Bend) -> FloatArray:
    """Return node positions of the cells of a bent cube -1..1, shape (n_cells, 20, 3); middles bent too."""
    where = np.stack(np.meshgrid(*[np.arange(k) for k in n], indexing="ij"), axis=-1).reshape(-1, 1, 3)
    at = 2 * (where + (HEX20 + 1) / 2) / np.array(n) - 1
    return bend(at.reshape(-1, 3)).reshape(-1, 20, 3)


def welded(blocks: Sequence[FloatArray]) -> TaggedMesh:
    """Return blocks as one mesh, nodes at one place being one node; ``end`` is the side of greatest x."""
    corner = np.concatenate(blocks)
    flat = corner.reshape(-1, 3)
    size = np.ptp(flat, axis=0).max()
    _, first, place = np.unique(np.round(flat / size, 9), axis=0, return_index=True, return_inverse=True)
    points, cells = flat[first], place.reshape(-1, 20).astype(np.int64)
    facets = outer_faces(cells)
    facing = points[facets].mean(axis=1)[:, 0]
    return TaggedMesh(
        points=points,
        cells=cells,
        regions={"work": np.arange(len(cells))},
        patches={"end": facets[facing > facing.max() - 1e-6 * size]},
        edge=np.array([points[:, 0].max(), 0.0, 0.0]),
        family=np.full(len(cells), -1),
    )


def box(n: tuple[int, int, int], sides: tuple[float, float, float]) -> TaggedMesh:
    """Return a box centred at the origin [m] of n cells along x, y, z."""
    return welded([block(n, lambda at: at * np.array(sides) / 2)])


def sphere(n: int, radius: float) -> TaggedMesh:
    """Return a solid sphere [m]: an inner rounded cube of n^3 cells and six blocks round it."""

    def core(at: FloatArray) -> FloatArray:
        x, y, z = (at**2).T
        ball = at * np.sqrt(
            1 - np.stack([y + z, z + x, x + y], 1) / 2 + np.stack([y * z, z * x, x * y], 1) / 3
        )
        return 0.3 * (at + ball)

    def outward(axis: int, sign: float) -> Bend:
        def bend(at: FloatArray) -> FloatArray:
            # Every second block would come out left-handed.
            across = at[:, :2] if (axis == 1) == (sign < 0) else at[:, 1::-1]
            face = np.insert(across, axis, sign, axis=1)
            slanted = np.insert(np.tan(np.pi / 4 * across), axis, sign, axis=1)
            skin = slanted / np.linalg.norm(slanted, axis=1, keepdims=True)
            t = (at[:, 2:] + 1) / 2
            return radius * ((1 - t) * core(face) + t * skin)

        return bend

    blocks = [block((n, n, n), lambda at: radius * core(at))]
    return welded([*blocks, *(block((n, n, n), outward(axis, s)) for axis in range(3) for s in (-1.0, 1.0))])


def cylinder(n: tuple[int, int, int], radius: float, length: float) -> TaggedMesh:
    """Return a cylinder along x [m]: n cells along, around a quadrant and in the inner block, outward."""
    along, around, rings = n

    def stretched(yz: FloatArray, at: FloatArray) -> FloatArray:
        return np.column_stack([length * (at[:, 0] + 1) / 2, radius * yz])

    def inner(at: FloatArray) -> FloatArray:
        return stretched(0.45 * at[:, 1:], at)

    def side(turn: int) -> Bend:
        c, s = np.round([np.cos(turn * np.pi / 2), np.sin(turn * np.pi / 2)])

        def bend(at: FloatArray) -> FloatArray:
            angle, t = np.pi / 4 * at[:, 1], (at[:, 2] + 1) / 2
            skin = np.stack([-np.sin(angle), np.cos(angle)], axis=1)
            face = 0.45 * np.stack([-at[:, 1], np.ones(len(at))], axis=1)
            yz = (1 - t[:, None]) * face + t[:, None] * skin
            return stretched(yz @ np.array([[c, s], [-s, c]]), at)

        # y' z' as they stand make a left-handed block; the cell is turned round.
        return lambda at: bend(at * np.array([1.0, -1.0, 1.0]))

    outer = [block((along, around, rings), side(turn)) for turn in range(4)]
    return welded([block((along, around, around), inner), *outer])


def assembled(mesh: TaggedMesh, material: Elastic) -> tuple[sp.csr_array, sp.csr_array]:
    """Return K [N/m] and M [kg] of a mesh of one material, node by node, by scipy's sum."""
    matrices = cell_matrices(mesh, dict.fromkeys(mesh.regions, material))
    unknowns = (3 * mesh.cells[:, :, None] + np.arange(3)).reshape(len(mesh.cells), 60)
    mass = np.einsum("nab,ij->naibj", matrices.scalar_mass(), np.eye(3)).reshape(-1, 60, 60)
    return (
        scattered(matrices.stiffness(slice(None)), unknowns, 3 * len(mesh.points)),
        scattered(mass, unknowns, 3 * len(mesh.points)),
    )


def scattered(parts: FloatArray, unknowns: NDArray[np.int64], size: int) -> sp.csr_array:
    """Return the sum of element matrices (n, k, k) over their unknowns (n, k) as a sparse matrix."""
    k = unknowns.shape[1]
    rows, columns = np.repeat(unknowns, k, axis=1).ravel(), np.tile(unknowns, k).ravel()
    return sp.csr_array(sp.coo_array((parts.ravel(), (rows, columns)), shape=(size, size)))


def twist_share(mesh: TaggedMesh, shape: FloatArray) -> float:
    """Return the share of a shape's squared motion that goes round the axis."""
    y, z = mesh.points[:, 1:].T
    round_axis = (-z * shape[:, 1] + y * shape[:, 2]) ** 2 / np.maximum(y**2 + z**2, 1e-12)
    return float(round_axis.sum() / (shape**2).sum())
