"""The mesh of a held bar: bar, gripped part, shim and bonded wrap, with names for cells and faces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from meshes.errors import InputError
from meshes.outlines import Outline
from meshes.parts import Bar, Edge, Hold, Shim, Wrap
from meshes.sections import CoarseError, Section, grid_section, polar_section
from meshes.sweep import Swept, outer_edges, side_facets, stations, sweep
from meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

MM = 1e-3
ROUND_KINDS = ("round", "tube", "flatted")


@dataclass(frozen=True)
class Fineness:
    """How fine a mesh is, in terms of the bar's own depth, so that it scales with the bar.

    Attributes
    ----------
    around
        Cells in a quadrant of a round section, or across the smaller side of a rectangle.
    rings
        Cells from the inner block of a round section to its skin.
    skin
        Thickness of the cells at the skin over the depth.
    longest
        Greatest length of a layer over the depth.
    first
        Length of the layers that touch a hot station over the depth.
    ratio
        Growth of layers and cells away from where they are crowded.
    """

    around: int = 2
    rings: int = 1
    skin: float = 0.11
    longest: float = 0.5
    first: float = 0.05
    ratio: float = 2.0


@dataclass(frozen=True)
class Piece:
    """A length of bar of one size: from ``start`` to ``stop`` [m], its outline and its bore's."""

    start: float
    stop: float
    outline: Outline
    bore: Outline | None = None


def bar_mesh(
    bar: Bar,
    *,
    hold: Hold | None = None,
    edge: Edge | None = None,
    shim: Shim | None = None,
    wrap: Wrap | None = None,
    fineness: Fineness | None = None,
) -> TaggedMesh:
    """Return the mesh of a held bar.

    Parameters
    ----------
    bar
        The bar; what lies behind the holder face is meshed unless it is held rigidly.
    hold
        How the holder takes hold, as far as the mesh must know; rigid when None.
    edge
        Where the cutting force acts; the middle of the end face when None.
    shim
        A layer under the gripped length of a square or rectangular bar.
    wrap
        A bonded layer round a round or tubular bar; a loose one is no part of the mesh.
    fineness
        How fine; the coarsest useful mesh when None.

    Returns
    -------
    TaggedMesh
        Regions ``bar``, and where they exist ``grip``, ``shim``, ``wrap``; patches ``end`` and, by the
        way of holding, ``root``, ``floor`` and ``screws``, or ``bed``.

    Raises
    ------
    InputError
        Sizes that no mesh can be made of.
    """
    hold = hold or Hold("rigid")
    edge = edge or Edge()
    fineness = fineness or Fineness()
    pieces = pieces_of(bar, hold)
    wound = [] if wrap is None or wrap.bond != "bonded" else _wound(pieces, wrap)
    section, masks = _section(bar, pieces, wound, shim, fineness)
    at = _stations(pieces, wound, hold, fineness, _depth(pieces))
    middle = (at[1:] + at[:-1]) / 2
    present = np.zeros((len(middle), len(section.cells)), dtype=bool)
    name = np.full(present.shape, "", dtype=object)
    for piece, mask, region in _layers(pieces, wound, masks, shim):
        rows = (middle > piece.start) & (middle < piece.stop)
        name[np.ix_(rows, mask)] = region
    present = name != ""
    if bar.section in ROUND_KINDS or _quarter_turns(bar) is None:
        section = _turned(section, np.deg2rad(bar.rotation_deg))
    swept = sweep(section, at, present)
    labels = name[swept.layer, swept.section_cell]
    regions = {str(r): np.flatnonzero(labels == r) for r in dict.fromkeys(labels.tolist())}
    return TaggedMesh(
        points=swept.points,
        cells=swept.cells,
        regions=regions,
        patches=_patches(section, swept, present, hold, at, name),
        edge=np.array([bar.overhang_mm - edge.end_distance_mm, edge.offset_y_mm, edge.offset_z_mm]) * MM,
        family=swept.section_cell,
    )


def pieces_of(bar: Bar, hold: Hold) -> list[Piece]:
    """Return the lengths of equal size along the bar [m], a step of equal size melted into its neighbour."""
    starts = [-bar.gripped_mm if hold.style != "rigid" else 0.0, *[s.start_mm for s in bar.steps]]
    stops = [*starts[1:], bar.overhang_mm]
    pieces: list[Piece] = []
    size = bar
    for number, (start, stop) in enumerate(zip(starts, stops, strict=True)):
        if number:
            step = bar.steps[number - 1]
            given = {k: v for k, v in vars(step).items() if k != "start_mm" and v is not None}
            size = replace(size, **given)
        outline, bore = outlines_of(size)
        if pieces and (pieces[-1].outline, pieces[-1].bore) == (outline, bore):
            pieces[-1] = replace(pieces[-1], stop=stop * MM)
        else:
            pieces.append(Piece(start * MM, stop * MM, outline, bore))
    return pieces


