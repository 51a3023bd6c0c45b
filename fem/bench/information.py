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


def left_over(predicted: FloatArray, measured: FloatArray, *, sd: FloatArray) -> float:
    """Return which part of the standard deviation of a prediction measurements would leave.

    Parameters
    ----------
    predicted
        Logarithm of what is predicted, for equally likely samples, shape (n,).
    measured
        Logarithms of what would be measured, for the same samples, shape (m, n).
    sd
        Relative standard deviations that they would be measured with, shape (m,).

    Returns
    -------
    float
        From 0, all gone, to 1, nothing learnt.

    Source
    ------
    Linear regression, the measurements' own errors added (computed here).
    """
    x, y = measured - measured.mean(axis=1, keepdims=True), predicted - predicted.mean()
    spread, both = float(y @ y) / len(y), x @ x.T / len(y) + np.diag(np.asarray(sd) ** 2)
    if spread <= 0.0:
        return 1.0
    shared = x @ y / len(y)
    told = float(shared @ np.linalg.lstsq(both, shared, rcond=None)[0])
    return float(np.sqrt(np.clip(1.0 - told / spread, 0.0, 1.0)))
