"""The order of the changes to a cut, what they cost, and the speed that they are told at."""

from __future__ import annotations

from dataclasses import replace

import pytest
from answers import EXAMPLES
from cutting_cases import BORE, FLATTED, ROUND, answer, result

from stickout.fem.cut.answer import cut_answer
from stickout.fem.cut.turned import can_turn
from stickout.fem.setup.file import read_setup
from stickout.fem.setup.parts import Absorber
from stickout.meshes.parts import Edge


def test_changes_come_in_a_turners_order_and_tell_their_price() -> None:
    """Common practice: what needs no spanner first; a smaller nose costs roughness, less depth passes."""
    for name in ("round", "flatted", "slender work"):
        keys = [one.key for one in answer(name).levers]
        order = (
            "support",
            "steady",
            "speed",
            "cutting_speed",
            "overhang",
            "nose_radius",
            "depth",
            "feed",
            "rotation",
            "pair",
            "material",
        )
        assert keys == sorted(keys, key=order.index), name
    prices = {one.key: (one.price, one.cost) for one in answer("round").levers}
    assert prices["nose_radius"] == ("roughness", 2.0)  # f^2 / 8 r
    assert prices["feed"] == ("roughness", pytest.approx(1.5**2))
    assert prices["depth"] == ("passes", 2.0)
    fine = replace(BORE, depth_mm=0.02, nose_radius_mm=0.8, edge_radius_um=50.0)
    light = cut_answer(replace(result("round"), setup=replace(ROUND, cut=fine)))
    assert next(one for one in light.levers if one.key == "depth").price == "rubs"


def test_changes_are_told_at_the_speed_nearest_an_even_chance() -> None:
    """answers.md, principle 11; of speeds alike the slowest."""
    for name in ("round", "bed", "flatted"):
        verdict = answer(name).verdict
        away = [round(abs(one.p_quiet - 0.5), 2) for one in verdict.speeds]
        assert abs(verdict.stated.p_quiet - 0.5) == pytest.approx(min(away), abs=0.005)
    hopeless = replace(BORE, speeds_rpm=(9000.0, 6000.0), depth_mm=3.0)
    found = cut_answer(replace(result("flatted"), setup=replace(FLATTED, cut=hopeless)))
    assert max(one.p_quiet for one in found.verdict.speeds) < 0.05
    assert found.verdict.stated.speed_rpm == 6000.0


def test_only_what_can_be_turned_alone_is_told_to_turn() -> None:
    """Flats in a grip alike all round turn; a square under screws, an offset edge on a round bar do not."""
    one_way = Absorber(mass_g=20.0, frequency_hz=1500.0, damping_ratio=0.2, position_mm=70.0, direction="up")
    assert can_turn(FLATTED)
    assert can_turn(replace(ROUND, absorber=one_way))
    assert not can_turn(replace(ROUND, edge=Edge(offset_y_mm=7.0)))
    assert not can_turn(replace(ROUND, absorber=replace(one_way, direction="both")))
    square = read_setup(EXAMPLES / "slot_tool_bare.toml").setup
    assert not can_turn(square)
    assert "rotation" not in [one.key for one in answer("square").levers]
