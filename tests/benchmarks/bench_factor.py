"""Factorisations of the same stiffness, side by side in one run: time and memory as ratios to ours.

Run it from the repository's root in the environment of the extra ``bench``::

    python tests/benchmarks/bench_factor.py [--around 2 4 8]

Each way factors the stiffness of a round steel bar 16 x 112 mm, one end held, and solves for eight load
columns. Medians of several repeats, run in turn, so that a busy machine burdens all alike. ``whole`` is our
chain without symmetry, ``parts`` the same with the mirror planes used. PARDISO is tried when the package
``pypardiso`` is there.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import scipy.sparse as sp
from scipy.linalg import cho_solve_banded, cholesky_banded
from scipy.sparse.linalg import splu

from stickout.fem.solid.block_cholesky import factor_chain
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.model import Model, Support, held_model
from stickout.fem.solid.slab import Assembly
from stickout.fem.solid.symmetry import parts_of
from stickout.meshes.parts import Bar
from stickout.meshes.pieces import Fineness
from stickout.meshes.tool import bar_mesh

STEEL = Elastic(206e9, 0.3, 7850.0)
REPEATS = 5


@dataclass(frozen=True)
class Timing:
    """Seconds to factor and to solve eight columns, and the numbers kept."""

    factor: float
    solve: float
    numbers: int


def model_of(around: int) -> Model:
    """Return the bar at a fineness that keeps cells of like shape."""
    fineness = Fineness(around, max(1, around // 3), 0.22 / around, 1.2 / around, 0.1 / around)
    mesh = bar_mesh(Bar(overhang_mm=112, diameter_mm=16), fineness=fineness)
    return held_model(mesh, {"bar": STEEL}, support=Support(held=("root",)))


def sparse_stiffness(model: Model) -> sp.csc_array:
    """Return the stiffness in the order of the unknowns."""
    place = model.layout.place[model.mesh.cells].reshape(len(model.mesh.cells), -1)
    rows, columns = np.repeat(place, 60, axis=1).ravel(), np.tile(place, (1, 60)).ravel()
    free = (rows >= 0) & (columns >= 0)
    values = model.matrices.stiffness(slice(None)).ravel()[free]
    n = model.layout.n_unknowns
    return sp.coo_array((values, (rows[free], columns[free])), shape=(n, n)).tocsc()


def timed(
    make: Callable[[], object], use: Callable[[object], object], numbers: Callable[[object], int]
) -> Timing:
    """Return the time of making a factor and of using it once."""
    start = time.perf_counter()
    factor = make()
    middle = time.perf_counter()
    use(factor)
    return Timing(middle - start, time.perf_counter() - middle, numbers(factor))


def ways(model: Model) -> dict[str, Callable[[], Timing]]:
    """Return every way that is installed; assembly into a sparse matrix is not counted against the peers."""
    stiffness = sparse_stiffness(model)
    loads = np.random.default_rng(7).standard_normal((model.layout.n_unknowns, 8))
    assembly = Assembly(model.mesh.cells, model.matrices, [], model.layout)
    size = lambda f: f.L.nnz + f.U.nnz  # noqa: E731 - one expression, used twice
    found = {
        "ours, parts": lambda: _parts(model),
        "ours, whole": lambda: timed(
            lambda: factor_chain(assembly), lambda f: f.solve(loads), lambda f: f.n_bytes // 8
        ),
        "SuperLU, default": lambda: timed(lambda: splu(stiffness), lambda f: f.solve(loads), size),
        "SuperLU, symmetric": lambda: timed(
            lambda: splu(
                stiffness, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
            ),
            lambda f: f.solve(loads),
            size,
        ),
        "banded Cholesky": lambda: _banded(stiffness, loads),
    }
    try:
        from pypardiso import PyPardisoSolver
    except ImportError:
        return found
    found["PARDISO"] = lambda: _pardiso(PyPardisoSolver(), stiffness.tocsr(), loads)
    return found


def _parts(model: Model) -> Timing:
    start = time.perf_counter()
    factors = [p.model.factor for p in parts_of(model)]
    middle = time.perf_counter()
    for part in factors:
        part.solve(np.ones((part._start[-1], 8)))
    return Timing(middle - start, time.perf_counter() - middle, sum(f.n_bytes for f in factors) // 8)


def _banded(stiffness: sp.csc_array, loads: np.ndarray) -> Timing:
    entries = sp.tril(stiffness).tocoo()
    width = int((entries.row - entries.col).max())
    bands = np.zeros((width + 1, stiffness.shape[0]))
    bands[entries.row - entries.col, entries.col] = entries.data
    return timed(
        lambda: cholesky_banded(bands, lower=True),
        lambda f: cho_solve_banded((f, True), loads),
        lambda f: f.size,
    )


def _pardiso(solver: object, stiffness: sp.csr_array, loads: np.ndarray) -> Timing:
    start = time.perf_counter()
    solver.factorize(sp.csr_matrix(stiffness))
    middle = time.perf_counter()
    solver.solve(sp.csr_matrix(stiffness), loads)
    done = time.perf_counter()
    return Timing(middle - start, done - middle, 0)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--around", type=int, nargs="+", default=[2, 4, 6])
    for around in parser.parse_args().around:
        model = model_of(around)
        found = ways(model)
        runs: dict[str, list[Timing]] = {name: [] for name in found}
        for _ in range(REPEATS):
            for name, way in found.items():
                runs[name].append(way())
        base = runs["ours, parts"]
        whole = runs["ours, whole"][0].numbers
        print(f"{model.layout.n_unknowns} unknowns")
        print(f"  {'way':20}{'factor':>10}{'solve 8':>10}{'numbers kept':>15}   (ratios to parts; to whole)")
        for name, timings in runs.items():
            factor, solve = (
                statistics.median(getattr(t, key) for t in timings)
                / statistics.median(getattr(t, key) for t in base)
                for key in ("factor", "solve")
            )
            kept = f"{timings[0].numbers / whole:.2f}" if timings[0].numbers else "not told"
            print(f"  {name:20}{factor:10.1f}{solve:10.1f}{kept:>15}")


if __name__ == "__main__":
    main()
