"""The mesh of a held bar: bar, gripped part, shim, wrap and holder, with names for cells and faces."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.meshes.along import stations_of
from stickout.meshes.bodies import Body, block_body, flat_body, round_body, shim_body
from stickout.meshes.joining import joined, matching_edges
from stickout.meshes.parts import Bar, Edge, Hold, Shim, Wrap
from stickout.meshes.pieces import (
    MM,
    ROUND_KINDS,
    Fineness,
    Piece,
    pieces_of,
    quarter_turns,
    wound_pieces,
)
from stickout.meshes.sections import Section
from stickout.meshes.sweep import (
    Swept,
    edge_nodes,
    edge_normals,
    occupied,
    outer_edges,
    side_facets,
    sweep,
)
from stickout.meshes.tagged import BoolArray, FloatArray, IntArray, TaggedMesh

__all__ = ["Fineness", "MeshSize", "bar_mesh", "edge_point", "mesh_size"]


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
        Regions ``bar``, and where they exist ``grip``, ``shim``, ``wrap``, ``holder``; patches ``end``
        and, by the way of holding, ``root``, ``floor`` and ``screws``, ``bed`` or ``holder_base``;
        ``wound`` where a loose wrap lies; joints ``bar on shim`` and ``bar in sleeve``.

    Raises
    ------
    InputError
        Sizes that no mesh can be made of.
    """
    hold, edge, fineness = hold or Hold("rigid"), edge or Edge(), fineness or Fineness()
    plan, at = _planned(bar, hold=hold, shim=shim, wrap=wrap, fineness=fineness)
    bonded_wrap = wrap is not None and wrap.bond == "bonded"
    # A round section looks the same turned; a flat one turned by quarters has had its sides swapped; and
    # what lies under a bar does not turn with it.
    turns = quarter_turns(bar)
    if (bar.section == "flatted" and (turns is None or turns % 2)) or (
        bar.section not in ROUND_KINDS and turns is None
    ):
        plan = replace(plan, section=_turned(plan.section, np.deg2rad(bar.rotation_deg)))
    swept = sweep(plan.section, at, present=plan.name != "")
    laid = _Laid(plan, swept, at)
    labels = plan.name[swept.layer, swept.section_cell]
    loose = None if bonded_wrap else wrap
    return TaggedMesh(
        points=swept.points,
        cells=swept.cells,
        regions={str(r): np.flatnonzero(labels == r) for r in dict.fromkeys(labels.tolist())},
        patches=_patches(laid, hold=hold, loose=loose),
        edge=edge_point(bar, edge),
        family=swept.section_cell,
        joints=_joints(laid),
    )


def edge_point(bar: Bar, edge: Edge) -> FloatArray:
    """Return where the edge is [m], shape (3,)."""
    return np.array([bar.overhang_mm - edge.end_distance_mm, edge.offset_y_mm, edge.offset_z_mm]) * MM


@dataclass(frozen=True)
class MeshSize:
    """How large a mesh would be: nodes, layers along the bar, rows of section cells sideways and upward.

    Rows are 0 where the section's cells do not lie in rows.
    """

    points: int
    layers: int
    sideways: int
    upward: int


def mesh_size(bar: Bar, *, hold: Hold, shim: Shim | None, wrap: Wrap | None, fineness: Fineness) -> MeshSize:
    """Return how large a mesh would be, far sooner than it is made.

    Parameters
    ----------
    bar, hold, shim, wrap, fineness
        As ``bar_mesh`` takes them.

    Raises
    ------
    InputError
        As ``bar_mesh``.
    """
    plan, at = _planned(bar, hold=hold, shim=shim, wrap=wrap, fineness=fineness)
    points = int(occupied(plan.section, plan.name != "").sum())
    corners = plan.section.points[np.unique(plan.section.cells[:, :4])]
    rows = (0, 0) if bar.section in ROUND_KINDS else (len(np.unique(np.round(c, 12))) - 1 for c in corners.T)
    return MeshSize(points, len(at) - 1, *rows)


