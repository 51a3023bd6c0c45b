"""A set-up by hand formulas: compliance at the edge and note of a beam that bends, shears and twists.

Quick enough for hundreds of bars. Each plane of bending is a Timoshenko chain, on a rigid root or on a bed;
the twist counts where the edge lies beside the bar's axis, as the cutter of a boring bar does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.beam.centres import between_compliance, between_note
from stickout.fem.beam.dynamic_stiffness import chain_stiffness, total_length
from stickout.fem.beam.formulas import rectangle_torsion_constant
from stickout.fem.beam.frequencies import bending_frequencies
from stickout.fem.beam.hand_check import plane_spans
from stickout.fem.beam.section_problems import torsion_constant
from stickout.fem.beam.spans import FREE, HELD, End, Span
from stickout.fem.force.loading import loading
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import bed_springs, elastic, hold_of
from stickout.fem.solid.supports import Spring
from stickout.fem.units import MM
from stickout.meshes.pieces import Piece, pieces_of, quarter_turns
from stickout.meshes.tagged import FloatArray

# Far below what the formulas themselves are worth, far above rounding.
_FINE: Final = 1e-8
Chains = Sequence[Sequence[Span]]


def hand_compliance(setup: Setup) -> FloatArray:
    """Return the static compliance at the edge of a set-up by beam formulas.

    Parameters
    ----------
    setup
        The set-up, on a rigid root or on a bed; shim and wrap are left out.

    Returns
    -------
    ndarray
        Compliance in the bar frame [m/N], shape (3, 3), as the solid's.

    Source
    ------
    Timoshenko beam, Saint-Venant torsion, statics of the offset edge (computed here).
    """
    if setup.grip.at_both_ends:
        bent = between_compliance(plane_chains(setup), setup, turn=_pieces(setup)[2])
        return bent + twist_and_stretch(_up_to_edge(setup))
    return edge_compliance(plane_chains(setup), setup) + twist_and_stretch(setup)


def _up_to_edge(setup: Setup) -> Setup:
    """Return a bar that ends at its edge: the headstock alone holds it along and round."""
    out = setup.bar.overhang_mm - setup.edge.end_distance_mm
    steps = tuple(one for one in setup.bar.steps if one.start_mm < out)
    return replace(setup, bar=replace(setup.bar, overhang_mm=out, steps=steps))


def edge_compliance(chains: Chains, setup: Setup) -> FloatArray:
    """Return what bending alone gives at the edge [m/N], shape (3, 3).

    Parameters
    ----------
    chains
        Spans of the bar for bending along its section's y, then along its z.
    setup
        The set-up they belong to, for edge, turn and root.
    """
    _, spring, turn = _pieces(setup)
    root = HELD if spring is None else FREE
    edge = np.array([setup.edge.offset_y_mm, setup.edge.offset_z_mm]) * MM
    total = np.zeros((3, 3))
    for chain, angle in zip(chains, (turn, turn + math.pi / 2), strict=True):
        way = np.array([math.cos(angle), math.sin(angle)])
        # A force on the edge, as force and moment that bend this plane; endwise force bends by its lever.
        load = np.array([[0.0, way[0], way[1]], [-float(edge @ way), 0.0, 0.0]])
        total += load.T @ tip_flexibility(chain, root=root) @ load
    return total


def tip_flexibility(spans: Sequence[Span], *, root: End = HELD) -> FloatArray:
    """Return deflection and slope at the tip of a chain for unit force and unit moment there, shape (2, 2).

    SI: m/N, 1/N; 1/N, 1/(N m). Source: exact solution of the beam equations (computed here).
    """
    matrix, keep = chain_stiffness(spans, 0.0, root=root, tip=FREE)
    length, free = total_length(spans), matrix[np.ix_(keep, keep)]
    unit = np.zeros((len(free), 2))
    unit[-2, 0], unit[-1, 1] = length, 1.0
    return np.asarray(unit.T @ np.linalg.solve(free, unit))


def plane_chains(setup: Setup) -> list[list[Span]]:
    """Return the spans of a bar for bending along its section's y, then along its z."""
    pieces, spring, _ = _pieces(setup)
    material = elastic(setup.bar_material)
    return [[s for p in pieces for s in plane_spans(p, material, plane=n, spring=spring)] for n in (0, 1)]


