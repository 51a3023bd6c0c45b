"""The section [measured]: it stands for the assumed bands in every command, and is written back."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from stickout.cli.__main__ import main
from stickout.fem.compare.inputs import SEAT, setup_inputs
from stickout.fem.cut.answer import cut_answer
from stickout.fem.cut.draws import FORCE, THRUST, WAVE, drawn_factors, with_push
from stickout.fem.cut.spread import LOSS
from stickout.fem.force.case import cut_case
from stickout.fem.records.setup import setup_record
from stickout.fem.setup.bands import FactorBand
from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.parts import Setup
from stickout.fem.setup.post import post_at_end, post_numbers
from stickout.fem.setup.writing import setup_toml
from stickout.fem.study.study import run_study

BAR = """units = "mm"
[bar]
section = "square"
width = 16
overhang = 60
gripped = 60
material = "steel"
[grip]
style = "{style}"
[cut]
operation = "boring"
work_material = "medium carbon steel"
depth = 0.2
feed = 0.05
nose_radius = 0.4
edge_angle_deg = 95
work_diameter = 30
speeds_rpm = [400]
"""
# Losses and their bands know no mesh.
ROUGHLY = "[solve]\nmodes = 2\naccuracy = 0.03\n"
LOSS_TOLD = "[measured]\nloss_factor = [0.029, 0.030, 0.031]\n"
STIFFNESS = "n_per_um_mm2 = [1.9, 2.0, 2.1]\n"
WHEN = 'date = "2026-11-27"\norigin = "fit of log.toml"\n'


def setup_of(style: str, measured: str = "") -> Setup:
    """Return the bar in a grip, with what was measured of it."""
    return parse_setup(BAR.format(style=style) + measured).setup


@pytest.mark.slow
@pytest.mark.parametrize("style", ["rigid", "held"])
def test_a_measured_damping_rules_a_cut_in_any_grip(style: str) -> None:
    """Without springs too: the mode loses what was tapped, in its narrow band, and no seat is added."""
    setup = setup_of(style, ROUGHLY + LOSS_TOLD + WHEN)
    answer, assumed = cut_answer(run_study(setup)), cut_answer(run_study(setup_of(style, ROUGHLY)))
    assert answer.loss.loss.likely[answer.result.aligned] == pytest.approx(0.030, rel=1e-3)
    band, usual = answer.spread.bands[LOSS], assumed.spread.bands[LOSS]
    assert band.high / band.low == pytest.approx(31 / 29, rel=1e-3)
    assert usual.high / usual.low > 3
    one, other = answer.verdict.speeds[0].margin, assumed.verdict.speeds[0].margin
    assert one.high / one.low < other.high / other.low
    inputs = setup_inputs(setup, regions=["bar"], ties=())
    assert not any(SEAT in one.loss for one in inputs)
    assert any(SEAT in one.loss for one in setup_inputs(setup_of(style), regions=["bar"], ties=()))


@pytest.mark.parametrize(
    ("style", "told"), [("bed", LOSS_TOLD + STIFFNESS + WHEN), ("rigid", LOSS_TOLD + WHEN)]
)
def test_the_writer_keeps_what_was_measured(style: str, told: str) -> None:
    """Written and read back it is the same set-up."""
    setup = setup_of(style, told)
    again = parse_setup(setup_toml(setup, title=setup.title)).setup
    assert again.measured == setup.measured
    assert (again.grip, again.materials) == (setup.grip, setup.materials)
    assert setup_record(setup)["measured"]["loss_factor"]["high"] == pytest.approx(0.031)


def test_another_grip_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """What was measured on a bed says nothing of a rigid grip: one message, exit code 2."""
    path = tmp_path / "bar.toml"
    path.write_text(BAR.format(style="rigid") + LOSS_TOLD + 'grip = "bed"\n')
    assert main(["modes", str(path)]) == 2
    told = capsys.readouterr().err
    assert "measured.grip" in told
    assert "[measured]" in told


def test_answers_say_when_and_how(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In place of the assumed band: modes and cut name date and origin."""
    path = tmp_path / "bar.toml"
    path.write_text(BAR.format(style="bed") + ROUGHLY + LOSS_TOLD + STIFFNESS + WHEN)
    for words in (("modes",), ("cut", "--more")):
        assert main([words[0], str(path), *words[1:]]) == 0
        told = " ".join(capsys.readouterr().out.split())
        assert "measured on 2026-11-27 (fit of log.toml)" in told, words
        assert "seat is the guess" not in told


PUSH = '[measured]\npush = [1.08, 1.2, 1.33]\nwork_material = "{metal}"\n' + WHEN


def test_a_measured_push_rules_every_cut() -> None:
    """Force off the work goes with it, in its band; what one part of it is more the other is less."""
    metal = "medium carbon steel"
    with_it, without = (cut_case(setup_of("bed", told)) for told in (PUSH.format(metal=metal), ""))
    assert with_it.force.p == pytest.approx(1.2 * without.force.p, rel=1e-9)
    assert with_it.push_band == pytest.approx((1.08 / 1.2, 1.33 / 1.2))
    bands = {
        FORCE: FactorBand(FORCE, with_it.material.low, with_it.material.high),
        THRUST: FactorBand(THRUST, 0.75, 1.25),
        LOSS: FactorBand(LOSS, 1.0, 1.0),
        WAVE: FactorBand(WAVE, 0.3, 4.0),
    }
    drawn = drawn_factors(bands)
    left = with_push(drawn, with_it)
    # A sum that is read has the width it was read to; its parts then pull against each other.
    product = np.log(left[FORCE] * left[THRUST])
    assert float(product.std()) == pytest.approx(np.log(1.33 / 1.08) / 3.14, rel=0.03)
    assert float(np.corrcoef(np.log(left[FORCE]), np.log(left[THRUST]))[0, 1]) < -0.5
    assert float(np.log(left[FORCE]).std()) < 0.85 * float(np.log(drawn[FORCE]).std())
    assert with_push(drawn, without) == drawn


def test_a_push_of_another_metal_is_refused(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One message, exit code 2; springs of a post that is not there likewise."""
    for told, words in (
        (PUSH.format(metal="brass"), "measured.work_material"),
        ("[measured]\npost_up_n_per_um = [10, 12, 14]\n", "Write [post]"),
    ):
        path = tmp_path / "bar.toml"
        path.write_text(BAR.format(style="bed") + told)
        assert main(["modes", str(path)]) == 2
        [line] = capsys.readouterr().err.splitlines()
        assert words in line


def test_a_pulled_post_stands_before_numbers_given() -> None:
    """Measured directions stand, with their intervals; the other stays, told as assumed."""
    told = "[post]\nmass_kg = 2\n[measured]\npost_up_n_per_um = [10, 12, 14]\n"
    told += "post_tilt_nm_per_rad = [1e4, 2e4, 3e4]\n"
    setup = setup_of("bed", told)
    assert setup.post is not None
    numbers = post_numbers(setup.post)
    assert (numbers.spring[2].low, numbers.spring[2].high) == pytest.approx((10e6, 14e6))
    assert numbers.ruling == numbers.spring[2]
    assert [one[0] for one in numbers.assumed] == [
        "post spring along the bar",
        "post spring sideways",
        "post loss factor",
    ]
    soft = post_at_end(setup, "low").post
    assert soft is not None
    assert post_numbers(soft).spring[2].likely == pytest.approx(10e6)
    again = parse_setup(setup_toml(setup, title="")).setup
    assert (again.post, again.measured) == (setup.post, setup.measured)