def outlines_of(bar: Bar) -> tuple[Outline, Outline | None]:
    """Return the outline of a bar's section and of its bore [m].

    Raises
    ------
    InputError
        The section is unknown or a size it needs is missing.
    """
    def size(key: str) -> float:
        value = getattr(bar, key)
        if value is None:
            raise InputError(
                key=f"bar.{key}", given=None, allowed=f"a length in mm for a {bar.section} bar",
                mend=f"Give {key}.",
            )  # fmt: skip
        return float(value) * MM

    if bar.section == "round":
        return Outline(radius=size("diameter_mm") / 2), None
    if bar.section == "tube":
        return Outline(radius=size("diameter_mm") / 2), Outline(radius=size("bore_mm") / 2) if bar.bore_mm else None
    if bar.section == "flatted":
        radius, half = size("diameter_mm") / 2, size("across_flats_mm") / 2
        return (Outline(radius=radius, half_height=half) if half < radius else Outline(radius=radius)), None
    if bar.section not in ("square", "rectangle"):
        raise InputError(
            key="bar.section", given=bar.section, allowed="round, tube, square, rectangle or flatted",
            mend="Choose the nearest of these.",
        )  # fmt: skip
    width = size("width_mm") / 2
    height = width if bar.section == "square" else size("height_mm") / 2
    turns = _quarter_turns(bar)
    return Outline(half_width=width, half_height=height) if not (turns or 0) % 2 else Outline(
        half_width=height, half_height=width
    ), None


def _quarter_turns(bar: Bar) -> int | None:
    """Return the number of quarter turns the section makes, None when it is turned by another angle."""
    turns = bar.rotation_deg / 90
    return round(turns) if abs(turns - round(turns)) < 1e-9 else None


def _depth(pieces: Sequence[Piece]) -> float:
    """Return the least height or width among the pieces: the length that the mesh is scaled by."""
    return min(min(2 * p.outline.reach(np.array([0.0, np.pi / 2]))) for p in pieces)


def _wound(pieces: Sequence[Piece], wrap: Wrap) -> list[Piece]:
    """Return the annular pieces of a bonded wrap: outline outside, the bar's own outline as bore."""
    start, stop = wrap.start_mm * MM, (wrap.start_mm + wrap.length_mm) * MM
    return [
        Piece(
            max(start, p.start), min(stop, p.stop),
            Outline(radius=p.outline.radius + wrap.thickness_mm * MM), p.outline,
        )
        for p in pieces
        if p.start < stop and p.stop > start
    ]  # fmt: skip


def _layers(
    pieces: Sequence[Piece], wound: Sequence[Piece], masks: dict[Piece, BoolArray], shim: Shim | None
) -> list[tuple[Piece, BoolArray, str]]:
    """Return what is present where: a piece, its section cells, its region."""
    out = []
    for piece in pieces:
        if piece.start < 0:
            out.append((replace(piece, stop=0.0), masks[piece], "grip"))
        out.append((replace(piece, start=max(piece.start, 0.0)), masks[piece], "bar"))
    if shim is not None:
        under = replace(pieces[0], stop=0.0)
        out.append((under, masks[under], "shim"))
    out.extend((piece, masks[piece], "wrap") for piece in wound)
    return out


def _section(
    bar: Bar, pieces: Sequence[Piece], wound: Sequence[Piece], shim: Shim | None, fineness: Fineness
) -> tuple[Section, dict[Piece, BoolArray]]:
    """Return one section mesh that holds the lines of every piece, and the cells of each piece."""
    if bar.section in ROUND_KINDS:
        return _polar(pieces, wound, fineness)
    return _grid(pieces, shim, fineness)


def _polar(
    pieces: Sequence[Piece], wound: Sequence[Piece], fineness: Fineness
) -> tuple[Section, dict[Piece, BoolArray]]:
    everything = [*pieces, *wound]
    found = {o for p in everything for o in (p.outline, p.bore) if o is not None}
    rays = np.linspace(0, np.pi / 2, 181)
    order = sorted(found, key=lambda o: float(o.reach(rays).sum()))
    solid = any(p.bore is None for p in pieces)
    skin = fineness.skin * _depth(pieces)
    gaps = [float((b.reach(rays) - a.reach(rays)).max()) for a, b in zip(order[:-1], order[1:], strict=True)]
    rings = [_ring_lines(gap, skin, fineness) for gap in gaps]
    core = 1.0
    if solid:
        shells = skin * fineness.ratio ** np.arange(fineness.rings)[::-1]
        core = max(0.4, 1 - shells.sum() / order[0].reach(rays).min())
        rings.insert(0, np.concatenate([[0.0], np.cumsum(shells) / shells.sum()]))
    section = None
    for around in range(fineness.around, fineness.around + 12):
        try:
            section = polar_section(order, solid=solid, around=around, rings=rings, core=core)
        except CoarseError:
            continue
        break
    if section is None:
        raise InputError(
            key="bar.steps", given=f"{len(order)} unlike outlines", allowed="outlines that are a little further apart",
            mend="Leave out steps or flats that differ by less than a few hundredths of the diameter.",
        )  # fmt: skip
    rank = {o: n for n, o in enumerate(order)}
    masks = {
        p: (section.layer <= rank[p.outline]) & (section.layer > (-1 if p.bore is None else rank[p.bore]))
        for p in everything
    }
    return section, masks


