"""The part as a solid on the springs of what holds it: what steps and thin walls do, beams do not know.

The part's own mesh, root held still, rides on the springs of its head and leans on those of centre and
steadies. Its motion is made of the modes of the held part, the ride, and the static answer to a load at every
spring and every station asked about: statics there are those of the mesh, exactly.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.beam.stepped import PointSpring
from stickout.fem.setup.check_work import sections
from stickout.fem.setup.grips import RigidGrip
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Work
from stickout.fem.solid.edge import carried
from stickout.fem.solid.ends import independent, mass_over, static_answers
from stickout.fem.solid.kinds import mode_kinds
from stickout.fem.solid.model import Model, held_model
from stickout.fem.solid.modes import Modes, solve_modes
from stickout.fem.solid.section_motion import section_face
from stickout.fem.solid.setting import elastic, region_materials, support_of
from stickout.fem.study.study import levels_of, mesh_of
from stickout.fem.units import MM
from stickout.meshes.parts import Bar, Step
from stickout.meshes.pieces import Fineness
from stickout.meshes.tagged import BoolArray, FloatArray

# A load and the motion it meets are spread over a slice as wide as a finger: a point load on a solid has no
# answer.
SLICE: Final = 4 * MM
_MODES: Final = 10
_POINTS: Final = 4  # of Gauss's rule over a slice
_STILL: Final = 1e-4
_RING_MODES: Final = 8
_AROUND: Final = (8, 14)  # cells a quadrant: three waves come out within 2 and 0.5 %
_LAYER, _FIRST = 0.25, 0.05
_MOST_WAVES: Final = 7


@dataclass(frozen=True)
class SolidWork:
    """A part as a solid.

    Attributes
    ----------
    compliance
        Deflection per force at each station, across the axis [m/N], shape (n_stations,).
    frequency_hz
        Notes of the motion in one plane through the axis [Hz], rising.
    """

    compliance: FloatArray
    frequency_hz: FloatArray


@dataclass(frozen=True)
class Ring:
    """A note of a tube's wall [Hz], how many waves it has all round, and its relative error."""

    note_hz: float
    waves: int
    error: float


def can_be_meshed(work: Work) -> bool:
    """Return whether the part is solid all along, or a tube all along: what a bar of the tool can be."""
    return all(bool(bore) == bool(work.bore_mm) for _, _, _, bore in sections(work))


def as_bar(work: Work, material: Material) -> Setup:
    """Return the part as a bar held at its root: what the mesh and its checks take."""
    section = "tube" if work.bore_mm else "round"
    steps = tuple(Step(one.start_mm, diameter_mm=one.diameter_mm, bore_mm=one.bore_mm) for one in work.steps)
    bar = Bar(
        overhang_mm=work.length_mm,
        section=section,
        diameter_mm=work.diameter_mm,
        bore_mm=work.bore_mm,
        steps=steps,
    )
    return Setup(bar=bar, grip=RigidGrip(), materials={"bar": material})


def solid_work(
    work: Work,
    material: Material,
    *,
    springs: Sequence[PointSpring],
    stations: FloatArray,
    fineness: Fineness | None = None,
) -> SolidWork:
    """Return a part as a solid on springs.

    Parameters
    ----------
    work
        The part; solid, or a tube all along.
    material
        What it is made of.
    springs
        What holds it, the one at its root first.
    stations
        Places that are asked about [m].
    fineness
        Of the mesh; None: the second of those that suit it.

    Raises
    ------
    SolveError
        The stiffness is not positive: nothing holds it against a motion.

    Source
    ------
    Ritz: modes held still, rigid ride, and attachment modes: Hurty 1965; Craig & Bampton 1968 (recalled, not
    opened).
    """
    model = held_solid(work, material, fineness=fineness)
    modes = solve_modes(model, _MODES)
    leaned, length = [one for one in springs if one.at > 0], work.length_mm * MM
    places = [*(one.at for one in leaned), *stations]
    slices = np.stack([_slice(model, at, length=length) for at in places], axis=2)
    swings = _swinging(modes, slices)
    bent, ride = static_answers(model, slices), _ride(model, springs[0])
    space = np.concatenate([modes.shapes[swings].transpose(1, 2, 0), bent, ride], axis=2)
    moved = np.tensordot(slices, space, axes=([0, 1], [0, 1]))
    stiffness = _stiffness(modes.omega[swings], moved, slices=slices, bent=bent, root=springs[0])
    for row, one in zip(moved, leaned, strict=False):
        stiffness += one.translation * np.outer(row, row)
    mass = mass_over(model, space)
    turn = independent(mass)
    stiffness, mass, asked = turn.T @ stiffness @ turn, turn.T @ mass @ turn, moved[len(leaned) :] @ turn
    from scipy.linalg import eigh  # here: few parts are meshed

    square = eigh(stiffness, mass, eigvals_only=True)
    return SolidWork(
        compliance=np.einsum("in,ni->i", asked, np.linalg.solve(stiffness, asked.T)),
        frequency_hz=np.sqrt(np.maximum(square, 0.0)) / (2 * np.pi),
    )