def hand_compliance_along(setup: Setup) -> float:
    """Return the deflection of the edge along the set-up's force by beam formulas [m/N]."""
    push = loading(setup.cut).direction
    return float(push @ hand_compliance(setup) @ push)


def hand_note(setup: Setup) -> float:
    """Return the first bending note by beam formulas, the softer way of bending [Hz]."""
    chains = plane_chains(setup)
    return min(chain_note(one, setup) for one in (chains[:1] if chains[0] == chains[1] else chains))


def chain_note(spans: Sequence[Span], setup: Setup) -> float:
    """Return the first note of one chain of a set-up, its edge's mass on the tip [Hz]."""
    if setup.grip.at_both_ends:
        return between_note(spans, setup)
    root = HELD if setup.grip.grown_out else FREE
    tip = End(mass=setup.edge.mass_g * 1e-3)
    return float(bending_frequencies(spans, 1, root=root, tip=tip, resolution=_FINE)[0])


def _pieces(setup: Setup) -> tuple[list[Piece], Spring | None, float]:
    """Return the lengths of a bar, its bed, and the angle its section's own axes are turned by."""
    spring = bed_springs(setup)
    pieces = [p for p in pieces_of(setup.bar, hold_of(setup)) if spring is not None or p.stop > 0]
    # The outlines of flat sections have their sides swapped already where they are turned by quarters.
    swapped = setup.bar.section in ("square", "rectangle") and quarter_turns(setup.bar) is not None
    return pieces, spring, 0.0 if swapped else math.radians(setup.bar.rotation_deg)


def twist_and_stretch(setup: Setup) -> FloatArray:
    """Return what twisting and stretching give at the edge [m/N], shape (3, 3)."""
    pieces, spring, _ = _pieces(setup)
    material = elastic(setup.bar_material)
    shear = material.youngs_modulus / (2 * (1 + material.poisson_ratio))
    twist = stretch = 0.0
    for piece in pieces:
        stiff_twist, stiff_stretch = shear * _torsion_constant(piece), material.youngs_modulus * _area(piece)
        out = max(piece.stop, 0.0) - max(piece.start, 0.0)
        twist, stretch = twist + out / stiff_twist, stretch + out / stiff_stretch
        if piece.start < 0 and spring is not None:
            turning, sliding = _skin(piece, spring)
            gripped = min(piece.stop, 0.0) - piece.start
            twist += _on_springs(stiff_twist, turning, gripped)
            stretch += _on_springs(stiff_stretch, sliding, gripped)
    lever = np.array([0.0, -setup.edge.offset_z_mm, setup.edge.offset_y_mm]) * MM
    return twist * np.outer(lever, lever) + np.diag([stretch, 0.0, 0.0])


def _on_springs(stiffness: float, spring: float, length: float) -> float:
    """Return the give of a rod on springs along it, pulled or twisted at one end.

    ``1 / (sqrt(EA c) tanh(a sqrt(c/EA)))``; source: elementary differential equation (computed here).
    """
    if spring == 0.0:
        return math.inf
    return 1 / (math.sqrt(stiffness * spring) * math.tanh(length * math.sqrt(spring / stiffness)))


def _skin(piece: Piece, spring: Spring) -> tuple[float, float]:
    """Return the bed's springs per length of bar: against twist [N], against sliding endwise [N/m^2]."""
    points = piece.outline.ring(360)
    side = np.roll(points, -1, axis=0) - points
    length = np.linalg.norm(side, axis=1)
    middle, way = points + side / 2, side / length[:, None]
    across = (middle * way).sum(axis=1)  # how fast a turn lifts the skin off its bed
    along = middle[:, 0] * way[:, 1] - middle[:, 1] * way[:, 0]
    turning = float(np.sum(length * (spring.shear * along**2 + spring.normal * across**2)))
    return turning, float(spring.shear * length.sum())


def _area(piece: Piece) -> float:
    return piece.outline.area() - (0.0 if piece.bore is None else piece.bore.area())


def _torsion_constant(piece: Piece) -> float:
    """Return the torsion constant [m^4]; a flatted bar's from the plane problem of its section."""
    outline = piece.outline
    if not math.isfinite(outline.radius):
        return rectangle_torsion_constant(2 * outline.half_width, 2 * outline.half_height)
    if outline.half_height < outline.radius:
        return torsion_constant(outline)
    return sum(outline.second_moments()) - (0.0 if piece.bore is None else sum(piece.bore.second_moments()))
