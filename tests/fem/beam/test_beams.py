"""The hand formulas against every record of section e of the check values, and the table beside them."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np
import pytest
from beam_bars import CLAMP, GRIPPED, NU, R16, R16_EB, ROUND, S12, STEPPED, STEPPED_EB, TUBE, UNIT, steel
from beam_references import (
    axial_frequency,
    bed_wave_number,
    modal_tip_stiffness,
    rayleigh_frequency,
    rigid_shank_springs,
    torsion_frequency,
    without_shear,
)
from scipy.linalg import expm
from values import CheckValue, assert_close, check_value, check_values

from stickout.fem.beam.dynamic_stiffness import chain_stiffness, exponential
from stickout.fem.beam.formulas import rectangle_torsion_constant
from stickout.fem.beam.frequencies import bending_frequencies, tip_stiffness
from stickout.fem.beam.sections import (
    flatted_sections,
    rectangle_shear_coefficient,
    round_shear_coefficient,
    tube_shear_coefficient,
)
from stickout.fem.beam.spans import FREE, HELD, PINNED, Bed, End, Span

SHEAR_MODULUS = 210e9 / 2.6


def root(mode: int = 1, *, ends: tuple[End, End] = (HELD, FREE)) -> float:
    """Return a root beta L of the unit span."""
    rigid = 2 if ends == (FREE, FREE) else 0
    hertz = bending_frequencies([UNIT], mode + rigid, root=ends[0], tip=ends[1])[-1]
    return math.sqrt(2.0 * math.pi * float(hertz))


def first(*spans: Span, mode: int = 1, root: End = HELD, tip: End = FREE) -> float:
    """Return one bending frequency."""
    return float(bending_frequencies(spans, mode, root=root, tip=tip)[-1])


def of_material(record: CheckValue) -> float:
    """Return the stiffness or frequency of a 16 x 80 mm round bar in the record's material."""
    modulus, density = record.inputs["E_GPa"] * 1e9, record.inputs["rho"]
    span = without_shear(steel(0.08, ROUND, youngs_modulus=modulus, density=density))
    return tip_stiffness([span]) * 1e-6 if record.id.endswith(".k") else first(span)


def overhang_ratio(record: CheckValue) -> float:
    """Return the Euler-Bernoulli tip stiffness after the overhang grew by the record's ratio."""
    longer = replace(UNIT, length=record.inputs["r"])
    return tip_stiffness([longer]) / tip_stiffness([UNIT])


def timoshenko_over_euler(record: CheckValue) -> float:
    """Return the fall of the first frequency by shear and rotary inertia at one overhang/diameter."""
    span = steel(0.016 * record.inputs["L/D"], ROUND)
    return first(span) / first(without_shear(span))


