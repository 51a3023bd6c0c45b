"""What a pull does to a seat with screws, and what of its movement is the bar's own bending."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from stickout.fem.beam.hand_bar import tip_flexibility
from stickout.fem.beam.hand_check import plane_spans
from stickout.fem.bench.pull import HOLDER, UP, WAYS, Pull, Pulled, read_pull
from stickout.fem.bench.split import split_by_base
from stickout.fem.errors import InputError
from stickout.fem.nearest import Plain
from stickout.fem.setup.bands import Band
from stickout.fem.setup.parts import Setup
from stickout.fem.solid.setting import elastic, hold_of
from stickout.fem.units import MM
from stickout.meshes.pieces import pieces_of

TORQUE_OF_M8: Final = 10.0  # N m; goes with the cube of the diameter
_THREAD: Final = 0.2  # torque over force and diameter
_KNOWN: Final = (0.8, 1.33)  # of the force, from 0.25 to 0.15 of that, where the torque is told
_GUESSED: Final = (0.45, 2.2)  # where a hand tightened them by feel
_HAND: Final = 0.03  # of a bar's bending by the hand formula: diameter, modulus, shear
ASSUMED: Final = "screws assumed to be tightened by hand, 10 N·m for M8 (common practice, no source)"
TOLD: Final = "screws tightened as told, friction of the thread assumed (common practice, no source)"
_BENDING: Final = "computed: Timoshenko beam from the holder face on"


@dataclass(frozen=True)
class Pulls:
    """What pulls of one bar gave together.

    Attributes
    ----------
    pulls
        Each of them.
    split
        What gives how much [m/N], see ``stickout.fem.bench.split``.
    computed
        Whether the tool's own part is computed, since no dial stood on the holder.
    opens
        From which load on each opens the seat [N]; None where that is not known.
    """

    pulls: tuple[Pulled, ...]
    split: Mapping[str, Band]
    computed: bool
    opens: tuple[Band | None, ...]


def read_pulls(pulls: Sequence[Pull], *, setup: Setup | None = None) -> Pulls:
    """Return what pulls of one bar gave: each one, who gives how much, and whether the seat opened.

    Parameters
    ----------
    pulls
        The readings.
    setup
        The set-up that was pulled; without one only dials on two bases split the movement.

    Raises
    ------
    InputError
        A place lies beyond the bar of the set-up.
    """
    read = tuple(read_pull(one) for one in pulls)
    for number, one in enumerate(pulls if setup is not None else (), 1):
        _check_places(one, setup, number=number)
    found = any(one.compliance is not None and one.pull.base == HOLDER for one in read)
    computed = bool(pulls) and setup is not None and not found and min(pulls[0].load_at, pulls[0].dial_at) > 0
    tool = bar_compliance(pulls[0], setup) if computed and setup is not None else None
    opens = tuple(None if setup is None else seat_opens(one, setup) for one in pulls)
    return Pulls(read, split_by_base(read, tool=tool), computed, opens)


def _check_places(pull: Pull, setup: Setup | None, *, number: int) -> None:
    """Raise InputError where load or dial lie beyond the bar."""
    longest = 0.0 if setup is None else setup.bar.overhang_mm * MM
    for key, place in (("load_at", pull.load_at), ("dial_at", pull.dial_at)):
        if place > longest * (1 + 1e-9):
            raise InputError(
                key=f"pull {number}: {key}",
                given=Plain(f"{place / MM:g} mm from the holder face"),
                allowed=f"on the bar, at most {longest / MM:g} mm",
                mend="Measure from the holder face.",
            )


def opening_force(screw_force: float, *, load_at: float, gripped: float, toward_floor: bool) -> float:
    """Return the force across the bar that opens a flat seat, screws in the middle [N].

    Parameters
    ----------
    screw_force
        Force of all screws together [N].
    load_at, gripped
        Where the force acts, from the holder face, and the gripped length, one unit.
    toward_floor
        Whether the push is toward the floor of the seat (it opens at the rear), or away from it (at the
        front).

    Source
    ------
    Linear pressure under the shank (computed here). [A2.open.*]
    """
    return screw_force / ((2.0 if toward_floor else 4.0) + 6.0 * load_at / gripped)


def seat_opens(pull: Pull, setup: Setup) -> Band | None:
    """Return from which load on a pull opens the seat [N], as far as it is known; None without screws.

    Parameters
    ----------
    pull
        The pull; one sideways presses the shank neither off its floor nor onto it.
    setup
        The set-up that was pulled.

    Source
    ------
    Force of a screw is torque over a fifth of its diameter (common practice, no source).
    """
    hold = setup.grip.hold
    if not hold.screws_mm or (pull.direction or UP) != UP or setup.bar.gripped_mm <= 0.0:
        return None
    diameter = hold.screw_diameter_mm * MM
    assumed = TORQUE_OF_M8 * (hold.screw_diameter_mm / 8.0) ** 3
    torque = assumed if pull.screw_torque is None else pull.screw_torque
    screws = len(hold.screws_mm) * torque / (_THREAD * diameter)
    gripped = setup.bar.gripped_mm * MM
    likely = opening_force(screws, load_at=pull.load_at, gripped=gripped, toward_floor=False)
    low, high = _GUESSED if pull.screw_torque is None else _KNOWN
    return Band(low * likely, likely, high * likely, ASSUMED if pull.screw_torque is None else TOLD)


def bar_compliance(pull: Pull, setup: Setup) -> Band:
    """Return what the bar alone gives at the dial under a load at its place [m/N], its root held still.

    Parameters
    ----------
    pull
        Places and direction.
    setup
        The set-up that was pulled.

    Source
    ------
    Deflection of a cantilever beside its load, shear counted (computed here). [A2.cross]
    """
    near, far = sorted((pull.load_at, pull.dial_at))
    way = WAYS[pull.direction or UP][1:]
    turn = math.radians(setup.bar.rotation_deg)
    material, total = elastic(setup.bar_material), 0.0
    pieces = [one for one in pieces_of(setup.bar, hold_of(setup)) if one.stop > 0.0 and one.start < near]
    for plane, angle in ((0, turn), (1, turn + math.pi / 2)):
        share = float(np.dot(way, (math.cos(angle), math.sin(angle)))) ** 2
        spans = [
            span
            for one in pieces
            for span in plane_spans(replace(one, stop=min(one.stop, near)), material, plane=plane)
        ]
        found = tip_flexibility(spans)
        # A load further out bends what lies before it by its lever too; which one is the dial is alike.
        total += share * float(found[0, 0] + found[0, 1] * (far - near))
    return Band((1 - _HAND) * total, total, (1 + _HAND) * total, _BENDING)
