"""Names that people use for bars and work lead to an entry, openly."""

from __future__ import annotations

import pytest
import setups

from stickout.fem.setup.file import parse_setup
from stickout.fem.setup.material_table import MATERIALS
from stickout.fem.setup.materials import CALLED, TRADE_NAMES
from stickout.fem.setup.work_materials import WORK_MATERIALS, work_material


# Which family a name belongs to: AISI/SAE, BS 970 and EN numbers of public standards (recalled, not opened).
@pytest.mark.parametrize(
    ("name", "entry"),
    [
        *(("mild steel", "steel"), ("EN8", "steel"), ("en 8", None), ("HSS", "high speed steel")),
        *(("O1", "hardened alloy steel"), ("4140", "hardened alloy steel"), ("Drill Rod", "silver steel")),
        *(("12L14", "steel"), ("17-4PH", "stainless steel"), ("carbide", "cemented carbide")),
    ],
)
def test_bars_by_the_names_people_use(name: str, entry: str | None) -> None:
    """Read as the entry of that stiffness, and said so; a name nobody knows is a mistake."""
    text = setups.ROUND.replace('material = "steel"', f'material = "{name}"')
    if entry is None:
        with pytest.raises(ValueError, match="Did you mean"):
            parse_setup(text)
        return
    read = parse_setup(text)
    assert read.setup.bar_material == MATERIALS[entry]
    assert read.warnings == (f"bar.material {name!r} is read as {entry}.",)


@pytest.mark.parametrize(
    ("name", "group"),
    [("EN1A", "P"), ("12L14", "P"), ("stainless", "M"), ("303", "M"), ("SG iron", "K"), ("7075", "N")],
)
def test_work_by_the_names_people_use(name: str, group: str) -> None:
    """The ISO 513 letter of each is common knowledge of the trade."""
    assert work_material(name).group == group


def test_no_name_leads_to_two_entries() -> None:
    """Neither among bars nor among work materials, and every entry that a bar's name leads to exists."""
    assert sum(len(names) for names in CALLED.values()) == len(TRADE_NAMES)
    assert set(CALLED) <= set(MATERIALS)
    names = [one.casefold() for entry in WORK_MATERIALS for one in (entry.name, *entry.other_names)]
    assert len(names) == len(set(names))
