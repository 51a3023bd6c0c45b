"""Meshes of NGSolve for set-ups: bars of every section, wraps, shims, what holds them, written anew.

Of ours only sizes and stiffnesses are read, and the names of what is held. A bar is cut along the planes in
which it is its own mirror image, and cells are drawn together by the library's own refinement at every edge
where stress is singular, 0.15 of the length a time. Not meshed: a loose wrap, blocks, centres, a post.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import ngsolve as ng
from netgen import occ

from stickout.fem.setup.parts import Setup
from stickout.fem.study.study import held_softly

# Largest cell over the depth, cuts toward singular edges and their share, how fast cells grow.
SIZE, CUTS, SHARE, GRADING = 0.6, 3, 0.15, 0.8
# Where springs hold it softly, pressure jumps at an edge, and no stress is singular.
SOFT_CUTS = 1
# Longest cell along an arc over the arc's own height. Shorter ones are curved worse by the library.
ARC = 1.0
NEAR = 1e-6
# From N/um/mm^2 to N/mm^3.
STIFF = 1e3


@dataclass(frozen=True)
class Sizes:
    """Diameter and bore of a length of bar, or its width and height [mm]; 0 where it has none."""

    diameter: float = 0.0
    bore: float = 0.0
    width: float = 0.0
    height: float = 0.0
    flats: float = 0.0

    @property
    def low(self) -> float:
        """Return the place of its lowest flat face [mm]."""
        return -(self.height or self.flats) / 2

    def solid(self, start: float, stop: float) -> occ.TopoDS_Shape:
        """Return the length between two places along the bar."""
        if self.width:
            return _box((start, stop), (-self.width / 2, self.width / 2), (self.low, -self.low))
        out = _rod(start, stop, self.diameter)
        if self.bore:
            out = out - _rod(start, stop, self.bore)
        if self.flats:
            out = out * _box((start - 1, stop + 1), (-self.diameter, self.diameter), (self.low, -self.low))
        return out


def _box(x: Sequence[float], y: Sequence[float], z: Sequence[float]) -> occ.TopoDS_Shape:
    return occ.Box(occ.Pnt(x[0], y[0], z[0]), occ.Pnt(x[1], y[1], z[1]))


def _rod(start: float, stop: float, diameter: float) -> occ.TopoDS_Shape:
    return occ.Cylinder(occ.Pnt(start, 0, 0), occ.X, r=diameter / 2, h=stop - start)


def lengths_of(setup: Setup) -> Iterator[tuple[float, float, Sizes]]:
    """Yield the lengths of equal size."""
    bar = setup.bar
    begin = 0.0 if setup.grip.style == "rigid" else -bar.gripped_mm
    stops = [*[one.start_mm for one in bar.steps], bar.overhang_mm]
    for number, (start, stop) in enumerate(pairwise([begin, *stops])):
        one = bar.steps[number - 1] if number else bar
        if bar.section in ("square", "rectangle"):
            height = bar.width_mm if bar.section == "square" else bar.height_mm
            yield start, stop, Sizes(width=bar.width_mm, height=height)
        else:
            bore = bar.bore_mm if bar.section == "tube" else 0.0
            flats = bar.across_flats_mm if bar.section == "flatted" else 0.0
            yield start, stop, Sizes(one.diameter_mm, bore, flats=flats)


def _parts(setup: Setup) -> list[occ.TopoDS_Shape]:
    """Return the solids, named by material, cut where something begins or ends."""
    lengths = list(lengths_of(setup))
    wrap, tip = setup.wrap, setup.bar.overhang_mm
    cuts = {0.0} if setup.grip.style != "rigid" else set()
    if wrap is not None:
        cuts |= {wrap.start_mm, min(wrap.start_mm + wrap.length_mm, tip)}
    out = []
    for start, stop, sizes in lengths:
        places = sorted({start, stop} | {x for x in cuts if start + NEAR < x < stop - NEAR})
        for a, b in pairwise(places):
            out.append(("bar", sizes.solid(a, b)))
            if wrap is not None and wrap.start_mm - NEAR < a and b < wrap.start_mm + wrap.length_mm + NEAR:
                skin = _rod(a, b, sizes.diameter + 2 * wrap.thickness_mm) - _rod(a, b, sizes.diameter)
                out.append(("wrap", skin))
    start, _, sizes = lengths[0]
    if setup.shim is not None:
        sides, low = (-sizes.width / 2, sizes.width / 2), sizes.low
        out.append(("shim", _box((start, 0.0), sides, (low - setup.shim.thickness_mm, low))))
    for name, solid in out:
        solid.mat(name)
    return [solid for _, solid in out]


def pressed(setup: Setup) -> Iterator[tuple[float, float, float]]:
    """Yield what is pressed from above [mm]: start, stop, half its width, 0 for all of it."""
    hold = setup.grip.hold
    for middle in hold.screws_mm:
        yield -middle - hold.screw_side_mm / 2, -middle + hold.screw_side_mm / 2, hold.screw_side_mm / 2
    if setup.grip.style == "held":
        near, far = hold.pressed_mm or (0.0, setup.bar.gripped_mm)
        yield -far, -near, 0.0


def _patches(setup: Setup) -> Iterator[occ.TopoDS_Shape]:
    """Yield what is pressed as faces on the top, which part it."""
    _, _, sizes = next(lengths_of(setup))
    for start, stop, half in pressed(setup):
        wide = half or sizes.width / 2
        axes = occ.Axes((start, 0, -sizes.low), n=occ.Z, h=occ.X)
        yield occ.WorkPlane(axes).Rectangle(stop - start, wide).Face()


@dataclass(frozen=True)
class Solid:
    """The glued solids, meshed, with what is held and what stands on springs [N/mm^3], by face name."""

    mesh: ng.Mesh
    held: str
    springs: dict[str, tuple[float, float]]
    apart: bool


def glued(setup: Setup) -> Solid:
    """Return the mesh of a set-up."""
    far = 1e3
    kept = _box((-far, far), (0, far), (0 if quartered(setup) else -far, far))
    parts = [one * kept for one in _parts(setup)] + list(_patches(setup))
    solid = parts[0] if len(parts) == 1 else occ.Glue(parts)
    springs = springs_of(setup)
    _name_faces(setup, solid)
    depth = min(max(s.diameter, s.height) for _, _, s in lengths_of(setup))
    options = {"parallel_meshing": False, "grading": GRADING, "curvaturesafety": 1.0, "segmentsperedge": 1.0}
    mesh = ng.Mesh(occ.OCCGeometry(solid).GenerateMesh(maxh=SIZE * depth, closeedgefac=None, **options))
    mesh.RefineHP(SOFT_CUTS if held_softly(setup) else CUTS, factor=SHARE)
    return Solid(mesh, "|".join(setup.grip.held_still), springs, "bar on shim" in springs)


def springs_of(setup: Setup) -> dict[str, tuple[float, float]]:
    """Return the springs [N/mm^3] of every face that stands on some: across it, and along it."""
    touches = setup.grip.touching(shimmed=setup.shim is not None)
    return {
        one.patch: (
            one.faces.normal_n_per_um_mm2.likely * STIFF,
            one.faces.normal_n_per_um_mm2.likely * STIFF * one.faces.shear_ratio.likely,
        )
        for one in touches
    }


def _name_faces(setup: Setup, solid: occ.TopoDS_Shape) -> None:
    """Name the faces as the set-up's grip does, and mark the edges toward which cells are drawn."""
    hot = [x for x, _, _ in list(lengths_of(setup))[1:]]
    if setup.wrap is not None:
        hot += [setup.wrap.start_mm, min(setup.wrap.start_mm + setup.wrap.length_mm, setup.bar.overhang_mm)]
    for face in solid.faces:
        face.name = _name_of(setup, *face.bounding_box)
        marked = face.name in ("root", "bed", "floor", "screws", "bar on shim")
        for edge in face.edges:
            a, b = edge.bounding_box
            if b.y - a.y > NEAR and b.z - a.z > NEAR:
                edge.maxh = ARC * (b.z - a.z)
            in_hot = b.x - a.x < NEAR and any(abs(a.x - x) < NEAR for x in hot)
            seam = face.name == "bed" and b.x - a.x > NEAR
            if (marked and not seam) or in_hot:
                edge.hpref = 1


