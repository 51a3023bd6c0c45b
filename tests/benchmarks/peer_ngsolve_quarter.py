"""NGSolve on a quarter of the benchmark's bar: a fair peer of ours, which uses its symmetry too.

One mesh and one assembly of the quarter serve all three kinds of motion; what each holds on the two planes of
symmetry is left out of the matrices. They are factored by SciPy's SuperLU in minimum-degree order.
`python tests/benchmarks/peer_ngsolve_quarter.py` solves once; `--search` repeats the search for order, sizes
and grading.
"""

from __future__ import annotations

import argparse
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from functools import partial

import ngsolve as ng
import numpy as np
import scipy.sparse as sp
from netgen import occ
from peer_ngsolve import Config, report, timed
from round_bar import DENSITY, DIAMETER_MM, LENGTH_MM, WANTED, Answer, FloatArray, lame, to_hz
from scipy.sparse.linalg import LinearOperator, eigsh, splu


@dataclass(frozen=True)
class Motion:
    """A kind of motion: components (x, y, z as 0, 1, 2) held on y = 0 and on z = 0, modes, how often each."""

    on_y: tuple[int, ...]
    on_z: tuple[int, ...]
    modes: int
    times: int


MOTIONS = (Motion((0, 2), (2,), 2, 2), Motion((0, 2), (0, 1), 1, 1), Motion((1,), (2,), 1, 1))
FROZEN = Config(order=4, size=28.0, root_size=6.0, grading=0.7, curvature=0.5)


def make_mesh(config: Config) -> ng.Mesh:
    """Return the curved tetrahedral mesh [mm] of a quarter of the bar."""
    radius = DIAMETER_MM / 2
    box = occ.Box(occ.Pnt(-1, 0, 0), occ.Pnt(LENGTH_MM + 1, 2 * radius, 2 * radius))
    bar = occ.Cylinder(occ.Pnt(0, 0, 0), occ.X, r=radius, h=LENGTH_MM) * box
    for face in bar.faces:
        for name, place in (
            ("root", face.center.x),
            ("across y", face.center.y),
            ("across z", face.center.z),
        ):
            if abs(place) < 1e-6:
                face.name = name
        if face.name == "root" and config.root_size:
            face.maxh = config.root_size
    options = {
        "parallel_meshing": False,
        "grading": config.grading,
        "curvaturesafety": config.curvature,
        "segmentsperedge": 0.3,
    }
    mesh = ng.Mesh(occ.OCCGeometry(bar).GenerateMesh(maxh=config.size, closeedgefac=None, **options))
    mesh.Curve(config.order)
    return mesh


def assemble(config: Config, mesh: ng.Mesh) -> tuple[ng.VectorH1, sp.csr_matrix, sp.csr_matrix]:
    """Return the space, stiffness and mass, lengths in mm, density so scaled that eigenvalues are SI."""
    lam, mu = lame()
    space = ng.VectorH1(mesh, order=config.order, dirichlet="root")
    u, v = space.TnT()

    def strain(w: ng.CoefficientFunction) -> ng.CoefficientFunction:
        return 0.5 * (ng.Grad(w) + ng.Grad(w).trans)

    elastic = 2 * mu * ng.InnerProduct(strain(u), strain(v)) + lam * ng.div(u) * ng.div(v)
    stiff = ng.BilinearForm(elastic.Compile() * ng.dx).Assemble().mat
    heavy = ng.BilinearForm((DENSITY * 1e-6 * u * v).Compile() * ng.dx).Assemble().mat
    return space, _to_scipy(stiff), _to_scipy(heavy)


def _to_scipy(matrix: ng.BaseMatrix) -> sp.csr_matrix:
    row, column, value = (np.asarray(x) for x in matrix.COO())
    return sp.csr_matrix((value, (row, column)), (matrix.height, matrix.width))


def lowest(stiff: sp.csc_matrix, heavy: sp.csc_matrix, count: int) -> FloatArray:
    """Return the lowest eigenvalues by SciPy's Lanczos over SuperLU in minimum-degree order."""
    factor = splu(stiff, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})
    inverse = LinearOperator(stiff.shape, factor.solve, dtype=float)
    settings = {"sigma": 0.0, "which": "LM", "return_eigenvectors": False, "tol": 1e-4, "ncv": 6}
    start = factor.solve(np.ones(stiff.shape[0]))
    found: FloatArray = eigsh(heavy, count, M=heavy, OPinv=inverse, v0=start, **settings)
    return found


def solve(config: Config) -> Answer:
    """Return six modes of the bar, from geometry to answer."""
    mesh = make_mesh(config)
    space, stiff, heavy = assemble(config, mesh)
    free = np.array(list(space.FreeDofs()))
    parts = space.components
    begin = np.cumsum([0, *[part.ndof for part in parts]])
    planes = [np.array(list(parts[0].GetDofs(mesh.Boundaries(name)))) for name in ("across y", "across z")]
    found, unknowns = [], 0
    for motion in MOTIONS:
        mine = free.copy()
        for plane, held in zip(planes, (motion.on_y, motion.on_z), strict=True):
            for i in held:
                mine[begin[i] : begin[i + 1]] &= ~plane
        at = np.flatnonzero(mine)
        values = lowest(stiff[at][:, at].tocsc(), heavy[at][:, at].tocsc(), motion.modes)
        found.append(np.repeat(values, motion.times))
        unknowns += len(at)
    return Answer(to_hz(np.concatenate(found))[:6], unknowns, int(mesh.ne))


def run() -> Answer:
    """Return six modes with the frozen configuration, on one thread."""
    return solve(FROZEN)


def candidates() -> Iterator[Config]:
    """Yield the configurations of the search."""
    choices = itertools.product((4, 5), (14.0, 20.0, 28.0, 40.0), (3.0, 4.0, 6.0), (0.5, 0.7), (0.5, 1.0))
    for order, size, root, grading, curvature in choices:
        yield Config(order, size, root_size=root, grading=grading, curvature=curvature)


def search() -> None:
    """Print the fastest configurations inside the wanted error, the best of five solves each."""
    once = [(*timed(partial(solve, config)), config) for config in candidates()]
    good = sorted((row for row in once if row[1].worst < WANTED), key=lambda row: row[0])
    for *_, config in good[:6]:
        report(config, *min((timed(partial(solve, config)) for _ in range(5)), key=lambda row: row[0]))


def main() -> None:
    """Read the command line and run."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--search", action="store_true", help="repeat the search for the best configuration")
    if parser.parse_args().search:
        search()
    else:
        report(FROZEN, *timed(run))


if __name__ == "__main__":
    main()
