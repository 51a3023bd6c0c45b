"""A squeal in numbers: waves on a turn, what marks on the work say, and which mode sings."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from stickout.fem.chatter.lobes import waves_per_turn

SURE: Final = 0.8
ELSEWHERE: Final = "something not in the model"
# Notes among which a squeal of unknown origin may lie, evenly in the logarithm [Hz].
SPAN_HZ: Final = (50.0, 12_000.0)
LEAST_CRESTS: Final = 20
_BLIND: Final = 0.25  # of a turn: further off, a line cannot be told from its neighbour in the comb


@dataclass(frozen=True)
class Candidate:
    """A mode that may sing: name, note [Hz], relative deviation of the model's own error, damping ratio."""

    name: str
    hz: float
    sd: float
    ratio: float


@dataclass(frozen=True)
class Match:
    """Which mode sings.

    Attributes
    ----------
    shares
        Name -> probability, ``ELSEWHERE`` among them.
    best
        The likeliest name; None where it is not sure enough, or is none of the model's.
    below
        Whether the note lies below every mode of the model: then post, slide or work sing, not the bar.
    """

    shares: Mapping[str, float]
    best: str | None
    below: bool


def blind_above(rpm: float, hz: float) -> float:
    """Return the relative error of the speed above which the comb of the spindle says nothing at a note.

    Source
    ------
    A quarter of the distance of two lines of the comb (computed here). [A4.blind]
    """
    return _BLIND / float(waves_per_turn(2 * math.pi * hz, rpm))


def mark_pitch(diameter: float, rpm: float, *, hz: float) -> float:
    """Return the distance of two marks along the cut [m]. [A4.pitch]."""
    return math.pi * diameter * rpm / 60.0 / hz


def which_sings(hz: float, candidates: Sequence[Candidate]) -> Match:
    """Return which of the model's modes a note belongs to, or that it is none of them.

    Parameters
    ----------
    hz
        The note [Hz].
    candidates
        The modes.

    Returns
    -------
    Match

    Source
    ------
    Log-normal error of the model about the chatter of each mode, a flat rest (computed here). [A4.which.*]
    """
    weights = {one.name: 0.0 for one in candidates}
    for one in candidates:
        weights[one.name] += likelihood(hz, one)
    weights[ELSEWHERE] = 1.0 / math.log(SPAN_HZ[1] / SPAN_HZ[0])
    total = sum(weights.values())
    shares = {name: weight / total for name, weight in weights.items()}
    best = max(shares, key=lambda name: shares[name])
    sure = shares[best] >= SURE and best != ELSEWHERE
    below = bool(candidates) and all(hz < one.hz * math.exp(-2.0 * one.sd) for one in candidates)
    return Match(MappingProxyType(shares), best if sure else None, below)


def likelihood(hz: float, one: Candidate) -> float:
    """Return the density of a note's logarithm if a mode sings at its chatter frequency."""
    apart = math.log(hz / (one.hz * math.sqrt(1.0 + 2.0 * one.ratio))) / one.sd
    return math.exp(-0.5 * apart**2) / (one.sd * math.sqrt(2.0 * math.pi))
