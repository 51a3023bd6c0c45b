"""NGSolve's modes and compliance of a set-up, of high order: what told errors are compared with.

`python tests/benchmarks/peer_told_ngsolve.py FILE` solves the set-ups of tests/data/hard_grips.json anew,
in six minutes on a quiet core.

Bars of straight sides are boxes (``ngsolve_boxes.py``), the others cells of ``ngsolve_bars.py``, curved; all
cells are of one order. What the last of two orders still changed is the doubt, or half of it where cells were
drawn together once more. Joints, edge and mass are written anew from the words of the set-up, and every kind
of motion is held by itself on the planes of symmetry.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import ngsolve as ng
import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from finer_solution import Numbers
from ngsolve_bars import Solid, glued, quartered
from ngsolve_boxes import boxed, straight
from numpy.typing import NDArray
from scipy.sparse.linalg import LinearOperator, eigsh

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE
from stickout.fem.study.frames import own_frame, turn_about_bar

FloatArray = NDArray[np.float64]
# Order of the cells, and how often they are drawn together at singular lines, which boxes alone change: of
# curved cells, of boxes where stress is singular along a pressed side, of other boxes.
ORDERS = ((4, 3), (5, 3))
PRESSED = ((4, 2), (4, 3))
STRAIGHT = ((4, 2), (5, 2))
# Doubt: part of what the last step changed, and the least of it. Cells drawn together once more leave a sixth
# of it at most. A higher order alone leaves as much as it changed where pressure jumps within a face: errors
# fall with the third or fourth power there.
PART_OF_CUT, PART_OF_ORDER, LEAST = 0.5, 1.0, 1e-6
# From Pa to N/mm^2, from kg/m^3 to t/mm^3, from g to t.
MPA, HEAVY, TONNE = 1e-6, 1e-12, 1e-6


@dataclass(frozen=True)
class Motion:
    """A kind of motion: whether it is its own mirror image in y and in z; None: z is no plane of symmetry."""

    in_y: bool
    in_z: bool | None

    def free(self, solid: Solid, spaces: Sequence[ng.VectorH1]) -> ng.BitArray:
        """Return which unknowns are free."""
        out = []
        for space in spaces:
            for i, one in enumerate(space.components):
                names = [solid.held] if solid.held else []
                names += ["across y"] if self.in_y == (i == 1) else []
                names += ["across z"] if self.in_z is not None and self.in_z == (i == 2) else []
                still = one.GetDofs(solid.mesh.Boundaries("|".join(names))) if names else None
                bodies = one.FreeDofs()
                out += [bool(f) and not (still and still[n]) for n, f in enumerate(bodies)]
        return ng.BitArray(out)

    @property
    def moves(self) -> list[bool]:
        """Return along which of x, y and z the edge moves."""
        z = self.in_z
        return [self.in_y and z is not False, not self.in_y and z is not False, self.in_y and z is not True]


def motions(setup: Setup) -> list[Motion]:
    """Return the kinds of motion."""
    across = (True, False) if quartered(setup) else (None,)
    return [Motion(y, z) for y in (True, False) for z in across]


class Solved:
    """A set-up on one mesh in cells of one order."""

    def __init__(self, setup: Setup, solid: Solid, order: int) -> None:
        mesh = solid.mesh
        mesh.Curve(order)
        self._setup, self._solid = setup, solid
        bodies = ["bar|wrap", "shim"] if solid.apart else [".*"]
        self._spaces = [ng.VectorH1(mesh, order=order, definedon=mesh.Materials(name)) for name in bodies]
        space = self._spaces[0] if len(bodies) == 1 else ng.FESpace(self._spaces)
        trial, test = space.TnT()
        moved = list(zip(trial, test, strict=True)) if len(bodies) > 1 else [(trial, test)]
        stiff, heavy = (ng.BilinearForm(space, symmetric=True) for _ in range(2))
        for name, (u, v) in zip(bodies, moved, strict=True):
            where = ng.dx(definedon=mesh.Materials(name))
            stiff += _elastic(setup, mesh, u, v).Compile() * where
            heavy += _by_material(setup, mesh, lambda m: m.density.likely * HEAVY) * u * v * where
        for patch, (normal, shear) in solid.springs.items():
            u, v = moved[-1] if patch == "floor" else moved[0]
            if patch == "bar on shim":
                u, v = u - moved[1][0], v - moved[1][1]
            n = ng.specialcf.normal(3)
            layer = shear * u * v + (normal - shear) * (u * n) * (v * n)
            stiff += layer.Compile() * ng.ds(patch)
        self._stiff, self._heavy = stiff.Assemble().mat, heavy.Assemble().mat
        self.unknowns = space.ndof
        self._into, self._out = self._stiff.CreateColVector(), self._stiff.CreateColVector()
        self._edge = np.stack([_vector(space, form) for form in _edge(setup, mesh, moved[0][1])])

    def _times(self, matrix: ng.BaseMatrix, x: FloatArray) -> FloatArray:
        self._into.FV().NumPy()[:] = x.ravel()
        matrix.Mult(self._into, self._out)
        return np.array(self._out.FV().NumPy())

    def motion(self, motion: Motion, count: int) -> tuple[FloatArray, FloatArray]:
        """Return the lowest frequencies [Hz] of a kind of motion, and its compliance at the edge [mm/N]."""
        free = motion.free(self._solid, self._spaces)
        factor = self._stiff.Inverse(free, inverse="sparsecholesky")
        edge = self._edge * np.array(motion.moves)[:, None] * np.array(free)
        # All of the bar has as many times the energy of what is meshed.
        parts = 4 if quartered(self._setup) else 2
        mass = self._setup.edge.mass_g * TONNE / parts

        def heavy(x: FloatArray) -> FloatArray:
            return self._times(self._heavy, x) + mass * (edge @ x.ravel()) @ edge

        def inverse(x: FloatArray) -> FloatArray:
            return self._times(factor, x)

        n = self.unknowns
        times, solve = (LinearOperator((n, n), one, dtype=float) for one in (heavy, inverse))
        start = solve @ np.random.default_rng(0).standard_normal(n)
        settings = {"M": times, "sigma": 0.0, "OPinv": solve, "v0": start, "tol": 1e-7}
        values = eigsh(times, count, return_eigenvectors=False, **settings)
        pushed = np.stack([inverse(row) for row in edge])
        return np.sqrt(values) / (2 * np.pi), edge @ pushed.T / parts


def _vector(space: ng.FESpace, form: ng.CoefficientFunction) -> FloatArray:
    face = ng.ds("end", bonus_intorder=4)
    return np.array(ng.LinearForm(form * face).Assemble().vec.FV().NumPy())


def _by_material(setup: Setup, mesh: ng.Mesh, of: Callable[[Material], float]) -> ng.CoefficientFunction:
    return mesh.MaterialCF({name: of(one) for name, one in setup.materials.items()})


def _elastic(
    setup: Setup, mesh: ng.Mesh, u: ng.CoefficientFunction, v: ng.CoefficientFunction
) -> ng.CoefficientFunction:
    """Return the elastic energy's form."""

    def shear(one: Material) -> float:
        return one.youngs_modulus.likely * MPA / (2 * (1 + one.poisson_ratio.likely))

    def lame(one: Material) -> float:
        poisson = one.poisson_ratio.likely
        return 2 * shear(one) * poisson / (1 - 2 * poisson)

    mu, lam = (_by_material(setup, mesh, of) for of in (shear, lame))
    return 2 * mu * ng.InnerProduct(ng.Sym(ng.Grad(u)), ng.Sym(ng.Grad(v))) + lam * ng.div(u) * ng.div(v)


