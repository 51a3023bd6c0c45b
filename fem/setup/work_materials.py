"""Work materials by ISO 513 group: specific cutting force, its exponent, band and source."""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches

from stickout.fem.nearest import folded, listed, looked_up
from stickout.meshes.errors import InputError

TABLE_SOURCE = "ISO 513 / VDI 3323 material groups as reprinted in public tool tables (opened)"
HANDBOOK_SOURCE = "handbook set after Kienzle & Victor 1957, as in Paucksch (recalled, not opened)"
NO_SOURCE = "order of size only (common practice, no source)"


@dataclass(frozen=True)
class WorkMaterial:
    """One work material: ``kc = kc11 h^-mc`` with h in mm.

    Attributes
    ----------
    name
        Plain name.
    group
        ISO 513 letter P, M, K, N, S or H; "-" for plastics.
    number
        Group number of VDI 3323, 0 where there is none.
    kc11_n_per_mm2
        Specific cutting force at 1 mm chip thickness [N/mm^2], for a rake of 0 degrees and a sharp edge.
    mc
        Exponent [-].
    other_names
        Names that lead to this entry too.
    low, high
        Band of the force as factors of the likely value [-].
    source
        Where the pair comes from, with its mark.
    second
        Another pair (kc11_n_per_mm2, mc) from another table, for comparison.
    second_source
        Where that comes from.
    """

    name: str
    group: str
    number: int
    kc11_n_per_mm2: float
    mc: float
    other_names: tuple[str, ...] = ()
    low: float = 0.75
    high: float = 1.25
    source: str = TABLE_SOURCE
    second: tuple[float, float] | None = None
    second_source: str = HANDBOOK_SOURCE


_EDITION = "the 2022 edition of the same table (opened); the 2017 edition is used"

