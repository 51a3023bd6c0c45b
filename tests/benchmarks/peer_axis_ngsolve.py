"""NGSolve's modes and compliance of a round bar over axis and radius, of high order: a peer for wraps.

`python tests/benchmarks/peer_axis_ngsolve.py FILE` solves those set-ups of a file as hard_sleeves.json anew
that are "NGSolve over axis and radius".

Orders 0 and 1 of a Fourier series round the axis, strains written anew, on plane meshes that are drawn
together by the library's own refinement at every singular point. So no curved layer is off in volume. What
the last order of the cells still changed is the doubt. Modes of higher order ring far above those asked for.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

import ngsolve as ng
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from finer_solution import Numbers
from netgen import occ
from ngsolve_bars import STIFF
from numpy.typing import NDArray
from peer_told_ngsolve import HEAVY, LEAST, MPA
from scipy.sparse import csc_matrix
from scipy.sparse.linalg import LinearOperator, eigsh, splu

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE

FloatArray = NDArray[np.float64]
BY = "NGSolve over axis and radius"
# Largest cell over the bar's radius, cuts toward singular points and their share.
SIZE, CUTS, SHARE = 0.5, 5, 0.15
NEAR = 1e-6


def plane(setup: Setup) -> ng.Mesh:
    """Return the mesh of the half section: x along the bar, y its radius [mm]."""
    bar, wrap = setup.bar, setup.wrap
    radius, tip = bar.diameter_mm / 2, bar.overhang_mm
    begin = 0.0 if setup.grip.style == "rigid" else -bar.gripped_mm
    start, stop = wrap.start_mm, min(wrap.start_mm + wrap.length_mm, tip)
    faces = []
    places = sorted({begin, 0.0, start, stop, tip})
    for a, b in pairwise(places):
        faces.append(("bar", occ.WorkPlane().MoveTo(a, 0).Rectangle(b - a, radius).Face()))
    round_it = occ.WorkPlane().MoveTo(start, radius).Rectangle(stop - start, wrap.thickness_mm).Face()
    faces.append(("wrap", round_it))
    for name, face in faces:
        face.faces.name = name
    solid = occ.Glue([face for _, face in faces])
    for edge in solid.edges:
        low, high = edge.bounding_box
        edge.name = (
            "axis" if high.y < NEAR else
            "end" if low.x > tip - NEAR else
            "root" if high.x < begin + NEAR else
            "bed" if abs(low.y - radius) < NEAR and high.x < NEAR and high.y - low.y < NEAR else "free"
        )  # fmt: skip
    hot = {0.0, begin, start, stop, tip}
    for vertex in solid.vertices:
        x, y, _ = vertex.p
        if y > radius - NEAR and min(abs(x - one) for one in hot) < NEAR:
            vertex.hpref = 1
    mesh = ng.Mesh(occ.OCCGeometry(solid, dim=2).GenerateMesh(maxh=SIZE * radius))
    mesh.RefineHP(CUTS, factor=SHARE)
    return mesh


@dataclass(frozen=True)
class Strains:
    """Strains and motion of one order of the series, from its unknowns; a unit load moves the end face."""

    rows: list[ng.CoefficientFunction]
    motion: list[ng.CoefficientFunction]
    end: ng.CoefficientFunction


def bending(u: ng.CoefficientFunction) -> Strains:
    """Return those of order 1; unknowns: radial plus round motion, round motion, motion along."""
    (a, v, w), (da, dv, dw) = u, [ng.Grad(one) for one in u]
    r, du = ng.y, da - dv
    rows = [du[1], a / r, dw[0], dv[1] - a / r, du[0] + dw[1], dv[0] - w / r]
    return Strains(rows, [a - v, v, w], a - 2 * v)


def stretch(u: ng.CoefficientFunction) -> Strains:
    """Return those of order 0 without twist; unknowns: radial motion, motion along."""
    (a, w), (da, dw) = u, [ng.Grad(one) for one in u]
    zero = 0 * a
    return Strains([da[1], a / ng.y, dw[0], zero, da[0] + dw[1], zero], [a, w], w)


def twist(u: ng.CoefficientFunction) -> Strains:
    """Return those of the twist."""
    (v,), (dv,) = u, [ng.Grad(one) for one in u]
    zero = 0 * v
    return Strains([zero, zero, zero, dv[1] - v / ng.y, zero, dv[0]], [v], v)


# How the unknowns of each way of moving make strains, which of them vanish on the axis, and the integral of
# the squared cosine round it.
WAYS = {
    "bending": (bending, (True, False, True), np.pi),
    "stretch": (stretch, (True, False), 2 * np.pi),
    "twist": (twist, (True,), 2 * np.pi),
}


def solved(setup: Setup, mesh: ng.Mesh, way: str, *, order: int, count: int) -> tuple[FloatArray, float]:
    """Return the lowest frequencies [Hz] of a way of moving, and the end face's compliance [mm/N]."""
    make, on_axis, share = WAYS[way]
    held = "root" if setup.grip.style == "rigid" else ""
    names = ["|".join(filter(None, [held, "axis" if vanishes else ""])) for vanishes in on_axis]
    space = ng.FESpace([ng.H1(mesh, order=order, dirichlet=name) for name in names])
    trial, test = ([*one] for one in space.TnT())
    one, other = make(trial), make(test)

    def of(value: str) -> ng.CoefficientFunction:
        return mesh.MaterialCF({name: getattr(numbers_of(m), value) for name, m in setup.materials.items()})

    radius = share * ng.y
    trace = sum(one.rows[:3]) * sum(other.rows[:3])
    straight = sum(a * b for a, b in zip(one.rows[:3], other.rows[:3], strict=True))
    sheared = sum(a * b for a, b in zip(one.rows[3:], other.rows[3:], strict=True))
    stiff, heavy = (ng.BilinearForm(space, symmetric=True) for _ in range(2))
    more = {"bonus_intorder": 6}
    energy = of("lame") * trace + of("shear") * (2 * straight + sheared)
    stiff += radius * energy * ng.dx(**more)
    heavy += (
        radius
        * of("density")
        * sum(a * b for a, b in zip(one.motion, other.motion, strict=True))
        * ng.dx(**more)
    )
    if setup.grip.style == "bed":
        faces = setup.grip.bed
        normal = faces.normal_n_per_um_mm2.likely * STIFF
        shear = normal * faces.shear_ratio.likely
        layers = {"bending": (normal, shear, shear), "stretch": (normal, shear), "twist": (shear,)}[way]
        terms = zip(layers, one.motion, other.motion, strict=True)
        stiff += radius * sum(k * a * b for k, a, b in terms) * ng.ds("bed", **more)
    area = 2 * np.pi * ng.Integrate(ng.y * ng.ds("end"), mesh)
    load = ng.LinearForm(radius * other.end / area * ng.ds("end")).Assemble()
    free = np.flatnonzero(np.array(space.FreeDofs()))
    k, m = (_sparse(form.Assemble().mat)[free][:, free] for form in (stiff, heavy))
    factor = splu(csc_matrix(k))
    inverse = LinearOperator(k.shape, factor.solve, dtype=float)
    values = eigsh(k, count, M=m, sigma=0.0, OPinv=inverse, return_eigenvectors=False, tol=1e-10)
    pushed = load.vec.FV().NumPy()[free]
    return np.sqrt(np.sort(values)) / (2 * np.pi), float(pushed @ factor.solve(pushed))