# Id, or its beginning where the record's inputs say the rest -> the value in the record's unit.
COMPUTED: Mapping[str, Callable[[CheckValue], float]] = {
    "e.cantilever.betaL.": lambda r: root(int(r.id[-1])),
    "e.fixedpinned.betaL.": lambda r: root(int(r.id[-1]), ends=(HELD, PINNED)),
    "e.freefree.betaL.": lambda r: root(int(r.id[-1]), ends=(FREE, FREE)),
    "e.R16.I": lambda _: ROUND.second_moment * 1e12,
    "e.R16.k.shear": lambda _: tip_stiffness([R16]) * 1e-6,
    "e.R16.mass": lambda _: R16.mass * R16.length * 1e3,
    "e.R16.fEB.": lambda r: first(R16_EB, mode=int(r.id[-1])),
    "e.R16.fTim.1": lambda _: first(R16),
    "e.R16.tip15g.f1": lambda r: first(R16_EB, tip=End(mass=r.inputs["M_g"] * 1e-3)),
    "e.R16.tip15g.f1.rayleigh": lambda _: rayleigh_frequency(R16_EB, tip_mass=0.015),
    "e.R16.springclamp.f1": lambda _: first(R16_EB, root=CLAMP),
    "e.R16.springclamp.f2": lambda _: first(R16_EB, mode=2, root=CLAMP),
    "e.R16.springclamp.k": lambda _: tip_stiffness([R16_EB], root=CLAMP) * 1e-6,
    "e.kappa.round.hutchinson": lambda _: round_shear_coefficient(NU),
    "e.kappa.round.cowper": lambda _: tube_shear_coefficient(0.0, poisson_ratio=NU),
    "e.ratio.TimEB.": timoshenko_over_euler,
    "e.S12.L30.k": lambda _: tip_stiffness([without_shear(steel(0.03, S12))]) * 1e-6,
    "e.S12.L30.k.shear": lambda _: tip_stiffness([steel(0.03, S12)]) * 1e-6,
    "e.S12.L30.f1EB": lambda _: first(without_shear(steel(0.03, S12))),
    "e.S12.L30.f1Tim": lambda _: first(steel(0.03, S12)),
    "e.S12.L60.k.shear": lambda _: tip_stiffness([steel(0.06, S12)]) * 1e-6,
    "e.tube.I": lambda _: TUBE.second_moment * 1e12,
    "e.tube.f1EB": lambda _: first(without_shear(steel(0.12, TUBE))),
    "e.tipmass.betaL.": lambda r: root(ends=(HELD, End(mass=r.inputs["r=M/m"]))),
    "e.modal_mass_coeff": lambda _: modal_tip_stiffness([UNIT]) / root() ** 4,
    "e.rotspring.betaL.": lambda r: root(ends=(End(translation=math.inf, rotation=r.inputs["K"]), FREE)),
    "e.rotspring.kratio.": lambda r: (
        tip_stiffness([UNIT], root=End(translation=math.inf, rotation=r.inputs["K"])) / tip_stiffness([UNIT])
    ),
    "e.winkler.lambda": lambda _: bed_wave_number(GRIPPED),
    "e.winkler.k.a30": lambda _: tip_stiffness([GRIPPED, R16_EB], root=FREE) * 1e-6,
    "e.winkler.f2.a30": lambda _: first(GRIPPED, R16_EB, mode=2, root=FREE),
    "e.winkler.rigid.k_theta": lambda _: rigid_shank_springs(GRIPPED).rotation,
    "e.winkler.rigid.k_t": lambda _: rigid_shank_springs(GRIPPED).translation,
    "e.stepped.k": lambda _: tip_stiffness(STEPPED_EB) * 1e-6,
    "e.stepped.fEB.": lambda r: first(*STEPPED_EB, mode=int(r.id[-1])),
    "e.stepped.fTim.1": lambda _: first(*STEPPED),
    "e.torsion.round.f1": lambda _: torsion_frequency(0.08, shear_modulus=SHEAR_MODULUS, density=7850),
    "e.torsion.square.f1": lambda _: torsion_frequency(
        0.06,
        shear_modulus=SHEAR_MODULUS,
        density=7850,
        torsion_ratio=rectangle_torsion_constant(0.012, 0.012) / (0.012**4 / 6.0),
    ),
    "e.axial.f1": lambda _: axial_frequency(0.08, youngs_modulus=210e9, density=7850),
    "e.mat.": of_material,
    "e.overhang.": overhang_ratio,
    "e.deflection.R16": lambda r: r.inputs["F_N"] / tip_stiffness([R16_EB]) * 1e6,
    "e.flats.Istrong": lambda _: flatted_sections(0.016, 0.014, poisson_ratio=NU)[1].second_moment * 1e12,
    "e.flats.A": lambda _: flatted_sections(0.016, 0.014, poisson_ratio=NU)[0].area * 1e6,
    # Records of other sections that are beam results too.
    "b.flat.kw": lambda _: tip_stiffness([flatted_bar(0)]) * 1e-6,
    "b.flat.ks": lambda _: tip_stiffness([flatted_bar(1)]) * 1e-6,
    "b.flat.fw": lambda _: first(flatted_bar(0)),
    "b.modalk.ratio": lambda _: modal_tip_stiffness([UNIT]) / tip_stiffness([UNIT]),
    "h.addmass.exact.kmodal": lambda _: modal_tip_stiffness([R16_EB], root=CLAMP) * 1e-6,
    "h.addmass.exact.f.": lambda r: first(R16_EB, root=CLAMP, tip=End(mass=r.inputs["dm_g"] * 1e-3)),
    "i.two.f1.": lambda r: first(replace(R16_EB, length=r.inputs["L_mm"] * 1e-3), root=CLAMP),
}
OTHER_SECTIONS = [key for key in COMPUTED if not key.startswith("e.")]


