"""Bars as chains of beam spans: what a span, its bed and its two ends are. All SI."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stickout.fem.beam.sections import BeamSection, require_not_negative, require_positive
from stickout.fem.errors import InputError

FloatArray = NDArray[np.float64]


@dataclass(frozen=True)
class Bed:
    """Springs along a span, per length of bar.

    Attributes
    ----------
    lateral
        Force per deflection per length [N/m^2] (Winkler's bed).
    rotation
        Moment per rotation of the section per length [N], from shear of the bar's skin along the bar.
    """

    lateral: float = 0.0
    rotation: float = 0.0

    def __post_init__(self) -> None:
        for key in ("lateral", "rotation"):
            require_not_negative(key, getattr(self, key), finite=True)


@dataclass(frozen=True)
class Span:
    """A uniform piece of bar that bends in one plane.

    Attributes
    ----------
    length
        Length [m].
    bending
        ``E I`` [N m^2].
    shear
        ``kappa G A`` [N]; infinity leaves out the shear deflection.
    mass
        ``rho A`` [kg/m].
    rotary
        ``rho I`` [kg m]; zero leaves out the rotary inertia.
    bed
        Springs along the span; none by default.
    """

    length: float
    bending: float
    shear: float
    mass: float
    rotary: float
    bed: Bed = field(default=Bed())

    def __post_init__(self) -> None:
        for key in ("length", "bending", "mass"):
            require_positive(key, getattr(self, key))
        if self.shear != math.inf:
            require_positive("shear", self.shear)
        require_not_negative("rotary", self.rotary, finite=True)


@dataclass(frozen=True)
class End:
    """What holds or loads one end of a chain of spans.

    Attributes
    ----------
    translation
        Spring against deflection [N/m]; infinity holds it.
    rotation
        Spring against rotation [N m/rad]; infinity holds it.
    mass
        Point mass [kg].
    """

    translation: float = 0.0
    rotation: float = 0.0
    mass: float = 0.0

    def __post_init__(self) -> None:
        require_not_negative("translation", self.translation)
        require_not_negative("rotation", self.rotation)
        require_not_negative("mass", self.mass, finite=True)


FREE = End()
HELD = End(translation=math.inf, rotation=math.inf)
PINNED = End(translation=math.inf)


def make_span(
    length: float, section: BeamSection, *, youngs_modulus: float, poisson_ratio: float, density: float
) -> Span:
    """Return a Timoshenko span of one section and one material.

    Parameters
    ----------
    length
        Length [m].
    section
        Area, second moment and shear coefficient.
    youngs_modulus
        Young's modulus [Pa].
    poisson_ratio
        Poisson's ratio [-], above -1 and up to 0.5.
    density
        Density [kg/m^3].

    Returns
    -------
    Span
        The span, without a bed.

    Raises
    ------
    InputError
        A size or property is out of range.

    Source
    ------
    Timoshenko, Phil. Mag. 41 (1921) 744 (recalled, not opened).
    """
    if not -1.0 < poisson_ratio <= 0.5:
        raise InputError(
            key="poisson_ratio",
            given=poisson_ratio,
            allowed="above -1 and up to 0.5",
            mend="Most metals lie between 0.2 and 0.45.",
        )
    shear_modulus = youngs_modulus / (2.0 * (1.0 + poisson_ratio))
    return Span(
        length=length,
        bending=youngs_modulus * section.second_moment,
        shear=section.shear_coefficient * shear_modulus * section.area,
        mass=density * section.area,
        rotary=density * section.second_moment,
    )


def round_bed(diameter: float, *, normal: float, shear: float = 0.0) -> Bed:
    """Return the bed of a round bar whose whole skin stands on springs per area.

    Parameters
    ----------
    diameter
        Diameter of the bar [m].
    normal
        Stiffness across the skin per area [N/m^3].
    shear
        Stiffness along the skin per area [N/m^3].

    Returns
    -------
    Bed
        ``pi r (normal + shear)`` against deflection, ``pi r^3 shear`` against rotation.

    Raises
    ------
    InputError
        The diameter is not above zero, or a stiffness is negative.

    Source
    ------
    Integral of the skin tractions round the section, computed here.
    """
    require_positive("diameter", diameter)
    radius = diameter / 2.0
    return Bed(lateral=math.pi * radius * (normal + shear), rotation=math.pi * radius**3 * shear)


def outline_bed(outline: FloatArray, direction: FloatArray, *, normal: float, shear: float = 0.0) -> Bed:
    """Return the bed of a bar of any section whose whole skin stands on springs per area.

    Parameters
    ----------
    outline
        Corners of the section's closed outline about its centre [m], shape (n, 2), columns y and z.
    direction
        Direction of the deflection in the section, shape (2,); its length does not matter.
    normal
        Stiffness across the skin per area [N/m^3].
    shear
        Stiffness along the skin per area [N/m^3].

    Returns
    -------
    Bed
        Exact for straight sides; a circle drawn with n corners comes out low by up to ``8.3/n^2``.

    Raises
    ------
    InputError
        A stiffness is negative.

    Source
    ------
    Integral of the skin tractions round the section, computed here.
    """
    toward = np.asarray(direction, dtype=float) / np.linalg.norm(direction)
    side = np.roll(outline, -1, axis=0) - outline
    length = np.linalg.norm(side, axis=1)
    along = (side @ toward) ** 2 / length  # of each side, the part that the deflection shears
    start, finish = outline @ toward, np.roll(outline, -1, axis=0) @ toward
    lever = length * (start**2 + start * finish + finish**2) / 3.0
    return Bed(
        lateral=float(np.sum(normal * (length - along) + shear * along)),
        rotation=float(shear * np.sum(lever)),
    )
