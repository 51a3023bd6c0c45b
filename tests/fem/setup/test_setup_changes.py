"""Changes to a set-up for one run, and many mistakes in one file."""

from __future__ import annotations

from typing import Any

import pytest
import setups

from stickout.fem.errors import InputError
from stickout.fem.setup.file import SetupError, parse_setup, parse_tables, setup_from_tables
from stickout.fem.setup.material_table import MATERIALS


def faults_of(text: str, **options: Any) -> dict[str, InputError]:
    """Return every mistake of a set-up by its key; the set-up must have one."""
    with pytest.raises(SetupError) as caught:
        parse_setup(text, **options)
    keys = [one.key for one in caught.value.mistakes]
    assert len(keys) == len(set(keys)), "one mistake, one line"
    return {one.key: one for one in caught.value.mistakes}


def test_changes_act_as_if_they_stood_in_the_file() -> None:
    """--set: numbers, bare text, quoted text, lists, new sections, steps counted from one."""
    text = setups.ROUND.replace("[grip]", "[[bar.steps]]\nstart = 40\ndiameter = 12\n[grip]")
    changes = (
        "bar.overhang=100",
        "bar.diameter = 3/4 in",
        "bar.material=brass",
        'title="With = in it"',
        "bar.steps.1.start=50",
        "edge.mass_g=5",
        'materials."my tin".loss_factor=0.01',
        'materials."my tin".youngs_modulus_gpa=50',
        'materials."my tin".poisson_ratio=0.36',
        'materials."my tin".density_kg_m3=7300',
        "cut.force_direction=[0, 0, -1]",
    )
    setup = parse_setup(text, changes=changes).setup
    assert (setup.bar.overhang_mm, setup.bar.diameter_mm) == (
        100,
        pytest.approx(19.05, rel=1e-14),
    )  # one product
    assert setup.bar_material is MATERIALS["brass"]
    assert setup.bar.steps[0].start_mm == 50
    assert (setup.title, setup.edge.mass_g) == ("With = in it", 5)
    assert setup.cut is not None
    assert setup.cut.force_direction == (0, 0, -1)


def test_leaving_out_and_changing_leave_the_tables_as_they_were() -> None:
    """The command compare reads one file and changes it several times."""
    tables = parse_tables(setups.ROUND + setups.WRAP)
    changed = setup_from_tables(tables, leave_out=["wrap"], changes=["bar.overhang=100"]).setup
    assert changed.wrap is None
    assert changed.bar.overhang_mm == 100
    unchanged = setup_from_tables(tables).setup
    assert unchanged.wrap is not None
    assert unchanged.bar.overhang_mm == 80


def test_every_mistake_is_reported_at_once() -> None:
    """Fifteen slips in one file: one line for each, in file order, none of them twice."""
    text = """
units = "mm"
[bar]
section = "tube"
diameter = "16,5 mm"
bore = -3
overhang = true
gripped = 60
material = "stel"
rotation_deg = nan
[[bar.steps]]
start = 90
diametre = 12
[grip]
style = "bed"
screws = 2.0
bed_loss_factor = 3
[wrap]
material = "lead"
start = -50
length = 30
bond = "glued"
[cut]
operation = "borring"
feed = -0.05
speeds_rpm = []
[solve]
modes = 60
"""
    expected = [
        *(
            "bar.diameter",
            "bar.overhang",
            "bar.rotation_deg",
            "bar.steps.1.diametre",
            "bar.material",
            "bar.bore",
        ),
        *("grip.screws", "grip.bed_loss_factor", "wrap.thickness", "wrap.bond", "wrap.start"),
        *("cut.operation", "cut.feed", "cut.speeds_rpm", "solve.modes"),
    ]
    faults = faults_of(text)
    assert sorted(faults) == sorted(expected)
    sections = [key.partition(".")[0] for key in faults]
    assert sections == sorted(sections, key=["bar", "grip", "wrap", "cut", "solve"].index)
    assert all(fault.mend for fault in faults.values())


def test_a_mistake_shows_the_value_as_it_was_written() -> None:
    """An inch file is answered in inches, not in the millimetres inside."""
    text = setups.ROUND.replace("diameter = 16", 'diameter = "1/2 in"\nbore = "5/8 in"').replace(
        "round", "tube"
    )
    inch = text.replace('units = "mm"', 'units = "inch"').replace("= 80", "= 3").replace("= 60", "= 2")
    fault = faults_of(inch)["bar.bore"]
    assert fault.given == "5/8 in"
    assert "0.5 in" in fault.allowed
