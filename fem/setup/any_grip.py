"""What every grip can be asked; what differs from grip to grip, the grip itself answers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar, Self

from stickout.fem.setup.joints import Joint, Touch
from stickout.meshes.parts import Hold


@dataclass(frozen=True)
class AnyGrip:
    """What every grip can be asked, answered for one that has no touching faces.

    Attributes
    ----------
    style
        Its name in the set-up file.
    alike_all_round
        Whether it holds a bar alike however the bar is turned.
    grown_out
        Whether the bar's face at the holder is held still, as if grown out of a wall: nothing is meshed
        behind it.
    on_floor
        Whether the bar lies on a floor and is pressed from above.
    between_bodies
        Whether the bar touches something else that holds it, so that joints lie between the two.
    has_block
        Whether it is a solid block of its own material, that is meshed.
    holds_part_of_a_side
        Whether part of a side is held as if it were one with the holder.
    at_both_ends
        Whether the far end of the bar is held too, so that the edge lies between.
    """

    style: ClassVar[str]
    alike_all_round: ClassVar[bool] = False
    grown_out: ClassVar[bool] = False
    on_floor: ClassVar[bool] = False
    between_bodies: ClassVar[bool] = False
    has_block: ClassVar[bool] = False
    holds_part_of_a_side: ClassVar[bool] = False
    at_both_ends: ClassVar[bool] = False

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
    def one_piece(self) -> bool:
        """Return whether bar and holder are one piece at their faces: glued, shrunk or soldered."""
        return self.between_bodies and self.faces is not None and self.faces.bonded

    @property
    def perfect(self) -> bool:
        """Return whether nothing but the bar itself gives: no touching faces and no holder are counted."""
        return self.faces is None

    @property
    def held_still(self) -> Sequence[str]:
        """Return the patches of the mesh that are held still."""
        return ()

    def touching(self, *, shimmed: bool) -> Sequence[Touch]:
        """Return the touching faces that are springs, with a shim under the bar or without."""
        return ()

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
class JointedGrip(AnyGrip):
    """A grip whose bar touches what holds it with one kind of face throughout.

    Attributes
    ----------
    joint
        Those faces.
    between_bodies
        True: see ``AnyGrip``.
    """

    joint: Joint = field(default_factory=Joint, kw_only=True)
    between_bodies: ClassVar[bool] = True

    @property
    def faces(self) -> Joint:
        """Return the touching faces of bar and holder."""
        return self.joint

    def with_faces(self, faces: Joint) -> Self:
        """Return the same grip with other touching faces."""
        return replace(self, joint=faces)
