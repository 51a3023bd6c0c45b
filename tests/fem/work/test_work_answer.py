"""The answer on a part against the check values of section B and closed forms."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from answers import EXAMPLES
from values import assert_close, check_value

from stickout.cli.__main__ import main
from stickout.cli.text.work_answer import work_text
from stickout.fem import read_setup
from stickout.fem.beam.thin_wall import free_ring_notes
from stickout.fem.setup.checks import setup_warnings
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.work_parts import Steady, Work, WorkStep
from stickout.fem.work.answer import (
    BETWEEN_SUPPORTS,
    OUT_OF_CHUCK,
    jaw_squeeze,
    slenderness,
    work_answer,
)

SHAFT = read_setup(Path(EXAMPLES) / "slender_shaft.toml").setup
SPRINGS = {"chuck_n_per_um": 60.0, "chuck_tilt_nm_per_rad": 3e4}


def held(work: Work) -> Setup:
    """Return the example's set-up with another part."""
    return replace(SHAFT, work=work)


def test_stiffness_and_note_of_a_chucked_bar() -> None:
    """B.support: 20 x 200 in a chuck, stiffness near its free end and the first note."""
    answer = work_answer(held(Work(20, 200, "chuck", 190, **SPRINGS)))
    assert_close("B.support_d20x200_chuck.f1", answer.frequency_hz[0])
    # The record looks from 20 to 190 mm; 190 mm is the station before the last but one here.
    at = int(np.argmin(abs(answer.stations - 0.190)))
    assert_close("B.support_d20x200_chuck", 1e-6 * answer.stiffness[1, at])
    assert answer.stations[answer.worst] == pytest.approx(0.2)
    # Springs that were measured have no band.
    assert answer.stiffness[0] == pytest.approx(answer.stiffness[2])


def test_a_soft_centre_is_the_worst_place_and_a_hard_one_is_not() -> None:
    """Page B.4: 20 x 150 in chuck and centre gives most at a centre of 15 N/um, near the middle at 40."""
    soft, hard = (
        work_answer(held(Work(20, 150, "chuck and centre", 90, centre_n_per_um=k, **SPRINGS)))
        for k in (15.0, 40.0)
    )
    assert soft.stations[soft.worst] > 0.145
    # Over the centre the chucked bar alone and the centre's spring are side by side.
    alone = work_answer(held(Work(20, 150, "chuck", 90, **SPRINGS))).stiffness[1, -1]
    assert soft.stiffness[1, -1] == pytest.approx(15e6 + alone, rel=1e-6)
    assert 0.07 < hard.stations[hard.worst] < 0.09
    assert hard.stiffness[1, hard.worst] == pytest.approx(23.2e6, rel=0.01)


def test_forms_are_named() -> None:
    """Page B.4: a chucked bar comes out as a bell, between centres as a barrel to the soft side."""
    assert work_answer(held(Work(20, 150, "chuck", 90))).form_name == "bell"
    assert "barrel" in work_answer(held(Work(8, 250, "between centres", 90))).form_name


def test_what_supports_buy_is_recomputed() -> None:
    """B.support, page B.4: near the cut a steady buys much, half-way nothing beyond it; a centre most."""
    answer = work_answer(held(Work(20, 200, "chuck", 170, steady_n_per_um=None, **SPRINGS)))
    bought = {one.what: one for one in answer.bought}
    assert bought["as it is"].least == pytest.approx(answer.stiffness[1].min())
    assert bought["with a steady half-way"].least < bought["with a steady beside the cut"].least
    with_one = work_answer(held(Work(20, 200, "chuck", 170, steadies=(Steady(180),), **SPRINGS)))
    without = {one.what: one for one in with_one.bought}["without steady 1"]
    assert without.least == pytest.approx(bought["as it is"].least, rel=1e-6)


def test_rings_of_thin_tubes() -> None:
    """Page B.6: 60 mm with a wall of 2: 1516, 4289, 8224 Hz; coefficients of three jaws B.ring3."""
    tube = Work(60, 80, "chuck", 80, bore_mm=56)
    notes = free_ring_notes(tube, youngs_modulus=210e9, density=7850)
    assert notes == pytest.approx([1516, 4289, 8224], rel=1e-3)
    solid = free_ring_notes(Work(60, 80, "chuck", 80), youngs_modulus=210e9, density=7850)
    assert not np.isfinite(solid).any()
    # Page B.6: 1 kN per jaw on a ring of 60 x 2, 20 wide: 139 um in, 124 um out between.
    told = work_text(work_answer(held(tube)))
    assert "Three jaws of 1000 N" in told
    assert "140 µm in under each and 120 µm out" in told
    inward, outward = jaw_squeeze(1.0, radius=1.0, bending=1.0)
    assert inward == pytest.approx(check_value("B.ring3.load").value, rel=1e-6)
    assert outward == pytest.approx(check_value("B.ring3.between").value, rel=1e-6)


