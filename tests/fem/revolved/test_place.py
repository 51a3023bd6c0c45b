"""How a section of a bar of revolution moves, against meshes and what an absorber's place must obey."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from stickout.fem.revolved.place import section_at_rest, section_motion
from stickout.fem.revolved.solve import solve
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Absorber, Setup
from stickout.fem.solid.modes import SPARE
from stickout.fem.solid.section_motion import place_at
from stickout.fem.study.coarse import COARSE
from stickout.fem.study.of_revolution import SPACES, revolved_bar
from stickout.fem.study.study import run_study, solve_level

BORED = 'section = "tube"\nbore = 4\ndiameter = 16\noverhang = 90\ngripped = 50\nmaterial = "steel"\n'
POCKET = "[[bar.steps]]\nstart = 60\nbore = 9\n"
BED = '[grip]\nstyle = "bed"\nbed_n_per_um_mm2 = 5\n'
EDGE = "[edge]\nmass_g = 9\noffset_y = 4\noffset_z = -3\n"
WRAP = '[wrap]\nmaterial = "tin-lead solder"\nthickness = 2\nstart = 20\nlength = 30\nbond = "bonded"\n'
SLUG = Absorber(mass_g=20.0, frequency_hz=900.0, damping_ratio=0.2, position_mm=90.0)
SETUPS = {
    "a pocket on a bed": BORED + POCKET + BED,
    "a mass beside the axis": BORED + POCKET + BED + EDGE,
    "a wrap": BORED + WRAP + '[grip]\nstyle = "rigid"\n',
}


def setup_of(text: str) -> Setup:
    """Return a set-up in millimetres."""
    return parse_setup(f'units = "mm"\n[bar]\n{text}').setup


@pytest.mark.parametrize("x_mm", [31.0, 72.5])
@pytest.mark.parametrize("name", SETUPS)
def test_a_section_moves_as_on_a_mesh(name: str, x_mm: float) -> None:
    """20-node cells and their cut sections: compliances entry by entry, modes by what pairs do together."""
    setup = replace(setup_of(SETUPS[name]), absorber=replace(SLUG, position_mm=x_mm))
    level = solve_level(setup, COARSE)
    theirs = place_at(level.model, level.modes, x=1e-3 * x_mm)
    found = solve(revolved_bar(setup), SPACES[1], wanted=setup.solve.modes + SPARE)
    cross, static = section_at_rest(found, 1e-3 * x_mm)
    assert cross == pytest.approx(theirs.cross, rel=1e-2, abs=2e-3 * theirs.cross.max())
    assert static[1:, 1:] == pytest.approx(theirs.static[1:, 1:], rel=1e-2, abs=1e-3 * static.max())
    # Along the bar strain jumps at the section, inside a cell of the mesh but between two of ours: there the
    # edge only rides with the section, but for the middle's bulging.
    assert static[0, 0] == pytest.approx(theirs.static[0, 0], rel=0.03)
    assert static[0, 0] == pytest.approx(cross[0, 0], rel=5e-3)
    mine = section_motion(found, 1e-3 * x_mm)
    # Whichever way a pair is turned and signed, what it carries from section to edge is the same.
    for pair in (slice(0, 2), slice(2, 4)):
        ours = mine[pair].T @ found.edge[pair]
        mesh = theirs.phi[pair].T @ level.modes.edge[pair]
        assert ours == pytest.approx(mesh, rel=1e-2, abs=1e-2 * np.abs(mesh).max())


def test_at_the_end_face_it_is_the_edge() -> None:
    """The middle of the end face: edge and section are one; work there and back is equal (Maxwell)."""
    setup = setup_of(BORED + POCKET + BED)
    found = solve(revolved_bar(setup), SPACES[1], wanted=6)
    cross, static = section_at_rest(found, 90e-3)
    assert static == pytest.approx(found.compliance, rel=1e-9, abs=1e-15)
    assert cross == pytest.approx(found.compliance, rel=1e-9, abs=1e-15)
    assert section_motion(found, 90e-3) == pytest.approx(found.edge, rel=1e-9, abs=1e-9)


def test_no_mesh_is_made_for_an_absorber(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its place follows pairs as they are turned to the force, as the edge does."""
    setup = replace(setup_of(BORED + POCKET + BED), absorber=SLUG)

    def refused(*_: object) -> None:
        raise AssertionError

    monkeypatch.setattr("stickout.fem.study.study.bar_mesh", refused)
    result = run_study(setup)
    assert result.place is not None
    assert result.place.phi == pytest.approx(result.modes.edge, rel=1e-9, abs=1e-9)
