"""How a bar is held: five grips, each of which knows what it presses, holds, loses and scales.

What differs from grip to grip is asked of the grip; nothing else needs to know which one it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar, Final, Self

from stickout.fem.setup.materials import Band, exactly
from stickout.meshes.parts import Block, Hold

STYLES: Final = ("rigid", "held", "bed", "slot", "sleeve")
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
class _Held:
    """What every grip can be asked, answered for one that has no touching faces.

    Attributes
    ----------
    style
        Its name in the set-up file.
    alike_all_round
        Whether it holds a bar alike however the bar is turned.
    on_floor
        Whether the bar lies on a floor and is pressed from above.
    between_bodies
        Whether the bar touches something else that holds it, so that joints lie between the two.
    holds_part_of_a_side
        Whether part of a side is held as if it were one with the holder.
    """

    style: ClassVar[str]
    alike_all_round: ClassVar[bool] = False
    on_floor: ClassVar[bool] = False
    between_bodies: ClassVar[bool] = False
    holds_part_of_a_side: ClassVar[bool] = False

    @property
    def faces(self) -> Joint | None:
        """Return the touching faces that are described, springs or bonded; None without any."""
        return None

    @property
    def springs(self) -> Joint | None:
        """Return the touching faces that are springs; None where there are none, or where they are bonded."""
        return None if self.faces is None or self.faces.bonded else self.faces

    @property
    def bedding(self) -> Joint | None:
        """Return the springs under the whole gripped length: the faces that a beam formula can count."""
        return None

    @property
    def faces_name(self) -> str:
        """Return what its faces are called where their numbers are listed."""
        return "joint"

    def with_faces(self, faces: Joint) -> Self:
        """Return the same grip with other touching faces; one without any comes back as it is."""
        return self

    def scaled(self, factor: float) -> Self:
        """Return the same grip with the stiffness of its touching faces changed by a factor."""
        return self if self.faces is None else self.with_faces(self.faces.scaled(factor))

    def at_end(self, side: str) -> Self:
        """Return the same grip with its touching faces at one end, ``low`` or ``high``, of their bands."""
        return self if self.faces is None else self.with_faces(self.faces.at_end(side))

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip."""
        return Hold(self.style)


@dataclass(frozen=True)
class RigidGrip(_Held):
    """The bar's face at x = 0 is held still; nothing behind it is meshed.

    Examples
    --------
    >>> from stickout.fem import RigidGrip
    >>> RigidGrip().style
    'rigid'
    """

    style: ClassVar[str] = "rigid"
    alike_all_round: ClassVar[bool] = True


@dataclass(frozen=True)
class HeldGrip(_Held):
    """The underside over the gripped length, and the top over ``pressed_mm``, are held still.

    ``pressed_mm`` runs from one distance behind the holder face to another; None is the whole gripped length.

    Examples
    --------
    A shank whose top is pressed from 12 mm behind the holder face on.

    >>> from stickout.fem import HeldGrip
    >>> HeldGrip(pressed_mm=(12, 60)).pressed_mm
    (12, 60)
    """

    pressed_mm: tuple[float, float] | None = None
    style: ClassVar[str] = "held"
    holds_part_of_a_side: ClassVar[bool] = True

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: where the top is pressed."""
        return Hold(self.style, self.pressed_mm)


@dataclass(frozen=True)
class BedGrip(_Held):
    """Every gripped side face stands on springs per area; the face at x = -gripped is free.

    Examples
    --------
    Faces as dry machined ones are as a rule, from soft to stiff [N/µm per mm²].

    >>> from stickout.fem import BedGrip
    >>> faces = BedGrip().bed.normal_n_per_um_mm2
    >>> faces.low, faces.likely, faces.high
    (0.3, 2.5, 10.0)
    """

    bed: Joint = field(default_factory=Joint)
    style: ClassVar[str] = "bed"
    alike_all_round: ClassVar[bool] = True

    @property
    def faces(self) -> Joint:
        """Return the bed."""
        return self.bed

    @property
    def springs(self) -> Joint:
        """Return the bed: it is springs whatever it says."""
        return self.bed

    @property
    def bedding(self) -> Joint:
        """Return the bed."""
        return self.bed

    @property
    def faces_name(self) -> str:
        """Return what its faces are called where their numbers are listed."""
        return "bed"

    def with_faces(self, faces: Joint) -> Self:
        """Return the same grip with another bed."""
        return replace(self, bed=faces)


@dataclass(frozen=True)
class SlotGrip(_Held):
    """A floor under the shank, screws on top; every touching face is a joint.

    Screw 1 stands ``first_screw_mm`` behind the holder face, the others follow at ``screw_spacing_mm``.

    Examples
    --------
    >>> from stickout.fem import SlotGrip
    >>> slot = SlotGrip(screws=2, screw_diameter_mm=8, first_screw_mm=10, screw_spacing_mm=25)
    >>> slot.joint.bonded
    False
    """

    screws: int
    screw_diameter_mm: float
    first_screw_mm: float
    screw_spacing_mm: float = 0.0
    joint: Joint = field(default_factory=Joint)
    style: ClassVar[str] = "slot"
    on_floor: ClassVar[bool] = True
    between_bodies: ClassVar[bool] = True

    @property
    def faces(self) -> Joint:
        """Return the faces of floor, shim and screws."""
        return self.joint

    def with_faces(self, faces: Joint) -> Self:
        """Return the same slot with other faces."""
        return replace(self, joint=faces)

    @property
    def screws_mm(self) -> Sequence[float]:
        """Return the distance of each screw's middle from the holder face [mm]."""
        return [self.first_screw_mm + n * self.screw_spacing_mm for n in range(self.screws)]

    @property
    def screw_area_mm2(self) -> float:
        """Return the area that all screws press on [mm^2]."""
        return self.screws * math.pi / 4 * self.screw_diameter_mm**2

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: where the screws press.

        A round screw presses as a square of the same area, so that the mesh can follow it.
        """
        side = self.screw_diameter_mm * math.sqrt(math.pi) / 2
        return Hold(self.style, screws_mm=self.screws_mm, screw_side_mm=side, bonded=self.joint.bonded)


@dataclass(frozen=True)
class SleeveGrip(_Held):
    """A solid block, bored for the bar, base held still; ``wall_mm`` is the wall below the bar.

    ``split`` leaves the saw cut open on one side. The block's material is the region ``holder``.

    Examples
    --------
    A sawn block of 40 by 30 mm with 7 mm of metal under the bar.

    >>> from stickout.fem import SleeveGrip
    >>> SleeveGrip(block_width_mm=40, block_height_mm=30, wall_mm=7, split=True).split
    True
    """

    block_width_mm: float
    block_height_mm: float
    wall_mm: float
    split: bool = False
    joint: Joint = field(default_factory=Joint)
    style: ClassVar[str] = "sleeve"
    between_bodies: ClassVar[bool] = True

    @property
    def faces(self) -> Joint:
        """Return the faces of bar and bore."""
        return self.joint

    def with_faces(self, faces: Joint) -> Self:
        """Return the same sleeve with other faces."""
        return replace(self, joint=faces)

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: the block."""
        block = Block(self.block_width_mm, self.block_height_mm, self.wall_mm, self.split)
        return Hold(self.style, block=block, bonded=self.joint.bonded)


Grip = RigidGrip | HeldGrip | BedGrip | SlotGrip | SleeveGrip
