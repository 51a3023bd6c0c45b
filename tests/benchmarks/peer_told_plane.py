"""NGSolve's modes and compliance of a body of revolution: a Fourier series round the axis, plane problems.

Each term of the series is a problem over place along the axis (the library's x) and radius (its y), in cells
of high order that are drawn together by the library's own refinement at every corner where stress is
singular or jumps. So wraps, tubes, steps, beds and edges far from the axis are judged to a millionth, where
solid cells know a thousandth. Of ours only sizes and stiffnesses are read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import pairwise

import ngsolve as ng
import numpy as np
from finer_solution import Numbers
from netgen import occ
from ngsolve_bars import NEAR, STIFF, lengths_of
from numpy.typing import NDArray
from peer_told_ngsolve import HEAVY, MPA, TONNE
from scipy.sparse import csc_matrix, csr_matrix, diags
from scipy.sparse.linalg import LinearOperator, eigsh, splu

from stickout.fem.setup.parts import Setup
from stickout.fem.solid.modes import SPARE

FloatArray = NDArray[np.float64]
# Order of the cells and cuts toward corners; what the second changes tells the doubt.
RUNGS = ((6, 6), (7, 7))
PART, LEAST = 0.5, 2e-7
# Largest cell over the radius or the wall; the share of a cut; how fast cells grow.
SIZE, SHARE, GRADING = 0.6, 0.15, 0.6
# Orders of the series are added until the lowest of one rings above the modes wanted, so many at most.
MOST_ORDERS = 40
_TWICE = (2, 2, 2, 1, 1, 1)


@dataclass(frozen=True)
class Stretch:
    """A length of the bar [mm]: where it starts and stops, its rings as (inner, outer, material)."""

    start: float
    stop: float
    rings: Sequence[tuple[float, float, str]]

    @property
    def radii(self) -> set[float]:
        """Return the radii that bound its rings."""
        return {r for ring in self.rings for r in ring[:2]}


def stretches(setup: Setup) -> Iterator[Stretch]:
    """Yield the lengths of one make."""
    wrap, tip = setup.wrap, setup.bar.overhang_mm
    end = 0.0 if wrap is None else min(wrap.start_mm + wrap.length_mm, tip)
    cuts = {0.0} | (set() if wrap is None else {wrap.start_mm, end})
    for start, stop, sizes in lengths_of(setup):
        places = sorted({start, stop} | {x for x in cuts if start + NEAR < x < stop - NEAR})
        for a, b in pairwise(places):
            rings = [(sizes.bore / 2, sizes.diameter / 2, "bar")]
            if wrap is not None and wrap.start_mm - NEAR < a and b < end + NEAR:
                rings.append((sizes.diameter / 2, sizes.diameter / 2 + wrap.thickness_mm, "wrap"))
            yield Stretch(a, b, rings)


def corners(lengths: Sequence[Stretch], *, rigid: bool) -> set[tuple[float, float]]:
    """Return the corners (x, r) where stress is singular or jumps."""
    hot = {(lengths[-1].stop, r) for r in lengths[-1].radii}
    if rigid:
        hot |= {(0.0, r) for r in lengths[0].radii}
    for one in (o for o in lengths if not rigid and o.stop < NEAR):
        hot |= {(x, max(one.radii)) for x in (one.start, one.stop)}
    for one, other in pairwise(lengths):
        if list(one.rings) != list(other.rings):
            hot |= {(one.stop, r) for r in one.radii | other.radii}
    return {_rounded(x, r) for x, r in hot if r > 0}


def _rounded(x: float, r: float) -> tuple[float, float]:
    return round(x, 6), round(r, 6)


def plane_mesh(setup: Setup, cuts: int) -> ng.Mesh:
    """Return the mesh over axis and radius, its boundaries named axis, root, end, bed or free."""
    lengths, rigid = list(stretches(setup)), setup.grip.style == "rigid"
    faces = []
    for one in lengths:
        for inner, outer, name in one.rings:
            axes = occ.Axes((one.start, inner, 0), n=occ.Z, h=occ.X)
            face = occ.WorkPlane(axes).Rectangle(one.stop - one.start, outer - inner).Face()
            face.name, face.maxh = name, SIZE * (outer - inner if name == "wrap" else outer)
            faces.append(face)
    glued = occ.Glue(faces) if len(faces) > 1 else faces[0]
    bedded = [] if rigid else [one for one in lengths if one.stop < NEAR]
    for edge in glued.edges:
        low, high = edge.bounding_box
        flat, upright = high.y - low.y < NEAR, high.x - low.x < NEAR
        tests = {
            "axis": high.y < NEAR,
            "root": rigid and high.x < NEAR,
            "end": upright and abs(low.x - lengths[-1].stop) < NEAR,
            "bed": flat and high.x < NEAR and any(abs(max(o.radii) - high.y) < NEAR for o in bedded),
        }
        edge.name = next((name for name, met in tests.items() if met), "free")
    hot = corners(lengths, rigid=rigid)
    for vertex in glued.vertices:
        if _rounded(vertex.p.x, vertex.p.y) in hot:
            vertex.hpref = 1
    widest = max(r for one in lengths for r in one.radii)
    mesh = ng.Mesh(occ.OCCGeometry(glued, dim=2).GenerateMesh(maxh=2 * SIZE * widest, grading=GRADING))
    mesh.RefineHP(cuts, factor=SHARE)
    return mesh


class Term:
    """One term of the series: u_r = U cos nt, u_t = V sin nt, u_x = W cos nt.

    Parameters
    ----------
    setup, mesh
        The set-up and its mesh.
    order
        Of the cells.
    n
        Number of the term.
    parts
        Which of U, V and W there are: twist and stretch part in the term of number 0.
    """

    def __init__(self, setup: Setup, mesh: ng.Mesh, order: int, *, n: int, parts: str) -> None:
        self._setup, self._mesh, self._n, self._parts = setup, mesh, n, parts
        # What may differ from zero on the axis: a sideways shift, here U - V, and a stretch.
        loose = [(n == 1 and p == "U") or (n == 0 and p == "W") for p in parts]
        spaces = [ng.H1(mesh, order=order, dirichlet="root" if one else "root|axis") for one in loose]
        self._space = ng.FESpace(spaces)
        self._factor = 2 * np.pi if n == 0 else np.pi
        self._assemble()

    def _fields(self, proxies: Sequence[ng.CoefficientFunction]) -> list[ng.CoefficientFunction]:
        """Return value, slope along and slope outward of U, V, W, then U + n V as it stands in strains."""
        zero = (ng.CF(0.0), ng.CF(0.0), ng.CF(0.0))
        given = {p: (u, ng.grad(u)[0], ng.grad(u)[1]) for p, u in zip(self._parts, proxies, strict=True)}
        u, v, w = (given.get(part, zero) for part in "UVW")
        if self._n != 1:
            return [u, v, w, u[0] + self._n * v[0]]
        # The unknowns are then U - V and U + V, of which the second is nothing on the axis.
        less, total = u, v
        u, v = (tuple((b + s * a) / 2 for a, b in zip(less, total, strict=True)) for s in (1, -1))
        return [u, v, w, total[0]]

    def _assemble(self) -> None:
        setup, r, n = self._setup, ng.y, self._n
        trial, test = self._space.TnT()
        one, other = self._fields(trial), self._fields(test)

        def by_material(of: str, times: float) -> ng.CoefficientFunction:
            each = {name: getattr(one, of).likely * times for name, one in setup.materials.items()}
            return self._mesh.MaterialCF(each)

        young, poisson = by_material("youngs_modulus", MPA), by_material("poisson_ratio", 1.0)
        mu = young / (2 * (1 + poisson))
        lame = 2 * mu * poisson / (1 - 2 * poisson)

        def strains(fields: Sequence[ng.CoefficientFunction]) -> list[ng.CoefficientFunction]:
            u, v, w, hoop = fields
            # V' - (V + n U) / r: of the first term V + U is the unknown that vanishes on the axis.
            across = v[2] - (hoop if n == 1 else v[0] + n * u[0]) / r
            return [u[2], hoop / r, w[1], across, v[1] - n * w[0] / r, u[1] + w[2]]

        a, b = strains(one), strains(other)
        energy = lame * (a[0] + a[1] + a[2]) * (b[0] + b[1] + b[2])
        energy += mu * sum((k * x * y for k, x, y in zip(_TWICE, a, b, strict=True)), ng.CF(0.0))
        moved = [x[0] * y[0] for x, y in zip(one[:3], other[:3], strict=True)]
        stiff, heavy = ng.BilinearForm(self._space), ng.BilinearForm(self._space)
        stiff += (self._factor * r * energy).Compile() * ng.dx(bonus_intorder=3)
        heavy += (self._factor * r * by_material("density", HEAVY) * sum(moved, ng.CF(0.0))).Compile() * ng.dx
        if setup.grip.style == "bed":
            faces = next(iter(setup.grip.touching(shimmed=False))).faces
            normal = faces.normal_n_per_um_mm2.likely * STIFF
            shear = normal * faces.shear_ratio.likely
            layer = normal * moved[0] + shear * (moved[1] + moved[2])
            stiff += (self._factor * r * layer).Compile() * ng.ds("bed")
        self._free = np.array(list(self._space.FreeDofs()))
        stiffness = self._matrix(stiff)
        self._scale = 1 / np.sqrt(stiffness.diagonal())
        self._test = other[:3]
        even = diags(self._scale)
        self.mass = csc_matrix(even @ self._matrix(heavy) @ even)
        settings = {"diag_pivot_thresh": 0.0, "options": {"SymmetricMode": True}}
        self._lu = splu(csc_matrix(even @ stiffness @ even), "MMD_AT_PLUS_A", **settings)

    def _matrix(self, form: ng.BilinearForm) -> csr_matrix:
        rows, columns, values = form.Assemble().mat.COO()
        size = (self._space.ndof, self._space.ndof)
        whole = csr_matrix((np.array(values), (np.array(rows), np.array(columns))), shape=size)
        own = whole[self._free][:, self._free]
        return (own + own.T) / 2

    @property
    def size(self) -> int:
        """Return how many unknowns there are."""
        return len(self._scale)

    def solve(self, load: FloatArray) -> FloatArray:
        """Return the answer to a load."""
        return np.asarray(self._lu.solve(load.ravel()))

    @cached_property
    def face(self) -> tuple[FloatArray, FloatArray]:
        """Return the end face's mean motion from the unknowns: sideways and tilted, or along and turned."""
        rings = list(stretches(self._setup))[-1].rings
        inner, outer = rings[0][0], rings[-1][1]
        area, second = np.pi * (outer**2 - inner**2), np.pi * (outer**4 - inner**4) / 4
        u, v, w = (field[0] for field in self._test)
        if self._n:
            return self._row(np.pi * ng.y * (u - v) / area), self._row(np.pi * ng.y**2 * w / second)
        return self._row(2 * np.pi * ng.y * w / area), self._row(np.pi * ng.y**2 * v / second)

    def _row(self, form: ng.CoefficientFunction) -> FloatArray:
        row = ng.LinearForm(self._space)
        row += form * ng.ds("end", bonus_intorder=4)
        return np.array(row.Assemble().vec.FV().NumPy())[self._free] * self._scale


