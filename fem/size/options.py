"""Every bar worth a look for a job: sections that fit the room, largest and as sold, in each material."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.fem.force.directions import cut_directions
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.grips import BedGrip, RigidGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.size.hole import Place, Space, farthest, largest, placed
from stickout.fem.size.job import Bore, Shank, SizeJob
from stickout.fem.size.stock import largest_stock_mm, shank_sizes_mm
from stickout.fem.units import MM, length_text
from stickout.meshes.outlines import Outline
from stickout.meshes.parts import Bar, Edge, Step
from stickout.meshes.pieces import outlines_of

LARGEST, STOCK = "largest", "stock"
FLAT_DEEP: Final = 0.1  # depth of each flat over the diameter
TUBE_BORE: Final = 0.5  # bore of a tube over its diameter
LEAST_MM: Final = 2.0  # below this nobody makes a bar
# Too hard to file or mill: bought round and ground.
ROUND_ONLY: Final = ("cemented carbide",)
_SAME_MM: Final = 1e-3


@dataclass(frozen=True)
class Option:
    """One bar for a job.

    Attributes
    ----------
    shape
        round, square, rectangle, flatted, tube or stepped.
    made
        ``largest`` (turned or ground to the largest size that fits) or ``stock`` (as sold).
    setup
        The bar held, its edge in place.
    place
        Where it lies in the hole; None for a shank.
    sleeve_mm
        Diameter of the holder's hole where the bar needs a sleeve in it; else None.
    """

    shape: str
    made: str
    setup: Setup
    place: Place | None
    sleeve_mm: float | None = None

    @property
    def size_mm(self) -> float:
        """Return the size of what sticks out [mm]: diameter, width of a square, height of a rectangle."""
        bar = self.setup.bar
        step = bar.steps[-1].diameter_mm if bar.steps else None
        return step or bar.size_mm


def space_of(job: SizeJob) -> Space:
    """Return the room for a bar in the hole of a job.

    Raises
    ------
    InputError
        The job is not a hole.
    """
    if not isinstance(job.work, Bore):
        raise InputError(key="bore", given=job.work, allowed="a hole", mend="Give bore and depth.")
    return Space(job.work.bore_mm * MM, job.cutter_mm * MM, job.clearance_mm * MM, job.room.raised_mm * MM)


def options(job: SizeJob) -> list[Option]:
    """Return every bar for a job that has been checked, unranked.

    Raises
    ------
    InputError
        The room is too small for any bar.
    """
    found = [one for m in job.materials for one in (_in_hole(job, m) if job.boring else _shanks(job, m))]
    if found:
        return found
    work = job.work
    key, size = ("bore", work.bore_mm) if isinstance(work, Bore) else ("height", work.height_mm)
    allowed = f"large enough for a bar of {length_text(LEAST_MM, job.units)}"
    raise InputError(
        key=key, given=size, allowed=allowed, mend="Leave less room for chips, or drill it out first."
    )


def _in_hole(job: SizeJob, material: Material) -> Iterator[Option]:
    """Yield the bars of one material for a hole."""
    across = largest(lambda size: Outline(radius=size / 2), space_of(job)) / MM
    if across < LEAST_MM:
        return
    for made, size in _sizes(across, largest_stock_mm(across, job.units)):
        yield from _rounds(job, material, made=made, size_mm=size)
    seat = _seat(job)
    if seat is not None and seat < across - _SAME_MM:
        across = seat  # no more than the holder takes, where nothing is turned down
        for made, size in _sizes(seat, largest_stock_mm(seat, job.units)):
            bar = Bar(overhang_mm=job.overhang_mm, diameter_mm=size)
            yield from _fitted(job, material, bar, made=made)
    if material.name not in ROUND_ONLY:
        yield from _shaped(job, material, across_mm=across)


def _shaped(job: SizeJob, material: Material, *, across_mm: float) -> Iterator[Option]:
    """Yield the bars that are not plain rounds, inside a circle of a diameter."""
    out = job.overhang_mm
    flats = Bar(
        overhang_mm=out,
        section="flatted",
        diameter_mm=across_mm,
        across_flats_mm=(1 - 2 * FLAT_DEEP) * across_mm,
        rotation_deg=90.0,
    )
    tube = Bar(overhang_mm=out, section="tube", diameter_mm=across_mm, bore_mm=TUBE_BORE * across_mm)
    for bar in (flats, tube):
        yield from _fitted(job, material, bar, made=LARGEST)
    side = largest(lambda size: Outline(half_width=size / 2, half_height=size / 2), space_of(job)) / MM
    # The bar's shank goes through the holder's hole corner to corner.
    side = min(side, across_mm / math.sqrt(2)) if _seat(job) is not None else side
    for made, width in _sizes(side, largest_stock_mm(side, job.units)):
        if width >= LEAST_MM:
            square = Bar(overhang_mm=out, section="square", width_mm=width)
            yield from _fitted(job, material, square, made=made)


def _sizes(largest_mm: float, sold_mm: float | None) -> list[tuple[str, float]]:
    """Return how a bar is made and its size: the largest, and the largest sold unless that is the same."""
    if sold_mm is None:
        return [(LARGEST, largest_mm)]
    if abs(sold_mm - largest_mm) < _SAME_MM:
        return [(STOCK, largest_mm)]
    return [(LARGEST, largest_mm), (STOCK, sold_mm)]


def _rounds(job: SizeJob, material: Material, *, made: str, size_mm: float) -> Iterator[Option]:
    """Yield a round bar, and with a holder of another size the same with a shank that fits its hole."""
    bar, seat = Bar(overhang_mm=job.overhang_mm, diameter_mm=size_mm), _seat(job)
    yield from _fitted(job, material, bar, made=made)
    if seat is None or abs(seat - size_mm) < _SAME_MM or material.name in ROUND_ONLY:
        return
    stepped = replace(bar, diameter_mm=seat, steps=(Step(0.0, diameter_mm=size_mm),))
    found = _fitted(job, material, stepped, made=LARGEST)
    yield from (replace(one, shape="stepped") for one in found)


def _seat(job: SizeJob) -> float | None:
    """Return the diameter of the holder's hole, where it counts [mm]."""
    return job.holder.bore_mm if job.holder.style == "bed" else None


