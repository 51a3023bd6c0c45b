"""The table of materials against the check values, the look-up, and the user's own entries."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
import values

from stickout.fem.errors import InputError
from stickout.fem.setup.bands import Band, exactly
from stickout.fem.setup.material_table import MATERIALS, STEEL
from stickout.fem.setup.materials import OwnValues, material_named, own_material

MARKS = ("opened", "recalled, not opened", "common practice, no source")
# The table must hold every one of these: the list of the issue.
WANTED = {
    "steel", "silver steel", "hardened alloy steel", "high speed steel", "stainless steel", "grey cast iron",
    "cemented carbide", "tungsten heavy alloy", "aluminium", "brass", "bronze", "annealed copper", "lead",
    "tin-lead solder", "tin-silver solder", "acetal",
}  # fmt: skip

PROPERTIES = {
    "steel": "j.prop.steel",
    "grey cast iron": "j.prop.cast_iron_GJL-250",
    "tungsten heavy alloy": "j.prop.tungsten_heavy_alloy",
    "aluminium": "j.prop.aluminium",
    "bronze": "j.prop.bronze",
    "lead": "j.prop.lead",
    "tin-lead solder": "j.prop.60Sn40Pb",
    "acetal": "j.prop.acetal",
}
CARBIDES = ("j.prop.carbide_6Co", "j.prop.carbide_10Co")
LOSS = {
    "steel": ("j.eta.steel", "j.eta.steel.order"),
    "grey cast iron": ("j.eta.castiron.order",),
    "brass": ("j.eta.brass",),
    "lead": ("j.eta.lead.pure.flex", "j.eta.lead.pure.long", "j.eta.lead.antimony"),
    "tin-lead solder": ("j.eta.SnPb",),
    "tin-silver solder": ("j.eta.SnAg",),
}

CheckValue = Callable[[str], values.CheckValue]


def test_every_material_of_the_issue_is_there() -> None:
    """The issue's list."""
    assert set(MATERIALS) == WANTED


@pytest.mark.parametrize(("name", "record_id"), PROPERTIES.items())
def test_likely_values_agree_with_the_dossier(name: str, record_id: str, check_value: CheckValue) -> None:
    """Handbook values, from memory; the record allows 10 %."""
    record = check_value(record_id)
    material = MATERIALS[name]
    modulus_gpa, density, poisson = record.value
    rel = record.tolerance["rel"]
    assert material.youngs_modulus.likely == pytest.approx(modulus_gpa * 1e9, rel=rel), record.source
    assert material.density.likely == pytest.approx(density, rel=rel), record.source
    assert material.poisson_ratio.likely == pytest.approx(poisson, rel=rel), record.source


@pytest.mark.parametrize("record_id", CARBIDES)
def test_the_carbide_band_holds_both_grades(record_id: str, check_value: CheckValue) -> None:
    """6 and 10 % cobalt, handbook values from memory."""
    record = check_value(record_id)
    modulus_gpa, density, poisson = record.value
    carbide = MATERIALS["cemented carbide"]
    for band, value in zip(
        list(carbide.quantities.values())[:3], (modulus_gpa * 1e9, poisson, density), strict=True
    ):
        assert band.low <= value <= band.high, record.source


@pytest.mark.parametrize(("name", "record_id"), [(name, one) for name, ids in LOSS.items() for one in ids])
def test_loss_bands_hold_every_source(name: str, record_id: str, check_value: CheckValue) -> None:
    """Where sources disagree the band spans them: Cremer & Heckl, NPTEL (opened), solders from memory."""
    record = check_value(record_id)
    low, high = record.value
    band = MATERIALS[name].loss_factor
    assert band.low <= low, record.source
    assert band.high >= high, record.source


def test_a_steel_bar_has_the_stiffness_of_the_check_value(check_value: CheckValue) -> None:
    """3EI/L^3 of the 16 x 80 mm bar with our steel [e.mat.steel.k]."""
    record = check_value("e.mat.steel.k")
    second_moment = 3.141592653589793 * 0.016**4 / 64
    k_n_per_um = 3 * STEEL.youngs_modulus.likely * second_moment / 0.080**3 / 1e6
    assert k_n_per_um == pytest.approx(record.value, rel=record.tolerance["rel"]), record.source


@pytest.mark.parametrize("name", sorted(WANTED))
def test_bands_are_possible_and_sources_marked(name: str) -> None:
    """Principle: an elastic solid has nu below 0.5 and no negative number; each source wears its mark."""
    material = MATERIALS[name]
    assert material.name == name
    for quantity, band in material.quantities.items():
        assert 0 < band.low <= band.likely <= band.high, quantity
        assert any(mark in band.source for mark in MARKS), (quantity, band.source)
    assert material.poisson_ratio.high < 0.5
    assert material.loss_factor.high <= 2


@pytest.mark.parametrize("name", ["silver steel", "Silver-Steel", " silver_steel "])
def test_names_are_found_without_their_spelling(name: str) -> None:
    """Case, hyphens and underlines do not matter."""
    assert material_named(name, MATERIALS) is MATERIALS["silver steel"]


@pytest.mark.parametrize(
    ("name", "meant"),
    [("stel", "steel"), ("solder", "tin-lead solder"), ("copper", "annealed copper"), ("acetol", "acetal")],
)
def test_an_unknown_name_is_answered_with_the_nearest(name: str, meant: str) -> None:
    """A misspelling, or part of a name."""
    with pytest.raises(InputError, match=f"Did you mean '{meant}'") as caught:
        material_named(name, MATERIALS, key="bar.material")
    assert (caught.value.key, caught.value.given) == ("bar.material", name)


def test_a_name_like_no_other_lists_them_all() -> None:
    """Nothing near: the way out is an entry of one's own."""
    with pytest.raises(InputError, match=r"describe your own under \[materials\]") as caught:
        material_named("unobtainium xyz", MATERIALS)
    assert "acetal" in caught.value.allowed


def test_a_partial_entry_keeps_the_rest_of_the_table() -> None:
    """One value is the user's, without width; the others keep band and source."""
    mine = own_material("lead", OwnValues(loss_factor=0.03), table=MATERIALS)
    assert mine.loss_factor == exactly(0.03)
    assert mine.loss_factor.source == "given by the user"
    assert replace(mine, loss_factor=MATERIALS["lead"].loss_factor) == MATERIALS["lead"]


def test_a_new_entry_is_taken_as_it_stands() -> None:
    """Every band is the value itself, in SI."""
    mine = own_material("my bronze", OwnValues(105, 0.34, 8800, 0.001), table=MATERIALS)
    assert [band.likely for band in mine.quantities.values()] == [105e9, 0.34, 8800, 0.001]
    assert all(band.low == band.likely == band.high for band in mine.quantities.values())


def test_a_new_entry_needs_all_four() -> None:
    """The message names what is missing."""
    with pytest.raises(InputError, match="without poisson_ratio, loss_factor"):
        own_material("my bronze", OwnValues(youngs_modulus_gpa=105, density_kg_m3=8800), table=MATERIALS)


def test_a_band_out_of_order_is_refused() -> None:
    """Low, likely, high must rise."""
    with pytest.raises(InputError, match="rising order"):
        Band(2.0, 1.0, 3.0, "common practice, no source")
