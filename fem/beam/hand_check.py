"""The hand formula beside the solid: a Timoshenko beam, on a rigid root or on a bed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.beam.frequencies import bending_frequencies, tip_stiffness
from stickout.fem.beam.sections import (
    BeamSection,
    flatted_sections,
    rectangle_section,
    round_section,
    tube_section,
)
from stickout.fem.beam.spans import FREE, HELD, Bed, End, Span, make_span, outline_bed, round_bed
from stickout.fem.solid.elasticity import Elastic
from stickout.fem.solid.supports import Spring
from stickout.meshes.outlines import Outline
from stickout.meshes.pieces import Piece


@dataclass(frozen=True)
class HandCheck:
    """First bending frequency [Hz] and static tip stiffness [N/m] of a beam, softest way, and its name."""

    what: str
    frequency_hz: float
    stiffness_n_per_m: float


def hand_check(
    pieces: Sequence[Piece], material: Elastic, *, tip_mass: float = 0.0, spring: Spring | None = None
) -> HandCheck:
    """Return the hand formula for a bar: the softer of its two ways of bending.

    Parameters
    ----------
    pieces
        Lengths of equal size, from ``stickout.meshes.tool.pieces_of``; those at x < 0 stand on the bed, or
        are left out without one.
    material
        The bar's material.
    tip_mass
        Point mass at the free end [kg].
    spring
        The bed of the gripped part.

    Returns
    -------
    HandCheck
        Lowest frequency and least stiffness over the two planes of bending.
    """
    if spring is None:
        pieces = [replace(p, start=max(p.start, 0.0)) for p in pieces if p.stop > 0]
    checks = []
    for plane in (0,) if all(_alike(p.outline) for p in pieces) else (0, 1):
        spans = [s for p in pieces for s in plane_spans(p, material, plane=plane, spring=spring)]
        root, tip = (HELD if spring is None else FREE), End(mass=tip_mass)
        frequency = float(bending_frequencies(spans, 1, root=root, tip=tip)[0])
        checks.append((frequency, tip_stiffness(spans, root=root)))
    what = "Timoshenko cantilever" if spring is None else "Timoshenko beam on a bed of springs"
    return HandCheck(what, min(c[0] for c in checks), min(c[1] for c in checks))


def _alike(outline: Outline) -> bool:
    """Return whether an outline bends alike both ways: round or square."""
    if math.isfinite(outline.radius):
        return outline.half_height >= outline.radius
    return outline.half_height == outline.half_width


def plane_spans(piece: Piece, material: Elastic, *, plane: int, spring: Spring | None = None) -> list[Span]:
    """Return a piece as beam spans; plane 0 bends along y, 1 along z (before the section is turned)."""
    section = plane_section(piece, material.poisson_ratio, plane=plane)
    numbers, spans = material_numbers(material), []
    if piece.start < 0 and spring is not None:
        bed = _bed(piece.outline, plane, spring)
        spans.append(replace(make_span(min(piece.stop, 0.0) - piece.start, section, **numbers), bed=bed))
    if piece.stop > 0:
        spans.append(make_span(piece.stop - max(piece.start, 0.0), section, **numbers))
    return spans


def material_numbers(material: Elastic) -> dict[str, float]:
    """Return a material as ``stickout.fem.beam.spans.make_span`` takes it."""
    return {
        "youngs_modulus": material.youngs_modulus,
        "poisson_ratio": material.poisson_ratio,
        "density": material.density,
    }


def plane_section(piece: Piece, poisson_ratio: float, *, plane: int) -> BeamSection:
    """Return the beam section of a piece, with the planes of ``plane_spans``."""
    outline = piece.outline
    if not math.isfinite(outline.radius):
        width, height = 2 * outline.half_width, 2 * outline.half_height
        along = (width, height) if plane else (height, width)
        return rectangle_section(*along, poisson_ratio=poisson_ratio)
    if piece.bore is not None:
        return tube_section(2 * outline.radius, 2 * piece.bore.radius, poisson_ratio=poisson_ratio)
    if outline.half_height < outline.radius:
        weak, strong = flatted_sections(
            2 * outline.radius, 2 * outline.half_height, poisson_ratio=poisson_ratio
        )
        return weak if plane else strong
    return round_section(2 * outline.radius, poisson_ratio=poisson_ratio)


def _bed(outline: Outline, plane: int, spring: Spring) -> Bed:
    if math.isfinite(outline.radius) and outline.half_height >= outline.radius:
        return round_bed(2 * outline.radius, normal=spring.normal, shear=spring.shear)
    direction = np.array([0.0, 1.0]) if plane else np.array([1.0, 0.0])
    return outline_bed(outline.ring(720), direction, normal=spring.normal, shear=spring.shear)
