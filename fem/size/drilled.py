"""What a hole drilled across a round bar costs: for the cutter, or for its grub screw."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from stickout.fem.beam.hand_bar import (
    chain_note,
    edge_compliance,
    plane_chains,
    twist_and_stretch,
)
from stickout.fem.beam.hand_check import material_numbers
from stickout.fem.beam.sections import BeamSection, flatted_sections, round_section
from stickout.fem.beam.spans import Span, make_span
from stickout.fem.errors import InputError
from stickout.fem.force.loading import loading
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import elastic
from stickout.fem.units import MM, length_text

WIDEST: Final = 0.9  # a hole wider than this share of the bar leaves no section to speak of
_SLICES: Final = 8
_WAYS: Final = ("y", "z")


@dataclass(frozen=True)
class CrossHole:
    """A hole drilled right across a bar: its diameter, its middle from the free end, the way it runs.

    ``along`` is ``y`` (front to back, as for a cutter at centre height) or ``z`` (top to bottom).
    """

    diameter_mm: float
    from_end_mm: float
    along: str = "y"


@dataclass(frozen=True)
class Drilled:
    """What a hole leaves.

    Attributes
    ----------
    hole
        The hole.
    stiffness, note
        What is left of them, as a share of the undrilled bar's [-].
    section
        Second moment of the drilled section over the round one, in its weaker way [-].
    at_root
        Share of the stiffness that the same hole would leave close to the holder face [-].
    """

    hole: CrossHole
    stiffness: float
    note: float
    section: float
    at_root: float


def drilled_section(diameter: float, hole: float, *, poisson_ratio: float) -> tuple[BeamSection, BeamSection]:
    """Return the section of a round bar with a hole across it: bending along the hole, then square to it.

    Parameters
    ----------
    diameter
        Diameter of the bar [m].
    hole
        Width of the hole [m].
    poisson_ratio
        Poisson's ratio [-].

    Returns
    -------
    tuple of BeamSection
        Along the hole's axis the strip that is missing is tall and costs most; square to it, little.

    Raises
    ------
    InputError
        The hole is not narrower than nine tenths of the bar.

    Source
    ------
    Circle less the strip between two flats, integrals as in ``flatted_sections`` (computed here).
    """
    if not 0.0 < hole < WIDEST * diameter:
        raise InputError(
            key="cutter_hole",
            given=hole / MM,
            allowed=f"above 0 and below {WIDEST:g} of the bar, {length_text(WIDEST * diameter / MM, 'mm')}",
            mend="Drill it smaller, or make the bar thicker: what is left would not hold.",
        )
    whole = round_section(diameter, poisson_ratio=poisson_ratio)
    thin, tall = flatted_sections(diameter, hole, poisson_ratio=poisson_ratio)
    along, square = (
        BeamSection(
            whole.area - strip.area, whole.second_moment - strip.second_moment, whole.shear_coefficient
        )
        for strip in (tall, thin)
    )
    return along, square


def drilled(setup: Setup, hole: CrossHole) -> Drilled:
    """Return what a hole costs a held round bar, by hand formulas.

    Parameters
    ----------
    setup
        The bar, round where it sticks out.
    hole
        The hole, within the part that sticks out.

    Returns
    -------
    Drilled
        The hole is taken as filled by a cutter that weighs what was drilled out and carries nothing.

    Raises
    ------
    InputError
        The bar is not round there, the hole is too wide, or does not lie within the overhang.

    Notes
    -----
    Plane sections: the flow of stress round the hole makes the true bar a little softer still.
    """
    _check(setup, hole)
    bare, cut = plane_chains(setup), drilled_chains(setup, hole)
    size = _diameter(setup)
    deep = replace(hole, from_end_mm=setup.bar.overhang_mm - 0.5 * hole.diameter_mm)
    along, _ = drilled_section(
        size, hole.diameter_mm * MM, poisson_ratio=elastic(setup.bar_material).poisson_ratio
    )
    whole = round_section(size, poisson_ratio=elastic(setup.bar_material).poisson_ratio)
    spring = _spring(setup, bare)
    return Drilled(
        hole=hole,
        stiffness=spring / _spring(setup, cut),
        note=min(chain_note(one, setup) for one in cut) / min(chain_note(one, setup) for one in bare),
        section=along.second_moment / whole.second_moment,
        at_root=spring / _spring(setup, drilled_chains(setup, deep)),
    )


def drilled_chains(setup: Setup, hole: CrossHole) -> list[list[Span]]:
    """Return the spans of a drilled bar for bending along y and along z; the hole in eight slices."""
    material, size = elastic(setup.bar_material), _diameter(setup)
    half, out = hole.diameter_mm / 2 * MM, setup.bar.overhang_mm * MM
    start, slice_length = out - hole.from_end_mm * MM - half, 2 * half / _SLICES
    chains = []
    for plane, chain in enumerate(plane_chains(setup)):
        *inner, last = chain
        before = start - (out - last.length)
        parts = [replace(last, length=before)] if before > 1e-9 else []
        for number in range(_SLICES):
            at = (number + 0.5) * slice_length - half
            width = 2 * math.sqrt(half**2 - at**2)
            pair = drilled_section(size, width, poisson_ratio=material.poisson_ratio)
            section = pair[0 if _WAYS[plane] == hole.along else 1]
            span = make_span(slice_length, section, **material_numbers(material))
            parts.append(replace(span, mass=last.mass, rotary=last.rotary))
        after = out - start - 2 * half
        parts += [replace(last, length=after)] if after > 1e-9 else []
        chains.append([*inner, *parts])
    return chains


def _spring(setup: Setup, chains: Sequence[Sequence[Span]]) -> float:
    push = loading(setup.cut).direction
    return float(push @ (edge_compliance(chains, setup) + twist_and_stretch(setup)) @ push)


def _diameter(setup: Setup) -> float:
    """Return the diameter of the part that sticks out [m]."""
    bar = setup.bar
    return ((bar.steps[-1].diameter_mm if bar.steps else None) or bar.diameter_mm or 0.0) * MM


def _check(setup: Setup, hole: CrossHole) -> None:
    """Refuse bars and holes that the formulas do not know."""
    bar = setup.bar
    if bar.section != "round" or len(bar.steps) > 1 or any(one.start_mm > 0 for one in bar.steps):
        mend = "Ask for a plain round bar."
        raise InputError(key="bar.section", given=bar.section, allowed="round where it sticks out", mend=mend)
    if hole.along not in _WAYS:
        raise InputError(key="along", given=hole.along, allowed="y or z", mend="y runs front to back.")
    half = hole.diameter_mm / 2
    if not half <= hole.from_end_mm <= bar.overhang_mm - half:
        ends = " to ".join(length_text(one, setup.units) for one in (half, bar.overhang_mm - half))
        mend = "Measure from the free end to the middle of the hole."
        raise InputError(key="hole_from_end", given=hole.from_end_mm, allowed=f"from {ends}", mend=mend)
