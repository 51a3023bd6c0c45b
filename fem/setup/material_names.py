"""What people call a bar's material, and the entry of the table whose stiffness and weight it has.

Names of trade, and numbers of ISO, EN, the older BS 970 (EN8) and the AISI/SAE family (recalled, not opened):
steels differ little in stiffness.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from stickout.fem.nearest import listed

CALLED: Final[Mapping[str, tuple[str, ...]]] = {
    "steel": listed(
        "mild steel, bright steel, black steel, carbon steel, free-cutting steel, leaded steel, "
        "structural steel, key steel, S235, S275, S355, A36, C45, C35, E295, 11SMn30, 11SMnPb30, "
        "EN1A, EN1APb, EN3, EN3B, EN8, EN8D, EN9, 1018, 1020, 1045, 1060, 1215, 12L14, C15, C45E, "
        "C60, 080M40, 230M07, 1.0037, 1.0503, 1.0715, 1.0718"
    ),
    "silver steel": listed("drill rod, W1, 115CrV3, 1.2210, stubs steel"),
    "hardened alloy steel": listed(
        "tool steel, O1, O2, A2, D2, H13, 1.2510, 1.2842, 1.7225, gauge plate, ground flat stock, "
        "spring steel, alloy steel, 42CrMo4, 4130, 4140, 4340, EN16, EN19, EN24, EN24T, 16MnCr5, "
        "8620, EN31, EN36, EN32, 52100, 100Cr6, 817M40, 709M40, high-tensile steel"
    ),
    "high speed steel": listed("HSS, HSS-E, cobalt HSS, cobalt steel, M2, M35, M42, T1, HS6-5-2, 1.3343"),
    "stainless steel": listed(
        "stainless, 303, 304, 316, 420, 430, 17-4PH, X5CrNi18-10, EN58, 416, 440C, 1.4301, 1.4305, "
        "1.4404, 304L, 316L"
    ),
    "grey cast iron": listed("cast iron, grey iron, gray iron, GJL-250, continuous cast iron"),
    "cemented carbide": listed("carbide, solid carbide, tungsten carbide, hard metal, hardmetal"),
    "tungsten heavy alloy": listed("heavy tungsten, heavy metal, tungsten alloy"),
    "aluminium": listed("aluminum, dural, duralumin, 6061, 6063, 6082, 7075, 2011, 2014, 2024, HE30"),
    "brass": listed("CZ121, CZ131, CuZn39Pb3, C360, 360 brass, leaded brass, free-cutting brass"),
    "bronze": listed("gunmetal, phosphor bronze, aluminium bronze, PB1, LG2, SAE 660"),
    "annealed copper": listed("soft copper"),
}
