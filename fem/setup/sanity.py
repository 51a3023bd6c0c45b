"""What can be built and is seldom meant: sizes in the wrong unit, a bar too far out, too little of it held.

Each is one sentence that a warning begins with. What cannot be at all is refused by the checks.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.setup.check_bar import largest_size_mm, smallest_size_mm
from stickout.fem.setup.check_common import Faults
from stickout.fem.setup.parts import Setup
from stickout.fem.units import GPA, MM_PER_INCH, length_text
from stickout.meshes.parts import Bar

# Diameters out at which the trade gives up: steel, carbide, with an absorber (common practice, no source).
STEEL_OUT: Final = 6.0
CARBIDE_OUT: Final = 8.0
DAMPED_OUT: Final = 14.0
SLENDER: Final = 30.0  # overhang over size: beyond it the trade has no bars (common practice, no source)
LEAST_GRIPPED: Final = 2.0  # sizes of the bar inside its holder: three to four are usual
_SWAPPED_OUT: Final = 4.0
# A bar of this modulus and above is as good as carbide [Pa].
_STIFF: Final = 450 * GPA
# No lathe bar in mm is thinner and shorter than these, nor one in inches thicker.
_THIN_MM, _SHORT_MM, _THICK_MM = 1.6, 13.0, 4 * MM_PER_INCH
_FINE_FEED_MM, _COARSE_FEED_MM = 0.005, 2.5
_ROUNDING: Final = 1 + 1e-9


def bar_size_mm(setup: Setup) -> float:
    """Return the size of a bar by which the trade counts its overhang [mm].

    The diameter, also where flats are milled on it; the side of a square; the height of a parting blade,
    which stands on edge; else the smaller side.
    """
    bar = setup.bar
    if bar.section == "rectangle" and setup.cut is not None and setup.cut.operation == "parting":
        return math.nan if bar.height_mm is None else bar.height_mm
    if bar.diameter_mm is not None:
        return bar.diameter_mm
    return smallest_size_mm(bar, at_end=False)


def sanity_warnings(setup: Setup) -> Iterator[str]:
    """Yield what is allowed and seldom meant, one sentence or two each.

    Parameters
    ----------
    setup
        A set-up that passed every check.

    Source
    ------
    Common practice, no source.
    """
    unit = list(_wrong_unit(setup))
    yield from unit
    if not unit:
        yield from _out_and_held(setup)


def _wrong_unit(setup: Setup) -> Iterator[str]:
    """Yield the warning of sizes that look as if they were meant in the other unit."""
    bar, cut, units = setup.bar, setup.cut, setup.units
    size, feed = largest_size_mm(bar), None if cut is None else cut.feed_mm
    told = f"{length_text(size, units)} thick and {length_text(bar.overhang_mm, units)} out"
    if units == "mm" and size < _THIN_MM and bar.overhang_mm < _SHORT_MM:
        yield f'A bar {told}: these look like inches. Write units = "inch" at the top if they are.'
    elif units == "mm" and feed is not None and feed < _FINE_FEED_MM:
        yield (
            f"A feed of {length_text(feed, units)} a turn only rubs: if it is in inches, "
            f"{length_text(feed * MM_PER_INCH, units)} is what is meant."
        )
    elif units == "inch" and smallest_size_mm(bar, at_end=False) > _THICK_MM:
        yield f'A bar {told}: these look like millimetres. Write units = "mm" at the top if they are.'
    elif units == "inch" and feed is not None and feed > _COARSE_FEED_MM:
        yield (
            f"A feed of {length_text(feed, units)} a turn is beyond any small lathe: if it is in millimetres,"
            f" {length_text(feed / MM_PER_INCH, units)} is what is meant."
        )


def _out_and_held(setup: Setup) -> Iterator[str]:
    """Yield the warnings of a bar too far out, and of one that hardly anything holds."""
    if setup.grip.at_both_ends:
        return
    bar, size, units = setup.bar, bar_size_mm(setup), setup.units
    out, held = bar.overhang_mm / size, bar.gripped_mm / size
    thinnest = bar.overhang_mm / smallest_size_mm(bar, at_end=False)
    short = 0 < held * _ROUNDING < LEAST_GRIPPED
    if short and out > _SWAPPED_OUT:
        yield (
            f"{length_text(bar.overhang_mm, units)} out and only {length_text(bar.gripped_mm, units)} held: "
            "have overhang and gripped changed places?"
        )
    elif short:
        yield (
            f"Only {length_text(bar.gripped_mm, units)} of the bar is held, {held:.2g} times its size: "
            "it rocks. Hold three to four times, at least twice."
        )
    carbide = setup.materials["bar"].youngs_modulus.likely >= _STIFF
    most = DAMPED_OUT if setup.absorber is not None else CARBIDE_OUT if carbide else STEEL_OUT
    if thinnest > SLENDER:
        yield (
            f"The bar sticks out {thinnest:.0f} times its size; beyond {SLENDER:.0f} it whips, and small "
            "faults of the grip outweigh anything computed here."
        )
    elif out > most * _ROUNDING:
        yield _far_out(out, most)


def _far_out(out: float, most: float) -> str:
    """Return the warning of a bar beyond what the trade calls workable."""
    if most == STEEL_OUT:
        return (
            f"The bar sticks out {out:.2g} times its size: steel is at ease to 4 and given up past 6. "
            "Carbide goes to 6, at most 8."
        )
    if most == CARBIDE_OUT:
        return f"The bar sticks out {out:.2g} times its size: carbide is at ease to 6 and given up past 8."
    return f"The bar sticks out {out:.2g} times its size: even damped bars are given up past {most:.0f}."


def hole_faults(setup: Setup) -> Faults:
    """Yield the fault of a boring bar that does not go into its hole."""
    cut = setup.cut
    if cut is None or cut.operation != "boring" or cut.work_diameter_mm is None:
        return
    size = largest_size_mm(_at_end(setup.bar))
    if size >= cut.work_diameter_mm > 0:
        yield InputError(
            key="cut.work_diameter",
            given=cut.work_diameter_mm,
            allowed=f"above the size of the bar that goes in, {length_text(size, setup.units)}",
            mend="It is the diameter of the bore where it is cut; or take a thinner bar.",
        )


def _at_end(bar: Bar) -> Bar:
    """Return a bar of the section at the free end."""
    for step in bar.steps:
        bar = replace(
            bar,
            diameter_mm=bar.diameter_mm if step.diameter_mm is None else step.diameter_mm,
            width_mm=bar.width_mm if step.width_mm is None else step.width_mm,
            height_mm=bar.height_mm if step.height_mm is None else step.height_mm,
        )
    return bar
