"""What a measurement will teach before it is made: covariances of logarithms, linear where one stands."""

from __future__ import annotations

import numpy as np

from stickout.fem.bench.poles import FloatArray


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


def left_over(predicted: FloatArray, measured: FloatArray, *, sd: float) -> float:
    """Return which part of the standard deviation of a prediction a measurement would leave.

    Parameters
    ----------
    predicted
        Logarithm of what is predicted, for equally likely samples, shape (n,).
    measured
        Logarithm of what would be measured, for the same samples, shape (n,).
    sd
        Relative standard deviation that it would be measured with.

    Returns
    -------
    float
        From 0, all gone, to 1, nothing learnt.

    Source
    ------
    Linear regression, the measurement's own error added (computed here).
    """
    x, y = measured - measured.mean(), predicted - predicted.mean()
    spread, both = float(y @ y), float(x @ x) + len(x) * sd**2
    if spread <= 0.0 or both <= 0.0:
        return 1.0
    return float(np.sqrt(max(1.0 - float(x @ y) ** 2 / (spread * both), 0.0)))
