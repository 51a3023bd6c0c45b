"""What a set-up drawing shows, in mm of the bar frame: lengths of bar, their outlines, the holder."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.cli.show.scene.cutter import drawn_cutter
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import hold_of
from stickout.fem.units import MM
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Hold
from stickout.meshes.pieces import ROUND_KINDS, Piece, pieces_of, quarter_turns
from stickout.meshes.tagged import FloatArray

_RAYS: Final = 361
_FROM_THE_END: Final = np.array([1.0, 0.0, 0.0])
_HIDDEN_MM: Final = 1e-6


@dataclass(frozen=True)
class Block:
    """A box of the holder in the bar frame [mm]: from, to along x, y and z; whether its size is known."""

    x: tuple[float, float]
    y: tuple[float, float]
    z: tuple[float, float]
    known: bool = False


@dataclass(frozen=True)
class Subject:
    """A set-up ready to be drawn.

    Attributes
    ----------
    setup
        The set-up.
    pieces
        Lengths of equal section along the bar [m].
    turn
        Angle by which outlines are turned about +x [rad].
    blocks
        What holds the bar.
    nose_mm
        Where the edge is drawn, shape (3,).
    aside
        Whether that is away from the place that was computed, because the set-up names no offset.
    """

    setup: Setup
    pieces: tuple[Piece, ...]
    turn: float
    blocks: tuple[Block, ...]
    nose_mm: FloatArray
    aside: bool

    @property
    def hold(self) -> Hold:
        """Return where the grip touches the bar, and its block."""
        return self.setup.grip.hold


def subject_of(setup: Setup) -> Subject:
    """Return what is drawn of a set-up."""
    pieces = tuple(pieces_of(setup.bar, hold_of(setup)))
    quarters = quarter_turns(setup.bar)
    # The outlines of flat sections have their sides swapped already where they are turned by quarters.
    turned = setup.bar.section == "flatted" or (setup.bar.section not in ROUND_KINDS and quarters is None)
    turn = math.radians(setup.bar.rotation_deg) if turned else 0.0
    edge = setup.edge
    place = (setup.bar.overhang_mm - edge.end_distance_mm, edge.offset_y_mm, edge.offset_z_mm)
    cutter = drawn_cutter(setup, computed=MM * np.array(place), toward=_FROM_THE_END)
    blocks = _blocks(setup, pieces[0], turn)
    return Subject(setup, pieces, turn, blocks, nose_mm=cutter.nose / MM, aside=cutter.aside)


def ring(outline: Outline, turn: float) -> FloatArray:
    """Return an outline turned about +x as a closed line [mm], shape (n, 2), columns y and z."""
    points = outline.ring(_RAYS - 1, turn) / MM
    return np.vstack([points, points[:1]])


def half_sizes(outline: Outline, turn: float) -> tuple[float, float]:
    """Return how far an outline reaches along y and along z [mm]."""
    reach = np.abs(ring(outline, turn)).max(axis=0)
    return float(reach[0]), float(reach[1])


def corner_heights(outline: Outline, turn: float) -> list[float]:
    """Return the heights z [mm] of the long edges that a viewer at -y sees inside the outline."""
    rays = np.array(outline.every_corner())
    if not rays.size:
        return []
    points = outline.reach(rays)[:, None] * _ways(rays + turn) / MM
    top = half_sizes(outline, turn)[1]
    return [float(z) for y, z in points if y < -_HIDDEN_MM and abs(z) < top - 1e-3]


def _ways(angles: FloatArray) -> FloatArray:
    return np.stack([np.cos(angles), np.sin(angles)], axis=1)


def _blocks(setup: Setup, piece: Piece, turn: float) -> tuple[Block, ...]:
    """Return the boxes of the holder; only a bored block has sizes that are known."""
    wide, high = half_sizes(piece.outline, turn)
    size, gripped, hold = 2 * max(wide, high), setup.bar.gripped_mm, setup.grip.hold
    deep = (-gripped, 0.0)
    if setup.grip.at_both_ends:
        tip, far, thin = 0.5 * size, setup.bar.overhang_mm, (-0.3 * size, 0.3 * size)
        return (Block((-tip, 0.0), thin, thin), Block((far, far + tip), thin, thin))
    if setup.grip.grown_out:
        reach = 0.9 * size
        return (Block((-0.5 * size, 0.0), (-reach, reach), (-reach, reach)),)
    if hold.block is not None:
        half, low = hold.block.width_mm / 2, -high - hold.block.wall_mm
        return (Block(deep, (-half, half), (low, low + hold.block.height_mm), known=True),)
    if setup.grip.on_floor:
        under = -high - (setup.shim.thickness_mm if setup.shim else 0.0)
        floor = Block(deep, (-1.25 * wide, 1.25 * wide), (under - 0.5 * size, under))
        if hold.screws_mm:
            return (floor,)
        near, far = hold.pressed_mm or (0.0, gripped)
        return floor, Block((-far, -near), (-wide, wide), (high, high + 0.35 * size))
    across, up = (1.4 * half + 0.1 * size for half in (wide, high))
    return (Block(deep, (-across, across), (-up, up)),)