def test_everything_of_a_part_between_centres() -> None:
    """``--more``: the push of the centre takes 7.9 % off 6 x 200 (B.axial); springs listed."""
    told = work_text(work_answer(held(Work(6, 200, "between centres", 90))), more=True)
    assert "A tailstock that pushes with 500 N lowers the first note by 8 %" in told
    assert "push less" in told
    assert "tailstock quill" in told
    short = work_text(work_answer(held(Work(6, 200, "between centres", 90))))
    assert "tailstock quill" not in short


def test_stepped_parts_are_solved_as_solids() -> None:
    """The solid of a step is within 2 % of the softened beam (page B.2); a plugged tube is left to beams."""
    stepped = work_answer(held(Work(25, 150, "chuck", 148, steps=(WorkStep(60, 16),), **SPRINGS)))
    assert stepped.solid is not None
    assert stepped.solid.stiffness == pytest.approx(stepped.stiffness[1, stepped.worst], rel=0.02)
    assert stepped.solid.note_hz == pytest.approx(stepped.frequency_hz[0], rel=0.02)
    assert "As a solid, steps and all" in work_text(stepped)
    assert 0 < stepped.solid.note_error < 0.01
    assert 0 < stepped.solid.stiffness_error < 0.02
    plugged = Work(25, 150, "chuck and centre", 90, bore_mm=15, steps=(WorkStep(120, bore_mm=0),))
    assert work_answer(held(plugged)).solid is None


def test_a_fast_rim_is_cautioned() -> None:
    """160 mm at 3500 rpm is 29 m/s at the rim, pi d n: said before the cut; 25 m/s is taken as safe."""
    assert SHAFT.cut is not None
    fast = replace(SHAFT, work=Work(160, 60, "chuck", 50), cut=replace(SHAFT.cut, speeds_rpm=(3500.0,)))
    assert any("29 m/s at 3500 rpm" in one for one in setup_warnings(fast))
    slow = replace(fast, cut=replace(SHAFT.cut, speeds_rpm=(300.0,)))
    assert not any("rim" in one for one in setup_warnings(slow))


def test_the_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Answer on one screen, the contract's JSON, a picture; without work a message and exit code 2."""
    path, picture, record = Path(EXAMPLES) / "slender_shaft.toml", tmp_path / "w.svg", tmp_path / "w.json"
    assert main(["work", str(path), "--json", str(record), "--plot", str(picture)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert len(lines) <= 25
    assert max(len(line) for line in lines) <= 100
    assert "bell" in "\n".join(lines)
    data = json.loads(record.read_text(encoding="utf-8"))
    least = min(data["stations"], key=lambda one: one["stiffness_n_per_m"])
    assert data["worst_at_m"] == least["at_m"]
    assert data["modes"][0]["kind"] == "bending"
    assert picture.read_text(encoding="utf-8").startswith("<svg")
    assert main(["work", str(Path(EXAMPLES) / "boring_bar_16mm.toml")]) == 2
    assert "work" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("changes", "ratio", "rule"),
    [
        ({}, 7.5, OUT_OF_CHUCK),
        ({"held": "between centres"}, 7.5, BETWEEN_SUPPORTS),
        ({"held": "chuck and centre", "steadies": (Steady(60),)}, 5.0, BETWEEN_SUPPORTS),
        ({"steadies": (Steady(75),)}, 75 / 12, BETWEEN_SUPPORTS),
        ({"steadies": (Steady(30),)}, 5.0, OUT_OF_CHUCK),
        ({"steps": (WorkStep(45, 6),)}, 10.0, OUT_OF_CHUCK),
    ],
)
def test_rules_of_length(changes: dict[str, Any], ratio: float, rule: tuple[float, float]) -> None:
    """A shaft of 12 by 90 in its mean diameters, supports counted, beside what shops go by."""
    work = replace(Work(12, 90, "chuck", 85), **changes)
    assert slenderness(work) == (pytest.approx(ratio), rule)
    if not changes:
        assert "7.5 diameters out of its chuck: beyond the 3 to 4" in work_text(work_answer(held(work)))
