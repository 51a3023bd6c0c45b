"""A bar turned about its axis is the same bar seen from another side, where its grip is alike all round.

So it is solved in the frame of its own section, in which it is its own mirror image, and turned after.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.setup.parts import Setup
from stickout.fem.solid.body import Added
from stickout.fem.solid.edge import RigidFace
from stickout.fem.solid.elasticity import CellMatrices
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes
from stickout.fem.solid.slab import Ties
from stickout.meshes.tagged import FloatArray

ROUND: Final = ("round", "tube")


def own_frame(setup: Setup) -> tuple[Setup, float]:
    """Return a set-up turned back to the frame of its section, and the angle it was turned by [rad].

    A set-up whose grip is not alike all round comes back as it is, with an angle of 0; so does the angle of
    a round bar, which no turn changes.
    """
    bar = setup.bar
    if not setup.grip.alike_all_round or not bar.rotation_deg:
        return setup, 0.0
    straight = replace(setup, bar=replace(bar, rotation_deg=0.0))
    if bar.section in ROUND:
        return straight, 0.0
    angle = float(np.deg2rad(bar.rotation_deg))
    c, s, edge = np.cos(angle), np.sin(angle), setup.edge
    y, z = edge.offset_y_mm, edge.offset_z_mm
    if y or z:
        edge = replace(edge, offset_y_mm=float(c * y + s * z), offset_z_mm=float(c * z - s * y))
    return replace(straight, edge=edge), angle


def turn_about_bar(angle: float) -> FloatArray:
    """Return the matrix that turns vectors about x by an angle [rad], right-handed, shape (3, 3)."""
    c, s = np.cos(angle), np.sin(angle)
    return np.array([[1.0, 0.0, 0.0], [0.0, c, -s], [0.0, s, c]])


def turned_model(model: Model, turn: FloatArray) -> Model:
    """Return a model turned about the bar by a matrix (3, 3): mesh, matrices, ties, edge."""
    mesh = replace(model.mesh, points=model.mesh.points @ turn.T, edge=turn @ model.mesh.edge)
    face = RigidFace(model.face.nodes, np.einsum("ij,jak,lk->ial", turn, model.face.weights, turn))
    return Model(
        mesh=mesh,
        matrices=_turned_cells(model.matrices, turn),
        ties={name: Ties(t.nodes, _turned(t.stiffness, turn)) for name, t in model.ties.items()},
        held=model.held,
        face=face,
        loads=face.spread(len(mesh.points)),
        added=Added(model.added.edge_mass, model.added.skins),
        shift=model.shift,
        limits=model.limits,
    )


def turned_modes(modes: Modes, turn: FloatArray) -> Modes:
    """Return modes turned about the bar by a matrix (3, 3); they belong to the turned model as a whole."""
    return replace(
        modes,
        drawn=modes.shapes @ turn.T,
        edge=modes.edge @ turn.T,
        part=np.zeros_like(modes.part),
    )


def _turned_cells(matrices: CellMatrices, turn: FloatArray) -> CellMatrices:
    """Return element matrices turned; a turn about x keeps apart how often x is derived along."""
    return replace(
        matrices,
        along=_turned(matrices.along, turn),
        mixed=_turned(matrices.mixed, turn),
        across=_turned(matrices.across, turn),
    )


def _turned(stiffness: FloatArray, turn: FloatArray) -> FloatArray:
    """Return matrices (n, 3k, 3k), rows and columns node, xyz, with every node's axes turned."""
    n, size = stiffness.shape[:2]
    blocks = stiffness.reshape(n, size // 3, 3, size // 3, 3)
    turned = np.einsum("ai,nkilj,bj->nkalb", turn, blocks, turn, optimize=True)
    return np.asarray(turned.reshape(n, size, size))
