"""A part whose metal is not named is of what the cut says: read from the file of a set-up."""

from __future__ import annotations

import pytest

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.setup_error import SetupError
from stickout.fem.setup.work_materials import WORK_MATERIALS
from stickout.fem.setup.work_metals import metal_cut

SETUP = """
units = "mm"
[bar]
width = 12
overhang = 24
material = "HSS"
[grip]
style = "clamp"
[cut]
operation = "turning"
work_material = "{cut}"
depth = 0.25
feed = 0.1
work_diameter = 20
[work]
diameter = 20
length = 90
held = "chuck"
cut_at = 85
"""


@pytest.mark.parametrize(
    ("called", "metal"),
    [("EN1A", "steel"), ("316", "stainless steel"), ("brass", "brass"), ("6082", "aluminium"),
     ("cast iron", "grey cast iron"), ("POM", "acetal"), ("hardened steel", "hardened alloy steel")],
)  # fmt: skip
def test_the_metal_is_that_of_the_cut(called: str, metal: str) -> None:
    """It is told in a note, as everything that is taken for the user is."""
    read = parse_setup(SETUP.format(cut=called))
    assert read.setup.materials["work"] == MATERIALS[metal]
    assert f"work.material is not given and taken as {metal}, for {called!r} is cut." in read.notes


def test_what_is_given_counts() -> None:
    """A part named otherwise than the cut keeps its metal, and nothing is said."""
    text = SETUP.format(cut="mild steel") + 'material = "brass"\n'
    read = parse_setup(text)
    assert read.setup.materials["work"] == MATERIALS["brass"]
    assert not [one for one in read.notes if "work.material" in one]


@pytest.mark.parametrize("called", ["titanium grade 5", "ductile iron", "nickel alloy"])
def test_what_no_entry_is_like_must_be_described(called: str) -> None:
    """Titanium is half as stiff as steel and ductile iron half as stiff again as grey (recalled)."""
    with pytest.raises(SetupError, match=r"work\.material is missing"):
        parse_setup(SETUP.format(cut=called))


def test_every_work_material_has_a_metal_or_none() -> None:
    """No name in the table of metals is misspelt, and most of what is cut is found in it."""
    found = [metal_cut(one.name) for one in WORK_MATERIALS]
    assert {one for one in found if one} <= set(MATERIALS)
    assert len([one for one in found if one]) > 0.6 * len(found)
