"""The post as a slot's keys give it: floor, back, roof cut open at the screws, and the screws themselves."""

from __future__ import annotations

import numpy as np

from stickout.cli.show.scene.props import Prop, box, pin
from stickout.cli.show.scene.solids import flat_solid
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

_PITCH = 0.0028  # m, of the hatching


def drawn_post(setup: Setup, *, near: float, toward: FloatArray) -> tuple[tuple[Prop, ...], tuple[Prop, ...]]:
    """Return the post of a set-up whose grip has screws or a pressed top.

    Parameters
    ----------
    setup
        The set-up.
    near
        +1 where the viewer stands on the +y side, else -1: that side is open.
    toward
        Unit vector to the viewer, shape (3,).

    Returns
    -------
    behind
        Floor and back, drawn before the bar.
    before
        Roof and screws, drawn after it.
    """
    bar, shim = setup.bar, setup.shim
    # A bar with two flats lies on one of them: as high as they are apart, as wide as it is thick.
    h = (bar.height_mm or bar.width_mm or bar.across_flats_mm or bar.size_mm) * MM
    w = (bar.width_mm or bar.size_mm) * MM
    low = -0.5 * h - (0.0 if shim is None else shim.thickness_mm * MM)
    start = -bar.gripped_mm * MM
    back = sorted((-near * (0.5 * w + 0.1 * h), -near * (0.5 * w + h)))
    front = near * (0.5 * w + 0.3 * w)
    under = sorted((front, back[0] if near > 0 else back[1]))
    roof = (0.5 * h + 0.25 * h, 0.5 * h + 1.1 * h)
    floor = box(_at(start, under[0], low - 0.8 * h), _at(0.0, under[1], low), colour="holder", toward=toward)
    rear = box(_at(start, back[0], low - 0.8 * h), _at(0.0, back[1], roof[1]), colour="holder", toward=toward)
    open_at = sorted((0.0, back[1] if near < 0 else back[0]))
    top = box(_at(start, open_at[0], roof[0]), _at(0.0, open_at[1], roof[1]), colour="holder", toward=toward)
    cut = hatched(np.array([[start, roof[0]], [0.0, roof[1]]]), y=0.0, near=near)
    return (floor, rear), (top, *cut, *_screws(setup, 0.5 * h, roof[1], toward=toward))


def hatched(corners: FloatArray, *, y: float, near: float) -> tuple[Prop, ...]:
    """Return a cut face in a plane of constant y with its hatching at 45 degrees.

    Parameters
    ----------
    corners
        Low and high corner, columns x and z [m], shape (2, 2).
    y
        The plane [m].
    near
        +1 where the viewer stands on the +y side, else -1.
    """
    (x0, z0), (x1, z1) = corners
    at = y + near * 2e-5
    face = np.array([[[x0, at, z0], [x1, at, z0], [x1, at, z1], [x0, at, z1]]])
    if near > 0:
        face = face[:, ::-1]
    tall = z1 - z0
    lines = []
    for foot in np.arange(x0 - tall, x1, _PITCH * np.sqrt(2)):
        begin, end = max(0.0, x0 - foot), min(tall, x1 - foot)
        if end > begin:
            lines.append([[foot + begin, at, z0 + begin], [foot + end, at, z0 + end]])
    return (Prop(flat_solid(face, "section"), np.empty((0, 2, 3))), _hatching(np.array(lines), near))


def _hatching(lines: FloatArray, near: float) -> Prop:
    """Return hatching lines (n, 2, 3) as thin strips just off their face."""
    thin = np.array([0.045e-3, 0.0, -0.045e-3]) * np.sqrt(2)
    lines = lines + np.array([0.0, near * 2e-5, 0.0])
    strips = np.stack(
        [lines[:, 0] - thin, lines[:, 0] + thin, lines[:, 1] + thin, lines[:, 1] - thin], axis=1
    )
    return Prop(flat_solid(strips if near < 0 else strips[:, ::-1], "hatch"), np.empty((0, 2, 3)))


def _screws(setup: Setup, low: float, roof: float, *, toward: FloatArray) -> list[Prop]:
    """Return the screws where the set-up has them: shank and square head."""
    props: list[Prop] = []
    # The mesh knows a screw as the square of equal area.
    size = setup.grip.hold.screw_side_mm * 2 / np.sqrt(np.pi) * MM
    for at in setup.grip.hold.screws_mm:
        foot, head = _at(-at * MM, 0.0, low), roof + 0.3 * size
        props.append(pin(foot, _at(-at * MM, 0.0, head), radius=0.5 * size, colour="screw", toward=toward))
        half = 0.68 * size
        props.append(
            box(
                _at(-at * MM - half, -half, head),
                _at(-at * MM + half, half, head + 0.85 * size),
                colour="screw",
                toward=toward,
            )
        )
    return props


def _at(x: float, y: float, z: float) -> FloatArray:
    """Return one point, shape (3,)."""
    return np.array([x, y, z])