def _ring_lines(gap: float, skin: float, fineness: Fineness) -> FloatArray:
    """Return where the lines between two outlines lie, 0 to 1, crowded toward the outer one."""
    sizes = {"longest": skin * fineness.ratio ** (fineness.rings + 1), "first": skin, "ratio": fineness.ratio}
    return stations([0.0, gap], [gap], **sizes) / gap


def _grid(pieces: Sequence[Piece], shim: Shim | None, fineness: Fineness) -> tuple[Section, dict[Piece, BoolArray]]:
    depth = _depth(pieces)
    size, skin = depth / fineness.around, depth * fineness.skin
    wide = sorted({s * p.outline.half_width for p in pieces for s in (-1, 1)})
    high = sorted({s * p.outline.half_height for p in pieces for s in (-1, 1)})
    base = pieces[0].outline
    if shim is not None:
        high = sorted({*high, -base.half_height - shim.thickness_mm * MM})
    y = stations(wide, wide, longest=size, first=skin, ratio=fineness.ratio)
    z = stations(high, high, longest=size, first=skin, ratio=fineness.ratio)
    section = grid_section(y, z)
    centre = section.points[section.cells[:, :4]].mean(axis=1)
    masks = {}
    for p in pieces:
        masks[p] = (np.abs(centre[:, 0]) < p.outline.half_width) & (np.abs(centre[:, 1]) < p.outline.half_height)
    if shim is not None:
        masks[replace(pieces[0], stop=0.0)] = (np.abs(centre[:, 0]) < base.half_width) & (
            (centre[:, 1] < -base.half_height) & (centre[:, 1] > -base.half_height - shim.thickness_mm * MM)
        )
    return section, masks


def _stations(
    pieces: Sequence[Piece], wound: Sequence[Piece], hold: Hold, fineness: Fineness, depth: float
) -> FloatArray:
    """Return the stations along the bar, crowded where the stress is singular."""
    ends = {pieces[0].start, pieces[-1].stop}
    steps = {p.start for p in pieces[1:]} | {x for p in wound for x in (p.start, p.stop)}
    pressed = {-x * MM for x in hold.pressed_mm} if hold.pressed_mm else set()
    hot = ({0.0} | steps | pressed) - {pieces[-1].stop}
    breaks = sorted(ends | hot)
    return stations(breaks, sorted(hot), longest=fineness.longest * depth, first=fineness.first * depth, ratio=fineness.ratio)


def _turned(section: Section, angle: float) -> Section:
    """Return the section turned about +x by the right-hand rule."""
    c, s = np.cos(angle), np.sin(angle)
    return replace(section, points=section.points @ np.array([[c, s], [-s, c]]))


def _patches(
    section: Section, swept: Swept, present: BoolArray, hold: Hold, at: FloatArray, name: BoolArray
) -> dict[str, IntArray]:
    """Return the facets of each patch."""
    patches = {"end": swept.node[-1][section.cells[present[-1]]]}
    if hold.style == "rigid":
        facing_back = [0, 3, 2, 1, 7, 6, 5, 4]
        patches["root"] = swept.node[0][section.cells[present[0]]][:, facing_back]
        return patches
    gripped = at[1:] <= 1e-12
    rows = present & gripped[:, None]
    outside = outer_edges(section, rows.any(axis=0))
    if hold.style == "bed":
        patches["bed"] = side_facets(section, swept, rows, outside)
        return patches
    normal = _normals(section, outside)
    low, high = outside[normal[:, 1] < -0.999], outside[normal[:, 1] > 0.999]
    deep, near = hold.pressed_mm[::-1] if hold.pressed_mm else (-at[0] / MM, 0.0)
    middle = (at[1:] + at[:-1]) / 2
    under_screws = rows & ((middle > -deep * MM) & (middle < -near * MM))[:, None]
    patches["floor"] = side_facets(section, swept, rows, low)
    patches["screws"] = side_facets(section, swept, under_screws, high)
    return patches


def _normals(section: Section, edges: IntArray) -> FloatArray:
    """Return the outward normals of section edges, shape (n_edges, 2)."""
    cell, side = edges.T
    along = section.points[section.cells[cell, (side + 1) % 4]] - section.points[section.cells[cell, side]]
    normal: FloatArray = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.linalg.norm(along, axis=1)[:, None]
    return normal
