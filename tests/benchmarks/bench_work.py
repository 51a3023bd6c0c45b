"""Parts on springs: our solids against NGSolve's, our beams beside both, and what a part costs beside a tool.

`python tests/benchmarks/bench_work.py` prints, for two stepped parts and a tube, stiffness and first note of
NGSolve's curved tetrahedra, of our solid and of our beam. The root of NGSolve's part is glued to a thin plate
a million times as stiff and without mass, on springs spread over its face: nothing of our way of putting a
part on springs is in it. `--times` prints the time of a part over that of a tool of as many unknowns, and of
a cut with part and post over one without, taken in turns; ratios hold, seconds do not.
"""

from __future__ import annotations

import argparse
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import scipy.sparse as sp
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, eigsh, splu

from stickout.fem import read_setup
from stickout.fem.beam.work import work_chain
from stickout.fem.beam.work_holding import point_springs
from stickout.fem.cut.answer import cut_answer
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.work_parts import Post, Work, WorkStep
from stickout.fem.solid.modes import solve_modes
from stickout.fem.study.study import run_study
from stickout.fem.work.solid import SLICE, held_solid, solid_work

FloatArray = NDArray[np.float64]
CHUCK = {"chuck_n_per_um": 60.0, "chuck_tilt_nm_per_rad": 3e4}
PARTS = {
    "stepped, chuck": (
        Work(25, 150, "chuck", 148, steps=(WorkStep(60, 16),), **CHUCK),
        (0.030, 0.105, 0.148),
    ),
    "stepped twice, chuck and centre": (
        Work(
            *(30, 180, "chuck and centre", 100),
            steps=(WorkStep(40, 20), WorkStep(140, 14)),
            centre_n_per_um=15.0,
            **CHUCK,
        ),
        (0.060, 0.100, 0.160),
    ),
    "tube, chuck": (Work(40, 120, "chuck", 118, bore_mm=30, **CHUCK), (0.040, 0.080, 0.118)),
}
PLATE, RIGID, LIGHT = 2e-4, 1e6, 1e-9
ORDER, ROUNDS = 3, 5


@dataclass(frozen=True)
class Told:
    """Stiffness at the places [N/m] and first bending note [Hz]."""

    stiffness: FloatArray
    note: float


def ours(work: Work, places: Sequence[float]) -> Told:
    """Return the part by our solids."""
    found = solid_work(work, STEEL, springs=point_springs(work), stations=np.array(places))
    return Told(1 / found.compliance, float(found.frequency_hz[0]))


def beam(work: Work, places: Sequence[float]) -> Told:
    """Return the part by our beam."""
    chain = work_chain(work, STEEL, stations=places)
    note = float(chain.modes(1)[0][0] / (2 * np.pi))
    return Told(1 / chain.compliance_at(np.array(places)), note)


def theirs(work: Work, places: Sequence[float]) -> Told:
    """Return the part by NGSolve: plate and springs at the root, springs beyond and loads over slices."""
    import ngsolve as ng

    mesh = _mesh(work)
    young, nu = STEEL.youngs_modulus.likely, STEEL.poisson_ratio.likely
    stiff = mesh.MaterialCF({"plate": RIGID * young}, default=young)
    heavy = mesh.MaterialCF({"plate": LIGHT * STEEL.density.likely}, default=STEEL.density.likely)
    space = ng.VectorH1(mesh, order=ORDER)
    u, v = space.TnT()

    def strain(w: object) -> object:
        return ng.Sym(ng.Grad(w))

    lame, shear = stiff * nu / ((1 + nu) * (1 - 2 * nu)), stiff / (2 * (1 + nu))
    radius, bore = work.diameter_mm / 2e3, (work.bore_mm or 0) / 2e3
    area, second = np.pi * (radius**2 - bore**2), np.pi / 4 * (radius**4 - bore**4)
    root, *others = point_springs(work)
    k = ng.BilinearForm(space)
    k += (2 * shear * ng.InnerProduct(strain(u), strain(v)) + lame * ng.div(u) * ng.div(v)) * ng.dx
    along, across = root.rotation / second, root.translation / area
    k += (along * u[0] * v[0] + across * (u[1] * v[1] + u[2] * v[2])) * ng.ds("root")
    m = ng.BilinearForm(space)
    m += heavy * u * v * ng.dx
    k.Assemble()
    m.Assemble()
    stiffness, mass = (_sparse(one) for one in (k, m))
    length, wanted = work.length_mm / 1e3, (*places, *(one.at for one in others))
    loads = np.stack([_slice(space, v, at, length) for at in wanted])
    for spring, row in zip(others, loads[len(places) :], strict=True):
        column = sp.csc_matrix(row[:, None])
        stiffness = stiffness + spring.translation * column @ column.T
    factor = splu(stiffness.tocsc())
    moved = factor.solve(loads[: len(places)].T)
    give = np.einsum("in,ni->i", loads[: len(places)], moved)
    inverse = LinearOperator(stiffness.shape, factor.solve)
    start = np.random.default_rng(0).standard_normal(len(loads[0]))
    square, shapes = eigsh(stiffness, 6, mass, sigma=0.0, OPinv=inverse, v0=start)
    sideways = np.abs(loads[0] @ shapes) > 1e-3 * np.abs(loads[0] @ shapes).max()
    return Told(1 / give, float(np.sqrt(square[sideways].min()) / (2 * np.pi)))


