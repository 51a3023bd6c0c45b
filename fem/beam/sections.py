"""Sections of bars for the hand formulas: area, second moment, shear coefficient. All SI."""

from __future__ import annotations

import math
from dataclasses import dataclass

from stickout.fem.beam.section_problems import shear_coefficient
from stickout.fem.errors import InputError
from stickout.meshes.outlines import Outline


@dataclass(frozen=True)
class BeamSection:
    """What a beam theory knows of a section, for bending in one plane.

    Attributes
    ----------
    area
        Area [m^2].
    second_moment
        Second moment of area about the neutral axis of that plane [m^4].
    shear_coefficient
        Ratio of the effective shear area to ``area`` [-] (kappa).
    """

    area: float
    second_moment: float
    shear_coefficient: float

    def __post_init__(self) -> None:
        for key in ("area", "second_moment", "shear_coefficient"):
            require_positive(key, getattr(self, key))


def require_positive(key: str, value: float) -> None:
    """Raise InputError unless ``value`` is above zero and finite.

    Raises
    ------
    InputError
        The value is zero, negative, infinite or not a number.
    """
    if not (value > 0.0 and math.isfinite(value)):
        raise InputError(
            key=key,
            given=value,
            allowed="above zero and finite",
            mend="Check the size or property it was made from, and its unit.",
        )


def require_not_negative(key: str, value: float, *, finite: bool = False) -> None:
    """Raise InputError if ``value`` is below zero, not a number, or (on demand) infinite.

    Raises
    ------
    InputError
        As above.
    """
    if not value >= 0.0 or (finite and math.isinf(value)):
        raise InputError(
            key=key,
            given=value,
            allowed="zero or above" + (", and finite" if finite else ""),
            mend="Give zero where there is none.",
        )


def round_shear_coefficient(poisson_ratio: float) -> float:
    """Return the shear coefficient of a solid round section, ``6(1+nu)^2/(7+12nu+4nu^2)``.

    Source
    ------
    Hutchinson, ASME J. Appl. Mech. 68 (2001) 87 (first page opened).
    """
    nu = poisson_ratio
    return 6.0 * (1.0 + nu) ** 2 / (7.0 + 12.0 * nu + 4.0 * nu**2)


def tube_shear_coefficient(bore_ratio: float, *, poisson_ratio: float) -> float:
    """Return Cowper's shear coefficient of a round tube.

    Parameters
    ----------
    bore_ratio
        Bore over outer diameter [-], from 0 (solid) to below 1.
    poisson_ratio
        Poisson's ratio [-].

    Returns
    -------
    float
        ``6(1+nu)(1+m^2)^2 / ((7+6nu)(1+m^2)^2 + (20+12nu)m^2)`` [-]. A closed bore gives Cowper's solid
        value, some 4 % under Hutchinson's: 0.07 % in the first frequency at overhang/diameter 5.

    Source
    ------
    Cowper, ASME J. Appl. Mech. 33 (1966) 335 (first page opened; tube recalled, not opened).
    """
    nu, wide = poisson_ratio, (1.0 + bore_ratio**2) ** 2
    return 6.0 * (1.0 + nu) * wide / ((7.0 + 6.0 * nu) * wide + (20.0 + 12.0 * nu) * bore_ratio**2)


def rectangle_shear_coefficient(poisson_ratio: float) -> float:
    """Return the shear coefficient of a rectangle, ``10(1+nu)/(12+11nu)``.

    Source
    ------
    Cowper, ASME J. Appl. Mech. 33 (1966) 335 (first page opened).
    """
    return 10.0 * (1.0 + poisson_ratio) / (12.0 + 11.0 * poisson_ratio)


def round_section(diameter: float, *, poisson_ratio: float) -> BeamSection:
    """Return the beam section of a solid round bar, diameter [m]."""
    require_positive("diameter", diameter)
    return BeamSection(
        area=math.pi * diameter**2 / 4.0,
        second_moment=math.pi * diameter**4 / 64.0,
        shear_coefficient=round_shear_coefficient(poisson_ratio),
    )


def tube_section(diameter: float, bore: float, *, poisson_ratio: float) -> BeamSection:
    """Return the beam section of a round tube, outer diameter and bore [m].

    Raises
    ------
    InputError
        The bore is not inside the tube.
    """
    _require_inside("bore", bore, diameter)
    return BeamSection(
        area=math.pi * (diameter**2 - bore**2) / 4.0,
        second_moment=math.pi * (diameter**4 - bore**4) / 64.0,
        shear_coefficient=tube_shear_coefficient(bore / diameter, poisson_ratio=poisson_ratio),
    )


def rectangle_section(width: float, height: float, *, poisson_ratio: float) -> BeamSection:
    """Return the beam section of a rectangle that bends along its height, both [m]."""
    require_positive("width", width)
    require_positive("height", height)
    return BeamSection(
        area=width * height,
        second_moment=width * height**3 / 12.0,
        shear_coefficient=rectangle_shear_coefficient(poisson_ratio),
    )


def flatted_sections(
    diameter: float, across_flats: float, *, poisson_ratio: float
) -> tuple[BeamSection, BeamSection]:
    """Return the beam sections of a round bar with two flats: across the flats, then along them.

    Parameters
    ----------
    diameter
        Diameter of the round [m].
    across_flats
        Distance of the two flats [m], below the diameter.
    poisson_ratio
        Poisson's ratio [-].

    Returns
    -------
    tuple of BeamSection
        Bending toward the flats (the weak plane), then bending along them.

    Raises
    ------
    InputError
        The flats are wider apart than the diameter.

    Notes
    -----
    Closed flats have Cowper's coefficient of the full round, some 4 % under the one that ``round_section``
    takes: 0.07 % in the first frequency at overhang/diameter 5.

    Source
    ------
    Integrals over the section, computed here; the shear coefficient from ``section_problems``.
    """
    _require_inside("across_flats", across_flats, diameter)
    radius = diameter / 2.0
    angle = math.asin(across_flats / diameter)
    area = radius**2 * (2.0 * angle + math.sin(2.0 * angle))
    weak = radius**4 * (angle / 2.0 - math.sin(4.0 * angle) / 8.0)
    strong = radius**4 * (angle / 2.0 + math.sin(2.0 * angle) / 3.0 + math.sin(4.0 * angle) / 24.0)
    outline = Outline(radius=radius, half_height=across_flats / 2.0)
    across, along = (shear_coefficient(outline, poisson_ratio, plane=plane) for plane in (1, 0))
    return BeamSection(area, weak, across), BeamSection(area, strong, along)


def _require_inside(key: str, size: float, diameter: float) -> None:
    require_positive("diameter", diameter)
    require_positive(key, size)
    if size >= diameter:
        raise InputError(
            key=key,
            given=size,
            allowed=f"below the diameter, {diameter:g} m",
            mend="Give the smaller of the two sizes here, both in metres.",
        )
