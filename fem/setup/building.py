"""Build the parts of a set-up from converted tables; what is doubtful is left to the range checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from contextlib import suppress
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain, folded
from stickout.fem.setup.check_bar import SECTION_SIZES, SIZES
from stickout.fem.setup.check_cut import material_faults
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.keys import SECTION_MEND, WORK_METAL_MEND
from stickout.fem.setup.material_table import MATERIALS, STEEL
from stickout.fem.setup.materials import Material, OwnValues, material_named, own_material, read_as
from stickout.fem.setup.measured import with_measured
from stickout.fem.setup.parts import Absorber, Cut, Setup, Solve, Turns
from stickout.fem.setup.reading import Reading
from stickout.fem.setup.reading_cut import read_cut
from stickout.fem.setup.reading_grip import read_grip
from stickout.fem.setup.usual_words import usual_note
from stickout.fem.setup.values import in_mm
from stickout.fem.setup.work_materials import work_material
from stickout.fem.setup.work_metals import metal_cut
from stickout.fem.setup.work_parts import Post, Steady, Work, WorkStep
from stickout.meshes.parts import Bar, Edge, Shim, Step, Wrap

Values = Mapping[str, Any]


def build_setup(reading: Reading) -> Setup:
    """Return the set-up of a file; every mistake, also of the ranges, is kept in ``reading``.

    While ``reading.mistakes`` is not empty the set-up holds stand-ins and must not be used.
    """
    sections = {
        name: reading.section(name)
        for name in ("bar", "edge", "grip", "shim", "wrap", "cut", "work", "post", "absorber")
    }
    for name in ("bar", "grip"):
        if sections[name] is None:
            mend = f"Add a section [{name}]."
            reading.add([InputError(key=name, given=MISSING, allowed="a section", mend=mend)])
    own = _own_materials(reading)
    wrap, turns = _wrap(reading, sections["wrap"])
    work = sections["work"] = _work_metal(reading, sections["work"], sections["cut"])
    shim, solve = sections["shim"], reading.section("solve")
    absorber, post = sections["absorber"], sections["post"]
    bar = _bar(reading, sections["bar"] or {})
    gripped = "gripped" in (sections["bar"] or {})
    held = read_grip(reading, sections["grip"], bar=bar, gripped=gripped)
    sections["grip"] = None if sections["grip"] is None else dict(held.values)
    cut = read_cut(reading, sections["cut"], bar=bar)
    usual = (*held.usual, *cut.usual)
    _tell_work_material(reading, cut.cut)
    if usual:
        reading.notes.append(usual_note(usual, reading.units))
    setup = Setup(
        title=reading.top.get("title", ""),
        units=reading.units,
        bar=held.bar,
        grip=held.grip,
        materials=_materials(reading, sections, own),
        edge=Edge(**in_mm(sections["edge"] or {})),
        shim=None if shim is None else Shim(thickness_mm=shim["thickness"]),
        wrap=wrap,
        turns=turns,
        cut=cut.cut,
        work=None if work is None else _work(reading, work),
        post=None if post is None else _post(post),
        absorber=None if absorber is None else Absorber(**in_mm(absorber)),
        solve=Solve(**(solve or {})),
        usual=usual,
    )
    reading.add(setup_faults(setup))
    try:
        return with_measured(setup, reading.section("measured"))
    except InputError as mistake:
        reading.add([mistake])
    return setup


def _bar(reading: Reading, values: Values) -> Bar:
    """Return the bar with its steps."""
    steps = tuple(
        Step(**in_mm(reading.table(f"bar.steps.{number}", table, like="bar.steps")))
        for number, table in enumerate(values.get("steps", ()), start=1)
    )
    plain = {key: value for key, value in values.items() if key not in ("material", "steps")}
    if values and "section" not in plain:
        plain["section"] = _section(reading, values)
    return Bar(**{"overhang_mm": math.nan, "section": "", **in_mm(plain)}, steps=steps)


def _section(reading: Reading, values: Values) -> str:
    """Return the section that the sizes of a bar leave no choice of; where they do, that is a mistake."""
    given = {key for key in values if key in SIZES}
    found = next((name for name, sizes in SECTION_SIZES.items() if given == set(sizes)), None)
    if found is None:
        return str(reading.need("bar", {}, needed={"section": SECTION_MEND}, like="bar")["section"])
    return found


def _tell_work_material(reading: Reading, cut: Cut | None) -> None:
    """Note the entry that a work material is read as, where it is called by another name."""
    if cut is None or cut.work_material is None:
        return
    with suppress(InputError):  # a name nobody knows is a mistake of its own
        entry = work_material(cut.work_material).name
        if folded(entry) != folded(cut.work_material):
            reading.notes.append(f"cut.work_material {cut.work_material!r} is read as {entry}.")


def _work_metal(reading: Reading, work: dict[str, Any] | None, cut: Values | None) -> dict[str, Any] | None:
    """Return the part that is cut with its metal: what [cut] says it is where [work] does not."""
    if work is None or "material" in work:
        return work
    called = (cut or {}).get("work_material")
    metal = metal_cut(called)
    if metal is None:
        return {**work, **reading.need("work", work, needed={"material": WORK_METAL_MEND}, like="work")}
    reading.notes.append(f"work.material is not given and taken as {metal}, for {called!r} is cut.")
    return {**work, "material": metal}


def _work(reading: Reading, values: Values) -> Work:
    """Return the part that is cut, with its steps and steadies."""

    def tables(name: str) -> list[dict[str, Any]]:
        path = f"work.{name}"
        found = enumerate(values.get(name, ()), start=1)
        return [in_mm(reading.table(f"{path}.{number}", one, like=path)) for number, one in found]

    plain = {key: value for key, value in values.items() if key not in ("material", "steps", "steadies")}
    places = tuple(sorted(set(values["cut_at"])))
    plain |= {"cut_at": values["cut_at"][0], "stations_mm": places if len(places) > 1 else ()}
    steps = tuple(WorkStep(**one) for one in tables("steps"))
    return Work(**in_mm(plain), steps=steps, steadies=tuple(Steady(**one) for one in tables("steadies")))


def _post(values: Values) -> Post:
    """Return what carries the holder."""
    named = {"n_per_um": "spring_n_per_um"}
    return Post(**{named.get(key, key): value for key, value in values.items()})


def _wrap(reading: Reading, values: Values | None) -> tuple[Wrap | None, Turns | None]:
    """Return the wrap and what is known of its wire; a wire as thick as the layer gives the thickness."""
    if values is None:
        return None, None
    wire, thickness = values.get("wire_diameter"), values.get("thickness")
    if (wire is None) == (thickness is None):
        given = "both given" if wire is not None else "missing"
        mend = "Give the one you measured; loose wire may have its wire_diameter and pitch instead."
        allowed = "given, unless wire_diameter is"
        reading.add([InputError(key="wrap.thickness", given=Plain(given), allowed=allowed, mend=mend)])
    wrap = Wrap(
        thickness_mm=next((one for one in (thickness, wire) if one is not None), math.nan),
        start_mm=values["start"],
        length_mm=values["length"],
        bond=values["bond"],
    )
    extra = (wire, values.get("pitch"), values.get("rubbing_loss_factor"))
    return wrap, None if extra == (None, None, None) else Turns(*extra)


def _own_materials(reading: Reading) -> dict[str, Material]:
    """Return the table of materials with the user's own entries."""
    known = dict(MATERIALS)
    entries = reading.tree.get("materials", {})
    for name, table in entries.items() if isinstance(entries, dict) else ():
        path = f"materials.{name}"
        if not isinstance(table, dict):
            mend = f'Begin it with a line [materials."{name}"].'
            reading.add([InputError(key=path, given=table, allowed="a section", mend=mend)])
            continue
        values = reading.table(path, table, like="materials")
        try:
            known[name] = own_material(name, OwnValues(**values), table=MATERIALS)
        except InputError as mistake:
            reading.add([mistake])
            known[name] = STEEL
        else:
            reading.add(material_faults([known[name]]))
    return known


def _materials(
    reading: Reading, sections: Mapping[str, Values | None], known: Mapping[str, Material]
) -> dict[str, Material]:
    """Return the material of each region; one we do not know is a mistake and steel stands in."""
    keys = {
        "bar": ("bar", "material"),
        "holder": ("grip", "block_material"),
        "shim": ("shim", "material"),
        "wrap": ("wrap", "material"),
        "work": ("work", "material"),
    }
    found: dict[str, Material] = {}
    for region, (section, key) in keys.items():
        name = (sections[section] or {}).get(key)
        if name is None:
            continue
        try:
            found[region] = material_named(name, known, key=f"{section}.{key}")
            if (entry := read_as(name, known)) is not None:
                reading.notes.append(f"{section}.{key} {name!r} is read as {entry}.")
        except InputError as mistake:
            reading.add([mistake])
            found[region] = STEEL
    return found
