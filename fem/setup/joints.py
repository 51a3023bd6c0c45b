"""Touching faces: how stiff and how lossy they are, and where a grip has them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.setup.bands import Band, exactly

DRY_STIFFNESS: Final = Band(
    0.3, 2.5, 10.0, "Levina & Reshetov 1971, dry machined faces (recalled, not opened)"
)
DRY_SHEAR_RATIO: Final = Band(0.3, 0.5, 0.8, "smooth faces at most 0.82, Mindlin 1949 (recalled, not opened)")
DRY_LOSS: Final = Band(0.01, 0.03, 0.1, "common practice, no source")


@dataclass(frozen=True)
class Joint:
    """Two touching faces: springs per area, normal and along the face, with a loss factor of their own.

    The defaults are the spread of dry machined faces under 2 to 30 MPa, not a measurement of this one.
    ``bonded`` takes the two faces as one piece; the three numbers then do not matter.

    Source
    ------
    Levina & Reshetov (1971), stiffness 2 sqrt(p)/c, at 10 MPa and c = 0.8 (recalled, not opened);
    loss factor: common practice, no source. [j.contact.*, j.eta.joint]

    Examples
    --------
    >>> from stickout.fem import BedGrip, Joint, exactly
    >>> grip = BedGrip(bed=Joint(normal_n_per_um_mm2=exactly(1.8)))
    >>> grip.bed.normal_n_per_um_mm2.high
    1.8
    """

    normal_n_per_um_mm2: Band = DRY_STIFFNESS
    shear_ratio: Band = DRY_SHEAR_RATIO
    loss_factor: Band = DRY_LOSS
    bonded: bool = False

    def scaled(self, factor: float) -> Joint:
        """Return faces of a known stiffness: ``factor`` times the likely one."""
        normal = self.normal_n_per_um_mm2
        return replace(self, normal_n_per_um_mm2=exactly(normal.likely * factor, normal.source))

    def at_end(self, side: str) -> Joint:
        """Return faces whose stiffnesses are known: those at one end, ``low`` or ``high``, of their bands."""
        return replace(
            self,
            normal_n_per_um_mm2=self.normal_n_per_um_mm2.at_end(side),
            shear_ratio=self.shear_ratio.at_end(side),
        )


@dataclass(frozen=True)
class Touch:
    """One pair of touching faces of a grip: its name, the patch of the mesh it lies on, what it is like.

    Attributes
    ----------
    name
        Name under which its share of the energy is told; of a joint, the joint's name in the mesh.
    patch
        Patch of the mesh, or joint, that the springs lie on.
    faces
        The faces.
    inside
        Whether both faces are meshed, a joint between two bodies; else springs to what stands still.
    area_mm2
        True area where the facets of the patch cannot follow it.
    within_mm
        Greatest distance from the middle of the bar that is pressed; None: whole facets.
    """

    name: str
    patch: str
    faces: Joint
    inside: bool = False
    area_mm2: float | None = None
    within_mm: float | None = None