def flatted_bar(plane: int) -> Span:
    """Return the 16 mm bar with two flats 14 mm across, 80 mm out, bending in one of its planes."""
    return without_shear(steel(0.08, flatted_sections(0.016, 0.014, poisson_ratio=NU)[plane]))


def in_scope(record_id: str) -> bool:
    """Say whether a record belongs to section e or to one of the beam results beside it."""
    return record_id.startswith(("e.", *OTHER_SECTIONS))


@pytest.mark.parametrize("record_id", [name for name in check_values() if in_scope(name)])
def test_check_value(record_id: str) -> None:
    """Every record of section e, to its own tolerance; its source stands in the failure text."""
    key = max((name for name in COMPUTED if record_id.startswith(name)), key=len, default=None)
    assert key is not None, f"no formula is named for {record_id}: {check_value(record_id).quantity}"
    assert_close(record_id, COMPUTED[key](check_value(record_id)))


@pytest.mark.parametrize(
    ("span", "expected"),
    [
        # Euler-Bernoulli and Timoshenko values computed apart from the program, printed to 2 decimals.
        (R16_EB, [1808.95, 11336.47, 31742.46]),
        (R16, [1770.43, 9922.01, 24369.69]),
    ],
)
def test_higher_modes_of_the_round_bar(span: Span, expected: list[float]) -> None:
    """Values computed apart from the program: tolerance is half the last printed digit."""
    assert bending_frequencies([span], 3) == pytest.approx(np.array(expected), abs=0.005)


def test_tube_and_square_of_the_physics_notes() -> None:
    """Timoshenko values printed in the table of section e, to their last digit."""
    assert TUBE.shear_coefficient == pytest.approx(0.582375, abs=5e-7)
    assert first(steel(0.12, TUBE)) == pytest.approx(1138.540, abs=5e-4)
    assert rectangle_shear_coefficient(NU) == pytest.approx(0.849673, abs=5e-7)
    assert first(steel(0.06, S12)) == pytest.approx(2702.08, abs=5e-3)
    weak, _ = flatted_sections(0.016, 0.014, poisson_ratio=NU)
    assert weak.second_moment == pytest.approx(2642.898e-12, rel=2e-7)


@pytest.mark.parametrize("size", [1e-3, 0.4, 3.0, 40.0])
def test_the_exponential_of_a_matrix_is_that_of_scipy(size: float) -> None:
    """Another route: SciPy's Padé approximants."""
    matrix = size * np.random.default_rng(3).standard_normal((4, 4))
    expected = expm(matrix)
    assert exponential(matrix) == pytest.approx(expected, rel=1e-11, abs=1e-12 * np.abs(expected).max())


@pytest.mark.parametrize("lateral", [1e15, 1e17, 1e19])
def test_a_bed_as_stiff_as_steel_costs_no_more_than_a_soft_one(lateral: float) -> None:
    """Its root gives as two half-infinite lines on springs: sliding against the bed, and turning.

    Source: u = V / sqrt(kappa G A k) and phi = M / sqrt(E I k_phi), each way of moving by itself (computed
    here; they touch each other the less the stiffer the bed).
    """
    hung = steel(0.08, ROUND)
    bedded = replace(hung, length=0.05, bed=Bed(lateral=lateral, rotation=lateral * 1e-5))
    matrix, _ = chain_stiffness([bedded, hung], 0.0, root=FREE, tip=FREE)
    assert len(matrix) <= 8
    slides, turns = (hung.shear * lateral) ** -0.5, (hung.bending * lateral * 1e-5) ** -0.5
    gives = 1 / tip_stiffness([bedded, hung], root=FREE) - 1 / tip_stiffness([hung])
    assert gives == pytest.approx(slides + 0.08**2 * turns, rel=0.03)