def _name_of(setup: Setup, low: occ.Pnt, high: occ.Pnt) -> str:
    """Return the name of a face by the corners of the box round it."""
    style, bottom = setup.grip.style, next(lengths_of(setup))[2].low
    shim = 0.0 if setup.shim is None else setup.shim.thickness_mm
    behind, flat_x, flat_z = high.x < NEAR, high.x - low.x < NEAR, high.z - low.z < NEAR

    def at(z: float) -> bool:
        return behind and flat_z and abs(low.z - z) < NEAR

    tests = {
        "across y": high.y < NEAR,
        "across z": high.z < NEAR and quartered(setup),
        "end": flat_x and abs(low.x - setup.bar.overhang_mm) < NEAR,
        "root": style == "rigid" and flat_x and abs(low.x) < NEAR,
        "bed": style == "bed" and not flat_x and behind,
        "floor": at(bottom - shim),
        "bar on shim": shim > 0 and at(bottom),
        "screws": at(-bottom) and _under(list(pressed(setup)), low, high),
    }
    return next((name for name, met in tests.items() if met), "free")


def _under(squares: Sequence[tuple[float, float, float]], low: occ.Pnt, high: occ.Pnt) -> bool:
    """Return whether a face lies under what presses."""
    inside = [a - NEAR < low.x and high.x < b + NEAR for a, b, _ in squares]
    narrow = [not half or (-half - NEAR < low.y and high.y < half + NEAR) for _, _, half in squares]
    return any(x and y for x, y in zip(inside, narrow, strict=True))


def quartered(setup: Setup) -> bool:
    """Return whether a set-up is its own mirror image in z too."""
    return setup.grip.style in ("rigid", "bed")
