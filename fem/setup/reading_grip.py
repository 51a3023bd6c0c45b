"""Read the grip: its style by any name, the keys of that style, and usual sizes for what is not given."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Final

from stickout.fem.errors import InputError
from stickout.fem.nearest import MISSING, hint
from stickout.fem.setup.bands import Band, exactly
from stickout.fem.setup.centres_grip import CentresGrip
from stickout.fem.setup.check_bar import smallest_size_mm
from stickout.fem.setup.check_grip import top_width_mm
from stickout.fem.setup.grip_names import GRIP_NAMES, grip_called
from stickout.fem.setup.grips import STYLES, BedGrip, Grip, HeldGrip, RigidGrip, SleeveGrip, SlotGrip
from stickout.fem.setup.joints import Joint
from stickout.fem.setup.keys import STYLE_KEYS
from stickout.fem.setup.reading import Reading
from stickout.fem.setup.usual import (
    SCREWS,
    SLEEVE_BLOCK,
    SLEEVE_GRIP,
    Usual,
    UsualScrews,
    usual_screws,
    usual_value,
)
from stickout.fem.setup.values import in_mm
from stickout.meshes.parts import Bar

Values = Mapping[str, Any]
BLOCK_MATERIAL: Final = "steel"  # of a sleeve's block where the file does not say
_SOME: Final = "four-way post, quick-change holder, split sleeve, bored block, v-block"


@dataclass(frozen=True)
class ReadGrip:
    """A grip as it was read: the bar with its gripped length, the keys, and the values taken as usual."""

    bar: Bar
    grip: Grip
    values: Values
    usual: tuple[Usual, ...] = ()


def read_grip(reading: Reading, values: Values | None, *, bar: Bar, gripped: bool) -> ReadGrip:
    """Return the grip of a file; keys of another style are mistakes, kept in ``reading``.

    Parameters
    ----------
    reading
        The pass over the file.
    values
        Converted keys of [grip]; None where there is no such section.
    bar
        The bar as given.
    gripped
        Whether the file gives its gripped length.
    """
    called = (values or {}).get("style", "")
    style, said = grip_called(called)
    if values is None or style not in STYLES:
        if values is not None:
            reading.add([_unknown_style(called)])
        return ReadGrip(bar, RigidGrip(), values or {})
    if style != called:
        reading.notes.append(f"grip.style {called!r} is read as {style}.")
    for key in values:
        if key != "style" and key not in STYLE_KEYS[style]:
            takes = ", ".join(STYLE_KEYS[style]) or "no other key"
            wrong = f"left out for style {style}"
            mend = f"Style {style} takes {takes}."
            reading.add([InputError(key=f"grip.{key}", given=values[key], allowed=wrong, mend=mend)])
    full = {**said, **values}
    found = _usual(style, full, bar, gripped=gripped, units=reading.units)
    sizes = {key.removeprefix("grip."): value for key, value in found.items() if key != "bar.gripped"}
    usual = tuple(usual_value(key, value) for key, value in found.items() if value > 0)
    if style == "sleeve":
        full = {"block_material": BLOCK_MATERIAL, **full}
    held = bar if "bar.gripped" not in found else replace(bar, gripped_mm=found["bar.gripped"])
    return ReadGrip(held, _styled(style, {**full, **sizes}), full, usual)


def _unknown_style(called: str) -> InputError:
    """Return the mistake of a style that nobody calls so."""
    mend = hint(called, (*STYLES, *GRIP_NAMES), otherwise="Choose one of these.") if called else ""
    return InputError(
        key="grip.style",
        given=called or MISSING,
        allowed=f"one of {', '.join(STYLES)}, or a name such as {_SOME}",
        mend=mend or "Say how the bar is held.",
    )


def _usual(style: str, full: Values, bar: Bar, *, gripped: bool, units: str) -> dict[str, float]:
    """Return the usual values [mm] of the dotted keys that are not given and that the style needs."""
    size = smallest_size_mm(replace(bar, steps=()), at_end=False)
    match style:
        case "rigid" | "centres":
            return {}
        case "slot":
            return _usual_slot(full, bar, gripped=gripped, units=units)
        case "sleeve":
            wall = full.get("wall", (SLEEVE_BLOCK - 1) / 2 * size)
            sizes = {
                "block_width": SLEEVE_BLOCK * size,
                "block_height": size + 2 * wall,
                "wall": (full.get("block_height", SLEEVE_BLOCK * size) - size) / 2,
            }
            found = {f"grip.{key}": value for key, value in sizes.items() if key not in full}
        case "bed":
            found = {}
        case _:  # held: the shank lies in a post
            found = {} if gripped else {"bar.gripped": usual_screws(size, size, units=units).gripped_mm}
    if not gripped and style != "held":
        # A blade on edge is gripped by its height: its thickness says nothing of its holder.
        found["bar.gripped"] = SLEEVE_GRIP * (max(size, bar.height_mm or size) if style == "bed" else size)
    return found


def _usual_slot(full: Values, bar: Bar, *, gripped: bool, units: str) -> dict[str, float]:
    """Return the usual screws such that they lie on the gripped length, and that length if not given."""
    height = bar.across_flats_mm or bar.height_mm or bar.width_mm or bar.diameter_mm or math.nan
    post = usual_screws(height, top_width_mm(bar), screws=full.get("screws", SCREWS), units=units)
    length = bar.gripped_mm if gripped else post.gripped_mm
    diameter = full.get("screw_diameter", min(post.screw_diameter_mm, length))
    two = diameter + max(diameter, full.get("screw_spacing", diameter))  # room that two screws need
    count = full.get("screws", SCREWS if length >= two or not gripped else 1)
    post = replace(post, screws=count, screw_diameter_mm=diameter)
    first, spacing = _places(post, full, length, gripped=gripped)
    if not gripped:  # as much behind the last screw as before the first
        length = max(length, 2 * first + (count - 1) * spacing)
    found = {
        "bar.gripped": length if not gripped else None,
        "grip.screws": count if "screws" not in full else None,
        "grip.screw_diameter": diameter if "screw_diameter" not in full else None,
        "grip.first_screw": first if "first_screw" not in full else None,
        "grip.screw_spacing": spacing if "screw_spacing" not in full and count > 1 else None,
    }
    return {key: value for key, value in found.items() if value is not None}


def _places(post: UsualScrews, full: Values, length: float, *, gripped: bool) -> tuple[float, float]:
    """Return the place of the first screw and the spacing [mm]: usual, closer where the grip is short."""
    first, spacing = full.get("first_screw"), full.get("screw_spacing")
    between = max(post.screws - 1, 0)
    usual_first = max(post.first_screw_mm, post.screw_diameter_mm / 2)
    if not gripped:
        return (
            usual_first if first is None else first,
            max(post.screw_spacing_mm, post.screw_diameter_mm) if spacing is None else spacing,
        )
    half = post.screw_diameter_mm / 2
    if first is None:  # at least as much behind the last screw as before the first, where there is room
        behind = between * (post.screw_diameter_mm if spacing is None else spacing)
        first = max(min(usual_first, (length - behind) / 2), half)
    if spacing is None and between:
        room = (length - first - half) / between
        spacing = max(min(post.screw_spacing_mm, room), min(post.screw_diameter_mm, room))
    return first, post.screw_spacing_mm if spacing is None else spacing


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
        case "centres":
            return CentresGrip(**in_mm({key: one for key, one in values.items() if key != "style"}))
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