def _lowest(
    terms: Sequence[Term], count: int, *, edge: FloatArray | None = None, mass: float = 0.0
) -> FloatArray:
    """Return the lowest eigenvalues [1/s^2] of terms together, a mass [t] riding on rows of the edge."""
    ends = np.cumsum([0, *[t.size for t in terms]])
    spans = [slice(a, b) for a, b in pairwise(ends)]

    def heavy(x: FloatArray) -> FloatArray:
        x = x.ravel()
        out = np.concatenate([t.mass @ x[own] for t, own in zip(terms, spans, strict=True)])
        return out if edge is None else out + mass * (edge.T @ (edge @ x))

    def inverse(x: FloatArray) -> FloatArray:
        x = x.ravel()
        return np.concatenate([t.solve(x[own]) for t, own in zip(terms, spans, strict=True)])

    n = int(ends[-1])
    count = min(count, n - 2)
    times, back = (LinearOperator((n, n), one, dtype=float) for one in (heavy, inverse))
    start = inverse(np.random.default_rng(0).standard_normal(n))
    settings = {"M": times, "sigma": 0.0, "OPinv": back, "v0": start, "tol": 1e-10, "ncv": 3 * count + 10}
    return np.asarray(eigsh(times, count, return_eigenvectors=False, **settings))


