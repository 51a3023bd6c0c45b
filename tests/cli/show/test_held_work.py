"""The part in its holding in the scene, from the set-up's keys, and tool and part together in the viewer."""

from __future__ import annotations

import base64
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from answers import EXAMPLES

from stickout.cli.show.pages.viewer_model import viewer_model
from stickout.cli.show.scene.held_work import held_part, holding, part_frame
from stickout.cli.show.scene.props import Prop
from stickout.fem import read_setup
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.cut.operating import moves_together, operating_motion
from stickout.fem.setup.work_parts import Steady, Work, WorkStep
from stickout.fem.study.study import run_study

TOWARD = np.array([0.0, -1.0, 0.0])
NOSE = np.array([0.024, 0.0, 0.006])
SHAFT = Work(20, 200, "chuck and centre", 80, steps=(WorkStep(120, 12),), steadies=(Steady(150),))


def span(props: tuple[Prop, ...], axis: int) -> tuple[float, float]:
    """Return how far bodies reach along an axis [mm]."""
    points = np.concatenate([one.solid.points for one in props])
    return 1e3 * float(points[:, axis].min()), 1e3 * float(points[:, axis].max())


def test_the_nose_stands_on_the_part_where_it_is_cut() -> None:
    """Front tool: headstock toward +y, the axis a radius beyond the nose, the rest as in the file."""
    frame = part_frame(SHAFT, NOSE, way=1.0)
    assert 1e3 * frame.place(0.08) == pytest.approx([34.0, 0.0, 6.0])
    assert 1e3 * frame.root == pytest.approx([34.0, 80.0, 6.0])
    props = held_part(SHAFT, frame, depth=(0.5e-3, 0.0), toward=TOWARD)
    assert len(props) == 3  # up to the cut, on to the step, the thin end
    assert span(props, 1) == pytest.approx((-120.0, 80.0))
    sizes = [np.ptp(1e3 * one.solid.points[:, 0]) for one in props]
    assert sizes == pytest.approx([21.0, 20.0, 12.0], rel=1e-3)
    rear = part_frame(SHAFT, NOSE, way=-1.0)
    assert 1e3 * rear.root == pytest.approx([34.0, -80.0, 6.0])


def test_what_holds_it_stands_where_the_keys_say() -> None:
    """Chuck with three jaws behind the face, centre in the far end, a steady's fingers on the thin part."""
    frame = part_frame(SHAFT, NOSE, way=1.0)
    props = holding(SHAFT, frame, toward=TOWARD)
    stub, *jaws, body, centre = props[:6]
    fingers = props[6:]
    assert len(jaws) == len(fingers) == 3
    assert span((stub, *jaws), 1) == pytest.approx((80.0, 100.0))
    assert span((body,), 1) == pytest.approx((100.0, 112.0))
    assert span((centre,), 1)[1] == pytest.approx(-120.0)
    assert np.mean(span(tuple(fingers), 1)) == pytest.approx(-70.0)
    for one in fingers:
        reach = np.hypot(one.solid.points[:, 0] - 0.034, one.solid.points[:, 2] - 0.006)
        assert reach.min() == pytest.approx(0.006, rel=0.1)
    bare = holding(Work(20, 200, "between centres", 80), frame, toward=TOWARD)
    assert [span((one,), 1)[way] for one, way in zip(bare, (0, 1), strict=True)] == pytest.approx(
        [80.0, -120.0]
    )


def test_a_tube_is_open_and_a_part_beside_its_cut_leaves_the_tool_free() -> None:
    """The bore goes through; drawn beside the cut, neither tailstock nor what lies beyond is there."""
    tube = Work(60, 80, "chuck", 40, bore_mm=56)
    frame = part_frame(tube, NOSE, way=1.0)
    whole = held_part(tube, frame, depth=(0.0, 0.0), toward=TOWARD)
    axis = frame.place(0.0)
    for one in whole:
        reach = np.hypot(one.solid.points[:, 0] - axis[0], one.solid.points[:, 2] - axis[2])
        assert reach.min() == pytest.approx(0.028)
    short = held_part(SHAFT, part_frame(SHAFT, NOSE, way=1.0), depth=(0.0, 0.0), toward=TOWARD, shown=4e-3)
    assert span(short, 1) == pytest.approx((-4.0, 80.0))
    beside = holding(SHAFT, part_frame(SHAFT, NOSE, way=1.0), toward=TOWARD, shown=4e-3)
    assert len(beside) == 5  # the chuck alone


@pytest.fixture(scope="module")
def answer() -> CutAnswer:
    """Return a cut in which part and tool both move: a soft post, and a shaft on a centre."""
    changes = ["work.held=chuck and centre", "work.cut_at=60", "solve.accuracy=0.05", "post.mass_kg=2"]
    text = EXAMPLES / "slender_shaft.toml"
    return cut_answer(run_study(read_setup(text, changes=changes).setup))


def shorts(text: str, full: float) -> np.ndarray[Any, Any]:
    """Return packed movements [m], shape (n, 3)."""
    return np.frombuffer(base64.b64decode(text), dtype="<i2").reshape(-1, 3) * full / 32767


def test_the_viewer_holds_both_on_one_clock(answer: CutAnswer) -> None:
    """One more way, in two halves a quarter turn apart; the part moves at the cut as the loop says."""
    motion = operating_motion(answer)
    model = viewer_model(answer.result, motion=motion, energy=False)
    cosine, sine = model["modes"][-2:]
    assert [bool(one.get("hidden")) for one in model["modes"][-2:]] == [False, True]
    assert model["modes"][cosine["twin"]] is sine
    assert cosine["hertz"] == pytest.approx(answer.chatter_hz)
    drawn = cosine["magnification"] * cosine["swing"]
    work = next(one for one in model["props"] if one["kind"] == "whole" and "shape" in one)
    place = np.array(work["middle"]) + shorts(work["position"], work["half"])
    setup = answer.result.setup
    assert setup.work is not None
    # The cut stands level with the nose, across the spindle.
    at_cut = abs(place[:, 1] - model["edge"][1]) < 1e-5
    moved = [shorts(work[key], cosine["full"])[at_cut].mean(axis=0) for key in ("shape", "shape_two")]
    at = int(np.abs(motion.part_at - setup.work.cut_at_mm * 1e-3).argmin())
    told = drawn * motion.part[at]
    assert moved[0] == pytest.approx(told.real, abs=0.02 * drawn)
    assert moved[1] == pytest.approx(-told.imag, abs=0.02 * drawn)
    assert all("shape" not in one for one in model["props"] if one["kind"] != "whole")
    edge = np.array(cosine["edge"]) - 1j * np.array(sine["edge"])
    assert np.linalg.norm(edge) == pytest.approx(drawn * np.linalg.norm(motion.edge), rel=0.3)
    alone = viewer_model(answer.result, energy=False)
    assert len(alone["modes"]) == len(model["modes"]) - 2
    assert all(one["kind"] != "whole" for one in alone["props"])


def test_a_bore_on_a_post_moves_too_a_part_round_a_bar_does_not() -> None:
    """More than the bar is seen to move: a post under any cut, a part that is cut outside; no bar alone."""
    bored, turned = (
        read_setup(EXAMPLES / f"{name}.toml").setup for name in ("boring_bar_16mm", "measured_post")
    )
    assert not moves_together(bored)
    assert moves_together(replace(bored, post=turned.post))
    assert not moves_together(replace(bored, post=turned.post, work=Work(60, 60, "chuck", 30, bore_mm=20)))
    assert moves_together(replace(turned, work=SHAFT))
    assert not moves_together(replace(turned, post=None))
