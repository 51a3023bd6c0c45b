"""What the user describes: bar, steps, edge, shim, wrap. Lengths in mm, checked where they enter."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field

from stickout.meshes.errors import InputError

SECTIONS = ("round", "tube", "square", "rectangle", "flatted")


@dataclass(frozen=True)
class Step:
    """Another size of the bar from ``start_mm`` (distance from the holder face) on.

    Sizes left as None keep the value of the piece before.
    """

    start_mm: float
    diameter_mm: float | None = None
    bore_mm: float | None = None
    across_flats_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None


@dataclass(frozen=True)
class Bar:
    """The slender part that carries the cutting edge.

    ``section`` is one of ``SECTIONS``. round needs ``diameter_mm``; tube also ``bore_mm``; flatted
    also ``across_flats_mm`` (flats normal to z at 0 degrees); square needs ``width_mm``; rectangle
    ``width_mm`` (along y) and ``height_mm`` (along z). ``rotation_deg`` turns the section about +x,
    right-handed. ``gripped_mm`` is the length behind the holder face (x < 0).

    Examples
    --------
    A round bar, and one with two flats that stand upright.

    >>> from stickout.fem import Bar
    >>> Bar(overhang_mm=80, diameter_mm=16, gripped_mm=60).section
    'round'
    >>> flats = Bar(overhang_mm=80, section="flatted", diameter_mm=16, across_flats_mm=13, rotation_deg=90)
    >>> flats.across_flats_mm
    13
    """

    overhang_mm: float
    section: str = "round"
    diameter_mm: float | None = None
    bore_mm: float | None = None
    across_flats_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    gripped_mm: float = 0.0
    rotation_deg: float = 0.0
    steps: Sequence[Step] = field(default=())

    @property
    def size_mm(self) -> float:
        """Return the size that an overhang is measured in: the diameter, or the height of a flat bar [mm].

        The shop rule of four diameters speaks of it; 0 where no size is given.
        """
        return self.diameter_mm or self.height_mm or self.width_mm or 0.0

    @property
    def widest_mm(self) -> float:
        """Return the largest of its outer sizes [mm]; 0 where none is given."""
        return max(self.diameter_mm or 0.0, self.width_mm or 0.0, self.height_mm or 0.0)


@dataclass(frozen=True)
class Edge:
    """Where the cutting force acts, and the point mass (insert, screw, head) that rides there.

    Examples
    --------
    An insert of 6 g whose corner stands 2 mm before the middle of the bar.

    >>> from stickout.fem import Edge
    >>> Edge(offset_y_mm=2, mass_g=6).mass_g
    6
    """

    end_distance_mm: float = 0.0
    offset_y_mm: float = 0.0
    offset_z_mm: float = 0.0
    mass_g: float = 0.0


@dataclass(frozen=True)
class Block:
    """A solid block bored for the bar: size, wall below the bar, whether it is sawn open on one side."""

    width_mm: float
    height_mm: float
    wall_mm: float
    split: bool = False


@dataclass(frozen=True)
class Hold:
    """What a mesh must know of the grip.

    Attributes
    ----------
    style
        rigid, held, bed, slot or sleeve.
    pressed_mm
        held: where the top is pressed (from, to; distances from the holder face), the whole gripped
        length when None.
    screws_mm
        slot: distance of each screw's middle from the holder face.
    screw_diameter_mm
        slot: diameter of the end of a screw that presses.
    block
        sleeve: the block.
    bonded
        slot and sleeve: the touching faces are one piece; else they are joints with nodes on both sides.
    """

    style: str
    pressed_mm: tuple[float, float] | None = None
    screws_mm: Sequence[float] = ()
    screw_diameter_mm: float = 0.0
    block: Block | None = None
    bonded: bool = False

    @property
    def screw_side_mm(self) -> float:
        """Return the side of the square that a mesh can follow, of the same area as a round screw [mm]."""
        return self.screw_diameter_mm * math.sqrt(math.pi) / 2


@dataclass(frozen=True)
class Shim:
    """A flat soft layer between the shank and the holder floor, under the whole gripped length."""

    thickness_mm: float


@dataclass(frozen=True)
class Wrap:
    """Soft metal wound round the bar: ``bonded`` (a solid layer) or ``loose`` (mass only)."""

    thickness_mm: float
    start_mm: float
    length_mm: float
    bond: str = "bonded"


__all__ = ["SECTIONS", "Bar", "Block", "Edge", "Hold", "InputError", "Shim", "Step", "Wrap"]
