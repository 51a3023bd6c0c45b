"""The table of materials: steels, irons, hard and heavy metals, soft metals, solders, one plastic.

Every number is a low, a likely and a high value with its source and mark. Where two sources
disagree the band spans both. Moduli and densities are for 20 C; no alloy is meant exactly.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from stickout.fem.setup.bands import Band
from stickout.fem.setup.materials import Material, material_named
from stickout.fem.units import GPA

Triple = tuple[float, float, float]

HANDBOOK: Final = "typical handbook values (recalled, not opened)"
HANDBOOK_AGREES: Final = (
    "typical handbook values (recalled, not opened); within 10 % of the table of Cremer & Heckl, "
    "Structure-Borne Sound, in a public reprint (opened)"
)
CREMER: Final = "Cremer & Heckl, Structure-Borne Sound, table in a public reprint (opened)"
STEEL_LOSS: Final = (
    CREMER
    + ": 0.00002 to 0.0003; a university course table, NPTEL (opened): about 0.001; they differ tenfold"
)
IRON_LOSS: Final = (
    "NPTEL course table: about 0.01 (opened); low end: top of the range for iron of Cremer & Heckl (opened); "
    "high end: coarse flake iron, Adams, J. Sound Vib. 23 (1972) 199 (abstract opened)"
)
COPPER_LOSS: Final = (
    CREMER + ": about 0.002; changes strongly with amplitude, Adams, J. Sound Vib. 23 (1972) 199 (abstract "
    "opened); the width of the band is common practice, no source"
)
LEAD_LOSS: Final = (
    CREMER + ": pure lead 0.02 in bending and 0.05 to 0.3 along, lead with antimony 0.001 to 0.004"
)
SNPB_LOSS: Final = (
    "recalled, not opened: damping by creep, falls as the note rises; no figure at audible notes found"
)
SNAG_LOSS: Final = (
    "recalled, not opened; Li et al., Soldering & Surface Mount Technology (2022) measured such solders "
    "(abstract opened, figures not seen)"
)
RECALLED: Final = "recalled, not opened"
PRACTICE: Final = "common practice, no source"


def _entry(
    name: str, numbers: tuple[Triple, Triple, Triple], *, loss: Band, source: str = HANDBOOK, note: str = ""
) -> Material:
    """Return one row; ``numbers``: Young's modulus [GPa], Poisson's ratio [-], density [kg/m3]."""
    (low, likely, high), poisson, density = numbers
    return Material(
        name=name,
        youngs_modulus=Band(low * GPA, likely * GPA, high * GPA, source),
        poisson_ratio=Band(*poisson, source),
        density=Band(*density, source),
        loss_factor=loss,
        note=note,
    )


_STEEL_LOSS = Band(2e-5, 3e-4, 1e-3, STEEL_LOSS)
_STEEL_NU = (0.27, 0.30, 0.31)

_ROWS = (
    _entry("steel", ((200, 210, 212), _STEEL_NU, (7800, 7850, 7870)), loss=_STEEL_LOSS,
           note="Plain carbon steel."),
    _entry("silver steel", ((200, 207, 212), _STEEL_NU, (7800, 7840, 7870)), loss=_STEEL_LOSS,
           note="Hard or soft makes no difference to the stiffness."),
    _entry("hardened alloy steel", ((200, 207, 212), _STEEL_NU, (7800, 7850, 7870)), loss=_STEEL_LOSS,
           note="Stronger than plain steel, not stiffer."),
    _entry("high speed steel", ((200, 215, 235), _STEEL_NU, (7900, 8160, 8800)), loss=_STEEL_LOSS,
           note="Tungsten grades are the heavier ones."),
    _entry("stainless steel", ((190, 196, 215), _STEEL_NU, (7700, 7900, 8000)), loss=_STEEL_LOSS),
    _entry("grey cast iron", ((90, 110, 135), (0.24, 0.26, 0.28), (7100, 7200, 7300)),
           loss=Band(6e-4, 1e-2, 4.1e-2, IRON_LOSS),
           note="The coarser the flakes, the softer and the better damped."),
    _entry("cemented carbide", ((570, 600, 640), (0.20, 0.22, 0.25), (14300, 14500, 15000)),
           loss=Band(1e-4, 3e-4, 1e-3, RECALLED), note="6 to 10 % cobalt. Dust: grind wet, with extraction."),
    _entry("tungsten heavy alloy", ((320, 345, 370), (0.27, 0.28, 0.30), (17000, 17500, 18500)),
           loss=Band(5e-4, 1e-3, 3e-3, RECALLED), note="Dust: grind wet, with extraction."),
    _entry("aluminium", ((68, 70, 73), (0.32, 0.33, 0.35), (2650, 2700, 2830)),
           loss=Band(3e-6, 3e-5, 1e-4, CREMER), source=HANDBOOK_AGREES),
    _entry("brass", ((97, 100, 115), (0.33, 0.35, 0.37), (8400, 8500, 8700)),
           loss=Band(2e-4, 5e-4, 1e-3, CREMER), source=HANDBOOK_AGREES),
    _entry("bronze", ((100, 110, 120), (0.32, 0.34, 0.36), (8600, 8800, 8900)),
           loss=Band(2e-4, 1e-3, 2e-3, PRACTICE + "; taken between brass and copper")),
    _entry("annealed copper", ((110, 117, 130), (0.33, 0.34, 0.36), (8900, 8930, 8960)),
           loss=Band(5e-4, 2e-3, 5e-3, COPPER_LOSS), source=HANDBOOK_AGREES,
           note="Work-hardened copper is as stiff, but beds less well."),
    _entry("lead", ((14, 16, 18), (0.42, 0.44, 0.45), (11300, 11340, 11400)),
           loss=Band(1e-3, 2e-2, 0.3, LEAD_LOSS), source=HANDBOOK_AGREES,
           note="Poisonous dust and fumes. A little antimony costs a factor of ten in damping."),
    _entry("tin-lead solder", ((25, 30, 40), (0.36, 0.38, 0.40), (8400, 8500, 8900)),
           loss=Band(5e-3, 2e-2, 5e-2, SNPB_LOSS), note="About 60 % tin. Holds lead."),
    _entry("tin-silver solder", ((40, 50, 55), (0.35, 0.36, 0.40), (7300, 7400, 7500)),
           loss=Band(2e-3, 6e-3, 2e-2, SNAG_LOSS), note="Lead-free."),
    _entry("acetal", ((2.5, 2.8, 3.2), (0.35, 0.37, 0.40), (1400, 1410, 1430)),
           loss=Band(1e-2, 2e-2, 3e-2, RECALLED)),
)  # fmt: skip

MATERIALS: Final[Mapping[str, Material]] = {row.name: row for row in _ROWS}
STEEL: Final = MATERIALS["steel"]


def material(name: str) -> Material:
    """Return a material of the table by its name or its trade name.

    Parameters
    ----------
    name
        As the trade says it; case and hyphens do not matter. ``stickout materials`` prints all names.

    Returns
    -------
    Material
        Its four numbers, each with band and source.

    Raises
    ------
    InputError
        No material has that name; the nearest one is offered.

    Examples
    --------
    >>> from stickout.fem import material
    >>> carbide = material("carbide")
    >>> carbide.name, f"{carbide.youngs_modulus.likely / 1e9:.0f} GPa"
    ('cemented carbide', '600 GPa')
    """
    return material_named(name, MATERIALS)
