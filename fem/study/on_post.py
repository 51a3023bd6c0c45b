"""A tool on its post: the held bar and what holds it ride on springs with their own mass."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np

from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import cube_inertia, post_numbers, post_place
from stickout.fem.solid.carrier import CARRIER, Carrier, carried_modes, edge_compliance
from stickout.fem.solid.model import Model
from stickout.fem.solid.modes import Modes, static_compliance
from stickout.fem.solid.section_motion import Place, place_at, section_face
from stickout.fem.study.accuracy import Level
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# A spring on which the post alone would swing this many times faster than sound runs along the bar gives
# nothing that a digit of the answer shows.
_RIGID: Final = 100.0
# Share of the strain energy above which a mode is the post's.
_MOST: Final = 0.5


def carrier_of(setup: Setup) -> Carrier | None:
    """Return what carries the holder, in the bar frame; None without a post, or where it is rigid."""
    if setup.post is None:
        return None
    numbers = post_numbers(setup.post)
    mass = numbers.mass.likely
    inertia = cube_inertia(mass)
    stiffness = np.array([*(one.likely for one in numbers.spring), *[numbers.tilt.likely] * 3])
    bar = setup.bar_material
    sound = np.sqrt(bar.youngs_modulus.likely / bar.density.likely) / (setup.bar.overhang_mm * MM)
    swing = np.sqrt(stiffness / np.repeat([mass, inertia], 3))
    root = np.diag(stiffness**-0.5)[:, swing < _RIGID * sound]
    return None if not root.size else Carrier(np.array([post_place(setup), 0.0, 0.0]), root, mass, inertia)


def counted_modes(setup: Setup) -> int:
    """Return how many modes an answer holds: those asked for, and one for each way the post can move."""
    carrier = carrier_of(setup)
    return setup.solve.modes + (0 if carrier is None else carrier.root.shape[1])


def on_post(
    model: Model, modes: Modes, *, compliance: FloatArray, carrier: Carrier
) -> tuple[Modes, FloatArray]:
    """Return modes and static compliance at the edge of a held bar whose holder rides on a post.

    Parameters
    ----------
    model
        The held bar.
    modes
        Its modes, held still.
    compliance
        Its static compliance at the edge [m/N], shape (3, 3).
    carrier
        The post.

    Source
    ------
    ``stickout.fem.solid.carrier``.
    """
    return carried_modes(model, modes, carrier=carrier), compliance + edge_compliance(model, carrier)


def named_post(kinds: Sequence[str], modes: Modes) -> list[str]:
    """Return the kinds of modes, those whose energy lies mostly in the springs of the post named so."""
    total = np.sum(list(modes.energy.values()), axis=0)
    share = modes.energy[CARRIER] / total
    return [CARRIER if one > _MOST else kind for kind, one in zip(kinds, share, strict=True)]


def carried_place(place: Place, model: Model, *, x: float, carrier: Carrier) -> Place:
    """Return how an absorber's place moves when the post gives too.

    Parameters
    ----------
    place
        Its motion in modes that already ride on the post, its compliances with the post held still.
    model
        The held bar.
    x
        Distance of the place from the holder face [m].
    carrier
        The post.
    """
    ride = carrier.motion(model.mesh.points)
    edge, there = model.face.motion(ride), section_face(model.mesh, x).motion(ride)
    return replace(place, cross=place.cross + edge @ there.T, static=place.static + there @ there.T)


def absorber_place(setup: Setup, level: Level, *, modes: Modes, compliance: FloatArray) -> Place | None:
    """Return how the absorber's place moves; None without an absorber.

    Parameters
    ----------
    setup
        The set-up.
    level
        The held bar, solved.
    modes
        Its modes, as they are to be used.
    compliance
        Compliance of the edge in the limit of fine meshes [m/N], (3, 3): the place's is scaled like it.
    """
    if setup.absorber is None:
        return None
    x = setup.absorber.position_mm * MM
    if level.at_rest is not None and modes.section is not None:
        scale = float(np.trace(compliance) / np.trace(level.compliance))
        cross, static = level.at_rest(x)
        return Place(modes.section(x), scale * cross, scale * static)
    model, carrier = level.model, carrier_of(setup)
    held = compliance if carrier is None else compliance - edge_compliance(model, carrier)
    scale = float(np.trace(held) / np.trace(static_compliance(model)))
    place = place_at(model, modes, x=x, scale=scale)
    return place if carrier is None else carried_place(place, model, x=x, carrier=carrier)
