"""What a study makes of losses: rubbing wraps, and joints that lose much."""

from __future__ import annotations

from dataclasses import replace
from math import pi

import numpy as np
import pytest

from stickout.fem import Bar, BedGrip, Joint, RigidGrip, Setup, exactly, material, run_study
from stickout.fem.setup.parts import Solve, Turns
from stickout.meshes.parts import Wrap

ROUGH = Solve(modes=1, accuracy=0.02)


def test_rubbing_takes_its_share_of_the_kinetic_energy() -> None:
    """A loose wrap all along the bar moves as the bar does: its share of the energy is that of its mass."""
    steel, lead = material("steel"), material("lead")
    bare = Setup(
        bar=Bar(80, diameter_mm=16),
        grip=RigidGrip(),
        materials={"bar": steel, "wrap": lead},
        wrap=Wrap(thickness_mm=1.0, start_mm=0.0, length_mm=80.0, bond="loose"),
        turns=Turns(),
        solve=ROUGH,
    )
    rubbing = replace(bare, turns=Turns(rubbing_loss_factor=0.2))
    before, after = run_study(bare).loss, run_study(rubbing).loss
    skin = pi / 4 * (18**2 - 16**2) * lead.density.likely
    share = skin / (skin + pi / 4 * 16**2 * steel.density.likely)
    # Turning inertia of the bar's sections, and a wrap thinned to its mass on the surface: under 1 %.
    assert after.high[0] - before.high[0] == pytest.approx(0.2 * share, rel=0.02)
    assert after.likely[0] == pytest.approx(before.likely[0])


@pytest.mark.parametrize(("eta", "told"), [(0.05, False), (0.3, True)])
def test_losses_that_differ_much_are_solved_as_a_complex_problem(eta: float, told: bool) -> None:
    """Shares are off by about half the square of the loss: 5 % at 0.3, which must not pass unseen."""
    grip = BedGrip(bed=Joint(loss_factor=exactly(eta)))
    found = run_study(Setup(bar=Bar(64, diameter_mm=16, gripped_mm=40), grip=grip, solve=ROUGH))
    assert (found.complex_loss is not None) is told
    if found.complex_loss is not None:
        assert np.all(np.abs(found.complex_loss / found.loss.likely - 1) < eta**2)
