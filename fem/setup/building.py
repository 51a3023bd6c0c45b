"""Build the parts of a set-up from converted tables; what is doubtful is left to the range checks."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, Plain
from stickout.fem.setup.bands import Band, exactly
from stickout.fem.setup.check_bar import SIZES
from stickout.fem.setup.check_common import choice_fault
from stickout.fem.setup.check_cut import material_faults
from stickout.fem.setup.checks import setup_faults
from stickout.fem.setup.grips import STYLES, BedGrip, Grip, HeldGrip, RigidGrip, SleeveGrip, SlotGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.keys import SPACING, STYLE_KEYS, STYLE_REQUIRED
from stickout.fem.setup.material_table import MATERIALS, STEEL
from stickout.fem.setup.materials import Material, OwnValues, material_named, own_material, read_as
from stickout.fem.setup.measured import with_measured
from stickout.fem.setup.parts import Absorber, Cut, HeardCut, Setup, Solve, Turns
from stickout.fem.setup.reading import Reading
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
    shim, work, solve = sections["shim"], sections["work"], reading.section("solve")
    absorber, post = sections["absorber"], sections["post"]
    setup = Setup(
        title=reading.top.get("title", ""),
        units=reading.units,
        bar=_bar(reading, sections["bar"] or {}),
        grip=_grip(reading, sections["grip"]),
        materials=_materials(reading, sections, own),
        edge=Edge(**_in_mm(sections["edge"] or {})),
        shim=None if shim is None else Shim(thickness_mm=shim["thickness"]),
        wrap=wrap,
        turns=turns,
        cut=_cut(reading, sections["cut"]),
        work=None if work is None else _work(reading, work),
        post=None if post is None else _post(post),
        absorber=None if absorber is None else Absorber(**_in_mm(absorber)),
        solve=Solve(**(solve or {})),
    )
    reading.add(setup_faults(setup))
    try:
        return with_measured(setup, reading.section("measured"))
    except InputError as mistake:
        reading.add([mistake])
    return setup


# Lengths of the file that the parts hold as `..._mm`.
_LENGTHS = (
    *SIZES,
    *("overhang", "gripped", "start", "length", "cut_at", "at", "end_distance", "offset_y", "offset_z"),
    *("depth", "feed", "nose_radius", "work_diameter", "position", "edge_land"),
    *("jaw_length", "quill_out"),
)


def _in_mm(values: Values) -> dict[str, Any]:
    """Return the values under the names that the parts use."""
    return {f"{key}_mm" if key in _LENGTHS else key: value for key, value in values.items()}


def _bar(reading: Reading, values: Values) -> Bar:
    """Return the bar with its steps."""
    steps = tuple(
        Step(**_in_mm(reading.table(f"bar.steps.{number}", table, like="bar.steps")))
        for number, table in enumerate(values.get("steps", ()), start=1)
    )
    plain = {key: value for key, value in values.items() if key not in ("material", "steps")}
    return Bar(**{"overhang_mm": math.nan, "section": "", **_in_mm(plain)}, steps=steps)


def _work(reading: Reading, values: Values) -> Work:
    """Return the part that is cut, with its steps and steadies."""

    def tables(name: str) -> list[dict[str, Any]]:
        path = f"work.{name}"
        found = enumerate(values.get(name, ()), start=1)
        return [_in_mm(reading.table(f"{path}.{number}", one, like=path)) for number, one in found]

    plain = {key: value for key, value in values.items() if key not in ("material", "steps", "steadies")}
    steps = tuple(WorkStep(**one) for one in tables("steps"))
    return Work(**_in_mm(plain), steps=steps, steadies=tuple(Steady(**one) for one in tables("steadies")))


def _post(values: Values) -> Post:
    """Return what carries the holder."""
    named = {"n_per_um": "spring_n_per_um"}
    return Post(**{named.get(key, key): value for key, value in values.items()})


def _cut(reading: Reading, values: Values | None) -> Cut | None:
    """Return the cut with the cuts that were heard; None without one."""
    if values is None:
        return None
    heard = tuple(
        HeardCut(**_in_mm(reading.table(f"cut.heard.{number}", table, like="cut.heard")))
        for number, table in enumerate(values.get("heard", ()), start=1)
    )
    plain = {key: value for key, value in values.items() if key != "heard"}
    return Cut(**_in_mm(plain), heard=heard)


def _grip(reading: Reading, values: Values | None) -> Grip:
    """Return the grip; keys of another style, and needed ones that are missing, are mistakes."""
    style = (values or {}).get("style", "")
    if values is None or style not in STYLES:
        reading.add(
            fault for fault in (choice_fault("grip.style", style, choices=STYLES),) if fault is not None
        )
        return RigidGrip()
    for key in values:
        if key != "style" and key not in STYLE_KEYS[style]:
            takes = ", ".join(STYLE_KEYS[style]) or "no other key"
            wrong = f"left out for style {style}"
            mend = f"Style {style} takes {takes}."
            reading.add([InputError(key=f"grip.{key}", given=values[key], allowed=wrong, mend=mend)])
    full = dict(values) | reading.need("grip", values, needed=STYLE_REQUIRED.get(style, {}), like="grip")
    if style == "slot" and full["screws"] > 1 and "screw_spacing" not in full:
        full |= reading.need("grip", full, needed=SPACING, like="grip")
    return _styled(style, full)


def _styled(style: str, values: Values) -> Grip:
    """Return the grip of a known style."""
    match style:
        case "held":
            return HeldGrip(pressed_mm=values.get("pressed"))
        case "bed":
            return BedGrip(bed=_joint("bed", values))
        case "slot":
            return SlotGrip(
                screws=values["screws"],
                screw_diameter_mm=values["screw_diameter"],
                first_screw_mm=values["first_screw"],
                screw_spacing_mm=values.get("screw_spacing", 0.0),
                joint=_joint("joint", values),
            )
        case "sleeve":
            return SleeveGrip(
                block_width_mm=values["block_width"],
                block_height_mm=values["block_height"],
                wall_mm=values["wall"],
                split=values.get("split", False),
                joint=_joint("joint", values),
            )
    return RigidGrip()


def _joint(prefix: str, values: Values) -> Joint:
    """Return a joint: the values given, the usual bands for those that are not."""
    usual = Joint()

    def band(key: str, default: Band) -> Band:
        value = values.get(f"{prefix}_{key}")
        # A stand-in may be NaN, which has no order; the likely value is all the checks look at.
        return default if value is None else exactly(value)

    return Joint(
        normal_n_per_um_mm2=band("n_per_um_mm2", usual.normal_n_per_um_mm2),
        shear_ratio=band("shear_ratio", usual.shear_ratio),
        loss_factor=band("loss_factor", usual.loss_factor),
        bonded=values.get("joint_bonded", False),
    )


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