def _planned(
    bar: Bar, *, hold: Hold, shim: Shim | None, wrap: Wrap | None, fineness: Fineness
) -> tuple[_Plan, FloatArray]:
    """Return the sections side by side, not yet turned, and the stations."""
    pieces = pieces_of(bar, hold)
    wound = wound_pieces(pieces, wrap) if wrap is not None and wrap.bond == "bonded" else []
    bodies = _bodies(bar, pieces, wound, hold=hold, shim=shim, fineness=fineness)
    at = stations_of(pieces, wrap, hold=hold, fineness=fineness)
    return _plan(bodies, at, bonded=hold.style == "held" or hold.bonded), at


@dataclass(frozen=True)
class _Plan:
    """The sections of all bodies in one, what is present, and which edges of two bodies meet.

    ``name`` holds the region of every section cell in every layer, "" where there is none; ``body``
    the body of every section cell; ``meeting`` pairs of edges (cell, side, cell, side) by name.
    """

    section: Section
    name: BoolArray
    body: IntArray
    meeting: dict[str, IntArray]


@dataclass(frozen=True)
class _Laid:
    """A plan, its sweep and its stations."""

    plan: _Plan
    swept: Swept
    at: FloatArray


def _bodies(
    bar: Bar,
    pieces: Sequence[Piece],
    wound: Sequence[Piece],
    *,
    hold: Hold,
    shim: Shim | None,
    fineness: Fineness,
) -> list[Body]:
    """Return the bar and, where they are, the shim or the block."""
    if bar.section in ROUND_KINDS:
        bodies = [round_body(pieces, wound, fineness=fineness)]
    else:
        bodies = [flat_body(pieces, hold, fineness=fineness)]
    if shim is not None:
        bodies.append(shim_body(bodies[0], pieces[0], shim=shim, fineness=fineness))
    if hold.block is not None:
        bodies.append(block_body(bodies[0], pieces[0], block=hold.block, fineness=fineness))
    return bodies


def _plan(bodies: Sequence[Body], at: FloatArray, *, bonded: bool) -> _Plan:
    """Return the bodies side by side; where they are bonded their sections share nodes."""
    section, first_cell = joined([b.section for b in bodies], share=bonded)
    middle = (at[1:] + at[:-1]) / 2
    name = np.full((len(middle), len(section.cells)), "", dtype=object)
    body = np.zeros(len(section.cells), dtype=np.int64)
    for number, (part, start) in enumerate(zip(bodies, first_cell, strict=True)):
        body[start : start + len(part.section.cells)] = number
        for low, high, mask, region in part.lengths:
            rows = (middle > low) & (middle < high)
            name[np.ix_(rows, np.flatnonzero(mask) + start)] = region
    meeting = {}
    for number in range(1, len(bodies)):
        gripped = name[0] != ""
        words = "bar on shim" if "shim" in name[0][body == number] else "bar in sleeve"
        if not bonded:
            mine, other = (outer_edges(section, gripped & (body == n)) for n in (0, number))
            meeting[words] = matching_edges(section, mine, other=other)
    return _Plan(section, name, body, meeting)


def _turned(section: Section, angle: float) -> Section:
    """Return the section turned about +x by the right-hand rule."""
    c, s = np.cos(angle), np.sin(angle)
    return replace(section, points=section.points @ np.array([[c, s], [-s, c]]))


def _joints(laid: _Laid) -> dict[str, IntArray]:
    """Return the facets of both bodies on every joint, node beside node."""
    plan, out = laid.plan, {}
    for name, edges in plan.meeting.items():
        mine, other = edges[:, :2], edges[:, 2:]
        rows = (plan.name[:, mine[:, 0]] != "") & (plan.name[:, other[:, 0]] != "")
        # The other body walks along the same edge the other way.
        back = edge_nodes(plan.section, other)[:, [1, 0, 2]]
        sides = [side_facets(laid.swept, e, rows=rows) for e in (edge_nodes(plan.section, mine), back)]
        out[name] = np.concatenate(sides, axis=1)
    return out


