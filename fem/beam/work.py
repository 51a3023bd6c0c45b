"""The work piece as a beam: how it gives and vibrates where it is cut, in the bar frame.

A chain of shear-flexible spans on the springs of ``work_holding``; at a step the thin part counts as longer.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import pairwise
from typing import Final

import numpy as np

from stickout.fem.beam.not_round import bending_angles
from stickout.fem.beam.sections import round_section, tube_section
from stickout.fem.beam.spans import Span, make_span
from stickout.fem.beam.stepped import PointSpring, SprungChain, sprung_chain
from stickout.fem.beam.thin_wall import WALL_SHARE, WallMode, wall_give, wall_modes
from stickout.fem.beam.work_holding import point_springs
from stickout.fem.chatter.modal import ModalModel
from stickout.fem.force.directions import cut_directions
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Cut, Setup
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# Operation -> axis of the bar frame along the spindle; the work bends in the two others.
SPINDLE_AXIS: Final = {"turning": 1, "facing": 1, "parting": 1, "boring": 0}
N_MODES: Final = 4
# Thick over thin diameter at a step, and how much sooner the thin part begins, in its own diameters.
_STEP_RATIOS: Final = (1.0, 1.25, 1.56, 2.0, 3.0)
_STEP_LENGTHS: Final = (0.0, 0.03, 0.11, 0.18, 0.22)


def work_spans(work: Work, material: Material, *, softened_steps: bool = True) -> list[Span]:
    """Return the part as beam spans from the headstock on.

    Parameters
    ----------
    work
        The part.
    material
        What it is made of; its likely values are used.
    softened_steps
        Let the thin side of a step reach into the thick one: a beam is too stiff there by up to 10 %.

    Source
    ------
    Extra length at a step: solids against beams (computed here) [B.step].
    """
    numbers = {
        "youngs_modulus": material.youngs_modulus.likely,
        "poisson_ratio": material.poisson_ratio.likely,
        "density": material.density.likely,
    }
    pieces, form = sections(work), bending_angles(work)
    spans = []
    for start, stop, diameter, bore in pieces:
        nu = numbers["poisson_ratio"]
        section = (
            tube_section(diameter * MM, bore * MM, poisson_ratio=nu)
            if bore > 0
            else round_section(diameter * MM, poisson_ratio=nu)
        )
        span = make_span((stop - start) * MM, section, **numbers)
        spans.append(replace(span, bending=form.mean * span.bending, mass=form.area * span.mass))
    if not softened_steps:
        return spans
    thick_first = [a[2] > b[2] for a, b in pairwise(pieces)]
    reach = [
        step_length(a[2] * MM, b[2] * MM, room=0.5 * spans[at if first else at + 1].length)
        for at, ((a, b), first) in enumerate(zip(pairwise(pieces), thick_first, strict=True))
    ]
    return _softened(spans, reach, thick_first=thick_first)


def step_length(first: float, second: float, *, room: float) -> float:
    """Return how far the thin side of a step reaches into the thick one [m]; at most ``room`` [m].

    Parameters
    ----------
    first, second
        The two diameters [m].
    room
        Half the length of the thick side [m].

    Source
    ------
    Solids against beams, thick over thin 1.25, 1.56, 2, 3 (computed here) [B.step].
    """
    thin, thick = sorted((first, second))
    return min(float(np.interp(thick / thin, _STEP_RATIOS, _STEP_LENGTHS)) * thin, room)


def _softened(spans: Sequence[Span], reach: Sequence[float], *, thick_first: Sequence[bool]) -> list[Span]:
    """Return the spans with the stiffness of the thin side, and the mass of the thick one, near each step."""
    out: list[Span] = []
    for at, span in enumerate(spans):
        before = reach[at - 1] if at > 0 and not thick_first[at - 1] else 0.0
        after = reach[at] if at < len(reach) and thick_first[at] else 0.0
        if before:
            thin = spans[at - 1]
            out.append(replace(span, length=before, bending=thin.bending, shear=thin.shear))
        out.append(replace(span, length=span.length - before - after))
        if after:
            thin = spans[at + 1]
            out.append(replace(span, length=after, bending=thin.bending, shear=thin.shear))
    return out


def work_chain(
    work: Work,
    material: Material,
    *,
    stations: Sequence[float] = (),
    side: str = "likely",
    springs: Sequence[PointSpring] | None = None,
) -> SprungChain:
    """Return the part on its springs.

    Parameters
    ----------
    work
        The part.
    material
        What it is made of.
    stations
        Places that are to be asked about [m].
    side
        End of the bands of the springs: low, likely or high.
    springs
        Other springs in their place.
    """
    if springs is None:
        return _chain(work, material, tuple(stations), side)
    return sprung_chain(work_spans(work, material), springs, stations=stations)


@lru_cache(maxsize=16)
def _chain(work: Work, material: Material, stations: tuple[float, ...], side: str) -> SprungChain:
    """Return the part on its springs; kept, since an answer asks for the same one many times."""
    return sprung_chain(work_spans(work, material), point_springs(work, side), stations=stations)


def work_static(work: Work, material: Material, *, stations: FloatArray, side: str = "likely") -> FloatArray:
    """Return the deflection of a part per force at stations [m/N], its thin wall's included, shape (n,)."""
    inside = np.clip(stations, 0.0, work.length_mm * MM)
    bent = work_chain(work, material, stations=list(inside), side=side).compliance_at(inside)
    return bent + wall_give(work, material, stations=inside, side=side)


