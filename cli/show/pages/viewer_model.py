"""What the viewer is given: shapes on the outer skin as packed numbers, and the words beside them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any, Final

import numpy as np

from stickout.cli.commands.film import scene_of
from stickout.cli.show.pages.packing import Skin, packed_8, packed_16, packed_bytes, packed_index, skin_of
from stickout.cli.show.pages.viewer_together import Together, drawn_together, part_shapes, together_modes
from stickout.cli.show.pages.viewer_words import mode_texts, part_words, viewer_sentence
from stickout.cli.show.scene.around import Around, around
from stickout.cli.show.scene.framing import near_side
from stickout.cli.show.scene.props import Prop, sharp_outline
from stickout.cli.show.scene.scene import (
    COLOURS,
    MOVEMENT_COLOURS,
    drawn_movement,
    face_ride,
    magnification,
    real_swing,
)
from stickout.cli.show.scene.signs import region_paints
from stickout.cli.show.scene.solids import Solid, join
from stickout.cli.show.scene.surface import OuterSurface, feature_edges, outer_surface
from stickout.cli.show.scene.view import camera_axes
from stickout.cli.show.scene.workpiece import drawn_work
from stickout.fem.cut.operating import Operating
from stickout.fem.solid.energy import node_densities
from stickout.fem.study.result import Result
from stickout.meshes.tagged import FloatArray, IntArray, TaggedMesh

MOST_NODES: Final = 1400
# As in the energy picture: corners of held faces are singular and would leave everything else dark.
_DENSEST: Final = 99.0
# Of the bar's breadth: how far round the nose the first view holds a part that the set-up describes.
_NEAR: Final = 2.5

Record = dict[str, Any]


def viewer_model(
    result: Result,
    *,
    most_nodes: int = MOST_NODES,
    title: str | None = None,
    energy: bool = True,
    motion: Operating | None = None,
) -> Record:
    """Return the model that the viewer draws, as plain data.

    Parameters
    ----------
    result
        What a study found.
    most_nodes
        Nodes of the skin kept at most; more are melted into their neighbours.
    title
        Title on the page; None for the set-up's own.
    energy
        Whether to say where the energy is, which takes as long as all the rest.
    motion
        How tool, post and part move where the cut sings: shown as one more mode; None for none.

    Returns
    -------
    dict
        Lengths in metres in the bar frame. ``middle`` and ``half`` scale the packed positions; each
        mode's ``full`` scales its packed shape, which is the movement as drawn at full swing.
    """
    scene = scene_of(result, 0)
    side = near_side(scene)
    mesh = opened(result.model.mesh, side=side)
    surface = outer_surface(mesh, subdivision=1)
    skin = skin_of(surface, mesh.points, most=most_nodes)
    points = mesh.points[skin.node]
    push = np.asarray(result.loading.direction, dtype=float)
    toward = camera_axes(side=side)[2]
    things = around(scene, points, side=side, toward=toward)
    both = None if motion is None else drawn_together(result, motion)
    nose, paints = things.cutter.nose, region_paints(scene, surface)
    return {
        "title": title if title is not None else result.setup.title or "Held bar",
        "units": result.setup.units,
        "sentence": viewer_sentence(result),
        "table": list(MOVEMENT_COLOURS),
        **_bar(mesh, surface, skin),
        "parts": [
            {"name": name, "words": part_words(name), "colour": None if paint is None else COLOURS[paint]}
            for name, paint in zip(surface.region_names, paints, strict=True)
        ],
        "props": _props(things) + _moving_part(result, both, nose=nose, toward=toward),
        "near": _NEAR * float(np.ptp(points[:, 1:], axis=0).max()),
        "side": side,
        "force_colour": COLOURS["force"],
        "edge": _rounded(nose),
        "force": _rounded(push / np.linalg.norm(push)),
        "forced": result.setup.cut is not None,
        "outline": _rounded(_end_outline(mesh) * 1e3, 3),
        "aligned": result.aligned,
        "modes": [
            *(
                _mode(result, at, surface=surface, skin=skin, nose=nose, energy=energy)
                for at in range(result.n_modes)
            ),
            *([] if both is None else together_modes(result, both, skin=skin, nose=nose)),
        ],
    }


def _bar(mesh: TaggedMesh, surface: OuterSurface, skin: Skin) -> Record:
    """Return the skin of the bar at rest."""
    points = mesh.points[skin.node]
    middle = (points.min(axis=0) + points.max(axis=0)) / 2
    half = float(np.abs(points - middle).max())
    return {
        "middle": _rounded(middle),
        "half": half,
        "position": packed_16(points - middle, half),
        "normal": packed_8(skin.normal),
        "part": packed_bytes(skin.part),
        "triangles": packed_index(skin.triangles),
        "lines": packed_index(_lines(surface, skin, mesh.points)),
    }


def opened(mesh: TaggedMesh, *, side: float) -> TaggedMesh:
    """Return a mesh whose holder, where it is meshed, has lost its near half: the bar is seen in it.

    ``side`` is +1 for a viewer on the +y side, else -1.
    """
    if "holder" not in mesh.regions:
        return mesh
    cells = mesh.regions["holder"]
    far = cells[mesh.points[mesh.cells[cells]].mean(axis=1)[:, 1] * side < 0]
    return replace(mesh, regions={**mesh.regions, "holder": far})


def _mode(
    result: Result, at: int, *, surface: OuterSurface, skin: Skin, nose: FloatArray, energy: bool
) -> Record:
    """Return one mode: words, shape, energy, and the edge's movement as drawn."""
    scene = scene_of(result, at)
    moves = drawn_movement(scene, surface)
    shown = moves[skin.node]
    full = float(np.abs(shown).max())
    ride = face_ride(scene.mesh, moves)
    edge = ride.of(nose)
    twins = [two for pair in result.pairs if at in pair for two in pair if two != at]
    return {
        "number": at + 1,
        "hertz": float(result.frequency_hz[at]),
        "swing": real_swing(scene),
        "magnification": magnification(scene, moves),
        "twin": next((two for two in twins if two < result.n_modes), None),
        "still": bool(np.linalg.norm(edge) < 0.02 * np.linalg.norm(shown, axis=1).max()),
        "full": full,
        "shape": packed_16(shown, full),
        "edge": _rounded(edge),
        "ride": {
            "shift": _rounded(ride.shift - np.cross(ride.turn, ride.centre)),
            "turn": _rounded(ride.turn),
        },
        "energy": _energy(result, at, skin=skin, names=surface.region_names) if energy else None,
        **mode_texts(result, at),
    }


