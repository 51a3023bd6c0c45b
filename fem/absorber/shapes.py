"""Slugs and rings that fit a bar: sizes, mass, place, and the bar bored for them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, hint
from stickout.fem.setup.check_bar import smallest_size_mm
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.units import MM, MM_PER_INCH, length_text
from stickout.meshes.parts import Bar, Step

PLUG, RING = "plug", "ring"
KINDS: Final = (PLUG, RING)
# Shares of the bar's size. All common practice, no source: room for rubber, a cap that still holds a cutter.
BORES: Final = (0.45, 0.55, 0.65)
WIDEST: Final = 0.8
PILOT: Final = 0.2
GAP: Final = 0.1
GAP_ENDS_MM: Final = (0.8, 2.0)
CAP: Final = 0.15
CAP_LEAST_MM: Final = 3.0
HEAD: Final = 0.5
END_GAP_MM: Final = 1.0
DEEPEST: Final = 0.6
PLUG_LENGTHS: Final = (1.5, 2.5, 4.0)
RING_LENGTHS: Final = (0.5, 1.0, 1.5)


@dataclass(frozen=True)
class AbsorberJob:
    """What is to be sized.

    Attributes
    ----------
    setup
        The bar as it is; an absorber it may have is taken off first.
    kind
        plug: a slug inside the bar; ring: a ring round it.
    materials
        What slug or ring may be made of.
    bore_mm
        Plug: bore at the free end; None: what the tube has, or three bores are tried on a solid bar.
    outside_mm
        Ring: its greatest outside diameter, the room there is.
    place_mm
        Distance of the middle from the holder face; None: as near the edge as it goes.
    """

    setup: Setup
    kind: str
    materials: Sequence[Material]
    bore_mm: float | None = None
    outside_mm: float | None = None
    place_mm: float | None = None


@dataclass(frozen=True)
class Slug:
    """A slug, or a ring: lengths in mm.

    Attributes
    ----------
    kind
        plug or ring.
    material
        What it is made of.
    outside_mm, inside_mm, length_mm
        Its sizes; a plug has inside 0.
    gap_mm
        Room for the soft rings all round.
    bore_mm
        Bore of the bar it lies in; 0 for a ring.
    position_mm
        Distance of its middle from the holder face.
    """

    kind: str
    material: Material
    outside_mm: float
    inside_mm: float
    length_mm: float
    gap_mm: float
    bore_mm: float
    position_mm: float

    @property
    def mass_g(self) -> float:
        """Return its mass [g]."""
        area = math.pi / 4 * (self.outside_mm**2 - self.inside_mm**2) * MM**2
        return 1e3 * area * self.length_mm * MM * self.material.density.likely


def check_absorber_job(job: AbsorberJob) -> None:
    """Check what was asked for, before anything is solved; keys are the options' names.

    Raises
    ------
    InputError
        The first fault.
    """
    for fault in _faults(job):
        raise fault


def _faults(job: AbsorberJob) -> Iterator[InputError]:
    bar, units = job.setup.bar, job.setup.units
    size = end_size_mm(bar)
    if job.kind not in KINDS:
        mend = hint(job.kind, KINDS, otherwise="Choose one of these.")
        yield InputError(key="absorber_kind", given=job.kind, allowed="plug or ring", mend=mend)
        return
    if bar.section not in ("round", "tube"):
        yield InputError(
            key="bar.section",
            given=bar.section,
            allowed="round or tube for an absorber that is sized here",
            mend="For other sections describe the absorber yourself, in a section [absorber].",
        )
        return
    if not job.materials:
        mend = "Name one or more, such as 'tungsten heavy alloy,steel'."
        yield InputError(key="slug_material", given=MISSING, allowed="a material", mend=mend)
    yield from _bore_faults(job, size) if job.kind == PLUG else _ring_faults(job, size)
    place = job.place_mm
    if place is not None and not 0 < place < bar.overhang_mm:
        yield InputError(
            key="place",
            given=place,
            allowed=f"above 0 and below the overhang, {length_text(bar.overhang_mm, units)}",
            mend="Measure from the holder face to the middle of slug or ring.",
        )


def _bore_faults(job: AbsorberJob, size: float) -> Iterator[InputError]:
    """Yield the faults of a plug's bore."""
    units, given, has = job.setup.units, job.bore_mm, end_bore_mm(job.setup.bar)
    if job.outside_mm is not None:
        mend = "Give --plug-bore, or choose --absorber-kind ring."
        yield InputError(key="ring_outside", given=job.outside_mm, allowed="left out for a plug", mend=mend)
    if given is None:
        return
    least, most = max(has, 3.0), WIDEST * size
    if not least <= given <= most:
        yield InputError(
            key="plug_bore",
            given=given,
            allowed=f"from {length_text(least, units)} to {length_text(most, units)}",
            mend="A bore can only be opened up, and must leave a tenth of the bar as wall.",
        )


