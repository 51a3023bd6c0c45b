"""The stock way with scikit-fem: library forms, library condensation, default SciPy shift-invert (SuperLU).

Works on a given mesh of straight-edged 20-node hexahedra, so that ours can be given the very same one.
`square_mesh` makes the benchmark's: a bar 16 x 16 x 112 mm, uniform, 6 x 6 x 56 cells, 30 576 unknowns.

The library's own choice of quadrature has 125 points a cell. Degree 5, 27 points, gives the same frequencies
to 1e-10 and cuts the assembly about fourteen times, so both are measured: `run` and `run_lean`.

Run `python tests/benchmarks/peer_stock.py` for one solve.
"""

from __future__ import annotations

import numpy as np
import skfem
from numpy.typing import NDArray
from round_bar import DENSITY, LENGTH_MM, POISSON_RATIO, YOUNGS_MODULUS, Answer, FloatArray, to_hz
from skfem.helpers import dot
from skfem.models.elasticity import lame_parameters, linear_elasticity

IntArray = NDArray[np.int64]

WIDTH_MM = 16.0
CELLS_ACROSS = 6
CELLS_ALONG = 56

# The library's corners run (1,1,1), (1,1,0), (1,0,1), (0,1,1), (1,0,0), (0,1,0), (0,0,1), (0,0,0);
# these are the same corners in the VTK order.
_CORNERS = [6, 2, 5, 7, 1, 3, 4, 0]
# VTK corners (twice their position in the unit cell) and the two ends of each of the 12 edges.
_VTK_CORNERS = np.array(
    [[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [0, 0, 2], [2, 0, 2], [2, 2, 2], [0, 2, 2]]
)
_VTK_EDGES = np.array(
    [[0, 1], [1, 2], [2, 3], [3, 0], [4, 5], [5, 6], [6, 7], [7, 4], [0, 4], [1, 5], [2, 6], [3, 7]]
)


def square_mesh() -> tuple[FloatArray, IntArray]:
    """Return nodes [m], shape (n, 3), and cells, shape (n_cells, 20), of the uniform square bar.

    The cells' own axes run along y, z, x, so that their first face looks at the root.
    """
    n = np.array([CELLS_ACROSS, CELLS_ACROSS, CELLS_ALONG])
    local = np.vstack([_VTK_CORNERS, _VTK_CORNERS[_VTK_EDGES].sum(axis=1) // 2])
    first = 2 * np.stack(np.meshgrid(*map(np.arange, n), indexing="ij"), axis=-1).reshape(-1, 1, 3)
    number = np.ravel_multi_index(tuple(np.moveaxis(first + local, -1, 0)), tuple(2 * n + 1))
    used, cells = np.unique(number, return_inverse=True)
    share = np.stack(np.unravel_index(used, tuple(2 * n + 1)), axis=-1) / (2 * n)
    y, z, x = (share * np.array([WIDTH_MM, WIDTH_MM, LENGTH_MM]) * 1e-3).T
    half = WIDTH_MM * 0.5e-3
    return np.stack([x, y - half, z - half], axis=1), cells.reshape(-1, 20)


def solve(points: FloatArray, cells: IntArray, *, degree: int | None = None) -> Answer:
    """Return six modes of a bar held still at x = 0.

    Parameters
    ----------
    points
        Nodes [m], shape (n, 3).
    cells
        Straight-edged 20-node hexahedra in the VTK order, shape (n_cells, 20).
    degree
        Degree that the quadrature is exact to; the library's choice when None.

    Raises
    ------
    ValueError
        An edge's middle node is off the middle: the library's cell takes its shape from the corners alone.
    """
    middle = points[cells[:, _VTK_EDGES]].mean(axis=2)
    if not np.allclose(points[cells[:, 8:]], middle, atol=1e-12):
        raise ValueError("cells have curved edges; the stock way needs middle nodes at the middle of edges")
    corners, at = np.unique(cells[:, :8], return_inverse=True)
    mesh = skfem.MeshHex(points[corners].T.copy(), at.reshape(-1, 8)[:, _CORNERS].T.copy())
    basis = skfem.Basis(mesh, skfem.ElementVector(skfem.ElementHexS2()), intorder=degree)

    @skfem.BilinearForm
    def mass(u, v, w):  # type: ignore[no-untyped-def] # noqa: ANN001, ANN202
        return DENSITY * dot(u, v)

    stiff = linear_elasticity(*lame_parameters(YOUNGS_MODULUS, POISSON_RATIO)).assemble(basis)
    heavy = mass.assemble(basis)
    held = basis.get_dofs(lambda x: x[0] < 1e-9).flatten()
    condensed = skfem.condense(stiff, heavy, D=held)
    eigenvalues, _ = skfem.solve(*condensed, solver=skfem.solver_eigen_scipy_sym(k=6, sigma=0.0))
    return Answer(to_hz(np.asarray(eigenvalues)), int(basis.N - held.size), int(cells.shape[0]))


def run() -> Answer:
    """Return six modes of the benchmark's square bar, mesh included, all as the library chooses."""
    return solve(*square_mesh())


def run_lean() -> Answer:
    """Return the same by a leaner quadrature that is exact enough: what a user who knows would ask for."""
    return solve(*square_mesh(), degree=5)


if __name__ == "__main__":
    answer = run()
    print(f"{answer.unknowns} unknowns, {answer.cells} cells")
    print(answer.frequency_hz.round(4))
