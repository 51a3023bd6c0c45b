"""The cheap modal model of the edge: its data, its residual, the response of its modes."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]


@dataclass(frozen=True)
class Attached:
    """A small mass on a spring and a dashpot, hung at a place on the tool; it moves in d directions.

    Every field may carry the same leading axes (...) as the model's; fields without them are shared.

    Attributes
    ----------
    phi
        Mass-normalised motion of the place along the d directions [kg^-1/2], shape (..., n, d), d 1 or 2.
    cross
        Static motion of the edge for unit forces at the place [m/N], shape (..., 3, d).
    static
        Static compliance at the place [m/N], shape (..., d, d).
    mass
        Moving mass [kg], above zero or zero, shape (...).
    omega
        Its own undamped angular frequency with the tool held still [rad/s], shape (...).
    zeta
        Damping ratio of its own, ``c / (2 mass omega)`` [-], shape (...).

    Raises
    ------
    InputError
        Directions do not match or are more than two; mass negative, or frequency or damping not above zero.
    """

    phi: FloatArray
    cross: FloatArray
    static: FloatArray
    mass: FloatArray
    omega: FloatArray
    zeta: FloatArray

    def __post_init__(self) -> None:
        d = self.phi.shape[-1]
        if d not in (1, 2) or self.cross.shape[-2:] != (3, d) or self.static.shape[-2:] != (d, d):
            raise InputError(
                key="attached mass",
                given=(self.phi.shape, self.cross.shape, self.static.shape),
                allowed="phi (..., n, d), cross (..., 3, d), static (..., d, d), d one or two",
                mend="Project motion and compliance on the directions the mass moves in.",
            )
        for key, values, sound in (
            ("attached mass", self.mass, np.all(self.mass >= 0.0)),
            ("attached omega", self.omega, np.all(self.omega > 0.0)),
            ("attached zeta", self.zeta, np.all(self.zeta > 0.0)),
        ):
            if not sound:
                raise InputError(
                    key=key,
                    given=float(np.min(values)),
                    allowed="above zero",
                    mend="Give the mass, its own frequency and its damping; leave it out for none.",
                )


@dataclass(frozen=True)
class ModalModel:
    """Modes of the edge's motion in the bar frame, with the static compliance they must add up to.

    Every field may carry the same leading axes (...), one entry per sampled model; fields without
    them are shared by all samples.

    Attributes
    ----------
    omega
        Undamped angular frequencies [rad/s], shape (..., n).
    phi
        Mass-normalised motion of the edge, columns x, y, z [kg^-1/2], shape (..., n, 3).
    eta
        Loss factor of each mode [-], above zero, shape (..., n). Twice the damping ratio.
    static
        Static compliance at the edge [m/N], shape (..., 3, 3); what the modes do not reach is the residual.
    viscous
        False: structural damping, ``omega^2 (1 + i eta) - w^2``. True: viscous damping of ratio eta/2,
        ``omega^2 - w^2 + i eta omega w``, the law of most text-book cases and of time simulation.
    attached
        An absorber hung on the tool; None without one. Frequencies, shapes and losses above are without it.

    Raises
    ------
    InputError
        Shapes do not match, or a frequency or loss factor is not above zero.
    """

    omega: FloatArray
    phi: FloatArray
    eta: FloatArray
    static: FloatArray
    viscous: bool = False
    attached: Attached | None = None

    def __post_init__(self) -> None:
        n = self.omega.shape[-1]
        if self.phi.shape[-2:] != (n, 3) or self.eta.shape[-1] != n or self.static.shape[-2:] != (3, 3):
            raise InputError(
                key="modal model",
                given=(self.omega.shape, self.phi.shape, self.eta.shape, self.static.shape),
                allowed="omega (..., n), phi (..., n, 3), eta (..., n), static (..., 3, 3)",
                mend="Give one row of phi and one loss factor for each frequency.",
            )
        for key, values in (("omega", self.omega), ("eta", self.eta)):
            if not np.all(values > 0.0):
                raise InputError(
                    key=key,
                    given=float(np.min(values)),
                    allowed="above zero for every mode",
                    mend="Leave rigid modes out, and give every mode some loss.",
                )
        if self.attached is not None and self.attached.phi.shape[-2] != n:
            raise InputError(
                key="attached mass",
                given=self.attached.phi.shape,
                allowed=f"motion of its place in each of {n} modes",
                mend="Give one row of its phi for each mode.",
            )


def modal_static(omega: FloatArray, phi: FloatArray) -> FloatArray:
    """Return the part of the static compliance that the modes carry, ``sum phi phi^T / omega^2``.

    Parameters
    ----------
    omega
        Angular frequencies [rad/s], shape (..., n).
    phi
        Mass-normalised motion at the edge [kg^-1/2], shape (..., n, 3).

    Returns
    -------
    ndarray
        Compliance [m/N], shape (..., 3, 3).

    Source
    ------
    Ewins, Modal Testing (recalled, not opened).
    """
    scaled = phi / omega[..., None]
    return np.asarray(np.swapaxes(scaled, -1, -2) @ scaled)


def residual(model: ModalModel) -> FloatArray:
    """Return the compliance the modes do not reach, ``static - sum phi phi^T / omega^2``.

    Parameters
    ----------
    model
        The modal model.

    Returns
    -------
    ndarray
        Residual compliance [m/N], shape (..., 3, 3).

    Source
    ------
    Static correction of a truncated sum; Ewins, Modal Testing (recalled, not opened).
    """
    return np.asarray(model.static - modal_static(model.omega, model.phi))


def mode_response(model: ModalModel, w: FloatArray) -> ComplexArray:
    """Return the response of each mode to a unit modal force.

    Parameters
    ----------
    model
        The modal model.
    w
        Angular frequencies [rad/s], shape (..., n_w).

    Returns
    -------
    ndarray
        ``1 / (omega^2 - w^2 + i loss)`` [s^2], shape (..., n, n_w).

    Source
    ------
    Modal superposition; Ewins, Modal Testing (recalled, not opened).
    """
    omega, eta = model.omega[..., :, None], model.eta[..., :, None]
    w = w[..., None, :]
    stiff = omega**2 - w**2
    loss = eta * omega * (w if model.viscous else omega)
    size = stiff**2 + loss**2
    out = np.empty(size.shape, dtype=np.complex128)
    out.real = stiff / size
    out.imag = -loss / size
    return out


def modal_sum(response: ComplexArray, *, read: FloatArray, push: FloatArray) -> ComplexArray:
    """Return ``sum_r read_ra H_r push_rb``: motion for force by superposed modes.

    Parameters
    ----------
    response
        Response of each mode [s^2], shape (..., n, n_w).
    read, push
        Motion of each mode where it is read, shape (..., n, a), and where it is pushed, (..., n, b).

    Returns
    -------
    ndarray
        Shape (..., a, b, n_w).

    Source
    ------
    Modal superposition (recalled, not opened).
    """
    return modal_sums(read=read, push=push)(response)


def modal_sums(*, read: FloatArray, push: FloatArray) -> Callable[[ComplexArray], ComplexArray]:
    """Return ``modal_sum`` as a function of the response, for many calls: parameters as there."""
    residues = read[..., :, None] * push[..., None, :]
    a, b = residues.shape[-2:]
    flat = np.swapaxes(residues.reshape(*residues.shape[:-2], a * b), -1, -2)

    def of(response: ComplexArray) -> ComplexArray:
        # Two real products cost half of one complex product with a real matrix.
        real = flat @ response.real
        total: ComplexArray = np.empty(real.shape, dtype=np.complex128)
        total.real, total.imag = real, flat @ response.imag
        return total.reshape(*total.shape[:-2], a, b, total.shape[-1])

    return of
