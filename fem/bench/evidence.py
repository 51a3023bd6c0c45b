"""What was measured, as the fit takes it: notes, dampings and compliances with their uncertainty."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.hand_check import hand_check
from stickout.fem.bench.listening import Heard
from stickout.fem.bench.log import LoggedTap
from stickout.fem.bench.poles import FloatArray
from stickout.fem.bench.pull import HOLDER, POST, UP, WAYS, Pulled
from stickout.fem.bench.springing import SpringPass
from stickout.fem.setup.parts import HeardCut, Setup
from stickout.fem.solid.setting import bed_springs, elastic, hold_of
from stickout.meshes.pieces import pieces_of

_NINETY: Final = 1.645
READ_SD: Final = 0.01  # relative, of a note read off a screen
READ_DAMPING_SD: Final = 0.25  # relative, of a damping ratio read off a decay


@dataclass(frozen=True)
class Note:
    """A note heard: frequency with its relative standard deviation, damping where trusted; what differed.

    ``mass`` [kg] was clipped on at ``mass_at`` from the holder face [m], None being the edge.
    ``direction`` is a unit vector, None where any will do.
    """

    frequency_hz: float
    sd: float
    damping: float | None = None
    damping_sd: float = 0.0
    overhang: float | None = None
    mass: float = 0.0
    direction: FloatArray | None = None
    mass_at: float | None = None


@dataclass(frozen=True)
class PulledCompliance:
    """A compliance pulled [m/N] with its relative standard deviation; places from the holder face [m].

    ``base`` is where the dial stood: on the post it saw tool and grip, on the bed all that gives.
    """

    compliance: float
    sd: float
    load_at: float
    dial_at: float
    direction: FloatArray
    base: str = POST


@dataclass(frozen=True)
class Evidence:
    """All that was measured of one bar; cuts heard and spring passes are counted in what is predicted."""

    notes: Sequence[Note] = ()
    compliances: Sequence[PulledCompliance] = ()
    cuts: Sequence[HeardCut] = ()
    sprung: Sequence[SpringPass] = ()

    def pulled_from(self, base: str) -> list[PulledCompliance]:
        """Return the pulls with the dial on one base."""
        return [one for one in self.compliances if one.base == base]


def note_of(tap: LoggedTap, heard: Heard, *, near_hz: float) -> Note | None:
    """Return the note of a recording that is the bar's; None where nothing was heard.

    Parameters
    ----------
    tap
        The entry of the log.
    heard
        What was heard.
    near_hz
        About where the model's note lies: the nearest one heard counts, by its logarithm.
    """
    if not heard.modes:
        return None
    mode = min(heard.modes, key=lambda one: abs(math.log(one.frequency_hz.likely / near_hz)))
    hz, loss = mode.frequency_hz, mode.damping_ratio
    way = WAYS.get(tap.direction or "")
    return Note(
        frequency_hz=hz.likely,
        sd=(hz.high - hz.low) / (2 * _NINETY * hz.likely),
        damping=None if loss is None else loss.likely,
        damping_sd=0.0 if loss is None else (loss.high - loss.low) / (2 * _NINETY * loss.likely),
        overhang=tap.overhang,
        mass=tap.mass,
        direction=None if way is None else np.array(way),
        mass_at=tap.mass_at,
    )


def note_as_heard(tap: LoggedTap) -> Note | None:
    """Return the note of a tap that was entered by its pitch and damping ratio; None for a recording.

    Source
    ------
    How well a note off a screen and a damping ratio off a decay are known: common practice, no source.
    """
    if tap.ring_hz is None:
        return None
    way = WAYS.get(tap.direction or "")
    return Note(
        frequency_hz=tap.ring_hz,
        sd=READ_SD,
        damping=tap.damping_ratio,
        damping_sd=0.0 if tap.damping_ratio is None else READ_DAMPING_SD,
        overhang=tap.overhang,
        mass=tap.mass,
        direction=None if way is None else np.array(way),
        mass_at=tap.mass_at,
    )


def expected_hz(setup: Setup, tap: LoggedTap) -> float:
    """Return about where the note of a tap lies by the hand formula [Hz]: enough to pick it among others.

    Parameters
    ----------
    setup
        The set-up.
    tap
        The entry of the log: its overhang and its mass count.
    """
    bar, edge = setup.bar, setup.edge
    if tap.overhang is not None:
        bar = replace(bar, overhang_mm=1e3 * tap.overhang)
    tip = edge.mass_g * 1e-3 + tap.mass
    at = replace(setup, bar=bar)
    pieces = pieces_of(bar, hold_of(at))
    found = hand_check(pieces, elastic(setup.materials["bar"]), tip_mass=tip, spring=bed_springs(at))
    return float(found.frequency_hz)


def compliance_of(pulled: Pulled) -> PulledCompliance | None:
    """Return the compliance of a pull on tool and grip; None where it was refused or saw less than both."""
    band = pulled.compliance
    if band is None or pulled.pull.base == HOLDER:
        return None
    return PulledCompliance(
        band.likely,
        (band.high - band.low) / (2 * _NINETY * band.likely),
        pulled.pull.load_at,
        pulled.pull.dial_at,
        np.array(WAYS[pulled.pull.direction or UP]),
        pulled.pull.base,
    )
