"""Directions at the edge: equal pairs turned to the force, alignment, modal mass and stiffness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fem.modes import Modes
from meshes.tagged import BoolArray, FloatArray

# Below this share of its greatest motion a mode does not move the edge.
_STILL = 1e-4


def equal_pairs(
    frequency_hz: FloatArray, error: FloatArray, *, kinds: Sequence[str]
) -> list[tuple[int, int]]:
    """Return the neighbouring modes that are equal within the error, as index pairs.

    Parameters
    ----------
    frequency_hz
        Frequencies, rising, shape (n_modes,).
    error
        Relative error of each, shape (n_modes,).
    kinds
        Kind of each mode; only bending and mixed modes come in pairs.

    Returns
    -------
    list of (int, int)
        Indices from 0; no mode is in two pairs.
    """
    pairs: list[tuple[int, int]] = []
    for i in range(len(frequency_hz) - 1):
        taken = bool(pairs) and pairs[-1][1] == i
        alike = kinds[i] == kinds[i + 1] and kinds[i] in ("bending", "mixed")
        apart = frequency_hz[i + 1] - frequency_hz[i]
        if alike and not taken and apart <= max(error[i], error[i + 1]) * frequency_hz[i + 1]:
            pairs.append((i, i + 1))
    return pairs


def turned_to(modes: Modes, pairs: Sequence[tuple[int, int]], *, force: FloatArray) -> Modes:
    """Return the modes with every pair turned and every sign fixed.

    Inside a pair the first shape takes all the motion along ``force`` at the edge, the second has
    none. The first component of each edge motion that is not zero is made positive.

    Parameters
    ----------
    modes
        Modes as solved.
    pairs
        Indices of the equal pairs.
    force
        Direction, shape (3,); where neither shape moves along it, z is used.

    Returns
    -------
    Modes
        Shapes and edge motions turned; energies likewise to first order (they are equal in a pair).
    """
    turn = np.eye(len(modes.frequency_hz))
    for pair in pairs:
        i, j = pair
        along = modes.edge[[i, j]] @ force
        if np.linalg.norm(along) < _STILL * np.abs(modes.edge[[i, j]]).max():
            along = modes.edge[[i, j], 2]
        size = np.linalg.norm(along)
        c, s = (along / size) if size > 0 else (1.0, 0.0)
        turn[np.ix_(pair, pair)] = [[c, s], [-s, c]]
    edge = turn @ modes.edge
    shapes = np.einsum("ij,jpk->ipk", turn, modes.shapes)
    largest = np.abs(shapes).max(axis=(1, 2))
    # In a pair the second shape is left with rounding along the force: that is no motion.
    edge[np.abs(edge) < 1e-7 * largest[:, None]] = 0.0
    first = np.argmax(edge != 0, axis=1)
    sign = np.where(edge[np.arange(len(edge)), first] < 0, -1.0, 1.0)
    return replace(modes, edge=edge * sign[:, None], shapes=shapes * sign[:, None, None])


def edge_moves(modes: Modes) -> BoolArray:
    """Return whether each mode moves the edge at all, shape (n_modes,), bool."""
    moves: BoolArray = np.linalg.norm(modes.edge, axis=1) > _STILL * np.linalg.norm(modes.shapes, axis=2).max(
        axis=1
    )
    return moves


def alignment(edge: FloatArray, force: FloatArray) -> FloatArray:
    """Return the share of each mode's squared edge motion that lies along the force, shape (n_modes,).

    Source
    ------
    ``(e . phi)^2 / |phi|^2``; physics page, section b (computed here).
    """
    size = (edge**2).sum(axis=1)
    share: FloatArray = np.divide((edge @ force) ** 2, size, out=np.zeros(len(edge)), where=size > 0)
    return share


def static_share(modes: Modes, compliance: FloatArray, *, force: FloatArray) -> FloatArray:
    """Return the share of each mode in the static spring along the force, shape (n_modes,).

    Source
    ------
    ``(e . phi)^2 / omega^2`` over ``e C e``; physics page, section b (computed here).
    """
    share: FloatArray = (modes.edge @ force) ** 2 / modes.omega**2 / (force @ compliance @ force)
    return share
