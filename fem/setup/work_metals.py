"""What a part weighs and how stiff it is, where only what the tool cuts is named: the metal of its group."""

from __future__ import annotations

from typing import Final

from stickout.fem.errors import InputError
from stickout.fem.setup.work_materials import work_material

# Word in the name of a work material -> entry of the materials' table. Ductile iron, titanium and nickel
# alloys stand in no such table: what is cut of them must be described.
_METALS: Final = {
    "stainless": "stainless steel",
    "hardened steel": "hardened alloy steel",
    "steel": "steel",
    "grey iron": "grey cast iron",
    "aluminium": "aluminium",
    "brass": "brass",
    "bronze": "bronze",
    "copper": "annealed copper",
    "acetal": "acetal",
}


def metal_cut(name: str | None) -> str | None:
    """Return the entry of the materials' table for what is cut; None where no entry is as stiff and heavy.

    Parameters
    ----------
    name
        ``cut.work_material`` as the file has it.

    Source
    ------
    Common practice, no source: steels differ by a few per cent in stiffness and weight.
    """
    try:
        entry = work_material(name or "").name
    except InputError:  # a mistake of its own
        return None
    return next((metal for word, metal in _METALS.items() if word in entry), None)
