"""A whole set-up: the bar, how it is held, what is added to it, what it cuts, and how exactly to solve.

Frozen data only. ``stickout.fem.setup.checks.check_setup`` is the one public check of the ranges;
``stickout.fem.records.setup.setup_record`` tells a set-up back in SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Final

from stickout.fem.setup.bands import Band
from stickout.fem.setup.grips import Grip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.materials import Material
from stickout.fem.setup.usual import Usual
from stickout.fem.setup.work_parts import Post, Work
from stickout.meshes.parts import Bar, Edge, Shim, Wrap

BONDS: Final = ("bonded", "loose")
EDGE_STATES: Final = ("ground", "honed", "worn")
HEARD: Final = ("sang", "quiet")
OPERATIONS: Final = ("turning", "boring", "facing", "parting")
FEED_SIDES: Final = ("headstock", "tailstock")
WORK_SIDES: Final = ("left", "right")
WALLS: Final = ("front", "rear")
ABSORBER_MOVES: Final = ("both", "up", "sideways")


@dataclass(frozen=True)
class Turns:
    """What is known of a loose wrap beyond its size: the wire, its pitch, how it rubs.

    ``rubbing_loss_factor`` is the user's own upper figure; None promises no rubbing at all.
    """

    wire_diameter_mm: float | None = None
    pitch_mm: float | None = None
    rubbing_loss_factor: float | None = None


@dataclass(frozen=True)
class HeardCut:
    """A cut that was made and heard: ``sang`` or ``quiet``; None where it was as the set-up says."""

    rpm: float
    heard: str
    depth_mm: float | None = None
    feed_mm: float | None = None
    overhang_mm: float | None = None
    pitch_hz: float | None = None


@dataclass(frozen=True)
class Cut:
    """What is cut and how; None where the set-up does not say.

    ``depth_mm`` is radial. ``edge_angle_deg`` is the tool cutting edge angle (ISO 3002 kappa_r).
    ``force_direction`` is the force on the tool in the bar frame, any length, instead of the force model's.
    ``feed_toward`` is for turning, ``wall`` (of the bore that is cut, front is +y) for boring, ``work_side``
    (where the work lies) for facing, left is -y, right +y. None is the usual side: headstock, front, or left.
    ``push`` is how hard the work pushes the edge away over what the table says, where it was measured.

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
    edge: str | None = None
    edge_land_mm: float | None = None
    clearance_deg: float | None = None
    push: Band | None = None
    heard: tuple[HeardCut, ...] = ()

    @property
    def side(self) -> str | None:
        """Return the side of the operation, as ``stickout.fem.force.directions.cut_directions`` takes it."""
        sides = {"turning": self.feed_toward, "boring": self.wall, "facing": self.work_side}
        return sides.get(self.operation or "")


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
class Measured:
    """What a fit measured: it stands in the grip's faces (the bar's loss without them), in cut and post.

    Bands are None where they were not measured; ``date`` and ``origin`` are the user's words; ``style`` is
    that of the grip it was measured on, ``work_material`` what was cut, empty where not told. ``push`` is
    over what the force table says; the others are springs of the post up, sideways and against tilting.
    """

    stiffness_n_per_um_mm2: Band | None = None
    loss_factor: Band | None = None
    date: str = ""
    origin: str = ""
    style: str = ""
    push: Band | None = None
    work_material: str = ""
    post_up_n_per_um: Band | None = None
    post_sideways_n_per_um: Band | None = None
    post_tilt_nm_per_rad: Band | None = None


@dataclass(frozen=True)
class Setup:
    """One set-up, lengths in mm as the names say.

    ``materials`` gives the material of each region there is: bar always (the gripped part shares it),
    holder, shim, wrap and work where they are. ``units`` only chooses how lengths are read and shown.
    ``usual`` are the values that a set-up file did not give and that its reader took as usual.

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
    post: Post | None = None
    absorber: Absorber | None = None
    measured: Measured | None = None
    solve: Solve = field(default_factory=Solve)
    title: str = ""
    units: str = "mm"
    usual: tuple[Usual, ...] = ()

    @property
    def bar_material(self) -> Material:
        """Return the bar's material."""
        return self.materials["bar"]
