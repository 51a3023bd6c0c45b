"""The exact bending roots against other routes to the same numbers, and against principles."""

from __future__ import annotations

import math
import tomllib
from dataclasses import replace

import numpy as np
import pytest
from beam_bars import GRIPPED, R16, ROUND, STEPPED_EB, UNIT, steel
from beam_references import count_below
from values import verify_records

from stickout.fem.beam.frequencies import bending_frequencies, tip_stiffness
from stickout.fem.beam.spans import FREE, HELD, PINNED, Bed, End, FloatArray, Span, make_span, round_bed
from stickout.fem.errors import SolveError


@pytest.mark.parametrize("k", [1.0, 2.0, 10.0, 20.0])
def test_rotational_spring_has_the_roots_of_a_tip_mass(k: float) -> None:
    """Principle: K (1+cos cosh) + x(...) = 0 is the tip-mass equation with r = 1/K, all modes alike."""
    sprung = bending_frequencies([UNIT], 4, root=End(translation=math.inf, rotation=k))
    loaded = bending_frequencies([UNIT], 4, tip=End(mass=1.0 / k))
    # Both are bisected to rounding; 1e-9 leaves room for the cancellation in a count of short pieces.
    assert sprung == pytest.approx(loaded, rel=1e-9)


def timoshenko_frequency_equation(span: Span, omega: float) -> float:
    """Return the characteristic function of a held-free Timoshenko beam; its zeros are the modes.

    Huang, J. Appl. Mech. 28 (1961) 579, recalled: with p^2 = mass omega^2 L^4/EI,
    r^2 = rotary/(mass L^2), s^2 = EI/(shear L^2), below the cut-off.
    """
    p2 = span.mass * omega**2 * span.length**4 / span.bending
    r2 = span.rotary / (span.mass * span.length**2)
    s2 = span.bending / (span.shear * span.length**2)
    middle = math.sqrt((r2 - s2) ** 2 + 4.0 / p2)
    a = math.sqrt(p2 * (middle - (r2 + s2)) / 2.0)
    b = math.sqrt(p2 * (middle + (r2 + s2)) / 2.0)
    curve = (2.0 + p2 * (r2 - s2) ** 2) * math.cosh(a) * math.cos(b)
    return (
        2.0 + curve - math.sqrt(p2) * (r2 + s2) / math.sqrt(1.0 - p2 * r2 * s2) * math.sinh(a) * math.sin(b)
    )


@pytest.mark.parametrize("length", [0.03, 0.08, 0.16])
def test_timoshenko_roots_solve_huangs_equation(length: float) -> None:
    """Closed form: the printed frequency equation changes sign across each root, and nowhere else."""
    span = steel(length, ROUND)
    cut_off = math.sqrt(span.shear / span.rotary) / (2.0 * math.pi)
    found = [f for f in bending_frequencies([span], 8) if f < cut_off]
    assert len(found) >= 2
    # The two routes share no algebra: 1e-7 either side is far above rounding, far below any spacing.
    for hertz in found:
        either_side = [
            timoshenko_frequency_equation(span, 2.0 * math.pi * hertz * x) for x in (1 - 1e-7, 1 + 1e-7)
        ]
        assert either_side[0] * either_side[1] < 0.0
    grid = np.linspace(1e-3 * found[0], found[-1] * (1 + 1e-7), 20_000)
    signs = np.sign([timoshenko_frequency_equation(span, 2.0 * math.pi * hertz) for hertz in grid])
    assert np.count_nonzero(np.diff(signs)) == len(found)


def hermite_frequencies(spans: list[Span], cells: int, *, root: End, tip: End) -> FloatArray:
    """Return Euler-Bernoulli frequencies by cubic finite elements: another route to the same numbers.

    Textbook matrices (Cook, Concepts and Applications of Finite Element Analysis, recalled).
    """
    size = 2 * (cells * len(spans) + 1)
    stiff, mass = np.zeros((size, size)), np.zeros((size, size))
    at = 0
    for span in spans:
        h = span.length / cells
        scale = np.array([1.0, h, 1.0, h])
        bend = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]])
        lump = np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]]) / 420.0
        slope = np.array([[36, 3, -36, 3], [3, 4, -3, -1], [-36, -3, 36, -3], [3, -1, -3, 4]]) / 30.0
        turn = np.outer(scale, scale)
        for _ in range(cells):
            stiff[at : at + 4, at : at + 4] += turn * (
                span.bending / h**3 * bend + span.bed.lateral * h * lump + span.bed.rotation / h * slope
            )
            mass[at : at + 4, at : at + 4] += span.mass * h * turn * lump
            at += 2
    for end, place in ((root, 0), (tip, size - 2)):
        stiff[place, place] += end.translation
        stiff[place + 1, place + 1] += end.rotation
        mass[place, place] += end.mass
    half = np.linalg.inv(np.linalg.cholesky(mass))
    squared: FloatArray = np.abs(np.linalg.eigvalsh(half @ stiff @ half.T))
    return np.sqrt(squared) / (2.0 * math.pi)


def test_a_bed_with_rotational_springs_agrees_with_finite_elements() -> None:
    """A second route: gripped part on lateral and rotational springs, two sizes outside, a tip mass."""
    grip = replace(GRIPPED, bed=round_bed(0.016, normal=1e11, shear=4e10))
    chain, tip = [grip, *STEPPED_EB], End(mass=0.02, translation=1e5)
    exact = bending_frequencies(chain, 4, root=FREE, tip=tip)
    near = hermite_frequencies(chain, 24, root=FREE, tip=tip)[:4]
    # Cubic elements converge from above with the fourth power of size: 24 a span leave about 1e-6.
    assert exact == pytest.approx(near, rel=1e-5)
    assert np.all(near >= exact * (1 - 1e-9))
    without = bending_frequencies(
        [replace(grip, bed=Bed(grip.bed.lateral)), *STEPPED_EB], 4, root=FREE, tip=tip
    )
    assert np.all(exact > without * 1.001)


