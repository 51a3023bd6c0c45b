"""LAPACK and BLAS without the rest of SciPy's package, and with it where its files have moved."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
import scipy.linalg
from numpy.testing import assert_allclose

from stickout.fem import compiled, lapack


def test_factor_and_solve_as_scipy_does() -> None:
    """Another route: SciPy's own functions, imported the usual way."""
    given = np.random.default_rng(1).standard_normal((6, 6))
    matrix = given @ given.T + np.eye(6)
    upper, fault = lapack.dpotrf(matrix, lower=0)
    assert fault == 0
    assert_allclose(np.triu(upper), scipy.linalg.cholesky(matrix), atol=1e-12)
    values, shapes, fault = lapack.dsygvd(matrix, np.diag(np.arange(1.0, 7.0)))
    assert fault == 0
    assert_allclose(values, scipy.linalg.eigh(matrix, np.diag(np.arange(1.0, 7.0)))[0], rtol=1e-12)
    assert_allclose(shapes.T @ np.diag(np.arange(1.0, 7.0)) @ shapes, np.eye(6), atol=1e-12)


def test_files_that_have_moved_are_found_the_usual_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """A SciPy of another layout: the public modules serve."""
    monkeypatch.setattr(compiled, "EXTENSION_SUFFIXES", [".elsewhere"])
    found = compiled.compiled("scipy.linalg._flapack", needs=("dpotrf",), otherwise="scipy.linalg.lapack")
    assert found is scipy.linalg.lapack


def test_a_round_bar_and_its_cut_are_answered_without_the_package_and_it_still_loads() -> None:
    """What takes longer to import than a bar to solve stays out; imported later it is whole."""
    code = (
        "import sys\n"
        "from stickout.fem import Bar, Cut, RigidGrip, Setup, cut_answer, run_study\n"
        "cut = Cut(operation='boring', work_material='mild steel', depth_mm=0.2, feed_mm=0.05,\n"
        "          nose_radius_mm=0.4, edge_angle_deg=93)\n"
        "cut_answer(run_study(Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip(), cut=cut)))\n"
        "assert not {'scipy.linalg', 'scipy.sparse', 'scipy.special', 'numpy.ma'} & set(sys.modules)\n"
        "import scipy.linalg\n"
        "assert abs(scipy.linalg.expm([[0.0, 1.0], [0.0, 0.0]])[0, 1] - 1) < 1e-15\n"
        "assert scipy.linalg.lapack.dpotrf([[4.0]])[0][0, 0] == 2.0\n"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False, timeout=60).returncode == 0