def work_model(
    setup: Setup, *, loss: float, at_mm: float | None = None, side: str = "likely", wall: bool = True
) -> ModalModel | None:
    """Return the modal model of the work at the cut in the bar frame, None where the set-up has no work.

    Parameters
    ----------
    setup
        The set-up, with a cut.
    loss
        Loss factor of every mode [-].
    at_mm
        Place of the cut [mm]; None: as the set-up says.
    side
        End of the bands of what holds it, low, likely or high; ``perfect``: nothing there gives.
    wall
        Whether the waves of a thin wall count.

    Returns
    -------
    ModalModel or None
        Bending in the two planes across the spindle, then the wall's waves, outward and along the surface;
        along the spindle the work does not give.

    Source
    ------
    Modes and compliance of a beam on springs, its two planes alike (computed here) [B.loop]; waves of the
    wall as ``stickout.fem.beam.thin_wall``.
    """
    work, cut = setup.work, setup.cut
    if work is None or cut is None:
        return None
    at = (work.cut_at_mm if at_mm is None else at_mm) * MM
    chain = work_chain(work, setup.materials["work"], stations=[at], side=side)
    omega, shapes = chain.swings(N_MODES)
    own, reach = _node(chain, at), edge_reach(cut)
    phi = np.zeros((2 * N_MODES, 3))
    for number, motion in enumerate(reach):
        phi[number::2] = shapes[:, own] @ motion
    static = _reached(chain, at, reach)
    across = [axis for axis in range(3) if axis != SPINDLE_AXIS[cut.operation or "turning"]]
    eta = np.full(2 * N_MODES, loss)
    bending = ModalModel(omega=np.repeat(omega, 2), phi=phi, eta=eta, static=static, viscous=True)
    if not wall:
        return bending
    waves = wall_modes(work, setup.materials["work"], stations=np.array([at]), side=side)
    return _with_wall(bending, waves, across=across) if waves else bending


def work_compliance(setup: Setup, stations: FloatArray) -> FloatArray:
    """Return what a part gives under the edge at stations [m], in the bar frame [m/N], shape (n, 3, 3).

    Zeros where the set-up has no work, or no cut.

    Parameters
    ----------
    setup
        The set-up.
    stations
        Places of the cut from the chuck or the headstock's centre [m], shape (n,).

    Source
    ------
    As ``work_model``.
    """
    out = np.zeros((len(stations), 3, 3))
    if setup.work is None or setup.cut is None:
        return out
    material, inside = setup.materials["work"], np.clip(stations, 0.0, setup.work.length_mm * MM)
    chain, reach = work_chain(setup.work, material, stations=list(inside)), edge_reach(setup.cut)
    waves = wall_modes(setup.work, material, stations=inside)
    for at, place in enumerate(inside):
        out[at] = _reached(chain, float(place), reach)
        for plane, motion in enumerate(reach[:, 0]):
            outward = sum(one.give[at] / one.waves ** (2 * plane) for one in waves)
            out[at] += outward * np.outer(motion, motion)
    return out


def _node(chain: SprungChain, at: float) -> slice:
    """Return where deflection and rotation of the node at a place stand."""
    node = 2 * int(np.argmin(abs(chain.places - at)))
    return slice(node, node + 2)


def _reached(chain: SprungChain, at: float, reach: FloatArray) -> FloatArray:
    """Return what a chain gives under the edge at a place [m/N], shape (3, 3)."""
    own = _node(chain, at)
    return np.asarray(np.einsum("pia,ij,pjb->ab", reach, chain.flexibility[own, own], reach))


def edge_reach(cut: Cut) -> FloatArray:
    """Return how the part moves under the edge where its axis deflects and turns there, shape (2, 2, 3).

    First the two planes through the axis, then deflection [-] and rotation [m]. A face that is turned off its
    axis tilts to and fro along the spindle; at the rim of a cylinder that is left out, being across the chip.

    Parameters
    ----------
    cut
        The cut; facing is judged at its diameter.

    Source
    ------
    A rigid section that turns: the edge stands half the diameter off the axis (computed here).
    """
    spindle = SPINDLE_AXIS[cut.operation or "turning"]
    across = [axis for axis in range(3) if axis != spindle]
    reach = np.zeros((2, 2, 3))
    reach[[0, 1], 0, across] = 1.0
    if cut.operation == "facing" and cut.work_diameter_mm:
        # The tailstock lies against the way into the work; there a slope opens the face toward the edge.
        into = cut_directions("facing", cut.side, rear_tool=cut.rear_tool).passive[spindle]
        reach[0, 1, spindle] = -into * 0.5 * cut.work_diameter_mm * MM
    return reach


def has_wall(model: ModalModel) -> bool:
    """Return whether waves of a thin wall are among the modes of a work."""
    return len(model.omega) > 2 * N_MODES


def _with_wall(bending: ModalModel, waves: Sequence[WallMode], *, across: Sequence[int]) -> ModalModel:
    """Return the work with the waves of its wall, each in two halves: outward, and along the surface.

    The edge stands beside the work, level with its axis: outward is the first of the two axes across.
    """
    omega, phi, static = [], [], bending.static.copy()
    for one in waves:
        for axis, share in zip(across, (1.0, 1.0 / one.waves**2), strict=True):
            give = share * float(one.give[0])
            moved = np.zeros(3)
            moved[axis] = one.omega * math.sqrt(give)
            omega.append(one.omega)
            phi.append(moved)
            static[axis, axis] += give
    return replace(
        bending,
        omega=np.concatenate([bending.omega, omega]),
        phi=np.concatenate([bending.phi, np.reshape(phi, (-1, 3))]),
        eta=np.concatenate([bending.eta, np.full(len(omega), WALL_SHARE * bending.eta[0])]),
        static=static,
    )
