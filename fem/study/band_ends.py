"""A set-up at the ends of the bands of its assumed numbers: everything soft and heavy, or stiff and light."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.setup.bands import Spread
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_at_end
from stickout.fem.setup.usual_ends import usual_at_end
from stickout.meshes.tagged import FloatArray

SOFT: Final = "low"
STIFF: Final = "high"


def at_end(setup: Setup, side: str) -> Setup:
    """Return the set-up with moduli, faces and usual sizes at one end of their bands, densities at the other.

    Parameters
    ----------
    setup
        The set-up.
    side
        ``SOFT`` or ``STIFF``.
    """
    other = STIFF if side == SOFT else SOFT
    materials = {name: _moved(one, side, other) for name, one in setup.materials.items() if name != "work"}
    held = usual_at_end(post_at_end(setup, side), side)
    return replace(held, materials={**setup.materials, **materials}, grip=held.grip.at_end(side))


def note_and_compliance(
    tool: ModalModel, *, ends: tuple[ModalModel, ModalModel, ModalModel], force: FloatArray, note: float
) -> tuple[Spread, Spread]:
    """Return the note [Hz] and the spring along the force [m/N] over the bands of the assumed numbers.

    Parameters
    ----------
    tool
        Modes and compliance as they are.
    ends
        Soft, likely and stiff, all from one coarse mesh: their ratios count.
    force
        Direction, shape (3,).
    note
        Frequency of the mode that carries most of the spring along the force [Hz].
    """
    notes = [_note(one, force) for one in ends]
    springs = [float(force @ one.static @ force) for one in ends]
    spring = float(force @ tool.static @ force)
    return (
        Spread(note * notes[0] / notes[1], note, note * notes[2] / notes[1]),
        Spread(spring * springs[2] / springs[1], spring, spring * springs[0] / springs[1]),
    )


def _note(model: ModalModel, force: FloatArray) -> float:
    """Return the angular frequency of the mode that carries most of the spring along a force [rad/s]."""
    share = (model.phi @ force) ** 2 / model.omega**2
    return float(model.omega[share.argmax()])


def _moved(material: Material, side: str, other: str) -> Material:
    young, density = material.youngs_modulus, material.density
    return replace(material, youngs_modulus=young.at_end(side), density=density.at_end(other))
