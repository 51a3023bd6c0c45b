"""A set-up changed in one thing, what hangs on it moved along: shorter, thicker, turned, with, without."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Any, Final, TypeVar

from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.materials import Material
from stickout.fem.setup.parts import Setup
from stickout.meshes.parts import Bar, Step

Sized = TypeVar("Sized", Bar, Step)
OUTER: Final = ("diameter_mm", "across_flats_mm", "width_mm", "height_mm")
TENTH: Final = 0.1
_LEAST_SIZES: Final = 2
_MUST_DIFFER: Final = 0.97  # a whole diameter nearer than this to the overhang is no change


def shortened(setup: Setup, share: float = TENTH) -> Setup | None:
    """Return the set-up with less overhang, what it carries moved back with its end; None if that fails.

    Parameters
    ----------
    setup
        The set-up.
    share
        Part of the overhang that goes [-].
    """
    return with_overhang(setup, (1 - share) * setup.bar.overhang_mm)


def with_overhang(setup: Setup, overhang_mm: float) -> Setup | None:
    """Return the set-up with the bar slid to another overhang [mm], if that can be.

    Returns
    -------
    Setup or None
        None where a piece of bar would vanish in the holder, or the set-up could not be used.
    """
    less = setup.bar.overhang_mm - overhang_mm
    if setup.grip.at_both_ends:  # it does not slide: its length is the place of the tailstock
        return None
    if any(0 < one.start_mm <= less for one in setup.bar.steps):
        return None
    return _sound(slid(setup, overhang_mm))


def slid(setup: Setup, overhang_mm: float) -> Setup:
    """Return the set-up with its bar slid in or out of the holder to another overhang [mm]; unchecked.

    Steps, wrap and absorber move with the end of the bar, and what would lie inside the holder is cut off;
    a shoulder at the holder face stays there, and a seat keeps its size.
    """
    bar, wrap, absorber = setup.bar, setup.wrap, setup.absorber
    if setup.grip.at_both_ends:  # another distance between the ends, the edge at the same share of it
        share = overhang_mm / bar.overhang_mm
        edge = replace(setup.edge, end_distance_mm=share * setup.edge.end_distance_mm)
        return replace(setup, bar=replace(bar, overhang_mm=overhang_mm), edge=edge)
    less = bar.overhang_mm - overhang_mm
    steps = tuple(
        replace(one, start_mm=one.start_mm - less) if one.start_mm > 0 else one for one in bar.steps
    )
    inside = sum(one.start_mm <= 0 for one in steps)
    if inside:
        sizes: dict[str, Any] = {}
        for one in steps[:inside]:
            sizes |= {name: value for name, value in vars(one).items() if value is not None}
        at_face = Step(**sizes | {"start_mm": 0.0})
        steps = (at_face, *steps[inside:])
        if setup.grip.grown_out:  # no seat behind the face: the bar begins with what is left of it
            bar = replace(bar, **{name: value for name, value in sizes.items() if name != "start_mm"})
            steps = steps[1:]
    if wrap is not None:
        start = wrap.start_mm - less
        wrap = replace(wrap, start_mm=max(start, 0.0), length_mm=wrap.length_mm + min(start, 0.0))
    if absorber is not None:
        absorber = replace(absorber, position_mm=absorber.position_mm - less)
    return replace(
        setup, bar=replace(bar, overhang_mm=overhang_mm, steps=steps), wrap=wrap, absorber=absorber
    )


def next_whole(setup: Setup) -> Setup | None:
    """Return the set-up with its overhang at the next whole diameter or height below, as turners count it.

    Returns
    -------
    Setup or None
        None below two of them, which leave no room to work, or where the set-up could not be used.
    """
    return at_sizes(setup, int(_MUST_DIFFER * setup.bar.overhang_mm / setup.bar.size_mm))


def at_sizes(setup: Setup, number: int) -> Setup | None:
    """Return the set-up with so many diameters or heights out; None below two, or if that fails."""
    return with_overhang(setup, number * setup.bar.size_mm) if number >= _LEAST_SIZES else None


def thickened(setup: Setup, more_mm: float) -> Setup | None:
    """Return the set-up with a bar thicker all over by ``more_mm``; a bore keeps its size.

    Returns
    -------
    Setup or None
        None where the set-up could not be used, or the bar would not enter the bore it cuts.
    """
    bar = _grown(setup.bar, more_mm)
    new = replace(setup, bar=replace(bar, steps=tuple(_grown(one, more_mm) for one in bar.steps)))
    cut = setup.cut
    bore = cut.work_diameter_mm if cut is not None and cut.operation == "boring" else None
    if bore is not None and bar.widest_mm >= bore:
        return None
    return _sound(new)


def without_wrap(setup: Setup) -> Setup:
    """Return a set-up without its wrap."""
    return replace(setup, wrap=None, turns=None, materials=_materials_without(setup, "wrap"))


def without_shim(setup: Setup) -> Setup:
    """Return a set-up without its shim."""
    return replace(setup, shim=None, materials=_materials_without(setup, "shim"))


def without_absorber(setup: Setup) -> Setup:
    """Return a set-up without its absorber: on any other bar it would have to be tuned anew."""
    return replace(setup, absorber=None)


def turned(setup: Setup, angle_deg: float) -> Setup:
    """Return a set-up with its section turned further by an angle, kept within half a turn."""
    angle = (setup.bar.rotation_deg + angle_deg) % 180.0
    return replace(setup, bar=replace(setup.bar, rotation_deg=angle))


def with_material(setup: Setup, region: str, *, material: Material) -> Setup:
    """Return the set-up with another material in one region."""
    return replace(setup, materials={**setup.materials, region: material})


def with_grip_length(setup: Setup, gripped_mm: float) -> Setup:
    """Return the set-up with another gripped length."""
    return replace(setup, bar=replace(setup.bar, gripped_mm=gripped_mm))


def _sound(setup: Setup) -> Setup | None:
    """Return a set-up that can be used, else None."""
    return None if any(True for _ in setup_faults(setup)) else setup


def _grown(part: Sized, step_mm: float) -> Sized:
    """Return a bar or a step with every outer size that is given made larger."""
    names = {one.name for one in fields(part)}.intersection(OUTER)
    return replace(part, **{n: getattr(part, n) + step_mm for n in names if getattr(part, n) is not None})


def _materials_without(setup: Setup, region: str) -> dict[str, Material]:
    return {name: one for name, one in setup.materials.items() if name != region}