def converged_steel(length: float) -> Span:
    """Return a 16 mm round span of the steel of tests/data/verify.json."""
    return make_span(length, ROUND, youngs_modulus=206e9, poisson_ratio=0.3, density=7850)


@pytest.mark.parametrize("name", ["B10b_k1", "B10b_k10", "B10b_k1000"])
def test_a_round_bar_on_a_bed_agrees_with_converged_3d(name: str) -> None:
    """Converged 3-D solutions of another library: first and last pair, and the spring of the edge."""
    record = next(one for one in verify_records() if one["id"] == name)
    setup = tomllib.loads(record["setup"])
    bar, grip = setup["bar"], setup["grip"]
    normal = grip["bed_n_per_um_mm2"] * 1e12
    bed = round_bed(bar["diameter"] * 1e-3, normal=normal, shear=normal * grip["bed_shear_ratio"])
    chain = [
        replace(converged_steel(bar["gripped"] * 1e-3), bed=bed),
        converged_steel(bar["overhang"] * 1e-3),
    ]
    pairs = [
        f for f, kind in zip(record["frequencies_hz"], record["mode_types"], strict=True) if "bend" in kind
    ]
    # The skin's own dents and the section's warping are left out: 0.04 % in the first pair, 0.05 % in the
    # second, on the stiffest bed. Leaving out the rotational springs would cost 4 to 7 %.
    assert bending_frequencies(chain, 2, root=FREE) == pytest.approx(np.array(pairs)[[0, 2]], rel=1e-3)
    assert 1.0 / tip_stiffness(chain, root=FREE) == pytest.approx(record["compliance_m_per_n"]["z"], rel=1e-3)


@pytest.mark.parametrize(
    ("length", "printed"), [(0.04, 6617.15), (0.08, 1753.49), (0.112, 903.98), (0.16, 445.45)]
)
def test_held_round_bars_of_the_physics_notes(length: float, printed: float) -> None:
    """Timoshenko values beside the 3-D facts of section e: half the last printed digit."""
    assert bending_frequencies([converged_steel(length)])[0] == pytest.approx(printed, abs=0.005)


def test_free_bar_has_two_rigid_motions() -> None:
    """Principle: a free bar translates and turns at no cost; one spring stops one of the two."""
    assert bending_frequencies([R16], 3, root=FREE)[:2] == pytest.approx([0.0, 0.0], abs=0.0)
    assert bending_frequencies([R16], 2, root=PINNED)[0] == 0.0
    assert bending_frequencies([R16], 2, root=End(translation=1e3))[0] == 0.0
    assert bending_frequencies([R16], 1, root=End(translation=1e3, rotation=1.0))[0] > 0.0


def test_a_stiff_bar_on_a_soft_bed_bounces_and_rocks() -> None:
    """Closed form: a rigid bar on even springs, k/m in translation, k L^3/12 over its inertia in rotation."""
    soft = replace(R16, bed=Bed(lateral=10.0))
    bounce = 10.0 / R16.mass
    rock = 10.0 * R16.length**2 / 12.0 / (R16.mass * R16.length**2 / 12.0 + R16.rotary)
    expected = np.sqrt([rock, bounce]) / (2.0 * math.pi)
    # The bar's own bending is 1e9 times stiffer; what is left is rounding of the count, about 1e-7.
    assert bending_frequencies([soft], 2, root=FREE) == pytest.approx(expected, rel=1e-5)


def test_no_root_is_missed_where_two_lie_close() -> None:
    """Principle: two equal bars joined by a soft neck have nearly equal pairs; the count sees both."""
    neck = replace(UNIT, length=0.2, bending=1e-6, mass=1e-9)
    chain = [UNIT, neck, UNIT]
    found = bending_frequencies(chain, 6, tip=HELD)
    # The soft neck adds 12 EI/h^3 = 1.5e-3 to a stiffness of 3 for one of each pair.
    assert found[0] < found[1] < found[0] * 1.001
    assert found[::2] == pytest.approx(bending_frequencies([UNIT], 3), rel=1e-3)
    for number, hertz in enumerate(found, start=1):
        assert count_below(chain, hertz * (1 - 1e-9), tip=HELD) == number - 1
        assert count_below(chain, hertz * (1 + 1e-9), tip=HELD) == number


@pytest.mark.parametrize("parts", [2, 5])
def test_a_step_of_equal_size_changes_nothing(parts: int) -> None:
    """Principle: cutting a span into equal-section spans leaves every result (rounding only)."""
    cut = [replace(R16, length=R16.length / parts)] * parts
    assert bending_frequencies(cut, 4) == pytest.approx(bending_frequencies([R16], 4), rel=1e-10)
    assert tip_stiffness(cut) == pytest.approx(tip_stiffness([R16]), rel=1e-10)


def test_a_support_too_soft_to_matter_is_a_failed_search() -> None:
    """A spring of 1e-300 N/m resists, but no frequency can be told from zero."""
    with pytest.raises(SolveError, match="too soft"):
        bending_frequencies([R16], 2, root=End(translation=1e-300, rotation=1e-300))
