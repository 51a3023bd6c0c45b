"""Who is soft: shares of the spring, and the cut with one side made rigid, against the sides alone."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.cli.text.leverage_words import leverage_words, singer_line
from stickout.fem import read_setup
from stickout.fem.cut.along import cut_along, turned_down
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.leverage import HOLDING, POST, TOOL, WORK, Leverage
from stickout.fem.setup.work_parts import Post, Work
from stickout.fem.study.study import run_study

SHAFT = read_setup(Path(EXAMPLES) / "slender_shaft.toml").setup


def judged(work: Work | None, post: Post | None = None) -> tuple[CutAnswer, Leverage]:
    """Return the answer on the example's cut with another part and post."""
    answer = cut_answer(run_study(replace(SHAFT, work=work, post=post)))
    assert answer.leverage is not None
    return answer, answer.leverage


def rigid(found: Leverage) -> dict[str, float]:
    """Return margins by the side made rigid."""
    return {one.side: one.margin for one in found.rigid}


@pytest.fixture(scope="module")
def shaft() -> tuple[CutAnswer, Leverage]:
    """Return the slender shaft of the examples."""
    return judged(SHAFT.work)


def test_a_slender_shaft_sings_itself(shaft: tuple[CutAnswer, Leverage]) -> None:
    """With the shaft rigid nothing is left to sing; with the tool rigid nothing changes."""
    answer, found = shaft
    margins = rigid(found)
    assert found.margin == pytest.approx(answer.margin)
    assert margins[TOOL] == pytest.approx(answer.margin, rel=0.02)
    assert margins[WORK] > 10 * answer.margin
    assert answer.margin < margins[HOLDING] < margins[WORK]
    assert (found.singer, found.softest) == (WORK, WORK)
    assert singer_line(found) == "It is the work that sings, not the tool."  # no margin above the rule
    assert "with part and holding rigid" in leverage_words(found)
    # With the shaft rigid the cut is that of the same tool without any work.
    bare = cut_answer(run_study(replace(SHAFT, work=None)))
    assert margins[WORK] == pytest.approx(bare.margin, rel=1e-9)
    assert bare.leverage is None


def test_static_shares_are_of_springs_in_series(shaft: tuple[CutAnswer, Leverage]) -> None:
    """Shares add up to one, and the tool's is its spring along the force over that of both."""
    answer, found = shaft
    e = answer.case.on_tool / np.linalg.norm(answer.case.on_tool)
    tool = float(e @ answer.result.compliance @ e)
    assert sum(found.static.values()) == pytest.approx(1.0)
    assert found.static[TOOL] == pytest.approx(tool / float(e @ answer.both.static @ e), rel=1e-6)


def test_short_stout_work_blames_its_holding() -> None:
    """40 mm of work 40 mm out of a small chuck: not the part, not the tool, the holding gives (page B.1)."""
    _, found = judged(Work(40, 40, "chuck", 38))
    assert (found.softest, found.singer) == (HOLDING, HOLDING)
    assert found.static[WORK] < 0.15
    assert "what holds the work" in singer_line(found)


def test_a_post_that_gives_is_told(shaft: tuple[CutAnswer, Leverage]) -> None:
    """A soft post under a short tool on stiff work takes the blame; its rigidity gives the tool back."""
    firm = Work(40, 30, "chuck", 20, chuck_n_per_um=1e4, chuck_tilt_nm_per_rad=1e8)
    answer, found = judged(firm, Post((5.0,) * 3, 1e4, 3.0))
    assert found.singer == POST
    assert rigid(found)[POST] > 3 * answer.margin
    stiff, _ = judged(firm)
    assert rigid(found)[POST] == pytest.approx(stiff.margin, rel=0.05)
    assert "post and slides that sing" in singer_line(found)
    assert "post and slides" in leverage_words(found)


def test_a_steady_is_a_lever(shaft: tuple[CutAnswer, Leverage]) -> None:
    """Beside the cut it raises the margin as the set-up with one does."""
    answer, _ = shaft
    lever = next(one for one in answer.levers if one.key == "steady")
    assert lever.factor > 2
    assert isinstance(lever.change, float)
    assert abs(lever.change - 85) == 10


def test_the_cut_along_the_part(shaft: tuple[CutAnswer, Leverage]) -> None:
    """Where the set-up cuts it is the margin of cut; it falls toward the free end, and as the part thins."""
    answer, _ = shaft
    stations = cut_along(answer.result)
    here = next(one for one in stations if one.at_mm == 85)
    assert here.margin == pytest.approx(answer.margin, rel=1e-9)
    assert [one.margin for one in stations] == sorted((one.margin for one in stations), reverse=True)
    assert all(one.after < one.margin for one in stations[1:])
    assert {one.sings for one in stations} == {"part"}
    assert SHAFT.work is not None
    assert turned_down(SHAFT.work, 0.25).diameter_mm == 11.5