def _sparse(form: object) -> sp.csc_matrix:
    """Return an assembled form as SciPy's."""
    rows, columns, values = form.mat.COO()
    n = form.mat.height
    return sp.csc_matrix((np.array(values), (np.array(rows), np.array(columns))), shape=(n, n))


def _mesh(work: Work) -> object:
    """Return NGSolve's mesh [m]: a cylinder for each piece, cut at the slices, and the plate at the root."""
    import ngsolve as ng
    from netgen import occ

    def rod(start: float, stop: float, size: float, bore: float, name: str) -> object:
        one = occ.Cylinder(occ.Pnt(start, 0, 0), occ.X, r=size / 2, h=stop - start)
        if bore:
            one = one - occ.Cylinder(occ.Pnt(start, 0, 0), occ.X, r=bore / 2, h=stop - start)
        one.mat(name)
        return one

    first = sections(work)[0]
    plate = rod(-PLATE, 0.0, first[2] / 1e3, first[3] / 1e3, "plate")
    plate.faces.Min(occ.X).name = "root"
    pieces = [rod(a / 1e3, b / 1e3, d / 1e3, bore / 1e3, "part") for a, b, d, bore in sections(work)]
    size = min(max(0.5 * (d - bore), 0.25 * d) for _, _, d, bore in sections(work)) / 1e3
    mesh = ng.Mesh(occ.OCCGeometry(occ.Glue([plate, *pieces])).GenerateMesh(maxh=size))
    mesh.Curve(ORDER)
    return mesh


def _slice(space: object, test: object, at: float, length: float) -> FloatArray:
    """Return the load of a unit force sideways, spread over a slice of the part."""
    import ngsolve as ng

    low, high = max(at - SLICE / 2, 0.0), min(at + SLICE / 2, length)
    # Cells do not end where the slice does: a fine rule on a smooth bell, a fifth wider, so that the mean of
    # its square is the slice's: both press as hard.
    half = 0.6 * (high - low)
    middle = min((low + high) / 2, length - half)
    bell = ng.IfPos(half**2 - (ng.x - middle) ** 2, half**2 - (ng.x - middle) ** 2, 0.0)
    inside = ng.dx(definedon=space.mesh.Materials("part"), bonus_intorder=12)
    total = ng.Integrate(bell * inside, space.mesh)
    load = ng.LinearForm(bell / total * test[1] * inside).Assemble()
    return np.array(load.vec)


def compare() -> None:
    """Print stiffness and note of each part by the three ways."""
    for name, (work, places) in PARTS.items():
        solid, peer, line = (way(work, places) for way in (ours, theirs, beam))
        print(name)
        rows = zip(places, peer.stiffness, solid.stiffness, line.stiffness, strict=True)
        for at, other, mine, thin in rows:
            print(f"  at {1e3 * at:3.0f} mm:  NGSolve {1e-6 * other:8.3f} N/um, {_apart(other, mine, thin)}")
        print(
            f"  first note: NGSolve {peer.note:8.1f} Hz,   {_apart(peer.note, solid.note, line.note)}",
            flush=True,
        )


def _apart(peer: float, solid: float, line: float) -> str:
    """Return by how much solid and beam differ from the other code."""
    return f"solid {100 * (solid / peer - 1):+.2f} %, beam {100 * (line / peer - 1):+.2f} %"


def timed(sides: Sequence[Callable[[], object]]) -> list[float]:
    """Return the median processor time of each side, taken in turns [s]."""
    took: list[list[float]] = [[] for _ in sides]
    for _ in range(ROUNDS):
        for at, side in enumerate(sides):
            start = time.process_time()
            side()
            took[at].append(time.process_time() - start)
    return [statistics.median(one) for one in took]


def times() -> None:
    """Print what a part costs over such a tool, and a cut with part and post over one without."""
    work, places = PARTS["stepped, chuck"]

    def tool() -> object:
        model = held_solid(work, STEEL)  # the same mesh, held as a tool is
        return solve_modes(model, 10), model.own_compliance

    part, bare = timed([lambda: ours(work, places), tool])
    print(f"a part over a tool of as many unknowns: {part / bare:.2f} (at most 2)")
    setup = read_setup(Path(__file__).parents[2] / "examples" / "slender_shaft.toml").setup
    full = replace(setup, post=Post())
    alone = replace(setup, work=None)
    loaded, plain = timed([lambda: cut_answer(run_study(full)), lambda: cut_answer(run_study(alone))])
    print(f"a cut with part and post over one without: {loaded / plain:.2f} (at most 1.5)")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--times", action="store_true", help="ratios of time")
    times() if parser.parse_args().times else compare()