def _patches(laid: _Laid, *, hold: Hold, loose: Wrap | None) -> dict[str, IntArray]:
    """Return the facets of each patch."""
    plan, swept = laid.plan, laid.swept
    section, present = plan.section, plan.name != ""
    patches = {"end": swept.node[-1][section.cells[present[-1]]]}
    if loose is not None:
        start, stop = loose.start_mm * MM, (loose.start_mm + loose.length_mm) * MM
        patches["wound"] = _skin(laid, part=0, span=(start, stop), way=0.0)
    if hold.style == "rigid":
        facing_back = [0, 3, 2, 1, 7, 6, 5, 4]
        patches["root"] = swept.node[0][section.cells[present[0]]][:, facing_back]
        return patches
    deep = (float(laid.at[0]), 0.0)
    lowest = int(plan.body.max())
    if hold.style == "bed":
        patches["bed"] = _skin(laid, part=0, span=deep, way=0.0)
    elif hold.style == "sleeve":
        patches["holder_base"] = _skin(laid, part=lowest, span=deep, way=-1.0)
    else:
        patches["floor"] = _skin(laid, part=lowest, span=deep, way=-1.0)
        patches["screws"] = _pressed(laid, hold)
    return patches


def _pressed(laid: _Laid, hold: Hold) -> IntArray:
    """Return the facets on the bar's top where it is pressed: a length, or a square under each screw."""
    if not hold.screws_mm:
        near, far = hold.pressed_mm or (0.0, -laid.at[0] / MM)
        return _skin(laid, part=0, span=(-far * MM, -near * MM), way=1.0)
    half = hold.screw_side_mm / 2
    spans = [(-(s + half) * MM, -(s - half) * MM) for s in hold.screws_mm]
    return np.vstack([_skin(laid, part=0, span=s, way=1.0, wide=half * MM) for s in spans])


def _skin(laid: _Laid, *, part: int, span: tuple[float, float], way: float, wide: float = np.inf) -> IntArray:
    """Return the side facets of a body over a span of x.

    ``way`` 1 takes those that face up, -1 down, 0 all that face outward;
    ``wide`` takes only those that reach nearer to z than that.
    """
    plan, at = laid.plan, laid.at
    middle = (at[1:] + at[:-1]) / 2
    over = (middle > span[0]) & (middle < span[1])
    facets = []
    # Layers of equal presence share their outside; a stepped bar has a few kinds.
    mine = (plan.name != "") & (plan.body == part)
    for pattern in np.unique(mine[over], axis=0):
        rows = over & (mine == pattern).all(axis=1)
        edges = outer_edges(plan.section, pattern)
        if way:
            # The faces of a saw cut look up and down as well; the outermost ones are meant.
            height = way * plan.section.points[edge_nodes(plan.section, edges)[:, 2], 1]
            facing = way * edge_normals(plan.section, edges)[:, 1] > 0.999
            edges = edges[facing & (height > height.max() - 1e-9 * np.ptp(height))]
        else:
            # A tube's bore is a side as well, but nothing lies on it; it faces the axis.
            middles = plan.section.points[edge_nodes(plan.section, edges)[:, 2]]
            edges = edges[np.einsum("ei,ei->e", middles, edge_normals(plan.section, edges)) > 0]
        nodes = edge_nodes(plan.section, edges)
        # Facets that reach under a screw: its springs count only as far as its square goes.
        ends = plan.section.points[nodes[:, :2], 0]
        nodes = nodes[(np.abs(ends).min(axis=1) < wide * (1 - 1e-9)) | (ends[:, 0] * ends[:, 1] < 0)]
        facets.append(
            side_facets(laid.swept, nodes, rows=np.broadcast_to(rows[:, None], (len(rows), len(nodes))))
        )
    return np.vstack(facets)
