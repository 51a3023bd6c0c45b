"""What a measurement will teach before it is made."""

from __future__ import annotations

import numpy as np

from stickout.fem.bench.poles import FloatArray


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