def solved(setup: Setup, order: int, cuts: int) -> tuple[FloatArray, FloatArray]:
    """Return the lowest frequencies [Hz] and the compliance [m/N] in cells of one order."""
    mesh, count = plane_mesh(setup, cuts), setup.solve.modes + SPARE
    bend, twist, stretch = (
        Term(setup, mesh, order, n=n, parts=parts) for n, parts in ((1, "UVW"), (0, "V"), (0, "UW"))
    )
    terms = [stretch, twist, bend, bend]
    edge = _edge(setup, terms)
    answers = [np.concatenate([t.solve(part) for t, part in zip(terms, row, strict=True)]) for row in edge]
    rows = np.stack([np.concatenate(row) for row in edge])
    compliance = 1e-3 * rows @ np.stack(answers).T
    # All four together: sideways and upward bending come as equal pairs of their own.
    values = _lowest(terms, count, edge=rows, mass=setup.edge.mass_g * TONNE)
    before = np.inf
    for n in range(2, MOST_ORDERS):
        own = _lowest([Term(setup, mesh, order, n=n, parts="UVW")], max(2, count // 2))
        highest = np.sort(values)[count - 1]
        values = np.concatenate([values, own, own])
        # Thin walls ring lowest in a term of some waves, not in the second.
        if own.min() > max(highest, before):
            break
        before = own.min()
    return np.sqrt(np.sort(values)[:count]) / (2 * np.pi), compliance


def _edge(setup: Setup, terms: Sequence[Term]) -> list[list[FloatArray]]:
    """Return how the edge moves along x, y and z from the unknowns of stretch, twist and both bendings."""
    one = setup.edge
    lever, y, z = -one.end_distance_mm, one.offset_y_mm, one.offset_z_mm
    stretch, twist, bend, _ = terms
    (along, _), (_, turned), (aside, tilted) = stretch.face, twist.face, bend.face
    none = [np.zeros(t.size) for t in terms]
    # A tilted face moves along x by tilt times y: it turns about -z, and carries the edge by its lever.
    return [
        [along, none[1], tilted * y, tilted * z],
        [none[0], -turned * z, aside - tilted * lever, none[3]],
        [none[0], turned * y, none[2], aside - tilted * lever],
    ]


def in_plane(setup: Setup, rungs: Sequence[tuple[int, int]] = RUNGS) -> Numbers:
    """Return the numbers of the last of two orders, and how far they may be off."""
    (f0, c0), (f1, c1) = (solved(setup, order, cuts) for order, cuts in rungs)
    size = np.sqrt(np.diag(c1))
    return Numbers(
        frequency_hz=f1,
        frequency_error=np.maximum(PART * np.abs(f1 / f0 - 1), LEAST),
        compliance=c1,
        compliance_error=np.maximum(PART * np.abs(c1 - c0) / np.outer(size, size), LEAST),
    )
