"""Bars the beam tests share. Steel of the check values: 210 GPa, Poisson 0.3, 7850 kg/m3 (section e)."""

from __future__ import annotations

import math
from dataclasses import replace

from beam_references import without_shear

from stickout.fem.beam.sections import BeamSection, rectangle_section, round_section, tube_section
from stickout.fem.beam.spans import Bed, End, Span, make_span

NU = 0.3
# Length, stiffness and mass per length of one: the square root of the angular frequency is the root.
UNIT = Span(length=1.0, bending=1.0, shear=math.inf, mass=1.0, rotary=0.0)
CLAMP = End(translation=5e7, rotation=2e4)


def steel(
    length: float, section: BeamSection, *, youngs_modulus: float = 210e9, density: float = 7850
) -> Span:
    """Return a Timoshenko span of the section-e steel unless told otherwise."""
    return make_span(length, section, youngs_modulus=youngs_modulus, poisson_ratio=NU, density=density)


ROUND = round_section(0.016, poisson_ratio=NU)
R16 = steel(0.08, ROUND)
R16_EB = without_shear(R16)
S12 = rectangle_section(0.012, 0.012, poisson_ratio=NU)
TUBE = tube_section(0.020, 0.012, poisson_ratio=NU)
STEPPED = [
    steel(0.04, round_section(0.020, poisson_ratio=NU)),
    steel(0.04, round_section(0.012, poisson_ratio=NU)),
]
STEPPED_EB = [without_shear(span) for span in STEPPED]
GRIPPED = replace(without_shear(steel(0.03, ROUND)), bed=Bed(lateral=2e10))
