"""Closed forms of bars: statics, beds, torsion; and what each refuses."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from beam_bars import CLAMP, GRIPPED, NU, R16, R16_EB, ROUND, steel
from beam_references import (
    axial_frequency,
    deep_bed_stiffness,
    modal_tip_stiffness,
    rigid_shank_springs,
    sprung_cantilever_stiffness,
    torsion_frequency,
)
from values import check_value

from stickout.fem.beam.formulas import rectangle_torsion_constant
from stickout.fem.beam.frequencies import bending_frequencies, tip_stiffness
from stickout.fem.beam.sections import (
    BeamSection,
    flatted_sections,
    rectangle_section,
    round_section,
    tube_section,
)
from stickout.fem.beam.spans import FREE, HELD, PINNED, Bed, End, make_span, outline_bed, round_bed
from stickout.fem.errors import InputError


@pytest.mark.parametrize("ends", [HELD, CLAMP, End(translation=math.inf, rotation=3e3)])
def test_static_stiffness_on_springs_equals_the_series_of_springs(ends: End) -> None:
    """Closed form: compliances in series, shear included; rounding only."""
    series = sprung_cantilever_stiffness(R16, root=ends)
    assert tip_stiffness([R16], root=ends) == pytest.approx(series, rel=1e-10)


def test_deep_bed_is_the_limit_of_a_long_grip() -> None:
    """Closed form: Hetenyi's half-infinite beam, 2.070393 N/um (computed apart, 7 digits)."""
    assert deep_bed_stiffness(R16_EB, GRIPPED) * 1e-6 == pytest.approx(2.070393, abs=5e-7)
    long = replace(GRIPPED, length=0.4)
    # Twenty reaches deep: exp(-2*20) is left of the far end.
    deep = deep_bed_stiffness(R16_EB, long)
    assert tip_stiffness([long, R16_EB], root=FREE) == pytest.approx(deep, rel=1e-9)


def test_a_stiff_shank_on_a_bed_is_a_pair_of_root_springs() -> None:
    """Principle: with a rigid gripped part the bed acts as two springs at its middle."""
    shank = replace(GRIPPED, bending=GRIPPED.bending * 1e6)
    springs = rigid_shank_springs(shank)
    reach = R16_EB.length + shank.length / 2.0
    compliance = R16_EB.length**3 / (3.0 * R16_EB.bending)
    compliance += 1.0 / springs.translation + reach**2 / springs.rotation
    # The shank is a million times stiffer than the bar: its own bending is left, below 1e-5.
    assert tip_stiffness([shank, R16_EB], root=FREE) == pytest.approx(1.0 / compliance, rel=1e-5)


def test_round_bed_is_the_limit_of_a_polygon_bed() -> None:
    """Closed form against the general sum over an outline, in any direction (principle: round)."""
    around = 2.0 * math.pi * np.arange(400) / 400
    outline = 0.008 * np.column_stack([np.cos(around), np.sin(around)])
    exact = round_bed(0.016, normal=3e11, shear=1e11)
    for direction in (np.array([1.0, 0.0]), np.array([0.6, 0.8])):
        polygon = outline_bed(outline, direction, normal=3e11, shear=1e11)
        # An inscribed polygon of n corners is short by 5/6 (pi/n)^2 in its moments, by less in length.
        assert polygon.lateral == pytest.approx(exact.lateral, rel=8.3 / 400**2)
        assert polygon.rotation == pytest.approx(exact.rotation, rel=8.3 / 400**2)


def test_rectangle_bed() -> None:
    """Closed form: two faces press, two slide; 2(b k + h s) and s(b h^2/2 + h^3/6), own integral."""
    b, h, k, s = 0.010, 0.016, 3e11, 1e11
    outline = np.array([[-b, -h], [b, -h], [b, h], [-b, h]]) / 2.0
    bed = outline_bed(outline, np.array([0.0, 1.0]), normal=k, shear=s)
    # Exact for straight sides: rounding only.
    assert bed.lateral == pytest.approx(2.0 * (b * k + h * s), rel=1e-12)
    assert bed.rotation == pytest.approx(s * (b * h**2 / 2.0 + h**3 / 6.0), rel=1e-12)


@pytest.mark.parametrize(("ratio", "printed"), [(1.0, 0.141), (1.5, 0.196), (2.0, 0.229), (10.0, 0.312)])
def test_torsion_of_rectangles(ratio: float, printed: float) -> None:
    """Published (from memory): the table of Timoshenko & Goodier, three digits, J = beta a b^3."""
    # Tolerance: one unit of the last printed digit; the table rounds 0.3123 and 0.1958.
    assert rectangle_torsion_constant(ratio, 1.0) / ratio == pytest.approx(printed, abs=1e-3)
    assert rectangle_torsion_constant(1.0, ratio) == rectangle_torsion_constant(ratio, 1.0)


def test_square_torsion_constant_of_the_physics_notes() -> None:
    """Computed apart from the program: J = 0.14057701 a^4, half a unit of the last digit."""
    assert rectangle_torsion_constant(1.0, 1.0) == pytest.approx(0.14057701, abs=5e-9)


def test_higher_torsion_and_axial_modes_are_odd_multiples() -> None:
    """Closed form: quarter waves."""
    for mode in (2, 3):
        assert axial_frequency(0.08, youngs_modulus=210e9, density=7850, mode=mode) == pytest.approx(
            (2 * mode - 1) * check_value("e.axial.f1").value, rel=1e-6
        )


@pytest.mark.parametrize(
    ("make", "key"),
    [
        (lambda: round_section(-0.016, poisson_ratio=NU), "diameter"),
        (lambda: tube_section(0.016, 0.016, poisson_ratio=NU), "bore"),
        (lambda: flatted_sections(0.016, 0.017, poisson_ratio=NU), "across_flats"),
        (lambda: rectangle_section(0.0, 0.01, poisson_ratio=NU), "width"),
        (lambda: BeamSection(1e-4, math.nan, 0.9), "second_moment"),
        (lambda: steel(0.0, ROUND), "length"),
        (lambda: steel(0.08, ROUND, youngs_modulus=math.inf), "bending"),
        (lambda: make_span(0.1, ROUND, youngs_modulus=1e9, poisson_ratio=0.6, density=1e3), "poisson_ratio"),
        (lambda: Bed(lateral=-1.0), "lateral"),
        (lambda: Bed(rotation=math.inf), "rotation"),
        (lambda: End(mass=-0.1), "mass"),
        (lambda: round_bed(0.0, normal=1e11), "diameter"),
        (lambda: bending_frequencies([]), "spans"),
        (lambda: bending_frequencies([R16], 0), "n_modes"),
        (lambda: tip_stiffness([R16], root=PINNED), "root"),
        (lambda: tip_stiffness([R16], tip=PINNED), "tip.translation"),
        (lambda: modal_tip_stiffness([R16], 2, root=FREE), "mode"),
        (lambda: deep_bed_stiffness(R16, R16), "gripped.bed.lateral"),
        (lambda: axial_frequency(0.08, youngs_modulus=210e9, density=7850, mode=0), "mode"),
        (lambda: torsion_frequency(-1.0, shear_modulus=8e10, density=7850), "length"),
        (lambda: rectangle_torsion_constant(0.01, -0.01), "height"),
    ],
)
def test_bad_input_names_its_key(make: Callable[[], object], key: str) -> None:
    """Every refusal names the value, what is allowed and how to mend it."""
    with pytest.raises(InputError) as caught:
        make()
    assert caught.value.key == key
    assert caught.value.allowed
    assert caught.value.mend.endswith(".")
