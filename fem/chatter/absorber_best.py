"""The best tuning of an absorber on one mode, found numerically, for either sign of the real part."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np
from scipy.optimize import minimize

from stickout.fem.chatter.absorber_theory import (
    Pair,
    Tuning,
    sims,
    worst_negative_real,
)
from stickout.fem.errors import SolveError

_OPTIONS: Final = {"xatol": 1e-7, "fatol": 1e-10, "maxiter": 2000}


def chatter_best(mu: float, *, zeta_primary: float = 0.0) -> Tuning:
    """Return the tuning with the least ``max(-Re G)``: the greatest depth at any speed.

    Parameters
    ----------
    mu
        Mass ratio at the absorber's place [-], above zero.
    zeta_primary
        Damping ratio of the bar [-], zero or above.

    Returns
    -------
    Tuning
        Best to about 1e-6 in ``-Re G``.

    Raises
    ------
    InputError
        A number is out of its range.
    SolveError
        The search did not end.

    Source
    ------
    Nelder & Mead 1965 on the exact extremes, from the closed form of Sims (computed here). [f.opt.*]
    """
    return _best(mu, zeta_primary, worst_negative_real, start=sims(mu))


def _best(mu: float, zeta_primary: float, worst: Callable[[Pair], float], *, start: Tuning) -> Tuning:
    """Return the tuning at which ``worst`` is least, searched in logarithms from a start."""

    def value(x: np.ndarray) -> float:
        return float(np.log(worst(Pair(mu, Tuning(*np.exp(x).tolist()), zeta_primary))))

    at = np.log([start.frequency_ratio, start.zeta_own])
    # A second start from the first end: at a corner where two peaks are equal the simplex may lie flat.
    for _ in range(2):
        found = minimize(value, at, method="Nelder-Mead", options=_OPTIONS)
        at = found.x
    if not found.success:
        raise SolveError(f"The best tuning was not found: {found.message} Try another mass.")
    return Tuning(*np.exp(at).tolist())
