"""Names that people use for bars and work lead to an entry, openly."""

from __future__ import annotations

import pytest
import setups

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.grip_names import GRIP_NAMES
from stickout.fem.setup.grips import STYLES
from stickout.fem.setup.material_names import CALLED
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.materials import TRADE_NAMES
from stickout.fem.setup.work_materials import WORK_MATERIALS, work_material


# Which family a name belongs to: AISI/SAE, BS 970 and EN numbers of public standards (recalled, not opened).
@pytest.mark.parametrize(
    ("name", "entry"),
    [
        *(
            ("mild steel", "steel"),
            ("EN8", "steel"),
            ("en 8", "steel"),
            ("EN-1A", "steel"),
            ("HSS", "high speed steel"),
        ),
        *(("O1", "hardened alloy steel"), ("4140", "hardened alloy steel"), ("Drill Rod", "silver steel")),
        *(
            ("AISI O1", "hardened alloy steel"),
            ("SAE 1018", "steel"),
            ("gauge plate", "hardened alloy steel"),
        ),
        *(("BS 970 080M40", "steel"), ("1.4301", "stainless steel"), ("wood", None), ("EN", None)),
        *(("12L14", "steel"), ("17-4PH", "stainless steel"), ("carbide", "cemented carbide")),
    ],
)
def test_bars_by_the_names_people_use(name: str, entry: str | None) -> None:
    """Read as the entry of that stiffness, and said so; a name nobody knows is a mistake."""
    text = setups.ROUND.replace('material = "steel"', f'material = "{name}"')
    if entry is None:
        with pytest.raises(ValueError, match="must be one of steel, silver steel"):
            parse_setup(text)
        return
    read = parse_setup(text)
    assert read.setup.bar_material == MATERIALS[entry]
    assert read.notes == (f"bar.material {name!r} is read as {entry}.",)


@pytest.mark.parametrize(
    ("name", "group"),
    [
        *(("EN1A", "P"), ("12L14", "P"), ("stainless", "M"), ("303", "M"), ("SG iron", "K"), ("7075", "N")),
        *(
            ("mild steel", "P"),
            ("HSS", "P"),
            ("EN 8", "P"),
            ("O1", "P"),
            ("AISI 4140", "P"),
            ("drill rod", "P"),
        ),
        *(("1.4305", "M"), ("cast iron", "K"), ("HE30", "N"), ("leaded brass", "N"), ("Ti 6Al 4V", "S")),
    ],
)
def test_work_by_the_names_people_use(name: str, group: str) -> None:
    """The ISO 513 letter of each is common knowledge of the trade."""
    assert work_material(name).group == group
    read = parse_setup(setups.CUTTING.replace("medium carbon steel", name))
    told = [one for one in read.notes if one.startswith(f"cut.work_material {name!r} is read as ")]
    assert told == [f"cut.work_material {name!r} is read as {work_material(name).name}."]


@pytest.mark.parametrize(
    ("called", "style", "more"),
    [
        *(("four-way post", "slot", {"screws": 2}), ("Quick-change holder", "slot", {"screws": 2})),
        *(("two screws on a flat", "slot", {"screws": 2}), ("clamp", "slot", {"screws": 1})),
        *(("split sleeve", "sleeve", {"split": True}), ("bored block", "sleeve", {"split": False})),
        *(("V-block", "bed", {}), ("v block", "bed", {}), ("Slot", "slot", {"screws": 2})),
    ],
)
def test_grips_by_the_names_people_use(called: str, style: str, more: dict[str, object]) -> None:
    """Read as the style that comes nearest, openly; what the file itself says of the grip stands."""
    flatted = setups.FLATTED if style == "slot" else setups.ROUND
    text = flatted.partition("[grip]")[0] + f'[grip]\nstyle = "{called}"\n'
    read = parse_setup(text)
    assert read.setup.grip.style == style
    assert {key: getattr(read.setup.grip, key) for key in more} == more
    assert f"grip.style {called!r} is read as {style}." in read.notes
    if called == "clamp":
        own = parse_setup(f"{text}screws = 3\nscrew_spacing = 15\nscrew_diameter = 5\n").setup.grip
        assert getattr(own, "screws", None) == 3


def test_a_grip_nobody_knows() -> None:
    """The names and the nearest one are told."""
    with pytest.raises(ValueError, match=r"four-way post.*Did you mean 'v block'"):
        parse_setup(setups.ROUND.replace('"bed"', '"vblok"'))


def test_no_name_leads_to_two_entries() -> None:
    """Neither among bars nor among work materials, and every entry that a bar's name leads to exists."""
    assert sum(len(names) for names in CALLED.values()) == len(TRADE_NAMES)
    assert set(CALLED) <= set(MATERIALS)
    assert {style for style, _ in GRIP_NAMES.values()} <= set(STYLES)
    names = [one.casefold() for entry in WORK_MATERIALS for one in (entry.name, *entry.other_names)]
    assert len(names) == len(set(names))


@pytest.mark.parametrize(
    ("text", "length_mm"), [("1/2", 12.7), ("2.5", 63.5), ("1 3/8", 34.925), ("1-3/8", 34.925)]
)
def test_numbers_in_quotes_are_inches_in_an_inch_set_up(text: str, length_mm: float) -> None:
    """By the definition of the inch; in a set-up in mm they are still asked about."""
    inch = setups.ROUND.replace('"mm"', '"inch"').replace("= 16", '= "1/2"').replace("= 60", "= 2")
    read = parse_setup(inch.replace("overhang = 80", f'overhang = "{text}"'))
    assert read.setup.bar.overhang_mm == pytest.approx(length_mm, rel=1e-12)
    with pytest.raises(ValueError, match="leave the quotes out"):
        parse_setup(setups.ROUND.replace("= 16", '= "16"'))


def test_a_radius_is_doubled() -> None:
    """What callipers give is a diameter."""
    with pytest.raises(ValueError, match="Double it"):
        parse_setup(setups.ROUND.replace("diameter = 16", "radius = 8"))


def test_a_cut_with_a_key_missing_says_so() -> None:
    """Nothing falls back silently: the keys that were left out are named; a whole cut is not warned of."""
    assert parse_setup(setups.CUTTING).warnings == ()
    lines = [one for one in setups.CUTTING.splitlines() if not one.startswith(("feed", "depth"))]
    [warning] = parse_setup("\n".join(lines)).warnings
    assert warning.startswith("[cut] leaves out depth, feed: ")
