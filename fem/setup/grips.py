"""How a bar is held: six grips, each of which knows what it presses, holds, loses and scales.

What differs from grip to grip is asked of the grip; nothing else needs to know which one it is.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar, Final, Self

from stickout.fem.setup.any_grip import AnyGrip, JointedGrip
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.joints import Joint, Touch
from stickout.meshes.parts import Block, Hold

STYLES: Final = ("rigid", "held", "bed", "slot", "sleeve", "centres")
FLOOR_AND_TOP: Final = ("floor", "screws")  # patches under the bar, and where it is pressed from above


@dataclass(frozen=True)
class RigidGrip(AnyGrip):
    """The bar's face at x = 0 is held still; nothing behind it is meshed.

    Examples
    --------
    >>> from stickout.fem import RigidGrip
    >>> RigidGrip().style
    'rigid'
    """

    style: ClassVar[str] = "rigid"
    alike_all_round: ClassVar[bool] = True
    grown_out: ClassVar[bool] = True

    @property
    def held_still(self) -> Sequence[str]:
        """Return the face at the holder."""
        return ("root",)


@dataclass(frozen=True)
class HeldGrip(AnyGrip):
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
    on_floor: ClassVar[bool] = True
    holds_part_of_a_side: ClassVar[bool] = True

    @property
    def held_still(self) -> Sequence[str]:
        """Return the floor and the pressed part of the top."""
        return FLOOR_AND_TOP

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: where the top is pressed."""
        return Hold(self.style, self.pressed_mm)


@dataclass(frozen=True)
class BedGrip(AnyGrip):
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

    def touching(self, *, shimmed: bool) -> Sequence[Touch]:
        """Return the bed; nothing lies under a bar that is bedded all round."""
        return (Touch("bed", "bed", self.bed),)

    @property
    def faces_name(self) -> str:
        """Return what its faces are called where their numbers are listed."""
        return "bed"

    def with_faces(self, faces: Joint) -> Self:
        """Return the same grip with another bed."""
        return replace(self, bed=faces)


@dataclass(frozen=True)
class SlotGrip(JointedGrip):
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
    style: ClassVar[str] = "slot"
    on_floor: ClassVar[bool] = True

    @property
    def held_still(self) -> Sequence[str]:
        """Return floor and screws where they are one piece with the bar."""
        return FLOOR_AND_TOP if self.one_piece else ()

    def touching(self, *, shimmed: bool) -> Sequence[Touch]:
        """Return the faces on the floor and under the screws, and between bar and shim."""
        if self.one_piece:
            return ()
        floor = Touch("shim on floor" if shimmed else "bar on floor", "floor", self.joint)
        half = self.hold.screw_side_mm / 2
        screws = Touch("screws on bar", "screws", self.joint, area_mm2=self.screw_area_mm2, within_mm=half)
        return (floor, screws, *((Touch("bar on shim", "bar on shim", self.joint, inside=True),) * shimmed))

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
        """Return what a mesh must know of the grip: where the screws press."""
        across, bonded = self.screw_diameter_mm, self.joint.bonded
        return Hold(self.style, screws_mm=self.screws_mm, screw_diameter_mm=across, bonded=bonded)


@dataclass(frozen=True)
class SleeveGrip(JointedGrip):
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
    style: ClassVar[str] = "sleeve"
    has_block: ClassVar[bool] = True

    @property
    def held_still(self) -> Sequence[str]:
        """Return the base of the block."""
        return ("holder_base",)

    def touching(self, *, shimmed: bool) -> Sequence[Touch]:
        """Return the faces of bar and bore; nothing lies under a bar in a bore."""
        return () if self.one_piece else (Touch("bar in sleeve", "bar in sleeve", self.joint, inside=True),)

    @property
    def hold(self) -> Hold:
        """Return what a mesh must know of the grip: the block."""
        block = Block(self.block_width_mm, self.block_height_mm, self.wall_mm, self.split)
        return Hold(self.style, block=block, bonded=self.joint.bonded)


Grip = RigidGrip | HeldGrip | BedGrip | SlotGrip | SleeveGrip | CentresGrip
