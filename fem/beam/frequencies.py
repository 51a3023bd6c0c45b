"""Exact bending frequencies and tip stiffnesses of a chain of beam spans, with no frequency missed.

The matrix of fem/beam/dynamic_stiffness.py has as many negative eigenvalues as the chain has natural
frequencies below the one tried: where the n-th lowest changes its sign is the n-th frequency. A bracket that
narrows on that sign cannot miss or invent a root. All SI.

Source: Wittrick & Williams, Q. J. Mech. Appl. Math. 24 (1971) 263 (recalled, not opened).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from stickout.fem.beam.dynamic_stiffness import chain_stiffness, total_length
from stickout.fem.beam.spans import FREE, HELD, End, FloatArray, Span
from stickout.fem.errors import InputError, SolveError

# The search ends where a frequency is known to this part of itself, near the rounding of the sign.
RESOLUTION = 1e-14
LARGEST_SEARCH = 400
# After so many secants that did not halve the bracket it is halved.
_STUBBORN = 3


def bending_frequencies(
    spans: Sequence[Span],
    n_modes: int = 1,
    *,
    root: End = HELD,
    tip: End = FREE,
    resolution: float = RESOLUTION,
) -> FloatArray:
    """Return the lowest bending frequencies of a chain of spans.

    Parameters
    ----------
    spans
        Spans from the root to the tip; a gripped part on a bed comes first, with a free root.
    n_modes
        How many frequencies.
    root
        What holds the first span's outer end.
    tip
        What holds or loads the last span's outer end.
    resolution
        Relative step at which the search for a frequency ends.

    Returns
    -------
    ndarray
        Frequencies [Hz], rising, shape (n_modes,); zero for each motion that nothing resists.

    Raises
    ------
    InputError
        There is no span, or fewer than one mode is wanted.
    SolveError
        A frequency lies outside all reach of the search.
    """
    _require_chain(spans)
    if n_modes < 1:
        raise InputError(
            key="n_modes", given=n_modes, allowed="1 or above", mend="Ask for one mode at least."
        )
    rigid = _n_rigid(spans, root, tip)
    found = [0.0] * min(rigid, n_modes)
    guess = min(math.sqrt(span.bending / span.mass) for span in spans) / total_length(spans) ** 2
    while len(found) < n_modes:
        ends = (root, tip)
        guess = _nth_frequency(spans, len(found) + 1, guess, ends=ends, resolution=resolution)
        found.append(guess)
    return np.array(found) / (2.0 * math.pi)


def tip_stiffness(spans: Sequence[Span], *, root: End = HELD, tip: End = FREE) -> float:
    """Return static force over deflection at the tip of a chain of spans [N/m].

    Raises
    ------
    InputError
        There is no span, nothing holds the bar, or the tip itself is held.

    Source
    ------
    Exact solution of the beam equations, computed here.
    """
    _require_chain(spans)
    _require_free_tip(tip)
    if _n_rigid(spans, root, tip):
        raise InputError(
            key="root",
            given=root,
            allowed="held or sprung, or a span on a bed",
            mend="A bar that nothing holds has no static stiffness: add a spring or a bed.",
        )
    return _tip_dynamic_stiffness(spans, 0.0, root, tip)


def _require_chain(spans: Sequence[Span]) -> None:
    if not spans:
        raise InputError(
            key="spans", given=spans, allowed="one span or more", mend="Add the bar's first span."
        )


def _require_free_tip(tip: End) -> None:
    if math.isinf(tip.translation):
        raise InputError(
            key="tip.translation",
            given=tip.translation,
            allowed="finite",
            mend="A tip that cannot move has no stiffness to report: leave it free or put it on a spring.",
        )


def _n_rigid(spans: Sequence[Span], root: End, tip: End) -> int:
    """Count the motions as a straight, stiff line that no support resists: 0, 1 or 2."""
    deflection = [bool(end.translation) for end in (root, tip)]
    rotation = [bool(end.rotation) for end in (root, tip)] + [bool(span.bed.rotation) for span in spans]
    if any(span.bed.lateral for span in spans) or all(deflection):
        return 0
    return 2 - int(any(deflection)) - int(any(rotation))


def _nth_frequency(
    spans: Sequence[Span], number: int, guess: float, *, ends: tuple[End, End], resolution: float
) -> float:
    """Return the angular frequency of one mode: where its eigenvalue changes its sign."""

    def value(omega: float) -> float:
        """Return the eigenvalue that is negative where so many frequencies lie below this one, or more."""
        matrix, keep = chain_stiffness(spans, omega**2, root=ends[0], tip=ends[1])
        every = np.linalg.eigvalsh(matrix[np.ix_(keep, keep)])
        return float(every[number - 1]) if len(every) >= number else math.inf

    low = high = guess
    above = below = value(guess)
    for _ in range(LARGEST_SEARCH):
        if above < 0:
            break
        low, below, high = high, above, 2.0 * high
        above = value(high)
    else:
        raise SolveError(f"mode {number} lies above {high:.3g} rad/s: check the units of the spans.")
    for _ in range(LARGEST_SEARCH):
        if below >= 0:
            break
        low, high, above = 0.5 * low, low, below
        below = value(low)
    else:
        raise SolveError(f"mode {number} lies below {low:.3g} rad/s: its support is too soft to matter.")
    return _root(value, _Bracket(low, high, below, above), resolution)


@dataclass(frozen=True)
class _Bracket:
    """Two places and a function's values there, not negative at the low one, negative at the high one."""

    low: float
    high: float
    below: float
    above: float

    def between(self, least: float) -> float:
        """Return where the secant is zero, or the middle where there is none; so far from both ends."""
        middle = self.low + (self.high - self.low) / 2
        if not math.isfinite(self.below):
            return middle
        part = self.below / (self.below - self.above)
        place = self.low + part * (self.high - self.low)
        return min(max(place, self.low + least), self.high - least)


def _root(value: Callable[[float], float], bracket: _Bracket, resolution: float) -> float:
    """Return where a function turns negative: by secants, by halves where those do not narrow the bracket.

    Source
    ------
    The Illinois way, in which an end that stays a second time counts half: Dowell & Jarratt, BIT 11 (1971)
    168 (recalled, not opened). The function jumps where the number of pieces changes, but its sign is right.
    """
    stubborn, before = 0, 0
    while (wide := bracket.high - bracket.low) > resolution * bracket.high:
        # So near to an end that the bracket is narrow enough when the sign changes there.
        least = wide / 2 if stubborn == _STUBBORN else 0.4 * resolution * bracket.high
        place = bracket.between(least)
        found = value(place)
        side = -1 if found < 0 else 1
        half = 0.5 if side == before else 1.0
        bracket = (
            replace(bracket, high=place, above=found, below=half * bracket.below)
            if side < 0
            else replace(bracket, low=place, below=found, above=half * bracket.above)
        )
        before = side
        stubborn = stubborn + 1 if bracket.high - bracket.low > wide / 2 else 0
    return 0.5 * (bracket.low + bracket.high)


def _tip_dynamic_stiffness(spans: Sequence[Span], squared: float, root: End, tip: End) -> float:
    matrix, keep = chain_stiffness(spans, squared, root=root, tip=tip)
    force = np.zeros(len(matrix))
    force[-2] = 1.0
    moved = np.linalg.solve(matrix[np.ix_(keep, keep)], force[keep])
    place = int(np.searchsorted(np.flatnonzero(keep), len(matrix) - 2))
    return float(1.0 / moved[place]) / total_length(spans) ** 2
