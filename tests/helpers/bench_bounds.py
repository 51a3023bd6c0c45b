"""How well a decay, a tone or a parameter can be read at all: error floors in closed form."""

from __future__ import annotations

import math

import numpy as np

from stickout.meshes.tagged import FloatArray


def decay_sd(alpha: float, *, noise: float, rate_hz: float) -> float:
    """Return the least standard deviation of the decay rate (and of the angular frequency) of one mode.

    Parameters
    ----------
    alpha
        Decay rate [1/s], damping ratio times angular frequency.
    noise
        Noise of one sample over the amplitude at the start [-].
    rate_hz
        Samples a second.

    Returns
    -------
    float
        Standard deviation [1/s]; record much longer than the decay.

    Source
    ------
    Fisher information of a damped sine, all four parameters unknown (computed here). [A.crb.*]
    """
    return 4.0 * noise * alpha * math.sqrt(alpha / rate_hz)


def window_factor(time_constants: float) -> float:
    """Return by how much a record of so many time constants widens ``decay_sd``.

    Parameters
    ----------
    time_constants
        Length of the record times the decay rate [-].

    Returns
    -------
    float
        Factor, 1 for an endless record: 2.05 at one, 1.05 at three time constants.

    Source
    ------
    Fisher information (computed here). [A.crb.window.*]
    """
    x = time_constants
    e = math.exp(-2.0 * x)
    i0, i1, i2 = (1 - e) / 2, (1 - e * (1 + 2 * x)) / 4, (1 - e * (1 + 2 * x + 2 * x * x)) / 4
    return 1.0 / math.sqrt(8.0 * (i2 - i1 * i1 / i0))


def pair_factor(one: complex, other: complex) -> float:
    """Return by how much a second mode widens the standard deviation of the first.

    Parameters
    ----------
    one, other
        Poles [1/s], minus the decay rate plus i times the angular frequency.

    Returns
    -------
    float
        Factor; with equal damping 1 + (half-power width over separation)^2.

    Source
    ------
    Closed form (computed here); bounds of this kind: Scharf & McWhorter (abstract opened). [A.crb.pair.*]
    """
    return abs(one + other.conjugate()) ** 2 / abs(one - other) ** 2


def learnt_covariance(prior: FloatArray, jacobian: FloatArray, *, sd: FloatArray) -> FloatArray:
    """Return the covariance of parameters after measurements.

    Parameters
    ----------
    prior
        Covariance before, of logarithms, shape (n, n).
    jacobian
        Slope of the logarithm of each measured number with the logarithm of each parameter, shape (m, n).
    sd
        Relative standard deviation of each measured number, shape (m,).

    Returns
    -------
    ndarray
        Shape (n, n).

    Source
    ------
    Gauss and Laplace: inverse of the prior's inverse and the Fisher information (computed here).
    [A3.fisher.*, A3.laplace.sd_kn]
    """
    weighted = jacobian / np.asarray(sd)[:, None]
    return np.asarray(np.linalg.inv(np.linalg.inv(prior) + weighted.T @ weighted))


def tone_sd(amplitude: float, *, samples: int, rate_hz: float) -> float:
    """Return the least standard deviation of the frequency of a steady tone [Hz].

    Parameters
    ----------
    amplitude
        Amplitude over the deviation of the noise of one sample [-].
    samples
        Number of samples.
    rate_hz
        Samples a second.

    Source
    ------
    Fisher information (computed here). [A4.tone]
    """
    return math.sqrt(24.0 / (amplitude**2 * float(samples) ** 3)) * rate_hz / (2.0 * math.pi)
