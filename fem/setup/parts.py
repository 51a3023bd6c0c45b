"""A whole set-up: the bar, how it is held, what is added to it, what it cuts, and how exactly to solve.

Frozen data only. ``stickout.fem.setup.checks.check_setup`` is the one public check of the ranges;
``stickout.fem.records.setup.setup_record`` tells a set-up back in SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import ClassVar, Final

from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.materials import Band, Material
from stickout.meshes.parts import Bar, Edge, Shim, Wrap

BONDS: Final = ("bonded", "loose")
OPERATIONS: Final = ("turning", "boring", "facing", "parting")
FEED_SIDES: Final = ("left", "right")
WALLS: Final = ("front", "rear")
ABSORBER_MOVES: Final = ("both", "up", "sideways")
WORK_HOLDS: Final = ("chuck", "chuck and centre", "between centres")
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
    A stiffness you measured takes the place of the assumed band.

    >>> from stickout.fem import BedGrip, Joint, exactly
    >>> grip = BedGrip(bed=Joint(normal_n_per_um_mm2=exactly(1.8)))
    >>> grip.bed.normal_n_per_um_mm2.high
    1.8
    """

    normal_n_per_um_mm2: Band = DRY_STIFFNESS
    shear_ratio: Band = DRY_SHEAR_RATIO
    loss_factor: Band = DRY_LOSS
    bonded: bool = False


@dataclass(frozen=True)
class RigidGrip:
    """The bar's face at x = 0 is held still; nothing behind it is meshed.

    Examples
    --------
    The stiffest grip there is; every real one is softer.

    >>> from stickout.fem import RigidGrip
    >>> RigidGrip().style
    'rigid'
    """

    style: ClassVar[str] = "rigid"


@dataclass(frozen=True)
class HeldGrip:
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


@dataclass(frozen=True)
class BedGrip:
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


@dataclass(frozen=True)
class SlotGrip:
    """A floor under the shank, screws on top; every touching face is a joint.

    Screw 1 stands ``first_screw_mm`` behind the holder face, the others follow at ``screw_spacing_mm``.

    Examples
    --------
    Two M8 screws, 10 and 35 mm behind the holder face.

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


@dataclass(frozen=True)
class SleeveGrip:
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


Grip = RigidGrip | HeldGrip | BedGrip | SlotGrip | SleeveGrip


@dataclass(frozen=True)
class Turns:
    """What is known of a loose wrap beyond its size: the wire, its pitch, how it rubs.

    ``rubbing_loss_factor`` is the user's own upper figure; None promises no rubbing at all.
    """

    wire_diameter_mm: float | None = None
    pitch_mm: float | None = None
    rubbing_loss_factor: float | None = None


@dataclass(frozen=True)
class Cut:
    """What is cut and how; None where the set-up does not say.

    ``depth_mm`` is radial. ``edge_angle_deg`` is the tool cutting edge angle (ISO 3002 kappa_r).
    ``force_direction`` is the force on the tool in the bar frame, any length, instead of the force model's.
    ``feed_toward`` is for turning, ``wall`` (of the bore that is cut, front is +y) for boring, ``work_side``
    (where the work lies) for facing; left is -y, right +y. None is the usual side: left, or front.

    Examples
    --------
    What ``cut_answer`` needs to know; without the work's material only the direction of the force follows.

    >>> from stickout.fem import Cut
    >>> cut = Cut(operation="boring", work_material="mild steel", depth_mm=0.2, feed_mm=0.05,
    ...           nose_radius_mm=0.4, edge_angle_deg=93)
    >>> cut.side is None  # the usual one, the front wall of the bore
    True
    """

    operation: str | None = None
    work_material: str | None = None
    depth_mm: float | None = None
    feed_mm: float | None = None
    nose_radius_mm: float | None = None
    edge_angle_deg: float | None = None
    rake_deg: float = 0.0
    work_diameter_mm: float | None = None
    speeds_rpm: tuple[float, ...] | None = None
    force_direction: tuple[float, float, float] | None = None
    feed_toward: str | None = None
    wall: str | None = None
    work_side: str | None = None
    rear_tool: bool = False
    wear_factor: float = 1.0
    edge_radius_um: float | None = None

    @property
    def side(self) -> str | None:
        """Return the side of the operation, as ``stickout.fem.force.directions.cut_directions`` takes it."""
        sides = {"turning": self.feed_toward, "boring": self.wall, "facing": self.work_side}
        return sides.get(self.operation or "")


@dataclass(frozen=True)
class Work:
    """The part that is cut; ``cut_at_mm`` is the distance from the chuck or the headstock centre."""

    diameter_mm: float
    length_mm: float
    held: str
    cut_at_mm: float
    bore_mm: float | None = None


@dataclass(frozen=True)
class Absorber:
    """A slug in soft rings, or a ring round the bar: a mass on a spring and a dashpot at one place.

    ``position_mm`` is the distance of its middle from the holder face. ``frequency_hz`` is its own note while
    the bar is held still, not the note it makes on the bar. ``damping_ratio`` is that of its own,
    ``c / (2 m w_a)``. ``direction`` is ``both`` (across the bar, up and sideways alike, as a round slug in
    round rings moves), ``up`` (z) or ``sideways`` (y). Along the bar it is taken as riding on nothing.
    """

    mass_g: float
    frequency_hz: float
    damping_ratio: float
    position_mm: float
    direction: str = "both"


@dataclass(frozen=True)
class Solve:
    """How many modes, and the wanted relative error of their frequencies."""

    modes: int = 6
    accuracy: float = 1e-3


@dataclass(frozen=True)
class Setup:
    """One set-up, lengths in mm as the names say.

    ``materials`` gives the material of each region there is: bar always (the gripped part shares it),
    holder, shim, wrap and work where they are. ``units`` only chooses how lengths are read and shown.

    Examples
    --------
    >>> from stickout.fem import Bar, RigidGrip, Setup, material
    >>> bar = Bar(overhang_mm=64, diameter_mm=16)
    >>> Setup(bar=bar, grip=RigidGrip()).bar_material.name
    'steel'
    >>> Setup(bar=bar, grip=RigidGrip(), materials={"bar": material("carbide")}).bar_material.name
    'cemented carbide'
    """

    bar: Bar
    grip: Grip
    materials: Mapping[str, Material] = field(default_factory=lambda: MappingProxyType({"bar": STEEL}))
    edge: Edge = field(default_factory=Edge)
    shim: Shim | None = None
    wrap: Wrap | None = None
    turns: Turns | None = None
    cut: Cut | None = None
    work: Work | None = None
    absorber: Absorber | None = None
    solve: Solve = field(default_factory=Solve)
    title: str = ""
    units: str = "mm"

    @property
    def bar_material(self) -> Material:
        """Return the bar's material."""
        return self.materials["bar"]
