"""Torsion and shear constants of odd sections, against closed forms and another library's elements."""

from __future__ import annotations

import math

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriP2, LinearForm, MeshTri, condense, solve
from skfem.helpers import dot, grad

from stickout.fem.beam.formulas import rectangle_torsion_constant
from stickout.fem.beam.section_problems import shear_coefficient, torsion_constant
from stickout.fem.beam.sections import rectangle_shear_coefficient
from stickout.meshes.outlines import Outline

NU = 0.29
RADIUS = 0.008


@BilinearForm
def laplace(u: object, v: object, _: object) -> object:
    """Return the form of Poisson's equation."""
    return dot(grad(u), grad(v))


@LinearForm
def doubled(v: object, _: object) -> object:
    """Return the load 2 of Prandtl's stress function."""
    return 2.0 * v


def stress_function_constant(share: float) -> float:
    """Return the torsion constant [m^4] of a bar with flats from Prandtl's stress function, by scikit-fem.

    Twice the integral of the function that is zero on the outline and has the Laplacian -2: never above
    the exact one.
    """
    angle = math.asin(share)
    unit = MeshTri.init_tensor(np.linspace(-1, 1, 41), np.linspace(-1, 1, 41))
    turn = angle * unit.p[1]
    mesh = MeshTri(RADIUS * np.stack([unit.p[0] * np.cos(turn), np.sin(turn)]), unit.t)
    basis = Basis(mesh, ElementTriP2())
    load = doubled.assemble(basis)
    stress = solve(*condense(laplace.assemble(basis), load, D=basis.get_dofs()))
    return float(load @ stress)


@pytest.mark.parametrize("share", [0.95, 0.8, 0.5, 0.2])
def test_torsion_between_two_bounds(share: float) -> None:
    """Warping gives a bound from above, the stress function (Prandtl; scikit-fem) one from below.

    Saint-Venant's short cut A^4/(40 Ip), used before, is 1 % low to 3 % high on these.
    """
    ours, below = (
        torsion_constant(Outline(radius=RADIUS, half_height=share * RADIUS)),
        stress_function_constant(share),
    )
    assert below <= ours <= 1.002 * below


def test_torsion_of_circle_and_rectangles() -> None:
    """Closed forms: pi R^4 / 2, and the series of Timoshenko & Goodier (recalled, not opened)."""
    assert torsion_constant(Outline(radius=RADIUS)) == pytest.approx(math.pi * RADIUS**4 / 2, rel=1e-12)
    for width, height in ((1.0, 1.0), (3.0, 1.0), (1.0, 2.0)):
        ours = torsion_constant(Outline(half_width=width, half_height=height))
        assert ours == pytest.approx(rectangle_torsion_constant(2 * width, 2 * height), rel=2e-5)


@pytest.mark.parametrize("nu", [0.0, 0.29, 0.45])
@pytest.mark.parametrize("plane", [0, 1])
def test_shear_of_circle_and_rectangles(nu: float, plane: int) -> None:
    """Cowper 1966 (first page opened): 6(1+nu)/(7+6nu) for a circle, 10(1+nu)/(12+11nu) for rectangles."""
    circle = shear_coefficient(Outline(radius=RADIUS), nu, plane=plane)
    assert circle == pytest.approx(6 * (1 + nu) / (7 + 6 * nu), rel=1e-10)
    for width, height in ((1.0, 1.0), (3.0, 1.0), (1.0, 10.0)):
        ours = shear_coefficient(Outline(half_width=width, half_height=height), nu, plane=plane)
        assert ours == pytest.approx(rectangle_shear_coefficient(nu), rel=1e-10)


def test_flats_lead_from_the_circle_to_the_strip() -> None:
    """Closed flats are a circle; far down they are a strip, bent over its width (both closed forms)."""
    closed, deep = (Outline(radius=RADIUS, half_height=share * RADIUS) for share in (1 - 1e-6, 0.1))
    assert shear_coefficient(closed, NU, plane=1) == pytest.approx(6 * (1 + NU) / (7 + 6 * NU), rel=1e-5)
    assert shear_coefficient(deep, NU, plane=0) == pytest.approx(rectangle_shear_coefficient(NU), rel=1e-3)
    strip = rectangle_torsion_constant(2 * RADIUS, 0.2 * RADIUS)
    assert torsion_constant(deep) == pytest.approx(strip, rel=3e-3)


def test_units_cancel() -> None:
    """Metres or millimetres: the coefficient stays, the constant goes with the fourth power."""
    metre, thousandth = (Outline(radius=size, half_height=0.6 * size) for size in (1.0, 1e-3))
    assert torsion_constant(thousandth) == pytest.approx(1e-12 * torsion_constant(metre), rel=1e-9)
    assert shear_coefficient(thousandth, NU, plane=0) == pytest.approx(
        shear_coefficient(metre, NU, plane=0), rel=1e-9
    )