@dataclass(frozen=True)
class Metal:
    """Elastic constants [N/mm^2] and density [t/mm^3] of a metal."""

    lame: float
    shear: float
    density: float


def numbers_of(one: Material) -> Metal:
    """Return a metal's numbers in the units of a mesh in millimetres."""
    poisson = one.poisson_ratio.likely
    shear = one.youngs_modulus.likely * MPA / (2 * (1 + poisson))
    return Metal(2 * shear * poisson / (1 - 2 * poisson), shear, one.density.likely * HEAVY)


def _sparse(matrix: ng.BaseMatrix) -> csc_matrix:
    rows, columns, values = matrix.COO()
    return csc_matrix((np.array(values), (np.array(rows), np.array(columns))), shape=matrix.shape)


def over_axis_and_radius(setup: Setup, orders: tuple[int, int]) -> Numbers:
    """Return the numbers of the last of two orders of cells, and how far they may be off."""
    mesh, count = plane(setup), setup.solve.modes + SPARE
    found = []
    for order in orders:
        of = {way: solved(setup, mesh, way, order=order, count=4) for way in WAYS}
        # Bending is there twice, once each way.
        every = np.concatenate([of[way][0] for way in ("bending", "bending", "stretch", "twist")])
        soft = [of["stretch"][1], of["bending"][1], of["bending"][1]]
        found.append((np.sort(every)[:count], 1e-3 * np.diag(soft)))
        print(f"  order {order}", found[-1][0][:4], flush=True)
    (f0, c0), (f1, c1) = found
    doubt = np.abs(np.diag(c1 - c0)) / np.diag(c1)
    return Numbers(
        frequency_hz=f1,
        frequency_error=np.maximum(np.abs(f1 - f0) / f1, LEAST),
        compliance=c1,
        compliance_error=np.maximum(np.diag(doubt), 2 * LEAST),
    )


def anew(told: dict[str, object]) -> Iterator[dict[str, object]]:
    """Yield the set-ups of a file, those that are this script's solved anew."""
    for one in told["set-ups"]:
        if one["by"] == BY:
            found = over_axis_and_radius(parse_setup(one["text"]).setup, tuple(one["orders"]))
            one |= {name: array.tolist() for name, array in vars(found).items()}
        yield one


def main() -> None:
    """Solve the set-ups of a file anew, and write what comes out into it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("file", type=Path)
    path = parser.parse_args().file
    told = json.loads(path.read_text(encoding="utf-8"))
    told["set-ups"] = list(anew(told))
    path.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
