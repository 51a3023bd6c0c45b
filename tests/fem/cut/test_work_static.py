"""The work's give in a cut, against the beam formula of any handbook."""

from __future__ import annotations

from dataclasses import replace
from math import pi
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.fem import read_setup
from stickout.fem.beam.work import work_model
from stickout.fem.cut.spring_off import spring_off_of
from stickout.fem.force.case import cut_case

SETUP = read_setup(Path(EXAMPLES) / "slender_shaft.toml").setup
# The springs assumed for a small chuck: jaws 60 and spindle 30 N/um in series, 3e4 and 1e5 N m/rad tilting.
RADIAL, TILTING = 1 / (1 / 60e6 + 1 / 30e6), 1 / (1 / 3e4 + 1 / 1e5)
WIDE = 0.012


def compliance(a: float) -> float:
    """Return a^3/3EI + a/kappaGA + 1/k + a^2/k_tilt of a 12 mm steel cantilever, cut at a [m/N]."""
    steel = SETUP.materials["work"]
    e, nu = steel.youngs_modulus.likely, steel.poisson_ratio.likely
    # Hutchinson, ASME J. Appl. Mech. 68 (2001) 87, for a round section.
    kappa = 6 * (1 + nu) ** 2 / (7 + 12 * nu + 4 * nu**2)
    shear = kappa * e / (2 * (1 + nu)) * pi * WIDE**2 / 4
    return a**3 / (3 * e * pi * WIDE**4 / 64) + a / shear + 1 / RADIAL + a**2 / TILTING


COMPLIANCE = compliance(0.085)


def test_the_modal_model_of_the_work_gives_as_the_beam_formula() -> None:
    """Turning: the work bends in x and z, and along the spindle (y) not at all."""
    model = work_model(SETUP, loss=0.01)
    assert model is not None
    assert np.diag(model.static) == pytest.approx([COMPLIANCE, 0.0, COMPLIANCE], rel=1e-9)
    assert work_model(SETUP, loss=0.01, at_mm=42.5).static[0, 0] == pytest.approx(
        compliance(0.0425), rel=1e-9
    )


def test_spring_off_counts_the_work() -> None:
    """A tool that gives nothing: the edge leaves the cut by the passive force over the shaft's stiffness."""
    case = cut_case(SETUP)
    rigid = spring_off_of(SETUP, case, static=np.zeros((3, 3)))
    assert rigid.radial == pytest.approx(COMPLIANCE * case.force.p, rel=1e-9)
    assert rigid.edge == pytest.approx(np.zeros(3))


def test_spring_passes_take_tool_and_work_together() -> None:
    """A tool as soft as the shaft: twice the spring-off, and each pass leaves more than with a stiff tool."""
    case = cut_case(SETUP)
    stiff = spring_off_of(SETUP, case, static=np.zeros((3, 3)))
    soft = spring_off_of(SETUP, case, static=COMPLIANCE * np.eye(3))
    assert soft.radial == pytest.approx(2 * stiff.radial, rel=1e-9)
    assert all(two > one > 0 for one, two in zip(stiff.left, soft.left, strict=True))


def test_a_shaft_twice_as_stiff_springs_half() -> None:
    """Linear in the modulus, through the set-up's own material."""
    held = replace(SETUP.work, chuck_n_per_um=1e7, chuck_tilt_nm_per_rad=1e11)
    perfect = replace(SETUP, work=held)
    steel = SETUP.materials["work"]
    modulus = replace(steel.youngs_modulus, low=420e9, likely=420e9, high=420e9)
    stiff = replace(perfect, materials={**SETUP.materials, "work": replace(steel, youngs_modulus=modulus)})
    found = [spring_off_of(one, cut_case(one), static=np.zeros((3, 3))).radial for one in (perfect, stiff)]
    assert found[0] == pytest.approx(2 * found[1], rel=1e-6)
