"""Our first mesh against scikit-fem's elements and forms and SciPy's shift-invert."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from told_setups import KINDS, told_setup

from stickout.cli.text.second_opinion_words import second_opinion_words
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.parts import Setup, Solve
from stickout.fem.study import second_opinion as module
from stickout.fem.study.second_opinion import second_opinion
from stickout.fem.study.study import run_study
from stickout.meshes.parts import Bar, Edge


@pytest.mark.slow
@pytest.mark.parametrize(
    ("kind", "taken_over"),
    [
        ("flatted turned", None),
        ("soft bed", None),
        ("slot", "screws on bar"),
        ("split sleeve", None),
        ("wrap amid", None),
    ],
)
def test_two_libraries_agree_on_the_first_mesh(kind: str, taken_over: str | None) -> None:
    """To rounding and the solvers' tolerance: elements, materials, curved sides, beds, joints, masses."""
    opinion = second_opinion(told_setup(KINDS.index(kind))[1])
    assert len(opinion.ours_hz) == len(opinion.theirs_hz) == 6
    assert opinion.apart < 1e-7
    assert taken_over is None or taken_over in opinion.taken_over


def test_a_wrong_spring_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    """The grip is built twice, not handed over: a bed ten per cent stiffer on their side shows."""
    setup = told_setup(KINDS.index("soft bed"))[1]
    layer = module._Theirs._layer

    def stiffer(self: object, facets: np.ndarray, spring: object) -> object:
        return layer(self, facets, replace(spring, normal=1.1 * spring.normal))

    monkeypatch.setattr(module._Theirs, "_layer", stiffer)
    assert second_opinion(setup).apart > 1e-4


@pytest.mark.parametrize("held", ["between centres", "chuck and centre"])
def test_both_ends_stand_on_their_springs(held: str) -> None:
    """A short bar with a heavy cutter amid: all their unknowns on the springs, our few modes just above."""
    setup = Setup(
        bar=Bar(overhang_mm=160, diameter_mm=20),
        grip=CentresGrip(held=held),
        edge=Edge(end_distance_mm=80, mass_g=60),
        materials={"bar": STEEL},
        solve=Solve(modes=4, accuracy=0.01),
    )
    opinion = second_opinion(setup)
    assert np.all(opinion.ours_hz > (1 - 1e-9) * opinion.theirs_hz)  # Ritz: from above
    assert opinion.apart < 1e-3
    stiffer = second_opinion(replace(setup, grip=CentresGrip(held=held, centre_n_per_um=1e5)))
    assert stiffer.theirs_hz[0] > 1.05 * opinion.theirs_hz[0]
    assert "springs of both ends" in " ".join(second_opinion_words(opinion, run_study(setup)))