def _ring_faults(job: AbsorberJob, size: float) -> Iterator[InputError]:
    """Yield the faults of a ring's room."""
    units, outside = job.setup.units, job.outside_mm
    if job.bore_mm is not None:
        mend = "Give --ring-outside, or choose --absorber-kind plug."
        yield InputError(key="plug_bore", given=job.bore_mm, allowed="left out for a ring", mend=mend)
    least = size + 2 * _gap_mm(size) + 2.0
    if outside is None or not outside >= least:
        yield InputError(
            key="ring_outside",
            given=MISSING if outside is None else outside,
            allowed=f"at least {length_text(least, units)}: bar, rubber and a wall of 1 mm",
            mend="Measure the room round the bar: the hole less what the chips need.",
        )


def end_size_mm(bar: Bar) -> float:
    """Return the outside size at the free end [mm]."""
    return smallest_size_mm(bar, at_end=True)


def end_bore_mm(bar: Bar) -> float:
    """Return the bore at the free end [mm], 0 for a solid bar."""
    bores = [bar.bore_mm, *(one.bore_mm for one in bar.steps)]
    return [0.0, *(one for one in bores if one is not None)][-1]


def slugs(job: AbsorberJob) -> list[Slug]:
    """Return the slugs or rings that fit, of every material and a few sizes.

    Raises
    ------
    InputError
        The job is at fault, or nothing fits.

    Source
    ------
    Shares of the bar's size: common practice, no source.
    """
    check_absorber_job(job)
    found = list(_plugs(job) if job.kind == PLUG else _rings(job))
    if not found:
        raise InputError(
            key="place" if job.place_mm is not None else "plug_bore",
            given=job.place_mm if job.place_mm is not None else job.bore_mm or "what was tried",
            allowed="room for a slug of its own diameter and a half in the outer part of the bar",
            mend="Move it nearer the edge, or make the bore smaller.",
        )
    return found


def _plugs(job: AbsorberJob) -> Iterator[Slug]:
    """Yield the slugs of a bored bar."""
    bar, units = job.setup.bar, job.setup.units
    size, has = end_size_mm(bar), end_bore_mm(bar)
    if job.bore_mm is not None:
        bores = [job.bore_mm]
    else:
        bores = [has] if has > PILOT * size else [_handy(share * size, units) for share in BORES]
    for bore in bores:
        gap = _gap_mm(bore)
        across = bore - 2 * gap
        for length in (share * across for share in PLUG_LENGTHS):
            at = _middle(job, length, head=max(CAP * size, CAP_LEAST_MM) + END_GAP_MM)
            depth = bar.overhang_mm - at + length / 2 + END_GAP_MM
            if across < 2.0 or depth > DEEPEST * bar.overhang_mm or at + length / 2 > bar.overhang_mm:
                continue
            for material in job.materials:
                yield Slug(PLUG, material, across, 0.0, length, gap, bore, at)


def _rings(job: AbsorberJob) -> Iterator[Slug]:
    """Yield the rings round a bar."""
    bar, outside = job.setup.bar, job.outside_mm or math.nan
    size = end_size_mm(bar)
    gap = _gap_mm(size)
    for length in (share * size for share in RING_LENGTHS):
        at = _middle(job, length, head=HEAD * size)
        if at - length / 2 < (1 - DEEPEST) * bar.overhang_mm or at + length / 2 > bar.overhang_mm:
            continue
        for material in job.materials:
            yield Slug(RING, material, outside, size + 2 * gap, length, gap, 0.0, at)


def _middle(job: AbsorberJob, length: float, *, head: float) -> float:
    """Return where the middle lies: as told, or as near the end as what is in front leaves room."""
    return job.setup.bar.overhang_mm - head - length / 2 if job.place_mm is None else job.place_mm


def _gap_mm(size: float) -> float:
    """Return the room for the rings all round [mm]."""
    return min(max(GAP * size, GAP_ENDS_MM[0]), GAP_ENDS_MM[1])


def _handy(size_mm: float, units: str) -> float:
    """Return a size that a drill has: half millimetres, or 1/32 in."""
    step = 0.5 if units == "mm" else MM_PER_INCH / 32
    return round(size_mm / step) * step


def bored(setup: Setup, slug: Slug) -> Setup:
    """Return the set-up with its bar bored for a slug, without absorber; a ring leaves the bar as it is.

    A solid bar is taken as a tube with a pilot bore of a fifth of its size (0.2 % of its stiffness) and the
    pocket from the slug's rear end on; the cap in front is taken as bored too, so that its weight is missing.
    """
    bar, bare = setup.bar, replace(setup, absorber=None)
    if slug.kind == RING or end_bore_mm(bar) == slug.bore_mm:
        return bare
    start = slug.position_mm - slug.length_mm / 2 - END_GAP_MM
    pilot = bar.bore_mm or PILOT * end_size_mm(bar)
    steps: list[Step] = []
    for one in (*bar.steps, Step(start, bore_mm=slug.bore_mm)):
        behind = [old for old in steps if abs(old.start_mm - one.start_mm) < 1e-6]
        if behind:
            steps[steps.index(behind[0])] = replace(behind[0], bore_mm=one.bore_mm)
        else:
            steps.append(one)
    # From the pocket on no step of the bar's own may close it again.
    ordered = sorted(steps, key=lambda one: one.start_mm)
    ordered = [
        replace(one, bore_mm=slug.bore_mm) if one.start_mm > start and one.bore_mm is not None else one
        for one in ordered
    ]
    return replace(bare, bar=replace(bar, section="tube", bore_mm=pilot, steps=tuple(ordered)))
