"""A bar held at both ends as a beam on springs: spring and note at a cutter between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from stickout.fem.beam.spans import Span
from stickout.fem.beam.stepped import PointSpring, SprungChain, sprung_chain
from stickout.fem.beam.work_holding import HoldSpring, assumed_springs, point_springs, supports
from stickout.fem.setup.bands import USER_SOURCE
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray


def end_springs(setup: Setup) -> list[PointSpring]:
    """Return the springs under the two ends of a bar held at both, headstock first; none for other grips.

    Source
    ------
    Those of a part held alike, ``stickout.fem.beam.work_holding``.
    """
    held = _as_work(setup)
    if held is None or not isinstance(setup.grip, CentresGrip):
        return []
    times = setup.grip.factor
    return [
        replace(one, translation=times * one.translation, rotation=times * one.rotation)
        for one in point_springs(held, setup.grip.side)
    ]


def assumed_ends(setup: Setup) -> list[HoldSpring]:
    """Return the springs of the ends that nobody measured; none for other grips."""
    held = _as_work(setup)
    return [] if held is None else assumed_springs(held)


def end_band(setup: Setup) -> tuple[float, float] | None:
    """Return the widest band of an end's springs over the likely one; None where all were measured."""
    held = _as_work(setup)
    if held is None or not assumed_springs(held):
        return None
    guessed = [
        one.band for end in supports(held) for one in end.radial if one.band.source != USER_SOURCE
    ] or [one.band for one in assumed_springs(held)]
    return min(one.low / one.likely for one in guessed), max(one.high / one.likely for one in guessed)


def between_compliance(chains: Sequence[Sequence[Span]], setup: Setup, *, turn: float) -> FloatArray:
    """Return what bending and the ends give at the edge [m/N], shape (3, 3).

    Parameters
    ----------
    chains
        Spans of the bar for bending along its section's y, then along its z.
    setup
        A bar held at both ends.
    turn
        Angle of the section's own axes [rad].

    Source
    ------
    Shear-flexible beam on springs; limits 48 EI/L^3 between centres (computed here).
    """
    total, at = np.zeros((3, 3)), edge_place(setup)
    for chain, angle in zip(chains, (turn, turn + math.pi / 2), strict=True):
        way = np.array([0.0, math.cos(angle), math.sin(angle)])
        give = float(_sprung(chain, setup).compliance_at(np.array([at]))[0])
        total += give * np.outer(way, way)
    return total


def between_note(chain: Sequence[Span], setup: Setup) -> float:
    """Return the first note of one chain of a bar held at both ends, the mass of its edge counted [Hz]."""
    sprung = _sprung(chain, setup)
    node = 2 * int(np.argmin(abs(sprung.places - edge_place(setup))))
    mass = sprung.mass.copy()
    mass[node, node] += setup.edge.mass_g * 1e-3
    return float(replace(sprung, mass=mass).modes(1)[0][0] / (2 * np.pi))


def edge_place(setup: Setup) -> float:
    """Return the distance of the edge from the face at the holder or headstock [m]."""
    return (setup.bar.overhang_mm - setup.edge.end_distance_mm) * MM


def _sprung(chain: Sequence[Span], setup: Setup) -> SprungChain:
    """Return a chain on the springs of its ends."""
    return sprung_chain(chain, end_springs(setup), stations=[edge_place(setup)])


def _as_work(setup: Setup) -> Work | None:
    """Return the bar as a part that is held as it is; None for other grips."""
    grip, bar = setup.grip, setup.bar
    if not isinstance(grip, CentresGrip):
        return None
    return Work(
        diameter_mm=bar.size_mm,
        length_mm=bar.overhang_mm,
        held=grip.held,
        cut_at_mm=bar.overhang_mm - setup.edge.end_distance_mm,
        jaw_length_mm=grip.jaw_length_mm,
        quill_out_mm=grip.quill_out_mm,
        chuck_n_per_um=grip.chuck_n_per_um,
        chuck_tilt_nm_per_rad=grip.chuck_tilt_nm_per_rad,
        centre_n_per_um=grip.centre_n_per_um,
    )
