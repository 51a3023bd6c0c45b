"""What one picture shows: a held bar, one of its modes, the force, and the words that belong to it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.cli.show.scene.surface import OuterSurface, outer_surface
from stickout.fem.setup.parts import Setup
from stickout.meshes.errors import InputError
from stickout.meshes.tagged import FloatArray, TaggedMesh

# Crimson for the force, so that orange is left to copper; every pair of colours was looked at under the three
# kinds of colour blindness (simulated), and what they cannot part is told apart by place, rim and words.
COLOURS = {
    "force": "#B5123E",
    "moves": "#00609C",
    "steel": "#9AA8B6",
    "holder": "#C2CAD6",
    "section": "#E9ECF0",
    "hatch": "#7F8A97",
    "copper": "#C8763C",
    "copper words": "#8A4A1C",
    "solder": "#D9D8D2",
    "solder words": "#5E5A4C",
    "cutter": "#4A525E",
    "insert": "#3C434D",
    "screw": "#7C8794",
    "work": "#F3EEE2",
    "work line": "#8A7F69",
    "work words": "#6B614C",
    "rest": "#1F2530",
    "line": "#1F2530",
    "steel words": "#1F2530",
    "words": "#1F2530",
    "faint": "#4F5966",
    "paper": "#FFFFFF",
}
# Still is the colour of steel, so that colour is motion; lightness falls all the way.
MOVEMENT_COLOURS = (
    "#AFC2C7",
    "#8BB5C4",
    "#68A7C6",
    "#4996C8",
    "#3183C8",
    "#296EC5",
    "#2F58BD",
    "#3741AE",
    "#3B2A99",
    "#3A167F",
)
MOVEMENT_BANDS = len(MOVEMENT_COLOURS)
INCH = 0.0254

_PLANE: Final = 1e-9  # of the length: nodes nearer lie in one section


@dataclass(frozen=True)
class Scene:
    """One mode of a held bar, ready to be drawn.

    Attributes
    ----------
    mesh
        The bar and all that is meshed with it [m].
    shape
        The mode shape, any scale, shape (n_points, 3).
    frequency_hz
        Its frequency.
    title
        First line of the picture; empty for none.
    lines
        Further lines under the title, in the caller's words.
    number
        Number of the mode, 1 for the lowest.
    kind
        Kind of the mode (bending, torsion, axial, breathing, mixed); empty when not known.
    force
        Direction of the force on the tool at the edge, any length, shape (3,); None for no arrow.
    share
        Share of the mode's motion along that force, 0 to 1; None when not known.
    grip
        Grip style of the set-up; with ``rigid`` nothing behind x = 0 is meshed.
    swing_m
        Real movement, at the point that moves most, for which the magnification is stated [m]; None for
        0.001 mm, or 0.1 thou where ``units`` is ``inch``.
    magnification
        Drawn movement over real movement; None to choose one that reads well. Give the same value to
        two scenes that are to be compared.
    units
        ``mm`` or ``inch``, for the words.
    setup
        The set-up, for the parts round the bar: cutter, post, screws, work; None draws the bar and a block.
    """

    mesh: TaggedMesh
    shape: FloatArray
    frequency_hz: float
    title: str = ""
    lines: tuple[str, ...] = ()
    number: int = 1
    kind: str = ""
    force: FloatArray | None = None
    share: float | None = None
    grip: str = "rigid"
    swing_m: float | None = None
    magnification: float | None = None
    units: str = "mm"
    setup: Setup | None = None


def check_scene(scene: Scene) -> None:
    """Raise InputError where a scene cannot be drawn: wrong shape, not finite, no movement, no force."""
    shape = np.asarray(scene.shape)
    if shape.shape != scene.mesh.points.shape:
        raise InputError(
            key="shape",
            given=shape.shape,
            allowed=f"an array of shape {scene.mesh.points.shape}",
            mend="Give one movement per node of the mesh.",
        )
    if not np.all(np.isfinite(shape)) or not np.any(shape):
        raise InputError(
            key="shape",
            given="all zero or not finite",
            allowed="finite and somewhere not zero",
            mend="Solve the modes again.",
        )
    for key, value in (("frequency_hz", scene.frequency_hz), ("swing_m", real_swing(scene))):
        if not value > 0:
            raise InputError(key=key, given=value, allowed="above 0", mend="Show a mode that shakes.")
    if scene.force is not None and not np.linalg.norm(scene.force) > 0:
        raise InputError(
            key="force", given=scene.force, allowed="not zero", mend="Leave it out for no arrow."
        )


def bar_surface(scene: Scene, *, subdivision: int = 2) -> OuterSurface:
    """Return the skin of all that is drawn as bar: every region but ``holder``."""
    names = [name for name in scene.mesh.regions if name != "holder"]
    return outer_surface(scene.mesh, names, subdivision=subdivision)


def drawn_movement(scene: Scene, surface: OuterSurface) -> FloatArray:
    """Return the movement drawn at full swing [m], shape (n_points, 3).

    Without a given magnification the largest movement is a tenth of the overhang, less where the work is
    drawn, since the cutter would swing through it, or where the skin would turn by more than 0.35 rad,
    because a mode shape drawn large swells what it turns.
    """
    shape = np.asarray(scene.shape, dtype=float)
    largest = float(np.linalg.norm(shape[np.unique(surface.facets)], axis=1).max())
    unit = shape / largest
    if scene.magnification is not None:
        return unit * (scene.magnification * real_swing(scene))
    stretch = np.linalg.norm(surface.tangents(unit), axis=2)
    length = np.linalg.norm(surface.tangents(scene.mesh.points), axis=2)
    slope = float(np.percentile(stretch / np.maximum(length, 1e-300), 98))
    overhang = float(scene.mesh.points[:, 0].max())
    swing = 0.10 if scene.setup is None or scene.setup.cut is None else 0.06
    return unit * min(swing * overhang, 0.35 / max(slope, 1e-300))


@dataclass(frozen=True)
class Ride:
    """How a body moves that rides rigidly on the end face: ``shift`` + ``turn`` x (point - ``centre``).

    Shift [m] and turn [rad] are those of the face at full swing, each of shape (3,).
    """

    shift: FloatArray
    turn: FloatArray
    centre: FloatArray

    def of(self, points: FloatArray) -> FloatArray:
        """Return the movement of points (..., 3) at full swing [m]."""
        return np.asarray(self.shift + np.cross(self.turn, points - self.centre))


def face_ride(mesh: TaggedMesh, moves: FloatArray) -> Ride:
    """Return how the end face moves, or the bar's section at an edge far from it: mean shift, turn.

    Each node is weighted alike: near enough to place a cutter and an arrow.
    """
    nodes = np.unique(mesh.patches["end"])
    x, end = mesh.points[:, 0], float(mesh.points[nodes, 0].max())
    if end - mesh.edge[0] > np.ptp(mesh.points[nodes, 1:]):  # a cutter between the two ends of its bar
        plane = x[np.argmin(abs(x - mesh.edge[0]))]
        nodes = np.flatnonzero(abs(x - plane) < _PLANE * end)
    centre = mesh.points[nodes].mean(axis=0)
    arms = mesh.points[nodes] - centre
    shift = moves[nodes].mean(axis=0)
    x, y, z = arms.T
    zero = np.zeros_like(x)
    # Row blocks of w cross arm, unknown w.
    rows = np.stack([[zero, z, -y], [-z, zero, x], [y, -x, zero]]).transpose(2, 0, 1).reshape(-1, 3)
    turn = np.linalg.lstsq(rows, (moves[nodes] - shift).ravel(), rcond=None)[0]
    return Ride(shift, turn, centre)


def magnification(scene: Scene, moves: FloatArray) -> float:
    """Return drawn movement over real movement [-], for drawn movements (n_points, 3) [m]."""
    return float(np.linalg.norm(moves, axis=1).max()) / real_swing(scene)


def real_swing(scene: Scene) -> float:
    """Return the real movement for which the magnification is stated [m]."""
    if scene.swing_m is not None:
        return scene.swing_m
    return 1e-4 * INCH if scene.units == "inch" else 1e-6
