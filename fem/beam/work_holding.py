"""What holds the part: springs of chuck, spindle, centre, quill and steadies, with bands and sources.

A number the user gave was measured with all that is behind it and stands alone. The others are put in series:
the chuck's jaws with the spindle, the centre with its quill.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from stickout.fem.beam.stepped import PointSpring
from stickout.fem.setup.bands import USER_SOURCE, Band, exactly
from stickout.fem.setup.work_parts import Work
from stickout.fem.units import MM, N_PER_UM

HABIT: Final = "common practice, no source: a small lathe"
# Joint of a three-jaw scroll chuck of 80 to 125 mm whose jaws grip 20 mm or more.
JAWS: Final = Band(20e6, 60e6, 180e6, HABIT)
JAWS_TILT: Final = Band(1e4, 3e4, 9e4, HABIT)
SPINDLE: Final = Band(15e6, 30e6, 60e6, HABIT)
SPINDLE_TILT: Final = Band(5e4, 1e5, 3e5, HABIT)
LIVE_CENTRE: Final = Band(10e6, 20e6, 40e6, HABIT)
DEAD_CENTRE: Final = Band(25e6, 50e6, 120e6, HABIT)
QUILL_SHORT: Final = Band(15e6, 25e6, 40e6, HABIT)
QUILL_LONG: Final = Band(5e6, 8.5e6, 15e6, HABIT)
STEADY: Final = Band(10e6, 20e6, 40e6, HABIT)
PERFECT: Final = "perfect"
# A quill out by less counts as short, by more as long; between them the logarithm of its spring is straight.
SHORT_MM, LONG_MM = 30.0, 80.0
# Jaw length from which the tilting band holds; two lines of contact give with the length squared.
FULL_JAW_MM: Final = 20.0


@dataclass(frozen=True)
class HoldSpring:
    """One thing that gives: its name, its spring [N/m], or [N m/rad] where ``tilts``."""

    name: str
    band: Band
    tilts: bool = False


@dataclass(frozen=True)
class Support:
    """Springs in series under one place of the part [m]."""

    at: float
    radial: tuple[HoldSpring, ...]
    tilt: tuple[HoldSpring, ...] = ()


def supports(work: Work) -> list[Support]:
    """Return what holds a part, from the headstock on.

    Source
    ------
    Bands: common practice, no source; springs in series (computed here).
    """
    found = [_head(work)]
    for steady in work.steadies:
        found.append(Support(steady.at_mm * MM, (_given("steady", work.steady_n_per_um, STEADY),)))
    if work.held != "chuck":
        found.append(Support(work.length_mm * MM, tuple(_tail(work))))
    return found


def _head(work: Work) -> Support:
    """Return what gives at the headstock."""
    jaws = work.held != "between centres"
    radial: tuple[HoldSpring, ...]
    if work.chuck_n_per_um is not None:
        radial = (_given("chuck" if jaws else "headstock", work.chuck_n_per_um, JAWS),)
    else:
        first = HoldSpring("chuck jaws", JAWS) if jaws else HoldSpring("headstock centre", DEAD_CENTRE)
        radial = (first, HoldSpring("spindle nose", SPINDLE))
    if not jaws:
        return Support(0.0, radial)
    if work.chuck_tilt_nm_per_rad is not None:
        return Support(0.0, radial, (HoldSpring("chuck tilting", exactly(work.chuck_tilt_nm_per_rad), True),))
    share = min(1.0, (work.jaw_length_mm or FULL_JAW_MM) / FULL_JAW_MM) ** 2
    low, likely, high = (share * one for one in (JAWS_TILT.low, JAWS_TILT.likely, JAWS_TILT.high))
    held = Band(low, likely, high, JAWS_TILT.source)
    tilt = (HoldSpring("chuck jaws tilting", held, True), HoldSpring("spindle tilting", SPINDLE_TILT, True))
    return Support(0.0, radial, tilt)


def _tail(work: Work) -> Iterator[HoldSpring]:
    """Yield what gives at the tailstock."""
    if work.centre_n_per_um is not None:
        yield _given("tailstock centre", work.centre_n_per_um, LIVE_CENTRE)
        return
    yield HoldSpring("live centre", LIVE_CENTRE)
    out = SHORT_MM if work.quill_out_mm is None else work.quill_out_mm
    share = min(max((out - SHORT_MM) / (LONG_MM - SHORT_MM), 0.0), 1.0)
    low, likely, high = (
        getattr(QUILL_SHORT, end) ** (1 - share) * getattr(QUILL_LONG, end) ** share
        for end in ("low", "likely", "high")
    )
    yield HoldSpring("tailstock quill", Band(low, likely, high, HABIT))


def _given(name: str, value: float | None, usual: Band) -> HoldSpring:
    """Return the spring the user gave [N/um], or the usual one."""
    return HoldSpring(name, usual if value is None else exactly(value * N_PER_UM))


def point_springs(work: Work, side: str = "likely") -> list[PointSpring]:
    """Return the springs under a part at one end of their bands, low, likely or high; or rigid: perfect."""
    if side == PERFECT:
        return [PointSpring(one.at, math.inf, math.inf if one.tilt else 0.0) for one in supports(work)]
    return [
        PointSpring(one.at, _series(one.radial, side), _series(one.tilt, side) if one.tilt else 0.0)
        for one in supports(work)
    ]


def assumed_springs(work: Work) -> list[HoldSpring]:
    """Return the springs that nobody measured, each once."""
    found = [spring for one in supports(work) for spring in (*one.radial, *one.tilt)]
    return list({one.name: one for one in found if one.band.source != USER_SOURCE}.values())


def _series(springs: tuple[HoldSpring, ...], side: str) -> float:
    """Return springs one behind the other."""
    return float(1.0 / sum(1.0 / getattr(one.band, side) for one in springs))
