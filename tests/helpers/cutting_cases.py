"""Set-ups with a cut, solved once, that the tests of the cut share."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
from chatter_references import boundary

from stickout.fem.chatter.receptance import ModalModel
from stickout.fem.chatter.stability import absolute_limit
from stickout.fem.cut.answer import CutAnswer, cut_answer
from stickout.fem.setup.bands import exactly
from stickout.fem.setup.grips import BedGrip, HeldGrip, RigidGrip
from stickout.fem.setup.material_table import STEEL
from stickout.fem.setup.parts import Cut, Setup, Solve
from stickout.fem.setup.work_parts import Work
from stickout.fem.study.result import Result
from stickout.fem.study.study import run_study
from stickout.meshes.parts import Bar, Edge
from stickout.meshes.tagged import FloatArray

LOSSY = replace(STEEL, loss_factor=exactly(0.04))
"""Steel with a loss factor the user measured on the clamped bar: nothing is put in its place."""
BORE = Cut(
    operation="boring",
    work_material="medium carbon steel",
    depth_mm=0.2,
    feed_mm=0.05,
    nose_radius_mm=0.4,
    edge_angle_deg=95.0,
    work_diameter_mm=24.0,
    speeds_rpm=(120.0, 500.0, 1250.0),
)
TURN = replace(BORE, operation="turning", depth_mm=0.5, feed_mm=0.1, edge_angle_deg=60.0, speeds_rpm=None)
ROUND = Setup(bar=Bar(overhang_mm=80, diameter_mm=16), grip=RigidGrip(), materials={"bar": LOSSY}, cut=BORE)
FLATTED = replace(
    ROUND,
    bar=Bar(overhang_mm=80, section="flatted", diameter_mm=16, across_flats_mm=13, rotation_deg=30),
    edge=Edge(offset_y_mm=7, mass_g=5),
    solve=Solve(modes=4),
)
BED = replace(
    ROUND, bar=Bar(overhang_mm=80, diameter_mm=16, gripped_mm=50), grip=BedGrip(), materials={"bar": STEEL}
)
SQUARE = replace(
    ROUND,
    bar=Bar(overhang_mm=30, section="square", width_mm=12, gripped_mm=45),
    grip=HeldGrip(),
    materials={"bar": STEEL},
    cut=TURN,
    solve=Solve(modes=3, accuracy=0.01),
)
SLENDER = Work(diameter_mm=12, length_mm=90, held="chuck", cut_at_mm=90)
CASES = {
    "round": ROUND,
    "flatted": FLATTED,
    "bed": BED,
    "square": SQUARE,
    "slender work": replace(
        SQUARE,
        work=SLENDER,
        materials={"bar": STEEL, "work": STEEL},
        cut=replace(TURN, work_diameter_mm=12.0),
    ),
}


@cache
def result(name: str) -> Result:
    """Return the modes of a case."""
    return run_study(CASES[name])


@cache
def answer(name: str) -> CutAnswer:
    """Return the answer on the cut of a case."""
    return cut_answer(result(name))


def worst_turn(model: ModalModel, matrix: FloatArray, number: int) -> float:
    """Return the time of one turn at which the absolute limit is reached on the given lobe [s]."""
    omega = np.array([float(absolute_limit(model, matrix).omega)])
    edge = boundary(model, matrix, w=omega)
    lowest = int(np.argmin(edge.margin[:, 0]))
    return float((edge.phase[lowest, 0] + 2.0 * np.pi * number) / omega[0])
