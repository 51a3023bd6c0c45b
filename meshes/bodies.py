"""The parts that are swept side by side: the bar with its wrap, the shim, the block it is held in."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from stickout.meshes.errors import InputError
from stickout.meshes.joining import merged, slit
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Block, Hold, Shim
from stickout.meshes.pieces import MM, Fineness, Piece, depth_of
from stickout.meshes.rays import CoarseError, ray_angles
from stickout.meshes.sections import Section, grid_section, polar_section
from stickout.meshes.sweep import halved, stations
from stickout.meshes.tagged import BoolArray, FloatArray

# Outlines closer than this part of a skin's cell have one cell between them on every mesh: the least that
# any cell measures.
_SHALLOW = 0.25


@dataclass(frozen=True)
class Body:
    """A part with its own section mesh.

    Attributes
    ----------
    section
        The section mesh.
    lengths
        What is present where: start and stop [m], which section cells, name of the region.
    """

    section: Section
    lengths: Sequence[tuple[float, float, BoolArray, str]]


def round_body(pieces: Sequence[Piece], wound: Sequence[Piece], *, fineness: Fineness) -> Body:
    """Return a round, tubular or flatted bar with its wrap.

    Parameters
    ----------
    pieces
        Lengths of the bar.
    wound
        Annular lengths of a bonded wrap.
    fineness
        How fine.

    Raises
    ------
    InputError
        Outlines cross, or are too close to each other.
    """
    everything = [*pieces, *wound]
    found = {o for p in everything for o in (p.outline, p.bore) if o is not None}
    rays = np.linspace(0, np.pi / 2, 181)
    order = sorted(found, key=lambda o: float(o.reach(rays).sum()))
    solid = any(p.bore is None for p in pieces)
    skin = fineness.skin * depth_of(pieces)
    gaps = [float((b.reach(rays) - a.reach(rays)).max()) for a, b in pairwise(order)]
    rings = [_ring_lines(gap, skin, fineness) for gap in gaps]
    core = 1.0
    if solid:
        shells = skin * fineness.ratio ** np.arange(fineness.rings)[::-1]
        core = max(0.4, 1 - float(shells.sum() / order[0].reach(rays).min()))
        lines = np.concatenate([[0.0], np.cumsum(shells) / shells.sum()])
        rim = float(shells[-1] / shells.sum())
        lines = halved(lines, [1.0], fineness=fineness.by(2), first=rim, more=fineness.across)
        rings.insert(0, lines)

    def of_rays(around: int, halvings: int) -> Section:
        return polar_section(
            order, solid=solid, rays=ray_angles(order, around, halvings=halvings), rings=rings, core=core
        )

    section = _that_fits(of_rays, fineness.around, halvings=fineness.by(1).halvings, unlike=len(order))
    rank = {o: n for n, o in enumerate(order)}
    masks = {
        p: (section.layer <= rank[p.outline]) & (section.layer > (-1 if p.bore is None else rank[p.bore]))
        for p in everything
    }
    return Body(section, [*_named(pieces, masks), *[(p.start, p.stop, masks[p], "wrap") for p in wound]])


def flat_body(pieces: Sequence[Piece], hold: Hold, *, fineness: Fineness) -> Body:
    """Return a square or rectangular bar.

    Parameters
    ----------
    pieces
        Lengths of the bar.
    hold
        Screws on a slotted shank get lines round their patches.
    fineness
        How fine.
    """
    skin = depth_of(pieces) * fineness.skin
    wide = {s * p.outline.half_width for p in pieces for s in (-1, 1)}
    high = {s * p.outline.half_height for p in pieces for s in (-1, 1)}
    pad = {s * hold.screw_side_mm * MM / 2 for s in (-1, 1)} if hold.screws_mm else set()
    y, z = (
        _mirrored(
            {v for v in breaks if v > 0},
            {v for v in hot if v > 0},
            # A wide, thin section bends so gently across that fewer cells do.
            (float(np.sqrt(depth_of(pieces) * 2 * max(hot))) / fineness.around, skin),
            fineness.by(way),
        )
        for breaks, hot, way in ((wide | pad, wide, 1), (high, high, 2))
    )
    section = grid_section(y, z)
    centre = section.points[section.cells[:, :4]].mean(axis=1)
    masks = {
        p: (np.abs(centre[:, 0]) < p.outline.half_width) & (np.abs(centre[:, 1]) < p.outline.half_height)
        for p in pieces
    }
    return Body(section, _named(pieces, masks))


def shim_body(bar: Body, piece: Piece, *, shim: Shim, fineness: Fineness) -> Body:
    """Return the layer under the flat underside of the gripped length, its lines those of the bar.

    Parameters
    ----------
    bar
        The bar.
    piece
        The gripped length.
    shim
        Its thickness.
    fineness
        How fine.
    """
    low = -piece.outline.half_height
    corner = bar.section.points[np.unique(bar.section.cells[:, :4])]
    half = (
        np.sqrt(piece.outline.radius**2 - low**2)
        if np.isfinite(piece.outline.radius)
        else piece.outline.half_width
    )
    on_floor = (np.abs(corner[:, 1] - low) < 1e-9 * half) & (np.abs(corner[:, 0]) <= half * (1 + 1e-9))
    y = np.unique(np.round(corner[on_floor, 0], 12))
    thickness = shim.thickness_mm * MM
    depth = 2 * piece.outline.half_height
    skin = min(fineness.skin * depth, thickness)
    breaks = [low - thickness, low]
    z = stations(breaks, breaks, longest=depth / fineness.around, first=skin, ratio=fineness.ratio)
    z = halved(z, breaks, fineness=fineness.by(2), first=skin, more=fineness.across)
    section = grid_section(y, z)
    return Body(section, [(piece.start, 0.0, np.ones(len(section.cells), dtype=bool), "shim")])


def block_body(bar: Body, piece: Piece, *, block: Block, fineness: Fineness) -> Body:
    """Return the bored block round the gripped length, its rays those of the bar.

    A layer of cells leads from the bore to a square; straight lines go on from there to the faces.

    Parameters
    ----------
    bar
        The bar.
    piece
        The gripped length; round outside.
    block
        Sizes of the block.
    fineness
        How fine.

    Raises
    ------
    InputError
        The block does not reach round the bar.
    """
    radius = piece.outline.radius
    if piece.outline != Outline(radius=radius):
        raise InputError(
            key="bar.section",
            given="a bar with flats or corners in a bored block",
            allowed="a round bar or a tube where the block grips it",
            mend="Use the grip style slot or bed for a bar that is not round.",
        )
    low = -radius - block.wall_mm * MM
    high, half = low + block.height_mm * MM, block.width_mm * MM / 2
    if min(high, half, -low) <= radius * (1 + 1e-6):
        raise InputError(
            key="grip.block_height" if high < half else "grip.block_width",
            given=f"a block that reaches {1e3 * min(high, half):.4g} mm from the bar's axis",
            allowed=f"more than the bar's radius, {1e3 * radius:.4g} mm, on every side",
            mend="Make the block larger, or the bar thinner.",
        )
    square = radius + min(0.6 * (min(high, half, -low) - radius), 0.6 * radius)
    around = _around(bar, piece)
    # Crowded toward the bore, the same growth as in the bar.
    steps = np.cumsum(fineness.ratio ** np.arange(fineness.rings))
    lines = np.concatenate([[0.0], steps / steps[-1]])
    lines = halved(lines, [0.0], fineness=fineness.by(2), first=float(lines[1]), more=fineness.across)
    outlines = [piece.outline, Outline(half_width=square, half_height=square)]
    ring = polar_section(outlines, solid=False, rays=ray_angles(outlines, around), rings=[lines])
    side = np.unique(np.round(ring.points[np.abs(ring.points[:, 0] - square) < 1e-9 * square, 1], 12))[::2]
    # Far from the bore the block hardly strains: a few cells do.
    size = 4 * 2 * radius / fineness.around
    wide, deep, tall = (_outward(square, v, (size, fineness.by(2).split)) for v in (half, -low, high))
    y = np.concatenate([-wide[::-1], side, wide])
    z = np.concatenate([-deep[::-1], side, tall])
    frame = grid_section(y, z)
    centre = frame.points[frame.cells[:, :4]].mean(axis=1)
    outside = np.abs(centre).max(axis=1) > square
    section = merged([ring, replace(frame, cells=frame.cells[outside], layer=frame.layer[outside])])
    if block.split:
        section = slit(section)
    return Body(section, [(piece.start, 0.0, np.ones(len(section.cells), dtype=bool), "holder")])


def _mirrored(
    breaks: set[float], hot: set[float], sizes: tuple[float, float], fineness: Fineness
) -> FloatArray:
    """Return lines on both sides of zero, and at zero, so that the section is its own mirror image."""
    longest, first = sizes
    half = stations([0.0, *sorted(breaks)], sorted(hot), longest=longest, first=first, ratio=fineness.ratio)
    half = halved(half, sorted(hot), fineness=fineness, first=first, more=fineness.across)
    return np.concatenate([-half[:0:-1], half])


def _around(bar: Body, piece: Piece) -> int:
    """Return the cells in a quadrant of the bar's skin."""
    radius = np.linalg.norm(bar.section.points, axis=1)
    corners = np.unique(bar.section.cells[:, :4])
    return int(np.sum(np.abs(radius[corners] - piece.outline.radius) < 1e-9 * piece.outline.radius)) // 4


