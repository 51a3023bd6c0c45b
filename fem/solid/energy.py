"""Where in a solid the strain energy of a shape is: cell by cell, and per volume at the nodes."""

from __future__ import annotations

import numpy as np

from stickout.fem.solid.model import Model
from stickout.meshes.shape import gauss_rule
from stickout.meshes.tagged import FloatArray, IntArray


def cell_energies(model: Model, shape: FloatArray) -> FloatArray:
    """Return the strain energy of a shape in every cell.

    Parameters
    ----------
    model
        The held bar.
    shape
        Motion of the nodes, any scale [m or kg^-1/2], shape (n_points, 3).

    Returns
    -------
    ndarray
        Half of u K u of each cell [J for a motion in m], shape (n_cells,); beds and joints are no cells.
    """
    cells = model.mesh.cells
    moved = shape[cells].reshape(-1, 60, 1)
    return model.matrices.twice_energies(np.arange(len(cells)), moved)[:, 0] / 2


def cell_volumes(points: FloatArray, cells: IntArray) -> FloatArray:
    """Return the volume [m^3] of 20-node cells (n_cells, 20) between points [m] (n_points, 3)."""
    rule = gauss_rule(3)
    jacobian = np.matmul(rule.gradients, points[cells][:, None])
    return np.asarray(np.linalg.det(jacobian) @ rule.weights)


def node_densities(model: Model, shape: FloatArray) -> dict[str, FloatArray]:
    """Return the strain energy per volume of a shape at the nodes, region by region.

    Parameters
    ----------
    model
        The held bar.
    shape
        Motion of the nodes, any scale, shape (n_points, 3).

    Returns
    -------
    dict of ndarray
        Region -> energy per volume, mean of its cells round each node, shape (n_points,); zero at nodes
        that are none of its own. Regions are kept apart, since soft metal beside steel holds another
        density at the same place.
    """
    mesh = model.mesh
    energy, volume = cell_energies(model, shape), cell_volumes(mesh.points, mesh.cells)
    out = {}
    for name, pick in mesh.regions.items():
        nodes = mesh.cells[pick].ravel()
        top = np.bincount(nodes, np.repeat(energy[pick], 20), minlength=len(mesh.points))
        bottom = np.bincount(nodes, np.repeat(volume[pick], 20), minlength=len(mesh.points))
        out[name] = np.divide(top, bottom, out=np.zeros_like(top), where=bottom > 0)
    return out