def held_solid(work: Work, material: Material, *, fineness: Fineness | None = None) -> Model:
    """Return the part as a solid whose root is held still.

    Parameters
    ----------
    work
        The part.
    material
        What it is made of.
    fineness
        Of the mesh; None: the second of those that suit it.

    Source
    ------
    ``stickout.fem.solid.model``.
    """
    setup = as_bar(work, material)
    mesh = mesh_of(setup, fineness or levels_of(setup).fineness[1])
    materials = {name: elastic(one) for name, one in region_materials(setup, mesh).items()}
    return held_model(mesh, materials, support=support_of(setup))


def _slice(model: Model, at: float, *, length: float) -> FloatArray:
    """Return the weights of the mean sideways motion of a slice round a place, (n_points, 3)."""
    low, high = max(at - SLICE / 2, 0.0), min(at + SLICE / 2, length)
    points, weights = np.polynomial.legendre.leggauss(_POINTS)
    total = np.zeros((len(model.mesh.points), 3))
    for point, weight in zip(points, weights, strict=True):
        face = section_face(model.mesh, (low + high) / 2 + point * (high - low) / 2)
        total += weight / 2 * face.spread(len(total))[:, :, 1]
    return total


def _swinging(modes: Modes, slices: FloatArray) -> BoolArray:
    """Return which modes move any slice sideways."""
    moved = np.abs(np.tensordot(modes.shapes, slices, axes=([1, 2], [0, 1]))).max(axis=1)
    return np.asarray(moved > _STILL * moved.max())


def _ride(model: Model, root: PointSpring) -> FloatArray:
    """Return the free rigid motions of the root: sideways, and tilting about z, (n_points, 3, 0 to 2)."""
    free = [axis for axis, one in ((1, root.translation), (5, root.rotation)) if not np.isinf(one)]
    return np.asarray(carried(model.mesh.points)[:, :, free])


def _stiffness(
    omega: FloatArray, moved: FloatArray, *, slices: FloatArray, bent: FloatArray, root: PointSpring
) -> FloatArray:
    """Return the stiffness over modes, static answers and ride: of the held part, and of the root's springs.

    A static answer does the work of its load: its energy with any shape is the motion of the load's slice.
    """
    n, k = len(omega), bent.shape[2]
    out = np.zeros((moved.shape[1], moved.shape[1]))
    out[:n, :n] = np.diag(omega**2)
    out[n : n + k, : n + k] = moved[:, : n + k]
    out[:n, n : n + k] = moved[:, :n].T
    ground = [one for one in (root.translation, root.rotation) if not np.isinf(one)]
    out[n + k :, n + k :] = np.diag(ground)
    return (out + out.T) / 2


def held_rings(work: Work, material: Material) -> tuple[Ring, ...]:
    """Return the notes of a tube's wall with one end held all round.

    Parameters
    ----------
    work
        A tube of one size.
    material
        What it is made of.

    Returns
    -------
    tuple of Ring
        The lowest of each number of waves, rising; its error is the whole step from a coarser mesh, which is
        more than what is left.

    Raises
    ------
    SolveError
        The computation failed.

    Source
    ------
    ``stickout.fem.solid.modes`` on cells short enough round the wall (computed here) [B.tube].
    """
    coarse, fine = (_ring_notes(work, material, around=around) for around in _AROUND)
    return tuple(
        Ring(note, waves, abs(coarse.get(waves, 2 * note) / note - 1)) for waves, note in fine.items()
    )


def _ring_notes(work: Work, material: Material, *, around: int) -> dict[int, float]:
    """Return the lowest note of each number of waves, two or more, on a mesh of so many cells a quadrant."""
    wall = 0.5 * (work.diameter_mm - (work.bore_mm or 0.0)) / work.diameter_mm
    model = held_solid(work, material, fineness=Fineness(around, 1, wall, _LAYER, _FIRST))
    modes = solve_modes(model, _RING_MODES)
    out: dict[int, float] = {}
    kinds = mode_kinds(model.mesh, modes.shapes)
    for note, kind, shape in zip(modes.frequency_hz, kinds, modes.shapes, strict=True):
        waves = ring_waves(model, shape)
        if kind == "breathing" and waves > 1:
            out.setdefault(waves, float(note))
    return out


def ring_waves(model: Model, shape: FloatArray) -> int:
    """Return how many waves the free end's outward motion under a shape (n_points, 3) has all round."""
    nodes = np.unique(model.mesh.patches["end"])
    y, z = model.mesh.points[nodes, 1:].T
    angle, radius = np.arctan2(z, y), np.hypot(y, z)
    outward = (shape[nodes, 1] * y + shape[nodes, 2] * z) / radius
    size = [abs(np.exp(1j * n * angle) @ outward) for n in range(_MOST_WAVES)]
    return int(np.argmax(size))
