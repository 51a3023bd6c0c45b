"""Range checks of the cut, the materials and the solver's wishes: one InputError per fault."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING
from stickout.fem.setup.check_bar import smallest_size_mm
from stickout.fem.setup.check_common import Faults, choice_fault, found, size_fault
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import (
    EDGE_STATES,
    FEED_SIDES,
    HEARD,
    OPERATIONS,
    WALLS,
    WORK_SIDES,
    Cut,
    Setup,
)
from stickout.fem.setup.work_materials import work_material
from stickout.fem.units import GPA, length_text


@dataclass(frozen=True)
class Range:
    """The range of one number: ends allowed, the words for it, and how to mend."""

    key: str
    low: float
    high: float
    allowed: str
    mend: str

    def faults(self, value: float | None) -> Faults:
        """Yield the fault of a value outside the range; None has none."""
        if value is not None and not self.low <= value <= self.high:
            yield InputError(key=self.key, given=value, allowed=self.allowed, mend=self.mend)


EDGE_ANGLE: Final = Range(
    "cut.edge_angle_deg", 10, 120, "from 10 to 120 degrees", "It is the angle between the edge and the feed."
)
RAKE: Final = Range("cut.rake_deg", -45, 45, "from -45 to 45 degrees", "Write 0 for a flat top.")
WEAR: Final = Range("cut.wear_factor", 1, 3, "from 1 (sharp) to 3", "A worn edge needs 1.3 to 1.5.")
EDGE_RADIUS: Final = Range(
    "cut.edge_radius_um",
    0.1,
    500,
    "from 0.1 to 500 µm",
    "A ground edge has 5 to 20 µm, a honed one 25 to 60.",
)
CLEARANCE: Final = Range("cut.clearance_deg", 0.5, 30, "from 0.5 to 30 degrees", "5 to 11 degrees are usual.")
LAND: Final = Range("cut.edge_land", 0.001, 1, "from 0.001 to 1 mm", "A sharp edge has 0.02 to 0.08 mm.")
MODES: Final = Range("solve.modes", 1, 40, "from 1 to 40", "Six are enough for most bars.")
ACCURACY: Final = Range(
    "solve.accuracy",
    1e-5,
    0.05,
    "from 0.00001 to 0.05",
    "It is a relative error; 0.001 is a tenth of a per cent.",
)
RADIAL: Final = "Depth is radial: half of what comes off the diameter."


def cut_faults(setup: Setup) -> Faults:
    """Yield the faults of the cut."""
    cut = setup.cut
    if cut is None:
        return
    yield from _words_faults(cut)
    yield from _length_faults(cut, setup)
    yield from EDGE_ANGLE.faults(cut.edge_angle_deg)
    yield from RAKE.faults(cut.rake_deg)
    yield from WEAR.faults(cut.wear_factor)
    yield from EDGE_RADIUS.faults(cut.edge_radius_um)
    yield from CLEARANCE.faults(cut.clearance_deg)
    yield from LAND.faults(cut.edge_land_mm)
    yield from _heard_faults(cut)
    yield from _speed_faults(cut.speeds_rpm)
    yield from _direction_faults(cut.force_direction)


def _heard_faults(cut: Cut) -> Faults:
    """Yield the faults of the state of the edge and of the cuts that were heard."""
    if cut.edge is not None:
        yield from found(choice_fault("cut.edge", cut.edge, choices=EDGE_STATES))
    for number, one in enumerate(cut.heard, start=1):
        key = f"cut.heard.{number}"
        yield from found(choice_fault(f"{key}.heard", one.heard, choices=HEARD))
        for name in ("rpm", "depth_mm", "feed_mm", "overhang_mm", "pitch_hz"):
            value = getattr(one, name)
            if value is not None and not 0 < value <= 1e5:
                mend = "Leave it out where it is not known."
                part = f"{key}.{name.removesuffix('_mm')}"
                yield InputError(key=part, given=value, allowed="above 0", mend=mend)


def _words_faults(cut: Cut) -> Faults:
    """Yield the faults of operation, work material, and the sides the tool may be on."""
    if cut.operation is not None:
        yield from found(choice_fault("cut.operation", cut.operation, choices=OPERATIONS))
    elif cut.force_direction is None:
        yield InputError(
            key="cut.operation",
            given=MISSING,
            allowed="one of " + ", ".join(OPERATIONS),
            mend="It says which way the force acts; or give force_direction.",
        )
    if cut.work_material is not None:
        yield from _work_material_faults(cut.work_material)
    yield from _side_faults("feed_toward", cut.feed_toward, FEED_SIDES, cut=cut, operations=("turning",))
    yield from _side_faults("wall", cut.wall, WALLS, cut=cut, operations=("boring",))
    yield from _side_faults("work_side", cut.work_side, WORK_SIDES, cut=cut, operations=("facing",))
    if cut.rear_tool and cut.operation == "boring":
        mend = 'Give the wall that is cut: wall = "rear".'
        yield InputError(key="cut.rear_tool", given=True, allowed="left out for boring", mend=mend)


def _work_material_faults(name: str) -> Faults:
    """Yield the fault of a work material that the force table does not hold."""
    try:
        work_material(name)
    except InputError as fault:
        yield InputError(key="cut.work_material", given=name, allowed=fault.allowed, mend=fault.mend)


def _side_faults(
    name: str, value: str | None, choices: tuple[str, ...], *, cut: Cut, operations: Sequence[str]
) -> Faults:
    """Yield the faults of a side: not a side, or one that the operation does not have."""
    if value is None:
        return
    yield from found(choice_fault(f"cut.{name}", value, choices=choices))
    if cut.operation in OPERATIONS and cut.operation not in operations:
        yield InputError(
            key=f"cut.{name}",
            given=value,
            allowed=f"left out for {cut.operation}",
            mend=f"It belongs to {' and '.join(operations)}.",
        )


def _length_faults(cut: Cut, setup: Setup) -> Faults:
    """Yield the faults of depth, feed, nose radius and work diameter."""
    mends = {
        "depth": RADIAL,
        "feed": "Feed is per turn of the work.",
        "nose_radius": "Read it off the insert's code or the grinding gauge.",
        "work_diameter": "Measure the work where it is cut.",
    }
    for name, mend in mends.items():
        value = getattr(cut, f"{name}_mm")
        if value is not None:
            yield from found(size_fault(f"cut.{name}", value, units=setup.units, mend=mend))
    depth, work, nose = cut.depth_mm, cut.work_diameter_mm, cut.nose_radius_mm
    if depth is not None and work is not None and depth >= work / 2 > 0:
        allowed = f"below the radius of the work, {length_text(work / 2, setup.units)}"
        yield InputError(key="cut.depth", given=depth, allowed=allowed, mend=RADIAL)
    feed = cut.feed_mm
    if feed is not None and nose is not None and feed >= 2 * nose > 0:
        allowed = f"below twice the nose radius, {length_text(2 * nose, setup.units)}"
        mend = "Lower it, or check the nose radius."
        yield InputError(key="cut.feed", given=feed, allowed=allowed, mend=mend)
    most = smallest_size_mm(setup.bar, at_end=True) / 2
    if nose is not None and nose > most > 0:
        yield InputError(
            key="cut.nose_radius",
            given=nose,
            allowed=f"at most half the bar's size at its end, {length_text(most, setup.units)}",
            mend=mends["nose_radius"],
        )


def _speed_faults(speeds: Sequence[float] | None) -> Faults:
    """Yield the fault of a list of speeds that is empty, or holds one that is not above zero."""
    if speeds is None or (speeds and all(0 < speed <= 1e5 for speed in speeds)):
        return
    yield InputError(
        key="cut.speeds_rpm",
        given=list(speeds),
        allowed="one speed or more, each above 0 and at most 100000 rpm",
        mend="List the speeds of your machine, or leave the key out.",
    )


def _direction_faults(direction: Sequence[float] | None) -> Faults:
    """Yield the fault of a direction that is not three numbers, or has no length."""
    if direction is None:
        return
    finite = all(math.isfinite(one) for one in direction)
    if len(direction) != 3 or not finite or not any(direction):
        yield InputError(
            key="cut.force_direction",
            given=list(direction),
            allowed="three numbers along x, y, z, not all zero",
            mend="It is the force on the tool in the bar frame: x to the free end, z up.",
        )


def solve_faults(setup: Setup) -> Faults:
    """Yield the faults of the number of modes and the accuracy."""
    yield from MODES.faults(setup.solve.modes)
    yield from ACCURACY.faults(setup.solve.accuracy)


def material_faults(materials: Iterable[Material]) -> Faults:
    """Yield the faults of materials; the usual slip is a unit, so the ranges are those of real matter."""
    for material in materials:
        path = f"materials.{material.name}"
        ranges = (
            (1e-3, 1500.0, "youngs_modulus_gpa", "from 0.001 to 1500 GPa", "Steel has 210 GPa."),
            (0.0, 0.49, "poisson_ratio", "from 0 to 0.49", "Metals have 0.2 to 0.45."),
            (10.0, 25000.0, "density_kg_m3", "from 10 to 25000 kg/m3", "Steel has 7850 kg/m3."),
            (
                0.0,
                2.0,
                "loss_factor",
                "from 0 to 2",
                "It is twice the damping ratio; bare metal has 0.0001 to 0.01.",
            ),
        )
        scales = (GPA, 1.0, 1.0, 1.0)
        bands = material.quantities.values()
        for (low, high, name, allowed, mend), scale, band in zip(ranges, scales, bands, strict=True):
            yield from Range(f"{path}.{name}", low, high, allowed, mend).faults(band.likely / scale)
