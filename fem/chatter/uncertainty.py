"""From banded inputs to low, likely and high, on the cheap modal model, with a fixed seed.

The grip's stiffness changes the modes themselves: a few FE solves give modal models at known factors
of it, and each sample lies between the two nearest. The other bands need no FE solve.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from stickout.fem.bell import value_above
from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.setup.bands import NINE_IN_TEN, FactorBand, Spread, latin_hypercube, triangular
from stickout.meshes.errors import InputError

FloatArray = NDArray[np.float64]
Evaluate = Callable[[ModalModel, FloatArray], FloatArray]
Vary = Callable[[ModalModel, NDArray[np.int64]], ModalModel]


GRIP_BAND = FactorBand("grip stiffness", 0.8, 1.2)


def sample_factors(bands: Sequence[FactorBand], *, count: int = 300, seed: int = 1) -> dict[str, FloatArray]:
    """Return factors for each input: triangular in the logarithm, likely value at the top.

    Parameters
    ----------
    bands
        The banded inputs, names unlike.
    count
        Number of samples, at least ten.
    seed
        Seed of the stratified sampling; the same seed gives the same factors.

    Returns
    -------
    dict
        Name -> factors [-], shape (count,).

    Raises
    ------
    InputError
        Fewer than ten samples, or no band.

    Source
    ------
    Latin hypercube: McKay, Beckman & Conover 1979 (recalled, not opened); shape of the bands own choice.
    """
    if count < 10 or not bands:
        raise InputError(
            key="count",
            given=(count, len(bands)),
            allowed="ten samples or more, one band or more",
            mend="Ask for about 300.",
        )
    shares = latin_hypercube(np.random.default_rng(seed), count=count, inputs=len(bands))
    return {
        band.name: triangular(share, (band.low, 1.0, band.high))
        for band, share in zip(bands, shares, strict=True)
    }


@lru_cache(maxsize=16)
def stratified(seed: int, *, count: int, inputs: int) -> FloatArray:
    """Return draws of a bell curve, one from each of as many strata of equal chance as there are draws.

    Parameters
    ----------
    seed
        Seed of order and place in the stratum; the same seed gives the same draws, which are kept.
    count, inputs
        Number of draws, and of inputs they are made for.

    Returns
    -------
    ndarray
        Mean 0 and width 1, shape (inputs, count); not to be written to.

    Source
    ------
    As ``latin_hypercube``.
    """
    draws = value_above(latin_hypercube(np.random.default_rng(seed), count=count, inputs=inputs))
    draws.flags.writeable = False
    return draws


def sampled_values(
    levels: Mapping[float, ModalModel],
    evaluate: Evaluate,
    *,
    force: FloatArray,
    loss: FloatArray,
    grip: FloatArray,
    vary: Vary | None = None,
) -> FloatArray:
    """Return the result for every sample.

    Parameters
    ----------
    levels
        Factor of the grip's stiffness -> modal model of one FE solve at it; one or more.
    evaluate
        Batched model and force factors, both with leading shape (m,), to results (m,) above zero.
    force
        Factors of the force coefficients [-], shape (count,).
    loss
        Factors of the loss factors [-], shape (count,).
    grip
        Factors of the grip's stiffness [-], shape (count,).
    vary
        What else differs from sample to sample: a batched model and the numbers of its samples, shape (m,),
        to the model of these samples.

    Returns
    -------
    ndarray
        Results, shape (count,), inf where no limit exists. Between two levels the reciprocal of the
        result runs straight over the logarithm of the factor; outside them the nearest level holds.

    Raises
    ------
    InputError
        There is no level.

    Source
    ------
    Own interpolation (computed here): results, unlike modes, need no pairing between levels.
    """
    if not levels:
        raise InputError(
            key="levels", given={}, allowed="one modal model or more", mend="Solve the likely grip."
        )

    def at(factor: float, which: NDArray[np.int64]) -> FloatArray:
        model = levels[factor]
        batch = replace(model, eta=model.eta * loss[which, None])
        return evaluate(batch if vary is None else vary(batch, which), force[which])

    return between_levels(list(levels), at, grip=grip)


def between_levels(
    levels: Sequence[float], evaluate: Callable[[float, NDArray[np.int64]], FloatArray], *, grip: FloatArray
) -> FloatArray:
    """Return the result of every sample from those at the levels of the grip's stiffness next to it.

    Parameters
    ----------
    levels
        Factors of the grip's stiffness at which results are known.
    evaluate
        A level and the numbers of samples, shape (m,), to their results there, shape (m,), above zero.
    grip
        Factor of the grip's stiffness of every sample [-], shape (count,).

    Returns
    -------
    ndarray
        Results, shape (count,): their reciprocals run straight over the logarithm of the factor.

    Source
    ------
    Own interpolation (computed here).
    """
    known = np.array(sorted(levels))
    place = np.interp(np.log(grip), np.log(known), np.arange(known.size, dtype=np.float64))
    total = np.zeros(grip.shape)
    for i, factor in enumerate(known):
        weight = np.maximum(1.0 - np.abs(place - i), 0.0)
        used = np.flatnonzero(weight)
        if used.size:
            total[used] += weight[used] / evaluate(float(factor), used)
    return np.where(total > 0.0, 1.0 / np.where(total > 0.0, total, 1.0), np.inf)


def spread(values: FloatArray, likely: float, *, factors: Mapping[str, FloatArray]) -> Spread:
    """Return low, likely and high of a result with the shares of the inputs.

    The share of an input is the part of the variance of the log result that a straight line in the
    log of that input explains: the part that would go if the input were measured.

    Parameters
    ----------
    values
        Results for every sample, shape (count,), above zero, may hold inf.
    likely
        Result at the likely inputs.
    factors
        Input -> sampled factors, shape (count,).

    Returns
    -------
    Spread
        The band; inf where that many samples have no limit.

    Source
    ------
    Squared correlation (computed here); independent inputs.
    """
    low, high = np.quantile(values, NINE_IN_TEN, method="inverted_cdf")
    # Reciprocals keep samples without a limit in the comparison; ranks keep one of them from ruling it.
    order = np.argsort(np.argsort(1.0 / values, kind="stable"), kind="stable").astype(np.float64)
    shares = {name: _explained(np.log(f), order) for name, f in factors.items()}
    return Spread(
        low=float(min(low, likely)), likely=float(likely), high=float(max(high, likely)), shares=shares
    )


def _explained(x: FloatArray, y: FloatArray) -> float:
    """Return the squared correlation, zero where either does not vary."""
    x, y = x - x.mean(), y - y.mean()
    size = float((x @ x) * (y @ y))
    return float((x @ y) ** 2) / size if size > 0.0 else 0.0
