"""A set-up changed in one thing, what hangs on it moved along: shorter, thicker, turned, with, without."""

from __future__ import annotations

from dataclasses import fields, replace
from typing import Final, TypeVar

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
    """Return the set-up with another overhang [mm], steps, wrap and absorber moved with the end of the bar.

    Returns
    -------
    Setup or None
        None where a piece of bar would vanish, or the set-up could not be used.
    """
    less = setup.bar.overhang_mm - overhang_mm
    steps = tuple(
        replace(one, start_mm=one.start_mm - less) if one.start_mm > 0 else one for one in setup.bar.steps
    )
    if any(one.start_mm <= 0 < old.start_mm for one, old in zip(steps, setup.bar.steps, strict=True)):
        return None
    bar = replace(setup.bar, overhang_mm=overhang_mm, steps=steps)
    wrap = setup.wrap and replace(setup.wrap, start_mm=max(setup.wrap.start_mm - less, 0.0))
    absorber = setup.absorber and replace(setup.absorber, position_mm=setup.absorber.position_mm - less)
    return _sound(replace(setup, bar=bar, wrap=wrap, absorber=absorber))


def next_whole(setup: Setup) -> Setup | None:
    """Return the set-up with its overhang at the next whole diameter or height below, as turners count it.

    Returns
    -------
    Setup or None
        None below two of them, which leave no room to work, or where the set-up could not be used.
    """
    return at_sizes(setup, int(_MUST_DIFFER * setup.bar.overhang_mm / bar_size_mm(setup)))


def at_sizes(setup: Setup, number: int) -> Setup | None:
    """Return the set-up with so many diameters or heights out; None below two, or if that fails."""
    return with_overhang(setup, number * bar_size_mm(setup)) if number >= _LEAST_SIZES else None


def bar_size_mm(setup: Setup) -> float:
    """Return the size that overhangs are counted in [mm]: diameter, height, or the side of a square."""
    bar = setup.bar
    return bar.diameter_mm or bar.height_mm or bar.width_mm or 1.0


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
    if cut is not None and cut.operation == "boring" and cut.work_diameter_mm is not None:
        size = max(getattr(bar, name) or 0.0 for name in OUTER)
        if size >= cut.work_diameter_mm:
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


def stretched(setup: Setup, overhang_mm: float) -> Setup:
    """Return the set-up with another overhang [mm], steps keeping their share of it; unchecked."""
    share = overhang_mm / setup.bar.overhang_mm
    steps = tuple(replace(one, start_mm=one.start_mm * share) for one in setup.bar.steps)
    return replace(setup, bar=replace(setup.bar, overhang_mm=overhang_mm, steps=steps))


def _sound(setup: Setup) -> Setup | None:
    """Return a set-up that can be used, else None."""
    return None if any(True for _ in setup_faults(setup)) else setup


def _grown(part: Sized, step_mm: float) -> Sized:
    """Return a bar or a step with every outer size that is given made larger."""
    names = {one.name for one in fields(part)}.intersection(OUTER)
    return replace(part, **{n: getattr(part, n) + step_mm for n in names if getattr(part, n) is not None})


def _materials_without(setup: Setup, region: str) -> dict[str, Material]:
    return {name: one for name, one in setup.materials.items() if name != region}
