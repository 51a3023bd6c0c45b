"""Waves of a thin wall: solids and rings at both ends of the band, and what they do in the loop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES
from values import check_value

from stickout.fem import read_setup
from stickout.fem.beam.thin_wall import free_ring_notes, wall_give, wall_modes
from stickout.fem.beam.work import has_wall, work_model, work_static
from stickout.fem.chatter.receptance import receptance
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.answer import cut_answer
from stickout.fem.cut.assumed import cut_assumptions
from stickout.fem.cut.leverage import HOLDING, WALL
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.work_parts import Work
from stickout.fem.solid.modes import solve_modes
from stickout.fem.study.study import run_study
from stickout.fem.work.solid import held_solid, ring_waves
from stickout.meshes.pieces import Fineness

TUBE = Work(60, 80, "chuck", 78, bore_mm=56, jaw_length_mm=20)
RING = read_setup(Path(EXAMPLES) / "thin_ring.toml", changes=["solve.accuracy=0.03", "solve.modes=2"]).setup
END = np.array([0.08])


def note(work: Work, waves: int, side: str) -> float:
    """Return the note of so many waves [Hz]."""
    found = {one.waves: one for one in wall_modes(work, STEEL, stations=END, side=side)}
    return found[waves].omega / (2 * np.pi)


@pytest.mark.parametrize(
    ("changes", "waves", "solid", "near"),
    [
        ({}, 2, 3013.0, 0.03),
        ({}, 3, check_value("B.tube.n3").value, 0.03),
        ({"bore_mm": 54}, 2, 3611.0, 0.03),
        ({"length_mm": 40}, 2, 6674.0, 0.12),
    ],
)
def test_held_all_round_it_rings_as_the_solid(
    changes: dict[str, float], waves: int, solid: float, near: float
) -> None:
    """NGSolve's tubes with one end held, 60 outside, 80 long, wall 2 or else as changed, Hz [B.tube]."""
    assert note(replace(TUBE, **changes), waves, "high") == pytest.approx(solid, rel=near)


def test_held_all_round_it_yields_as_the_solid() -> None:
    """What a wave of the solid moves its free end outward, squared over its note's square, at the crest."""
    model = held_solid(TUBE, STEEL, fineness=Fineness(10, 1, 0.033, 0.25, 0.05))
    modes = solve_modes(model, 5)
    end = np.unique(model.mesh.patches["end"])
    y, z = model.mesh.points[end, 1:].T
    by_waves = {one.waves: one for one in wall_modes(TUBE, STEEL, stations=END, side="high")}
    told = set()
    for omega, shape in zip(modes.omega, modes.shapes, strict=True):
        waves = ring_waves(model, shape)
        if waves not in by_waves or waves in told:
            continue
        told.add(waves)
        crest = np.abs(shape[end, 1] * y + shape[end, 2] * z).max() / 0.03  # near enough the outer rim
        # A beam's shape for a wall that shears too: up to a fifth softer, none stiffer.
        assert 0.95 < by_waves[waves].give[0] / (crest / omega) ** 2 < 1.25
    assert {2, 3} <= told


def test_free_it_is_a_ring() -> None:
    """Two waves: the ring's note; a free tube's end yields four times what its middle does, but for twist."""
    free = wall_modes(TUBE, STEEL, stations=END, side="low")[0]
    young, density = STEEL.youngs_modulus.likely, STEEL.density.likely
    ring = 2 * np.pi * free_ring_notes(TUBE, youngs_modulus=young, density=density)[0]
    assert free.omega == pytest.approx(ring, rel=1e-9)
    mass = density * np.pi / 4 * (0.06**2 - 0.056**2) * 0.1 * (1 + 1 / 4) / 2
    assert 3 < free.give[0] * mass * ring**2 < 4
    middle = wall_modes(TUBE, STEEL, stations=np.array([0.03]), side="low")[0]  # amid the tube nothing rocks
    assert middle.give[0] == pytest.approx(1 / (mass * ring**2), rel=1e-3)


def test_the_band_is_in_order_and_others_have_no_wall() -> None:
    """The likely one lies between both ends; a thick tube, a solid part, one on centres ring nowhere."""
    places = np.array([0.02, 0.05, 0.08])
    low, likely, high = (
        wall_give(TUBE, STEEL, stations=places, side=one) for one in ("low", "likely", "high")
    )
    assert np.all((low > likely) & (likely > high))
    for work in (
        replace(TUBE, bore_mm=40),
        replace(TUBE, bore_mm=None),
        replace(TUBE, held="between centres"),
    ):
        assert not wall_modes(work, STEEL, stations=END)
    bent = work_static(replace(TUBE, bore_mm=56.0), STEEL, stations=END)
    assert bent > wall_give(TUBE, STEEL, stations=END)


def test_the_wall_stands_beside_the_bending() -> None:
    """Receptances add: with the wall, less without it, is that of the waves: less along the surface."""
    with_wall, without = (work_model(RING, loss=0.04, wall=one) for one in (True, False))
    assert with_wall is not None
    assert without is not None
    assert (has_wall(with_wall), has_wall(without)) == (True, False)
    at = np.array([2 * np.pi * 2100.0])
    more = (receptance(with_wall, at) - receptance(without, at))[..., 0]
    assert RING.work is not None
    place = np.array([RING.work.cut_at_mm * 1e-3])
    waves = wall_modes(RING.work, RING.materials["work"], stations=place)
    sums = [
        sum(
            one.give[0] / (1 - (at[0] / one.omega) ** 2 + 0.01j * at[0] / one.omega) / one.waves**power
            for one in waves
        )
        for power in (0, 2)
    ]
    assert more[0, 0] == pytest.approx(sums[0], rel=1e-9)
    assert more[2, 2] == pytest.approx(sums[1], rel=1e-9)
    assert abs(more[1]).max() == 0.0
    assert with_wall.static[0, 0] - without.static[0, 0] == pytest.approx(sum(w.give[0] for w in waves))


def test_held_hard_it_is_the_wall_that_sings() -> None:
    """In a chuck that hardly gives the tilting is gone: the wall limits, near its note, and is named."""
    assert RING.work is not None
    hard = replace(RING.work, chuck_n_per_um=1e4, chuck_tilt_nm_per_rad=1e7)
    soft, stiff = (cut_answer(run_study(replace(RING, work=one))) for one in (RING.work, hard))
    assert soft.leverage is not None
    assert stiff.leverage is not None
    assert stiff.leverage.singer == WALL
    assert soft.leverage.singer != WALL
    assert soft.leverage.static[HOLDING] > soft.leverage.static[WALL] > stiff.leverage.static[HOLDING]
    waves = wall_modes(hard, RING.materials["work"], stations=np.array([0.078]))
    assert stiff.chatter_hz == pytest.approx(waves[0].omega / (2 * np.pi), rel=0.1)
    assert stiff.work is not None
    bare = work_model(replace(RING, work=hard), loss=0.04, wall=False)
    assert bare is not None
    with_wall, without = (
        float(absolute_limit(one, stiff.case.stiffness).margin) for one in (stiff.work, bare)
    )
    assert with_wall < 0.5 * without
    assert "thin wall loss factor" in [one.name for one in cut_assumptions(stiff)]