def _fitted(job: SizeJob, material: Material, bar: Bar, *, made: str) -> Iterator[Option]:
    """Yield the option of a bar in the hole, if it fits there and its shank fits the holder."""
    space = space_of(job)
    outer = replace(bar, diameter_mm=bar.steps[-1].diameter_mm) if bar.steps else bar
    outline, turn = outlines_of(outer)[0], math.radians(bar.rotation_deg)
    place = placed(outline, space, turn=turn)
    # What must go into the holder's hole is the shank, corner to corner.
    seat, across = _seat(job), 2 * farthest(outlines_of(bar)[0], (0.0, 0.0)) / MM
    if place is None or (seat is not None and across > seat + _SAME_MM):
        return
    side = -1 if job.working_cut.wall == "rear" else 1
    place = replace(place, y=side * place.y)
    edge = Edge(offset_y_mm=side * space.bore / 2 / MM - place.y / MM, offset_z_mm=-place.z / MM)
    sleeve = seat if seat is not None and across < seat - _SAME_MM else None
    yield Option(bar.section, made, held_setup(job, material, bar=bar, edge=edge), place, sleeve)


def held_setup(job: SizeJob, material: Material, *, bar: Bar, edge: Edge) -> Setup:
    """Return the set-up of a bar for a job: gripped as the job says, with the job's cut."""
    across = bar.size_mm
    grip: BedGrip | RigidGrip | CentresGrip = BedGrip()
    if job.between:
        grip, edge = CentresGrip(), replace(edge, end_distance_mm=bar.overhang_mm / 2)
    elif job.holder.style == "rigid":
        grip = RigidGrip()
    beside, materials = job.beside, {"bar": material}
    part = None if beside is None else beside.work
    if beside is not None and part is not None:
        materials["work"] = beside.materials["work"]
    return Setup(
        bar=replace(bar, gripped_mm=0.0 if grip.grown_out else job.gripped_for(across)),
        grip=grip,
        materials=materials,
        post=None if beside is None or job.between else beside.post,
        work=part,
        edge=edge,
        cut=job.working_cut,
        solve=Solve(modes=2, accuracy=3e-3),
        units=job.units,
    )


def _shanks(job: SizeJob, material: Material) -> Iterator[Option]:
    """Yield the shanks of one material: sold sections under the post's height, and the largest one."""
    work = job.work
    if not isinstance(work, Shank):
        return
    wide = math.inf if work.groove_mm is None else work.groove_mm - 2 * job.clearance_mm
    high = work.height_mm
    if min(wide, high) < 0.5 * LEAST_MM:
        return
    for made, broad in _sizes(min(high, wide), largest_stock_mm(min(high, wide), job.units)):
        yield _shank(job, material, made=made, sizes=(high, broad))
    for sizes in shank_sizes_mm(job.units):
        same = np.allclose(sizes, (high, min(high, wide)), atol=_SAME_MM)
        if sizes[0] <= high + _SAME_MM and sizes[1] <= wide + _SAME_MM and not same:
            yield _shank(job, material, made=STOCK, sizes=sizes)


def _shank(job: SizeJob, material: Material, *, made: str, sizes: tuple[float, float]) -> Option:
    """Return a shank of height and width [mm], its edge on top, beside the shoulder."""
    high, wide = sizes
    bar = Bar(overhang_mm=job.overhang_mm, section="rectangle", width_mm=wide, height_mm=high)
    # At a shoulder the edge is the corner beside it, in a groove the middle of the blade.
    groove = isinstance(job.work, Shank) and job.work.groove_mm is not None
    edge = Edge(offset_y_mm=0.0 if groove else shoulder_side(job) * wide / 2, offset_z_mm=high / 2)
    return Option("rectangle", made, held_setup(job, material, bar=bar, edge=edge), None)


def shoulder_side(job: SizeJob) -> int:
    """Return which side of a shank the shoulder lies on, that of the feed: 1 for +y, -1 for -y."""
    cut = job.working_cut
    ways = cut_directions(cut.operation or "turning", cut.side, rear_tool=cut.rear_tool)
    return 1 if (ways.feed + ways.passive)[1] > 0 else -1


def shape_family(job: SizeJob) -> dict[str, Setup]:
    """Return shape -> mild steel bar that fills the same room; a taper as steps is in ``tapered_bar``."""
    steel = replace(job, materials=(STEEL,), holder=replace(job.holder, bore_mm=None))
    every = options(steel)
    # A smaller bar that is sold must not stand for the round one, or every other shape would be compared
    # with a thinner bar; where a size that is sold fills the room there is none made for it.
    thickest = max((one for one in every if one.shape == "round"), key=lambda one: one.size_mm)
    return {one.shape: one.setup for one in every if one.made == LARGEST} | {"round": thickest.setup}
