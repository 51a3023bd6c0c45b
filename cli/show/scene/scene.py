"""What one picture shows: a held bar, one of its modes, the force, and the words that belong to it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stickout.cli.show.scene.surface import OuterSurface, outer_surface
from stickout.meshes.errors import InputError
from stickout.meshes.tagged import FloatArray, TaggedMesh

# Okabe and Ito's palette for colour-blind readers (recalled, not opened), and greys.
COLOURS = {
    "force": "#D55E00",
    "moves": "#0072B2",
    "edge": "#D55E00",
    "holder": "#DADCE0",
    "section": "#E6E7EA",
    "hatch": "#8A8F98",
    "rest": "#8A8F98",
    "line": "#2B2F36",
    "scribe": "#E9EBEE",
    "words": "#1E2228",
    "faint": "#5A606A",
    "paper": "#FFFFFF",
}
MOVEMENT_MAP = "viridis"
MOVEMENT_BANDS = 12
INCH = 0.0254


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

    Without a given magnification the largest movement is a tenth of the overhang, or less where the
    skin would turn by more than 0.35 rad, because a mode shape drawn large swells what it turns.
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
    return unit * min(0.10 * overhang, 0.35 / max(slope, 1e-300))


def edge_movement(mesh: TaggedMesh, moves: FloatArray) -> FloatArray:
    """Return how the edge moves when it rides rigidly on the end face [m], shape (3,).

    The face's mean shift and least-squares turn, each node weighted alike: near enough to place an arrow.
    """
    nodes = np.unique(mesh.patches["end"])
    arms = mesh.points[nodes] - mesh.points[nodes].mean(axis=0)
    shift = moves[nodes].mean(axis=0)
    x, y, z = arms.T
    zero = np.zeros_like(x)
    # Row blocks of w cross arm, unknown w.
    rows = np.stack([[zero, z, -y], [-z, zero, x], [y, -x, zero]]).transpose(2, 0, 1).reshape(-1, 3)
    turn = np.linalg.lstsq(rows, (moves[nodes] - shift).ravel(), rcond=None)[0]
    return np.asarray(shift + np.cross(turn, mesh.edge - mesh.points[nodes].mean(axis=0)))


def magnification(scene: Scene, moves: FloatArray) -> float:
    """Return drawn movement over real movement [-], for drawn movements (n_points, 3) [m]."""
    return float(np.linalg.norm(moves, axis=1).max()) / real_swing(scene)


def real_swing(scene: Scene) -> float:
    """Return the real movement for which the magnification is stated [m]."""
    if scene.swing_m is not None:
        return scene.swing_m
    return 1e-4 * INCH if scene.units == "inch" else 1e-6
