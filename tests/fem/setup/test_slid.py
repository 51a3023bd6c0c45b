"""A bar slid in or out of its holder: what moves with its end, and what is cut off, by arithmetic."""

from __future__ import annotations

from dataclasses import replace

from stickout.fem import Bar, BedGrip, RigidGrip, Setup
from stickout.fem.setup.changes import slid, with_overhang
from stickout.meshes.parts import Step, Wrap

STEPS = (Step(20, diameter_mm=14), Step(50, diameter_mm=10, bore_mm=4))
HELD = Setup(bar=Bar(80, diameter_mm=16, gripped_mm=40, steps=STEPS), grip=BedGrip())


def test_shoulders_move_with_the_end() -> None:
    """10 mm less overhang puts every shoulder 10 mm nearer to the holder; 10 mm more, farther."""
    assert [one.start_mm for one in slid(HELD, 70).bar.steps] == [10, 40]
    assert [one.start_mm for one in slid(HELD, 90).bar.steps] == [30, 60]
    assert slid(slid(HELD, 70), 80) == HELD


def test_what_lies_inside_the_holder_is_cut_off() -> None:
    """Both shoulders pass the face: the bar comes out of its 16 mm seat as thin as at its end."""
    short = slid(HELD, 25).bar
    assert (short.diameter_mm, short.steps) == (16, (Step(0, diameter_mm=10, bore_mm=4),))
    bare = slid(replace(HELD, grip=RigidGrip()), 25).bar
    assert (bare.diameter_mm, bare.bore_mm, bare.steps) == (10, 4, ())
    assert with_overhang(HELD, 55) is None  # as advice it is none: the shoulder cannot go in


def test_a_shoulder_at_the_face_stays_there() -> None:
    """A shank turned down to a seat is as long out as the bar, however far that is."""
    shank = replace(HELD, bar=replace(HELD.bar, steps=(Step(0, diameter_mm=12),)))
    assert slid(shank, 100).bar.steps == slid(shank, 30).bar.steps == shank.bar.steps


def test_a_wrap_is_cut_at_the_holder_face() -> None:
    """30 mm of wrap from 5 mm on, slid in by 15: 20 mm are left, from the face on."""
    wound = replace(HELD, bar=replace(HELD.bar, steps=()), wrap=Wrap(1.0, 5.0, 30.0))
    wrap = slid(wound, 65).wrap
    assert wrap is not None
    assert (wrap.start_mm, wrap.length_mm) == (0.0, 20.0)
