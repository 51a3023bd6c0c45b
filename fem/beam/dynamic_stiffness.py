"""Dynamic stiffness of a chain of beam spans, exact at every frequency. All SI.

Each span is cut into equal pieces so short that none of them, held at both ends, can vibrate below
the frequency in question. Then the number of natural frequencies below it is exactly the number of
negative eigenvalues of the matrix. The pieces are exact solutions, so their number changes no result.

Source: Wittrick & Williams, Q. J. Mech. Appl. Math. 24 (1971) 263 (recalled, not opened); the bound
on the pieces is computed here.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.beam.spans import End, FloatArray, Span

# Terms of the series of the exponential: 0.5^15 / 15! is below rounding.
_SERIES: Final = 15


def total_length(spans: Sequence[Span]) -> float:
    """Return the length of a chain of spans [m]."""
    return sum(span.length for span in spans)


def chain_stiffness(
    spans: Sequence[Span], squared: float, *, root: End, tip: End
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Return the dynamic stiffness of a chain, and which of its motions the ends leave free.

    Parameters
    ----------
    spans
        Spans from the root to the tip.
    squared
        Square of the angular frequency [rad^2/s^2]; zero for statics.
    root
        What holds the first span's outer end.
    tip
        What holds or loads the last span's outer end.

    Returns
    -------
    tuple of ndarray
        Symmetric matrix [N m], shape (n, n), over two motions of each joint: deflection as a part of the
        chain's length, and rotation. Then a mask, shape (n,), False where an end is held.
    """
    length, given = total_length(spans), _Table.of(spans)
    # A bed holds its span the more: without it the pieces are short enough, if fewer.
    none = np.zeros(len(spans))
    pieces = _n_pieces(replace(given, lateral=none, rotation=none), squared)
    whole = _joined(replace(given, length=given.length / pieces), squared, unit=length)
    blocks = np.repeat(whole, pieces, axis=0)
    matrix = np.zeros((2 * len(blocks) + 2, 2 * len(blocks) + 2))
    at = 2 * np.arange(len(blocks))[:, None] + np.arange(4)
    np.add.at(matrix, (at[:, :, None], at[:, None, :]), blocks)
    moves = np.ones(len(matrix), dtype=bool)
    for end, first in ((root, 0), (tip, len(matrix) - 2)):
        springs = ((end.translation * length**2, end.mass * length**2), (end.rotation, 0.0))
        for place, (stiffness, inertia) in enumerate(springs, start=first):
            moves[place] = not math.isinf(stiffness)
            if moves[place]:
                matrix[place, place] += stiffness - squared * inertia
    return matrix, moves


@dataclass(frozen=True)
class _Table:
    """The numbers of spans, one entry each: all of them are worked out at once."""

    length: FloatArray
    bending: FloatArray
    shear: FloatArray
    mass: FloatArray
    rotary: FloatArray
    lateral: FloatArray
    rotation: FloatArray

    @classmethod
    def of(cls, spans: Sequence[Span]) -> _Table:
        """Return the table of spans."""
        rows = [
            (s.length, s.bending, s.shear, s.mass, s.rotary, s.bed.lateral, s.bed.rotation) for s in spans
        ]
        return cls(*np.array(rows).T)


def _n_pieces(given: _Table, squared: float) -> NDArray[np.int64]:
    """Return the pieces of each span that leave each one, held at both ends, at rest below the frequency.

    With s = 1/kappaGA, a the larger of load and bed per deflection, b the same per rotation, and h the length
    of a piece: s a h^2 <= 4, a h^4/EI <= 16, b h^2/EI <= 4 keep 2 s a h^2/pi^2 < 1 and
    2 a h^4/(pi^4 EI) + b h^2/(pi^2 EI) < 1. Wirtinger's inequality on deflection and rotation then puts
    the strain energy above the kinetic energy for every motion that is at rest at both ends.
    """
    a = given.mass * squared + given.lateral
    b = given.rotary * squared + given.rotation
    waves = np.maximum.reduce(
        [np.sqrt(a / given.shear), np.sqrt(np.sqrt(a / given.bending)), np.sqrt(b / given.bending)]
    )
    return np.asarray(np.maximum(1, np.ceil(0.5 * given.length * waves)).astype(np.int64))