WORK_MATERIALS: tuple[WorkMaterial, ...] = (
    WorkMaterial(
        "low carbon steel",
        "P",
        1,
        1350.0,
        0.21,
        listed(
            "mild steel, free-cutting steel, leaded steel, bright steel, S235, S275, 11SMn30, "
            "11SMnPb30, EN1A, EN1APb, EN3, EN3B, 1018, 1020, 1215, 12L14, A36, key steel, black "
            "steel, structural steel, C15, 230M07, 1.0037, 1.0715, 1.0718, S355"
        ),
        second=(1780.0, 0.17),
    ),
    WorkMaterial(
        "medium carbon steel",
        "P",
        2,
        1500.0,
        0.22,
        listed("C45, C45E, C35, 1045, EN8, EN8D, 080M40, 1.0503, carbon steel, annealed medium carbon steel"),
        high=1.3,
        second=(2220.0, 0.14),
    ),
    WorkMaterial("structural steel E295", "P", 0, 1990.0, 0.26, listed("E295, St50"), source=HANDBOOK_SOURCE),
    WorkMaterial(
        "high carbon steel",
        "P",
        4,
        1700.0,
        0.24,
        listed("C60, 1060, EN9, silver steel, drill rod, W1, 115CrV3, 1.2210, stubs steel"),
        second=(2130.0, 0.18),
    ),
    WorkMaterial(
        "low-alloy steel",
        "P",
        6,
        1775.0,
        0.24,
        listed("42CrMo4, 4140, 4130, EN16, EN19, 709M40, 1.7225, alloy steel, annealed alloy steel"),
        high=1.5,
        second=(2500.0, 0.26),
    ),
    WorkMaterial(
        "heat-treated alloy steel",
        "P",
        8,
        1725.0,
        0.24,
        listed("4140 heat-treated, 4340, EN24, EN24T, 817M40, high-tensile steel"),
    ),
    WorkMaterial(
        "case-hardening steel",
        "P",
        6,
        1775.0,
        0.24,
        listed("16MnCr5, 8620, EN32, EN36"),
        high=1.3,
        second=(2100.0, 0.26),
    ),
    WorkMaterial(
        "tool steel annealed",
        "P",
        10,
        2450.0,
        0.23,
        listed(
            "O1, O2, A2, D2, H13, 1.2510, 1.2842, 1.3343, tool steel, gauge plate, ground flat "
            "stock, high speed steel, HSS, M2, EN31, 52100, 100Cr6, spring steel"
        ),
    ),
    WorkMaterial(
        "stainless steel ferritic or martensitic", "P", 12, 1875.0, 0.21, listed("430, 420, 416, 440C")
    ),
    WorkMaterial(
        "stainless steel austenitic",
        "M",
        14,
        2150.0,
        0.20,
        listed(
            "stainless steel, stainless, 303, 304, 304L, 316, 316L, X5CrNi18-10, EN58, 1.4301, 1.4305, 1.4404"
        ),
        second=(2350.0, 0.21),
    ),
    WorkMaterial("grey iron soft", "K", 15, 1150.0, 0.20, listed("GJL-200, soft cast iron")),
    WorkMaterial(
        "grey iron pearlitic",
        "K",
        16,
        1350.0,
        0.28,
        listed("cast iron, grey iron, gray iron, GJL-250, continuous cast iron"),
        low=0.65,
        second=(1160.0, 0.26),
    ),
    WorkMaterial(
        "ductile iron ferritic", "K", 17, 1225.0, 0.25, listed("GJS-400, nodular iron, ductile iron, SG iron")
    ),
    WorkMaterial("ductile iron pearlitic", "K", 18, 1350.0, 0.28, listed("GJS-600")),
    WorkMaterial("malleable iron", "K", 19, 1225.0, 0.25),
    WorkMaterial("wrought aluminium soft", "N", 21, 700.0, 0.25, listed("aluminium soft")),
    WorkMaterial(
        "wrought aluminium hardened",
        "N",
        22,
        800.0,
        0.25,
        listed("aluminium, aluminum, 6082, 6061, 6063, 7075, 2011, 2014, 2024, dural, duralumin, HE30"),
    ),
    WorkMaterial("cast aluminium", "N", 24, 700.0, 0.25, listed("cast aluminium hardened")),
    WorkMaterial(
        "free-cutting brass",
        "N",
        26,
        700.0,
        0.27,
        listed("brass, leaded brass, CuZn39Pb3, CZ121, CZ131, C360, 360 brass"),
        second=(780.0, 0.18),
    ),
    WorkMaterial(
        "bronze",
        "N",
        27,
        700.0,
        0.27,
        listed("gunmetal, long-chip brass, phosphor bronze, aluminium bronze, PB1, LG2, SAE 660"),
        low=0.7,
        second=(640.0, 0.25),
    ),
    WorkMaterial("copper", "N", 28, 700.0, 0.27, listed("pure copper")),
    WorkMaterial(
        "titanium pure",
        "S",
        36,
        1700.0,
        0.23,
        listed("titanium grade 2"),
        low=0.6,
        second=(1160.0, 0.24),
        second_source=_EDITION,
    ),
    WorkMaterial(
        "titanium Ti-6Al-4V",
        "S",
        37,
        2110.0,
        0.22,
        listed("Ti-6Al-4V, titanium grade 5"),
        low=0.55,
        second=(1245.0, 0.24),
        second_source=_EDITION,
    ),
    WorkMaterial("nickel alloy", "S", 33, 3300.0, 0.24, listed("heat-resistant alloy")),
    WorkMaterial(
        "hardened steel 55 HRC",
        "H",
        38,
        4600.0,
        0.25,
        listed("hardened steel"),
        low=0.5,
        source=TABLE_SOURCE + "; it prints no exponent, 0.25 assumed (common practice, no source)",
    ),
    WorkMaterial(
        "acetal",
        "-",
        0,
        100.0,
        0.2,
        listed("POM, acetal copolymer, nylon, PTFE, plastic"),
        low=0.4,
        high=2.5,
        source=NO_SOURCE,
    ),
)


def work_material(name: str) -> WorkMaterial:
    """Return the work material of that name, capitals not minded.

    Parameters
    ----------
    name
        A name or other name of the table.

    Returns
    -------
    WorkMaterial
        The entry.

    Raises
    ------
    InputError
        No such name; the nearest ones are offered.

    Source
    ------
    Table: see each entry's own source (opened; recalled, not opened; common practice, no source).

    Examples
    --------
    >>> work_material("Mild Steel").name
    'low carbon steel'
    """
    known = {folded(key): entry for entry in WORK_MATERIALS for key in (entry.name, *entry.other_names)}
    found = looked_up(name, known)
    if found is not None:
        return found
    wanted = folded(name)
    near = get_close_matches(wanted, known, n=3, cutoff=0.5)
    # A shared word often says more than a likeness of letters: "cast steel" is a steel.
    words = [key for key in known if set(wanted.split()) & set(key.split())]
    offered = list(dict.fromkeys(known[key].name for key in (*near, *words)))[:3]
    mend = (
        f"Nearest names: {', '.join(offered)}."
        if offered
        else "Such as mild steel, medium carbon steel, stainless steel, cast iron, aluminium, brass."
    )
    raise InputError(key="work_material", given=name, allowed="a name of the work material table", mend=mend)
