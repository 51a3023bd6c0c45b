"""NGSolve's modes and compliance of a bar in a bored block, split or whole, of high order.

`python tests/benchmarks/peer_sleeve_ngsolve.py FILE` solves those set-ups of a file as hard_sleeves.json anew
that are "NGSolve, bar and block".

Bar and block are bodies with functions of their own on one mesh of curved tetrahedra; springs over the bore
join them. A split block is cut into two bodies at the saw cut and above the bore, where springs far stiffer
than any metal join them again. What the last order of the cells still changed is the doubt.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import ngsolve as ng
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from finer_solution import Numbers
from netgen import occ
from ngsolve_bars import STIFF
from numpy.typing import NDArray
from peer_axis_ngsolve import numbers_of
from peer_told_ngsolve import LEAST
from scipy.sparse.linalg import LinearOperator, eigsh

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE

FloatArray = NDArray[np.float64]
BY = "NGSolve, bar and block"
# Largest cell over the bar's diameter.
SIZE = 0.7
NEAR = 1e-6
# Springs that join the halves of a split block again [N/mm^3]: as stiff as 20 nm of steel.
GLUE = 1e10


def _box(low: tuple[float, float, float], high: tuple[float, float, float]) -> occ.TopoDS_Shape:
    return occ.Box(occ.Pnt(*low), occ.Pnt(*high))


def _rod(start: float, stop: float, diameter: float) -> occ.TopoDS_Shape:
    return occ.Cylinder(occ.Pnt(start, 0, 0), occ.X, r=diameter / 2, h=stop - start)


def _solids(setup: Setup) -> Iterator[tuple[str, occ.TopoDS_Shape]]:
    """Yield the bodies by name."""
    bar, block = setup.bar, setup.grip.hold.block
    lengths = [(-bar.gripped_mm, bar.diameter_mm), (0.0, bar.diameter_mm)]
    lengths += [(one.start_mm, one.diameter_mm) for one in bar.steps]
    for (start, diameter), (stop, _) in pairwise([*lengths, (bar.overhang_mm, 0.0)]):
        yield "bar", _rod(start, stop, diameter)
    low, side, back = -bar.diameter_mm / 2 - block.wall_mm, block.width_mm / 2, -bar.gripped_mm
    whole = _box((back, -side, low), (0, side, low + block.height_mm)) - _rod(back, 0, bar.diameter_mm)
    lip = _box((back, 0, 0), (0, side + 1, low + block.height_mm + 1))
    if block.split:
        yield "lip", whole * lip
        yield "holder", whole - lip
    else:
        yield "holder", whole


def meshed(setup: Setup) -> ng.Mesh:
    """Return the mesh, its faces named."""
    bar, block = setup.bar, setup.grip.hold.block
    radius, low = bar.diameter_mm / 2, -bar.diameter_mm / 2 - block.wall_mm
    parts = list(_solids(setup))
    for name, solid in parts:
        solid.mat(name)
    solid = occ.Glue([one for _, one in parts])
    for face in solid.faces:
        a, b = face.bounding_box
        flat = [b[i] - a[i] < NEAR for i in range(3)]
        inside = max(-a.y, b.y, -a.z, b.z) < radius + 1e-3
        quadrant = a.y > -1e-3 and a.z > -1e-3
        tests = {
            "end": flat[0] and a.x > bar.overhang_mm - NEAR,
            "holder_base": flat[2] and a.z < low + NEAR,
            "bore of lip": inside and b.x < NEAR and not flat[0] and quadrant and block.split,
            "bore of holder": inside and b.x < NEAR and not flat[0],
            "joined": block.split and flat[1] and abs(a.y) < NEAR and a.z > radius - 1e-3,
        }
        face.name = next((name for name, met in tests.items() if met), "free")
    options = {"parallel_meshing": False, "grading": 0.8, "curvaturesafety": 1.0, "segmentsperedge": 1.0}
    return ng.Mesh(occ.OCCGeometry(solid).GenerateMesh(maxh=SIZE * bar.diameter_mm, **options))


def solved(setup: Setup, mesh: ng.Mesh, order: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest frequencies [Hz], and the compliance at the middle of the end face [m/N], (3, 3)."""
    mesh.Curve(order)
    split = setup.grip.hold.block.split
    names = ["bar", "holder", *(["lip"] if split else [])]
    spaces = [
        ng.VectorH1(mesh, order=order, definedon=mesh.Materials(name), dirichlet="holder_base")
        for name in names
    ]
    space = ng.FESpace(spaces)
    trial, test = space.TnT()
    u, v = (dict(zip(names, one, strict=True)) for one in (trial, test))
    stiff, heavy = (ng.BilinearForm(space, symmetric=True) for _ in range(2))
    for name in names:
        metal = numbers_of(setup.materials["bar" if name == "bar" else "holder"])
        where = ng.dx(definedon=mesh.Materials(name))
        strains = ng.InnerProduct(ng.Sym(ng.Grad(u[name])), ng.Sym(ng.Grad(v[name])))
        stiff += (2 * metal.shear * strains + metal.lame * ng.div(u[name]) * ng.div(v[name])) * where
        heavy += metal.density * u[name] * v[name] * where
    faces = setup.grip.joint
    normal = faces.normal_n_per_um_mm2.likely * STIFF
    shear = normal * faces.shear_ratio.likely
    n = ng.specialcf.normal(3)
    for name in names[1:]:
        du, dv = u["bar"] - u[name], v["bar"] - v[name]
        stiff += (shear * du * dv + (normal - shear) * (du * n) * (dv * n)) * ng.ds(f"bore of {name}")
    if split:
        stiff += GLUE * (u["holder"] - u["lip"]) * (v["holder"] - v["lip"]) * ng.ds("joined")
    area = ng.Integrate(ng.CF(1.0) * ng.ds("end"), mesh)
    pushes = [ng.LinearForm(v["bar"][i] / area * ng.ds("end")).Assemble().vec.FV().NumPy() for i in range(3)]
    k, m = stiff.Assemble().mat, heavy.Assemble().mat
    factor = k.Inverse(space.FreeDofs(), inverse="sparsecholesky")
    into, out = k.CreateColVector(), k.CreateColVector()

    def times(matrix: ng.BaseMatrix, x: FloatArray) -> FloatArray:
        into.FV().NumPy()[:] = x.ravel()
        matrix.Mult(into, out)
        return np.array(out.FV().NumPy())

    size = (space.ndof, space.ndof)
    inertia = LinearOperator(size, lambda x: times(m, x), dtype=float)
    solve = LinearOperator(size, lambda x: times(factor, x), dtype=float)
    start = solve @ np.random.default_rng(0).standard_normal(space.ndof)
    values = eigsh(
        inertia, setup.solve.modes + SPARE, M=inertia, sigma=0.0, OPinv=solve, v0=start,
        return_eigenvectors=False, tol=1e-8,
    )  # fmt: skip
    compliance = np.stack(pushes) @ np.stack([solve @ one for one in pushes]).T
    print(
        f"  order {order}: {space.ndof} unknowns, {mesh.ne} cells", np.sqrt(np.sort(values))[:4], flush=True
    )
    return np.sqrt(np.sort(values)) / (2 * np.pi), 1e-3 * compliance


def bar_and_block(setup: Setup, orders: tuple[int, int]) -> Numbers:
    """Return the numbers of the last of two orders of cells, and how far they may be off."""
    mesh = meshed(setup)
    (f0, c0), (f1, c1) = (solved(setup, mesh, order) for order in orders)
    size = np.sqrt(np.diag(c1))
    return Numbers(
        frequency_hz=f1,
        frequency_error=np.maximum(np.abs(f1 - f0) / f1, LEAST),
        compliance=c1,
        compliance_error=np.maximum(np.abs(c1 - c0) / np.outer(size, size), 2 * LEAST),
    )


def main() -> None:
    """Solve the set-ups of a file anew, and write what comes out into it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("file", type=Path)
    path = parser.parse_args().file
    told = json.loads(path.read_text(encoding="utf-8"))
    for one in told["set-ups"]:
        if one["by"] == BY:
            found = bar_and_block(parse_setup(one["text"]).setup, tuple(one["orders"]))
            one |= {name: array.tolist() for name, array in vars(found).items()}
    path.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
