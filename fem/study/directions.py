"""Directions at the edge: equal pairs turned to the force, alignment, modal mass and stiffness."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from stickout.fem.later import Later
from stickout.fem.solid.modes import Modes
from stickout.meshes.tagged import BoolArray, FloatArray

# Below this share of its greatest motion a mode does not move the edge.
_STILL = 1e-4
_PAIRED = ("bending", "mixed", "post")


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
        Kind of each mode; only bending, mixed and post modes come in pairs.

    Returns
    -------
    list of (int, int)
        Indices from 0; no mode is in two pairs.
    """
    pairs: list[tuple[int, int]] = []
    for i in range(len(frequency_hz) - 1):
        taken = bool(pairs) and pairs[-1][1] == i
        alike = kinds[i] == kinds[i + 1] and kinds[i] in _PAIRED
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
    turn = pair_turns(modes.edge, pairs, force=force)
    edge, sign = signed(turn @ modes.edge, still=1e-7 * modes.most)
    turn = sign[:, None] * turn
    section = None if modes.section is None else partial(_turned_section, modes.section, turn)
    return replace(modes, edge=edge, drawn=Later(partial(_turned_shapes, modes, turn)), section=section)


def _turned_shapes(modes: Modes, turn: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("ij,jpk->ipk", turn, modes.shapes))


def _turned_section(section: Callable[[float], FloatArray], turn: FloatArray, x: float) -> FloatArray:
    return np.asarray(turn @ section(x))


def pair_turns(edge: FloatArray, pairs: Sequence[tuple[int, int]], *, force: FloatArray) -> FloatArray:
    """Return the matrix that turns every pair to a force, shape (n_modes, n_modes).

    Parameters
    ----------
    edge
        Motion of the edge in each mode, shape (n_modes, 3).
    pairs
        Indices of the equal pairs.
    force
        Direction, shape (3,); where neither shape moves along it, z is used.
    """
    turn = np.eye(len(edge))
    for pair in pairs:
        i, j = pair
        along = edge[[i, j]] @ force
        if np.linalg.norm(along) < _STILL * np.abs(edge[[i, j]]).max():
            along = edge[[i, j], 2]
        size = np.linalg.norm(along)
        c, s = (along / size) if size > 0 else (1.0, 0.0)
        turn[np.ix_(pair, pair)] = [[c, s], [-s, c]]
    return turn


def signed(edge: FloatArray, *, still: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return edge motions with their first component that is not zero positive, and the signs put on them.

    Parameters
    ----------
    edge
        Motion of the edge in each mode, shape (n_modes, 3).
    still
        Motion of each mode below which a component is rounding, no motion, shape (n_modes,).
    """
    edge = np.where(np.abs(edge) < still[:, None], 0.0, edge)
    first = np.argmax(edge != 0, axis=1)
    sign = np.where(edge[np.arange(len(edge)), first] < 0, -1.0, 1.0)
    return edge * sign[:, None], sign


def edge_moves(modes: Modes) -> BoolArray:
    """Return whether each mode moves the edge at all, shape (n_modes,), bool."""
    moves: BoolArray = np.linalg.norm(modes.edge, axis=1) > _STILL * modes.most
    return moves


def alignment(edge: FloatArray, force: FloatArray) -> FloatArray:
    """Return the share of each mode's squared edge motion that lies along the force, shape (n_modes,).

    Source
    ------
    ``(e . phi)^2 / |phi|^2``; modal superposition (computed here).
    """
    size = (edge**2).sum(axis=1)
    share: FloatArray = np.divide((edge @ force) ** 2, size, out=np.zeros(len(edge)), where=size > 0)
    return share


def static_share(modes: Modes, compliance: FloatArray, *, force: FloatArray) -> FloatArray:
    """Return the share of each mode in the static spring along the force, shape (n_modes,).

    Source
    ------
    ``(e . phi)^2 / omega^2`` over ``e C e``; modal superposition (computed here).
    """
    share: FloatArray = (modes.edge @ force) ** 2 / modes.omega**2 / (force @ compliance @ force)
    return share
