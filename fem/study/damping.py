"""Loss factors by energy shares."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np

from stickout.fem.errors import InputError
from stickout.meshes.tagged import FloatArray

# Below this loss factor of every part the energy shares and the complex problem agree to about 1 % (computed
# here: the gap is about half the square of the loss factor).
_LOSSY: Final = 0.1


def energy_shares(energy: Mapping[str, FloatArray]) -> dict[str, FloatArray]:
    """Return the share of each region in the strain energy of each mode, shape (n_modes,) each.

    Parameters
    ----------
    energy
        Strain energy of each region in each mode [J].

    Returns
    -------
    dict of ndarray
        Shares that sum to 1 over the regions; zero for a mode without energy (a free motion).
    """
    total = np.sum(list(energy.values()), axis=0)
    return {k: np.divide(v, total, out=np.zeros_like(total), where=total > 0) for k, v in energy.items()}


def modal_loss_factors(energy: Mapping[str, FloatArray], eta: Mapping[str, float]) -> FloatArray:
    """Return the loss factor of each mode, weighted by strain energy.

    ``eta_r = sum_j eta_j U_jr / sum_j U_jr`` over the regions and joints j.

    Parameters
    ----------
    energy
        Strain energy of each region in each mode [J], shape (n_modes,) per region.
    eta
        Loss factor of each region [-], zero or above, one for every region.

    Returns
    -------
    ndarray
        Loss factor of each mode [-], shape (n_modes,); twice the damping ratio near resonance.

    Raises
    ------
    InputError
        A region has no loss factor, or a negative one.

    Notes
    -----
    First order in the loss factors: reads 0.9 % high in mode 1 of the two-mass case in tests.

    Source
    ------
    Johnson & Kienholz, AIAA J. 20 (1982) 1284 (recalled, not opened).

    Examples
    --------
    The bar holds two thirds of the energy, the lossy shim one third.

    >>> energy = {"bar": np.array([2.0]), "shim": np.array([1.0])}
    >>> modal_loss_factors(energy, {"bar": 0.0, "shim": 0.03}).round(6)
    array([0.01])
    """
    for name in energy:
        value = eta.get(name)
        if value is None or not value >= 0:
            raise InputError(
                key="eta", given=dict(eta), allowed=f"zero or above, one for each of {sorted(energy)}",
                mend=f"Give {name!r} a loss factor.",
            )  # fmt: skip
    weighted = [share * eta[name] for name, share in energy_shares(energy).items()]
    total: FloatArray = np.sum(weighted, axis=0)
    return total


def needs_complex(eta: Sequence[float]) -> bool:
    """Return whether loss factors by energy shares and by the complex problem may differ.

    Parameters
    ----------
    eta
        Loss factor of every part [-].
    """
    return max(eta) >= _LOSSY and len(set(eta)) > 1
