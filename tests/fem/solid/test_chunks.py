"""Sums over cells in pieces of any size, and the memory that factors may take."""

from __future__ import annotations

import re

import house
import numpy as np
import pytest

from stickout.fem import Bar, RigidGrip, Setup
from stickout.fem.setup.parts import Solve
from stickout.fem.solid import body
from stickout.fem.solid.block_cholesky import Limits
from stickout.fem.study.study import levels_of, solve_level


def test_energies_are_the_same_however_the_cells_are_cut_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """A mode's strain energy is half its eigenvalue (Rayleigh), with pieces of three cells too."""
    setup = Setup(bar=Bar(40, diameter_mm=16), grip=RigidGrip(), solve=Solve(3, 0.05))
    level = solve_level(setup, levels_of(setup).fineness[0])
    shapes = level.modes.shapes.transpose(1, 2, 0)
    for chunk in (100_000, 3):
        monkeypatch.setattr(body, "_CHUNK", chunk)
        total = sum(level.model.energies(shapes).values())
        assert total == pytest.approx(level.modes.omega**2 / 2, rel=1e-6), chunk


def test_factors_take_no_more_memory_than_the_guide_says() -> None:
    """DEVELOPERS.md names the limit, and large machines are not assumed."""
    text = (house.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = re.search(r"`Limits.memory` \((\d+) GB\)", text)
    assert found is not None
    assert Limits().memory == pytest.approx(float(found[1]) * 1e9)
    assert np.isfinite(Limits().width)
