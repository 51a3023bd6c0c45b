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
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stickout.fem.beam.spans import Bed, End, FloatArray, Span

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
    length = total_length(spans)
    # A bed holds its span the more: without it the pieces are short enough, if fewer.
    pieces = [_n_pieces(replace(span, bed=Bed()), squared) for span in spans]
    matrix = np.zeros((2 * sum(pieces) + 2, 2 * sum(pieces) + 2))
    at = 0
    for span, number in zip(spans, pieces, strict=True):
        piece = _joined(replace(span, length=span.length / number), squared, unit=length)
        for _ in range(number):
            matrix[at : at + 4, at : at + 4] += piece
            at += 2
    moves = np.ones(len(matrix), dtype=bool)
    for end, first in ((root, 0), (tip, len(matrix) - 2)):
        springs = ((end.translation * length**2, end.mass * length**2), (end.rotation, 0.0))
        for place, (stiffness, inertia) in enumerate(springs, start=first):
            moves[place] = not math.isinf(stiffness)
            if moves[place]:
                matrix[place, place] += stiffness - squared * inertia
    return matrix, moves


def _n_pieces(span: Span, squared: float) -> int:
    """Return the pieces of a span that leave each one, held at both ends, at rest below the frequency.

    With s = 1/kappaGA, a the larger of load and bed per deflection, b the same per rotation, and h the length
    of a piece: s a h^2 <= 4, a h^4/EI <= 16, b h^2/EI <= 4 keep 2 s a h^2/pi^2 < 1 and
    2 a h^4/(pi^4 EI) + b h^2/(pi^2 EI) < 1. Wirtinger's inequality on deflection and rotation then puts
    the strain energy above the kinetic energy for every motion that is at rest at both ends.
    """
    a = span.mass * squared + span.bed.lateral
    b = span.rotary * squared + span.bed.rotation
    waves = (math.sqrt(a / span.shear), math.sqrt(math.sqrt(a / span.bending)), math.sqrt(b / span.bending))
    return max(1, math.ceil(0.5 * span.length * max(waves)))


def _joined(span: Span, squared: float, *, unit: float) -> FloatArray:
    """Return the 4x4 dynamic stiffness of a span that cannot vibrate with both ends held.

    On a bed as stiff as steel it is made of thousands of pieces: two equal ones become one, again and again.
    """
    doublings = (_n_pieces(span, squared) - 1).bit_length()
    whole = _piece_stiffness(span, squared, length=span.length / 2**doublings, unit=unit)
    for _ in range(doublings):
        middle = whole[2:, 2:] + whole[:2, :2]
        across = np.linalg.solve(middle, np.hstack([whole[2:, :2], whole[:2, 2:]]))
        joined = np.zeros((4, 4))
        joined[:2, :2], joined[2:, 2:] = whole[:2, :2], whole[2:, 2:]
        joined[:2] -= whole[:2, 2:] @ across
        joined[2:] -= whole[2:, :2] @ across
        whole = 0.5 * (joined + joined.T)
    return whole


def _piece_stiffness(span: Span, squared: float, *, length: float, unit: float) -> FloatArray:
    """Return the exact 4x4 dynamic stiffness of a piece [N m]; deflections are measured in ``unit``."""
    transfer = _transfer(span, squared, length)
    uu, uf, ff = transfer[:2, :2], transfer[:2, 2:], transfer[2:, 2:]
    inverse = np.linalg.inv(uf)
    near, far = inverse @ uu, ff @ inverse
    # The two off-diagonal blocks are each other's transpose in theory; taking one keeps the symmetry exact.
    matrix = np.empty((4, 4))
    matrix[:2, :2], matrix[2:, 2:] = 0.5 * (near + near.T), 0.5 * (far + far.T)
    matrix[:2, 2:], matrix[2:, :2] = -inverse, -inverse.T
    scale = np.array([unit / length, 1.0, unit / length, 1.0])
    return (span.bending / length) * matrix * np.outer(scale, scale)


def _transfer(span: Span, squared: float, length: float) -> FloatArray:
    """Return what carries the state from one end of a piece to the other: the matrix exponential.

    State: deflection over length, rotation of the section, then shear force and moment as multiples of
    EI/length^2 and EI/length. The exponential needs no case distinctions for beds, cut-off or zero frequency.
    """
    deflection = (span.mass * squared - span.bed.lateral) * length**4 / span.bending
    rotation = (span.rotary * squared - span.bed.rotation) * length**2 / span.bending
    slide = span.bending / (span.shear * length**2)
    exponent = np.array(
        [
            [0.0, 1.0, slide, 0.0],
            [0.0, 0.0, 0.0, 1.0],
            [-deflection, 0.0, 0.0, 0.0],
            [0.0, -rotation, -1.0, 0.0],
        ]
    )
    # Each derivative counts as many wave numbers: so balanced, no entry is much larger than another.
    wave = max(1.0, abs(deflection)) ** 0.25
    balance = np.array([1.0, wave, wave**3, wave**2])
    balanced = exponential(exponent * balance / balance[:, None])
    return np.asarray(balanced * balance[:, None] / balance)


def exponential(matrix: FloatArray) -> FloatArray:
    """Return the exponential of a small matrix, by its series, halved until that is short and squared again.

    Parameters
    ----------
    matrix
        Square; its entries should be of like size.

    Source
    ------
    Scaling and squaring (Golub & Van Loan, Matrix Computations; recalled, not opened). SciPy's own takes
    longer to import than the rest of the hand formula to compute.
    """
    halvings = max(0, math.frexp(2.0 * float(np.abs(matrix).sum(axis=1).max()))[1])
    small = matrix * 0.5**halvings
    one = np.eye(len(matrix))
    total = one
    for order in range(_SERIES, 0, -1):
        total = one + small @ total / order
    for _ in range(halvings):
        total = total @ total
    return total
