"""A cut that is fully described: directions, force law, engaged edge, force, and its dynamic stiffness."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.force.blade import corners_of, cutting_edge
from stickout.fem.force.directions import (
    CutDirections,
    MatrixOfDepth,
    cut_directions,
    force_on_tool,
    nose_matrix,
)
from stickout.fem.force.edge_load import local_force
from stickout.fem.force.law import CutForce, ForceLaw, force_law
from stickout.fem.force.nose import EngagedEdge
from stickout.fem.force.push import left_of_bands, push_band, pushed_law
from stickout.fem.nearest import MISSING, Plain
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.setup.work_materials import WorkMaterial, work_material
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# Key of [cut] without which no force can be computed -> what to write.
NEEDED: Final = {
    "operation": 'operation = "boring" (or turning, facing, parting)',
    "work_material": 'work_material = "medium carbon steel"',
    "depth": "depth (radial; for parting the width of the blade)",
    "feed": "feed (per turn)",
    "nose_radius": "nose_radius (read it off the insert's code)",
    "edge_angle_deg": "edge_angle_deg (between cutting edge and feed; 90 to 95 is usual)",
}


@dataclass(frozen=True, eq=False)
class CutCase:
    """One cut; equal to none but itself, so that what is computed of it can be kept.

    Attributes
    ----------
    cut
        The cut as the set-up describes it.
    material
        Entry of the force table.
    directions
        Passive, cutting and feed direction in the bar frame.
    law
        Force law, corrected for rake and wear, and for the push where it was measured.
    edge
        The engaged edge.
    force
        Force on the work [N].
    on_tool
        Force on the tool in the bar frame [N], shape (3,).
    turn
        Rotation that takes the model's force to a direction the user gave, shape (3, 3); else the identity.
    """

    cut: Cut
    material: WorkMaterial
    directions: CutDirections
    law: ForceLaw
    edge: EngagedEdge
    force: CutForce
    on_tool: FloatArray
    turn: FloatArray

    @property
    def depth(self) -> float:
        """Return the radial depth [m]."""
        return float(self.edge.depth)

    @property
    def force_band(self) -> tuple[float, float]:
        """Return low and high of the cutting force as factors of the likely one."""
        return left_of_bands(self.material, push=self.cut.push)[0]

    @property
    def thrust_band(self) -> tuple[float, float]:
        """Return low and high of the thrust over the cutting force as factors of the likely one."""
        return left_of_bands(self.material, push=self.cut.push)[1]

    @property
    def push_band(self) -> tuple[float, float]:
        """Return low and high of the push, as factors: the measured one, else the force's of the table."""
        return push_band(self.material, push=self.cut.push)

    @cached_property
    def _of_depth(self) -> MatrixOfDepth:
        """Return the function that gives A as the force model has it; it keeps what it was asked."""
        edge = self.edge
        return nose_matrix(
            self.directions,
            self.law,
            feed=edge.feed,
            nose_radius=float(edge.nose_radius),
            edge_angle_deg=float(np.degrees(edge.edge_angle)),
            corners=edge.corners,
        )

    def matrix(self, depth: FloatArray) -> FloatArray:
        """Return A [N/m] in the bar frame, shape (..., 3, 3), for depths [m] of shape (...)."""
        turned: FloatArray = self.turn @ self._of_depth(depth)
        return turned

    @property
    def stiffness(self) -> FloatArray:
        """Return A [N/m] at the depth of the cut, shape (3, 3)."""
        return self.matrix(np.asarray(self.depth))

    def force_at(self, depth: float) -> FloatArray:
        """Return the force on the tool in the bar frame [N] at another depth [m], shape (3,)."""
        edge = cutting_edge(
            depth,
            self.edge.feed,
            nose_radius=float(self.edge.nose_radius),
            edge_angle_deg=float(np.degrees(self.edge.edge_angle)),
            corners=self.edge.corners,
        )
        pushed: FloatArray = self.turn @ force_on_tool(self.directions, local_force(self.law, edge))
        return pushed


def cut_case(setup: Setup) -> CutCase:
    """Return the cut of a set-up.

    Raises
    ------
    InputError
        The set-up has no cut, or one that is not described far enough; the message names all that is missing.
    """
    return case_of(described(setup.cut))


def described_case(setup: Setup) -> CutCase | None:
    """Return the cut of a set-up; None where it is not described far enough for a limit."""
    try:
        return cut_case(setup)
    except InputError:
        return None


def described(cut: Cut | None) -> Cut:
    """Return the cut, which must have all that the force model needs.

    Raises
    ------
    InputError
        Something is missing.
    """
    if cut is None:
        mend = f"Add it with {', '.join(NEEDED)}."
        raise InputError(key="cut", given=MISSING, allowed="a section [cut]", mend=mend)
    absent = [name for name in NEEDED if getattr(cut, _field(name)) is None]
    if not absent:
        return cut
    mend = f"Add {'; '.join(NEEDED[name] for name in absent)}."
    if len(absent) == 1:
        raise InputError(key=f"cut.{absent[0]}", given=MISSING, allowed="given for this command", mend=mend)
    given = Plain(f"without {', '.join(absent)}")
    raise InputError(key="cut", given=given, allowed="complete for this command", mend=mend)


def _field(name: str) -> str:
    """Return the name of a key's field in ``Cut``."""
    return f"{name}_mm" if name in ("depth", "feed", "nose_radius") else name


def case_of(cut: Cut) -> CutCase:
    """Return the case of a cut that is described.

    Source
    ------
    A direction the user gives turns the model's force and its changes alike (own rule, computed here).
    """
    depth, feed, nose, angle = (
        cut.depth_mm or 0.0,
        cut.feed_mm or 0.0,
        cut.nose_radius_mm or 0.0,
        cut.edge_angle_deg or 0.0,
    )
    directions = cut_directions(cut.operation or "", cut.side, rear_tool=cut.rear_tool)
    material = work_material(cut.work_material or "")
    table = force_law(material, rake_deg=cut.rake_deg, wear=cut.wear_factor)
    law = pushed_law(table, material, push=cut.push)
    edge = cutting_edge(
        depth * MM,
        feed * MM,
        nose_radius=nose * MM,
        edge_angle_deg=angle,
        corners=corners_of(cut.operation),
    )
    model = local_force(law, edge)
    pushed = force_on_tool(directions, model)
    turn = np.eye(3)
    if cut.force_direction is not None:
        turn = rotation_between(pushed, np.array(cut.force_direction))
    on_tool = turn @ pushed
    p, c, f = (float(one) for one in -(directions.rotation @ on_tool))
    return CutCase(cut, material, directions, law, edge, CutForce(c=c, f=f, p=p), on_tool, turn)


def rotation_between(start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the least rotation that takes one direction to another, shape (3, 3).

    Source
    ------
    Rodrigues' formula (recalled, not opened).
    """
    a, b = start / np.linalg.norm(start), end / np.linalg.norm(end)
    axis, cosine = np.cross(a, b), float(a @ b)
    if cosine < -1.0 + 1e-12:
        # Half a turn about any axis square to it.
        square = np.linalg.svd(a[None])[2][1]
        return np.asarray(2.0 * np.outer(square, square) - np.eye(3))
    cross = np.array([[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]])
    return np.asarray(np.eye(3) + cross + cross @ cross / (1.0 + cosine))
