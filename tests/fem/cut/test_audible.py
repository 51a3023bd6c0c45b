"""What sings below a whisper rules neither words nor chances: the edge on top of a thin blade."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from stickout.fem.chatter.modal import ModalModel
from stickout.fem.cut.audible import WHISPER, audible
from stickout.fem.cut.judged import judged_result
from stickout.fem.cut.speed_verdict import SpeedVerdict
from stickout.fem.setup.file import parse_setup
from stickout.fem.study.study import run_study

BLADE = """
units = "mm"
[bar]
section = "rectangle"
width = 2
height = 12
overhang = 20
gripped = 45
material = "high speed steel"
[edge]
offset_z = {above}
[grip]
style = "bed"
[cut]
operation = "parting"
work_material = "6082"
depth = 2
feed = 0.04
nose_radius = 0.1
edge_angle_deg = 90
clearance_deg = {clearance}
work_diameter = 20
speeds_rpm = [600]
[solve]
accuracy = 0.01
"""


@cache
def said(above: float, clearance: float = 7.0) -> SpeedVerdict:
    """Return the verdict on a blade whose edge lies that far above its middle."""
    result = run_study(parse_setup(BLADE.format(above=above, clearance=clearance)).setup)
    return judged_result(result).verdict.speeds[0]


def model_of(*hertz: float) -> ModalModel:
    """Return modes at given notes."""
    n = len(hertz)
    return ModalModel(
        omega=2 * np.pi * np.array(hertz),
        phi=np.ones((n, 3)),
        eta=np.full(n, 0.04),
        static=np.eye(3) * 1e-6,
        viscous=True,
    )


def test_a_swing_is_heard_where_its_ceiling_is_above_a_whisper() -> None:
    """``X = wave tan(clearance) / 2 pi`` (computed by hand): at 7 degrees 3 um is a wave of 0.1535 mm."""
    speed, clearance = 1.0, np.radians(7.0)
    limit = speed / (2 * np.pi * WHISPER / np.tan(clearance))
    assert limit == pytest.approx(6514, rel=1e-3)
    heard = audible(model_of(1000, 0.99 * limit, 1.01 * limit), speed=speed, clearance=clearance)
    assert heard.tolist() == [True, True, False]
    # However slow, something is left to be judged: the first swing, and what lies close to it.
    slow = audible(model_of(1000, 1400, 1600), speed=0.01, clearance=clearance)
    assert slow.tolist() == [True, True, False]


def test_a_kilohertz_whisper_of_the_raised_edge_does_not_rule() -> None:
    """The edge on top twists the blade at 11 kHz, 1 um high: chance and pitch are those of its middle."""
    middle, top = said(0.0), said(6.0)
    assert top.margin.likely < 0.5 < 1.0 < middle.margin.likely
    assert top.p_quiet == pytest.approx(middle.p_quiet, abs=0.03)
    assert top.chatter_hz == pytest.approx(middle.chatter_hz, rel=0.02)
    assert top.whisper_hz is not None
    assert top.whisper_hz > 10e3
    assert middle.whisper_hz is None


def test_with_clearance_enough_the_same_swing_is_heard() -> None:
    """Its ceiling grows with the clearance: at 30 degrees it is 5 um, and it rules."""
    top = said(6.0, clearance=30.0)
    assert top.whisper_hz is None
    assert top.chatter_hz > 10e3
    assert top.p_quiet < said(6.0).p_quiet - 0.2