def _edge(setup: Setup, mesh: ng.Mesh, v: ng.CoefficientFunction) -> Iterator[ng.CoefficientFunction]:
    """Yield what moves the edge each way, over the end face: its mean shift, and its mean turn times a lever.

    The edge lies on the axis.
    """
    face = ng.ds("end", bonus_intorder=4)
    area, in_y, in_z = (ng.Integrate(one * face, mesh) for one in (ng.CF(1.0), ng.y * ng.y, ng.z * ng.z))
    lever = -setup.edge.end_distance_mm
    yield v[0] / area
    yield v[1] / area - lever * ng.y * v[0] / in_y
    yield v[2] / area - lever * ng.z * v[0] / in_z


def fineness_of(setup: Setup) -> Sequence[tuple[int, int]]:
    """Return two orders of cells, with how often they are drawn together at singular lines."""
    if not straight(setup):
        return ORDERS
    return PRESSED if setup.grip.holds_part_of_a_side else STRAIGHT


def high_order(setup: Setup) -> Numbers:
    """Return the numbers of the finer of two solutions, and how far they may be off."""
    own, angle = own_frame(setup)
    if own.edge.offset_y_mm or own.edge.offset_z_mm:
        raise ValueError("the edge must lie on the axis")
    count, numbers = own.solve.modes + SPARE, []
    for order, cuts in fineness_of(own):
        solid = boxed(own, cuts) if straight(own) else glued(own)
        one, kinds = Solved(own, solid, order), motions(own)
        # Of each kind more than its share are asked for.
        found = [one.motion(kind, max(3, count // len(kinds) + 2)) for kind in kinds]
        frequency = np.sort(np.concatenate([f for f, _ in found]))[:count]
        numbers.append((frequency, 1e-3 * np.sum([c for _, c in found], axis=0)))
        print(f"  order {order}: {one.unknowns} unknowns, {solid.mesh.ne} cells", flush=True)
    (f0, c0), (f1, c1) = numbers
    cuts = [cut for _, cut in fineness_of(own)]
    part = PART_OF_ORDER if cuts[0] == cuts[1] else PART_OF_CUT
    turn = turn_about_bar(angle)
    last = turn @ c1 @ turn.T
    size = np.sqrt(np.diag(last))
    step = np.abs(turn @ (c1 - c0) @ turn.T) / np.outer(size, size)
    return Numbers(
        frequency_hz=f1,
        frequency_error=np.maximum(part * np.abs(f1 - f0) / f1, LEAST),
        compliance=last,
        compliance_error=np.maximum(part * step, 2 * LEAST),
    )


def main() -> None:
    """Solve the set-ups of a file anew, and write what comes out into it."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("file", type=Path)
    path = parser.parse_args().file
    told = json.loads(path.read_text(encoding="utf-8"))
    for one in told["set-ups"]:
        if one["by"] == "NGSolve":
            setup = parse_setup(one["text"]).setup
            found = high_order(setup)
            one["order, cuts"] = fineness_of(setup)[-1]
            one |= {name: array.tolist() for name, array in vars(found).items()}
    path.write_text(json.dumps(told, indent=1) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