def _joined(given: _Table, squared: float, *, unit: float) -> FloatArray:
    """Return the dynamic stiffness (n, 4, 4) of spans that cannot vibrate with both ends held.

    On a bed as stiff as steel one is made of thousands of pieces: two equal ones become one, again and again.
    """
    doublings = np.frexp(_n_pieces(given, squared) - 1.0)[1]
    whole = _piece_stiffness(replace(given, length=given.length / 2.0**doublings), squared, unit=unit)
    for done in range(doublings.max(initial=0)):
        more = doublings > done
        whole[more] = _doubled(whole[more])
    return whole


def _doubled(whole: FloatArray) -> FloatArray:
    """Return the stiffness (n, 4, 4) of two equal pieces each, one behind the other."""
    near, far = whole[:, :2, :2], whole[:, 2:, 2:]
    onward, back = whole[:, :2, 2:], whole[:, 2:, :2]
    across = np.linalg.solve(far + near, np.concatenate([back, onward], axis=2))
    joined = np.zeros_like(whole)
    joined[:, :2, :2], joined[:, 2:, 2:] = near, far
    joined[:, :2] -= onward @ across
    joined[:, 2:] -= back @ across
    return 0.5 * (joined + joined.transpose(0, 2, 1))


def _piece_stiffness(given: _Table, squared: float, *, unit: float) -> FloatArray:
    """Return the exact dynamic stiffness of pieces [N m], (n, 4, 4); deflections are measured in ``unit``."""
    transfer = _transfer(given, squared)
    uu, uf, ff = transfer[:, :2, :2], transfer[:, :2, 2:], transfer[:, 2:, 2:]
    inverse = np.linalg.inv(uf)
    near, far = inverse @ uu, ff @ inverse
    # The two off-diagonal blocks are each other's transpose in theory; taking one keeps the symmetry exact.
    matrix = np.empty((len(transfer), 4, 4))
    matrix[:, :2, :2] = 0.5 * (near + near.transpose(0, 2, 1))
    matrix[:, 2:, 2:] = 0.5 * (far + far.transpose(0, 2, 1))
    matrix[:, :2, 2:], matrix[:, 2:, :2] = -inverse, -inverse.transpose(0, 2, 1)
    scale = np.ones((len(transfer), 4))
    scale[:, ::2] = unit / given.length[:, None]
    return np.asarray(
        (given.bending / given.length)[:, None, None] * matrix * scale[:, :, None] * scale[:, None, :]
    )


def _transfer(given: _Table, squared: float) -> FloatArray:
    """Return what carries the state from one end of a piece to the other: matrix exponentials (n, 4, 4).

    State: deflection over length, rotation of the section, then shear force and moment as multiples of
    EI/length^2 and EI/length. The exponential needs no case distinctions for beds, cut-off or zero frequency.
    """
    length, bending = given.length, given.bending
    deflection = (given.mass * squared - given.lateral) * length**4 / bending
    exponent = np.zeros((len(length), 4, 4))
    exponent[:, 0, 1] = exponent[:, 1, 3] = 1.0
    exponent[:, 0, 2] = bending / (given.shear * length**2)
    exponent[:, 2, 0] = -deflection
    exponent[:, 3, 1] = -(given.rotary * squared - given.rotation) * length**2 / bending
    exponent[:, 3, 2] = -1.0
    # Each derivative counts as many wave numbers: so balanced, no entry is much larger than another.
    wave = np.maximum(1.0, np.abs(deflection)) ** 0.25
    balance = np.stack([np.ones_like(wave), wave, wave**3, wave**2], axis=1)
    ratio = balance[:, None, :] / balance[:, :, None]
    return exponential(exponent * ratio) / ratio


def exponential(matrices: FloatArray) -> FloatArray:
    """Return the exponentials of small matrices, by the series, halved until that is short and squared again.

    Parameters
    ----------
    matrices
        Square, shape (..., n, n); the entries of one should be of like size.

    Source
    ------
    Scaling and squaring (Golub & Van Loan, Matrix Computations; recalled, not opened). SciPy's own takes
    longer to import than the rest of the hand formula to compute.
    """
    halvings = np.maximum(0, np.frexp(2.0 * np.abs(matrices).sum(axis=-1).max(axis=-1))[1])
    small = matrices * 0.5 ** halvings[..., None, None]
    one = np.eye(matrices.shape[-1])
    total = one
    for order in range(_SERIES, 0, -1):
        total = one + small @ total / order
    for done in range(halvings.max(initial=0)):
        total = np.where((halvings > done)[..., None, None], total @ total, total)
    return total