def _outward(start: float, stop: float, sizes: tuple[float, int]) -> FloatArray:
    """Return line positions after ``start`` up to ``stop``: no further apart than a size, then cut evenly."""
    size, split = sizes
    count = max(1, int(np.ceil((stop - start) / size - 1e-9))) * split
    return start + (stop - start) * np.arange(1, count + 1) / count


def _named(
    pieces: Sequence[Piece], masks: Mapping[Piece, BoolArray]
) -> list[tuple[float, float, BoolArray, str]]:
    """Return the lengths of the bar, what lies behind the holder face apart."""
    out = []
    for piece in pieces:
        if piece.start < 0:
            out.append((piece.start, 0.0, masks[piece], "grip"))
        out.append((max(piece.start, 0.0), piece.stop, masks[piece], "bar"))
    return out


def _ring_lines(gap: float, skin: float, fineness: Fineness) -> FloatArray:
    """Return where the lines between two outlines lie, 0 to 1, crowded toward both.

    The corner of a shoulder and the root of a wrap's end lie at the inner one.
    """
    if gap <= _SHALLOW * skin:
        return np.array([0.0, 1.0])
    ends = [0.0, gap]
    longest = skin * fineness.ratio ** (fineness.rings + 1)
    if gap > 3 * skin:
        lines = stations(ends, ends, longest=longest, first=skin, ratio=fineness.ratio)
    else:
        lines = np.linspace(0.0, gap, 2 if gap <= skin else 3)
    return halved(lines, ends, fineness=fineness.by(2), first=min(skin, gap), more=fineness.across) / gap


def _that_fits(make: Callable[[int, int], Section], around: int, *, halvings: int, unlike: int) -> Section:
    """Return the section of the coarsest rays with room for every corner and tip, halved.

    The coarsest that fits stands for 2 cells in a quadrant, so that every level is finer than the last.
    """
    coarsest = _first_that_fits(make, range(2, 25), halvings=0)
    if coarsest is not None:
        count, _ = coarsest
        wanted = round(around * count / 2 - 0.01)
        found = _first_that_fits(make, range(wanted, wanted + 24), halvings=halvings)
        if found is not None:
            return found[1]
    raise InputError(
        key="bar.steps",
        given=f"{unlike} unlike outlines",
        allowed="outlines that are a little further apart",
        mend="Leave out steps or flats that differ by less than a few hundredths of the diameter.",
    )


def _first_that_fits(
    make: Callable[[int, int], Section], counts: Sequence[int], *, halvings: int
) -> tuple[int, Section] | None:
    """Return the least of some numbers of cells in a quadrant that leaves room, with its section."""
    for count in counts:
        try:
            return count, make(count, halvings)
        except CoarseError:
            continue
    return None
