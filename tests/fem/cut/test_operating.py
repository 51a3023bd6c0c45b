"""Tool, post and part on one clock: both sides add up to the opening, each is its own receptance at work."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.cli.show.plots.beside import check_together
from stickout.cli.text.together_words import together_words
from stickout.fem import read_setup
from stickout.fem.chatter.receptance import receptance
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.operating import Operating, operating_motion
from stickout.fem.errors import InputError
from stickout.fem.study.study import run_study

TWO = (
    "slender_shaft",
    ("work.held=chuck and centre", "work.cut_at=60", "cut.depth=0.6", "solve.accuracy=0.03"),
)
POST = ("measured_post", ("solve.accuracy=0.03",))


def moving(name: str, changes: tuple[str, ...]) -> tuple[CutAnswer, Operating]:
    """Return the answer of an example and its motion."""
    answer = cut_answer(run_study(read_setup(Path(EXAMPLES) / f"{name}.toml", changes=changes).setup))
    return answer, operating_motion(answer)


@pytest.fixture(scope="module")
def both() -> tuple[CutAnswer, Operating]:
    """Return a shaft on a centre."""
    return moving(*TWO)


def test_the_opening_is_one_and_real_where_it_is_greatest(both: tuple[CutAnswer, Operating]) -> None:
    """Edge less part, by its definition."""
    _, motion = both
    opening = motion.edge - motion.at_cut
    assert np.linalg.norm(opening) == pytest.approx(1.0)
    most = opening[np.abs(opening).argmax()]
    assert (most.real, most.imag) == pytest.approx((abs(most), 0.0), abs=1e-12)


def test_the_force_feeds_itself(both: tuple[CutAnswer, Operating]) -> None:
    """The force that the opening cuts is that force again: A G F = mu F, and G_w answers its opposite."""
    answer, motion = both
    omega = np.array([2 * np.pi * motion.frequency_hz])
    force = answer.case.stiffness @ (motion.edge - motion.at_cut)
    tool, work = (receptance(one, omega)[..., 0] for one in (answer.tool, answer.work) if one is not None)
    mu = force @ np.conj(force) / np.vdot(answer.case.stiffness @ ((tool + work) @ force), force).conj()
    assert motion.edge == pytest.approx(tool @ force * mu, rel=1e-6, abs=1e-9)
    assert motion.at_cut == pytest.approx(-work @ force * mu, rel=1e-6, abs=1e-9)


def test_both_lines_pass_through_the_cut(both: tuple[CutAnswer, Operating]) -> None:
    """The drawn part moves at the cut as the loop says, but for modes left out; its held end hardly moves."""
    answer, motion = both
    work = answer.result.setup.work
    assert work is not None
    at = int(np.abs(motion.part_at - work.cut_at_mm * 1e-3).argmin())
    assert np.abs(motion.part[at] - motion.at_cut).max() < 0.02
    assert np.abs(motion.part[:, 1]).max() == 0.0  # the part does not give along the spindle
    assert np.abs(motion.part[0]).max() < np.abs(motion.part[at]).max()
    assert np.all(np.diff(motion.tool_x) > 0)
    assert "of the opening between them" in together_words(answer.result.setup, motion)


def test_a_post_moves_with_its_tool() -> None:
    """Springs of the post carry most of the motion: the holder's back moves half as far as the edge."""
    answer, motion = moving(*POST)
    assert motion.part.shape == (0, 3)
    assert motion.tool[-1] == pytest.approx(motion.edge, abs=0.1)
    share = np.linalg.norm(motion.tool[0]) / np.linalg.norm(motion.tool[-1])
    assert 0.2 < share < 0.8
    assert "the holder moves" in together_words(answer.result.setup, motion)


def test_a_tool_alone_has_nobody_beside_it() -> None:
    """Neither part nor post; and a bore is not drawn."""
    for name in ("turning_tool_12mm", "boring_bar_16mm"):
        with pytest.raises(InputError, match="together"):
            check_together(read_setup(Path(EXAMPLES) / f"{name}.toml").setup)
