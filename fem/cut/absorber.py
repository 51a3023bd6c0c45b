"""What an absorber does to a cut beyond its share in the receptance: tuning, bands, squeal."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.chatter.low_speed import squeal_slope
from stickout.fem.chatter.modal import Attached, ModalModel
from stickout.fem.chatter.receptance import frequency_nodes, projected_receptance
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.setup.bands import FactorBand
from stickout.fem.setup.parts import Absorber
from stickout.fem.solid.section_motion import Place
from stickout.meshes.tagged import FloatArray, IntArray

TUNING, DAMPING = "absorber tuning", "absorber damping"
SOURCE: Final = "common practice, no source: rubber drifts with heat, squeeze and age"
TUNING_BAND: Final = FactorBand(TUNING, 0.95, 1.05)
DAMPING_BAND: Final = FactorBand(DAMPING, 0.7, 1.4)
# Axes of the bar frame in which an absorber moves.
MOVES: Final = {"both": [1, 2], "up": [2], "sideways": [1]}
_TRIED: Final = np.exp(np.linspace(np.log(0.6), np.log(1.6), 99))


@dataclass(frozen=True)
class Retuned:
    """The best own frequency of an absorber: as a factor of the present one, and the margin there."""

    factor: float
    margin: float


def attached_of(absorber: Absorber | None, place: Place | None, *, at: IntArray) -> Attached | None:
    """Return the absorber of a set-up on the modes of its bar; None without one.

    Parameters
    ----------
    absorber
        The absorber.
    place
        How the absorber's place moves.
    at
        Indices of the modes that count, shape (n,).

    Source
    ------
    Text-book absorber (Den Hartog; recalled, not opened) on the section's mean motion (computed here).
    """
    if absorber is None or place is None:
        return None
    axes = MOVES[absorber.direction]
    static = place.static[axes][:, axes]
    return _hung(absorber, place.phi[at][:, axes], cross=place.cross[:, axes], static=static)


def attached_by_modes(
    absorber: Absorber | None, omega: FloatArray, *, edge: FloatArray, place: FloatArray
) -> Attached | None:
    """Return the absorber on modes that carry all of the compliance; None without one.

    Parameters
    ----------
    absorber
        The absorber.
    omega
        Angular frequencies of the modes [rad/s], shape (..., n).
    edge, place
        Mass-normalised motion of the edge and of the absorber's place [kg^-1/2], shape (..., n, 3).

    Source
    ------
    Modal sums in place of solved compliances (computed here).
    """
    if absorber is None:
        return None
    phi = place[..., MOVES[absorber.direction]]
    scaled = np.swapaxes(phi / omega[..., None] ** 2, -1, -2)
    return _hung(absorber, phi, cross=np.swapaxes(scaled @ edge, -1, -2), static=scaled @ phi)


def _hung(absorber: Absorber, phi: FloatArray, *, cross: FloatArray, static: FloatArray) -> Attached:
    """Return the absorber in SI on a place's motion and compliance."""
    return Attached(
        phi=phi,
        cross=cross,
        static=static,
        mass=np.asarray(absorber.mass_g * 1e-3),
        omega=np.asarray(2.0 * np.pi * absorber.frequency_hz),
        zeta=np.asarray(absorber.damping_ratio),
    )


def off_tune(model: ModalModel, *, tuning: FloatArray, damping: FloatArray | None = None) -> ModalModel:
    """Return the model with its absorber's frequency and damping times factors; without one, as it is.

    Parameters
    ----------
    model
        The modal model.
    tuning
        Factors of the absorber's own frequency [-], shape (m,).
    damping
        Factors of its damping ratio [-], shape (m,); None leaves it.

    Returns
    -------
    ModalModel
        A batch of m models.

    Source
    ------
    Definition (computed here).
    """
    hung = model.attached
    if hung is None:
        return model
    zeta = hung.zeta if damping is None else hung.zeta * damping
    return replace(model, attached=replace(hung, omega=hung.omega * tuning, zeta=zeta))


def best_tuning(model: ModalModel, stiffness: FloatArray) -> Retuned | None:
    """Return the own frequency of the absorber at which this cut has the greatest margin, missed by 5 %.

    Too high loses far more than too low: the worse of both sides counts, as in ``size --absorber``.

    Parameters
    ----------
    model
        The modal model.
    stiffness
        Dynamic stiffness of the cut A [N/m], shape (3, 3).

    Returns
    -------
    Retuned or None
        From 0.6 to 1.6 times the present frequency, in steps of 1 %, damping kept; None without absorber.

    Source
    ------
    Search on the exact receptance (computed here).
    """
    if model.attached is None:
        return None
    exact, low, high = (
        absolute_limit(off_tune(model, tuning=_TRIED * one), stiffness).margin
        for one in (1.0, TUNING_BAND.low, TUNING_BAND.high)
    )
    best = int(np.argmax(np.minimum(low, high)))
    return Retuned(float(_TRIED[best]), float(exact[best]))


def squeal_limit(model: ModalModel, cutting: FloatArray) -> float:
    """Return how steeply the cutting force must fall with speed before tool and absorber squeal.

    Parameters
    ----------
    model
        The modal model.
    cutting
        Unit vector of the cutting direction in the bar frame, shape (3,).

    Returns
    -------
    float
        Smallest threshold of ``-dFc/dv`` [N s/m], inf where nothing squeals. Without an absorber that of
        the modes one by one; with one ``1 / (w |Im G|)`` where ``Re G = 0``, all modes together.

    Source
    ------
    ``1 = i w s G``: a force that falls with speed is a negative dashpot (Arnold 1946; recalled, not opened;
    the crossing is computed here).
    """
    if model.attached is None:
        return float(squeal_slope(model, cutting).min())
    w = frequency_nodes(model, per_mode=200)
    g = projected_receptance(model, w, left=cutting[None, :], right=cutting[:, None])[0, 0]
    at = np.flatnonzero(np.diff(np.sign(g.real)) != 0.0)
    if not at.size:
        return float("inf")
    share = g.real[at] / (g.real[at] - g.real[at + 1])
    w_zero = w[at] + share * (w[at + 1] - w[at])
    loss = -(g.imag[at] + share * (g.imag[at + 1] - g.imag[at]))
    slopes = 1.0 / (w_zero * np.where(loss > 0.0, loss, np.nan))
    return float(np.nanmin(slopes)) if np.any(loss > 0.0) else float("inf")