def _energy(result: Result, at: int, *, skin: Skin, names: tuple[str, ...]) -> str:
    """Return the strain energy per volume at each vertex, packed: 255 for the densest."""
    density: Mapping[str, FloatArray] = node_densities(result.model, result.modes.shapes[at])
    values = np.stack([density[name] for name in names])[skin.part, skin.node]
    most = float(np.percentile(values, _DENSEST))
    return packed_bytes(255 * values / most if most > 0 else 0 * values)


def _lines(surface: OuterSurface, skin: Skin, points: FloatArray) -> IntArray:
    """Return the vertices that the sharp edges of the skin join, shape (n, 2)."""
    edges, _ = feature_edges(surface, points)
    at = np.full(len(points), -1)
    at[skin.node] = np.arange(len(skin.node))
    start, end, middle = at[edges].T
    through = middle >= 0
    first = np.column_stack([start, np.where(through, middle, end)])
    second = np.column_stack([middle, end])[through]
    pairs = np.concatenate([first, second])
    return np.asarray(pairs[(pairs >= 0).all(axis=1)])


def _props(things: Around) -> list[Record]:
    """Return what stands round the bar."""
    work = () if things.work is None else things.work.props
    return [
        *_grouped("still", (*things.behind, *things.before)),
        *_grouped("rides", things.cutter.props),
        *_grouped("ghost", work),
    ]


def _grouped(kind: str, props: Iterable[Prop]) -> list[Record]:
    """Return bodies that move alike, those of one colour together."""
    return [_packed(whole, kind, colour) for colour, whole in _by_colour(props).items()]


def _by_colour(props: Iterable[Prop]) -> dict[str, Solid]:
    """Return bodies joined by their colour, without hatching."""
    groups: dict[str, list[Solid]] = {}
    for prop in props:
        groups.setdefault(prop.solid.colour, []).append(prop.solid)
    return {colour: join(bodies) for colour, bodies in groups.items() if colour != "hatch"}


def _moving_part(
    result: Result, both: Together | None, *, nose: FloatArray, toward: FloatArray
) -> list[Record]:
    """Return the whole part, swinging, and what holds it: seen only where tool and part move together."""
    if both is None:
        return []
    part = drawn_work(result.setup, nose, toward=toward, whole=True)
    if part is None or part.frame is None:
        return _grouped("whole", () if part is None else part.props)
    out = []
    for colour, whole in _by_colour(part.props).items():
        moves = part_shapes(whole.points, part.frame, found=both) if colour == "work" else {}
        out.append(_packed(whole, "whole", colour) | moves)
    return out


def _packed(whole: Solid, kind: str, colour: str) -> Record:
    """Return a body for the viewer: still, rides (on the end face), or half seen: ghost, whole."""
    middle = (whole.points.min(axis=0) + whole.points.max(axis=0)) / 2
    half = float(np.abs(whole.points - middle).max())
    edges = sharp_outline(whole, None) if kind in ("still", "rides") else np.empty((0, 2, 3))
    return {
        "kind": kind,
        "colour": COLOURS[colour],
        "middle": _rounded(middle),
        "half": half,
        "position": packed_16(whole.points - middle, half),
        "normal": packed_8(whole.normals),
        "triangles": packed_index(whole.triangles),
        "lines": packed_16((edges - middle).reshape(-1, 3), half),
    }


def _end_outline(mesh: TaggedMesh) -> FloatArray:
    """Return the outline of the end face as pieces [m], shape (n, 2, 2), columns y and z."""
    facets = mesh.patches["end"]
    sides = np.stack([facets[:, [0, 1, 2, 3]], facets[:, [1, 2, 3, 0]], facets[:, 4:]], axis=2).reshape(-1, 3)
    key = np.sort(sides[:, :2], axis=1)
    _, first, count = np.unique(key, axis=0, return_index=True, return_counts=True)
    rim = sides[first[count == 1]]
    pieces = np.concatenate([rim[:, [0, 2]], rim[:, [2, 1]]])
    return np.asarray(mesh.points[pieces][:, :, 1:])


def _rounded(values: FloatArray, digits: int = 8) -> list[Any]:
    """Return an array as nested lists of numbers no longer than they need be."""
    plain: list[Any] = np.round(values, digits).tolist()
    return plain
