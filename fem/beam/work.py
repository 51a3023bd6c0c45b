"""The work piece as a beam: how it gives and vibrates where it is cut, in the bar frame.

Thin-beam closed forms for three ways to hold it. Chuck and centres are taken as rigid; jaws and quill
are not, and how far is the least known number here.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.setup.materials import Band
from stickout.fem.setup.parts import Setup, Work
from stickout.fem.units import MM
from stickout.meshes.tagged import FloatArray

# Operation -> axis of the bar frame along the spindle; the work bends in the two others.
SPINDLE_AXIS: Final = {"turning": 1, "facing": 1, "parting": 1, "boring": 0}
# Stiffness over that of a perfect hold. A 20 x 150 mm bar in a chuck of 3e4 N m/rad and 60 N/um has 0.47.
HOLD: Final = Band(0.5, 1.0, 1.0, "common practice, no source: jaws give, half as stiff at worst")
N_MODES: Final = 4


@dataclass(frozen=True)
class Beam:
    """A uniform work piece: length [m], EI [N m^2], mass per length [kg/m], and how it is held."""

    length: float
    bending: float
    mass: float
    held: str


def work_beam(work: Work, *, youngs_modulus: float, density: float) -> Beam:
    """Return the beam of a work piece.

    Source
    ------
    Area and second moment of a ring (computed here).
    """
    outer, inner = work.diameter_mm * MM, (work.bore_mm or 0.0) * MM
    area, moment = np.pi / 4 * (outer**2 - inner**2), np.pi / 64 * (outer**4 - inner**4)
    return Beam(work.length_mm * MM, youngs_modulus * moment, density * area, work.held)


def work_compliance(
    beam: Beam, at: float, *, head: float = np.inf, tail: float = np.inf, swing: float = np.inf
) -> float:
    """Return the deflection of the work per force at the cut [m/N].

    Parameters
    ----------
    beam
        The work.
    at
        Distance of the cut from the chuck or the headstock centre [m].
    head, tail
        Springs under the headstock and tailstock ends [N/m]; tail is for work between centres only.
    swing
        Spring of the chuck against tilting [N m/rad]; for work held by the chuck alone.

    Returns
    -------
    float
        Compliance [m/N].

    Source
    ------
    Beam tables, such as Roark (recalled, not opened); springs superposed (computed here) [g.*].
    """
    a, b, length = at, beam.length - at, beam.length
    if beam.held == "chuck":
        return a**3 / (3 * beam.bending) + 1 / head + a**2 / swing
    if beam.held == "chuck and centre":
        return a**3 * b**2 * (4 * length - a) / (12 * beam.bending * length**3)
    return a**2 * b**2 / (3 * beam.bending * length) + (b / length) ** 2 / head + (a / length) ** 2 / tail


def beam_modes(beam: Beam, at: float, *, n_modes: int = N_MODES) -> tuple[FloatArray, FloatArray]:
    """Return the lowest bending modes of the work in one plane.

    Parameters
    ----------
    beam
        The work.
    at
        Place of the cut [m].
    n_modes
        How many.

    Returns
    -------
    tuple of ndarray
        Angular frequencies [rad/s] and mass-normalised motion at the cut [kg^-1/2], shape (n_modes,) each.

    Source
    ------
    Blevins, Formulas for Natural Frequency and Mode Shape (recalled, not opened).
    """
    roots = wave_numbers(beam.held, n_modes)
    omega = (roots / beam.length) ** 2 * np.sqrt(beam.bending / beam.mass)
    shape = _shapes(beam.held, roots, at / beam.length)
    return omega, shape / np.sqrt(beam.mass * beam.length)


def wave_numbers(held: str, n_modes: int = N_MODES) -> FloatArray:
    """Return the roots of the frequency equation, beta times length, shape (n_modes,).

    Source
    ------
    ``cos x cosh x = -1``, ``tan x = tanh x``, ``sin x = 0``; Newton steps from the large-root forms
    (computed here).
    """
    n = np.arange(1, n_modes + 1)
    if held == "between centres":
        return np.asarray(np.pi * n, dtype=np.float64)
    free = held == "chuck"
    x = np.asarray((n - 0.5) * np.pi if free else (n + 0.25) * np.pi, dtype=np.float64)
    for _ in range(40):
        if free:
            value, slope = np.cos(x) + 1 / np.cosh(x), -np.sin(x) - np.tanh(x) / np.cosh(x)
        else:
            value, slope = np.sin(x) - np.cos(x) * np.tanh(x), np.sin(x) * np.tanh(x)
            slope = slope + np.cos(x) * np.tanh(x) ** 2
        x = x - value / slope
    return x


def _shapes(held: str, roots: FloatArray, place: float) -> FloatArray:
    """Return each mode at a relative place; the mean square of every shape over the length is one."""
    if held == "between centres":
        return np.asarray(np.sqrt(2.0) * np.sin(roots * place))
    end = np.cos(roots) if held == "chuck" else -np.cos(roots)
    turn = np.sin(roots) if held == "chuck" else -np.sin(roots)
    ratio = (np.cosh(roots) + end) / (np.sinh(roots) + turn)
    x = roots * place
    return np.asarray(np.cosh(x) - np.cos(x) - ratio * (np.sinh(x) - np.sin(x)))


def work_model(setup: Setup, *, loss: float, at_mm: float | None = None) -> ModalModel | None:
    """Return the modal model of the work at the cut in the bar frame, None where the set-up has no work.

    Parameters
    ----------
    setup
        The set-up, with a cut.
    loss
        Loss factor of every mode [-].
    at_mm
        Place of the cut [mm]; None: as the set-up says.

    Returns
    -------
    ModalModel or None
        Bending in the two planes across the spindle; along it the work does not give.

    Source
    ------
    Modes and compliance of a beam, its two planes alike (computed here).
    """
    work, cut = setup.work, setup.cut
    if work is None or cut is None:
        return None
    material = setup.materials["work"]
    beam = work_beam(work, youngs_modulus=material.youngs_modulus.likely, density=material.density.likely)
    at = (work.cut_at_mm if at_mm is None else at_mm) * MM
    omega, motion = beam_modes(beam, at)
    across = [axis for axis in range(3) if axis != SPINDLE_AXIS[cut.operation or "turning"]]
    phi, static = np.zeros((2 * N_MODES, 3)), np.zeros((3, 3))
    for number, axis in enumerate(across):
        phi[number::2, axis] = motion
        static[axis, axis] = work_compliance(beam, at)
    omega = np.repeat(omega, 2)
    return ModalModel(omega=omega, phi=phi, eta=np.full(2 * N_MODES, loss), static=static)
